"""The envelope of a card: the smallest that takes it, and how far the paper of a made one folds over.

All rules here are common practice, with no source. An envelope is larger than the card, with
whatever sticks out of it, by 1/8 in (3 mm) in both directions. Each paper at the card's thickest
place counts as 0.25 mm, a folded base as two, and so does a belt; a card thicker than 1/16 in (1.5 mm) needs its
thickness besides. A made envelope stands square on its blank: the back is three quarters as high as
the front, the flap half as high, the side flaps 1/2 in (12 mm) wide, all of them rounded up to the
trimmer's marks.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from nesting.batch import ON_CARD, Batch, Card, Fault
from nesting.cards.placing import PlacedLayer, place
from nesting.envelopes import SoldEnvelope, envelopes_sold
from nesting.nearest import Nearest
from nesting.papers import Edges
from nesting.units import Unit, length_words, neighbouring_marks, size_words

_PAPER = 250_000
_ROOM: dict[Unit, int] = {"in": 3_175_000, "mm": 3_000_000, "cm": 3_000_000}
_FLAT: dict[Unit, int] = {"in": 1_587_500, "mm": 1_500_000, "cm": 1_500_000}
_SIDE_FLAP: dict[Unit, int] = {"in": 12_700_000, "mm": 12_000_000, "cm": 12_000_000}


@dataclass(frozen=True, slots=True)
class Enclosed:
    """What an envelope has to take: the card with what sticks out, and the room that it needs, in nm.

    ``papers`` is how many lie above one another where it is thick; of a flat card it is 0.
    """

    width: int
    height: int
    room: int
    papers: int

    def lacking(self, width: int, height: int) -> int:
        """By how much an envelope is too small in the worse direction; none where it takes the card."""
        longer, shorter = max(self.width, self.height), min(self.width, self.height)
        lacks = longer - max(width, height), shorter - min(width, height)
        return max(lacks) + self.room


def enclosed(card: Card, placed: Mapping[str, PlacedLayer], unit: Unit) -> Enclosed:
    """Work out what the envelope of a card has to take: the card and those of its layers that are placed."""
    there = [one for one in placed.values() if one.layer.where != "envelope"]
    left, low = min(one.x for one in there), min(one.y for one in there)
    width = max(one.x + one.width for one in there) - left
    height = max(one.y + one.height for one in there) - low
    papers = 1 if card.base is not None and card.base.fold == "none" else 2
    for where in ("outside", "inside", "behind"):
        here = [
            one
            for one in placed.values()
            if one.layer.where == where or (one.layer.belt is not None and where == "behind")
        ]
        papers += _most_above_one_another([one for one in here if one.layer.name != ON_CARD])
    if papers * _PAPER <= _FLAT[unit]:
        papers = 0
    return Enclosed(width, height, _ROOM[unit] + papers * _PAPER, papers)


def _most_above_one_another(layers: Collection[PlacedLayer]) -> int:
    """How many layers lie above one another where they are most; a circle counts as its square."""
    most = 0
    for first in layers:
        beside = [one for one in layers if one.x <= first.x < one.x + one.width]
        ends = [(one.y, 1) for one in beside] + [(one.y + one.height, -1) for one in beside]
        here = 0
        for _, change in sorted(ends):
            here += change
            most = max(most, here)
    return most


def enclose(card: Card, batch: Batch) -> tuple[Card, list[Fault]]:
    """Give a card's envelope its size and its folds.

    Returns
    -------
    tuple
        The card; what is wrong with its envelope: none that is sold takes the card, or its own size
        does not.
    """
    envelope = card.envelope
    if envelope is None:
        return card, []
    own = tuple(layer for layer in card.layers if layer.where != "envelope")
    placed, _ = place(replace(card, layers=own), Nearest())
    inside = enclosed(card, placed, batch.unit)
    smallest = envelope.smallest or envelope.width is None or envelope.height is None
    if smallest:
        sold = envelopes_sold(batch.unit)
        taking = [one for one in sold if inside.lacking(one.width, one.height) <= 0]
        if not taking:
            return card, [_none_takes(card, inside, sold, batch.unit)]
        chosen = min(taking, key=lambda one: one.width * one.height)
        size = chosen.width, chosen.height
    else:
        sides = envelope.width or 0, envelope.height or 0
        size = max(sides), min(sides)
        if inside.lacking(*size) > inside.room:
            return card, [_too_small(card, inside, size, batch.unit)]
    sized = replace(envelope, width=size[0], height=size[1], smallest=smallest)
    return replace(card, envelope=replace(sized, folds=_folds(size[1], batch))), []


def _folds(height: int, batch: Batch) -> Edges:
    """How far the paper reaches beyond the front of an envelope of this height."""

    def up(length: int) -> int:
        return neighbouring_marks(length, batch.trimmer.marks)[1]

    side = up(_SIDE_FLAP[batch.unit])
    return Edges(side, side, top=up(-(-height // 2)), bottom=up(-(-3 * height // 4)))


def _none_takes(card: Card, inside: Enclosed, sold: Collection[SoldEnvelope], unit: Unit) -> Fault:
    """No envelope that is sold takes the card: say which comes nearest."""
    near = min(sold, key=lambda one: (inside.lacking(one.width, one.height), one.width))
    lacks = length_words(inside.lacking(near.width, near.height), unit)
    return Fault(
        ("cards", card.name, "envelope"),
        f"{_card_words(inside, unit)}, for which no envelope of the table is large enough; the "
        f"nearest, {called(near.width, near.height, unit)}, is {lacks} too small",
        "a smaller card, or the size of an envelope that takes it (envelope: W x H)",
    )


def _too_small(card: Card, inside: Enclosed, size: tuple[int, int], unit: Unit) -> Fault:
    return Fault(
        ("cards", card.name, "envelope"),
        f"envelope: {called(*size, unit)} for {_card_words(inside, unit)}",
        "an envelope that is larger than the card",
    )


def _card_words(inside: Enclosed, unit: Unit) -> str:
    size = size_words(inside.width, inside.height, unit)
    return f"a card of {size} with its layers"


def called(width: int, height: int, unit: Unit) -> str:
    """What an envelope of a size is called: the trade's name for it, if there is one, and its size."""
    size = size_words(width, height, unit)
    sold = envelopes_sold(unit)
    name = next((one.name for one in sold if (one.width, one.height) == (width, height)), None)
    return f"{name}, {size}" if name else size
