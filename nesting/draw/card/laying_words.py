"""Where each layer of a card goes, and how it is laid, folded and glued there."""

from collections.abc import Iterator

from nesting.batch import Card, Where
from nesting.cards.aslant import Point, Slant, ends_behind
from nesting.cards.placing import PlacedLayer
from nesting.draw.canvas.lettering import TIE, isolated
from nesting.draw.card.sides import CardLayer
from nesting.draw.sheet.joint_words import ends_words
from nesting.draw.sheet.words import die_words
from nesting.papers import Edge
from nesting.plan import Plan
from nesting.units import Unit, format_angle, format_length, format_size

_GROUNDS: dict[Where, str] = {
    "outside": "the card",
    "inside": "the inside",
    "behind": "the card's back",
    "envelope": "the envelope's inside",
}
_EDGES: dict[Edge, str] = {"top": "upper", "bottom": "lower", "left": "left", "right": "right"}


def place_words(plan: Plan, card: Card, layer: CardLayer) -> Iterator[str]:
    """Say where a layer goes, from the card's left and bottom edges, and what differs in cutting.

    The place of a circle and of what lies aslant is its centre's. An aslant band has two marks.
    """
    unit, slant = plan.asked.unit, layer.placed.slant
    corner = (layer.placed.x, layer.placed.y)
    x, y = slant.centre if slant else layer.centre if layer.round else corner
    what = "centre " if layer.round or slant else ""
    said = [f"{what}{distance_words(x, 'left', unit)}, {distance_words(y, 'bottom', unit)}"]
    if slant:
        said = [*([] if slant.strip else said), format_angle(layer.placed.layer.angle)]
    yield "; ".join((*said, _on_words(layer, unit)))
    if slant and slant.marks:
        yield _mark_words(plan, layer, slant)
    for way in layer.ways:
        if len(way.pieces) > 1:
            of = f"on {way.sets}, " if len(layer.ways) > 1 else ""
            yield of + ends_words(plan, card, layer.placed.layer.name, way)
    yield from _folded_words(plan, layer)
    if layer.piece.die_allowance:
        yield die_words(layer.piece, plan.layouts, unit)


def _mark_words(plan: Plan, layer: CardLayer, slant: Slant) -> str:
    """Say where to mark the edge of what an aslant layer lies on, and how to lay it by the marks."""
    under, unit, marks = layer.under, plan.asked.unit, plan.asked.trimmer.marks

    def measured(length: int) -> str:
        return format_length((length + marks // 2) // marks * marks, unit)

    def place(point: Point) -> str:
        x, y = point
        if under.layer.circle is not None:
            return f"{measured(x - under.x)} from its left and {measured(y - under.y)} up"
        if x in (under.x, under.x + under.width):
            return f"{measured(y - under.y)} up its {'left' if x == under.x else 'right'} edge"
        return f"{measured(x - under.x)} along its {'bottom' if y == under.y else 'top'} edge"

    first, second = map(place, slant.marks)
    lay = "on" if slant.strip else "in line with"
    return (
        f"mark {_name_of(under, layer)} {first}, and {second}; "
        f"lay the {_EDGES[slant.edge]} edge of the {'band' if slant.strip else 'layer'} {lay} both"
    )


def _name_of(under: PlacedLayer, layer: CardLayer) -> str:
    """What a layer lies on, by its name or as the side of the card that it is."""
    if under.layer.name == layer.placed.layer.ground:
        return _GROUNDS[layer.placed.layer.where]
    return isolated(under.layer.name)


def _folded_words(plan: Plan, layer: CardLayer) -> Iterator[str]:
    """Say what of a layer goes round an edge, and where it is folded for that."""
    placed, unit = layer.placed, plan.asked.unit
    behind = {one: getattr(placed.behind, one) for one in ("top", "left", "right", "bottom")}
    ends = {edge: length for edge, length in behind.items() if length}
    if placed.layer.wrap:
        shown = format_size(placed.width, placed.height, unit)
        if len(ends) == 2 and len(set(ends.values())) == 1:
            where = f"{format_length(max(ends.values()), unit)} goes behind at both ends"
        else:
            lengths = [f"{format_length(one, unit)} at the {edge}" for edge, one in ends.items()]
            where = f"{', '.join(lengths)} goes behind"
        yield where if placed.slant else f"{shown} shows, {where}"
    if placed.layer.belt is not None:
        lap = format_length(plan.asked.lap, unit)
        where = f"under {isolated(layer.closed_under)}" if layer.closed_under else "behind"
        yield f"glue its ends {lap} over each other, {where}"
    if any(len(way.pieces) > 1 for way in layer.ways) and placed.layer.wrap:
        folds = [f"{format_length(one, unit)} from the {edge}" for edge, one in ends.items()]
        yield f"fold its ends behind, as it lies {', '.join(folds)}"
    for axis, end in (("x", "left"), ("y", "bottom")):
        marks = [format_length(fold.at, unit) for fold in layer.folds if fold.axis == axis]
        if marks:
            yield f"fold it behind {' and '.join(marks)}{TIE}from its {end} end"


def distance_words(length: int, edge: Edge, unit: Unit) -> str:
    """How far from an edge of the card, or how far beyond it."""
    if not length:
        return f"at the {edge} edge"
    way = "from" if length > 0 else "beyond"
    return f"{format_length(abs(length), unit)}{TIE}{way}{TIE}the{TIE}{edge}"


def _on_words(layer: CardLayer, unit: Unit) -> str:
    """What a layer lies on, and how much of that shows where it shows evenly."""
    placed, under = layer.placed, layer.under
    ground, name = under.layer.name == placed.layer.ground, _name_of(under, layer)
    if placed.layer.belt is not None:
        return "round the closed card, after its inside and back"
    if layer.before_its_host:
        how = "round" if placed.layer.wrap else "on"
        flush = ""
        if placed.slant and 0 in ends_behind(placed.layer):
            flush = ", the other end trimmed flush" if placed.layer.wrap else ", trimmed flush"
        return f"{how} {name}{flush}" + ("" if ground else " before that is glued down")
    if placed.slant:
        return f"on {name}"
    shows = placed.reveal_on(under)
    if not shows.even or shows.left <= 0 or layer.round != (under.layer.circle is not None):
        return f"on {name}"
    return f"on {name}, {format_length(shows.left, unit)} of it shows all round"


def flap_words(card: Card, layer: CardLayer, unit: Unit) -> Iterator[str]:
    """Say where a layer of the envelope folds with its flap, if it lies straight and reaches that far."""
    placed, height = layer.placed, (card.envelope and card.envelope.height) or 0
    if placed.layer.where != "envelope" or placed.slant:
        return
    if placed.y < height < placed.y + placed.height:
        at = format_length(height - placed.y, unit)
        yield f"folds with the flap, {at} from its own bottom edge"
