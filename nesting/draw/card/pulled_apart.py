"""The layers of a card pulled apart: one above the other, seen aslant, each with its letter."""

from dataclasses import dataclass
from math import cos, pi, sin

from nesting.batch import Piece, Window
from nesting.draw.canvas.lettering import LETTER
from nesting.draw.canvas.palette import INK, QUIET, WHITE, Colour
from nesting.draw.canvas.surface import Box, Dash, Surface
from nesting.draw.card.card_picture import GHOST, letter_row
from nesting.draw.card.sides import CardLayer, Side
from nesting.draw.sheet.labels import WordRow, draw_row
from nesting.draw.sheet.middle_words import window_of
from nesting.draw.sheet.picture import paper_tint
from nesting.plan import Plan

#: The shares of a length away from the reader that go across and up the page.
_ASIDE, _UP = 0.42, 0.36
#: The least and the most height from one level to the next, in points.
LEVEL = 22.0
_MOST = 54.0
#: Room for the letters and their leader lines, on the right.
_LETTERS = 62.0
_DRAWN = 0.9
_FINE = 0.5
_DOTTED: Dash = (1.0, 2.5)
#: Corners of the shape that stands for a circle.
_ROUND = 60

PagePoint = tuple[float, float]


@dataclass(frozen=True, slots=True)
class _Slant:
    """Where the card's lower left corner lies on the lowest level; ``scale`` is points per nm."""

    x: float
    y: float
    scale: float
    level: float

    def at(self, x: float, y: float, level: int) -> PagePoint:
        """A point of the card on a level."""
        return (
            self.x + (x + y * _ASIDE) * self.scale,
            self.y + y * _UP * self.scale + level * self.level,
        )

    def corners(self, x: int, y: int, width: int, height: int, level: int) -> list[PagePoint]:
        """A rectangle of the card, from its lower left corner round."""
        right, high = x + width, y + height
        return [self.at(a, b, level) for a, b in ((x, y), (right, y), (right, high), (x, high))]


def draw_pulled_apart(
    surface: Surface,
    plan: Plan,
    side: Side,
    layers: tuple[CardLayer, ...],
    base: Piece | None,
    area: Box,
) -> None:
    """Draw some layers of a side one above the other, from the base upwards.

    Without a base the ground is an outline. The dashed outline on each level is the card's own: it
    shows where on the card a layer goes.
    """
    slant = _fit(side, layers, area)
    card = (0, 0, side.card.width, side.card.height)
    for low, high in zip(slant.corners(*card, 0), slant.corners(*card, len(layers)), strict=True):
        surface.line([low, high], _FINE, dash=_DOTTED, colour=QUIET)
    column = area.right - _LETTERS + 20
    if base is None:
        _draw_outline(surface, slant.corners(*card, 0))
    else:
        _draw_shape(surface, slant.corners(*card, 0), paper_tint(plan, base.paper))
        row = letter_row(plan, base)
        _write_letter(surface, row, slant.at(card[2], 0, 0), _beside(slant, side, 0, column))
    for level, layer in enumerate(layers, start=1):
        _draw_outline(surface, slant.corners(*card, level))
        _draw_layer(surface, plan, slant, layer, level)
        window = window_of(plan, side.card.name, layer.placed.layer.name)
        if window is not None:
            _draw_window(surface, slant, layer, window, level)
        start = slant.at(*_edge(layer), level)
        _write_letter(
            surface, letter_row(plan, layer.piece), start, _beside(slant, side, level, column)
        )


def _fit(side: Side, layers: tuple[CardLayer, ...], area: Box) -> _Slant:
    """The largest scale that leaves a level's height between the layers."""
    boxes = [(0, 0, side.card.width, side.card.height)]
    boxes += [one.placed.whole for one in layers]
    left = min(x + y * _ASIDE for x, y, _, _ in boxes)
    right = max(x + w + (y + h) * _ASIDE for x, y, w, h in boxes)
    low, high = min(y for _, y, _, _ in boxes) * _UP, max(y + h for _, y, _, h in boxes) * _UP
    levels = len(layers)
    width = area.width - _LETTERS
    scale = min(width / (right - left), (area.height - levels * LEVEL) / (high - low))
    level = min(_MOST, (area.height - (high - low) * scale) / max(1, levels))
    height = (high - low) * scale + levels * level
    x = area.x + (width - (right - left) * scale) / 2 - left * scale
    return _Slant(x, area.y + (area.height - height) / 2 - low * scale, scale, level)


def _draw_shape(surface: Surface, corners: list[PagePoint], fill: Colour, dash: Dash = ()) -> None:
    surface.shape(corners, fill=fill, weight=_DRAWN, dash=dash)


def _draw_outline(surface: Surface, corners: list[PagePoint]) -> None:
    """The card's own outline on a level."""
    surface.line([*corners, corners[0]], _FINE, dash=GHOST, colour=QUIET)


def _draw_layer(surface: Surface, plan: Plan, slant: _Slant, layer: CardLayer, level: int) -> None:
    """Draw a layer on its level; what goes behind at its ends is dashed."""
    fill = paper_tint(plan, layer.piece.paper)
    placed = layer.placed
    if layer.round:
        (x, y), radius = layer.centre, placed.width / 2
        turns = [2 * pi * number / _ROUND for number in range(_ROUND)]
        round_shape = [slant.at(x + radius * cos(a), y + radius * sin(a), level) for a in turns]
        _draw_shape(surface, round_shape, fill)
        return
    if placed.layer.wrap:
        _draw_shape(surface, slant.corners(*placed.whole, level), WHITE, GHOST)
    shown = slant.corners(placed.x, placed.y, placed.width, placed.height, level)
    _draw_shape(surface, shown, fill)


def _draw_window(
    surface: Surface, slant: _Slant, layer: CardLayer, window: Window, level: int
) -> None:
    """Draw where the middle of a layer is cut out, dotted."""
    left, low, _, _ = layer.placed.whole
    x, y = left + window.x, low + window.y
    corners = slant.corners(x, y, window.width, window.height, level)
    surface.line([*corners, corners[0]], _DRAWN, dash=_DOTTED)


def _edge(layer: CardLayer) -> tuple[float, float]:
    """Where a layer's leader begins: on its right edge, low down, where no level hides it."""
    placed = layer.placed
    up = 0.5 if layer.round else 0.1
    return placed.x + placed.width, placed.y + placed.height * up


def _beside(slant: _Slant, side: Side, level: int, column: float) -> PagePoint:
    """Where the letter of a level stands: one above the other, a level apart."""
    return column, slant.at(0, side.card.height * 0.15, level)[1]


def _write_letter(surface: Surface, row: WordRow, start: PagePoint, end: PagePoint) -> None:
    """Draw a fine line from a level to its letter, and the letter."""
    surface.disc(start, 1.6, fill=INK)
    surface.line([start, (end[0] - 5, end[1])], _FINE)
    draw_row(surface, row, (end[0], end[1] - LETTER * 0.365))
