"""Cut trees: what lies where, areas that add up exactly, figures against hand-worked values."""

import math
from dataclasses import replace
from fractions import Fraction

import pytest
from cut_trees import BIN, KEEP, layout, layouts, paper, three
from draw_plans import piece as plain_piece
from hypothesis import given
from plans import inches

from nesting.batch import Batch, Trimmer
from nesting.layouts import (
    Blank,
    Cut,
    EdgeTrim,
    Layout,
    Node,
    Pinwheel,
    Placed,
    Source,
    Strip,
    arms_and_centre,
    both_sides,
)
from nesting.papers import BarcodeStrip, Edge
from nesting.pieces import Piece
from nesting.plan import Bound, PaperFigures, Plan, Uncut
from nesting.shares import piece_area, shares
from nesting.sources import nominal_area, starting_corner
from nesting.typed_lengths import parse_size


def piece(id_: str, width: int, height: int, **changes: object) -> Piece:
    """A plain rectangle to be cut."""
    return plain_piece("A", id_, width, height, paper="pear toss", **changes)


def cut_loss(node: Node, width: int, height: int, cut_width: int) -> int:
    """Area that goes into cuts, worked out without the walk."""
    if isinstance(node, Pinwheel):
        (left, right), (low, high) = node.x, node.y
        lengths = right + high + (width - left - cut_width) + (height - low - cut_width)
        five = arms_and_centre(Placed(node, 0, 0, width, height), cut_width)
        inside = (cut_loss(one.node, one.width, one.height, cut_width) for one in five)
        return cut_width * lengths + sum(inside)
    if not isinstance(node, Cut):
        return 0
    extent, length = (width, height) if node.axis == "x" else (height, width)
    wide = min(cut_width, extent - node.at)
    rest = extent - node.at - wide
    low, high = (
        ((node.at, height), (rest, height))
        if node.axis == "x"
        else ((width, node.at), (width, rest))
    )
    return (
        wide * length + cut_loss(node.low, *low, cut_width) + cut_loss(node.high, *high, cut_width)
    )


@given(layouts())
def test_the_leaves_and_the_cuts_are_the_sheet(cut: Layout) -> None:
    """Blanks, offcuts, strip, edge trim and cut widths add up to the sheet exactly."""
    leaves = [p.width * p.height for p in cut.walk() if not isinstance(p.node, Cut | Pinwheel)]
    loss = cut_loss(cut.tree, cut.width, cut.height, cut.cut_width)
    assert sum(leaves) + loss == cut.width * cut.height


@given(layouts())
def test_no_two_leaves_share_a_spot(cut: Layout) -> None:
    """Painted square by square, every leaf lies on the sheet and none on another."""
    painted: set[tuple[int, int]] = set()
    area = 0
    for placed in cut.walk():
        if not isinstance(placed.node, Cut | Pinwheel):
            area += placed.width * placed.height
            painted.update(
                (x, y)
                for x in range(placed.x, placed.x + placed.width)
                for y in range(placed.y, placed.y + placed.height)
            )
    assert len(painted) == area
    assert painted <= {(x, y) for x in range(cut.width) for y in range(cut.height)}


@given(layouts())
def test_every_blank_has_the_size_it_was_cut_for(cut: Layout) -> None:
    """A walk gives each blank the rectangle that its name was taken from."""
    for placed in cut.blanks:
        assert placed.node == Blank(f"{placed.width} x {placed.height}")


@given(layouts())
def test_blanks_offcuts_and_cuts_are_those_of_the_tree(cut: Layout) -> None:
    """Nothing of the walk is lost but offcuts without any area."""
    walk = list(cut.walk())
    others = [p for p in walk if isinstance(p.node, Strip | EdgeTrim | Pinwheel)]
    empty = [p for p in walk if p.node == BIN and not p.width * p.height]
    listed = [*cut.blanks, *cut.offcuts, *cut.cuts, *others, *empty]
    assert sorted(map(repr, listed)) == sorted(map(repr, walk))
    assert all(p.width and p.height for p in cut.offcuts)


@given(layouts())
def test_the_three_shares_add_up(cut: Layout) -> None:
    """In pieces, kept and waste are the areas of the tree over the sheet, and make up one."""
    pieces = {
        p.node.piece: piece(p.node.piece, p.width, p.height)
        for p in cut.blanks
        if isinstance(p.node, Blank)
    }
    figures = shares((cut,), pieces, paper())
    total = cut.width * cut.height
    in_pieces = Fraction(sum(p.width * p.height for p in cut.blanks), total)
    kept = Fraction(sum(p.width * p.height for p in cut.offcuts if p.node == KEEP), total)
    assert figures.in_pieces == round(float(in_pieces), 6)
    assert figures.kept == round(float(kept), 6)
    assert figures.waste == round(float(1 - in_pieces - kept), 6)


