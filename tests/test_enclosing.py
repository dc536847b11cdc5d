"""Envelopes: which one takes a card, how one folds, and what is asked for of it."""

from dataclasses import replace

import pytest
from envelope_cases import LINER, MAT, batch, card, edged, size_of
from plans import inches

from nesting.batch import At, Base, Batch, Card, Envelope, Layer, Trimmer
from nesting.cards.enclosing import called
from nesting.cards.resolving import resolve
from nesting.envelopes import envelopes_sold
from nesting.papers import Edges
from nesting.pieces import Piece
from nesting.typed_lengths import parse_size


def sent_in(asked: Batch) -> Envelope:
    """The envelope of a batch's only card, worked out."""
    (one,) = resolve(asked).sound().batch.cards
    assert one.envelope is not None
    return one.envelope


def piece_named(asked: Batch, name: str) -> Piece:
    """The piece of that name."""
    return next(one for one in resolve(asked).sound().pieces() if one.name == name)


@pytest.mark.parametrize(
    ("size", "envelope"),
    [  # the pairs of card and envelope that the trade knows
        ("3 1/2 x 4 7/8", "5 1/8 x 3 5/8"),
        ("4 1/4 x 5 1/2", "5 3/4 x 4 3/8"),
        ("5 1/2 x 4 1/4", "5 3/4 x 4 3/8"),
        ("4 1/2 x 6 1/4", "6 1/2 x 4 3/4"),
        ("5 x 7", "7 1/4 x 5 1/4"),
        ("5 1/4 x 7 7/8", "8 1/8 x 5 1/2"),
        ("5 1/2 x 8 1/2", "8 3/4 x 5 3/4"),
        ("3 7/8 x 9 1/4", "9 1/2 x 4 1/8"),
        ("6 x 6", "6 1/4 x 6 1/4"),
        # 1/16 in more than the 1/8 in of room allows
        ("4 5/16 x 5 1/2", "6 1/2 x 4 3/4"),
    ],
)
def test_the_smallest_envelope_that_takes_a_card(size: str, envelope: str) -> None:
    """A card goes with 1/8 in of room in both directions, either way round."""
    one = sent_in(batch(card(size)))
    assert (one.width, one.height, one.smallest) == (*size_of(envelope), True)


@pytest.mark.parametrize(
    ("size", "envelope"),
    [
        ("105 x 148 mm", "162 x 114 mm"),
        ("148 x 210 mm", "229 x 162 mm"),
        ("99 x 210 mm", "220 x 110 mm"),
        ("127 x 178 mm", "184 x 133 mm"),
        ("144 x 144 mm", "155 x 155 mm"),
    ],
)
def test_metric_cards_go_into_metric_envelopes(size: str, envelope: str) -> None:
    """Where lengths are in mm, the sizes are those of ISO 269 and of the trade in mm."""
    width, height = parse_size(size, "mm")
    one = sent_in(replace(batch(replace(card(), width=width, height=height)), unit="mm"))
    assert (one.width, one.height) == parse_size(envelope, "mm")


def test_no_envelope_stands_twice_in_a_table() -> None:
    """Names and sizes lead to one envelope, and its flap is along the longer side."""
    for unit in ("in", "mm"):
        sold = envelopes_sold(unit)  # type: ignore[arg-type]
        assert len({(one.width, one.height) for one in sold}) == len(sold)
        names = [one.name for one in sold if one.name]
        assert len(set(names)) == len(names)
        assert all(one.width >= one.height for one in sold)


def stacked(number: int) -> tuple[Layer, ...]:
    """So many layers, all above one another."""
    return tuple(Layer(f"layer {n}", "cream", reveal=edged("1/8")) for n in range(number))


