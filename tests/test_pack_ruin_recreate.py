"""Ruin and recreate on trees: what comes out can be cut, and is the same compiled or not."""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from copy import deepcopy
from itertools import islice
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import pytest
from pack_cases import Case, problem_of

import nesting
from nesting.pack.kernels.insertion import find_place
from nesting.pack.kernels.ruin_loop import left_out
from nesting.pack.lp.master import Relaxation
from nesting.pack.model.columns import cut_once
from nesting.pack.model.pattern import Group, Leaf, Pattern, beside_one_another, counts, leaves
from nesting.pack.model.problem import Problem
from nesting.pack.one_sheet.greedy import fill_sheets
from nesting.pack.search import stages
from nesting.pack.search.attempts import attempt, from_all_sheets
from nesting.pack.search.incumbent import Search
from nesting.pack.search.pattern_archive import PatternArchive
from nesting.pack.search.ruin_recreate import RuinAndRecreate
from nesting.pack.search.schedule import improve


def random_problem(seed: int) -> Problem:
    """A dozen kinds on one size of sheet, some of which may turn."""
    rng = Random(seed)
    pieces = tuple(
        (rng.randint(2, 12), rng.randint(2, 12), rng.randint(1, 4), rng.choice(("may", "never")))
        for _ in range(12)
    )
    return problem_of(Case(((20, 20, None),), pieces).batch())


def is_sound(pattern: Pattern, width: int, height: int) -> bool:
    """Whether a pattern fits, groups alternate their axes, and sizes are those of the members."""
    if pattern.width > width or pattern.height > height:
        return False
    if not isinstance(pattern, Group):
        return True
    along = [m.width if pattern.axis == "x" else m.height for m in pattern.members]
    extent = pattern.width if pattern.axis == "x" else pattern.height
    alternate = all(not isinstance(m, Group) or m.axis != pattern.axis for m in pattern.members)
    inside = all(is_sound(m, pattern.width, pattern.height) for m in pattern.members)
    return sum(along) == extent and alternate and inside and len(pattern.members) > 1


@pytest.mark.parametrize("seed", range(6))
def test_sheets_stay_sound_and_no_blank_is_lost(seed: int) -> None:
    """After every turn, each blank is on one sheet or open, and every sheet can be cut."""
    problem = random_problem(seed)
    filled = fill_sheets(problem, problem.demand, Random(seed), 4)
    assert filled is not None
    patterns = [used.column.pattern for used in filled for _ in range(used.count)]
    rebuild = RuinAndRecreate(
        problem, patterns[:-1], Random(seed), PatternArchive(problem, Random(seed))
    )
    size = problem.sizes[0]
    for heat in (2.0, 1.0, 0.0):
        rebuild.run(heat, 6)
        now = rebuild.patterns()
        placed = sum(len(list(leaves(pattern))) for pattern in now)
        assert placed + rebuild.open == sum(problem.demand)
        assert all(is_sound(pattern, size.width, size.height) for pattern in now)
        for kind, number in enumerate(problem.demand):
            lying = sum(leaf.kind == kind for pattern in now for leaf in leaves(pattern))
            assert lying <= number


def test_nothing_open_is_left_alone() -> None:
    """Where all blanks lie on the sheets, there is nothing to do."""
    problem = random_problem(1)
    filled = fill_sheets(problem, problem.demand, Random(0), 4)
    assert filled is not None
    patterns = [used.column.pattern for used in filled for _ in range(used.count)]
    rebuild = RuinAndRecreate(problem, patterns, Random(0), PatternArchive(problem, Random(0)))
    rebuild.run(1.0, 6)
    assert rebuild.open == 0
    assert sum(len(list(leaves(c))) for c in rebuild.patterns()) == sum(problem.demand)


def test_room_on_one_sheet_is_better_than_the_same_room_on_two() -> None:
    """Three blanks and one are better than two and two, but not than all of them."""
    problem = problem_of(Case(((29, 20, None),), ((7, 20, 5, "never"),)).batch())
    leaf = Leaf(0, problem.kinds[0].shapes[0])

    def out(*numbers: int) -> int:
        patterns = [beside_one_another("x", [leaf] * number) for number in numbers]
        rebuild = RuinAndRecreate(problem, patterns, Random(0), PatternArchive(problem, Random(0)))
        return left_out(rebuild.sheets, rebuild.asked, rebuild.open)

    assert out(4, 1) < out(3, 2) < out(3, 1) < out(2, 2)


