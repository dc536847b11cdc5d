"""Cards to pieces: sizes from reveals, places on the card, equal pieces merged."""

from collections.abc import Iterator
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from plans import inches

from nesting.batch import (
    ON_CARD,
    At,
    Base,
    Batch,
    BatchError,
    Card,
    Fault,
    Fold,
    Layer,
    LoosePiece,
    PaperChoice,
    PaperOption,
    Trimmer,
)
from nesting.cards.merging import letter
from nesting.cards.placing import PlacedLayer
from nesting.cards.resolving import resolve
from nesting.cards.warnings import find_warnings
from nesting.papers import BarcodeStrip, Edges, Face, FaceName, Paper, Sheet, Turn
from nesting.pieces import Piece, Score, Use
from nesting.typed_lengths import parse_length, parse_size
from nesting.units import Unit

CREAM = Paper("cream", (Sheet(304_800_000, 304_800_000),))
ONE_WAY, TWO_WAY, FOUR_WAY = Face("one-way"), Face("two-way"), Face("four-way")


def size(text: str, unit: Unit = "in") -> tuple[int, int]:
    """A size, in nm."""
    return parse_size(text, unit)


def all_round(text: str, unit: Unit = "in") -> Edges:
    """One reveal for all four edges."""
    length = parse_length(text, unit)
    return Edges(length, length, length, length)


def card(*layers: Layer, finished: str = "4 1/4 x 5 1/2", **changes: object) -> Card:
    """A card of the orchard with these layers."""
    width, height = size(finished)
    plain = Card("windfall", make=8, width=width, height=height, layers=layers)
    return replace(plain, **changes)  # type: ignore[arg-type]


def batch(*cards: Card, papers: tuple[Paper, ...] = (CREAM,), **changes: object) -> Batch:
    """A batch of these cards."""
    return replace(Batch("orchard", "in", papers, cards), **changes)  # type: ignore[arg-type]


def mat(showing: str = "1/8", /, **changes: object) -> Layer:
    """A layer of cream cardstock sized by its reveal."""
    plain = Layer("mat", "cream", reveal=all_round(showing))
    return replace(plain, **changes)  # type: ignore[arg-type]


def placed_on(asked: Card) -> list[PlacedLayer]:
    """The layers of a card of the orchard that can be placed, in the order of the list."""
    _, *layers = resolve(batch(asked)).placed[0].values()
    return layers


def rectangle(asked: Card, number: int = -1) -> tuple[int, int, int, int]:
    """A layer's place: left, bottom, width and height; the topmost by default."""
    placed = placed_on(asked)[number]
    return placed.x, placed.y, placed.width, placed.height


def faults(asked: Card) -> list[Fault]:
    """What is wrong with a card's layers."""
    return [*resolve(batch(asked)).faults]


def at_layer(number: int, key: str) -> tuple[str | int, ...]:
    """The way to one key of a layer of the card."""
    return ("cards", "windfall", "layers", number, key)


# Reveals: a layer is what lies underneath less the reveal at both ends (common practice).


@pytest.mark.parametrize(
    ("finished", "reveals", "layers"),
    [
        ("4 1/4 x 5 1/2", "1/16", "4 1/8 x 5 3/8"),
        (
            "4 1/4 x 5 1/2",
            "1/8 1/8 1/8 1/8",
            "4 x 5 1/4, 3 3/4 x 5, 3 1/2 x 4 3/4, 3 1/4 x 4 1/2",
        ),
        ("4 1/4 x 5 1/2", "1/8 1/16", "4 x 5 1/4, 3 7/8 x 5 1/8"),
        ("4 1/2 x 6 1/4", "1/16", "4 3/8 x 6 1/8"),
        ("4 1/2 x 6 1/4", "1/8 1/8 1/8", "4 1/4 x 6, 4 x 5 3/4, 3 3/4 x 5 1/2"),
        ("5 x 7", "1/16", "4 7/8 x 6 7/8"),
        ("5 x 7", "1/8 1/8 1/8", "4 3/4 x 6 3/4, 4 1/2 x 6 1/2, 4 1/4 x 6 1/4"),
        ("3 1/2 x 8 1/2", "1/16", "3 3/8 x 8 3/8"),
        ("3 1/2 x 8 1/2", "1/8 1/8", "3 1/4 x 8 1/4, 3 x 8"),
        ("6 x 6", "1/16", "5 7/8 x 5 7/8"),
        ("6 x 6", "1/8 1/8", "5 3/4 x 5 3/4, 5 1/2 x 5 1/2"),
        ("3 7/8 x 9 1/4", "1/16", "3 3/4 x 9 1/8"),
        ("3 7/8 x 9 1/4", "1/8", "3 5/8 x 9"),
        (
            "105 x 148.5 mm",
            "2.5mm 2.5mm 2.5mm",
            "100 x 143.5 mm, 95 x 138.5 mm, 90 x 133.5 mm",
        ),
        ("105 x 148 mm", "2.5mm 2.5mm 2.5mm", "100 x 143 mm, 95 x 138 mm, 90 x 133 mm"),
        ("105 x 148 mm", "3mm", "99 x 142 mm"),
        ("148 x 210 mm", "3mm 2mm", "142 x 204 mm, 138 x 200 mm"),
        ("148 x 210 mm", "5mm", "138 x 200 mm"),
    ],
)
def test_reveals_give_the_sizes_of_the_trade(finished: str, reveals: str, layers: str) -> None:
    """Cards with reveals all round have the layers that makers cut for them, and lie centred."""
    asked = card(
        *(mat(reveal, name=f"layer {n}") for n, reveal in enumerate(reveals.split())),
        finished=finished,
    )
    placed = placed_on(asked)
    assert [(p.width, p.height) for p in placed] == [size(text) for text in layers.split(", ")]
    assert all(2 * p.x + p.width == asked.width for p in placed)
    assert all(2 * p.y + p.height == asked.height for p in placed)


