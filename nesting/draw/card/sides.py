"""The sides of a card that are drawn: front, inside, back and envelope, with layers and pieces."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import get_args

from nesting.batch import BASE, ENVELOPE, Card, Where
from nesting.cards.aslant import Ground, Point
from nesting.cards.placing import PlacedLayer, place_layers, seen_from_behind
from nesting.draw.card.folds import folds_of
from nesting.draw.sheet.joint_words import CutWay, cut_ways
from nesting.layouts import Blank
from nesting.papers import Edge
from nesting.pieces import Piece, Score
from nesting.plan import Plan


@dataclass(frozen=True, slots=True)
class CardLayer:
    """A layer in its place, what it lies on, and what it is cut as.

    ``ways`` has one way to cut it, or several where cards take different ones. At ``folds``
    the flat piece goes round an edge. The ends of a belt meet under the layer named
    ``closed_under``, or else behind the card.
    """

    placed: PlacedLayer
    under: PlacedLayer
    ways: tuple[CutWay, ...]
    folds: tuple[Score, ...] = ()
    closed_under: str = ""

    @property
    def piece(self) -> Piece:
        """What is drawn of it: the piece of its first way, or the first of two ends."""
        return self.ways[0].pieces[0]

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """Every piece that it is cut as, on whichever cards."""
        return tuple(dict.fromkeys(piece for way in self.ways for piece in way.pieces))

    @property
    def centre(self) -> tuple[int, int]:
        """Its middle, in nm from the card's lower left corner."""
        return self.placed.x + self.placed.width // 2, self.placed.y + self.placed.height // 2

    @property
    def before_its_host(self) -> bool:
        """Whether it is laid before what it lies on is glued down: to be folded behind, or trimmed."""
        slant = self.placed.slant
        return bool(self.placed.layer.wrap) or (slant is not None and slant.strip)

    @property
    def round(self) -> bool:
        """Whether it is a circle."""
        return self.piece.shape == "circle"


@dataclass(frozen=True, slots=True)
class Side:
    """The card seen from one side: the ground, then the layers from bottom to top.

    ``base`` is None where bases are bought ready. Of the envelope, ``card`` has the size of that laid
    open, and ``base`` is its piece. ``belts`` go across the back, over its layers.
    """

    card: Card
    where: Where
    base: Piece | None
    layers: tuple[CardLayer, ...]
    belts: tuple[CardLayer, ...] = ()

    @property
    def drawn(self) -> tuple[CardLayer, ...]:
        """All that is seen on it, from bottom to top."""
        return (*self.layers, *self.belts)

    @property
    def corners(self) -> tuple[Point, ...]:
        """The corners of the card, from the lower left one."""
        return Ground(0, 0, self.card.width, self.card.height, is_round=False).corners


def card_sides(plan: Plan, card: Card) -> tuple[Side, ...]:
    """The sides of a card: its front always, inside, back and envelope where a layer lies there."""
    pieces: dict[tuple[str | None, str], list[Piece]] = {}
    for piece in plan.pieces:
        for use in piece.uses:
            pieces.setdefault((use.card, use.layer), []).append(piece)
    placed = place_layers(card)
    lying: dict[Where, list[CardLayer]] = {where: [] for where in get_args(Where)}
    for layer in card.layers:
        under = placed[layer.over or layer.ground]
        ways = cut_ways(plan, card, layer.name)
        folds, closed_under = folds_of(placed, layer.name, ways[0].pieces, plan.asked)
        lying[layer.where].append(
            CardLayer(placed[layer.name], under, tuple(ways), folds, closed_under)
        )
    opened = placed.get(ENVELOPE)
    sides = []
    for where, layers in lying.items():
        ground, whole = BASE, card
        if where == "envelope" and opened is not None:
            ground, whole = ENVELOPE, replace(card, width=opened.width, height=opened.height)
        base = pieces.get((card.name, ground), [None])[0]
        belts = [
            replace(one, placed=seen_from_behind(one.placed, card))
            for one in lying["outside"]
            if one.placed.layer.belt is not None and where == "behind"
        ]
        if layers or where == "outside":
            sides.append(Side(whole, where, base, tuple(layers), tuple(belts)))
    return tuple(sides)


def gluing_order(layers: tuple[CardLayer, ...]) -> list[CardLayer]:
    """The layers of a side in the order in which they are glued.

    From the bottom up, except that a layer wrapped round its host, or trimmed flush with it, comes
    before the host, and so does what lies between the two: once glued down, it could not be.
    """
    under = {one.placed.layer.name: one.under.layer.name for one in layers}
    last = {one.under.layer.name: n for n, one in enumerate(layers) if one.before_its_host}
    order: dict[str, CardLayer] = {}

    def glue(host: CardLayer) -> None:
        name = host.placed.layer.name
        for one in layers[: last.get(name, -1) + 1]:
            if _lies_on(one.placed.layer.name, name, under):
                glue(one)
        order.setdefault(name, host)

    for one in layers:
        if one.placed.layer.name not in order:
            glue(one)
    return list(order.values())


def _lies_on(name: str, host: str, under: Mapping[str, str]) -> bool:
    """Whether a layer lies on another, or on one that does."""
    while name in under:
        name = under[name]
        if name == host:
            return True
    return False


def print_top(piece: Piece, *, turned: bool) -> Edge:
    """The edge of the upright piece, its face towards you, that has the top of the print.

    A turned piece lies clockwise on the sheet with the front up (``bearings.top_edge``), so that
    the print's top is at its left; on the back it is seen the other way round.
    """
    if not turned:
        return "top"
    return "left" if piece.face == "front" else "right"


def print_tops(plan: Plan, piece: Piece) -> tuple[Edge, ...]:
    """Every edge that the print's top is at, over all blanks cut for a piece.

    None where the print has no direction; several where blanks of the piece lie differently, or may:
    how those in the bags were cut, their own plans alone say.
    """
    if piece.print not in ("one-way", "two-way"):
        return ()
    turns = set(piece.turns)
    if len(turns) > 1 and not piece.in_bags:
        turns = {blank.turned for blank in blanks_of(plan, piece)} or turns
    return tuple(print_top(piece, turned=turned) for turned in sorted(turns))


def blanks_of(plan: Plan, piece: Piece) -> list[Blank]:
    """The blanks of a piece, one for each place in a layout."""
    return [
        placed.node
        for layout in plan.layouts_of(piece.paper)
        for placed in layout.blanks
        if isinstance(placed.node, Blank) and placed.node.piece == piece.id
    ]
