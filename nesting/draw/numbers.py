"""The numbers of the cuts: each on its line, at the end where the blade starts."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import dist

from nesting.batch import Edge, Paper
from nesting.draw.bearings import WAYS, numbered_cuts, starts_at
from nesting.draw.lettering import NUMBER, SMALLEST, text_width
from nesting.draw.palette import WHITE
from nesting.draw.surface import Box, Surface, box_at
from nesting.draw.view import Line, View
from nesting.plan import Layout

_RADIUS = 9.5
#: A cut that starts this close to the sheet's edge, in points (edge trim is off by then), has its
#: number outside, too.
_NEAR = 14.0
#: From the sheet's edge to a number outside: clear of the mark in the starting corner.
_OUT = 7.5


@dataclass(frozen=True, slots=True)
class Number:
    """A cut's number in its circle, and the fine line from the start of the cut to it."""

    text: str
    size: float
    centre: tuple[float, float]
    radius: float
    lead: Line

    def covers(self, other: "Number") -> bool:
        """Whether two circles have more than a point in common."""
        return dist(self.centre, other.centre) < self.radius + other.radius

    @property
    def box(self) -> Box:
        """The room it takes."""
        return box_at(self.centre, 2 * self.radius, 2 * self.radius)


def place_numbers(layout: Layout, paper: Paper, view: View, sheet: Box) -> list[Number]:
    """Find a place for each cut's number: outside the sheet where the cut starts there, else inside.

    One that would cover another moves along its line.
    """
    numbers: list[Number] = []
    for number, placed in numbered_cuts(layout):
        text = str(number)
        size = NUMBER if number < 100 else SMALLEST  # cuts by the hundred lie close together
        radius = max(_RADIUS, text_width(text, size, bold=True) / 2 + 1)
        edge = starts_at(placed, layout, paper)
        first, last = view.cut_line(placed, layout.cut_width)
        start, end = (last, first) if edge in ("top", "right") else (first, last)
        choices = [
            Number(text, size, centre, radius, (start, centre))
            for centre in _places_on(start, end, edge, radius, sheet)
        ]
        covered = [sum(n.covers(other) for other in numbers) for n in choices]
        numbers.append(choices[covered.index(min(covered))])
    return numbers


def _places_on(
    start: tuple[float, float],
    end: tuple[float, float],
    edge: Edge,
    radius: float,
    sheet: Box,
) -> Iterator[tuple[float, float]]:
    """Centres to try: beyond the sheet's edge, then along the line from its start."""
    (x, y), (out_x, out_y) = start, WAYS[edge]
    beyond = {
        "left": x - sheet.x,
        "right": sheet.right - x,
        "top": sheet.top - y,
        "bottom": y - sheet.y,
    }
    if beyond[edge] < _NEAR:
        out = beyond[edge] + radius + _OUT
        yield x + out_x * out, y + out_y * out
    length = abs(end[0] - x) + abs(end[1] - y)
    along = radius + 1.5
    yield x - out_x * min(along, length / 2), y - out_y * min(along, length / 2)
    while (along := along + 2 * radius + 1) + radius / 2 <= length:
        yield x - out_x * along, y - out_y * along


def draw_number(surface: Surface, number: Number) -> None:
    """Draw a number in its circle."""
    surface.line(number.lead, 0.8)
    surface.disc(number.centre, number.radius, fill=WHITE, weight=1.0)
    x, y = number.centre
    surface.text(x, y - number.size * 0.365, number.text, number.size, bold=True, align="center")
