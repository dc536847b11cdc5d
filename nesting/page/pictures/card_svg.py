"""The picture of a card that is being designed: to scale, its layers in order, sizes beside them."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from nesting.batch import ON_CARD, Card, Where
from nesting.cards.aslant import Ground, Point, Slant
from nesting.cards.placing import PlacedLayer, seen_from_behind
from nesting.draw.canvas.lettering import brief
from nesting.draw.canvas.palette import QUIET, WHITE
from nesting.draw.canvas.surface import POINTS_PER_INCH, Box, Dash, box_at
from nesting.page.pictures.prints import Looks
from nesting.page.pictures.screen import ScreenSurface
from nesting.papers import Edge, FaceName
from nesting.units import NANOMETRES, Unit, format_angle, length_words, size_words

#: A card is drawn life-size, or so large at most, in points.
_MOST = 300.0
_LIFE = POINTS_PER_INCH / NANOMETRES["in"]
#: White all round, room for the words beside the card, and from one to the next.
_WHITE, _WORDS, _PITCH = 12.0, 165.0, 34.0
_OUTLINE, _DRAWN, _FINE = 1.6, 0.9, 0.6
_GHOST: Dash = (3.0, 3.0)
_SCORE: Dash = (14.0, 5.0)
#: How far the back leaf of a folded card peeks out where it opens, in points.
_LEAF = 3.0
_TYPE = 12.0
#: A letter is at most this part of its type size wide, on average.
_WIDE = 0.62

SIDES: dict[Where, str] = {
    "outside": "front", "inside": "inside", "behind": "back", "envelope": "envelope, its flap open",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Marks:
    """The ruler's marks that the low edge of a layer can be moved to along one axis.

    ``first`` is how far the first of them is from where it is, ``apart`` from one to the next, in
    nm. ``texts`` are what is written into the file for each, at ``pointer``.
    """

    pointer: str
    first: int
    apart: int
    texts: Sequence[str]


@dataclass(frozen=True, slots=True)
class Moves:
    """Where a layer can be moved: across and up.

    Where both have the same pointer, one text has both, with an x between.
    """

    across: Marks
    up: Marks


def card_picture(
    looks: Looks,
    card: Card,
    placed: Mapping[str, PlacedLayer],
    where: Where = "outside",
    moves: Mapping[str, Moves] | None = None,
    unsure: Collection[str] = (),
) -> str:
    """Draw one side of a card, as SVG: its layers in their places, and their sizes beside them.

    Parameters
    ----------
    looks
        How its papers look.
    card, placed
        The card, and its layers without a fault in their places (``nesting.cards.placing``).
    where
        The side to draw.
    moves
        Where layers can be moved, by their names.
    unsure
        The names of layers whose paper is not known: these stay white.
    """
    layers = [
        placed[layer.name]
        for layer in card.layers
        if layer.where == where and layer.name in placed and layer.name != ON_CARD
    ]
    view = _fit(card, layers, where, looks.batch.unit)
    surface = ScreenSurface(view.width, view.height, f"{card.name}-{where}")
    _draw_ground(surface, looks, card, where, view)
    for one in layers:
        with surface.group(**_group_of(one, view, (moves or {}).get(one.layer.name))):
            _draw_layer(surface, looks, one, view, sure=one.layer.name not in unsure)
    for belt in placed.values():
        if belt.layer.belt is not None and where == "behind":
            sure = belt.layer.name not in unsure
            _draw_layer(surface, looks, seen_from_behind(belt, card), view, sure=sure)
    _write_beside(surface, layers, looks.batch.unit, view)
    return surface.svg(_title(card, layers, where, looks.batch.unit))


def layer_size(placed: PlacedLayer, unit: Unit) -> str:
    """The size of a layer as it is seen, and how many of it there are: ``2 in circle (3 of them)``."""
    size = _seen_size(placed, unit)
    return size if placed.layer.each == 1 else f"{size} ({placed.layer.each} of them)"


def _seen_size(placed: PlacedLayer, unit: Unit) -> str:
    """``3 3/4 x 5 in``, ``2 in circle``, ``3/4 in wide, 30° clockwise``."""
    if placed.layer.circle is not None:
        return f"{length_words(placed.width, unit)} circle"
    if placed.slant is None:
        return size_words(placed.width, placed.height, unit)
    width, height, turned = (
        placed.layer.width,
        placed.layer.height,
        format_angle(placed.layer.angle),
    )
    if width is not None and height is not None:
        return f"{size_words(width, height, unit)}, {turned}"
    return f"{length_words(width or height or 0, unit)} wide, {turned}"


@dataclass(frozen=True, slots=True)
class _View:
    """Where the card's lower left corner lies in the picture; ``scale`` is points per nm."""

    x: float
    y: float
    scale: float
    width: float
    height: float
    card: Box
    words: float

    def at(self, point: Point) -> tuple[float, float]:
        """A point of the card in the picture."""
        return self.x + point[0] * self.scale, self.y + point[1] * self.scale

    def box(self, ground: Ground) -> Box:
        """A rectangle of the card in the picture."""
        x, y = self.at((ground.x, ground.y))
        return Box(x, y, ground.width * self.scale, ground.height * self.scale)


