"""Few points to cut at suffice, for one size of sheet and for several."""

from random import Random

import pytest
from pack_cases import Case, problem_of

from nesting.bench.growth import many_sizes
from nesting.cards.resolving import resolve
from nesting.pack.model.problem import Problem, make_problem
from nesting.pack.one_sheet.raster_points import cut_points
from nesting.pack.one_sheet.value_table import SheetTable

MANY_CELLS = "nesting.pack.one_sheet.raster_points._MANY_CELLS"


def several_sizes(seed: int) -> Problem:
    """Up to eight kinds to cut from two to four sizes of sheets, some of them too small for most kinds."""
    rng = Random(f"raster {seed}")
    sheets = [(rng.randint(30, 60), rng.randint(30, 60), None)]
    sheets += [(rng.randint(12, 60), rng.randint(12, 60), 1) for _ in range(rng.randint(1, 3))]
    turn = rng.choice(("never", "may"))
    pieces = {(rng.randint(5, 28), rng.randint(5, 28)) for _ in range(rng.randint(2, 8))}
    return problem_of(Case(tuple(sheets), tuple((*p, 2, turn) for p in sorted(pieces))).batch())


@pytest.mark.parametrize("seed", range(40))
def test_a_sheet_of_any_size_holds_as_much_by_fewer_points(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Raster points of all sizes give the value that all normal points give, for any values."""
    problem = several_sizes(seed)
    whole = SheetTable(problem)
    monkeypatch.setattr(MANY_CELLS, 0)
    few = SheetTable(problem)
    assert set(few.across) <= set(whole.across)
    assert set(few.along) <= set(whole.along)
    rng = Random(seed)
    for values in ([rng.randint(0, 99) for _ in problem.kinds] for _ in range(5)):
        whole.fill(values)
        few.fill(values)
        for size in problem.sizes:
            assert few.best(size.width, size.height) == whole.best(size.width, size.height)


def test_some_points_are_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """On most of these problems the raster is the smaller; a small table keeps all normal points."""
    problems = [several_sizes(seed) for seed in range(40)]
    normal = [cut_points(problem) for problem in problems]
    monkeypatch.setattr(MANY_CELLS, 0)
    raster = [cut_points(problem) for problem in problems]
    assert sum(few != many for few, many in zip(raster, normal, strict=True)) > 20


def test_sheets_off_any_grid_have_a_small_table() -> None:
    """Thirty sizes in tenths of millimetres have hardly more points than one."""
    cells = []
    for number in (1, 30):
        asked = resolve(many_sizes(number))
        problem = make_problem(asked.batch.papers[0], asked.pieces(), asked.batch.trimmer)
        across, along = cut_points(problem)
        cells.append(len(across) * len(along))
    assert cells[1] < 1.5 * cells[0]
