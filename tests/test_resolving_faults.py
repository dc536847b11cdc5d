"""What cannot be planned: each fault with its path and its words."""

from dataclasses import replace
from itertools import product
from typing import Any

import pytest
from plans import inches

from nesting.batch import (
    Base,
    Batch,
    BatchError,
    Card,
    Envelope,
    Fault,
    Layer,
    LoosePiece,
    PaperChoice,
    PaperOption,
    Trimmer,
)
from nesting.cards.resolving import resolve
from nesting.papers import BarcodeStrip, Edges, Face, Paper, Sheet
from nesting.typed_lengths import parse_size

A4 = (210_000_000, 297_000_000)
#: How a sheet that no cut is long enough for is refused, without the way out.
LONGEST = "a sheet with an edge no longer than the trimmer's longest cut, {} (or "


def paper(name: str = "cream", /, sheet: str = "12 x 12", **changes: object) -> Paper:
    """A plain paper with one size of sheet."""
    plain = Paper(name, (Sheet(*parse_size(sheet, "in")),))
    return replace(plain, **changes)  # type: ignore[arg-type]


def tag(size: str = "2 x 3", **changes: object) -> LoosePiece:
    """Tags of cream."""
    plain = LoosePiece("tag", "cream", 12, *parse_size(size, "in"))
    return replace(plain, **changes)  # type: ignore[arg-type]


def mat(reveal: str = "1/8", **changes: object) -> Layer:
    """A mat of cream."""
    length = inches(reveal)
    plain = Layer("mat", "cream", reveal=Edges(length, length, length, length))
    return replace(plain, **changes)  # type: ignore[arg-type]


def card(*layers: Layer, **changes: object) -> Card:
    """Eight cards with these layers."""
    plain = Card("windfall", 8, inches("4 1/4"), inches("5 1/2"), layers=layers)
    return replace(plain, **changes)  # type: ignore[arg-type]


def batch(*papers: Paper, **changes: object) -> Batch:
    """A batch of these papers, of one plain paper where none is given."""
    plain = Batch("orchard", "in", papers or (paper(),))
    return replace(plain, **changes)  # type: ignore[arg-type]


def only(asked: Batch) -> Fault:
    """The one fault there is."""
    (fault,) = resolve(asked).faults
    return fault


def test_a_sound_batch_passes() -> None:
    """A card, its base and a loose piece of papers that hold them have no fault."""
    asked = batch(cards=(card(mat(), base=Base("cream")),), pieces=(tag(),))
    assert resolve(asked).faults == ()
    resolve(asked).sound()


def test_all_faults_are_raised_together() -> None:
    """The error holds every fault, and its text one line for each: what was read and expected."""
    asked = batch(cards=(card(mat("3")),), pieces=(tag(paper="creme"), tag("13 x 1")))
    with pytest.raises(BatchError) as caught:
        resolve(asked).sound()
    assert caught.value.faults == resolve(asked).faults
    assert sorted(str(caught.value).splitlines()) == [
        (
            "a reveal that leaves nothing of the layer; "
            "expected a reveal of less than half of what lies underneath"
        ),
        "paper 'creme'; expected one of the papers; the nearest is 'cream'",
        (
            "tag, 13 x 1 in; expected a piece that can be cut; "
            "this is larger than every sheet of its paper"
        ),
    ]


# Papers and faces.


@pytest.mark.parametrize(
    ("changes", "path"),
    [
        ({"pieces": (tag(paper="creem"),)}, ("pieces", 0, "paper")),
        ({"cards": (card(mat(paper="creem")),)}, ("cards", "windfall", "layers", 0, "paper")),
        ({"cards": (card(base=Base("creem")),)}, ("cards", "windfall", "base", "paper")),
    ],
    ids=["piece", "layer", "base"],
)
def test_an_unknown_paper_names_the_nearest(
    changes: dict[str, object], path: tuple[str | int, ...]
) -> None:
    """A paper that is not there is told where it is asked for, with the one that may be meant."""
    asked = batch(paper(), paper("walnut"), **changes)
    assert only(asked) == Fault(path, "paper 'creem'", "one of the papers; the nearest is 'cream'")