def test_a_thick_card_needs_its_thickness_besides() -> None:
    """Six papers of 0.25 mm are flat; the seventh makes a card thicker than 1/16 in."""
    assert called(*size(batch(card("4 1/4 x 5 1/2", *stacked(4)))), "in").startswith("A2")
    assert called(*size(batch(card("4 1/4 x 5 1/2", *stacked(5)))), "in").startswith("A6")
    flat = card("4 1/4 x 5 1/2", *stacked(5), base=Base("cream", fold="none"))
    assert called(*size(batch(flat)), "in").startswith("A2")


def size(asked: Batch) -> tuple[int, int]:
    """The size of the envelope of a batch's only card."""
    one = sent_in(asked)
    assert one.width is not None
    assert one.height is not None
    return one.width, one.height


def test_layers_beside_each_other_are_as_thick_as_one() -> None:
    """Only what lies above one another counts, on each side of the card."""
    beside = tuple(
        Layer(
            f"strip {n}", "cream", over="card", width=inches("1/2"), at=At(left=n * inches("1/2"))
        )
        for n in range(8)
    )
    assert called(*size(batch(card("4 1/4 x 5 1/2", *beside))), "in").startswith("A2")
    inside = (replace(one, where="inside") for one in stacked(2))
    behind = Layer("back", "cream", reveal=edged("1/8"), where="behind")
    thick = card(
        "4 1/4 x 5 1/2", *stacked(2), *(replace(o, name=f"in {o.name}") for o in inside), behind
    )
    assert called(*size(batch(thick)), "in").startswith("A6")


def test_what_sticks_out_of_the_card_has_to_go_in() -> None:
    """A band of 5 in across a card of 4 1/4 makes it 5 in wide."""
    band = Layer("band", "cream", width=inches("5"), height=inches("1"))
    assert called(*size(batch(card("4 1/4 x 5 1/2", band))), "in") == "5 3/4 x 5 3/4 in"


def test_a_size_of_its_own_is_kept_and_lies_with_its_longer_side_across() -> None:
    """An envelope that the user names need not be in the table."""
    one = sent_in(batch(card(envelope=Envelope(*size_of("5 x 6")))))
    assert (one.width, one.height, one.smallest) == (*size_of("6 x 5"), False)


@pytest.mark.parametrize(
    ("asked", "read"),
    [
        (card("9 x 11"), "the nearest, A9, 8 3/4 x 5 3/4 in, is 3 3/8 in too small"),
        (card(envelope=Envelope(*size_of("5 3/8 x 4 3/8"))),
         "envelope: 5 3/8 x 4 3/8 in for a card of 4 1/4 x 5 1/2 in with its layers"),
    ],
)  # fmt: skip
def test_a_card_that_no_envelope_takes_is_refused(asked: Card, read: str) -> None:
    """The nearest is named; an envelope smaller than the card is none."""
    (fault,) = resolve(batch(asked)).faults
    assert fault.path == ("cards", "windfall", "envelope")
    assert fault.read.endswith(read)


def test_a_card_with_a_fault_has_no_other_of_its_envelope() -> None:
    """A layer that cannot be placed is told alone."""
    wide = Layer("wide", "cream", reveal=edged("3"))
    assert len(resolve(batch(card("4 1/4 x 5 1/2", wide, LINER))).faults) == 1


@pytest.mark.parametrize(
    ("marks", "folds"),
    [  # an A2: half of 4 3/8 is 2 3/16, three quarters of it 3 9/32
        ("1/16", ("1/2", "2 3/16", "3 5/16")),
        ("1/8", ("1/2", "2 1/4", "3 3/8")),
        ("1", ("1", "3", "4")),
    ],
)
def test_a_made_envelope_folds_on_the_marks(marks: str, folds: tuple[str, str, str]) -> None:
    """The flap is half as high as the front, the back three quarters, side flaps 1/2 in, rounded up."""
    kraft = card(envelope=Envelope(paper="kraft"))
    one = sent_in(batch(kraft, trimmer=Trimmer(marks=inches(marks))))
    side, flap, back = map(inches, folds)
    assert one.folds == Edges(left=side, right=side, top=flap, bottom=back)