def _fit(card: Card, layers: Sequence[PlacedLayer], where: Where, unit: Unit) -> _View:
    """Fit all that is drawn of a side, and the words beside it, into a picture."""
    grounds = [Ground(0, 0, card.width, card.height, is_round=False), *_other_half(card, where)]
    points = [corner for one in grounds for corner in one.corners]
    points += [corner for one in layers for corner in one.whole]
    left, low = min(x for x, _ in points), min(y for _, y in points)
    right, high = max(x for x, _ in points), max(y for _, y in points)
    scale = min(_LIFE, _MOST / (right - left), _MOST / (high - low))
    height = max((high - low) * scale, _PITCH * len(layers)) + 2 * _WHITE
    x = _WHITE - left * scale
    y = (height - (high - low) * scale) / 2 - low * scale
    words = _WHITE + (right - left) * scale + 2 * _WHITE
    longest = max((len(layer_size(one, unit)) for one in layers), default=0)
    width = words + max(_WORDS, longest * _TYPE * _WIDE)
    ground = Box(x, y, card.width * scale, card.height * scale)
    return _View(x, y, scale, width, height, ground, words)


def _other_half(card: Card, where: Where) -> list[Ground]:
    """The half of the open card that the inside's layers do not lie on."""
    if where != "inside" or card.base is None or card.base.fold == "none":
        return []
    if card.base.fold == "left":
        return [Ground(-card.width, 0, card.width, card.height, is_round=False)]
    return [Ground(0, card.height, card.width, card.height, is_round=False)]


def _draw_ground(
    surface: ScreenSurface, looks: Looks, card: Card, where: Where, view: _View
) -> None:
    """Draw the card under its layers: folded, or open where its inside is seen."""
    base, ground = card.base, view.card
    for half in _other_half(card, where):
        surface.box(view.box(half), weight=_DRAWN, dash=_GHOST, colour=QUIET)
    if base is None:
        surface.box(ground, fill=WHITE, weight=_OUTLINE, dash=_GHOST)
        return
    if where != "inside" and base.fold != "none":
        aside = -_LEAF if where == "behind" else _LEAF
        out_x, out_y = (0.0, -_LEAF) if base.fold == "top" else (aside, 0.0)
        leaf = Box(ground.x + out_x, ground.y + out_y, ground.width, ground.height)
        surface.box(leaf, fill=WHITE, weight=_DRAWN)
    _fill(surface, looks, base.paper, base.face, ground, view.scale, "top")
    surface.box(ground, weight=_OUTLINE)