def test_a_reveal_of_each_edge_moves_the_layer() -> None:
    """Left 1/8, right 1/4, top 1/2, bottom 1 on 4 1/4 x 5 1/2 leaves 3 7/8 x 4 at (1/8, 1)."""
    reveal = Edges(left=inches("1/8"), right=inches("1/4"), top=inches("1/2"), bottom=inches("1"))
    expected = (inches("1/8"), inches("1"), *size("3 7/8 x 4"))
    assert rectangle(card(mat(reveal=reveal))) == expected


def test_a_reveal_of_nothing_covers_what_lies_underneath() -> None:
    """Without any reveal the layer is as large as the card."""
    assert rectangle(card(mat("0"))) == (0, 0, *size("4 1/4 x 5 1/2"))


@given(st.lists(st.integers(1, 2_000_000), min_size=1, max_size=8))
def test_reveals_add_up(reveals: list[int]) -> None:
    """Each layer is smaller than the card by twice all the reveals underneath it."""
    layers = [Layer(f"layer {n}", "cream", reveal=Edges(r, r, r, r)) for n, r in enumerate(reveals)]
    asked = card(*layers)
    for number, placed in enumerate(placed_on(asked)):
        total = sum(reveals[: number + 1])
        assert (placed.x, placed.y) == (total, total)
        assert (placed.width, placed.height) == (asked.width - 2 * total, asked.height - 2 * total)


# Bands, places, circles.


def test_a_band_is_as_wide_as_what_it_lies_on() -> None:
    """A height alone takes the width of the panel; ``bottom`` counts from the card's edge."""
    band = Layer("band", "cream", height=inches("1 1/4"), at=At(bottom=inches("1")))
    assert rectangle(card(mat(), band)) == (inches("1/8"), inches("1"), *size("4 x 1 1/4"))


def test_an_upright_band_is_as_high_as_what_it_lies_on() -> None:
    """A width alone takes the height of the mat; ``right`` counts from the card's right edge."""
    band = Layer("band", "cream", width=inches("1"), at=At(right=inches("1/2")))
    expected = (inches("2 3/4"), inches("1/8"), *size("1 x 5 1/4"))
    assert rectangle(card(mat(), band)) == expected


@pytest.mark.parametrize(
    ("at", "corner"),
    [
        (None, ("1 1/8", "1 3/4")),
        (At(), ("1 1/8", "1 3/4")),
        (At(left=0), ("0", "1 3/4")),
        (At(right=0), ("2 1/4", "1 3/4")),
        (At(bottom=0), ("1 1/8", "0")),
        (At(top=0), ("1 1/8", "3 1/2")),
        (At(left=3_175_000, top=6_350_000), ("1/8", "3 1/4")),
        (At(right=3_175_000, bottom=6_350_000), ("2 1/8", "1/4")),
        (At(centre=(50_800_000, 76_200_000)), ("1", "2")),
    ],
)
def test_a_tag_lies_where_it_is_put(at: At | None, corner: tuple[str, str]) -> None:
    """A 2 x 2 tag: from the card's edges, by its centre, or centred where nothing is said."""
    tag = Layer("tag", "cream", width=inches("2"), height=inches("2"), at=at)
    expected = (inches(corner[0]), inches(corner[1]), *size("2 x 2"))
    assert rectangle(card(tag)) == expected