def test_an_unknown_paper_like_no_other_lists_them_all() -> None:
    """Where nothing is near, the message has every paper there is."""
    asked = batch(paper(), paper("walnut"), pieces=(tag(paper="pear toss"),))
    assert only(asked).expected == "one of the papers; there are: cream, walnut"


@pytest.mark.parametrize(
    ("changes", "path"),
    [
        ({"pieces": (tag(),)}, ("pieces", 0, "face")),
        ({"cards": (card(mat()),)}, ("cards", "windfall", "layers", 0, "face")),
        ({"cards": (card(base=Base("cream")),)}, ("cards", "windfall", "base", "face")),
    ],
    ids=["piece", "layer", "base"],
)
def test_a_paper_printed_on_both_faces_needs_a_face(
    changes: dict[str, object], path: tuple[str | int, ...]
) -> None:
    """Which side shows is never guessed where both could."""
    both = paper(front=Face("four-way"), back=Face("one-way"))
    assert only(batch(both, **changes)) == Fault(
        path, "no face, and 'cream' is printed on both", "face: front or face: back"
    )
    assert not resolve(batch(paper(front=Face("one-way")), **changes)).faults


def test_a_face_that_is_given_is_enough() -> None:
    """Front and back both pass on a paper printed on both."""
    both = paper(front=Face("four-way"), back=Face("one-way"))
    asked = batch(both, pieces=(tag(face="front"), tag(face="back")))
    assert not resolve(asked).faults


# Sheets.


def test_a_paper_needs_a_whole_sheet() -> None:
    """Offcuts alone give no measure of what is needed."""
    offcut = Sheet(inches("5"), inches("6"), have=1, offcut=True)
    assert only(batch(paper(sheets=(offcut,)))) == Fault(
        ("papers", "cream", "sheets"),
        "only offcuts",
        "at least one size of whole sheets (have: 0 where there are none)",
    )
    whole = Sheet(inches("8 1/2"), inches("11"), have=0)
    assert not resolve(batch(paper(sheets=(offcut, whole)))).faults


def test_an_offcut_comes_from_a_sheet_of_its_paper() -> None:
    """It is no larger than one of them, either way where no print has a direction.

    One of the stash is there, whatever sheets of the paper are left.
    """
    whole, offcut = Sheet(inches("8 1/2"), inches("11"), 1), Sheet(inches("11"), inches("8"), 1)
    offcut = replace(offcut, offcut=True)
    assert not resolve(batch(paper(sheets=(whole, offcut)))).faults
    directed = paper(sheets=(whole, offcut), front=Face("one-way"))
    assert only(batch(directed)) == Fault(
        ("papers", "cream", "sheets", 1, "size"),
        "an offcut of cream, 11 x 8 in: larger than a sheet of it",
        "at most 8 1/2 x 11 in, or the sheet that it was cut from as well, with 0 at hand",
    )
    numbered = replace(directed, sheets=(whole, replace(offcut, name="3")))
    assert not resolve(batch(numbered)).faults
    square = Sheet(inches("12"), inches("12"), have=0)
    assert not resolve(batch(replace(directed, sheets=(whole, square, offcut)))).faults


def test_a_square_sheet_has_no_grain() -> None:
    """Long and short say nothing of a square; a square offcut does no harm."""
    assert only(batch(paper(grain="long"))) == Fault(
        ("papers", "cream", "grain"),
        "grain: long on a square sheet",
        "grain only on oblong sheets: a square one has no long edge",
    )
    oblong = paper(sheet="8 1/2 x 11", grain="short")
    square = Sheet(inches("6"), inches("6"), have=1, offcut=True)
    assert not resolve(batch(replace(oblong, sheets=(*oblong.sheets, square)))).faults


