"""Boxes to tick, one for each sheet; of very many sheets a line to tally on."""

from nesting.draw.canvas.lettering import BODY, text_width
from nesting.draw.canvas.palette import QUIET
from nesting.draw.canvas.surface import Box, Surface

SIDE = 13.0
_GAP = 4.0
#: The most sheets with a box each.
MOST_BOXES = 12
_TALLY, _TALLY_WIDTH = "tally", 130.0


def rows_of_boxes(count: int, width: float) -> list[int]:
    """How many boxes stand in each row, as even as can be; no row where a line is tallied on."""
    if count > MOST_BOXES:
        return []
    in_a_row = max(1, int((width + _GAP) / (SIDE + _GAP)))
    rows = -(-count // in_a_row)
    return [count * (row + 1) // rows - count * row // rows for row in range(rows)]


def boxes_width(count: int) -> float:
    """How wide a row of boxes is, or the line."""
    return _TALLY_WIDTH if count > MOST_BOXES else count * (SIDE + _GAP) - _GAP


def boxes_height(count: int, width: float) -> float:
    """How high the rows are that so many boxes take, or the line."""
    return max(1, len(rows_of_boxes(count, width))) * (SIDE + _GAP)


def draw_boxes(surface: Surface, count: int, area: Box) -> None:
    """Draw boxes, or a line to tally on, from the upper left corner of an area."""
    y = area.top - SIDE
    if count > MOST_BOXES:
        surface.text(area.x, y + 2, _TALLY, BODY, colour=QUIET)
        surface.line([(area.x + text_width(_TALLY, BODY) + 6, y), (area.x + _TALLY_WIDTH, y)], 0.8)
    for boxes in rows_of_boxes(count, area.width):
        for number in range(boxes):
            surface.box(Box(area.x + number * (SIDE + _GAP), y, SIDE, SIDE), weight=1.0)
        y -= SIDE + _GAP
