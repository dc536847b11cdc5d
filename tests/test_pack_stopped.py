"""Stopped cuts in the packer: what they save, what they cannot, and when they are taken."""

from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import pairwise, product
from random import Random

import pytest
from ortools.sat.python import cp_model
from pack_cases import Case, asked, problem_of, sheet_batch, solved
from pack_exact import Rect, least_cost, tries_of

from nesting.batch import Batch, Card, Layer, LoosePiece, Trimmer
from nesting.cards.resolving import resolve
from nesting.checker import check, most_value
from nesting.cutting.strokes import steps_of
from nesting.going_on import go_on
from nesting.layouts import Pinwheel
from nesting.pack import Rounds, saved_by_stopping
from nesting.pack.model.pattern import Pattern, Wheel, counts, leaves, wheel_of
from nesting.pack.model.problem import Problem
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.papers import BarcodeStrip, Edges, Paper, Sheet
from nesting.plan import Bound, PaperFigures, Plan, SheetValue
from nesting.record import read_record
from nesting.typed_lengths import parse_size


def stopping(batch: Batch, **trimmer: object) -> Batch:
    """The batch with a trimmer that can stop."""
    return replace(batch, trimmer=replace(batch.trimmer, can_stop=True, **trimmer))  # type: ignore[arg-type]


def both(sheet: str, *pieces: LoosePiece) -> tuple[Plan, Plan]:
    """The plan of edge-to-edge cuts, and the one with stopped cuts; both are checked."""
    batch = sheet_batch(sheet, *pieces)
    return solved(batch), solved(stopping(batch))


def pinwheels(plan: Plan) -> int:
    """How many sheets are cut with a pinwheel."""
    return sum(
        layout.alike
        for layout in plan.layouts
        if any(isinstance(placed.node, Pinwheel) for placed in layout.walk())
    )


# Worked values: four 5 x 7 from one sheet are common practice, without a source; the others follow, as
# halves and quarters of a 5 x 7.


@pytest.mark.parametrize(
    ("pieces", "edge_to_edge", "stopped"),
    [
        ((asked("5 x 7", 4),), 2, 1),
        ((asked("5 x 7", 10),), 4, 3),
        ((asked("4 1/2 x 6 1/2", 4),), 2, 1),
        ((asked("3 1/2 x 4 3/4", 8),), 2, 1),
        ((asked("3 1/2 x 5", 8),), 2, 1),
        ((asked("2 1/2 x 3 1/2", 16),), 2, 1),
        ((asked("5 x 7", 7), asked("2 x 2", 2)), 3, 2),
        ((asked("5 x 7", 2), asked("4 3/4 x 6 3/4", 1), asked("4 1/2 x 6 1/2", 1)), 2, 1),
        ((asked("5 x 7", 10, "never"),), 5, 5),
        ((asked("4 1/4 x 5 1/2", 5),), 2, 2),
    ],
)
def test_worked_values(pieces: tuple[LoosePiece, ...], edge_to_edge: int, stopped: int) -> None:
    """How many 12 x 12 it takes without stopped cuts, and with them, both proven."""
    plain, other = both("12 x 12", *pieces)
    needed = [plan.papers[0].needed for plan in (plain, other)]
    assert needed == [edge_to_edge, stopped]
    assert plain.papers[0].proven
    assert other.papers[0].proven
    assert bool(pinwheels(other)) == (stopped < edge_to_edge)
    assert not pinwheels(plain)


def test_eight_where_seven_is_the_most_from_edge_to_edge() -> None:
    """Of 3 1/2 x 4 3/4, by trying every cut and every pinwheel at every quarter inch: 7 and 8."""
    problem = problem_of(sheet_batch("48 x 48 mm", asked("14 x 19 mm", 8)))
    assert held(problem) == 7
    assert held(replace(problem, stopped=True)) == 8
    ways = {(14, 19): 1, (19, 14): 1}
    assert (most_value(48, 48, ways), most_value(48, 48, ways, stopped=True)) == (7, 8)
    assert 9 * 14 * 19 > 48 * 48