@pytest.mark.parametrize(
    "eaten",
    [
        {"barcode_strip": BarcodeStrip("bottom", 304_800_000, beyond_the_sheet=False)},
        {"edge_trim": Edges(left=152_400_000, right=152_400_000)},
        {
            "barcode_strip": BarcodeStrip("top", 152_400_000, beyond_the_sheet=False),
            "edge_trim": Edges(bottom=152_400_000),
        },
    ],
    ids=["strip", "trims", "both"],
)
def test_a_sheet_eaten_up_by_strip_and_trims_is_a_fault(eaten: dict[str, Any]) -> None:
    """Something has to be left of a sheet to cut pieces from."""
    assert only(batch(replace(paper(), **eaten))) == Fault(
        ("papers", "cream"),
        "the sheet 12 x 12 in of cream with barcode strip and edge trim as wide as the sheet",
        "a strip and trims that leave something of the sheet",
    )


def test_a_strip_on_a_sheet_of_a_paper_without_one_is_a_fault() -> None:
    """Nothing says how wide it is; that there is none may be said of any sheet."""
    plain = paper()
    offcut = Sheet(inches("6"), inches("6"), have=1, offcut=True, strip="bottom")
    striped = replace(plain, sheets=(*plain.sheets, offcut))
    assert only(batch(striped)) == Fault(
        ("papers", "cream", "sheets", 1, "strip"),
        "strip: bottom on a sheet of cream",
        "a barcode strip on the paper, whose width it is",
    )
    bare = replace(offcut, strip="none")
    assert not resolve(batch(replace(plain, sheets=(*plain.sheets, bare)))).faults
    assert not resolve(batch(replace(striped, barcode_strip=BarcodeStrip("left")))).faults


def test_a_strip_beyond_the_sheet_leaves_it_whole() -> None:
    """As wide as it may be, a strip beyond the sheet's size takes nothing of it."""
    strip = BarcodeStrip("bottom", 304_800_000, beyond_the_sheet=True)
    assert not resolve(batch(paper(barcode_strip=strip))).faults


def test_a_cut_wider_than_what_it_takes_off_counts_when_a_sheet_is_eaten_up() -> None:
    """Trims of 302.8 and 1 mm leave 1 mm of 304.8; a cut of 2 mm takes 1 mm more than the narrow one."""
    asked = batch(paper(edge_trim=Edges(left=302_800_000, right=1_000_000)))
    assert not resolve(asked).faults
    assert not resolve(replace(asked, trimmer=Trimmer(cut_width=1_000_000))).faults
    assert len(resolve(replace(asked, trimmer=Trimmer(cut_width=2_000_000))).faults) == 1


def test_a_sheet_too_large_for_the_trimmer_is_a_fault() -> None:
    """A cut goes from edge to edge: one edge has to be as short as the longest cut."""
    asked = batch(pieces=(tag(),), trimmer=Trimmer(longest_cut=inches("11 3/4")))
    assert only(asked) == Fault(
        ("papers", "cream"),
        "the sheet 12 x 12 in of cream",
        "a sheet with an edge no longer than the trimmer's longest cut, 11 3/4 in "
        "(or halve it with scissors first and list the halves as sheets)",
    )
    assert not resolve(replace(asked, trimmer=Trimmer(longest_cut=inches("12")))).faults
    oblong = replace(asked, papers=(paper(sheet="11 x 17"),))
    assert not resolve(oblong).faults


@pytest.mark.parametrize(
    "uses",
    [
        {"cards": (card(base=Base("poster")),)},
        {"cards": (card(mat(paper="poster")),)},
        {"cards": (card(mat(choice=PaperChoice((PaperOption("cream"), PaperOption("poster"))))),)},
        {"cards": (card(mat(), envelope=Envelope(paper="poster")),)},
        {"pieces": (tag(paper="poster"),)},
    ],
    ids=["base", "layer", "choice", "envelope", "piece"],
)
def test_a_sheet_too_large_for_the_trimmer_may_lie_there_unused(uses: dict[str, Any]) -> None:
    """A paper that nothing is cut from stops no plan; one that something may be cut from does."""
    trimmer = Trimmer(longest_cut=inches("12"))
    papers = (paper(), paper("poster", sheet="24 x 36"))
    assert not resolve(batch(*papers, pieces=(tag(),), trimmer=trimmer)).faults
    assert only(batch(*papers, trimmer=trimmer, **uses)).path == ("papers", "poster")


