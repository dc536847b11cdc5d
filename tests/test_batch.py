"""What is asked: supplies and their costs, what is left of a sheet, how a piece lies on it."""

from dataclasses import FrozenInstanceError, replace

import pytest
from draw_plans import piece as plain_piece
from hypothesis import given
from hypothesis import strategies as st

from nesting.batch import Batch, BatchError, Card, Fault, Layer, LoosePiece, Trimmer
from nesting.papers import BarcodeStrip, Edge, Edges, Face, Paper, Print, Sheet, Supply, Turn
from nesting.pieces import Piece
from nesting.sheets import (
    full_size,
    is_kept,
    starting_edges,
    strip_of,
    supplies,
    taken_off,
    usable_size,
)
from nesting.typed_lengths import parse_length, parse_size

EDGES: tuple[Edge, ...] = ("left", "right", "top", "bottom")


def paper(*sheets: Sheet, **changes: object) -> Paper:
    """A paper of these sheets, of one of 30 x 20 where none is given."""
    plain = Paper("pear toss", sheets or (Sheet(30, 20, have=3),))
    return replace(plain, **changes)  # type: ignore[arg-type]


def piece(**changes: object) -> Piece:
    """A piece 4 wide and 5 high."""
    return plain_piece("A", "mat", 4, 5, **changes)


# Supplies.


@pytest.mark.parametrize("have", [None, 0, 3])
@pytest.mark.parametrize("buy", [True, False])
@pytest.mark.parametrize("price", [None, 120])
def test_one_size_of_sheet_costs_one_each(have: int | None, buy: bool, price: int | None) -> None:
    """With a single size the cost is the number of sheets, whatever is at hand or paid."""
    only = paper(Sheet(30, 20, have=have, price=price), buy=buy)
    assert supplies(only, 9) == (Supply(only.sheets[0], bought=False, count=None, cost=1),)


def test_offcuts_cost_nothing_and_buying_outweighs() -> None:
    """An offcut is free, a sheet at hand costs 1, one to buy more than all that is at hand."""
    offcut = Sheet(10, 10, have=2, offcut=True)
    whole = Sheet(30, 20, have=3)
    assert supplies(paper(offcut, whole), 9) == (
        Supply(offcut, bought=False, count=2, cost=0),
        Supply(whole, bought=False, count=3, cost=1),
        Supply(whole, bought=True, count=None, cost=4),
    )


def test_without_prices_sheets_cost_their_areas() -> None:
    """Sheets of 600 and 400 cost 3 and 2 at hand: the smallest whole numbers of that ratio."""
    large, small = Sheet(30, 20, have=1), Sheet(20, 20, have=2)
    assert [(s.sheet, s.bought, s.count, s.cost) for s in supplies(paper(large, small), 9)] == [
        (large, False, 1, 3),
        (small, False, 2, 2),
        (large, True, None, 3 * 8),
        (small, True, None, 2 * 8),
    ]


def test_prices_go_before_areas_where_every_size_has_one() -> None:
    """Sheets at 1.20 and 0.90 cost 4 and 3; a price on one size alone is no measure."""
    large, small = Sheet(30, 20, have=1, price=120), Sheet(20, 20, have=1, price=90)
    assert [s.cost for s in supplies(paper(large, small), 9)][:2] == [4, 3]
    unpriced = replace(small, price=None)
    assert [s.cost for s in supplies(paper(large, unpriced), 9)][:2] == [3, 2]
    offcut = Sheet(10, 10, have=1, offcut=True)
    assert [s.cost for s in supplies(paper(offcut, large, small), 9)][:3] == [0, 4, 3]


def test_a_sheet_given_away_still_counts() -> None:
    """A price of nought costs one, or any number of such sheets would do; all of them less than one with a price."""
    free, dear = Sheet(30, 20, have=1, price=0), Sheet(20, 20, have=1, price=90)
    assert [s.cost for s in supplies(paper(free, dear), 9)][:2] == [1, 10]
    both = supplies(paper(free, replace(dear, price=0)), 9)
    assert [s.cost for s in both][:2] == [1, 1]


def test_sheets_at_hand_in_plenty_are_never_bought() -> None:
    """Only a size with a number at hand has a supply to buy."""
    plenty, few = Sheet(30, 20), Sheet(20, 20, have=2)
    found = supplies(paper(plenty, few), 9)
    assert [(s.sheet, s.bought, s.count) for s in found] == [
        (plenty, False, None),
        (few, False, 2),
        (few, True, None),
    ]


def test_plenty_counts_as_many_sheets_as_there_are_pieces() -> None:
    """No plan of five pieces takes more than five sheets, so one to buy costs more than these."""
    plenty, gone = Sheet(30, 20), Sheet(40, 40, have=0)
    assert [s.cost for s in supplies(paper(plenty, gone), 5)] == [3, 8, 8 * (1 + 5 * 3)]


