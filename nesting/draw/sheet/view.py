"""Where a sheet and what is on it lie on the page."""

from dataclasses import dataclass

from nesting.cutting.parallel_cuts import Part
from nesting.cutting.steps import Line, Stroke
from nesting.draw.canvas.surface import POINTS_PER_INCH, Box
from nesting.draw.sheet.bearings import between, score_lines, seen_edge
from nesting.draw.sheet.subject import Subject
from nesting.layouts import Blank, Cut, Layout, Pinwheel, Placed
from nesting.papers import Axis
from nesting.pieces import Piece
from nesting.units import NANOMETRES

#: Room in points for the cut numbers, on the two sides of the starting corner.
NUMBERS_ROOM = 30.0
#: White on the other sides, where nothing else stands there.
FAR_ROOM = 6.0
#: A small sheet is still drawn smaller than life.
MOST_OF_LIFE = 0.9

Segment = tuple[tuple[float, float], tuple[float, float]]


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

    def stroke_line(self, stroke: Stroke) -> Segment:
        """Both ends of a stroke, in the middle of its cut width, the lower or left one first."""
        if stroke.line is not None:
            return self._line_ends(stroke.axis, stroke.at, stroke.line)
        whole, taken, rest = map(self.box, (stroke.whole, stroke.taken, stroke.rest))
        if stroke.axis == "x":
            x = (min(taken.right, rest.right) + max(taken.x, rest.x)) / 2
            return (x, whole.y), (x, whole.top)
        y = (min(taken.top, rest.top) + max(taken.y, rest.y)) / 2
        return (whole.x, y), (whole.right, y)

    def _line_ends(self, axis: Axis, at: int, line: Line) -> Segment:
        """Both ends of the line of a stroke that does not cross the whole part."""
        low, high = (
            (self.at(at, line.low), self.at(at, line.high))
            if axis == "x"
            else sorted((self.at(line.low, at), self.at(line.high, at)))
        )
        half = line.cut_width * self.scale / 2
        if axis == "y":
            return (low[0], low[1] + half), (high[0], high[1] + half)
        aside = -half if self.mirrored else half
        return (low[0] + aside, low[1]), (high[0] + aside, high[1])

    def stop_of(self, stroke: Stroke) -> tuple[float, float] | None:
        """Where a stroke ends inside the sheet; None where it runs through."""
        if stroke.line is None or stroke.line.stop is None:
            return None
        low, high = self.stroke_line(stroke)
        begins = seen_edge(stroke.line.begins, back_up=self.mirrored)
        return high if begins in ("left", "bottom") else low


def place_sheet(subject: Subject, area: Box, beside: float) -> View:
    """Fit the sheet into an area: as large as it goes, at the top, in the middle.

    ``beside`` is the room kept opposite the starting corner.
    """
    layout, (side, end) = subject.layout, subject.corner
    far = far_room(subject)
    beside = max(beside, far)
    life = POINTS_PER_INCH / NANOMETRES["in"]
    scale = min(
        (area.width - NUMBERS_ROOM - beside) / layout.width,
        (area.height - NUMBERS_ROOM - far) / layout.height,
        MOST_OF_LIFE * life,
    )
    left = NUMBERS_ROOM if side == "left" else beside
    above = NUMBERS_ROOM if end == "top" else far
    spare = area.width - NUMBERS_ROOM - beside - layout.width * scale
    x, y = area.x + left + spare / 2, area.top - above - layout.height * scale
    return View(x, y, scale, layout.width, subject.back_up)


def far_room(subject: Subject) -> float:
    """White on the sides away from the starting corner: the strokes of a pinwheel begin there, too."""
    return NUMBERS_ROOM if any(stroke.line for stroke in subject.strokes) else FAR_ROOM


def sheet_box(layout: Layout, view: View) -> Box:
    """The whole sheet on the page."""
    return view.box(Placed(layout.tree, 0, 0, layout.width, layout.height))


def sheet_leaves(layout: Layout) -> list[Placed]:
    """The parts that the sheet ends up as, without those of no size."""
    return [
        p for p in layout.walk() if not isinstance(p.node, Cut | Pinwheel) and p.width and p.height
    ]


def inside_of(box: Box) -> Box:
    """Where a kept offcut's dashes run: clear of the cuts round it."""
    across, up = (min(4.0, side / 10) for side in (box.width, box.height))
    return Box(box.x + across, box.y + up, box.width - 2 * across, box.height - 2 * up)


def discs_of(piece: Piece, placed: Placed, view: View) -> list[tuple[tuple[float, float], float]]:
    """Centre and radius of each disc of a blank; none where the piece is a rectangle."""
    if piece.shape != "circle" or not isinstance(placed.node, Blank):
        return []
    middle = placed.x + placed.width // 2, placed.y + placed.height // 2
    radius = piece.width * view.scale / 2
    return [(view.at(*centre), radius) for centre in placed.node.circles or (middle,)]


def score_ends(piece: Piece, placed: Placed, view: View) -> list[Segment]:
    """Both ends of each score line on the page, the lower or left one first."""
    if not isinstance(placed.node, Blank):
        return []
    right, top = placed.x + placed.width, placed.y + placed.height
    return [
        (view.at(at, placed.y), view.at(at, top))
        if axis == "x"
        else (view.at(placed.x, at), view.at(right, at))
        for axis, at in score_lines(piece, placed, turned=placed.node.turned)
    ]


def envelope_front(piece: Piece, placed: Placed, view: View, *, turned: bool) -> Box:
    """The front of an envelope on the page, between the score lines of its blank."""
    return view.box(Placed(placed.node, *between(score_lines(piece, placed, turned=turned))))