@pytest.mark.parametrize(
    ("taken_off", "passes"),
    [
        ({"barcode_strip": BarcodeStrip("bottom")}, True),
        ({"barcode_strip": BarcodeStrip("left")}, False),
        ({"edge_trim": Edges(top=inches("1/4"))}, True),
        ({"edge_trim": Edges(right=inches("1/4"))}, False),
    ],
)
def test_strip_and_edge_trim_have_to_come_off_with_cuts_short_enough(
    taken_off: dict[str, Any], passes: bool
) -> None:
    """Along the short edge of 8 1/2 x 11 such a cut is 8 1/2 long, along the long one 11."""
    asked = batch(
        paper(sheet="8 1/2 x 11", **taken_off),
        pieces=(tag(),),
        trimmer=Trimmer(longest_cut=inches("9")),
    )
    expected = "its strip and edge trim along edges no longer than the trimmer's longest cut, 9 in"
    found = [fault.expected.partition(" (")[0] for fault in resolve(asked).faults]
    assert found == ([] if passes else [expected])


@pytest.mark.parametrize(("first", "then"), [("left", "top"), ("bottom", "right")])
def test_what_is_off_already_makes_the_next_cut_shorter(first: str, then: str) -> None:
    """From 13 in, a strip of 1 in leaves 12: just short enough to trim the next edge."""
    upright = first == "left"
    for width, faults in ((inches("1"), 0), (inches("1") - 1, 1)):
        strip = BarcodeStrip(first, width, beyond_the_sheet=False)  # type: ignore[arg-type]
        asked = batch(
            paper(
                sheet="13 x 12" if upright else "12 x 13",
                barcode_strip=strip,
                edge_trim=Edges(**{then: inches("1/4")}),
            ),
            pieces=(tag(),),
            trimmer=Trimmer(longest_cut=inches("12"), cut_width=inches("1/4")),
        )
        assert len(resolve(asked).faults) == faults


def test_every_size_of_sheet_is_looked_at() -> None:
    """A sheet that can be cut does not excuse another that cannot."""
    sheets = (Sheet(*A4, have=3), Sheet(2 * A4[0], 2 * A4[1], have=3))
    asked = batch(
        paper(sheets=sheets), pieces=(tag(),), trimmer=Trimmer(longest_cut=320_000_000), unit="mm"
    )
    assert only(asked).read == "the sheet 420 x 594 mm of cream"
    assert only(asked).expected.startswith(LONGEST.format("320 mm"))


# Pieces.


def test_a_piece_larger_than_its_sheets_is_a_fault() -> None:
    """The message has the size that the reveals or the user gave, and the path to it."""
    wide = card(base=Base("cream"), width=inches("6 1/8"))
    fault = only(batch(cards=(wide,)))
    assert fault == Fault(
        ("cards", "windfall", "base"),
        "base, 12 1/4 x 5 1/2 in",
        "a piece that can be cut; this is larger than every sheet of its paper",
    )
    layer = mat("0")
    asked = batch(paper(sheet="4 x 4"), cards=(card(layer),))
    assert only(asked).path == ("cards", "windfall", "layers", 0)
    assert only(asked).read == "mat, 4 1/4 x 5 1/2 in"


def test_a_piece_as_large_as_its_sheet_fits() -> None:
    """An exact fit is a fit, and a nanometre more is none."""
    assert not resolve(batch(pieces=(tag("12 x 12"),))).faults
    assert resolve(batch(pieces=(tag("12 x 12", width=inches("12") + 1),))).faults


