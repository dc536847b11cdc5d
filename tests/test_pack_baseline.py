"""The packer beside two others: rectpack, which cuts, and CP-SAT, which need not."""

from itertools import product
from random import Random

import pytest
import rectpack
from ortools.sat.python import cp_model
from pack_cases import MM, Case, asked, figures_of, problem_of, sheet_batch, solved
from pack_exact import Rect, least_cost, tries_of, usable_of

from nesting.batch import Batch, LoosePiece
from nesting.pack import Rounds
from nesting.pack.bounds.dual_bounds import area_bound
from nesting.pack.model.problem import Problem
from nesting.papers import Turn

VARIANTS = [
    (rectpack.GuillotineBssfSas, rectpack.SORT_AREA),
    (rectpack.GuillotineBssfLas, rectpack.SORT_SSIDE),
    (rectpack.GuillotineBlsfLlas, rectpack.SORT_LSIDE),
    (rectpack.GuillotineBafSas, rectpack.SORT_PERI),
    (rectpack.GuillotineBafMinas, rectpack.SORT_AREA),
    (rectpack.GuillotineBssfMaxas, rectpack.SORT_DIFF),
]
# Common practice sizes of mats, panels, bands and tags in inches.
SIZES = ("4 x 5 1/4", "3 3/4 x 5", "3 1/2 x 4 3/4", "4 3/4 x 6 3/4", "4 1/2 x 6 1/2", "3 3/4 x 1",
         "4 x 1 1/2", "2 x 3 1/2", "5 3/4 x 5 3/4", "3 1/4 x 8 1/4", "2 1/2 x 2 1/2")  # fmt: skip
#: The documented mix from which rectpack's default makes a pinwheel on an 8 x 9 sheet.
PINWHEEL = [(5, 1), (3, 3), (2, 6), (5, 3), (3, 3), (5, 2)]

TURNS: tuple[Turn, ...] = ("never", "may", "must")

Place = tuple[int, int, int, int]


def trade_like(seed: int) -> Batch:
    """20 to 40 loose pieces of four to six sizes from 12 x 12, all turned freely or none."""
    rng = Random(f"baseline {seed}")
    sizes = rng.sample(SIZES, rng.randint(4, 6))
    turn = rng.choice(("never", "may"))
    total = rng.randint(20, 40)
    shares = sorted(rng.sample(range(1, total), len(sizes) - 1))
    numbers = [high - low for low, high in zip([0, *shares], [*shares, total], strict=True)]
    pieces = [
        asked(size, count, "may" if turn == "may" else "never")
        for size, count in zip(sizes, numbers, strict=True)
    ]
    return sheet_batch("12 x 12", *pieces)


def rectpack_sheets(batch: Batch) -> int:
    """The fewest sheets of a handful of rectpack's variants, free rectangles never merged."""
    problem = problem_of(batch)
    found = []
    for algorithm, sorting in VARIANTS:
        packer = rectpack.newPacker(
            bin_algo=rectpack.PackingBin.BFF,
            pack_algo=algorithm,
            sort_algo=sorting,
            rotation=batch.pieces[0].turn == "may",
        )
        for kind in problem.kinds:
            for _ in range(kind.demand):
                packer.add_rect(kind.shapes[0].width, kind.shapes[0].height)
        size = problem.sizes[0]
        packer.add_bin(size.width, size.height, count=sum(problem.demand), merge=False)
        packer.pack()
        assert len(packer.rect_list()) == sum(problem.demand)
        found.append(len(packer))
    return min(found)


@pytest.mark.parametrize("seed", range(10))
def test_never_more_sheets_than_rectpack(seed: int) -> None:
    """The plan takes at most as many sheets as the best of a handful of rectpack's variants."""
    batch = trade_like(seed)
    assert solved(batch, Rounds(40)).papers[0].needed <= rectpack_sheets(batch)


def cuttable(places: list[Place]) -> bool:
    """Whether rectangles (x, y, width, height) can be parted by edge-to-edge cuts."""
    if len(places) <= 1:
        return True
    for axis in (0, 1):
        for at in {place[axis] + place[axis + 2] for place in places}:
            low = [p for p in places if p[axis] + p[axis + 2] <= at]
            high = [p for p in places if p[axis] >= at]
            if high and len(low) + len(high) == len(places):
                return cuttable(low) and cuttable(high)
    return False


