"""Where a sheet lies on the page."""

from dataclasses import dataclass

from nesting.cutting.parallel_cuts import Part
from nesting.cutting.strokes import Stroke
from nesting.draw.canvas.surface import POINTS_PER_INCH, Box
from nesting.draw.sheet.subject import Subject
from nesting.plan import Placed
from nesting.units import NANOMETRES

#: Room in points for the cut numbers, on the two sides of the starting corner.
NUMBERS_ROOM = 30.0
#: White on the other sides, where nothing else stands there.
FAR_ROOM = 6.0
#: A small sheet is still drawn smaller than life.
MOST_OF_LIFE = 0.9

Line = tuple[tuple[float, float], tuple[float, float]]


@dataclass(frozen=True, slots=True)
class View:
    """Where a sheet of that ``width`` (nm) lies on the page; ``scale`` is points per nm.

    ``x`` and ``y`` are of its lower left corner as drawn; ``mirrored`` shows it from the back.
    """

    x: float
    y: float
    scale: float
    width: int
    mirrored: bool = False

    def box(self, rect: Placed | Part) -> Box:
        """A rectangle of the sheet on the page."""
        x, y = self.at(rect.x + (rect.width if self.mirrored else 0), rect.y)
        return Box(x, y, rect.width * self.scale, rect.height * self.scale)

    def at(self, x: int, y: int) -> tuple[float, float]:
        """A point of the sheet on the page."""
        across = self.width - x if self.mirrored else x
        return self.x + across * self.scale, self.y + y * self.scale

    def stroke_line(self, stroke: Stroke) -> Line:
        """Both ends of a stroke, in the middle of its cut width, the lower or left one first."""
        whole, free, rest = map(self.box, (stroke.whole, stroke.free, stroke.rest))
        if stroke.axis == "x":
            x = (min(free.right, rest.right) + max(free.x, rest.x)) / 2
            return (x, whole.y), (x, whole.top)
        y = (min(free.top, rest.top) + max(free.y, rest.y)) / 2
        return (whole.x, y), (whole.right, y)


def place_sheet(subject: Subject, area: Box, beside: float) -> View:
    """Fit the sheet into an area: as large as it goes, at the top, in the middle.

    ``beside`` is the room kept opposite the starting corner.
    """
    layout, (side, end) = subject.layout, subject.corner
    life = POINTS_PER_INCH / NANOMETRES["in"]
    scale = min(
        (area.width - NUMBERS_ROOM - beside) / layout.width,
        (area.height - NUMBERS_ROOM - FAR_ROOM) / layout.height,
        MOST_OF_LIFE * life,
    )
    left = NUMBERS_ROOM if side == "left" else beside
    above = NUMBERS_ROOM if end == "top" else FAR_ROOM
    spare = area.width - NUMBERS_ROOM - beside - layout.width * scale
    x, y = area.x + left + spare / 2, area.top - above - layout.height * scale
    return View(x, y, scale, layout.width, subject.back_up)
