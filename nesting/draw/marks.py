"""What stands beside the sheet: where measuring starts, which way the prints and the grain run."""

from collections.abc import Sequence

from nesting.batch import Edge, Face
from nesting.draw.bearings import WAYS, shows_back
from nesting.draw.lettering import NUMBER, SIZE, text_width
from nesting.draw.palette import INK
from nesting.draw.surface import Box, Surface
from nesting.draw.view import NUMBERS_ROOM
from nesting.plan import Layout, Plan

#: Room for the arrows, on the side opposite the starting corner.
ARROWS_ROOM = 56.0
_ARROW = 46.0
#: How long the mark of the grain is, in points.
GRAIN_LENGTH = 36.0


def draw_start(
    surface: Surface, sheet: Box, corner: tuple[Edge, Edge], taken: Sequence[Box]
) -> None:
    """Draw a heavy angle round the corner that all measures start from, and say so."""
    side, end = corner
    out, up = (-1 if side == "left" else 1), (1 if end == "top" else -1)
    x = (sheet.x if side == "left" else sheet.right) + 5 * out
    y = (sheet.top if end == "top" else sheet.y) + 5 * up
    leg = min(18.0, sheet.width / 3, sheet.height / 3)
    surface.line([(x - out * leg, y), (x, y), (x, y - up * leg)], 3.2)
    width = text_width("start", NUMBER, bold=True)
    left = x - NUMBERS_ROOM + 5 if side == "left" else x + NUMBERS_ROOM - 5 - width
    bottom = y + 5 if up > 0 else y - 5 - NUMBER
    word = Box(left, bottom, width, NUMBER)
    if any(word.meets(box) for box in taken):
        word = Box(left, bottom + 18 * up, width, NUMBER)
    surface.text(word.x, word.y + NUMBER * 0.24, "start", NUMBER, bold=True)


def draw_directions(
    surface: Surface, plan: Plan, layout: Layout, sheet: Box, *, right: bool
) -> list[Box]:
    """Draw the arrows of the prints and of the grain beside the sheet; the room they take.

    The front's arrow is black; the back's is an outline.
    """
    paper = plan.asked.paper(layout.paper)
    x = sheet.right + ARROWS_ROOM - _ARROW if right else sheet.x - ARROWS_ROOM
    middle, top = x + _ARROW / 2, sheet.top
    faces: list[tuple[Face, tuple[str, ...], bool]] = []
    if paper.front.directed:
        faces.append((paper.front, ("up",), False))
    if paper.back.directed and shows_back(plan, layout):
        faces.append((paper.back, ("back", "up"), True))
    for face, words, hollow in faces:
        box = Box(x, top - _ARROW, _ARROW, _ARROW)
        draw_big_arrow(surface, box, face.up, both=face.print == "two-way", hollow=hollow)
        top = _write_below(surface, middle, top - _ARROW, words)
    axis = paper.grain_axis
    if axis is not None:
        draw_grain(surface, (middle, top - 18), upright=axis == "y")
        top = _write_below(surface, middle, top - 36, ("grain",))
    return [Box(x, top, _ARROW, sheet.top - top)] if top < sheet.top else []


def _write_below(surface: Surface, middle: float, top: float, words: tuple[str, ...]) -> float:
    """Write words one below the other; where the next mark goes."""
    for word in words:
        surface.text(middle, top - SIZE, word, SIZE, bold=word == "up", align="center")
        top -= SIZE * 1.15
    return top - 14


def draw_big_arrow(surface: Surface, box: Box, edge: Edge, *, both: bool, hollow: bool) -> None:
    """Draw a block arrow to an edge; with two heads where both ways are up."""
    way_x, way_y = WAYS[edge]
    half = box.width / 2
    wide, shaft, neck = (14.0, 5.5, half - 15) if both else (17.0, 7.0, 2.0)
    head = [(half, 0.0), (neck, wide), (neck, shaft)]
    upper = head + ([(-a, b) for a, b in reversed(head)] if both else [(-half, shaft)])
    lower = [(a, -b) for a, b in reversed(upper)]
    x, y = box.centre
    corners = [(x + way_x * a - way_y * b, y + way_y * a + way_x * b) for a, b in upper + lower]
    surface.shape(corners, fill=None if hollow else INK, weight=1.4)


def draw_grain(surface: Surface, centre: tuple[float, float], *, upright: bool) -> None:
    """Draw three fine lines along the grain, the middle one with a head at each end."""
    x, y = centre

    def along(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
        return [(x + a, y + b) if upright else (x + b, y + a) for a, b in points]

    for aside, half in ((-7.0, 11.0), (0.0, 18.0), (7.0, 11.0)):
        surface.line(along([(aside, -half), (aside, half)]), 1.0)
    for way in (1, -1):
        surface.shape(along([(0.0, 18.0 * way), (-3.0, 12.0 * way), (3.0, 12.0 * way)]), fill=INK)
