"""The layers of a card pulled apart: one above the other, seen from above, each with its letter."""

from dataclasses import dataclass
from math import cos, pi, sin

from nesting.cards.aslant import Ground, Point
from nesting.draw.canvas.lettering import LETTER, MIDDLE
from nesting.draw.canvas.palette import INK, QUIET, WHITE, Colour
from nesting.draw.canvas.surface import Box, Dash, Surface
from nesting.draw.card.card_picture import GHOST, letter_row, pieces_at
from nesting.draw.card.sides import CardLayer, Side
from nesting.draw.sheet.labels import WordRow, draw_row
from nesting.draw.sheet.middle_words import window_of
from nesting.draw.sheet.picture import paper_tint
from nesting.papers import Window
from nesting.pieces import Piece
from nesting.plan import Plan

#: The shares of a length away from the reader that go across and up the page.
_ASIDE, _UP = 0.42, 0.36
#: The least and the most height from one level to the next, in points.
LEVEL = 22.0
_MOST = 54.0
#: Room for the letters and their leader lines, on the right.
_LETTERS = 62.0
_DRAWN = 0.9
#: A mark to lay an aslant layer by, in points.
_MARK = 1.8
_FINE = 0.5
_DOTTED: Dash = (1.0, 2.5)
#: Corners of the shape that stands for a circle.
_ROUND = 60

PagePoint = tuple[float, float]


@dataclass(frozen=True, slots=True)
class _Levels:
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

    def shape(self, corners: tuple[Point, ...], level: int) -> list[PagePoint]:
        """A shape of the card on a level."""
        return [self.at(x, y, level) for x, y in corners]


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
    levels = _fit(side, layers, area)
    card = side.corners
    for low, high in zip(levels.shape(card, 0), levels.shape(card, len(layers)), strict=True):
        surface.line([low, high], _FINE, dash=_DOTTED, colour=QUIET)
    column = area.right - _LETTERS + 20
    if base is None:
        _draw_outline(surface, levels.shape(card, 0))
    else:
        _draw_shape(surface, levels.shape(card, 0), paper_tint(plan, base.paper))
        row = letter_row(plan, base)
        _write_letter(surface, row, levels.at(*card[1], 0), _beside(levels, side, 0, column))
    for level, layer in enumerate(layers, start=1):
        _draw_outline(surface, levels.shape(card, level))
        _draw_layer(surface, plan, levels, layer, level)
        window = window_of(plan, side.card.name, layer.placed.layer.name)
        if window is not None:
            _draw_window(surface, levels, layer, window, level)
        start = levels.at(*_edge(layer), level)
        _write_letter(
            surface,
            letter_row(plan, *layer.ways[0].pieces, angle=layer.placed.layer.angle),
            start,
            _beside(levels, side, level, column),
        )


def _fit(side: Side, layers: tuple[CardLayer, ...], area: Box) -> _Levels:
    """The largest scale that leaves a level's height between the layers."""
    points = [*side.corners, *(point for one in layers for point in one.placed.whole)]
    left = min(x + y * _ASIDE for x, y in points)
    right = max(x + y * _ASIDE for x, y in points)
    low, high = min(y for _, y in points) * _UP, max(y for _, y in points) * _UP
    levels = len(layers)
    width = area.width - _LETTERS
    scale = min(width / (right - left), (area.height - levels * LEVEL) / (high - low))
    level = min(_MOST, (area.height - (high - low) * scale) / max(1, levels))
    height = (high - low) * scale + levels * level
    x = area.x + (width - (right - left) * scale) / 2 - left * scale
    return _Levels(x, area.y + (area.height - height) / 2 - low * scale, scale, level)


def _draw_shape(surface: Surface, corners: list[PagePoint], fill: Colour, dash: Dash = ()) -> None:
    surface.shape(corners, fill=fill, weight=_DRAWN, dash=dash)


def _draw_outline(surface: Surface, corners: list[PagePoint]) -> None:
    """The card's own outline on a level."""
    surface.line([*corners, corners[0]], _FINE, dash=GHOST, colour=QUIET)


def _draw_layer(
    surface: Surface, plan: Plan, levels: _Levels, layer: CardLayer, level: int
) -> None:
    """Draw a layer on its level, or its two ends; what goes behind is dashed."""
    fill = paper_tint(plan, layer.piece.paper)
    placed = layer.placed
    if layer.round:
        (x, y), radius = layer.centre, placed.width / 2
        turns = [2 * pi * number / _ROUND for number in range(_ROUND)]
        round_shape = [levels.at(x + radius * cos(a), y + radius * sin(a), level) for a in turns]
        _draw_shape(surface, round_shape, fill)
        return
    if placed.layer.wrap:
        _draw_shape(surface, levels.shape(placed.whole, level), WHITE, GHOST)
    for _, corners in pieces_at(layer):
        _draw_shape(surface, levels.shape(corners, level), fill)
    for mark in placed.slant.marks if placed.slant else ():
        surface.disc(levels.at(*mark, level), _MARK, fill=INK)


def _draw_window(
    surface: Surface, levels: _Levels, layer: CardLayer, window: Window, level: int
) -> None:
    """Draw where the middle of a layer is cut out, dotted."""
    left, low = layer.placed.whole[0]
    cut = Ground(left + window.x, low + window.y, window.width, window.height, is_round=False)
    corners = levels.shape(cut.corners, level)
    surface.line([*corners, corners[0]], _DRAWN, dash=_DOTTED)


def _edge(layer: CardLayer) -> tuple[float, float]:
    """Where a layer's leader begins: on its right edge, low down, where no level hides it.

    What lies aslant has it in its middle, away from the marks that it is laid by.
    """
    placed = layer.placed
    if placed.slant:
        return placed.slant.middle
    up = 0.5 if layer.round else 0.1
    return placed.x + placed.width, placed.y + placed.height * up


def _beside(levels: _Levels, side: Side, level: int, column: float) -> PagePoint:
    """Where the letter of a level stands: one above the other, a level apart."""
    return column, levels.at(0, side.card.height * 0.15, level)[1]


def _write_letter(surface: Surface, row: WordRow, start: PagePoint, end: PagePoint) -> None:
    """Draw a fine line from a level to its letter, and the letter."""
    surface.disc(start, 1.6, fill=INK)
    surface.line([start, (end[0] - 5, end[1])], _FINE)
    draw_row(surface, row, (end[0], end[1] - LETTER * MIDDLE))