def test_a_layer_without_a_place_is_centred_on_what_it_lies_on() -> None:
    """On a mat that stands off centre, the tag is centred on the mat, not on the card."""
    low = mat(reveal=Edges(bottom=inches("3 1/2")))
    tag = Layer("tag", "cream", width=inches("2"), height=inches("1"))
    expected = (inches("1 1/8"), inches("4"), *size("2 x 1"))
    assert rectangle(card(low, tag)) == expected


def test_a_circle_has_the_square_round_it() -> None:
    """A moon of 2 1/2 about (2 1/8, 3) lies from (7/8, 1 3/4)."""
    moon = Layer(
        "moon", "cream", circle=inches("2 1/2"), at=At(centre=(inches("2 1/8"), inches("3")))
    )
    expected = (inches("7/8"), inches("1 3/4"), *size("2 1/2 x 2 1/2"))
    assert rectangle(card(moon)) == expected


def test_a_reveal_on_a_circle_is_a_circle() -> None:
    """A disc with 1/8 of a 2 1/2 moon showing all round is a circle of 2 1/4, about one centre."""
    moon = Layer("moon", "cream", circle=inches("2 1/2"), at=At(left=inches("1/2"), bottom=0))
    asked = card(moon, mat(name="disc"))
    assert rectangle(asked) == (inches("5/8"), inches("1/8"), *size("2 1/4 x 2 1/4"))
    disc = resolve(batch(asked)).pieces()[1]
    assert (disc.shape, disc.width, disc.height) == ("circle", *size("2 1/4 x 2 1/4"))


def test_a_reveal_on_a_reveal_on_a_circle_is_a_circle_too() -> None:
    """Roundness goes up through any number of reveals."""
    moon = Layer("moon", "cream", circle=inches("2 1/2"))
    pieces = resolve(batch(card(moon, mat(name="disc"), mat(name="eye")))).pieces()
    assert [(p.shape, p.width) for p in pieces] == [
        ("circle", inches("2 1/2")),
        ("circle", inches("2 1/4")),
        ("circle", inches("2")),
    ]


def test_a_rectangle_on_a_circle_stays_a_rectangle() -> None:
    """A label with a size of its own on a moon is a label; a missing height is the diameter."""
    moon = Layer("moon", "cream", circle=inches("2 1/2"))
    label = Layer("label", "cream", width=inches("1"))
    piece = resolve(batch(card(moon, label))).pieces()[1]
    assert (piece.shape, piece.width, piece.height) == ("rect", *size("1 x 2 1/2"))


# What a layer lies on.


def test_a_layer_lies_on_the_one_before_it() -> None:
    """The first lies on the card, and each next one on the layer before it in the list."""
    filled = resolve(batch(card(mat(), mat(name="panel"), mat(name="label")))).batch.cards[0]
    assert [layer.over for layer in filled.layers] == [ON_CARD, "mat", "panel"]


def test_over_names_any_layer_underneath() -> None:
    """A layer over the mat takes its reveal from the mat, however many lie between."""
    asked = card(mat(), mat(name="panel"), mat(name="label", over="mat"))
    assert rectangle(asked) == rectangle(asked, 1)
    assert rectangle(card(mat(), mat(name="label", over=ON_CARD))) == rectangle(card(mat()))


def test_the_inside_and_the_back_start_from_the_card() -> None:
    """The default underneath is the last layer on the same side of the card, else the card."""
    asked = card(
        mat(),
        mat(name="note", where="inside"),
        mat(name="seal", where="behind"),
        mat(name="panel"),
        mat(name="verse", where="inside"),
    )
    filled = resolve(batch(asked)).batch.cards[0]
    assert [layer.over for layer in filled.layers] == [ON_CARD, ON_CARD, ON_CARD, "mat", "note"]
    assert rectangle(asked, 1) == rectangle(asked, 0) == rectangle(asked, 2)
    assert rectangle(asked, 4) == rectangle(asked, 3)


# Defaults of face and turn.


@pytest.mark.parametrize(
    ("front", "back", "face", "turn"),
    [
        (Face(), Face(), "front", "may"),
        (FOUR_WAY, Face(), "front", "may"),
        (ONE_WAY, Face(), "front", "never"),
        (TWO_WAY, Face(), "front", "never"),
        (Face(), ONE_WAY, "back", "never"),
        (Face(), FOUR_WAY, "back", "may"),
    ],
)
def test_the_printed_face_is_meant_and_keeps_its_direction(
    front: Face, back: Face, face: FaceName, turn: Turn
) -> None:
    """Layers, bases and loose pieces take the only printed face; only a direction forbids turns."""
    paper = replace(CREAM, front=front, back=back)
    asked = batch(
        card(mat(), base=Base("cream")),
        papers=(paper,),
        pieces=(LoosePiece("tag", "cream", 1, *size("1 x 2")),),
    )
    assert {(piece.face, piece.turn) for piece in resolve(asked).pieces()} == {(face, turn)}
    filled = resolve(asked).batch
    assert (filled.cards[0].layers[0].face, filled.cards[0].layers[0].turn) == (face, turn)
    assert (filled.pieces[0].face, filled.pieces[0].turn) == (face, turn)
    assert filled.cards[0].base == Base("cream", face)


