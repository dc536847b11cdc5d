"""The picture of a layout: the sheet with its blanks, offcuts, cuts and texts."""

from nesting.batch import Piece
from nesting.draw.canvas.palette import HATCH, SHADE, Colour, tint
from nesting.draw.canvas.surface import Box, Dash, Surface
from nesting.draw.sheet.bearings import has_directions
from nesting.draw.sheet.labels import draw_block
from nesting.draw.sheet.leaders import Leader, draw_leader, leaders_room
from nesting.draw.sheet.marks import ARROWS_ROOM, draw_directions, draw_start
from nesting.draw.sheet.numbers import draw_number
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.texts import compose
from nesting.draw.sheet.view import (
    FAR_ROOM,
    NUMBERS_ROOM,
    Line,
    View,
    discs_of,
    inside_of,
    leaves,
    place_sheet,
    score_ends,
    sheet_box,
)
from nesting.plan import Blank, EdgeTrim, Offcut, Placed, Plan, Strip

#: Line weights in points: the sheet, a cut, a circle or score line, what lies inside.
_OUTLINE = 2.6
_CUT = 1.6
_DRAWN = 1.0
_FINE = 0.6
_KEEP: Dash = (5.0, 3.0)
_SCORE: Dash = (14.0, 5.0)
_DOTTED: Dash = (1.5, 2.5)


def draw_picture(
    surface: Surface, subject: Subject, area: Box, *, since: int = 1
) -> tuple[View, float]:
    """Draw the sheet of a layout as large as the area allows; where it went, and its lower end.

    The arrows stand below the sheet or beside it, whichever leaves it larger. Strokes have their
    numbers from ``since`` on.
    """
    layout = subject.layout
    right = subject.corner[0] == "left"
    view, below = _place(subject, area, since)
    sheet = sheet_box(layout, view)
    under = sheet.y - 8 - (NUMBERS_ROOM if subject.corner[1] == "bottom" else 0)
    at = Box(sheet.x, area.y, 0, under - area.y) if below else Box(
        sheet.right + 10 if right else sheet.x - ARROWS_ROOM, sheet.y, 0, sheet.height)  # fmt: skip
    arrows = draw_directions(surface, subject, at, below=below)
    texts = compose(subject, view, arrows, since, right=right)
    for placed in leaves(layout):
        draw_leaf(surface, subject.plan, placed, view)
    for part in subject.whole.finished():
        if len(part.leaves) > 1:
            surface.line(_between(*map(view.box, part.leaves)), _CUT, dash=_DOTTED)
    for stroke in subject.strokes:
        surface.line(view.stroke_line(stroke), _CUT)
    surface.box(sheet, weight=_OUTLINE)
    draw_start(surface, sheet, subject.corner, texts.taken)
    for leader in texts.leaders:
        draw_leader(surface, leader)
    for number in texts.numbers:
        draw_number(surface, number)
    for spot, on_white in texts.spots:
        draw_block(surface, spot, on_white=on_white)
    return view, min([sheet.y, *(box.y for box in arrows)])


def _place(subject: Subject, area: Box, since: int) -> tuple[View, bool]:
    """Where the sheet goes, and whether the arrows stand below it."""
    if not has_directions(subject.plan, subject.layout):
        view = place_sheet(subject, area, FAR_ROOM)
        leaders = _leaders(subject, view, since)
        return (place_sheet(subject, area, leaders_room(leaders)) if leaders else view), True
    above = Box(area.x, area.y + ARROWS_ROOM, area.width, area.height - ARROWS_ROOM)
    below = place_sheet(subject, above, FAR_ROOM)
    leaders = _leaders(subject, below, since)
    if leaders:
        below = place_sheet(subject, above, leaders_room(leaders))
    beside = place_sheet(subject, area, ARROWS_ROOM)
    return (below, True) if below.scale >= beside.scale else (beside, False)


def _leaders(subject: Subject, view: View, since: int) -> list[Leader]:
    """The leaders to what is too small for its letter or its size."""
    return compose(subject, view, [], since, right=True).leaders


def has_leaders(subject: Subject, area: Box) -> bool:
    """Whether the picture of a layout has leaders if it is drawn in an area."""
    view, _ = _place(subject, area, 1)
    return bool(_leaders(subject, view, 1))


def _between(first: Box, second: Box) -> Line:
    """The line between two boxes that lie beside or on one another."""
    low, high = sorted((first, second), key=lambda box: (box.x, box.y))
    if low.right <= high.x + 0.01:
        return (high.x, high.y), (high.x, high.top)
    return (high.x, high.y), (high.right, high.y)


def draw_leaf(surface: Surface, plan: Plan, placed: Placed, view: View) -> None:
    """Draw a leaf of the tree without its text."""
    box = view.box(placed)
    match placed.node:
        case Blank(piece=piece_id):
            piece = plan.piece(piece_id)
            surface.box(box, fill=paper_tint(plan, piece.paper), weight=_FINE)
            _draw_in_blank(surface, piece, placed, view)
        case Offcut(keep=True):
            surface.box(inside_of(box), weight=_DRAWN, dash=_KEEP)
        case Offcut():
            surface.box(box, hatch=HATCH)
        case Strip() | EdgeTrim():
            surface.box(box, fill=SHADE)
        case _:
            pass


def paper_tint(plan: Plan, paper: str) -> Colour:
    """The tint of a paper, wherever it is drawn."""
    return tint([one.name for one in plan.asked.papers].index(paper))


def _draw_in_blank(surface: Surface, piece: Piece, placed: Placed, view: View) -> None:
    """Draw the discs in their blank, the piece within its die allowance, the score line."""
    for centre, radius in discs_of(piece, placed, view):
        surface.disc(centre, radius, weight=_DRAWN)
    if piece.die_allowance and piece.shape == "rect":
        inner = view.box(placed).inset(piece.die_allowance * view.scale)
        surface.box(inner, weight=_FINE, dash=_DOTTED)
    score = score_ends(piece, placed, view)
    if score is not None:
        surface.line(score, _DRAWN, dash=_SCORE)
