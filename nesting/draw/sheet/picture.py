"""The picture of a layout: the sheet with its blanks, offcuts, cuts and texts."""

from dataclasses import dataclass

from nesting.draw.canvas.palette import HATCH, INK, SHADE, Colour, tint
from nesting.draw.canvas.surface import AnySurface, Box, Dash
from nesting.draw.sheet.bearings import has_directions
from nesting.draw.sheet.labels import draw_block
from nesting.draw.sheet.leaders import Leader, draw_leader, leaders_room
from nesting.draw.sheet.numbers import draw_numbers
from nesting.draw.sheet.orientation import ARROWS_ROOM, draw_directions, draw_start
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.texts import compose
from nesting.draw.sheet.view import (
    FAR_ROOM,
    NUMBERS_ROOM,
    Segment,
    View,
    discs_of,
    far_room,
    inside_of,
    place_sheet,
    score_ends,
    sheet_box,
    sheet_leaves,
)
from nesting.layouts import Blank, EdgeTrim, Offcut, Placed, Strip
from nesting.pieces import Piece
from nesting.plan import Plan

#: Line weights in points: the sheet, a cut, a circle or score line, what lies inside.
_OUTLINE = 2.6
_CUT = 1.6
_DRAWN = 1.0
_FINE = 0.6
#: The dot where a cut stops inside the sheet.
_STOP = 4.0
_KEEP: Dash = (5.0, 3.0)
_SCORE: Dash = (14.0, 5.0)
_DOTTED: Dash = (1.5, 2.5)


@dataclass(frozen=True, slots=True)
class Place:
    """Where in its area a sheet is drawn, arrows below or beside it, and whether it has leaders."""

    area: Box
    view: View
    below: bool
    leaders: bool


def draw_picture(surface: AnySurface, subject: Subject, place: Place, *, since: int = 1) -> float:
    """Draw the sheet of a layout in its place; the height where all beside it ends.

    Strokes have their numbers from ``since`` on.
    """
    layout = subject.layout
    right = subject.corner[0] == "left"
    area, view, below = place.area, place.view, place.below
    sheet = sheet_box(layout, view)
    under = sheet.y - (
        NUMBERS_ROOM if subject.corner[1] == "bottom" else far_room(subject) - FAR_ROOM
    )
    at = Box(sheet.x, area.y, 0, under - 8 - area.y) if below else Box(
        sheet.right + 10 if right else sheet.x - ARROWS_ROOM, sheet.y, 0, sheet.height)  # fmt: skip
    arrows = draw_directions(surface, subject, at, below=below)
    texts = compose(subject, view, arrows, since, right=right)
    for placed in sheet_leaves(layout):
        draw_leaf(surface, subject.plan, placed, view)
    for part in subject.whole.finished():
        if len(part.leaves) > 1:
            surface.line(_between(*map(view.box, part.leaves)), _CUT, dash=_DOTTED)
    for stroke in subject.strokes:
        surface.line(view.stroke_line(stroke), _CUT)
        stop = view.stop_of(stroke)
        if stop is not None:
            surface.disc(stop, _STOP, fill=INK)
    surface.box(sheet.inset((_CUT - _OUTLINE) / 2), weight=_OUTLINE)  # no heavier inside than a cut
    draw_start(surface, sheet, subject.corner, texts.taken)
    for leader in texts.leaders:
        draw_leader(surface, leader)
    draw_numbers(surface, texts.numbers)
    for spot, on_white in texts.spots:
        draw_block(surface, spot, on_white=on_white)
    return min([under, *(box.y for box in arrows)])


def place_picture(subject: Subject, area: Box, *, since: int = 1) -> Place:
    """Find the place where the sheet is largest, with its arrows below or beside it."""
    if not has_directions(subject.plan, subject.layout):
        return _with_leaders(subject, area, area, since)
    above = Box(area.x, area.y + ARROWS_ROOM, area.width, area.height - ARROWS_ROOM)
    below = _with_leaders(subject, area, above, since)
    beside = place_sheet(subject, area, ARROWS_ROOM)
    if below.view.scale >= beside.scale:
        return below
    return Place(area, beside, below=False, leaders=bool(_leaders(subject, beside, since)))


def _with_leaders(subject: Subject, area: Box, room: Box, since: int) -> Place:
    """The place in some room of the area, with room for leaders where there are any."""
    view = place_sheet(subject, room, FAR_ROOM)
    leaders = _leaders(subject, view, since)
    if leaders:
        view = place_sheet(subject, room, leaders_room(leaders))
    return Place(area, view, below=True, leaders=bool(leaders))


def _leaders(subject: Subject, view: View, since: int) -> list[Leader]:
    """The leaders to what is too small for its letter or its size."""
    return compose(subject, view, [], since, right=True).leaders


def _between(first: Box, second: Box) -> Segment:
    """The line between two boxes that lie beside or on one another."""
    low, high = sorted((first, second), key=lambda box: (box.x, box.y))
    if low.right <= high.x + 0.01:
        return (high.x, high.y), (high.x, high.top)
    return (high.x, high.y), (high.right, high.y)


def draw_leaf(surface: AnySurface, plan: Plan, placed: Placed, view: View) -> None:
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


def _draw_in_blank(surface: AnySurface, piece: Piece, placed: Placed, view: View) -> None:
    """Draw the discs in their blank, the piece within its die allowance, the score lines."""
    for centre, radius in discs_of(piece, placed, view):
        surface.disc(centre, radius, weight=_DRAWN)
    if piece.die_allowance and piece.shape == "rect":
        inner = view.box(placed).inset(piece.die_allowance * view.scale)
        surface.box(inner, weight=_FINE, dash=_DOTTED)
    for score in score_ends(piece, placed, view):
        surface.line(score, _DRAWN, dash=_SCORE)