@pytest.mark.parametrize("turn", ["never", "may", "must"])
def test_a_turn_that_is_asked_for_is_kept(turn: Turn) -> None:
    """Whatever the print, what the user says about turning holds."""
    paper = replace(CREAM, front=replace(ONE_WAY, up="left"))
    (piece,) = resolve(batch(card(mat(turn=turn)), papers=(paper,))).pieces()
    assert (piece.turn, piece.print, piece.up) == (turn, "one-way", "left")


def test_a_face_that_is_asked_for_brings_its_own_print() -> None:
    """The piece carries the print and the up of its own face, not of the other."""
    paper = replace(CREAM, front=FOUR_WAY, back=replace(ONE_WAY, up="right"))
    asked = card(mat(face="front"), mat(name="panel", face="back"))
    front, back = resolve(batch(asked, papers=(paper,))).pieces()
    assert (front.face, front.print, front.up, front.turn) == ("front", "four-way", "top", "may")
    assert (back.face, back.print, back.up, back.turn) == ("back", "one-way", "right", "never")


def test_filled_defaults_stay_filled() -> None:
    """Filling in a second time changes nothing, and neither time changes the pieces."""
    once = resolve(sample()).batch
    assert resolve(once).batch == once
    assert resolve(once).pieces() == resolve(sample()).pieces()


# Bases.


@pytest.mark.parametrize(
    ("finished", "fold", "blank", "score"),
    [
        ("4 1/4 x 5 1/2", "left", "8 1/2 x 5 1/2", Score("x", 107_950_000)),
        ("4 1/4 x 5 1/2", "top", "4 1/4 x 11", Score("y", 139_700_000)),
        ("5 x 7", "left", "10 x 7", Score("x", 127_000_000)),
        ("3 7/8 x 9 1/4", "left", "7 3/4 x 9 1/4", Score("x", 98_425_000)),
        ("6 x 6", "left", "12 x 6", Score("x", 152_400_000)),
        ("105 x 148.5 mm", "left", "210 x 148.5 mm", Score("x", 105_000_000)),
        ("105 x 148.5 mm", "top", "105 x 297 mm", Score("y", 148_500_000)),
        ("4 x 6", "none", "4 x 6", None),
    ],
)
def test_a_base_is_double_across_its_fold(
    finished: str, fold: Fold, blank: str, score: Score | None
) -> None:
    """A base lies flat: twice the card across the fold, scored in the middle; flat cards once."""
    asked = batch(card(finished=finished, base=Base("cream", fold=fold)))
    (base,) = resolve(asked).pieces()
    assert (base.width, base.height) == size(blank)
    assert base.score == score
    assert (base.id, base.name, base.demand) == ("windfall/base", "base", 8)


@pytest.mark.parametrize(("fold", "grain"), [("left", "y"), ("top", "x"), ("none", None)], ids=str)
def test_the_grain_should_run_along_the_fold(fold: Fold, grain: str | None) -> None:
    """A side fold stands upright and so should the grain; a flat card has no wish."""
    paper = Paper("cream", (Sheet(*size("8 1/2 x 11")),), grain="long")
    (base,) = resolve(batch(card(base=Base("cream", fold=fold)), papers=(paper,))).pieces()
    assert base.grain == grain


def test_without_a_known_grain_there_is_no_wish() -> None:
    """Neither a base of paper without grain nor any layer has a grain."""
    paper = Paper("cream", (Sheet(*size("8 1/2 x 11")),), grain="long")
    assert resolve(batch(card(base=Base("cream")))).pieces()[0].grain is None
    assert resolve(batch(card(mat()), papers=(paper,))).pieces()[0].grain is None


# How many.


def test_spares_and_each_multiply() -> None:
    """Eight cards and two spare sets with three leaves each need 30 leaves, and 10 bases."""
    leaf = Layer("leaf", "cream", width=inches("1"), height=inches("1/2"), each=3)
    pieces = resolve(batch(card(leaf, base=Base("cream"), spares=2))).pieces()
    assert [(p.name, p.demand, p.uses) for p in pieces] == [
        ("base", 10, (Use("windfall", "base", 10),)),
        ("leaf", 30, (Use("windfall", "leaf", 30),)),
    ]


