"""Arrangements without straight cuts: published counts and radii, bounds, laws on random plans."""

import random
from collections import Counter
from dataclasses import replace
from math import isqrt

import pytest
from cutfile_cases import base_batch, batches, circle, plan_of_batch, plum_batch, rectangle, sound
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from pack_cases import solved
from plans import inches

from nesting.batch import Batch
from nesting.cutfile.arrangement import Arrangement, arrange, numbered
from nesting.cutfile.bound import LeastSheets, SheetOffer, least_sheets
from nesting.cutfile.carrier import Area, CutFileError, Setup
from nesting.cutfile.gaps import circles_in_gaps
from nesting.cutfile.rows import best_rows
from nesting.cutfile.shapes import PlacedPiece, Sheetful, count_pieces, shapes_of
from nesting.cutfile.verify import find_misplaced
from nesting.pack import Rounds
from nesting.papers import Face, Paper, Sheet
from nesting.plan import Plan

#: A square whose side is 1 in what the published tables call a unit: 10 in.
UNIT = 254_000_000
#: Largest radius known of n equal circles in the unit square: "Packing equal circles in a unit
#: square", published table of best known radii; the values were written down from memory. Up to
#: 30 circles they are proven optimal.
RADII = {2: 0.292893, 4: 0.25, 9: 0.166667, 16: 0.125, 30: 0.091671}


def arranged(batch: Batch, setup: Setup | None = None) -> Arrangement:
    """The arrangement of a batch of one paper."""
    plan = plan_of_batch(batch)
    return arrange(plan, plan.asked.papers[0], setup or Setup())


def circles_on_one_square(radius: int) -> int:
    """How many circles of a radius in nm are claimed for one unit square."""
    return len(best_rows(UNIT, UNIT, 2 * radius, 0, 999))


@pytest.mark.parametrize("count", RADII)
def test_no_arrangement_claims_more_circles_than_are_known_to_fit(count: int) -> None:
    """Circles a hair larger than the published radius: fewer than n go onto the square."""
    too_large = int((RADII[count] + 0.000002) * UNIT)
    assert circles_on_one_square(too_large) < count
    assert len(circles_in_gaps([], UNIT, UNIT, 2 * too_large, 0, 999)) < count


@pytest.mark.parametrize(
    ("count", "radius"),
    [
        # Two in the corners across, and square rows: the published optimum itself.
        (2, 0.292893), (4, 0.25), (9, 0.166666), (16, 0.125),
        # Six staggered rows of five: 11 radii wide. The optimum is 0.8 % larger.
        (30, 1 / 11 - 1e-9),
    ],
)  # fmt: skip
def test_rows_reach_what_rows_can_reach(count: int, radius: float) -> None:
    """Square and staggered rows bring n circles of this radius onto the unit square."""
    assert circles_on_one_square(int(radius * UNIT)) >= count


@pytest.mark.parametrize(
    ("size", "straight", "free"),
    [("5 x 7", 3, 4), ("4 3/4 x 6 3/4", 3, 4), ("3 1/2 x 5", 7, 8), ("2 1/2 x 3 1/2", 14, 16)],
)
def test_four_round_a_middle_are_found(size: str, straight: int, free: int) -> None:
    """What makers get from a 12 x 12 in sheet with stopped cuts, one sheet instead of two.

    The counts come from an exact search; public pages confirm the first and the last of them.
    """
    assert arranged(plum_batch(rectangle(size, straight))).planned == 1
    found = arranged(plum_batch(rectangle(size, free)))
    assert (found.planned, found.needed) == (2, 1)
    assert len(found.sheetfuls[0].shapes) == free


def test_circles_are_no_squares() -> None:
    """150 circles of an inch lie on one sheet in 13 staggered rows, cut straight or not."""
    plan = solved(plum_batch(circle("1", 150)))
    found = arrange(plan, plan.asked.papers[0], Setup())
    assert (found.planned, found.needed, found.bound.value) == (1, 1, 1)


