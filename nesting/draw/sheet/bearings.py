"""Which way things lie on the sheet, front up: tops of pieces, score lines, print and grain."""

from collections.abc import Sequence

from nesting.layouts import Blank, Layout, Placed
from nesting.papers import CLOCKWISE, Axis, Edge, FaceName
from nesting.pieces import Piece
from nesting.plan import Plan

#: The edges clockwise, with the way from the middle to each.
WAYS: dict[Edge, tuple[int, int]] = {
    "top": (0, 1),
    "right": (1, 0),
    "bottom": (0, -1),
    "left": (-1, 0),
}
#: Seen from the back, as when a page is turned, left and right change places.
_TURNED_OVER: dict[Edge, Edge] = {"left": "right", "right": "left"}


def seen_edge(edge: Edge, *, back_up: bool) -> Edge:
    """Where an edge of the sheet, named front up, is seen."""
    return _TURNED_OVER.get(edge, edge) if back_up else edge


def quarter_turns(here: Edge, there: Edge) -> int:
    """The quarter turns clockwise that bring one edge to where another is."""
    return (CLOCKWISE.index(there) - CLOCKWISE.index(here)) % 4


def top_edge(piece: Piece, *, turned: bool) -> Edge:
    """The edge of the sheet that a piece's top points to; a turned piece lies clockwise."""
    return CLOCKWISE[(CLOCKWISE.index(piece.up) + turned) % 4]


def right_and_up(piece: Piece, *, turned: bool) -> tuple[tuple[int, int], tuple[int, int]]:
    """Which way a piece's right and its top lie on the sheet.

    On the back the piece is seen as when a page is turned: its right is the front's left.
    """
    x, y = WAYS[top_edge(piece, turned=turned)]
    return (y, -x) if piece.face == "front" else (-y, x), (x, y)


def score_lines(piece: Piece, blank: Placed, *, turned: bool) -> list[tuple[Axis, int]]:
    """A piece's score lines on the sheet: the axis each is constant on, and where, in nm."""
    right, up = right_and_up(piece, turned=turned)
    lines: list[tuple[Axis, int]] = []
    for score in piece.score_lines:
        way = right if score.axis == "x" else up
        off = piece.die_allowance + score.at
        if way[0]:
            lines.append(("x", blank.x + (off if way[0] > 0 else blank.width - off)))
        else:
            lines.append(("y", blank.y + (off if way[1] > 0 else blank.height - off)))
    return lines


def between(lines: Sequence[tuple[Axis, int]]) -> tuple[int, int, int, int]:
    """What is between the score lines of an envelope: lower left corner, width and height, in nm."""
    x, y = (sorted(at for axis, at in lines if axis == wanted) for wanted in ("x", "y"))
    return x[0], y[0], x[-1] - x[0], y[-1] - y[0]


def has_arrow(piece: Piece, *, turned: bool) -> bool:
    """Whether a piece has a top, or does not lie as its size is written: an arrow says so."""
    sideways = top_edge(piece, turned=turned) in ("left", "right") and piece.width != piece.height
    directed = piece.print in ("one-way", "two-way")
    return bool(directed or sideways or piece.score_lines or piece.grain)


def has_directions(plan: Plan, layout: Layout) -> bool:
    """Whether it matters how the sheet lies: for a print that shows, or for the grain."""
    paper = plan.asked.paper(layout.paper)
    back = paper.back.directed and shows_face(plan, layout, "back")
    return paper.front.directed or back or paper.grain_axis is not None


def shows_face(plan: Plan, layout: Layout, face: FaceName) -> bool:
    """Whether a piece of the layout shows that face of the paper."""
    return any(
        plan.piece(placed.node.piece).face == face
        for placed in layout.blanks
        if isinstance(placed.node, Blank)
    )