def test_equal_pieces_are_one_piece() -> None:
    """Two designs with the same mat share one piece, which says whom it is for."""
    first = card(mat(), make=8)
    second = card(mat(name="frame"), make=5, spares=1, name="blossom")
    loose = LoosePiece("mat", "cream", 12, *size("4 x 5 1/4"))
    (piece,) = resolve(batch(first, second, pieces=(loose,))).pieces()
    assert (piece.id, piece.letter, piece.name) == ("windfall/mat", "A", "mat / frame")
    assert piece.demand == 26
    assert piece.uses == (
        Use("windfall", "mat", 8),
        Use("blossom", "frame", 6),
        Use(None, "mat", 12),
    )


@pytest.mark.parametrize(
    "different",
    [
        {"reveal": all_round("1/4")},
        {"paper": "walnut"},
        {"face": "back"},
        {"turn": "never"},
        {"die_allowance": 1},
        {"wrap": 1},
    ],
    ids=lambda changes: next(iter(changes)),
)
def test_pieces_that_differ_stay_apart(different: dict[str, object]) -> None:
    """Size, paper, face, turn and die allowance each make another piece."""
    walnut = replace(CREAM, name="walnut")
    other = mat(name="other", over=ON_CARD, **different)
    pieces = resolve(batch(card(mat(), other), papers=(CREAM, walnut))).pieces()
    assert [piece.name for piece in pieces] == ["mat", "other"]
    assert [piece.letter for piece in pieces] == ["A", "B"]


def test_a_score_and_a_shape_make_another_piece() -> None:
    """A folded base is no mat of its size, and a disc no square."""
    folded = card(base=Base("cream"))
    flat = card(finished="8 1/2 x 5 1/2", base=Base("cream", fold="none"), name="flat")
    assert len(resolve(batch(folded, flat)).pieces()) == 2
    disc = Layer("disc", "cream", circle=inches("2"))
    square = Layer("square", "cream", width=inches("2"), height=inches("2"), over=ON_CARD)
    assert [p.shape for p in resolve(batch(card(disc, square))).pieces()] == ["circle", "rect"]


def test_two_loose_pieces_of_one_name_are_told_apart() -> None:
    """Ids are never the same, even where a name comes back with another size."""
    tags = [LoosePiece("tag", "cream", 1, *size(text)) for text in ("1 x 2", "1 x 3", "1 x 4")]
    pieces = resolve(batch(pieces=tuple(tags))).pieces()
    assert [piece.name for piece in pieces] == ["tag"] * 3
    assert len({piece.id for piece in pieces}) == 3
    assert [piece.letter for piece in pieces] == ["A", "B", "C"]


def test_letters_go_on_after_z() -> None:
    """A to Z, AA to ZZ, AAA: all different, shorter ones first."""
    letters = [letter(number) for number in range(26 + 26 * 26 + 1)]
    assert (letters[0], letters[25], letters[26], letters[51], letters[52]) == (
        "A", "Z", "AA", "AZ", "BA",
    )  # fmt: skip
    assert letters[-2:] == ["ZZ", "AAA"]
    assert letters == sorted(set(letters), key=lambda text: (len(text), text))


# Wraps and die allowances.


@pytest.mark.parametrize(
    ("layer", "cut"),
    [
        (Layer("band", "cream", height=25_400_000, wrap=12_700_000), "5 1/4 x 1"),
        (Layer("band", "cream", width=25_400_000, wrap=12_700_000), "1 x 6 1/2"),
        (Layer("mat", "cream", reveal=all_round("1/8"), wrap=12_700_000), "4 x 6 1/4"),
        (
            Layer("label", "cream", width=76_200_000, height=25_400_000, wrap=12_700_000),
            "4 x 1",
        ),
        (
            Layer("label", "cream", width=25_400_000, height=76_200_000, wrap=12_700_000),
            "1 x 4",
        ),
        (
            Layer("label", "cream", width=76_200_000, height=76_200_000, wrap=12_700_000),
            "4 x 3",
        ),
    ],
)
def test_a_wrap_is_added_at_both_ends(layer: Layer, cut: str) -> None:
    """The ends of a band are those of its full extent, else of the longer side, or left and right."""
    asked = card(layer)
    (piece,) = resolve(batch(asked)).pieces()
    assert (piece.width, piece.height) == size(cut)
    unwrapped = card(replace(layer, wrap=0))
    assert rectangle(asked) == rectangle(unwrapped)