def held(problem: Problem) -> int:
    """How many blanks of the one kind a sheet holds, by the packer's table."""
    table = SheetTable(problem)
    table.fill([1])
    size = problem.sizes[0]
    found = table.pattern(size.width, size.height)
    assert found is not None
    assert sum(counts(found, 1)) == table.best(size.width, size.height)
    return table.best(size.width, size.height)


# L. Lins, S. Lins, R. Morabito (2003). An L-approach for packing (l, w)-rectangles into rectangular and
# L-shaped pieces. Journal of the Operational Research Society 54: boxes on pallets. Recursive division
# into five blocks, which is what pinwheels and edge-to-edge cuts can do, misses one box on those of the
# second list; on those of the first it does not.


@pytest.mark.parametrize(
    ("pallet", "box", "edge_to_edge", "best"),
    [((22, 16), (5, 3), 22, 23), ((30, 22), (7, 4), 22, 23), ((34, 23), (5, 4), 37, 38)],
)
def test_pallets_that_need_pinwheels(pallet: Rect, box: Rect, edge_to_edge: int, best: int) -> None:
    """Published pallets that five blocks fill as well as can be, and edge-to-edge cuts do not."""
    problem = on_pallet(pallet, box)
    assert (held(problem), held(replace(problem, stopped=True))) == (edge_to_edge, best)
    ways = {box: 1, box[::-1]: 1}
    assert most_value(*pallet, ways, stopped=True) == best


@pytest.mark.parametrize(
    ("pallet", "box", "optimum"),
    [
        ((32, 22), (5, 4), 35),
        ((32, 27), (5, 4), 43),
        ((40, 26), (7, 4), 37),
        ((43, 26), (7, 3), 53),
        ((49, 28), (8, 3), 57),
        ((57, 34), (7, 4), 69),
    ],
)
def test_pallets_that_need_more_than_pinwheels(pallet: Rect, box: Rect, optimum: int) -> None:
    """Published pallets on which five blocks miss one box: no pinwheel is credited with it."""
    problem = replace(on_pallet(pallet, box), stopped=True)
    assert held(problem) == optimum - 1
    ways = {box: 1, box[::-1]: 1}
    assert most_value(*pallet, ways, stopped=True) == optimum - 1


def on_pallet(pallet: Rect, box: Rect) -> Problem:
    """Boxes of one size that may be turned, on one pallet."""
    sizes = [f"{one[0]} x {one[1]} mm" for one in (pallet, box)]
    return problem_of(sheet_batch(sizes[0], asked(sizes[1], 9)))


# Against CP-SAT, which knows nothing of tables: with the constraint of a pinwheel it gives a least
# number, without any thought to how the sheet is cut a most.


@pytest.mark.parametrize("seed", range(12))
def test_between_a_pinwheel_by_cp_sat_and_no_rule_at_all(seed: int) -> None:
    """The most of one size that a sheet holds is no less than with one pinwheel, no more than uncut."""
    rng = Random(f"stopped {seed}")
    sheet = rng.randint(7, 9), rng.randint(7, 9)
    blank = rng.randint(2, 3), rng.randint(4, 5)
    ways = {blank: 1, blank[::-1]: 1}
    most = most_value(*sheet, ways, stopped=True)
    assert most is not None
    assert lies(sheet, blank, most, in_a_pinwheel=False)
    assert not lies(sheet, blank, most + 1, in_a_pinwheel=True)


@pytest.mark.parametrize(
    ("sheet", "blank", "most"),
    [((12, 12), (5, 7), 4), ((48, 48), (14, 19), 8), ((24, 24), (9, 13), 4)],
)
def test_cp_sat_finds_the_pinwheel(sheet: Rect, blank: Rect, most: int) -> None:
    """What the tables give is there by constraints, too, and one more is not."""
    assert lies(sheet, blank, most, in_a_pinwheel=True)
    assert not lies(sheet, blank, most + 1, in_a_pinwheel=True)
    assert most_value(*sheet, {blank: 1, blank[::-1]: 1}, stopped=True) == most