def _draw_layer(
    surface: ScreenSurface, looks: Looks, placed: PlacedLayer, view: _View, *, sure: bool
) -> None:
    """Draw a layer where it lies; dashed, what is folded behind."""
    layer, box = placed.layer, view.box(placed.rectangle)
    turned: Edge = "right" if layer.face == "back" else "left"
    top: Edge = turned if layer.turn == "must" else "top"
    name = layer.paper if sure else None
    if layer.wrap:
        surface.shape(
            [view.at(corner) for corner in placed.whole], fill=None, weight=_FINE, dash=_GHOST
        )
    if layer.circle is not None:
        with surface.cut_round(box.centre, box.width / 2):
            _fill(surface, looks, name, layer.face, box, view.scale, top)
        surface.disc(box.centre, box.width / 2, weight=_DRAWN)
    elif placed.slant:
        outline = [view.at(corner) for corner in placed.slant.outline]
        with surface.cut_along(outline), surface.turned(view.at(placed.slant.middle), layer.angle):
            _fill(
                surface,
                looks,
                name,
                layer.face,
                _upright(placed, placed.slant, view),
                view.scale,
                top,
            )
        surface.shape(outline, fill=None, weight=_DRAWN)
    else:
        _fill(surface, looks, name, layer.face, box, view.scale, top)
        surface.box(box, weight=_DRAWN)


def _upright(placed: PlacedLayer, slant: Slant, view: _View) -> Box:
    """All that is seen of an aslant layer turned back about its middle."""
    width, height = placed.layer.width or slant.reach, placed.layer.height or slant.reach
    return box_at(view.at(slant.middle), width * view.scale, height * view.scale)


def _fill(
    surface: ScreenSurface, looks: Looks, name: str | None, face: FaceName | None, box: Box,
    scale: float, top: Edge,
) -> None:  # fmt: skip
    if name is None:
        surface.box(box, fill=WHITE)
        return
    looks.of(name, face).fill(surface, box, scale, top)


def _group_of(placed: PlacedLayer, view: _View, moves: Moves | None) -> dict[str, str]:
    """What the script has to know of a layer to move it: how far, and what to write then."""
    attributes = {"class": "layer", "data_layer": placed.layer.name}
    if moves is None:
        return attributes
    attributes["class"] = "layer movable"
    for axis, marks in (("across", moves.across), ("up", moves.up)):
        attributes[f"data_{axis}_pointer"] = marks.pointer
        attributes[f"data_{axis}_first"] = f"{marks.first * view.scale:.3f}"
        attributes[f"data_{axis}_apart"] = f"{marks.apart * view.scale:.3f}"
        attributes[f"data_{axis}_texts"] = "|".join(marks.texts)
    return attributes


def _write_beside(
    surface: ScreenSurface, layers: Sequence[PlacedLayer], unit: Unit, view: _View
) -> None:
    """Write name and size of each layer beside the card, in the order of their heights on it."""
    heights = [
        (_right_end(one.slant)[1] if one.slant else one.middle[1], n)
        for n, one in enumerate(layers)
    ]
    order = [layers[number] for _, number in sorted(heights, reverse=True)]
    y = view.height / 2 + _PITCH * (len(order) - 1) / 2
    most = int(_WORDS / (_TYPE * _WIDE))
    for placed in order:
        name = brief(placed.layer.name)
        short = name if len(name) <= most else f"{name[: most - 1].rstrip()}…"
        surface.line([_end(placed, view, y), (view.words - 5, y)], _FINE, colour=QUIET)
        surface.text(view.words, y + 2, short, _TYPE, bold=True)
        surface.text(view.words, y - _TYPE, layer_size(placed, unit), _TYPE)
        y -= _PITCH


def _end(placed: PlacedLayer, view: _View, y: float) -> tuple[float, float]:
    """Where the line to a layer ends: just inside its right edge, level with the words if it can be."""
    if placed.slant:
        return view.at(_right_end(placed.slant))
    box = view.box(placed.rectangle)
    level = (
        box.centre[1] if placed.layer.circle is not None else min(max(y, box.y + 2), box.top - 2)
    )
    return box.right - min(2.5, box.width / 4), level


def _right_end(slant: Slant) -> Point:
    """A point of an aslant layer near its corner at the right, where others seldom lie on it."""
    corner = max(slant.outline)
    return (3 * corner[0] + slant.middle[0]) // 4, (3 * corner[1] + slant.middle[1]) // 4


def _title(card: Card, layers: Sequence[PlacedLayer], where: Where, unit: Unit) -> str:
    """What the picture shows, in words, from the bottom layer to the top."""
    size = size_words(card.width, card.height, unit)
    words = ", ".join(f"{one.layer.name} {layer_size(one, unit)}" for one in layers)
    return f"{card.name}, {size}, {SIDES[where]}: {words or 'no layers yet'}"