@pytest.mark.parametrize(
    ("wrap", "cut"),
    [
        (Edges(left=50_800_000, right=25_400_000), "7 1/4 x 1"),
        (Edges(right=12_700_000), "4 3/4 x 1"),
        (Edges(left=12_700_000, right=12_700_000, top=6_350_000), "5 1/4 x 1 1/4"),
    ],
)
def test_a_wrap_of_each_edge_is_added_there(wrap: Edges, cut: str) -> None:
    """A band of 4 1/4 x 1 in with 2 in behind at the left and 1 in at the right is 7 1/4 in long."""
    band = Layer("band", "cream", height=25_400_000, wrap=wrap)
    (piece,) = resolve(batch(card(band))).pieces()
    assert (piece.width, piece.height) == size(cut)
    assert rectangle(card(band)) == rectangle(card(replace(band, wrap=0)))


@pytest.mark.parametrize(
    ("belt", "unit", "cut"),
    [
        # 2 x 4 1/4 + 2 x 1/16 + 1/4 lap
        (Layer("belt", "cream", height=25_400_000, belt=1_587_500), "in", "8 7/8 x 1 in"),
        # 2 x 5 1/2 + 2 x 1/4 + 1/4
        (Layer("belt", "cream", width=25_400_000, belt=6_350_000), "in", "1 x 11 3/4 in"),
        # 2 x 107.95 + 2 x 1.5 + 6 = 224.9, on marks of 1 mm
        (Layer("belt", "cream", height=25_000_000, belt=1_500_000), "mm", "225 x 25 mm"),
    ],
)
def test_a_belt_goes_round_the_card(belt: Layer, unit: Unit, cut: str) -> None:
    """Front and back of the card, its thickness twice and the lap, rounded up to the marks."""
    of_mm = {"trimmer": Trimmer(marks=1_000_000), "lap": 6_000_000, "unit": "mm"}
    asked = batch(card(mat(), belt), **(of_mm if unit == "mm" else {}))
    assert not resolve(asked).faults
    piece = resolve(asked).pieces()[-1]
    assert (piece.width, piece.height) == size(cut)


def test_a_die_allowance_is_not_part_of_the_size() -> None:
    """The piece keeps its own size; only its blank is larger, by the allowance on every edge."""
    moon = Layer("moon", "cream", circle=inches("2 1/2"), die_allowance=inches("1/8"))
    (piece,) = resolve(batch(card(moon))).pieces()
    assert (piece.width, piece.die_allowance) == (inches("2 1/2"), inches("1/8"))
    assert piece.on_sheet(turned=False) == size("2 3/4 x 2 3/4")


# Faults.


def test_a_reveal_that_leaves_nothing_is_a_fault() -> None:
    """Half of the card's width on each side leaves no layer; a nanometre less does."""
    (fault,) = faults(card(mat("2 1/8")))
    assert fault == Fault(
        at_layer(0, "reveal"),
        "a reveal that leaves nothing of the layer",
        "a reveal of less than half of what lies underneath",
    )
    width = card().width
    assert not faults(card(mat(reveal=Edges(left=width - 1))))
    assert len(faults(card(mat(reveal=Edges(left=width))))) == 1
    assert not faults(card(mat(reveal=Edges(top=card().height - 1))))
    assert len(faults(card(mat(reveal=Edges(top=card().height))))) == 1


def test_a_layer_over_an_unknown_one_is_a_fault() -> None:
    """The message names the nearest layer that stands earlier in the list."""
    (fault,) = faults(card(mat(), mat(name="panel", over="matt")))
    assert fault == Fault(
        at_layer(1, "over"),
        "over: 'matt'",
        "a layer that stands earlier in the list; the nearest is 'mat'",
    )


def test_a_layer_over_a_later_one_is_a_fault() -> None:
    """Layers go from bottom to top; the message lists what there is to lie on."""
    (fault,) = faults(card(mat(), Layer("moon", "cream", over="band", circle=1), mat(name="band")))
    assert fault == Fault(
        at_layer(1, "over"),
        "over: 'band'",
        "a layer that stands earlier in the list; there are: card, mat",
    )
    (fault,) = faults(card(mat(over="mat")))
    assert (fault.path, fault.read) == (at_layer(0, "over"), "over: 'mat'")


def test_a_layer_over_one_on_another_side_is_a_fault() -> None:
    """A note inside cannot lie on the mat outside."""
    (fault,) = faults(card(mat(), mat(name="note", where="inside", over="mat")))
    assert fault == Fault(
        at_layer(1, "over"),
        "inside, over mat, which lies outside",
        "a layer on the same side of the card",
    )