def test_the_full_need_can_always_be_met() -> None:
    """Some whole size is without limit even where nothing more can be bought."""
    sheets = (Sheet(30, 20, have=0), Sheet(20, 20, have=1), Sheet(9, 9, have=1, offcut=True))
    found = supplies(paper(*sheets, buy=False), 9)
    assert {s.sheet for s in found if s.count is None} == set(sheets[:2])


counted = st.builds(
    Sheet,
    st.integers(1, 40),
    st.integers(1, 40),
    st.integers(0, 6),
    st.none() | st.integers(0, 500),
    st.booleans(),
)


@given(st.lists(counted, min_size=2, max_size=5))
def test_one_sheet_less_to_buy_outweighs_all_at_hand(sheets: list[Sheet]) -> None:
    """Even the cheapest sheet to buy costs more than every sheet at hand together."""
    found = supplies(paper(*sheets, Sheet(40, 40, have=1)), 9)
    at_hand = sum(s.cost * (s.count or 0) for s in found if not s.bought)
    assert all(s.cost > at_hand for s in found if s.bought)
    assert all(s.cost == 0 for s in found if s.sheet.offcut)
    assert all(s.cost >= 1 for s in found if not s.sheet.offcut)
    assert not any(s.bought for s in found if s.sheet.offcut)


# What is left of a sheet.


@pytest.mark.parametrize("edge", EDGES)
@pytest.mark.parametrize(
    ("beyond", "full", "usable"),
    [
        (
            True,
            {"upright": (32, 20), "across": (30, 22)},
            {"upright": (30, 20), "across": (30, 20)},
        ),
        (
            False,
            {"upright": (30, 20), "across": (30, 20)},
            {"upright": (28, 20), "across": (30, 18)},
        ),
    ],
    ids=["beyond", "inside"],
)
def test_a_strip_takes_its_width_across_its_edge(
    edge: Edge, beyond: bool, full: dict[str, tuple[int, int]], usable: dict[str, tuple[int, int]]
) -> None:
    """A strip of 2 on a 30 x 20 sheet: beyond the sheet it takes nothing, inside its width."""
    way = "upright" if edge in ("left", "right") else "across"
    striped = paper(barcode_strip=BarcodeStrip(edge, 2, beyond_the_sheet=beyond))
    (sheet,) = striped.sheets
    assert strip_of(striped, sheet) == striped.barcode_strip
    assert full_size(striped, sheet) == full[way]
    assert usable_size(striped, sheet, 0) == usable[way]
    assert taken_off(striped, sheet, 0) == ((edge, 2, "strip"),)


def test_a_sheet_with_nothing_taken_off_is_all_usable() -> None:
    """Without strip and edge trim no cut comes before the pieces, so no cut width is lost."""
    plain = paper()
    assert taken_off(plain, plain.sheets[0], 5) == ()
    assert usable_size(plain, plain.sheets[0], 5) == full_size(plain, plain.sheets[0]) == (30, 20)


def test_strip_first_then_edge_trims() -> None:
    """An edge trim on the strip's edge lies inside the strip; edges without trim are not cut."""
    both = paper(
        barcode_strip=BarcodeStrip("bottom", 2, beyond_the_sheet=False),
        edge_trim=Edges(left=1, top=3, bottom=4),
    )
    (sheet,) = both.sheets
    assert taken_off(both, sheet, 0) == (
        ("bottom", 2, "strip"),
        ("left", 1, "edge"),
        ("top", 3, "edge"),
        ("bottom", 4, "edge"),
    )
    assert usable_size(both, sheet, 0) == (29, 11)


def test_every_cut_before_the_pieces_runs_in_what_it_takes_off() -> None:
    """Four cuts 1 wide, one upright and three across, take nothing from what is left for pieces."""
    both = paper(
        barcode_strip=BarcodeStrip("bottom", 2, beyond_the_sheet=False),
        edge_trim=Edges(left=1, top=3, bottom=4),
    )
    assert usable_size(both, both.sheets[0], 1) == (29, 11)
    beyond = paper(barcode_strip=BarcodeStrip("bottom", 2, beyond_the_sheet=True))
    assert usable_size(beyond, beyond.sheets[0], 1) == (30, 20)


def test_a_cut_takes_what_strip_or_trim_lacks_in_width() -> None:
    """A cut of 3 takes 1 more than a strip of 2, beyond the sheet or inside, and 2 more than a trim of 1."""
    for beyond, left in ((True, 19), (False, 17)):
        narrow = paper(barcode_strip=BarcodeStrip("top", 2, beyond_the_sheet=beyond))
        assert taken_off(narrow, narrow.sheets[0], 3) == (("top", 3, "strip"),)
        assert usable_size(narrow, narrow.sheets[0], 3) == (30, left)
    trimmed = paper(edge_trim=Edges(left=1, right=3))
    assert usable_size(trimmed, trimmed.sheets[0], 3) == (24, 20)


