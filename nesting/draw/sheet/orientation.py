"""What stands beside the sheet: where measuring starts, which way the prints and the grain run."""

from collections.abc import Iterator, Sequence

from nesting.draw.canvas.lettering import NUMBER, SIZE, text_width
from nesting.draw.canvas.palette import INK
from nesting.draw.canvas.surface import AnySurface, Box
from nesting.draw.sheet.bearings import WAYS
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.view import NUMBERS_ROOM
from nesting.papers import Edge, Face

#: Room for the arrows beside the sheet, opposite the starting corner, or below it.
ARROWS_ROOM = 56.0
_ARROW = 46.0
#: How long the lines of the grain are, in points.
GRAIN_LENGTH = 36.0
_BESIDE_ONE_ANOTHER = 18.0


def draw_start(
    surface: AnySurface, sheet: Box, corner: tuple[Edge, Edge], taken: Sequence[Box]
) -> None:
    """Draw and label a heavy angle round the corner that all measures start from."""
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


def draw_directions(surface: AnySurface, subject: Subject, area: Box, *, below: bool) -> list[Box]:
    """Draw the arrows of the prints and of the grain from an area's upper left; the room they take.

    One below the other beside the sheet, or beside one another ``below`` it. The arrow of the face
    that is up is black; that of the other is an outline.
    """
    paper, taken = subject.paper, list[Box]()
    x, top = area.x, area.top
    for face, words, hollow in _directed_faces(subject):
        arrow = Box(x, top - _ARROW, _ARROW, _ARROW)
        edge = subject.seen(face.up)
        draw_big_arrow(surface, arrow, edge, both=face.print == "two-way", hollow=hollow)
        taken.append(_write_at(surface, arrow, words, below=below))
        x, top = _next(taken[-1], x, top, below=below)
    axis = paper.grain_axis
    if axis is not None:
        lines = Box(x, top - _ARROW, _ARROW, _ARROW)
        draw_grain(surface, lines.centre, upright=axis == "y")
        taken.append(_write_at(surface, lines, ("grain",), below=below))
    return taken


def _directed_faces(subject: Subject) -> Iterator[tuple[Face, tuple[str, ...], bool]]:
    """The faces whose direction matters, what to write at their arrows, and whether underneath."""
    for name in subject.directed_faces:
        hidden = (name == "front") == subject.back_up
        words = ("top of", f"the {name}") if hidden else ("up",)
        yield subject.paper.face(name), words, hidden


def _next(taken: Box, x: float, top: float, *, below: bool) -> tuple[float, float]:
    """The upper left of what is drawn next."""
    return (taken.right + _BESIDE_ONE_ANOTHER, top) if below else (x, taken.y - 14)


def _write_at(surface: AnySurface, drawn: Box, words: tuple[str, ...], *, below: bool) -> Box:
    """Write words at what is drawn: on its right ``below`` the sheet, else under it."""
    pitch = SIZE * 1.15
    width = max(text_width(word, SIZE, bold=word == "up") for word in words)
    x, top = (drawn.right + 4, drawn.centre[1] + pitch * len(words) / 2) if below else (
        drawn.centre[0] - width / 2, drawn.y)  # fmt: skip
    for number, word in enumerate(words, 1):
        surface.text(x + width / 2, top - number * pitch + 3, word, SIZE, bold=word == "up",
                     align="center")  # fmt: skip
    if below:
        return Box(drawn.x, drawn.y, drawn.width + 4 + width, drawn.height)
    height = pitch * len(words)
    return Box(drawn.x, drawn.y - height, drawn.width, drawn.height + height)


def draw_big_arrow(surface: AnySurface, box: Box, edge: Edge, *, both: bool, hollow: bool) -> None:
    """Draw a block arrow to an edge; with two heads along a two-way print."""
    way_x, way_y = WAYS[edge]
    half = box.width / 2
    wide, shaft, neck = (14.0, 5.5, half - 15) if both else (17.0, 7.0, 2.0)
    head = [(half, 0.0), (neck, wide), (neck, shaft)]
    upper = head + ([(-a, b) for a, b in reversed(head)] if both else [(-half, shaft)])
    lower = [(a, -b) for a, b in reversed(upper)]
    x, y = box.centre
    corners = [(x + way_x * a - way_y * b, y + way_y * a + way_x * b) for a, b in upper + lower]
    surface.shape(corners, fill=None if hollow else INK, weight=1.4)


def draw_grain(surface: AnySurface, centre: tuple[float, float], *, upright: bool) -> None:
    """Draw three fine lines along the grain, without heads: it has no way up."""
    x, y = centre

    def along(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
        return [(x + a, y + b) if upright else (x + b, y + a) for a, b in points]

    for aside, half in ((-7.0, 11.0), (0.0, 18.0), (7.0, 11.0)):
        surface.line(along([(aside, -half), (aside, half)]), 1.0)
