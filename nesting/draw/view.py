"""Where a sheet lies on the page."""

from dataclasses import dataclass

from nesting.batch import Edge
from nesting.draw.surface import POINTS_PER_INCH, Box
from nesting.plan import Cut, Layout, Placed, sides
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
    """The sheet's lower left corner on the page; ``scale`` is points per nm."""

    x: float
    y: float
    scale: float

    def box(self, placed: Placed) -> Box:
        """A rectangle of the sheet on the page."""
        x, y = self.at(placed.x, placed.y)
        return Box(x, y, placed.width * self.scale, placed.height * self.scale)

    def at(self, x: int, y: int) -> tuple[float, float]:
        """A point of the sheet on the page."""
        return self.x + x * self.scale, self.y + y * self.scale

    def cut_line(self, placed: Placed, cut_width: int) -> Line:
        """Both ends of a cut, in the middle of its cut width, the lower or left one first."""
        low, high = sides(placed, cut_width)
        box, first, second = self.box(placed), self.box(low), self.box(high)
        if isinstance(placed.node, Cut) and placed.node.axis == "x":
            x = (first.right + second.x) / 2
            return (x, box.y), (x, box.top)
        y = (first.top + second.y) / 2
        return (box.x, y), (box.right, y)


def place_sheet(layout: Layout, corner: tuple[Edge, Edge], area: Box, beside: float) -> View:
    """Fit the sheet into an area: as large as it goes, at the top, in the middle.

    ``beside`` is the room kept opposite the starting corner.
    """
    side, end = corner
    life = POINTS_PER_INCH / NANOMETRES["in"]
    scale = min(
        (area.width - NUMBERS_ROOM - beside) / layout.width,
        (area.height - NUMBERS_ROOM - FAR_ROOM) / layout.height,
        MOST_OF_LIFE * life,
    )
    left = NUMBERS_ROOM if side == "left" else beside
    above = NUMBERS_ROOM if end == "top" else FAR_ROOM
    spare = area.width - NUMBERS_ROOM - beside - layout.width * scale
    return View(area.x + left + spare / 2, area.top - above - layout.height * scale, scale)
