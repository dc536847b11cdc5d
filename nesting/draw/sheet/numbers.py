"""The numbers of the strokes: each on its line, at the end where the blade starts."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import product
from math import dist, hypot

from nesting.draw.canvas.lettering import MIDDLE, NUMBER, SMALLEST, text_width
from nesting.draw.canvas.palette import WHITE
from nesting.draw.canvas.surface import AnySurface, Box, box_at
from nesting.draw.sheet.bearings import WAYS
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.view import Segment, View
from nesting.papers import Edge

_RADIUS = 9.5
#: Where strokes lie close together, and beyond the hundredth, numbers are smaller.
_SMALL_RADIUS = 7.5
#: A cut that starts this close to the sheet's edge, in points (edge trim is off by then), has its
#: number outside, too.
_NEAR = 14.0
#: From the sheet's edge to a number outside: clear of what stands in the starting corner.
_OUT = 7.5
#: How many numbers may stand one behind the other past the end of a short line.
_PAST = 3
#: How many numbers may stand between the start of a line and its own.
_ASIDE = 8


@dataclass(frozen=True, slots=True)
class Number:
    """A stroke's number in its circle, and the fine line from its start to it."""

    text: str
    size: float
    centre: tuple[float, float]
    radius: float
    lead: Segment

    def covers(self, other: "Number") -> bool:
        """Whether two circles have more than a point in common."""
        return dist(self.centre, other.centre) < self.radius + other.radius

    @property
    def box(self) -> Box:
        """The room it takes."""
        return box_at(self.centre, 2 * self.radius, 2 * self.radius)


def place_numbers(subject: Subject, view: View, sheet: Box, since: int) -> list[Number]:
    """Find places for the numbers of the strokes from ``since`` on.

    Outside the sheet where a stroke starts at its edge, else inside. The first and the last of each
    step are placed before the others. A number that would cover another moves along its line; then
    those two move aside, and another is left out: the table has them all.
    """
    numbers: list[Number] = []
    side, end = subject.corner
    ends_of_steps = {
        step.strokes[n].number for step in subject.steps for n in (0, len(step.strokes) - 1)
    }
    for stroke in sorted(
        subject.strokes[since - 1 :], key=lambda one: one.number not in ends_of_steps
    ):
        edge = end if stroke.axis == "x" else side
        if stroke.line is not None:
            edge = subject.seen(stroke.line.begins)
        first, last = view.stroke_line(stroke)
        ends = (last, first) if edge in ("top", "right") else (first, last)
        aside = stroke.number in ends_of_steps
        choices = partial(_choices, stroke.number, ends, edge, sheet, aside=aside)
        free = next((n for n in choices() if not any(map(n.covers, numbers))), None)
        if free is not None:
            numbers.append(free)
        elif aside:
            numbers.append(min(choices(), key=lambda n: sum(map(n.covers, numbers))))
    return numbers


def _choices(
    number: int,
    ends: tuple[tuple[float, float], tuple[float, float]],
    edge: Edge,
    sheet: Box,
    *,
    aside: bool,
) -> Iterator[Number]:
    """The places of a stroke's number, on its line and, where it may move ``aside``, round its start."""
    for size in (NUMBER, SMALLEST) if number < 100 else (SMALLEST,):
        for centre in _places_on(*ends, edge, _radius(number, size), sheet):
            yield _number(number, size, ends[0], centre)
    if aside:
        for centre in _places_aside(ends[0], _radius(number, SMALLEST), sheet):
            yield _number(number, SMALLEST, ends[0], centre)


def _number(
    number: int, size: float, start: tuple[float, float], centre: tuple[float, float]
) -> Number:
    """A number in a place, with the line from where its stroke starts."""
    return Number(str(number), size, centre, _radius(number, size), (start, centre))


def _radius(number: int, size: float) -> float:
    least = _RADIUS if size == NUMBER else _SMALL_RADIUS
    return max(least, text_width(str(number), size, bold=True) / 2 + 1)


def _places_on(
    start: tuple[float, float],
    end: tuple[float, float],
    edge: Edge,
    radius: float,
    sheet: Box,
) -> Iterator[tuple[float, float]]:
    """Centres to try: beyond the sheet's edge, then along the line from its start."""
    (x, y), (out_x, out_y) = start, WAYS[edge]
    beyond = _beyond((x, y), edge, sheet)
    if beyond < _NEAR:
        out = beyond + radius + _OUT
        yield x + out_x * out, y + out_y * out
    length = abs(end[0] - x) + abs(end[1] - y)
    along = radius + 1.5
    yield x - out_x * min(along, length / 2), y - out_y * min(along, length / 2)
    across = sheet.width if out_x else sheet.height
    past = min(length + _PAST * (2 * radius + 1), across - beyond)
    while (along := along + 2 * radius + 1) + radius / 2 <= past:
        yield x - out_x * along, y - out_y * along


def _places_aside(
    start: tuple[float, float], radius: float, sheet: Box
) -> Iterator[tuple[float, float]]:
    """Centres on the sheet all round the start of a line, the nearest first."""
    step, room = 2 * radius + 1, sheet.inset(radius)
    ways = product(range(-_ASIDE, _ASIDE + 1), repeat=2)
    for across, along in sorted(ways, key=lambda way: hypot(*way)):
        x, y = start[0] + across * step, start[1] + along * step
        if room.x <= x <= room.right and room.y <= y <= room.top:
            yield x, y


def _beyond(start: tuple[float, float], edge: Edge, sheet: Box) -> float:
    """How far a point lies from an edge of the sheet."""
    x, y = start
    match edge:
        case "left":
            return x - sheet.x
        case "right":
            return sheet.right - x
        case "top":
            return sheet.top - y
        case "bottom":
            return y - sheet.y


def draw_numbers(surface: AnySurface, numbers: Sequence[Number]) -> None:
    """Draw each number in its circle, over the lines to all of them."""
    for number in numbers:
        surface.line(number.lead, 0.8)
    for number in numbers:
        surface.disc(number.centre, number.radius, fill=WHITE, weight=1.0)
        x, y = number.centre
        surface.text(
            x, y - number.size * MIDDLE, number.text, number.size, bold=True, align="center"
        )