def test_an_envelope_is_cut_as_a_piece_with_four_score_lines() -> None:
    """A front of 5 3/4 x 4 3/8, 1/2 at both sides, 3 5/16 below and 2 3/16 above."""
    asked = batch(replace(card(envelope=Envelope(paper="kraft")), spares=1))
    piece = piece_named(asked, "envelope")
    assert (piece.width, piece.height) == size_of("6 3/4 x 9 7/8")
    assert [(one.axis, one.at) for one in piece.scores] == [
        ("x", inches("1/2")), ("x", inches("6 1/4")), ("y", inches("3 5/16")), ("y", inches("7 11/16")),
    ]  # fmt: skip
    assert (piece.paper, piece.demand, piece.score) == ("kraft", 5, None)


def test_equal_envelopes_of_several_cards_are_one_piece() -> None:
    """Two designs of one size take one kind of blank; a plain piece of its size is another."""
    first = card(envelope=Envelope(paper="kraft"))
    second = replace(first, name="blossom", make=3)
    plain = Layer("plain", "kraft", width=inches("6 3/4"), height=inches("9 7/8"), where="inside")
    asked = batch(first, second, card("7 x 10", plain, name="large", envelope=None))
    pieces = [one for one in resolve(asked).pieces() if one.paper == "kraft"]
    assert [(one.name, one.demand) for one in pieces] == [("envelope", 7), ("plain", 4)]


def test_a_bought_envelope_asks_for_no_paper() -> None:
    """Nothing is cut for it."""
    pieces = resolve(batch(card())).sound().pieces()
    assert [one.name for one in pieces] == ["base", "mat"]


def test_a_liner_lies_on_the_open_envelope() -> None:
    """An A2 with its flap is 5 3/4 x 6 9/16; 1/8 at the sides and 1/2 at the top are left."""
    liner = piece_named(batch(card("4 1/4 x 5 1/2", MAT, LINER)), "liner")
    assert (liner.width, liner.height) == size_of("5 1/2 x 6 1/16")


def test_a_liner_needs_an_envelope_and_lies_on_nothing_else() -> None:
    """Without one, or on the card, it is refused, and so is a layer of the card on it."""
    (fault,) = resolve(batch(card("4 1/4 x 5 1/2", MAT, LINER, envelope=None))).faults
    assert fault.path[-1] == "where"
    for layer in (replace(LINER, over="card"), replace(MAT, name="second", over="liner")):
        (fault,) = resolve(
            batch(card("4 1/4 x 5 1/2", MAT, LINER, replace(layer, name="x")))
        ).faults
        assert fault.path[-1] == "over"


def test_a_layer_may_be_called_envelope_where_the_card_has_none() -> None:
    """The name is the card's own only where it has an envelope."""
    named = replace(MAT, name="envelope")
    assert not resolve(batch(card("4 1/4 x 5 1/2", named, envelope=None))).faults
    (fault,) = resolve(batch(card("4 1/4 x 5 1/2", named))).faults
    assert fault.path[-1] == "name"


def test_the_smallest_envelope_follows_the_card() -> None:
    """A batch that is worked out has the size; another size of the card has another envelope."""
    (one,) = resolve(batch(card())).batch.cards
    larger = replace(one, width=inches("5"), height=inches("7"))
    assert called(*size(batch(larger)), "in").startswith("A7")


def test_a_tight_envelope_is_pointed_out() -> None:
    """One of 1/16 in more than the card is used, with a warning that names what is usual."""
    from nesting.cards.warnings import find_warnings

    asked = resolve(batch(card(envelope=Envelope(*size_of("5 9/16 x 4 3/8"))))).sound()
    said = "only 1/16 in larger than the card with its layers; 1/8 in is usual for it"
    assert find_warnings(asked, asked.pieces()) == (f"windfall, envelope: {said}",)
