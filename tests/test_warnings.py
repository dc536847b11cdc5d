"""Plain warnings: what may not be meant, and never more than that."""

from dataclasses import replace

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from plans import inches

from nesting.batch import At, Base, Batch, Card, Fold, Layer, LoosePiece, Trimmer
from nesting.cards.resolving import resolve
from nesting.cards.warnings import find_slips, find_warnings
from nesting.papers import Edges, Face, FaceName, Paper, Print, Sheet
from nesting.typed_lengths import parse_length, parse_size
from nesting.units import Unit

CREAM = Paper("cream", (Sheet(304_800_000, 304_800_000),))


def layer(name: str = "band", **changes: object) -> Layer:
    """A layer of cream."""
    return replace(Layer(name, "cream"), **changes)  # type: ignore[arg-type]


def circle(name: str, diameter: str, centre: str) -> Layer:
    """A circle about a place of the card."""
    return layer(name, circle=inches(diameter), at=At(centre=parse_size(centre, "in")))


def said_of(batch: Batch) -> tuple[str, ...]:
    """What is said of a batch and its pieces."""
    asked = resolve(batch)
    return find_warnings(asked, asked.pieces())


def warnings_of(*layers: Layer, unit: Unit = "in", **changes: object) -> tuple[str, ...]:
    """What is said of a card of 4 1/4 x 5 1/2 in with these layers."""
    width, height = parse_size("4 1/4 x 5 1/2", "in")
    card = Card("windfall", 8, width, height, layers=layers)
    marks = 1_000_000 if unit == "mm" else 1_587_500
    asked = Batch("orchard", unit, (CREAM,), (card,), trimmer=Trimmer(marks=marks))
    return said_of(replace(asked, **changes))  # type: ignore[arg-type]


PANEL = layer("panel", reveal=Edges(3_175_000, 3_175_000, 3_175_000, 3_175_000))
BAND = layer(height=25_400_000)


# Reveals.


def reveal(*lengths: str, unit: Unit = "in") -> Edges:
    """Left, right, top and bottom, or one length for all."""
    found = [parse_length(text, unit) for text in lengths]
    return Edges(*(found * 4 if len(found) == 1 else found))


@pytest.mark.parametrize(
    ("lengths", "unit", "asked"),
    [
        (["1/2"], "in", None),
        (["9/16"], "in", "a reveal of 9/16 in all round; is that meant?"),
        (["1 1/8"], "in", "a reveal of 1 1/8 in all round; did you mean 1/8?"),
        (["1"], "in", "a reveal of 1 in all round; is that meant?"),
        (["35 mm"], "in", "a reveal of 35 mm all round; is that meant?"),
        (["1/8", "1/8", "1/8", "2"], "in", None),
        (["12"], "mm", None),
        (["25"], "mm", "a reveal of 25 mm all round; did you mean 2.5?"),
        (["25.45"], "mm", "a reveal of 25.45 mm all round; is that meant?"),
    ],
)
def test_a_wide_reveal_is_asked_about(lengths: list[str], unit: Unit, asked: str | None) -> None:
    """More than 1/2 in or 12 mm on every edge may be a slip; one wide edge is none."""
    said = warnings_of(layer("mat", reveal=reveal(*lengths, unit=unit)), unit=unit, pieces=())
    found = [one for one in said if "reveal" in one]
    assert found == ([f"windfall, mat: {asked}"] if asked else [])


@pytest.mark.parametrize(("upper", "slip"), [("10", True), ("9", False)])
def test_a_reveal_ten_times_its_neighbours_is_asked_about(upper: str, slip: bool) -> None:
    """Ten times the widest of the others looks like a point that was left out."""
    said = warnings_of(
        layer("mat", reveal=reveal("1", unit="mm")),
        layer("panel", reveal=reveal(upper, unit="mm")),
        unit="mm",
    )
    words = f"windfall, panel: a reveal of {upper} mm all round; did you mean 1?"
    assert (words in said) == slip


# Sticking out.


