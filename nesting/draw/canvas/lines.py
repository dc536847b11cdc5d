"""Lines of text set one below the other, before it is known where on a page they go."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from nesting.draw.canvas.lettering import ASCENT, LEADING
from nesting.draw.canvas.palette import INK, Colour
from nesting.draw.canvas.surface import Box, Surface


@dataclass(frozen=True, slots=True)
class Line:
    """A line of text: ``right`` and ``down`` are from the upper left corner to its baseline."""

    right: float
    down: float
    text: str
    size: float
    bold: bool = False
    align: Literal["left", "right"] = "left"
    colour: Colour = INK


def set_lines(
    texts: Iterable[str],
    size: float,
    *,
    bold: bool = False,
    down: float = 0.0,
    right: float = 0.0,
) -> tuple[list[Line], float]:
    """Set lines one below the other from ``down`` on, and say how far down they reach."""
    lines = []
    for text in texts:
        lines.append(Line(right, down + size * ASCENT, text, size, bold))
        down += size * LEADING
    return lines, down


def write_lines(surface: Surface, lines: Iterable[Line], box: Box) -> None:
    """Write lines from the upper left corner of a box."""
    for line in lines:
        at = box.x + line.right, box.top - line.down
        surface.text(
            *at, line.text, line.size, bold=line.bold, align=line.align, colour=line.colour
        )