@pytest.mark.parametrize(
    ("strip", "trim", "taken", "left"),
    [
        (5, 4, (("bottom", 5, "strip"), ("bottom", 4, "edge")), 11),
        (5, 1, (("bottom", 3, "strip"), ("bottom", 3, "edge")), 14),
        (1, 5, (("bottom", 3, "strip"), ("bottom", 3, "edge")), 14),
        (2, 2, (("bottom", 4, "edge"),), 16),
        (1, 1, (("bottom", 3, "edge"),), 17),
    ],
    ids=["both wide", "narrow trim", "narrow strip", "room for one cut", "narrower than a cut"],
)
def test_strip_and_trim_of_one_edge_are_cut_off_together(
    strip: int, trim: int, taken: tuple[tuple[str, int, str], ...], left: int
) -> None:
    """Only the last cut of 3 divides paper that is used: it takes no more than both lack in width."""
    both = paper(
        barcode_strip=BarcodeStrip("bottom", strip, beyond_the_sheet=False),
        edge_trim=Edges(bottom=trim),
    )
    assert taken_off(both, both.sheets[0], 3) == taken
    assert usable_size(both, both.sheets[0], 3) == (30, left)


def test_an_offcut_has_neither_strip_nor_edge_trim() -> None:
    """What was cut from a sheet before is all usable, with its size as it is."""
    offcut = Sheet(10, 9, have=1, offcut=True)
    striped = paper(
        Sheet(30, 20), offcut, barcode_strip=BarcodeStrip("left", 2), edge_trim=Edges(top=1)
    )
    assert strip_of(striped, offcut) is None
    assert taken_off(striped, offcut, 1) == ()
    assert full_size(striped, offcut) == usable_size(striped, offcut, 1) == (10, 9)


@pytest.mark.parametrize("offcut", [True, False])
def test_a_sheet_says_along_which_edge_its_strip_is_still_on(offcut: bool) -> None:
    """Beyond the sheet it adds to the size, inside it is part of it; none leaves the sheet without."""
    sheet = Sheet(10, 9, have=1, offcut=offcut, strip="left")
    for beyond, full, usable in ((True, (12, 9), (10, 9)), (False, (10, 9), (8, 9))):
        striped = paper(barcode_strip=BarcodeStrip("bottom", 2, beyond_the_sheet=beyond))
        assert strip_of(striped, sheet) == BarcodeStrip("left", 2, beyond_the_sheet=beyond)
        assert full_size(striped, sheet) == full
        assert usable_size(striped, sheet, 1) == usable
        bare = replace(sheet, strip="none")
        assert strip_of(striped, bare) is None
        assert full_size(striped, bare) == usable_size(striped, bare, 1) == (10, 9)
    assert strip_of(paper(), sheet) is None


@pytest.mark.parametrize(
    ("edge", "corner"),
    [
        ("bottom", ("left", "top")),
        ("right", ("left", "top")),
        ("left", ("right", "top")),
        ("top", ("left", "bottom")),
    ],
)
def test_the_starting_corner_is_away_from_the_strip(edge: Edge, corner: tuple[Edge, Edge]) -> None:
    """The strip names the paper and is cut off last; without one, measures start at the top left."""
    assert starting_edges(BarcodeStrip(edge), "right") == corner
    assert starting_edges(None, "right") == ("left", "top")
    assert starting_edges(None, "left") == ("right", "top")


# Pieces on a sheet.


@pytest.mark.parametrize(
    ("up", "turned", "lies"),
    [
        ("top", False, (4, 5)),
        ("bottom", False, (4, 5)),
        ("left", False, (5, 4)),
        ("right", False, (5, 4)),
        ("top", True, (5, 4)),
        ("bottom", True, (5, 4)),
        ("left", True, (4, 5)),
        ("right", True, (4, 5)),
    ],
)
def test_a_piece_stands_along_the_up_of_its_print(
    up: Edge, turned: bool, lies: tuple[int, int]
) -> None:
    """Not turned, the height of a 4 x 5 piece runs along the print's up; turned, across it."""
    assert piece(up=up).on_sheet(turned=turned) == lies
    allowance = piece(up=up, die_allowance=2).on_sheet(turned=turned)
    assert allowance == (lies[0] + 4, lies[1] + 4)


@pytest.mark.parametrize(
    ("turn", "turns"), [("never", (False,)), ("must", (True,)), ("may", (False, True))]
)
def test_turns_are_those_the_piece_allows(turn: Turn, turns: tuple[bool, ...]) -> None:
    """Never is upright only, must is turned only, may is both, upright first."""
    assert piece(turn=turn).turns == turns