def test_a_name_twice_is_a_fault() -> None:
    """Each layer of a card has a name of its own, or ``over`` would mean two."""
    (fault,) = faults(card(mat(), mat()))
    assert fault == Fault(
        at_layer(1, "name"), "a second layer named 'mat'", "a name for each layer of a card"
    )


@pytest.mark.parametrize("name", ["card", "base"])
def test_the_names_of_the_card_itself_are_taken(name: str) -> None:
    """A layer called card or base could not be told from the card's own."""
    (fault,) = faults(card(mat(name=name)))
    assert fault == Fault(
        at_layer(0, "name"), f"a layer named {name!r}", f"another name: {name} is the card's own"
    )


def test_a_circle_cannot_be_wrapped() -> None:
    """A circle has no ends, and neither has a disc that is round by its reveal."""
    moon = Layer("moon", "cream", circle=inches("2"), wrap=1)
    (fault,) = faults(card(moon))
    expected = ("wrap on a circle", "no wrap: a circle has no ends")
    assert fault == Fault(at_layer(0, "wrap"), *expected)
    (fault,) = faults(card(replace(moon, wrap=0), mat(wrap=1)))
    assert fault == Fault(at_layer(1, "wrap"), *expected)


def test_a_reveal_of_each_edge_on_a_circle_is_a_fault() -> None:
    """Round things have one reveal all round."""
    moon = Layer("moon", "cream", circle=inches("2"))
    (fault,) = faults(card(moon, mat(reveal=Edges(1, 1, 1, 2))))
    assert fault == Fault(
        at_layer(1, "reveal"), "a reveal per edge on a circle", "one reveal all round"
    )


def test_what_lies_on_a_faulty_layer_is_no_fault_of_its_own() -> None:
    """One slip at the bottom gives one message, however many layers lie on it."""
    asked = card(
        mat("3"),
        mat(name="panel"),
        Layer("band", "cream", over="panel", height=inches("1")),
        Layer("moon", "cream", over="mat", circle=inches("1")),
    )
    assert [fault.path for fault in faults(asked)] == [at_layer(0, "reveal")]


def test_every_fault_of_a_card_is_found_at_once() -> None:
    """Slips that do not follow from each other are all told, in the order of the list."""
    asked = card(
        mat("3"),
        mat(name="note", over="card"),
        mat(name="note", over="card"),
        mat(name="panel", over="nothing"),
        Layer("moon", "cream", over="card", circle=1, wrap=1),
    )
    assert [fault.path for fault in faults(asked)] == [
        at_layer(0, "reveal"),
        at_layer(2, "name"),
        at_layer(3, "over"),
        at_layer(4, "wrap"),
    ]
    with pytest.raises(BatchError) as caught:
        resolve(batch(asked)).sound()
    assert caught.value.faults == tuple(faults(asked))
    assert len(str(caught.value).splitlines()) == 4


def test_layers_without_a_fault_are_placed_beside_faulty_ones() -> None:
    """A fault takes nothing away from the layers that do not lie on it."""
    asked = card(mat(), mat("3", name="panel"), mat(name="note", where="inside"))
    assert [p.layer.name for p in placed_on(asked)] == ["mat", "note"]
    assert len(faults(asked)) == 1


# The sample batch of the design.


def sample() -> Batch:
    """Orchard supper invitations: eight cards of one design, and twelve loose tags."""
    letter_paper = size("8 1/2 x 11")
    toss = Paper(
        "pear toss",
        (Sheet(*size("12 x 12"), have=3),),
        buy=False,
        front=FOUR_WAY,
        back=ONE_WAY,
        barcode_strip=BarcodeStrip("bottom", inches("1/2"), beyond_the_sheet=True),
    )
    brick = Paper("brick cardstock", (Sheet(*letter_paper, have=6),))
    cream = Paper("cream cardstock", (Sheet(*letter_paper),), grain="long")
    layers = (
        Layer("mat", "brick cardstock", reveal=all_round("1/8")),
        Layer("panel", "pear toss", face="front", reveal=all_round("1/8")),
        Layer(
            "band",
            "pear toss",
            face="back",
            over="panel",
            height=inches("1 1/4"),
            at=At(bottom=inches("1")),
        ),
        Layer(
            "moon",
            "cream cardstock",
            over="panel",
            circle=inches("2 1/2"),
            at=At(centre=(inches("2 1/8"), inches("3"))),
            die_allowance=inches("1/8"),
        ),
    )
    return Batch(
        "Orchard supper invitations",
        "in",
        (toss, brick, cream),
        (card(*layers, base=Base("cream cardstock", fold="left")),),
        (LoosePiece("tag", "cream cardstock", 12, *size("2 x 3 1/2")),),
        Trimmer(longest_cut=inches("12 1/2")),
    )