def test_a_layer_centred_on_another_may_leave_the_card() -> None:
    """What it is centred on is said, for the axis along which it leaves the card."""
    tag = layer("tag", width=inches("1"), height=inches("1"), at=At(left=0, bottom=0))
    moon = layer("moon", width=inches("2"), height=inches("2"))
    (said,) = warnings_of(tag, moon)
    assert said == (
        "windfall, moon: sticks out of the card by 1/2 in at the left, 1/2 in at the bottom; "
        "from left to right and from top to bottom it is centred on tag "
        "(over: card centres it on the card)"
    )
    (placed,) = warnings_of(tag, replace(moon, at=At(bottom=0)))
    assert placed.endswith(
        "at the left; from left to right it is centred on tag (over: card centres it on the card)"
    )


def test_a_sound_card_is_not_warned_of() -> None:
    """Layers that lie within each other, to the very edge, raise no warning."""
    flush = layer("frame", reveal=Edges())
    assert warnings_of(flush, PANEL, BAND, layer("tag", width=inches("1"), over="panel")) == ()


@pytest.mark.parametrize(
    ("at", "said"),
    [
        (At(left=inches("3 1/2")), "1/4 in at the right"),
        (At(right=inches("3 1/2")), "1/4 in at the left"),
        (At(bottom=inches("5")), "1/2 in at the top"),
        (At(top=inches("5 1/4")), "3/4 in at the bottom"),
        (At(left=inches("4"), top=inches("5")), "3/4 in at the right, 1/2 in at the bottom"),
        (At(centre=(0, 0)), "1/2 in at the left, 1/2 in at the bottom"),
    ],
)
def test_a_tag_that_sticks_out_of_the_card_says_by_how_much(at: At, said: str) -> None:
    """A 1 x 1 tag beyond the card's edge is named with every edge it crosses."""
    tag = layer("tag", width=inches("1"), height=inches("1"), at=at)
    assert warnings_of(tag) == (f"windfall, tag: sticks out of the card by {said}",)


@pytest.mark.parametrize(
    ("beside", "upper"),
    [
        (True, replace(BAND, at=At(bottom=inches("5 1/2")))),
        (False, replace(BAND, at=At(bottom=inches("5 7/16")))),
        (True, layer(width=inches("1"), over="panel", at=At(right=inches("5")))),
        (True, circle("band", "1", "4 5/8 x 5 7/8")),
        (False, circle("band", "1", "4 9/16 x 5 13/16")),
        (True, circle("band", "1", "2 x 6")),
        (True, replace(BAND, width=inches("1"), angle=45_000, at=At(centre=(0, inches("7"))))),
        (True, replace(BAND, where="inside", at=At(top=inches("6")))),
        (False, layer(height=inches("1/2"), width=inches("9"), over="panel")),
        (
            False,
            layer(width=inches("1"), height=inches("1/4"), over="ribbon", at=At(left=inches("5"))),
        ),
    ],
)
def test_a_layer_wholly_beside_the_card_is_asked_about_as_the_file_is_read(
    beside: bool, upper: Layer
) -> None:
    """A band, a disc or what lies aslant; not where a part of it lies on the card, or on a long ribbon."""
    ribbon = layer("ribbon", width=inches("12"), height=inches("1"))
    card = Card("windfall", 8, *parse_size("4 1/4 x 5 1/2", "in"), layers=(PANEL, ribbon, upper))
    asked = resolve(Batch("orchard", "in", (CREAM,), (card,)))
    assert asked.faults == ()
    said = "band: lies wholly beside the card; is that meant?"
    path = ("cards", "windfall", "layers", 2, "at")
    assert list(find_slips(asked.batch)) == ([(path, said)] if beside else [])


def test_a_band_wider_than_its_panel_sticks_out_of_it() -> None:
    """A band as wide as the card, over a panel, shows beyond the panel at both ends."""
    band = replace(BAND, width=inches("4 1/4"))
    assert warnings_of(PANEL, band) == (
        "windfall, band: sticks out of panel underneath by 1/8 in at the left, 1/8 in at the right",
    )


def test_the_card_comes_before_the_layer_underneath() -> None:
    """A band beyond both panel and card is told once, and of the card: that spoils the card."""
    band = replace(BAND, width=inches("4 3/4"))
    assert warnings_of(PANEL, band) == (
        "windfall, band: sticks out of the card by 1/4 in at the left, 1/4 in at the right",
    )