def lies(sheet: Rect, blank: Rect, number: int, *, in_a_pinwheel: bool) -> bool:
    """Whether CP-SAT lays so many equal blanks on a sheet without overlap.

    In a pinwheel, each lies within one of its four arms or its centre, none of which has more than
    three: of three rectangles that do not overlap, any can be parted from edge to edge.
    """
    if number * blank[0] * blank[1] > sheet[0] * sheet[1]:
        return False
    model = cp_model.CpModel()
    (width, height), (short, long) = sheet, blank
    across, along, places = [], [], []
    for _ in range(number):
        turned = model.new_bool_var("")
        x, y = (model.new_int_var(0, side, "") for side in sheet)
        wide = short + (long - short) * turned
        high = long + (short - long) * turned
        right, top = (model.new_int_var(0, side, "") for side in sheet)
        across.append(model.new_interval_var(x, wide, right, ""))
        along.append(model.new_interval_var(y, high, top, ""))
        places.append((x, y, right, top))
    model.add_no_overlap_2d(across, along)
    for (x, *_), (following, *_) in pairwise(places):  # they are all alike
        model.add(x <= following)
    if in_a_pinwheel:
        x_lines = [model.new_int_var(1, width - 1, "") for _ in range(2)]
        y_lines = [model.new_int_var(1, height - 1, "") for _ in range(2)]
        model.add(x_lines[0] < x_lines[1])
        model.add(y_lines[0] < y_lines[1])
        hold_to_arms(model, places, sheet, x_lines, y_lines)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 0
    status = solver.solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return bool(status == cp_model.OPTIMAL)


def hold_to_arms(
    model: cp_model.CpModel,
    places: list[tuple[cp_model.IntVar, ...]],
    sheet: Rect,
    x_lines: list[cp_model.IntVar],
    y_lines: list[cp_model.IntVar],
) -> None:
    """Have each rectangle lie in an arm or in the centre."""
    (width, height), (left, right), (low, high) = sheet, x_lines, y_lines
    regions = [
        (0, 0, right, low),
        (right, 0, width, high),
        (left, high, width, height),
        (0, low, left, height),
        (left, low, right, high),
    ]
    inside: list[list[cp_model.BoolVarT]] = [[] for _ in regions]
    for x, y, x_end, y_end in places:
        chosen = [model.new_bool_var("") for _ in regions]
        model.add_exactly_one(chosen)
        for own, here, (a, b, c, d) in zip(inside, chosen, regions, strict=True):
            own.append(here)
            for first, second in ((a, x), (b, y), (x_end, c), (y_end, d)):
                model.add(first <= second).only_enforce_if(here)
    for own in inside:
        model.add(sum(own) <= 3)


# Against trying every line of every pinwheel at every millimetre.


def small(seed: int, cut_width: int) -> Batch:
    """A few blanks of up to three sizes on a sheet of 7 or 8 mm, with a trimmer that can stop."""
    rng = Random(f"pinwheels {seed}")
    pieces = {(rng.randint(2, 3), rng.randint(3, 5)): (rng.randint(1, 4), "may") for _ in range(3)}
    case = Case(
        ((rng.randint(7, 8), rng.randint(7, 8), None),),
        tuple((*size, count, turn) for size, (count, turn) in pieces.items()),
        cut_width=cut_width,
    )
    return stopping(case.batch())