def test_a_die_allowance_counts_in_the_blank() -> None:
    """A 12 in circle fits a 12 in sheet, but not with paper left round it for the die."""
    disc = tag(width=None, height=None, circle=inches("12"))
    assert not resolve(batch(pieces=(disc,))).faults
    assert only(batch(pieces=(replace(disc, die_allowance=inches("1/8")),))) == Fault(
        ("pieces", 0),
        "tag, circle 12 in and a die allowance of 1/8 in all round",
        "a piece that can be cut; this is larger than every sheet of its paper",
    )


def test_a_piece_that_fits_only_turned_says_so() -> None:
    """On a one-way print a piece may be too wide as it has to stand; on a plain one it turns."""
    letter = paper(sheet="8 1/2 x 11")
    wide = tag("10 x 4")
    assert not resolve(batch(letter, pieces=(wide,))).faults
    one_way = replace(letter, front=Face("one-way"))
    assert only(batch(one_way, pieces=(wide,))).expected == (
        "a piece that can be cut; this is larger than every sheet of its paper "
        "unless turned (turn: never)"
    )
    assert not resolve(batch(one_way, pieces=(replace(wide, turn="may"),))).faults
    assert not resolve(
        batch(replace(letter, front=Face("one-way", up="left")), pieces=(wide,))
    ).faults


def test_a_piece_that_must_be_turned_is_measured_turned() -> None:
    """A 4 x 10 that must be turned lies 10 wide, too wide for 8 1/2."""
    asked = batch(paper(sheet="8 1/2 x 11"), pieces=(tag("4 x 10", turn="must"),))
    assert only(asked).expected.endswith("unless turned (turn: must)")
    assert not resolve(batch(paper(sheet="11 x 8 1/2"), pieces=asked.pieces)).faults


@pytest.mark.parametrize(
    "taken",
    [
        {"barcode_strip": BarcodeStrip("bottom", beyond_the_sheet=False)},
        {"edge_trim": Edges(left=1)},
    ],
    ids=["strip", "trim"],
)
def test_a_piece_that_needs_the_strip_or_the_trim_says_so(taken: dict[str, Any]) -> None:
    """A piece as large as the nominal sheet does not fit beside what comes off first."""
    assert only(batch(replace(paper(), **taken), pieces=(tag("12 x 12"),))).expected == (
        "a piece that can be cut; "
        "this is larger than what strip, edge trim and cut width leave of every sheet"
    )


def test_offcuts_do_not_count_for_the_full_need() -> None:
    """A piece that only a large offcut holds could not be bought for."""
    offcut = Sheet(inches("12"), inches("12"), have=1, offcut=True)
    whole = Sheet(inches("6"), inches("6"))
    assert resolve(batch(paper(sheets=(whole, offcut)), pieces=(tag("7 x 7"),))).faults


def test_any_of_several_sheets_will_do() -> None:
    """A piece that one size of sheet holds can be cut, whichever it is."""
    sheets = (Sheet(inches("6"), inches("6")), Sheet(inches("12"), inches("8")))
    assert not resolve(batch(paper(sheets=sheets), pieces=(tag("7 x 11"),))).faults


def test_a_piece_beyond_the_trimmers_reach_is_a_fault() -> None:
    """To trim 10 x 10 out of 11 x 17 takes a cut of at least 10 both ways: 11 and 10."""
    asked = batch(
        paper(sheet="11 x 17"),
        pieces=(tag("10 x 10"),),
        trimmer=Trimmer(longest_cut=inches("11")),
    )
    assert not resolve(asked).faults
    long = replace(asked, pieces=(tag("10 x 12"),))
    assert only(long) == Fault(
        ("pieces", 0),
        "tag, 10 x 12 in",
        "a piece that can be cut; this is not to be reached with cuts as short as the "
        "trimmer's longest cut",
    )
    as_wide_as_the_sheet = replace(asked, pieces=(tag("11 x 12"),))
    assert not resolve(as_wide_as_the_sheet).faults