@pytest.mark.parametrize(
    ("printed", "directed"),
    [("plain", False), ("four-way", False), ("two-way", True), ("one-way", True)],
)
def test_a_quarter_turn_shows_on_prints_with_a_direction(printed: Print, directed: bool) -> None:
    """Stripes and upright prints have a direction; plain and tossed ones have none."""
    assert Face(printed).directed is directed


def test_printed_faces_are_those_that_are_not_plain() -> None:
    """Front before back, and none on plain cardstock."""
    print_ = Face("two-way")
    assert paper().printed_faces == ()
    assert paper(front=print_).printed_faces == ("front",)
    assert paper(back=print_).printed_faces == ("back",)
    both = paper(front=print_, back=Face("four-way"))
    assert both.printed_faces == ("front", "back")
    assert (both.face("front"), both.face("back")) == (both.front, both.back)


# Offcuts worth keeping.


@pytest.mark.parametrize(
    ("size", "kept"),
    [
        ("1/2 x 4", True),
        ("4 x 1/2", True),
        ("12 x 1 1/2", True),
        ("2 x 2", True),
        ("2 x 3 15/16", True),
        ("1 15/16 x 3 15/16", False),
        ("7/16 x 12", False),
        ("1/2 x 3 15/16", False),
        ("12 x 12", True),
    ],
)
def test_an_offcut_is_kept_from_the_smallest_useful_size(size: str, kept: bool) -> None:
    """By default 1/2 x 4 or 2 x 2 in, whichever way round the offcut lies."""
    keep_from = Batch("orchard", "in", ()).keep_from
    assert is_kept(*parse_size(size, "in"), keep_from) is kept


sizes = st.tuples(st.integers(1, 20), st.integers(1, 20))


@given(sizes, st.lists(sizes, max_size=3))
def test_a_kept_offcut_holds_one_of_the_smallest_sizes(
    offcut: tuple[int, int], keep_from: list[tuple[int, int]]
) -> None:
    """An offcut is kept exactly where a smallest useful rectangle can be laid on it."""
    width, height = offcut
    holds = any((w <= width and h <= height) or (h <= width and w <= height) for w, h in keep_from)
    assert is_kept(width, height, tuple(keep_from)) is holds


# The rest.


def test_defaults_are_those_of_a_file_in_inches() -> None:
    """Marks of 1/16, a hold of 1/2, no cut width and no longest cut; a lap of 1/4 in."""
    trimmer = Trimmer()
    assert trimmer.marks == parse_length("1/16", "in")
    assert trimmer.narrowest_hold == parse_length("1/2", "in")
    assert (trimmer.cut_width, trimmer.longest_cut, trimmer.stack) == (0, None, 1)
    assert not trimmer.can_stop
    batch = Batch("orchard", "in", ())
    assert batch.lap == parse_length("1/4", "in")
    assert batch.keep_from == (parse_size("1/2 x 4", "in"), parse_size("2 x 2", "in"))
    assert BarcodeStrip().width == parse_length("1/2", "in")


def test_what_is_not_said_adds_nothing() -> None:
    """A layer is wanted once per card, and allowances, wraps, trims and spares are none."""
    layer = Layer("mat", "cream")
    assert (layer.each, layer.die_allowance, layer.wrap, layer.where) == (1, 0, 0, "outside")
    assert LoosePiece("tag", "cream", 1).die_allowance == 0
    assert Card("windfall", 8, 1, 1).spares == Batch("orchard", "in", ()).spares == 0
    assert Edges() == Edges(0, 0, 0, 0)


def test_a_paper_is_found_by_its_name() -> None:
    """A name that is not there is a KeyError that says it."""
    batch = Batch("orchard", "in", (paper(), paper(name="cream")))
    assert batch.paper("cream").name == "cream"
    with pytest.raises(KeyError, match="walnut"):
        batch.paper("walnut")


def test_an_error_has_every_fault_and_a_line_for_each() -> None:
    """Each line says what was read and what was expected."""
    error = BatchError((Fault(("a",), "this", "that"), Fault(("b", 0), "these", "those")))
    assert str(error) == "this; expected that\nthese; expected those"
    assert [fault.path for fault in error.faults] == [("a",), ("b", 0)]


@pytest.mark.parametrize("thing", [paper(), Sheet(1, 1), Face(), Trimmer(), piece()])
def test_what_is_asked_cannot_be_changed(thing: object) -> None:
    """Nothing changes under the packer's feet: the model is frozen, and can be a key."""
    name = next(iter(type(thing).__dataclass_fields__))  # type: ignore[attr-defined]
    with pytest.raises(FrozenInstanceError):
        setattr(thing, name, None)
    assert hash(thing) == hash(replace(thing))  # type: ignore[type-var]