# The walk and the sides of a cut.


def test_the_walk_goes_from_low_to_high() -> None:
    """A cut comes before its sides, and its low side with all in it before its high side."""
    tree = Cut("x", 4, Cut("y", 3, Blank("a"), Blank("b")), Cut("x", 2, Blank("c"), BIN))
    walk = list(layout(tree, 12, 10).walk())
    assert [(p.x, p.y, p.width, p.height) for p in walk] == [
        (0, 0, 12, 10),
        (0, 0, 4, 10),
        (0, 0, 4, 3),
        (0, 3, 4, 7),
        (4, 0, 8, 10),
        (4, 0, 2, 10),
        (6, 0, 6, 10),
    ]
    assert [p.node for p in walk if isinstance(p.node, Blank)] == [Blank(c) for c in "abc"]


@pytest.mark.parametrize(
    ("cut_width", "low", "high"),
    [
        (0, (5, 7, 10, 20), (15, 7, 2, 20)),
        (1, (5, 7, 10, 20), (16, 7, 1, 20)),
        (2, (5, 7, 10, 20), (17, 7, 0, 20)),
        (9, (5, 7, 10, 20), (17, 7, 0, 20)),
    ],
)
def test_the_cut_width_lies_on_the_high_side_and_ends_at_the_edge(
    cut_width: int, low: tuple[int, ...], high: tuple[int, ...]
) -> None:
    """The low side keeps its size; the high side loses the cut width, never more than it has."""
    placed = Placed(Cut("x", 10, Blank("a"), BIN), x=5, y=7, width=12, height=20)
    found = [(p.x, p.y, p.width, p.height) for p in both_sides(placed, cut_width)]
    assert found == [low, high]
    upright = Placed(Cut("y", 10, Blank("a"), BIN), x=7, y=5, width=20, height=12)
    found = [(p.y, p.x, p.height, p.width) for p in both_sides(upright, cut_width)]
    assert found == [low, high]


def test_what_is_no_cut_has_no_sides() -> None:
    """Only a cut divides; anything else is a mistake of the caller's."""
    placed = Placed(Blank("a"), 0, 0, 12, 12)
    with pytest.raises(TypeError, match="is not a cut"):
        both_sides(placed, 0)


def test_a_sheet_may_be_one_leaf() -> None:
    """A sheet that is not cut at all is one blank, without a cut."""
    whole = layout(Blank("a"), 12, 10)
    assert [(p.width, p.height) for p in whole.blanks] == [(12, 10)]
    assert (whole.cuts, whole.offcuts) == ((), ())


def test_a_tree_as_deep_as_a_sheet_is_walked() -> None:
    """Two thousand rows one on another are no trouble: the walk does not call itself."""
    tree: Node = BIN
    for _ in range(2000):
        tree = Cut("y", 1, Blank("a"), tree)
    assert len(layout(tree, 10, 2001).blanks) == 2000


# The starting corner.


@pytest.mark.parametrize(
    ("edge", "corner", "left_handed"),
    [
        (None, ("left", "top"), ("right", "top")),
        ("bottom", ("left", "top"), ("right", "top")),
        ("right", ("left", "top"), ("left", "top")),
        ("left", ("right", "top"), ("right", "top")),
        ("top", ("left", "bottom"), ("right", "bottom")),
    ],
)
def test_measures_start_away_from_the_strip(
    edge: Edge | None, corner: tuple[Edge, Edge], left_handed: tuple[Edge, Edge]
) -> None:
    """Top left, or top right for a left hand, unless the barcode strip is there; an offcut has none."""
    strip = None if edge is None else BarcodeStrip(edge)
    named = paper(barcode_strip=strip)
    sheet = layout(BIN, 1, 1)
    assert starting_corner(sheet, named, Trimmer()) == corner
    assert starting_corner(sheet, named, Trimmer(hand="left")) == left_handed
    for kind in ("offcut", "middle"):
        other = replace(sheet, source=Source(kind, "a"))
        assert starting_corner(other, named, Trimmer()) == ("left", "top")


# Shares against values worked out by hand.


def column(node: Node, last: Node) -> Node:
    """Cut a column 12 in high into two of 5 1/4 from the top, and what is left."""
    rest = Cut("y", inches("1 1/2"), last, node)
    return Cut("y", inches("6 3/4"), rest, node)