def test_small_circles_lie_between_large_ones() -> None:
    """36 circles of 2 in fill the sheet in square rows; 25 of 3/4 in lie in the gaps between."""
    found = arranged(plum_batch(circle("2", 36), circle("3/4", 25)))
    assert (found.planned, found.needed) == (2, 1)


@pytest.mark.parametrize(("small", "fits"), [(41_400, 1), (41_440, 0)])
def test_a_circle_touches_four_others_in_the_gap_between_them(small: int, fits: int) -> None:
    """Between four circles of diameter 1 in a square, one of sqrt(2) - 1 = 0.41421 just fits."""
    plan = plan_of_batch(plum_batch(circle("2", 4)))
    side = 100_000
    piece = replace(plan.pieces[0], width=side, height=side)
    four = [PlacedPiece(piece, False, x, y, side, side) for x in (0, side) for y in (0, side)]
    found = circles_in_gaps(four, 2 * side, 2 * side, small, 0, 9)
    assert (
        len([1 for x, y in found if abs(x + small // 2 - side) + abs(y + small // 2 - side) < 100])
        == fits
    )


def test_directions_are_kept() -> None:
    """A print with a direction gives the four round a middle no second turn: as with straight cuts."""
    found = arranged(plum_batch(rectangle("5 x 7", 4, turn="never"), front=Face("one-way")))
    assert (found.planned, found.needed) == (2, 2)
    assert not any(shape.turned for one in found.sheetfuls for shape in one.shapes)


def test_folds_keep_to_the_grain() -> None:
    """Bases that may turn are not turned across the grain where they fit along it."""
    plan = plan_of_batch(base_batch())
    cream = plan.asked.paper("cream")
    for setup in (Setup(), Setup(gap=inches("1/8"))):
        for one in arrange(plan, cream, setup).sheetfuls:
            for shape in one.shapes:
                assert not shape.piece.folds_across(cream.grain_axis, turned=shape.turned)


def test_a_gap_takes_more_sheets_where_it_must_and_says_how_many() -> None:
    """Four squares of half the sheet: one sheet without a gap, one each with it, proven."""
    batch = plum_batch(rectangle("6 x 6", 4))
    assert arranged(batch).needed == 1
    found = arranged(batch, Setup(gap=inches("1/8")))
    assert (found.planned, found.needed) == (1, 4)
    assert found.bound == LeastSheets(4, "large pieces")


def test_what_the_blade_does_not_reach_stays_free() -> None:
    """With 1/4 in lost all round the pieces move inwards, front up and back up."""
    batch = plum_batch(rectangle("4 x 5 1/4", 6), rectangle("3 x 3", 2))
    for back_up in (False, True):
        found = arranged(batch, Setup(edge=inches("1/4"), back_up=back_up))
        quarter, far = inches("1/4"), inches("11 3/4")
        for one in found.sheetfuls:
            for s in one.shapes:
                assert quarter <= s.x <= s.x + s.width <= far
                assert quarter <= s.y <= s.y + s.height <= far
        assert (found.planned, found.needed) == (2, 2)


def test_a_piece_too_large_for_the_reach_is_named() -> None:
    """A piece as wide as the sheet cannot be cut with an edge lost; the mends are said."""
    batch = plum_batch(rectangle("12 x 3", 1, name="banner"))
    with pytest.raises(CutFileError, match=r"A banner .* 11 1/2 x 11 1/2 in .* smaller edge"):
        arranged(batch, Setup(edge=inches("1/4")))
    with pytest.raises(CutFileError, match="larger carrier"):
        arranged(batch, Setup(carrier=(inches("6"), inches("6"))))


def test_further_sheets_are_those_at_hand_first() -> None:
    """What a gap takes beyond the plan comes from the sheets at hand, and then is to buy."""
    paper = Paper("plum dots", (Sheet(inches("12"), inches("12"), have=3),))
    batch = replace(plum_batch(rectangle("6 x 6", 4)), papers=(paper,))
    found = arranged(batch, Setup(gap=inches("1/8")))
    assert (found.needed, found.to_buy) == (4, 1)


def test_offcuts_are_free() -> None:
    """An offcut that the plan uses is used, and is no whole sheet."""
    sheets = (
        Sheet(inches("12"), inches("12")),
        Sheet(inches("5"), inches("7"), have=1, offcut=True),
    )
    batch = replace(plum_batch(rectangle("5 x 7", 5)), papers=(Paper("plum dots", sheets),))
    found = arranged(batch)
    assert (found.planned, found.needed, found.bound.value) == (2, 1, 1)
    assert sorted(one.source.kind for one in found.sheetfuls) == ["offcut", "sheet"]


@settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))
@given(batches(), st.sampled_from([0, 1_500_000]))
def test_laws_on_random_plans(batch: Batch, gap: int) -> None:
    """Never more sheets than the plan without a gap, never fewer than the bound, all of it cut."""
    assume(sound(batch))
    plan = plan_of_batch(batch)
    paper = plan.asked.papers[0]
    found = arrange(plan, paper, Setup(gap=gap))
    assert found.bound.value <= found.needed
    if not gap:
        assert found.needed <= found.planned
    wanted = sum(
        (Counter(count_pieces(shapes_of(plan, layout) * layout.alike)) for layout in plan.layouts),
        Counter[str](),
    )
    made = sum(
        (Counter(count_pieces(one.shapes * one.alike)) for one in found.sheetfuls), Counter[str]()
    )
    assert made == wanted
    assert found == arrange(plan, paper, Setup(gap=gap))


@pytest.mark.parametrize("gap", [0, inches("1/8")])
def test_every_paper_of_a_batch_is_arranged(gap: int) -> None:
    """Bases, two faces and circles; sheets are numbered through over all papers."""
    plan = plan_of_batch(base_batch())
    found = numbered([arrange(plan, paper, Setup(gap=gap)) for paper in plan.asked.papers])
    numbers = [one.number for arrangement in found for one in arrangement.sheetfuls]
    assert numbers == list(range(1, len(numbers) + 1))
    assert all(one.bound.value <= one.needed for one in found)


@pytest.mark.parametrize("seed", range(40))
def test_the_bound_never_refutes_what_is_known_to_fit(seed: int) -> None:
    """Sheets cut up at random, with circles in some of the parts: the bound is no more than those.

    The parts of a cut are the gap apart, so each sheet is a true arrangement.
    """
    chance = random.Random(seed)
    gap, sheets = chance.choice([0, 0, 700, 3_000]), chance.randint(1, 4)
    plan = plan_of_batch(plum_batch(rectangle("3 x 4", 1), circle("2", 1)))
    straight, round_ = (
        next(piece for piece in plan.pieces if piece.shape == shape) for shape in ("rect", "circle")
    )
    wanted = []
    for _ in range(sheets):
        rectangles = [(90_000, 60_000)]
        for _ in range(chance.randint(0, 8)):
            width, height = rectangles.pop(chance.randrange(len(rectangles)))
            if chance.random() < 0.5:
                width, height = height, width
            at = chance.randint(1, max(1, width - gap - 1))
            rectangles += [(at, height), (max(1, width - gap - at), height)]
        for width, height in rectangles:
            if chance.random() < 0.3:
                side = min(width, height)
                wanted.append((replace(round_, width=side, height=side), 1))
            else:
                wanted.append((replace(straight, width=width, height=height), 1))
    bound = least_sheets(wanted, [SheetOffer(90_000, 60_000, None, free=False)], gap)
    assert bound.value <= sheets


def test_the_bound_counts_what_cannot_share_a_sheet() -> None:
    """Squares just over half the sheet are one to a sheet; just half of it, four by area."""
    plan = plan_of_batch(plum_batch(rectangle("6 x 6", 4), circle("8 1/2", 3)))
    square, moon = plan.pieces
    if square.shape == "circle":
        square, moon = moon, square
    offers = [SheetOffer(inches("12"), inches("12"), None, free=False)]
    assert least_sheets([(square, 4)], offers, 0) == LeastSheets(1, "area")
    larger = replace(square, width=square.width + 1, height=square.height + 1)
    assert least_sheets([(larger, 4)], offers, 0) == LeastSheets(4, "large pieces")
    assert least_sheets([(moon, 3)], offers, 0) == LeastSheets(3, "large pieces")
    assert (
        least_sheets([(replace(moon, width=isqrt(2 * inches("6") ** 2)), 3)], offers, 0).by
        == "area"
    )


def test_the_bound_counts_what_goes_into_rows() -> None:
    """Of 4 x 5 1/4 in, upright, three go into a row and two rows onto a sheet: 25 take five sheets.

    By area four would do: 25 x 21 in² are less than 4 x 144 in².
    """
    plan = plan_of_batch(plum_batch(rectangle("4 x 5 1/4", 1, turn="never")))
    offers = [SheetOffer(inches("12"), inches("12"), None, free=False)]
    assert least_sheets([(plan.pieces[0], 25)], offers, 0) == LeastSheets(5, "lengths")
    assert least_sheets([(plan.pieces[0], 24)], offers, 0).value == 4


def one_sheet() -> tuple[Plan, Sheetful, Counter[str]]:
    """A sheet with two rectangles side by side and a circle beside them, which are all there are."""
    plan = plan_of_batch(plum_batch(rectangle("3 x 4", 2, turn="never"), circle("2", 1)))
    found = arrange(plan, plan.asked.papers[0], Setup())
    (sheetful,) = found.sheetfuls
    return plan, sheetful, count_pieces(sheetful.shapes)


def faults(sheetful: Sheetful, wanted: Counter[str], gap: int = 0) -> list[str]:
    """What the check says about a sheet that can be used all over."""
    usable = Area(0, 0, sheetful.width, sheetful.height)
    return list(find_misplaced([(sheetful, usable)], wanted, gap))


def test_the_check_names_each_break() -> None:
    """A sound sheet passes; each way to break it is found."""
    _, sheetful, wanted = one_sheet()
    assert faults(sheetful, wanted) == []
    first, *rest = sorted(sheetful.shapes, key=lambda shape: shape.is_round)

    def said(*shapes: PlacedPiece, gap: int = 0) -> str:
        return " ".join(faults(replace(sheetful, shapes=shapes), wanted, gap))

    assert "beyond what can be used" in said(first.moved(-first.x - 1, 0), *rest)
    assert "wrong size" in said(replace(first, width=first.width - 1), *rest)
    assert "lies as it may not" in said(replace(first, turned=True), *rest)
    assert "2 are to be cut" in said(*[s for s in sheetful.shapes if s.is_round])
    for number, shape in enumerate(sheetful.shapes):
        others = [s for n, s in enumerate(sheetful.shapes) if n != number]
        for other in others:
            away = replace(shape, x=other.x + 1, y=other.y + 1)
            assert "closer than the gap" in said(away, *others)
    assert "closer than the gap" in said(*sheetful.shapes, gap=inches("1/8"))


def test_the_check_sees_a_circle_as_a_circle() -> None:
    """Two circles may share the corner of their squares; a nanometre too close is found."""
    plan = plan_of_batch(plum_batch(circle("2", 2)))
    piece, side = plan.pieces[0], inches("2")
    off = isqrt(side * side // 2) + 1  # along both axes: across, just a diameter
    sheetful = Sheetful(0, "plum dots", plan.layouts[0].source, UNIT, UNIT, 1, 0, ())
    wanted = Counter({piece.id: 2})
    apart = tuple(PlacedPiece(piece, False, at, at, side, side) for at in (0, off))
    assert off < side
    assert faults(replace(sheetful, shapes=apart), wanted) == []
    closer = (apart[0], apart[1].moved(-2, 0))
    assert faults(replace(sheetful, shapes=closer), wanted) == [
        "sheet 1: A and A are closer than the gap."
    ]


def test_many_small_pieces_take_their_time_but_not_too_long() -> None:
    """Hundreds of pieces on a sheet are arranged with the few tries that are affordable."""
    pieces = rectangle("1 x 1 1/2", 300), circle("1/2", 300)
    plan = solved(plum_batch(*pieces), Rounds(1))
    found = arrange(plan, plan.asked.papers[0], Setup())
    assert found.bound.value <= found.needed <= found.planned