@pytest.mark.parametrize(("seed", "cut_width"), list(product(range(10), (0, 1))))
def test_the_tables_against_every_line(seed: int, cut_width: int) -> None:
    """Packer and check find the most value; with a blade that takes paper, at least that."""
    problem = replace(problem_of(small(seed, cut_width)), stopped=True)
    rng = Random(f"values {seed}")
    values = [rng.randint(1, 9) * kind.area // 1_000_000 for kind in problem.kinds]
    sheet = problem.sizes[0]
    nm = problem.usable[0]
    exact = tries_of(problem).most_value(tuple(values), (nm[0] // 10**6, nm[1] // 10**6))
    table = SheetTable(problem)
    table.fill(values)
    best = table.best(sheet.width, sheet.height)
    ways = {
        (
            shape.width * problem.unit - cut_width * 10**6,
            shape.height * problem.unit - cut_width * 10**6,
        ): value
        for kind, value in zip(problem.kinds, values, strict=True)
        for shape in kind.shapes
    }
    assert most_value(*nm, ways, cut_width * 10**6, stopped=True) == best
    assert best >= exact
    if not cut_width:
        assert best == exact
    found = table.pattern(sheet.width, sheet.height)
    if found is not None:
        assert sum(values[leaf.kind] for leaf in leaves(found)) == best


@pytest.mark.parametrize("seed", range(10))
def test_no_bound_beyond_the_fewest_sheets(seed: int) -> None:
    """The plan is between its bound and what trying everything gives, which no bound exceeds."""
    batch = small(seed, 0)
    figures = solved(batch).papers[0]
    least = least_cost(replace(problem_of(batch), stopped=True))
    assert least <= figures.needed
    if figures.bound.holds_for_stopped:
        assert figures.bound.value <= least
    assert (
        figures.needed
        <= solved(replace(batch, trimmer=replace(batch.trimmer, can_stop=False))).papers[0].needed
    )


# When they are taken.


def test_only_as_many_sheets_are_stopped_as_save_one() -> None:
    """Ten 5 x 7: one pinwheel and two sheets of three from edge to edge do, not three pinwheels."""
    _, plan = both("12 x 12", asked("5 x 7", 10))
    assert pinwheels(plan) == 1


def test_a_knife_can_stop_without_saying_so() -> None:
    """And plans like a trimmer that can."""
    batch = sheet_batch("12 x 12", asked("5 x 7", 4))
    plan = solved(replace(batch, trimmer=replace(batch.trimmer, kind="knife")))
    assert plan.papers[0].needed == 1


@pytest.mark.parametrize("pieces", [(asked("4 x 5 1/4", 24),), (asked("4 1/4 x 5 1/2", 24),)])
def test_where_nothing_is_saved_the_layouts_stay(pieces: tuple[LoosePiece, ...]) -> None:
    """The same layouts as without stopped cuts, and a proof that holds with them, too."""
    plain, other = both("12 x 12", *pieces)
    assert other.layouts == plain.layouts
    assert other.papers[0].proven
    assert other.papers[0].bound.holds_for_stopped


def test_a_paper_that_was_short_suffices() -> None:
    """Three sheets at hand that nobody sells any more: ten cards with stopped cuts, nine without."""
    batch = sheet_batch("12 x 12", asked("5 x 7", 10))
    paper = replace(
        batch.papers[0], buy=False, sheets=(replace(batch.papers[0].sheets[0], have=3),)
    )
    batch = replace(batch, papers=(paper,))
    assert sum(one.count for one in solved(batch).uncut) == 1
    assert solved(stopping(batch)).all_cut


@pytest.mark.parametrize(("hand", "way"), [("right", "anticlockwise"), ("left", "clockwise")])
def test_the_blade_begins_at_the_guide_edge(hand: str, way: str) -> None:
    """The way round is the one in which the first cut begins where the blade does."""
    plan = solved(stopping(sheet_batch("12 x 12", asked("5 x 7", 4)), hand=hand))
    tree = plan.layouts[0].tree
    assert isinstance(tree, Pinwheel)
    assert tree.way == way


@pytest.mark.parametrize("cut_width", [0, 1_000_000])
@pytest.mark.parametrize("hand", ["left", "right"])
@pytest.mark.parametrize("edge", ["left", "right", "top", "bottom"])
def test_pinwheels_lie_in_any_corner(cut_width: int, hand: str, edge: str) -> None:
    """Whatever the hand, the blade and the strip, the check finds no fault."""
    strip = BarcodeStrip(edge, 12_000_000)  # type: ignore[arg-type]
    pieces = asked("50 x 70 mm", 7), asked("20 x 30 mm", 2)
    batch = sheet_batch("131 x 127 mm", *pieces, barcode_strip=strip)
    plan = solved(stopping(batch, hand=hand, cut_width=cut_width))
    assert pinwheels(plan)


def test_the_same_batch_gives_the_same_plan() -> None:
    """Byte for byte, as plans under rounds do."""
    from nesting.files.plan_json import plan_to_json

    pieces = asked("5 x 7", 5), asked("4 3/4 x 6 3/4", 4), asked("2 x 3 1/2", 6)
    first, second = (
        plan_to_json(solved(stopping(sheet_batch("12 x 12", *pieces)))) for _ in range(2)
    )
    assert first == second


def test_what_stopping_would_save_is_told() -> None:
    """A trimmer that does not stop, or cannot, and one that does already."""
    batch = sheet_batch("12 x 12", asked("5 x 7", 10))
    assert saved_by_stopping(solved(batch)) == {"pear toss": 1}
    assert saved_by_stopping(solved(stopping(batch))) == {}
    lever = replace(batch, trimmer=Trimmer(kind="lever"))
    assert saved_by_stopping(solved(lever)) == {}
    assert saved_by_stopping(solved(sheet_batch("12 x 12", asked("4 x 5 1/4", 24)))) == {}


def test_a_lever_cannot_stop() -> None:
    """Asked to, it is refused."""
    batch = stopping(sheet_batch("12 x 12", asked("5 x 7", 4)), kind="lever")
    (fault,) = resolve(batch).faults
    assert fault.path == ("trimmer", "can stop")


# Proofs.


def edge_to_edge_proof(cuts: str) -> Plan:
    """A plan of four 5 x 7 on two sheets, called proven by values: at most three to a sheet."""
    plan = solved(sheet_batch("12 x 12", asked("5 x 7", 4)))
    batch = stopping(plan.asked)
    figures = plan.papers[0]
    nm = plan.layouts[0].width
    bound = Bound(
        2,
        "sheets",
        "values",
        (SheetValue(nm, nm, 3),),
        {plan.pieces[0].id: 1},
        cuts,  # type: ignore[arg-type]
    )
    return replace(plan, asked=batch, papers=(replace(figures, bound=bound),))


def test_a_proof_for_edge_to_edge_cuts_proves_nothing_for_stopped_ones() -> None:
    """Three to a sheet is proven from edge to edge; with stopped cuts the check finds the fourth."""
    plan = edge_to_edge_proof("edge-to-edge")
    assert check(plan.asked, plan) == ()
    claimed = edge_to_edge_proof("stopped")
    (fault,) = check(claimed.asked, claimed)
    assert (fault.rule, "hold a value of 4" in fault.said) == ("bound", True)


def test_no_search_proves_anything_for_stopped_cuts() -> None:
    """Nothing lists every pattern with stopped cuts, so a bound by search cannot be for them."""
    plan = edge_to_edge_proof("stopped")
    figures: PaperFigures = plan.papers[0]
    bound = Bound(2, "sheets", "search", cuts="stopped")
    (fault,) = check(plan.asked, replace(plan, papers=(replace(figures, bound=bound),)))
    assert fault.rule == "bound"


def test_a_table_too_large_is_not_verified() -> None:
    """With too many points the check says so, and takes nothing on trust."""
    ways = {(1000 + n, 1000 + 7 * n): 1 for n in range(40)}
    assert most_value(12_000, 12_000, ways, stopped=True) is None


# Patterns.


def test_a_blank_taken_out_of_a_pinwheel_leaves_its_room() -> None:
    """The other arms stay; with the last blank nothing remains."""
    from nesting.pack.model.pattern import without_one

    pattern: Pattern | None = wheel()
    assert isinstance(pattern, Wheel)
    for left in (3, 2, 1, 0):
        assert pattern is not None
        pattern = without_one(pattern, 0)
        assert (0 if pattern is None else len(list(leaves(pattern)))) == left
    assert pattern is None


@cache
def wheel() -> Pattern:
    """Four of 5 x 7 round nothing."""
    problem = replace(problem_of(sheet_batch("12 x 12", asked("5 x 7", 4))), stopped=True)
    table = SheetTable(problem)
    table.fill([1])
    found = table.pattern(problem.sizes[0].width, problem.sizes[0].height)
    assert found is not None
    return found


def members() -> Iterator[Pattern | None]:
    """Four arms and an empty centre."""
    yield from wheel().members  # type: ignore[union-attr]


def test_a_pinwheel_needs_a_centre_of_some_width() -> None:
    """Its lines are apart by more than the cut between them: else it would be no pinwheel."""
    arms = list(members())
    assert (wheel_of(arms, 1).width, wheel_of(arms, 1).height) == (12, 12)
    assert wheel_of(arms, 3).width > wheel_of(arms, 2).width == 12


@pytest.mark.parametrize("pieces", [(asked("5 x 7", 4),), (asked("3 1/2 x 4 3/4", 8),)])
@pytest.mark.parametrize("lost", [False, True])
def test_going_on_at_every_step_of_a_pinwheel(
    pieces: tuple[LoosePiece, ...], *, lost: bool
) -> None:
    """What still hangs together is there to cut from, and the check finds the same by itself.

    What is not spoilt is enough: the rest takes a new sheet only where something is lost.
    """
    batch = stopping(sheet_batch("12 x 12", *pieces))
    plan = solved(batch)
    steps = len(steps_of(plan.layouts[0], plan.asked))
    for step in range(1, steps + 1):
        said = f"1: step {step}"
        record = read_record(spoilt=said) if lost else read_record(done=said)
        rest = go_on(batch, plan, record, Rounds(20))
        assert check(batch, rest, plan) == ()
        assert sum(figures.needed for figures in rest.papers) == int(lost)


# Where paper is short.


def fronts(have: int, *designs: tuple[int, str]) -> Batch:
    """Cards of one layer each, from so many 12 x 12 that nobody sells any more."""
    cards = tuple(
        Card(
            f"front {size}",
            make,
            *parse_size(size, "in"),
            base=None,
            layers=(Layer("front", "pear toss", over="card", reveal=Edges(), turn="may"),),
        )
        for make, size in designs
    )
    paper = Paper("pear toss", (Sheet(*parse_size("12 x 12", "in"), have=have),), buy=False)
    return Batch("Orchard market", "in", (paper,), cards)


@pytest.mark.parametrize(
    ("have", "designs", "edge_to_edge", "stopped"),
    [
        (1, ((5, "5 x 7"),), 3, 4),
        (3, ((13, "5 x 7"),), 9, 12),
        (1, ((9, "3 1/2 x 4 3/4"),), 7, 8),
        (2, ((10, "5 x 7"), (6, "4 x 5 1/4")), 9, 10),
        (1, ((7, "4 x 5 1/4"),), 6, 6),
    ],
)
def test_stopped_cuts_make_more_cards_of_what_is_there(
    have: int, designs: tuple[tuple[int, str], ...], edge_to_edge: int, stopped: int
) -> None:
    """With a proof that no cuts of either kind make more; where they make no more, there are none."""
    batch = fronts(have, *designs)
    plain, other = solved(batch), solved(stopping(batch))
    made = [sum(card.complete for card in plan.cards) for plan in (plain, other)]
    assert made == [edge_to_edge, stopped]
    (entry,) = other.whole_cards
    assert entry.proven
    assert bool(pinwheels(other)) == (stopped > edge_to_edge)
    if stopped > edge_to_edge:
        assert entry.holds_for_stopped


def test_values_of_edge_to_edge_cuts_are_no_proof_for_cards_with_stopped_ones() -> None:
    """Three cards to a sheet are the most from edge to edge, and are not with stopped cuts."""
    plan = solved(fronts(1, (5, "5 x 7")))
    (entry,) = plan.whole_cards
    assert (entry.most, entry.by) == (3, "values")
    claimed = replace(plan, whole_cards=(replace(entry, cuts="stopped"),))
    assert any("can hold a value of" in fault.said for fault in check(claimed.asked, claimed))
    searched = replace(entry, by="search", held=(), values={}, cuts="stopped")
    assert check(plan.asked, replace(plan, whole_cards=(searched,)))