MAT = Blank("mat")
MATS = {"mat": piece("mat", *parse_size("4 x 5 1/4", "in"))}
ROWS_FIRST = Cut("y", inches("6 3/4"), Cut("y", inches("1 1/2"), KEEP, three(MAT)), three(MAT))
COLUMNS_FIRST = three(column(MAT, BIN))
SHEET = parse_size("12 x 12", "in")


def test_six_mats_from_a_sheet_rows_first() -> None:
    """Six 4 x 5 1/4 are 87.5 % of 12 x 12, and 12 x 1 1/2 is kept."""
    figures = shares((layout(ROWS_FIRST, *SHEET),), MATS, paper())
    assert (figures.in_pieces, figures.kept, figures.waste) == (0.875, 0.125, 0.0)


def test_six_mats_from_a_sheet_columns_first() -> None:
    """The same in columns leaves three offcuts of 4 x 1 1/2 to the bin."""
    figures = shares((layout(COLUMNS_FIRST, *SHEET),), MATS, paper())
    assert (figures.in_pieces, figures.kept, figures.waste) == (0.875, 0.0, 0.125)


def test_three_bands_from_the_rest_use_up_the_sheet() -> None:
    """Six 4 x 5 1/4 and three 4 x 1 1/2 are all of 12 x 12."""
    bands = Cut(
        "y",
        inches("6 3/4"),
        Cut("y", inches("1 1/2"), three(Blank("band")), three(MAT)),
        three(MAT),
    )
    pieces = {**MATS, "band": piece("band", *parse_size("4 x 1 1/2", "in"))}
    figures = shares((layout(bands, *SHEET),), pieces, paper())
    assert (figures.in_pieces, figures.kept, figures.waste) == (1.0, 0.0, 0.0)


def test_sheets_cut_alike_count_each() -> None:
    """Shares are those of all sheets together."""
    three = layout(ROWS_FIRST, *SHEET, alike=3)
    bare = layout(BIN, *SHEET)
    figures = shares((three, bare), MATS, paper())
    assert figures.in_pieces == round(18 * 21 / (4 * 144), 6)
    assert figures.kept == round(3 * 18 / (4 * 144), 6)
    assert figures.waste == 0.25


def test_no_layouts_have_no_shares() -> None:
    """Where nothing is cut every figure is nought."""
    figures = shares((), MATS, paper())
    assert (figures.in_pieces, figures.kept, figures.waste) == (0.0, 0.0, 0.0)


def test_a_strip_beyond_the_sheet_is_not_counted() -> None:
    """Below a 12 x 12 sheet with a strip beyond it, six mats are still 87.5 %."""
    strip = BarcodeStrip("bottom", inches("1/2"), beyond_the_sheet=True)
    cut = layout(Cut("y", inches("1/2"), Strip(), ROWS_FIRST), *parse_size("12 x 12 1/2", "in"))
    named = paper(barcode_strip=strip)
    assert nominal_area(cut, named) == inches("12") ** 2
    figures = shares((cut,), MATS, named)
    assert (figures.in_pieces, figures.kept, figures.waste) == (0.875, 0.125, 0.0)


def test_a_cut_in_a_strip_beyond_the_sheet_is_not_counted() -> None:
    """A piece as large as the sheet is all of it, though the cut in its strip is 1/16 wide."""
    strip = BarcodeStrip("bottom", inches("1/2"), beyond_the_sheet=True)
    mat = replace(MATS["mat"], width=inches("12"), height=inches("12"))
    cut = layout(Cut("y", inches("7/16"), Strip(), Blank("mat")), *parse_size("12 x 12 1/2", "in"))
    cut = replace(cut, cut_width=inches("1/16"))
    figures = shares((cut,), {"mat": mat}, paper(barcode_strip=strip))
    assert (figures.in_pieces, figures.kept, figures.waste) == (1.0, 0.0, 0.0)


def test_a_strip_inside_the_sheet_is_waste() -> None:
    """A strip of 1/2 in from the 12 leaves 12 x 1 of offcut and is 1/24 of the sheet itself."""
    strip = BarcodeStrip("bottom", inches("1/2"), beyond_the_sheet=False)
    rows = Cut("y", inches("6 1/4"), Cut("y", inches("1"), KEEP, three(MAT)), three(MAT))
    cut = layout(Cut("y", inches("1/2"), Strip(), rows), *SHEET)
    named = paper(barcode_strip=strip)
    assert nominal_area(cut, named) == inches("12") ** 2
    figures = shares((cut,), MATS, named)
    assert (figures.in_pieces, figures.kept) == (0.875, round(1 / 12, 6))
    assert figures.waste == round(1 / 24, 6)


