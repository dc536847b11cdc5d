"""The envelopes of cards, worked out again: which one takes a card, and how it folds."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

from nesting.batch import Batch, Card, Envelope
from nesting.checker.asked.places import Shape, shapes_of
from nesting.checker.fault import PlanFault
from nesting.envelopes import envelopes_sold
from nesting.papers import Edges
from nesting.units import Unit


def with_envelopes(batch: Batch) -> Batch:
    """The batch with every default said, and the size and folds of every envelope."""
    return replace(batch, cards=tuple(_with_envelope(card, batch) for card in batch.cards))


def find_unenclosed(batch: Batch) -> Iterator[PlanFault]:
    """Cards that no envelope of the table takes, or that are larger than their own."""
    for card in with_envelopes(batch).cards:
        if card.envelope is not None:
            spare = spare_room(card, batch.unit)[1]
            if spare is None:
                yield PlanFault("batch", card.name, "no envelope of the table takes it.")
            elif spare < 0:
                yield PlanFault("batch", card.name, "it is larger than its envelope.")


def spare_room(card: Card, unit: Unit) -> tuple[int, int | None]:
    """The room that a card should have in its envelope, and what it has; None without a size."""
    shapes = list(_own_shapes(card).values())
    sides = sorted((
        max(one.x + one.width for one in shapes) - min(one.x for one in shapes),
        max(one.y + one.height for one in shapes) - min(one.y for one in shapes),
    ))  # fmt: skip
    # A quarter of a millimetre for each paper, which counts where they come to more than is flat.
    thickness = _papers(card) * 250_000
    least, flat = (3_175_000, 1_587_500) if unit == "in" else (3_000_000, 1_500_000)
    if thickness > flat:
        least += thickness
    own = card.envelope
    if own is None or own.width is None or own.height is None:
        return least, None
    longer_and_shorter = zip(sorted((own.width, own.height)), sides, strict=True)
    return least, min(outer - inner for outer, inner in longer_and_shorter)


def _with_envelope(card: Card, batch: Batch) -> Card:
    envelope, unit = card.envelope, batch.unit
    if envelope is None:
        return card
    smallest = envelope.smallest or envelope.width is None
    if smallest or envelope.width is None or envelope.height is None:
        best: tuple[int, int] | None = None
        for sold in envelopes_sold(unit):
            size = sold.width, sold.height
            least, there = spare_room(_in(card, *size), unit)
            smaller = best is None or size[0] * size[1] < best[0] * best[1]
            if there is not None and there >= least and smaller:
                best = size
        if best is None:
            return replace(card, envelope=replace(envelope, width=None, height=None))
    else:
        best = envelope.width, envelope.height
    height, marks = min(best), batch.trimmer.marks
    side = 12_700_000 if unit == "in" else 12_000_000
    # Half the height, and three quarters of it, without a fraction.
    flap, back = (height + 1) // 2, (3 * height + 3) // 4
    side, flap, back = (length + -length % marks for length in (side, flap, back))
    folds = Edges(left=side, right=side, top=flap, bottom=back)
    sized = replace(envelope, width=max(best), height=height, smallest=smallest, folds=folds)
    return replace(card, envelope=sized)


def _in(card: Card, width: int, height: int) -> Card:
    """The card in an envelope of that size."""
    envelope = replace(card.envelope or Envelope(), width=width, height=height)
    return replace(card, envelope=envelope)


def _own_shapes(card: Card) -> dict[str, Shape]:
    """The card and its layers by name, without those of the envelope."""
    layers = tuple(layer for layer in card.layers if layer.where != "envelope")
    return shapes_of(replace(card, layers=layers, envelope=None))


def _papers(card: Card) -> int:
    """How many papers lie above one another at the thickest place, on all sides together."""
    shapes = _own_shapes(card)
    papers = 1 if card.base is not None and card.base.fold == "none" else 2
    for where in ("outside", "inside", "behind"):
        sides = {"outside", "behind"} if where == "behind" else {where}
        there = [
            shapes[layer.name]
            for layer in card.layers
            if layer.where == where or (layer.belt is not None and layer.where in sides)
        ]
        papers += max(map(len, _piles(there)), default=0)
    return papers


def _piles(shapes: list[Shape]) -> Iterator[list[Shape]]:
    """The shapes above each cell between the edges of all; a disc is as large as its square."""
    for left, right in pairwise(sorted({x for s in shapes for x in (s.x, s.x + s.width)})):
        column = [s for s in shapes if s.x <= left and right <= s.x + s.width]
        for low, high in pairwise(sorted({y for s in column for y in (s.y, s.y + s.height)})):
            yield [s for s in column if s.y <= low and high <= s.y + s.height]