SCRIPT = """
from pathlib import Path
from random import Random
import numpy as np
from pack_cases import Case, problem_of

import nesting
from test_pack_ruin_recreate import random_problem
from nesting.pack.one_sheet.pattern_enumeration import LITTLE, ValueTarget, Enumeration
from nesting.pack.one_sheet.greedy import fill_sheets
from nesting.pack.one_sheet.near_full import NearFullPatterns
from nesting.pack.search.ruin_recreate import RuinAndRecreate
from nesting.pack.search.incumbent import Search
from nesting.pack.search.pattern_archive import PatternArchive
import nesting.pack.one_sheet.value_table as values

problem = random_problem(3)
filled = fill_sheets(problem, problem.demand, Random(0), 4)
patterns = [used.column.pattern for used in filled for _ in range(used.count)]
seen = PatternArchive(problem, Random(0))
seen.aim(len(patterns))
rebuild = RuinAndRecreate(problem, patterns[:-1], Random(0), seen)
rebuild.run(1.0, 6)
table = values.SheetTable(problem)
table.fill([k.area // problem.unit**2 + n for n, k in enumerate(problem.kinds)])
print(seen.worth(range(len(problem.kinds))).tolist(), seen.record.tokens[:500].tolist())
print(rebuild.open, rebuild.patterns(), table.cells.tolist())
few = problem
areas = [shape.width * shape.height for kind in few.kinds for shape in kind.shapes[:1]]
size = few.sizes[0]
table = values.SheetTable(few)
aim = ValueTarget(areas, size.width * size.height * 97 // 100)
print(list(Enumeration(few, table, [aim, aim], LITTLE).patterns()))
sheets, demand = NearFullPatterns(few, Random(0)), np.array(few.demand)
full, _ = sheets.wasting(demand, 4, 100_000)
print(full.counts.tolist(), list(full))
print(sheets.pattern(full.counts[0]), sheets.lay(demand // 2, 10), sheets.wasting(demand, 40, 2)[0].counts.tolist())
"""


def test_compiled_or_not_the_answers_are_the_same() -> None:
    """The same functions compiled, and as Python runs them."""
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


def rebuilt(seed: int, sheets_less: int = 1) -> tuple[Problem, RuinAndRecreate, PatternArchive]:
    """Ruin and recreate after some turns, and what it has seen."""
    problem = random_problem(seed)
    filled = fill_sheets(problem, problem.demand, Random(seed), 4)
    assert filled is not None
    patterns = [used.column.pattern for used in filled for _ in range(used.count)][:-sheets_less]
    seen = PatternArchive(problem, Random(seed))
    seen.aim(len(patterns) + 1)
    rebuild = RuinAndRecreate(problem, patterns, Random(seed), seen)
    for heat in (1.0, 0.5, 0.1):
        rebuild.run(heat, 6)
    return problem, rebuild, seen


def held_by(seen: PatternArchive, problem: Problem) -> list[tuple[int, ...]]:
    """How many of each kind every sheet seen holds."""
    return [counts(seen.pattern(number), len(problem.kinds)) for number in range(len(seen))]


@pytest.mark.parametrize("seed", range(3))
def test_sheets_seen_are_sheets_that_can_be_cut(seed: int) -> None:
    """What is read from the record is sound, within the demand, told apart, and worth what it holds."""
    problem, _, seen = rebuilt(seed)
    size = problem.sizes[0]
    assert len(seen) > 10
    held = held_by(seen, problem)
    assert len(set(held)) == len(seen)
    assert all(is_sound(seen.pattern(n), size.width, size.height) for n in range(len(seen)))
    assert (np.array(held) <= problem.demand).all()
    values = [1.5 + number for number in range(len(problem.kinds))]
    assert seen.worth(values).tolist() == (np.array(held) @ values).tolist()


def test_what_is_kept_of_the_sheets_seen_stays_as_it_was() -> None:
    """The chosen ones come first, in the order asked for; nothing is noted a second time."""
    problem, rebuild, seen = rebuilt(1, sheets_less=2)
    patterns = [seen.pattern(number) for number in range(len(seen))]
    seen.keep(np.array([7, 2, 5]))
    assert [seen.pattern(number) for number in range(len(seen))] == [patterns[n] for n in (7, 2, 5)]
    seen.value([1.0] * len(problem.kinds), 0.0)
    rebuild.run(0.5, 6)
    rows = held_by(seen, problem)
    assert len(set(rows)) == len(rows) > 3


def test_only_sheets_worth_enough_are_noted() -> None:
    """At values in sheets, nothing that is worth less than a sheet and its slack is noted."""
    problem, rebuild, seen = rebuilt(2, sheets_less=2)
    seen.keep(np.array([], dtype=int))
    whole = problem.sizes[0].width * problem.sizes[0].height
    areas = np.array([k.shapes[0].width * k.shapes[0].height for k in problem.kinds])
    seen.value((areas / whole).tolist(), 0.12)
    rebuild.run(0.5, 6)
    assert len(seen) > 3
    assert seen.worth(areas.tolist()).min() >= 0.87 * whole