@pytest.mark.parametrize("edge", ["left", "right", "top", "bottom"])
def test_the_strip_goes_along_its_edge(edge: Edge) -> None:
    """A strip beyond the left or right edge is as long as the sheet is high."""
    strip = BarcodeStrip(edge, 2, beyond_the_sheet=True)
    upright = edge in ("left", "right")
    cut = layout(BIN, *((32, 20) if upright else (30, 22)))
    assert nominal_area(cut, paper(barcode_strip=strip)) == 600


@pytest.mark.parametrize("kind", ["offcut", "middle"])
def test_an_offcut_has_no_strip_to_leave_out(kind: str) -> None:
    """All of an offcut or a covered middle counts."""
    strip = BarcodeStrip("bottom", 2, beyond_the_sheet=True)
    cut = layout(BIN, 30, 22, source=Source(kind, "a"))  # type: ignore[arg-type]
    assert nominal_area(cut, paper(barcode_strip=strip)) == 660


def test_edge_trim_and_cut_width_are_waste() -> None:
    """Of 12 x 10: 1 off the left, cuts 1 wide, a 4 x 10 blank, 5 x 10 kept; the rest is waste."""
    tree = Cut("x", 1, EdgeTrim(), Cut("x", 4, Blank("a"), KEEP))
    figures = shares((layout(tree, 12, 10, cut_width=1),), {"a": piece("a", 4, 10)}, paper())
    assert figures.in_pieces == round(40 / 120, 6)
    assert figures.kept == round(50 / 120, 6)
    assert figures.waste == round(30 / 120, 6)


def test_a_die_allowance_is_waste() -> None:
    """A piece counts its own size, not the paper left all round it."""
    small = piece("a", 8, 8, die_allowance=1)
    figures = shares((layout(Blank("a"), 10, 10),), {"a": small}, paper())
    assert (figures.in_pieces, figures.waste) == (0.64, 0.36)


def test_a_circle_counts_its_disc() -> None:
    """A circle fills pi/4 of the square round it, two circles on one blank count twice."""
    moon = piece("moon", 10, 10, shape="circle")
    assert math.isclose(piece_area(moon), 25 * math.pi, rel_tol=1e-15)
    one = layout(Blank("moon", circles=((5, 5),)), 10, 10)
    assert shares((one,), {"moon": moon}, paper()).in_pieces == round(math.pi / 4, 6)
    two = layout(Blank("moon", circles=((5, 5), (15, 5))), 20, 10)
    assert shares((two,), {"moon": moon}, paper()).in_pieces == round(math.pi / 4, 6)
    lone = layout(Cut("x", 10, Blank("moon", circles=((5, 5),)), BIN), 20, 10)
    assert shares((lone,), {"moon": moon}, paper()).in_pieces == round(math.pi / 8, 6)


def test_areas_of_rectangles_are_exact() -> None:
    """Square nanometres of a large sheet are beyond what a float can hold."""
    assert piece_area(piece("a", 10**9 + 1, 10**9 + 3)) == 10**18 + 4 * 10**9 + 3
    assert nominal_area(layout(BIN, 10**9 + 1, 10**9 + 3), paper()) == 10**18 + 4 * 10**9 + 3


# The plan.


def plan(**changes: object) -> Plan:
    """Make a plan of one paper, all cut."""
    bound = Bound(1, "sheets", "area")
    figures = PaperFigures(
        "pear toss", 1, 3, 1, 0, bound, True, 0.875, 0.125, 0.0, 6, 2
    )  # fmt: skip
    cut = layout(ROWS_FIRST, *SHEET)
    plain = Plan(
        tool="nesting",
        seed=0,
        ended="proven",
        asked=Batch("orchard", "in", (paper(), paper(name="cream"))),
        pieces=tuple(MATS.values()),
        layouts=(cut, replace(cut, id=2, paper="cream"), replace(cut, id=3)),
        uncut=(),
        cards=(),
        papers=(figures,),
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def test_a_piece_is_found_by_its_id() -> None:
    """An id that is not there is a KeyError that names it."""
    assert plan().piece("mat") == MATS["mat"]
    with pytest.raises(KeyError, match="moon"):
        plan().piece("moon")


def test_layouts_are_found_by_their_paper() -> None:
    """Each paper has its layouts in the order of the plan; an unknown one has none."""
    assert [cut.id for cut in plan().layouts_of("pear toss")] == [1, 3]
    assert plan().layouts_of("walnut") == ()


def test_all_is_cut_only_from_sheets_at_hand() -> None:
    """A piece left uncut, or a sheet still to buy, keeps a plan from being all cut."""
    whole = plan()
    assert whole.all_cut
    assert not plan(uncut=(Uncut("mat", 1, ()),)).all_cut
    assert not plan(papers=(replace(whole.papers[0], to_buy=1),)).all_cut
