"""What is said of layers that are cut as two ends: which pieces, how long, under what they meet."""

from collections.abc import Iterator
from dataclasses import dataclass

from nesting.batch import Card
from nesting.cards.joining import joints_of
from nesting.cards.merging import Way, ways_among
from nesting.cards.placing import place_layers
from nesting.draw.canvas.lettering import isolated
from nesting.pieces import Piece
from nesting.plan import Plan
from nesting.units import format_length


@dataclass(frozen=True, slots=True)
class CutWay:
    """A way in which some sets of a layer are cut: one piece, or two ends and what hides their joint."""

    pieces: tuple[Piece, ...]
    sets: int
    under: tuple[str, ...] = ()


def cut_ways(plan: Plan, card: Card, layer: str) -> list[CutWay]:
    """The ways in which the sets of a layer are cut, in one piece first."""
    each = {one.name: one.each for one in card.layers}.get(layer, 1)
    joints = None
    found = []
    for way in ways_among(plan.pieces, card.name).get(layer, []):
        own = tuple(plan.piece(id_) for id_, _ in way)
        sets = cut_of_way(plan, way) // each
        under: tuple[str, ...] = ()
        if len(own) > 1:
            joints = joints or joints_of(place_layers(card), layer, plan.asked)
            sizes = tuple((piece.width, piece.height) for piece in own)
            under = next(joint.under for joint in joints if joint.sizes == sizes)
        found.append(CutWay(own, sets, under))
    return [way for way in found if way.sets] or found[:1]


def cut_of_way(plan: Plan, way: Way) -> int:
    """How many are cut of one way of a layer; of two ends, as many as there are of either."""
    return min(plan.as_cut(plan.piece(id_)).uses[number].count for id_, number in way)


def ends_words(plan: Plan, card: Card, layer: str, way: CutWay) -> str:
    """Say of a layer's two ends how long they are, at which edges, and what lies over the joint."""
    unit = plan.asked.unit
    across = place_layers(card)[layer].runs_across
    edges = ("left", "right") if across else ("bottom", "top")
    ends = [
        f"{piece.letter}, {format_length(piece.width if across else piece.height, unit)} "
        f"long at the {edge}"
        for piece, edge in zip(way.pieces, edges, strict=True)
    ]
    hidden = " and ".join(map(isolated, way.under))
    return f"two ends: {'; '.join(ends)}; the joint lies under {hidden}"


def joint_words(plan: Plan) -> Iterator[str]:
    """Say of each layer that may be cut as two ends how many are, and where they meet."""
    for card in plan.asked.cards:
        for layer in card.layers:
            if layer.join == "never":
                continue
            ways = cut_ways(plan, card, layer.name)
            said = [
                f"{way.sets} in {ends_words(plan, card, layer.name, way)}"
                for way in ways
                if len(way.pieces) > 1
            ]
            whole = sum(way.sets for way in ways if len(way.pieces) == 1)
            if whole:
                said = [f"{whole} in one piece", *said] if said else ["all in one piece"]
            if said:
                yield f"{isolated(card.name)}, {isolated(layer.name)}: {'. '.join(said)}."