def reach(width: int, height: int, blank: tuple[int, int], longest: int) -> bool:
    """Whether cuts no longer than ``longest`` get a blank out of a sheet, by trying them all."""
    if (width, height) == blank:
        return True
    found = False
    if width > blank[0] and height <= longest:
        found = any(reach(w, height, blank, longest) for w in range(blank[0], width))
    if not found and height > blank[1] and width <= longest:
        found = any(reach(width, h, blank, longest) for h in range(blank[1], height))
    return found


@pytest.mark.parametrize("longest", range(1, 5))
def test_the_trimmers_reach_is_that_of_all_ways_to_cut(longest: int) -> None:
    """A piece is refused exactly where no sequence of short enough cuts sets it free.

    All sheets up to 4 x 4 and all pieces of each.
    """
    for width, height in product(range(1, 5), repeat=2):
        for wide, high in product(range(1, width + 1), range(1, height + 1)):
            asked = batch(
                paper(sheets=(Sheet(width, height),)),
                pieces=(LoosePiece("tag", "cream", 1, wide, high, turn="never"),),
                trimmer=Trimmer(longest_cut=longest),
            )
            if min(width, height) > longest:
                assert only(asked).path == ("papers", "cream")
            else:
                reached = reach(width, height, (wide, high), longest)
                assert (not resolve(asked).faults) is reached


def test_sizes_in_words_have_one_unit() -> None:
    """Millimetres in a file of inches are said in mm, without a second unit."""
    asked = batch(paper(sheets=(Sheet(*A4),)), pieces=(LoosePiece("tag", "cream", 1, *A4),))
    asked = replace(asked, pieces=(replace(asked.pieces[0], width=211_000_000),))
    assert only(asked).read == "tag, 211 x 297 mm"
    asked = replace(asked, trimmer=Trimmer(longest_cut=200_000_000), pieces=(tag(),))
    assert only(asked).read == "the sheet 210 x 297 mm of cream"
    assert only(asked).expected.startswith(LONGEST.format("200 mm"))


# One slip, one message.


def test_a_faulty_paper_does_not_blame_its_pieces() -> None:
    """Pieces of a paper that cannot be cut are not called too large on top of it."""
    eaten = paper(edge_trim=Edges(left=inches("12")))
    asked = batch(eaten, cards=(card(mat(), base=Base("cream")),), pieces=(tag("13 x 13"),))
    assert [fault.path for fault in resolve(asked).faults] == [("papers", "cream")]


def test_a_faulty_layer_does_not_blame_the_layers_on_it() -> None:
    """The card's other pieces are measured once the slip is mended, not on a guess."""
    asked = batch(paper(sheet="4 x 4"), cards=(card(mat("3"), mat("1/8", name="panel")),))
    assert [fault.path[-1] for fault in resolve(asked).faults] == ["reveal"]


def test_other_cards_are_measured_beside_a_faulty_one() -> None:
    """One faulty design does not hide a piece of another that is too large."""
    large = card(mat("0"), name="blossom", width=inches("13"))
    asked = batch(cards=(card(mat("3")), large), pieces=(tag("1 x 13"),))
    assert [fault.path for fault in resolve(asked).faults] == [
        ("cards", "windfall", "layers", 0, "reveal"),
        ("cards", "blossom", "layers", 0),
        ("pieces", 0),
    ]


def test_an_unknown_paper_does_not_hide_a_faulty_reveal() -> None:
    """Two slips in one card are told together."""
    asked = batch(cards=(card(mat("3", paper="creem")),))
    assert [fault.path[-1] for fault in resolve(asked).faults] == ["paper", "reveal"]


def test_a_piece_that_only_an_offcut_holds() -> None:
    """The words say whole sheets, as an offcut of the stash is larger: there is no more of it than there is."""
    (whole,) = paper().sheets
    offcut = Sheet(inches("14"), inches("14"), have=1, offcut=True, name="3")
    asked = batch(paper(sheets=(whole, offcut)), pieces=(tag("13 x 13"),))
    (fault,) = resolve(asked).faults
    assert fault.expected.endswith("this is larger than every whole sheet of its paper")