def test_a_layer_may_stick_out_of_one_that_it_does_not_lie_on() -> None:
    """Only what is right underneath counts: a wide band over the card is no matter of the panel."""
    assert warnings_of(PANEL, replace(BAND, over="card")) == ()


def test_what_lies_on_something_that_sticks_out_is_warned_of_by_itself() -> None:
    """A tag on a band beyond the card sticks out of the card just as the band does."""
    band = replace(BAND, at=At(bottom=inches("5")))
    tag = layer("tag", width=inches("1"), height=inches("1"), at=At(bottom=inches("5")))
    assert warnings_of(band, tag) == (
        "windfall, band: sticks out of the card by 1/2 in at the top",
        "windfall, tag: sticks out of the card by 1/2 in at the top",
    )


def test_the_inside_and_the_back_of_a_card_have_edges_too() -> None:
    """A note inside and a seal behind are held against the card."""
    for where in ("inside", "behind"):
        note = layer("note", width=inches("5"), height=inches("1"), where=where)
        assert warnings_of(PANEL, note) == (
            "windfall, note: sticks out of the card by 3/8 in at the left, 3/8 in at the right",
        )


def test_the_wrapped_ends_of_a_band_do_not_stick_out() -> None:
    """What is folded behind is not seen."""
    assert warnings_of(PANEL, replace(BAND, wrap=inches("1/2"))) == ()


def test_a_square_within_a_circle_touches_it_at_most() -> None:
    """A 3 x 4 rectangle just fits a circle of 5; the same a sixteenth off centre does not."""
    moon = layer("moon", circle=50_000_000)
    label = layer("label", width=30_000_000, height=40_000_000)
    assert warnings_of(moon, label, unit="mm") == ()
    centre = (inches("2 1/8") + 7_000_000, inches("2 3/4"))
    # Corners at (22, 20) mm from the centre are sqrt(884) = 29.732... mm off.
    assert warnings_of(moon, replace(label, at=At(centre=centre)), unit="mm") == (
        "windfall, label: sticks out of moon underneath by ≈4.73 mm at the round edge",
    )


def test_what_sticks_out_of_a_circle_is_never_said_in_two_units() -> None:
    """A distance that no ruler has is in mm even in a file of inches."""
    found = warnings_of(circle("moon", "2", "2 x 2"), layer("label", width=inches("1 3/4")))
    # Half of 1 3/4 x 2 has its corner 1.3288 in off, 0.3288 in beyond the moon.
    assert found == (
        "windfall, label: sticks out of moon underneath by ≈8.35 mm at the round edge",
    )


def test_circles_within_circles() -> None:
    """A disc that touches the moon's edge from inside is in; one sixteenth further is out."""
    moon = circle("moon", "3", "2 x 3")
    assert warnings_of(moon, circle("eye", "1", "3 x 3")) == ()
    assert warnings_of(moon, circle("eye", "1", "3 1/16 x 3")) == (
        "windfall, eye: sticks out of moon underneath by 1/16 in at the round edge",
    )
    assert warnings_of(moon, circle("eye", "3", "2 x 3")) == ()


nanometres = st.integers(0, 30)
places = st.tuples(nanometres, nanometres, st.integers(1, 30), st.integers(1, 30), st.booleans())


def shaped(name: str, place: tuple[int, int, int, int, bool]) -> Layer:
    """A rectangle or a circle with its low corner at a place in nm."""
    left, bottom, width, height, is_round = place
    at = At(left=left, bottom=bottom)
    if is_round:
        return layer(name, circle=width, at=at)
    return layer(name, width=width, height=height, at=at)


