"""How a part lies at the trimmer: which edge is at the guide edge, drawn as a small picture."""

from dataclasses import dataclass

from nesting.batch import Hand
from nesting.cutting.parallel_cuts import Part
from nesting.cutting.steps import Step, Stroke
from nesting.draw.canvas.palette import HATCH, INK, SHADE, WHITE
from nesting.draw.canvas.surface import AnySurface, Box
from nesting.draw.sheet.bearings import WAYS, quarter_turns
from nesting.draw.sheet.subject import Subject
from nesting.papers import CLOCKWISE, Edge

#: Of a small picture: its size in points, and the least that a part is drawn wide.
PICTURE = (46.0, 36.0)
_LEAST = 5.0
#: The triangle at the edge that is the top of the diagram, in points.
_TOP = 5.0


@dataclass(frozen=True, slots=True)
class Lie:
    """How a part lies, against the way it is drawn: ``turns`` quarter turns clockwise.

    ``guide`` is the edge, as drawn, that lies at the guide edge.
    """

    turns: int
    guide: Edge


def lie_of(subject: Subject, step: Step) -> Lie:
    """How the part in hand lies for a step: the edge it is measured from is on the ruler's side.

    The ruler counts from the left, on a left-handed trimmer from the right; the guide edge is at
    the far side.
    """
    ruler = ruler_side(subject.plan.asked.trimmer.hand)
    measured = subject.seen(step.measured)
    turns = quarter_turns(measured, ruler)
    return Lie(turns, CLOCKWISE[-turns % 4])


def ruler_side(hand: Hand) -> Edge:
    """The side that the ruler counts from."""
    return "left" if hand == "right" else "right"


@dataclass(frozen=True, slots=True)
class LyingPart:
    """A part as it lies for a stroke: its box, where the blade is, and what of it drops off.

    ``pieces`` are the rectangles that it consists of: what is left of a pinwheel is none itself. A cut
    that stops goes along ``stopped``, its end last.
    """

    box: Box
    blade: float
    falls: Box
    pieces: tuple[Box, ...]
    stopped: tuple[tuple[float, float], ...] = ()


def lay_part(subject: Subject, step: Step, stroke: Stroke, room: Box) -> LyingPart:
    """Lay the part that a stroke cuts into some room, its guide edge at the room's top."""
    lie, part = lie_of(subject, step), stroke.whole
    width, height = (part.height, part.width) if lie.turns % 2 else (part.width, part.height)
    scale = min(room.width / width, room.height / height)
    on_page_x = min(room.width, max(_LEAST, width * scale))
    on_page_y = min(room.height, max(_LEAST, height * scale))
    lies = Box(room.centre[0] - on_page_x / 2, room.top - on_page_y, on_page_x, on_page_y)
    from_left = ruler_side(subject.plan.asked.trimmer.hand) == "left"
    reach = lies.width * step.setting / width
    blade = lies.x + reach if from_left else lies.right - reach
    left, right = (lies.x, blade) if from_left != step.falls_beyond(stroke) else (blade, lies.right)
    if right - left < _LEAST:  # a sliver still shows
        left, right = (blade - _LEAST, blade) if right == blade else (blade, blade + _LEAST)
    falls = Box(left, lies.y, right - left, lies.height)
    if stroke.line is None:
        return LyingPart(lies, blade, falls, (lies,))
    turned = Turned(part, lies, lie.turns, mirrored=subject.back_up)
    pieces = tuple(map(turned.box, part.parts if part.joined else (part,)))
    if not stroke.taken.width:
        falls = Box(blade, lies.y, 0, 0)
    elif not stroke.falls.joined:
        falls = turned.box(stroke.falls)
    return LyingPart(lies, blade, falls, pieces, turned.stopped(stroke))


class Turned:
    """Where what is in a part lies in its picture, turned and mirrored like the part."""

    def __init__(self, whole: Part, lies: Box, turns: int, *, mirrored: bool) -> None:
        self._whole, self._lies, self._turns, self._mirrored = whole, lies, turns, mirrored

    def box(self, part: Part) -> Box:
        """A part within the whole."""
        ends = [self._at(part.x, part.y), self._at(part.x + part.width, part.y + part.height)]
        (x, x_end), (y, y_end) = (sorted(side) for side in zip(*ends, strict=True))
        return Box(x, y, x_end - x, y_end - y)

    def stopped(self, stroke: Stroke) -> tuple[tuple[float, float], ...]:
        """Both ends of a cut that stops, the one where the blade begins first; else nothing."""
        line = stroke.line
        if line is None or line.stop is None:
            return ()
        ends = (line.low, line.high) if line.begins in ("left", "bottom") else (line.high, line.low)
        if stroke.axis == "x":
            return tuple(self._at(stroke.at, end) for end in ends)
        return tuple(self._at(end, stroke.at) for end in ends)

    def _at(self, x: int, y: int) -> tuple[float, float]:
        """A point of the sheet, as a share of the whole part and turned, in the picture."""
        across = (x - self._whole.x) / self._whole.width
        along = (y - self._whole.y) / self._whole.height
        if self._mirrored:
            across = 1 - across
        for _ in range(self._turns):
            across, along = along, 1 - across
        return self._lies.x + across * self._lies.width, self._lies.y + along * self._lies.height


def draw_turn(surface: AnySurface, subject: Subject, step: Step, box: Box) -> None:
    """Draw the part as it lies: guide edge, ruler setting, blade, the diagram's top, what falls.

    The heavy line along the guide edge is the ruler setting; the part that drops off is grey. A
    knife and a steel rule have no guide edge.
    """
    room = Box(box.x + 4, box.y + 4, box.width - 8, box.height - 7)
    lying = lay_part(subject, step, step.strokes[0], room)
    lies, guide = lying.box, room.top
    for piece in lying.pieces:
        surface.box(piece, fill=WHITE, weight=0.8)
    if lying.falls.width:
        surface.box(lying.falls, fill=SHADE, weight=0.8)
    draw_top(surface, lies, lie_of(subject, step), _TOP)
    surface.line([(lying.blade, lies.y - 3), (lying.blade, guide + 3)], 1.0, dash=(2.5, 1.5))
    if subject.plan.asked.trimmer.kind != "knife":
        surface.line([(box.x, guide), (box.right, guide)], 1.2, colour=HATCH)
    from_left = ruler_side(subject.plan.asked.trimmer.hand) == "left"
    surface.line([(lies.x if from_left else lies.right, guide), (lying.blade, guide)], 2.6)
    draw_stop(surface, lying, 2.2)


def draw_stop(surface: AnySurface, lying: LyingPart, radius: float) -> None:
    """Draw a cut that stops: a line as long as it, and a dot at its end."""
    if lying.stopped:
        surface.line(list(lying.stopped), radius)
        surface.disc(lying.stopped[-1], radius, fill=INK)


def draw_top(surface: AnySurface, lies: Box, lie: Lie, size: float) -> None:
    """A small triangle at the edge that is the top of the diagram."""
    way_x, way_y = WAYS[CLOCKWISE[lie.turns]]
    x = lies.centre[0] + way_x * (lies.width / 2 - 1)
    y = lies.centre[1] + way_y * (lies.height / 2 - 1)
    surface.shape(
        [
            (x, y),
            (x - way_x * size + way_y * size * 0.6, y - way_y * size + way_x * size * 0.6),
            (x - way_x * size - way_y * size * 0.6, y - way_y * size - way_x * size * 0.6),
        ],
        fill=INK,
    )
