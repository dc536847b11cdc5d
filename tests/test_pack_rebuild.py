"""Ruin and recreate on trees: what comes out can be cut, and is the same compiled or not."""

import os
import subprocess
import sys
from random import Random

import pytest
from pack_cases import Case, problem_of

from nesting.pack.content import Content, Group, leaves
from nesting.pack.fill import fill_sheets
from nesting.pack.problem import Problem
from nesting.pack.rebuild import Rebuild
from nesting.pack.seen import SeenSheets


def random_problem(seed: int) -> Problem:
    """A dozen kinds on one size of sheet, some of which may turn."""
    rng = Random(seed)
    pieces = tuple(
        (rng.randint(2, 12), rng.randint(2, 12), rng.randint(1, 4), rng.choice(("may", "never")))
        for _ in range(12)
    )
    return problem_of(Case(((20, 20, None),), pieces).batch())


def is_sound(content: Content, width: int, height: int) -> bool:
    """Whether a content fits, groups alternate their axes, and sizes are those of the members."""
    if content.width > width or content.height > height:
        return False
    if not isinstance(content, Group):
        return True
    along = [m.width if content.axis == "x" else m.height for m in content.members]
    extent = content.width if content.axis == "x" else content.height
    alternate = all(not isinstance(m, Group) or m.axis != content.axis for m in content.members)
    inside = all(is_sound(m, content.width, content.height) for m in content.members)
    return sum(along) == extent and alternate and inside and len(content.members) > 1


@pytest.mark.parametrize("seed", range(6))
def test_sheets_stay_sound_and_no_blank_is_lost(seed: int) -> None:
    """After every turn, each blank is on one sheet or open, and every sheet can be cut."""
    problem = random_problem(seed)
    filled = fill_sheets(problem, problem.demand, Random(seed), 4)
    assert filled is not None
    contents = [one.content for one in filled for _ in range(one.alike)]
    rebuild = Rebuild(problem, contents[:-1], Random(seed), SeenSheets(problem, Random(seed)))
    size = problem.sizes[0]
    for heat in (2.0, 1.0, 0.0):
        rebuild.run(heat, 6)
        now = rebuild.contents()
        placed = sum(len(list(leaves(content))) for content in now)
        assert placed + rebuild.open == sum(problem.demand)
        assert all(is_sound(content, size.width, size.height) for content in now)
        for kind, number in enumerate(problem.demand):
            lying = sum(leaf.kind == kind for content in now for leaf in leaves(content))
            assert lying <= number


def test_nothing_open_is_left_alone() -> None:
    """Where all blanks lie on the sheets, there is nothing to do."""
    problem = random_problem(1)
    filled = fill_sheets(problem, problem.demand, Random(0), 4)
    assert filled is not None
    contents = [one.content for one in filled for _ in range(one.alike)]
    rebuild = Rebuild(problem, contents, Random(0), SeenSheets(problem, Random(0)))
    rebuild.run(1.0, 6)
    assert rebuild.open == 0
    assert sum(len(list(leaves(c))) for c in rebuild.contents()) == sum(problem.demand)


SCRIPT = """
from random import Random
from pack_cases import Case, problem_of
from test_pack_rebuild import random_problem
from nesting.pack.fill import fill_sheets
from nesting.pack.rebuild import Rebuild
from nesting.pack.seen import SeenSheets
import nesting.pack.values as values

problem = random_problem(3)
filled = fill_sheets(problem, problem.demand, Random(0), 4)
contents = [one.content for one in filled for _ in range(one.alike)]
rebuild = Rebuild(problem, contents[:-1], Random(0), SeenSheets(problem, Random(0)))
rebuild.run(1.0, 6)
values._LONG = 0
table = values.SheetTable(problem)
table.fill([k.area // problem.unit**2 + n for n, k in enumerate(problem.kinds)])
print(rebuild.open, rebuild.contents(), table.cells.tolist())
"""


def test_compiled_or_not_the_answers_are_the_same() -> None:
    """The same functions run with numba and without it (needs the extra ``fast``)."""
    pytest.importorskip("numba", reason="the extra fast is not installed")
    answers = [
        subprocess.run(
            [sys.executable, "-c", SCRIPT],
            env=os.environ | {"NUMBA_DISABLE_JIT": off, "PYTHONPATH": os.path.dirname(__file__)},  # noqa: PTH120
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for off in ("0", "1")
    ]
    assert answers[0] == answers[1]
    assert len(answers[0]) > 100