def test_a_known_place_is_the_place_that_a_new_look_finds() -> None:
    """What is remembered of the best places is what looking at every sheet again gives."""
    _, rebuild, _ = rebuilt(4)
    chance = np.array([1, 10**9])  # nothing is overlooked
    for _ in range(20):
        rebuild.run(0.5, 6)
        for blank in range(len(rebuild.asked.of)):
            found = find_place(rebuild.sheets, rebuild.asked, rebuild.known, chance, blank)
            forgotten = deepcopy(rebuild.known)
            forgotten.stamps[:] = -1
            assert found == find_place(rebuild.sheets, rebuild.asked, forgotten, chance, blank)
            if found:  # one place in fifty was overlooked when the known one was looked for
                assert rebuild.known.found.cost >= forgotten.found.cost


@pytest.mark.parametrize(("kinds", "of_each", "turns"), [(45, 1, 50), (15, 3, 5)])
def test_sheets_of_many_kinds_take_long_attempts(kinds: int, of_each: int, turns: int) -> None:
    """An attempt is ten times as long, and the fullest sheets are laid first, as for few kinds."""
    pieces = tuple((10 + n % 9, 8 + n // 9, of_each, "never") for n in range(kinds))
    height = sum(w * h * n for w, h, n, _ in pieces) // (2 * 60) + 1
    search = Search(problem_of(Case(((60, height, None),), pieces).batch()), "orchard")
    assert search.cost == 3
    assert len(list(attempt(search, from_all_sheets(search, ()), 0, turns=5))) == turns
    assert len(list(islice(stages.Stages(search).near_full_first(), 3))) == 3


def test_an_attempt_pauses_once_the_plan_is_as_good_as_can_be() -> None:
    """A search ends in a pause: without one, stages without end would go on with no sheet to save."""
    problem = problem_of(Case(((20, 20, None),), ((10, 20, 2, "never"),)).batch())
    alone = Leaf(0, problem.kinds[0].shapes[0])
    search = Search(problem, "", cut_once([alone, alone], 1))
    assert (search.cost, search.bound.value) == (2, 1)
    assert any(search.proven for _ in attempt(search, from_all_sheets(search, ()), 0))


@pytest.mark.parametrize(("few", "seed"), [(True, 12), (False, 5)])
def test_it_follows_column_generation_where_there_are_few_of_each(
    few: bool, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One or two of each: it has its turns as soon as pricing is done, and nothing else chooses."""
    rng = Random(seed)
    pieces = tuple(
        (rng.randint(4, 14), rng.randint(4, 14), rng.randint(1, 2) if few else 5, "may")
        for _ in range(30)
    )
    events: list[str] = []
    priced, run, choose = stages.generate_columns, RuinAndRecreate.run, stages.choose

    def pricing(*arguments: Any, **end: bool) -> Iterator[list[float]]:
        for uses in priced(*arguments, **end):
            events.append("priced")
            yield uses

    def running(rebuild: RuinAndRecreate, heat: float, most: int) -> None:
        events.append("rebuilt")
        run(rebuild, heat, most)

    def choosing(search: Search, relaxation: Relaxation, nodes: int) -> None:
        events.append("chosen")
        choose(search, relaxation, nodes)

    monkeypatch.setattr(stages, "generate_columns", pricing)
    monkeypatch.setattr(stages, "choose", choosing)
    monkeypatch.setattr(RuinAndRecreate, "run", running)
    search = Search(problem_of(Case(((20, 20, None),), pieces).batch()), "orchard")
    for _ in islice(improve(search), 1_000):
        pass
    assert events.count("priced") > 5
    assert events[events.count("priced")] == ("rebuilt" if few else "chosen")
    assert ("chosen" in events) == (not few)


def test_compiled_loops_are_kept_by_the_source_of_all_of_them(tmp_path: Path) -> None:
    """Any change in any loop makes a folder of its own; no change finds the same one again."""
    code = "from nesting.pack.kernels.cache import cache_folder; print(cache_folder().name)"
    package = tmp_path / "nesting"
    shutil.copytree(Path(nesting.__file__).parent, package)

    def name() -> str:
        run = [sys.executable, "-c", code]
        env = {**os.environ, "PYTHONPATH": str(tmp_path)}
        done = subprocess.run(
            run, cwd=tmp_path, env=env, check=True, capture_output=True, text=True
        )
        return done.stdout

    first = name()
    assert name() == first
    loop = package / "pack" / "kernels" / "insertion.py"
    loop.write_text(loop.read_text("utf-8") + "\n# a change\n", "utf-8")
    assert name() != first