def is_inside(low: tuple[int, int, int, int, bool], high: tuple[int, int, int, int, bool]) -> bool:
    """Whether a shape lies on another, worked out in whole numbers of half a nanometre."""
    x, y, width, height, is_round = high
    if is_round:
        height = width
    under_x, under_y, under_width, under_height, under_is_round = low
    if not under_is_round:
        across = under_x <= x and x + width <= under_x + under_width
        return across and under_y <= y and y + height <= under_y + under_height
    centre = (2 * under_x + under_width, 2 * under_y + under_width)
    if is_round:
        way = (2 * x + width - centre[0], 2 * y + width - centre[1])
        spare = under_width - width
        return spare >= 0 and way[0] ** 2 + way[1] ** 2 <= spare**2
    return all(
        (2 * corner_x - centre[0]) ** 2 + (2 * corner_y - centre[1]) ** 2 <= under_width**2
        for corner_x in (x, x + width)
        for corner_y in (y, y + height)
    )


def sticks_out(low: tuple[int, int, int, int, bool], high: tuple[int, int, int, int, bool]) -> bool:
    """Whether there is a warning that one shape sticks out of the one underneath."""
    found = warnings_of(shaped("low", low), shaped("high", high))
    return any(text.startswith("windfall, high: sticks out of low") for text in found)


@settings(max_examples=500)
@given(places, places)
@example((0, 0, 10, 1, True), (3, 4, 1, 1, True))
@example((0, 0, 10, 1, True), (1, 2, 8, 6, False))
@example((0, 0, 10, 1, True), (1, 3, 8, 6, False))
@example((0, 0, 10, 1, True), (2, 1, 6, 8, False))
def test_what_sticks_out_is_exact(
    low: tuple[int, int, int, int, bool], high: tuple[int, int, int, int, bool]
) -> None:
    """Down to the nanometre there is a warning exactly where a corner or an edge lies outside."""
    assert sticks_out(low, high) is not is_inside(low, high)


@given(places, places)
def test_shapely_agrees_on_what_sticks_out(
    low: tuple[int, int, int, int, bool], high: tuple[int, int, int, int, bool]
) -> None:
    """Shapes cover each other in shapely's eyes exactly where there is no warning.

    A circle is a polygon of 1024 corners there, so touching ones are left out.
    """
    shapely = pytest.importorskip("shapely")

    def shape(place: tuple[int, int, int, int, bool], grown: float) -> object:
        left, bottom, width, height, is_round = place
        if is_round:
            centre = shapely.Point(left + width / 2, bottom + width / 2)
            return centre.buffer(width / 2 + grown, quad_segs=256)
        return shapely.box(left, bottom, left + width, bottom + height)

    round_ones = low[4] or high[4]
    looser, tighter = (0.001, -0.001) if round_ones else (0.0, 0.0)
    inside = shapely.covers(shape(low, tighter), shape(high, 0))
    assume(inside == shapely.covers(shape(low, looser), shape(high, tighter)))
    assert sticks_out(low, high) is not inside


# Sizes off the marks.


def test_a_size_between_two_marks_names_the_nearest() -> None:
    """4 1/32 wide on a ruler of sixteenths lies between 4 and 4 1/16, and as near to both."""
    tag = LoosePiece("tag", "cream", 1, *parse_size("4 1/32 x 5", "in"))
    assert warnings_of(pieces=(tag,)) == (
        "A tag: its width, 4 1/32 in, lies between the marks 4 and 4 1/16; the nearest is 4",
    )


@pytest.mark.parametrize(
    ("size", "said"),
    [
        (
            "100.4 x 143",
            "its width, 100.4 mm, lies between the marks 100 and 101; the nearest is 100",
        ),
        (
            "100 x 143.6",
            "its height, 143.6 mm, lies between the marks 143 and 144; the nearest is 144",
        ),
    ],
)
def test_metric_sizes_have_metric_marks(size: str, said: str) -> None:
    """On a ruler of millimetres, tenths lie between."""
    tag = LoosePiece("tag", "cream", 1, *parse_size(size, "mm"))
    assert warnings_of(unit="mm", pieces=(tag,)) == (f"A tag: {said}",)


def test_width_and_height_are_warned_of_each() -> None:
    """A5 in a file of inches is off both ways, said in mm and once per length."""
    tag = LoosePiece("tag", "cream", 1, 148_000_000, 210_000_000)
    assert warnings_of(pieces=(tag,)) == (
        "A tag: its width, 148 mm, lies between the marks 5 13/16 and 5 7/8; the nearest is 5 13/16",
        "A tag: its height, 210 mm, lies between the marks 8 1/4 and 8 5/16; the nearest is 8 1/4",
    )