def pinwheel_places() -> list[Place]:
    """Where rectpack lays the documented mix with its default of merging free rectangles."""
    packer = rectpack.newPacker(
        bin_algo=rectpack.PackingBin.BFF,
        pack_algo=rectpack.GuillotineBlsfLlas,
        sort_algo=rectpack.SORT_AREA,
        rotation=True,
    )
    for width, height in PINWHEEL:
        packer.add_rect(width, height)
    packer.add_bin(8, 9)
    packer.pack()
    return [(x, y, width, height) for _, x, y, width, height, _ in packer.rect_list()]


def test_merging_gives_what_cannot_be_cut() -> None:
    """By default rectpack lays five blanks so that no edge-to-edge cut parts them; ours are parted."""
    places = pinwheel_places()
    assert len(places) == 5
    assert not cuttable(places)
    loose = (
        LoosePiece(f"tag {n}", "pear toss", 1, width * MM, height * MM)
        for n, (width, height) in enumerate(PINWHEEL)
    )
    plan = solved(sheet_batch("8 x 9 mm", *loose))
    assert sum(len(layout.blanks) * layout.alike for layout in plan.layouts) == len(PINWHEEL)
    for layout in plan.layouts:
        assert cuttable([(p.x, p.y, p.width, p.height) for p in layout.blanks])


def fits_uncut(sheet: Rect, blanks: list[frozenset[Rect]], sheets: int) -> bool:
    """Whether CP-SAT lays the blanks on so many sheets, without a thought to how they are cut.

    Each blank lies on one sheet in one of its ways; on a sheet no two overlap.
    """
    model = cp_model.CpModel()
    across: list[list[cp_model.IntervalVar]] = [[] for _ in range(sheets)]
    along: list[list[cp_model.IntervalVar]] = [[] for _ in range(sheets)]
    for ways in blanks:
        chosen = []
        fitting = [way for way in sorted(ways) if way[0] <= sheet[0] and way[1] <= sheet[1]]
        for number, (width, height) in product(range(sheets), fitting):
            here = model.new_bool_var("")
            x = model.new_int_var(0, sheet[0] - width, "")
            y = model.new_int_var(0, sheet[1] - height, "")
            across[number].append(model.new_optional_fixed_size_interval_var(x, width, here, ""))
            along[number].append(model.new_optional_fixed_size_interval_var(y, height, here, ""))
            chosen.append(here)
        model.add_exactly_one(chosen)
    for x_intervals, y_intervals in zip(across, along, strict=True):
        model.add_no_overlap_2d(x_intervals, y_intervals)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 0
    status = solver.solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return bool(status == cp_model.OPTIMAL)


def least_uncut(problem: Problem) -> int:
    """The fewest sheets that hold the demand without overlap, however they would be cut."""
    ways = tries_of(problem).blanks
    blanks = [way for way, n in zip(ways, problem.demand, strict=True) for _ in range(n)]
    sheet = usable_of(problem)[0]
    return next(n for n in range(1, len(blanks) + 1) if fits_uncut(sheet, blanks, n))


def small(seed: int) -> Batch:
    """Up to eight blanks of three sizes on a sheet of 7 to 10 mm."""
    rng = Random(f"uncut {seed}")
    pieces = {
        (rng.randint(2, 6), rng.randint(2, 6)): (rng.randint(1, 3), rng.choice(TURNS))
        for _ in range(3)
    }
    case = Case(
        ((rng.randint(7, 10), rng.randint(7, 10), None),),
        tuple((*size, count, turn) for size, (count, turn) in pieces.items()),
    )
    return case.batch()


@pytest.mark.parametrize("seed", range(40))
def test_never_fewer_sheets_than_without_cuts(seed: int) -> None:
    """The bound by areas, the least without cuts, the least with cuts and the plan stand in order."""
    problem = problem_of(small(seed))
    figures = figures_of(small(seed))
    uncut, cut = least_uncut(problem), least_cost(problem)
    assert area_bound(problem).value <= uncut <= cut <= figures.needed
    assert figures.bound.value <= cut


def test_a_sheet_that_only_stopped_cuts_divide() -> None:
    """Four 5 x 7 lie on one 12 x 12 around its middle; edge-to-edge cuts take two sheets, proven."""
    blanks = [frozenset({(5, 7), (7, 5)})] * 4
    assert fits_uncut((12, 12), blanks, 1)
    figures = figures_of(sheet_batch("12 x 12", asked("5 x 7", 4)))
    assert figures.needed == figures.bound.value == 2
