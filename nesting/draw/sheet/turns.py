"""How a part lies at the trimmer: which edge is at the guide edge, drawn as a small picture."""

from dataclasses import dataclass

from nesting.batch import Edge, Hand
from nesting.cutting.strokes import Step
from nesting.draw.canvas.palette import HATCH, INK, SHADE, WHITE
from nesting.draw.canvas.surface import Box, Surface
from nesting.draw.sheet.bearings import WAYS
from nesting.draw.sheet.subject import Subject

_CLOCKWISE: tuple[Edge, ...] = tuple(WAYS)
#: Of a small picture: its size in points, and the least that a part is drawn wide.
PICTURE = (46.0, 36.0)
_LEAST = 5.0


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
    ruler = _ruler_side(subject.plan.asked.trimmer.hand)
    measured = subject.seen(step.measured)
    turns = (_CLOCKWISE.index(ruler) - _CLOCKWISE.index(measured)) % 4
    return Lie(turns, _CLOCKWISE[-turns % 4])


def _ruler_side(hand: Hand) -> Edge:
    return "left" if hand == "right" else "right"


def draw_turn(surface: Surface, subject: Subject, step: Step, box: Box) -> None:
    """Draw the part as it lies: guide edge, ruler setting, blade, the diagram's top, what falls.

    The heavy line along the guide edge is the ruler setting; the part that drops off is grey. A
    knife and a steel rule have no guide edge.
    """
    lie, part = lie_of(subject, step), step.in_hand
    width, height = (part.height, part.width) if lie.turns % 2 else (part.width, part.height)
    room_x, room_y = box.width - 8, box.height - 7
    scale = min(room_x / width, room_y / height)
    width_on_page = min(room_x, max(_LEAST, width * scale))
    height_on_page = min(room_y, max(_LEAST, height * scale))
    guide = box.top - 3
    lies = Box(
        box.centre[0] - width_on_page / 2, guide - height_on_page, width_on_page, height_on_page
    )
    from_left = _ruler_side(subject.plan.asked.trimmer.hand) == "left"
    reach = lies.width * step.setting / width
    blade = lies.x + reach if from_left else lies.right - reach
    surface.box(lies, fill=WHITE, weight=0.8)
    left, right = (lies.x, blade) if from_left != step.falls_beyond else (blade, lies.right)
    if right - left < _LEAST:  # a sliver still shows
        left, right = (blade - _LEAST, blade) if right == blade else (blade, blade + _LEAST)
    surface.box(Box(left, lies.y, right - left, lies.height), fill=SHADE, weight=0.8)
    _draw_top(surface, lies, lie)
    surface.line([(blade, lies.y - 3), (blade, guide + 3)], 1.0, dash=(2.5, 1.5))
    if subject.plan.asked.trimmer.kind != "knife":
        surface.line([(box.x, guide), (box.right, guide)], 1.2, colour=HATCH)
    surface.line([(lies.x if from_left else lies.right, guide), (blade, guide)], 2.6)


def _draw_top(surface: Surface, lies: Box, lie: Lie) -> None:
    """A small triangle at the edge that is the top of the diagram."""
    way_x, way_y = WAYS[_CLOCKWISE[lie.turns]]
    x = lies.centre[0] + way_x * (lies.width / 2 - 1)
    y = lies.centre[1] + way_y * (lies.height / 2 - 1)
    size = 5.0
    surface.shape(
        [
            (x, y),
            (x - way_x * size + way_y * size * 0.6, y - way_y * size + way_x * size * 0.6),
            (x - way_x * size - way_y * size * 0.6, y - way_y * size - way_x * size * 0.6),
        ],
        fill=INK,
    )