def test_a_square_and_a_circle_are_warned_of_once() -> None:
    """One length is one warning: the side of a square, the diameter of a circle."""
    length = inches("2 1/32")
    square = LoosePiece("tag", "cream", 1, length, length)
    disc = LoosePiece("disc", "cream", 1, circle=length)
    ending = "2 1/32 in, lies between the marks 2 and 2 1/16; the nearest is 2"
    assert warnings_of(pieces=(square, disc)) == (
        f"A tag: its side, {ending}",
        f"B disc: its diameter, {ending}",
    )


def test_the_blank_is_what_meets_the_ruler() -> None:
    """A die allowance can put a size on the marks or off them, and the warning says so."""
    off = LoosePiece("disc", "cream", 1, circle=inches("2"), die_allowance=inches("1/64"))
    on = LoosePiece("disc", "cream", 1, circle=inches("2 1/32"), die_allowance=inches("1/64"))
    assert warnings_of(pieces=(off,)) == (
        (
            "A disc: its diameter with the die allowance, 2 1/32 in, lies between the marks "
            "2 and 2 1/16; the nearest is 2"
        ),
    )
    assert warnings_of(pieces=(on,)) == ()


@pytest.mark.parametrize("up", ["top", "left"])
def test_width_is_the_width_of_the_upright_piece(up: str) -> None:
    """However the print lies on the sheet, width means what the user wrote as width."""
    paper = replace(CREAM, front=Face("one-way", up))  # type: ignore[arg-type]
    tag = LoosePiece("tag", "cream", 1, *parse_size("4 1/32 x 5", "in"))
    (found,) = warnings_of(papers=(paper,), pieces=(tag,))
    assert found.startswith("A tag: its width, 4 1/32 in")


# Folds at the top.


@pytest.mark.parametrize("fold", ["left", "top", "none"])
@pytest.mark.parametrize("printed", ["plain", "four-way", "two-way", "one-way"])
@pytest.mark.parametrize("face", ["front", "back"])
def test_a_one_way_print_folded_at_the_top_stands_on_its_head(
    fold: Fold, printed: Print, face: FaceName
) -> None:
    """Only a fold at the top, and only a print with an up, turn the back of the card over."""
    paper = (
        replace(CREAM, front=Face(printed))
        if face == "front"
        else replace(CREAM, back=Face(printed))
    )
    card = Card("windfall", 8, *parse_size("4 1/4 x 5 1/2", "in"), base=Base("cream", face, fold))
    found = warnings_of(papers=(paper,), cards=(card,))
    expected = (
        (
            f"windfall, base: folded at the top, the one-way print of cream ({face}) "
            "stands upside down on the back of the card"
        ),
    )
    assert found == (expected if (fold, printed) == ("top", "one-way") else ())


def test_warnings_come_in_the_order_of_the_file() -> None:
    """Cards first, in their order, then the pieces by their letters."""
    size = parse_size("4 1/4 x 5 1/2", "in")
    wide = layer("mat", width=inches("4 5/16"))
    cards = tuple(Card(name, 1, *size, layers=(wide,)) for name in ("windfall", "blossom"))
    tag = LoosePiece("tag", "cream", 1, *parse_size("1 1/32 x 5", "in"))
    assert [text.split(":")[0] for text in warnings_of(cards=cards, pieces=(tag,))] == [
        "windfall, mat",
        "blossom, mat",
        "B tag",
    ]


def test_a_plain_side_of_a_printed_paper_is_said() -> None:
    """Taking the white back of stripes may be meant, or not; the printed front needs no word."""
    stripes = Paper("bee stripe", (Sheet(12, 12),), front=Face("two-way"))
    piece = LoosePiece("tag", "bee stripe", 2, 6, 6, face="back")
    batch = Batch("Orchard market", "in", (stripes,), (), (piece,))
    said = [words for words in said_of(batch) if "plain" in words]
    assert said == ["A tag: shows the back of bee stripe, which is plain; the front is printed"]
    front = replace(batch, pieces=(replace(piece, face="front"),))
    assert not any("plain" in words for words in said_of(front))