def sample_pieces() -> Iterator[Piece]:
    """Give the pieces of the sample, worked out by hand."""
    base = Piece(
        id="windfall/base",
        letter="A",
        name="base",
        shape="rect",
        width=inches("8 1/2"),
        height=inches("5 1/2"),
        die_allowance=0,
        paper="cream cardstock",
        face="front",
        print="plain",
        up="top",
        turn="may",
        grain="y",
        score=Score("x", inches("4 1/4")),
        demand=8,
        uses=(Use("windfall", "base", 8),),
    )
    plain = replace(base, grain=None, score=None)

    def layer(mark: str, name: str, text: str, paper: str, **changes: object) -> Piece:
        width, height = size(text)
        return replace(
            plain,
            id=f"windfall/{name}",
            letter=mark,
            name=name,
            width=width,
            height=height,
            paper=paper,
            uses=(Use("windfall", name, 8),),
            **changes,  # type: ignore[arg-type]
        )

    yield base
    yield layer("B", "mat", "4 x 5 1/4", "brick cardstock")
    yield layer("C", "panel", "3 3/4 x 5", "pear toss", print="four-way")
    yield layer(
        "D", "band", "3 3/4 x 1 1/4", "pear toss", face="back", print="one-way", turn="never"
    )
    yield layer(
        "E",
        "moon",
        "2 1/2 x 2 1/2",
        "cream cardstock",
        shape="circle",
        die_allowance=inches("1/8"),
    )
    tag = layer("F", "tag", "2 x 3 1/2", "cream cardstock", demand=12)
    yield replace(tag, id="tag", uses=(Use(None, "tag", 12),))


def test_the_sample_batch_has_the_pieces_worked_out_by_hand() -> None:
    """Base, mat, panel, band, moon and tag, in the order of the file, with nothing left open."""
    assert resolve(sample()).pieces() == tuple(sample_pieces())


def test_the_sample_card_lies_as_drawn_by_hand() -> None:
    """The band stands 1 in from the card's bottom, the moon about the middle of the card."""
    places = [(p.x, p.y, p.width, p.height) for p in placed_on(sample().cards[0])]
    assert places == [
        (inches("1/8"), inches("1/8"), *size("4 x 5 1/4")),
        (inches("1/4"), inches("1/4"), *size("3 3/4 x 5")),
        (inches("1/4"), inches("1"), *size("3 3/4 x 1 1/4")),
        (inches("7/8"), inches("1 3/4"), *size("2 1/2 x 2 1/2")),
    ]


def test_papers_are_looked_up_all_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """From a batch to its pieces and warnings no paper is looked for one by one, however many."""

    def one_by_one(_: Batch, name: str) -> Paper:
        pytest.fail(f"{name} is looked for among all papers")

    monkeypatch.setattr(Batch, "paper", one_by_one)
    folded = card(mat(), base=Base("cream", fold="top"))
    asked = resolve(batch(folded, pieces=(LoosePiece("tag", "cream", 1, 1, 1),)))
    assert asked.faults == ()
    assert len(find_warnings(asked, asked.pieces())) == 1


def test_of_two_papers_of_one_name_the_first_counts() -> None:
    """Looked up alone or with all others, a name means the same paper."""
    twice = batch(papers=(CREAM, replace(CREAM, front=ONE_WAY)))
    assert twice.papers_by_name == {"cream": twice.paper("cream")} == {"cream": CREAM}


def test_what_is_free_of_faults_is_resolved_beside_what_is_not() -> None:
    """A piece of an unknown paper asks for nothing; the card beside it has its place and pieces."""
    asked = resolve(batch(card(mat()), pieces=(LoosePiece("tag", "creme", 1, 1, 1),)))
    assert [fault.path for fault in asked.faults] == [("pieces", 0, "paper")]
    assert [request.layer for request in asked.requests] == ["mat"]
    assert [*asked.placed[0]] == [ON_CARD, "mat"]


def test_candidates_are_of_every_paper_to_choose() -> None:
    """Pieces are of the first paper, or as many of each as are taken; candidates of each for all."""
    options = (PaperOption("cream"), PaperOption("kraft"))
    chosen = mat(choice=PaperChoice(options))
    asked = resolve(batch(card(chosen), papers=(CREAM, replace(CREAM, name="kraft"))))
    taken = {("windfall", "mat"): (3, 5)}
    for pieces, counts in [
        (asked.pieces(), {"cream": 8}),
        (asked.pieces(taken), {"cream": 3, "kraft": 5}),
        (asked.candidates(), {"cream": 8, "kraft": 8}),
    ]:
        assert {piece.paper: piece.demand for piece in pieces} == counts
