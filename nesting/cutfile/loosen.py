"""A layout's pieces pulled apart: the same cuts, with a gap where each of them was."""

from fractions import Fraction
from itertools import combinations
from math import isqrt

from nesting.cutfile.carrier import Area
from nesting.cutfile.shapes import PlacedPiece, shape_size
from nesting.layouts import Blank, Cut, Layout, Node, Pinwheel, Placed, arms_and_centre, both_sides
from nesting.plan import Plan

#: Shapes from a corner of their own, with the width and height they take.
_Group = tuple[list[PlacedPiece], int, int]


def loosened(plan: Plan, layout: Layout, gap: int) -> tuple[tuple[PlacedPiece, ...], int, int]:
    """Pull the shapes of a layout apart, each as close to the lower left as its cuts allow.

    Offcuts, strip and edge trim take no room.

    Returns
    -------
    tuple
        The shapes, from a corner of their own, at least ``gap`` apart; the width and the height
        they take together, in nm.
    """
    root = Placed(layout.tree, 0, 0, layout.width, layout.height)
    shapes, width, height = _pull(plan, root, layout.cut_width, gap)
    return tuple(shapes), width, height


def pulled_apart(
    plan: Plan, layout: Layout, room: Area, gap: int
) -> tuple[PlacedPiece, ...] | None:
    """A layout's shapes with the gap between them, in the upper left of some room; None without room."""
    shapes, width, height = loosened(plan, layout, gap)
    if width > room.width or height > room.height:
        return None
    return tuple(shape.moved(room.x, room.y + room.height - height) for shape in shapes)


def _pull(plan: Plan, placed: Placed, cut_width: int, gap: int) -> _Group:
    node: Node = placed.node
    if isinstance(node, Blank):
        return _of_blank(plan, node, gap)
    if isinstance(node, Pinwheel):
        inside = arms_and_centre(placed, cut_width)
        bottom, left, top, right, centre = (_pull(plan, one, cut_width, gap) for one in inside)
        clockwise = node.way == "clockwise"
        left, right = (right, left) if clockwise else (left, right)
        group = _round(bottom, left, top, right, centre, gap)
        return _mirrored(group) if clockwise else group
    if not isinstance(node, Cut):
        return [], 0, 0
    low, high = (_pull(plan, side, cut_width, gap) for side in both_sides(placed, cut_width))
    if not low[0] or not high[0]:
        return low if low[0] else high
    if node.axis == "x":
        off = low[1] + gap
        moved = [shape.moved(off, 0) for shape in high[0]]
        return low[0] + moved, off + high[1], max(low[2], high[2])
    off = low[2] + gap
    moved = [shape.moved(0, off) for shape in high[0]]
    return low[0] + moved, max(low[1], high[1]), off + high[2]


def _round(
    bottom: _Group, left: _Group, top: _Group, right: _Group, centre: _Group, gap: int
) -> _Group:
    """Arms round a centre, each line of the pinwheel drawn apart; the bottom arm begins on the left.

    ``x`` and ``y`` are just beyond the gap at the first line along each axis, ``beyond_x`` and
    ``beyond_y`` at the second; where an arm is empty, nothing needs to be kept off it.
    """
    x = left[1] + gap if left[0] else 0
    y = bottom[2] + gap if bottom[0] else 0
    beyond_x = max(bottom[1] + gap if bottom[0] else 0, x)
    beyond_y = max(right[2] + gap if right[0] else 0, y)
    if centre[0]:
        beyond_x = max(beyond_x, x + centre[1] + gap)
        beyond_y = max(beyond_y, y + centre[2] + gap)
    corners = (
        (bottom, 0, 0),
        (left, 0, y),
        (top, x, beyond_y),
        (right, beyond_x, 0),
        (centre, x, y),
    )
    shapes = [shape.moved(*at) for group, *at in corners for shape in group[0]]
    width = max((at_x + group[1] for group, at_x, _ in corners if group[0]), default=0)
    height = max((at_y + group[2] for group, _, at_y in corners if group[0]), default=0)
    return shapes, width, height


def _mirrored(group: _Group) -> _Group:
    """The same shapes with left and right exchanged."""
    shapes, width, height = group
    moved = [shape.moved(width - 2 * shape.x - shape.width, 0) for shape in shapes]
    return moved, width, height


def _of_blank(plan: Plan, blank: Blank, gap: int) -> _Group:
    """The shapes of one blank; circles that share one are drawn apart by the same factor."""
    piece = plan.piece(blank.piece)
    width, height = shape_size(piece, turned=blank.turned)
    corners = [(0, 0)]
    if piece.shape == "circle":
        factor = _stretch(blank.circles, width + gap)
        left, low = min(x for x, _ in blank.circles), min(y for _, y in blank.circles)
        corners = [(int((x - left) * factor), int((y - low) * factor)) for x, y in blank.circles]
    shapes = [PlacedPiece(piece, blank.turned, *corner, width, height) for corner in corners]
    across = width + max(x for x, _ in corners)
    return shapes, across, height + max(y for _, y in corners)


def _stretch(centres: tuple[tuple[int, int], ...], apart: int) -> Fraction:
    """By how much centres have to be drawn apart; 2 nm more than needed, as they are rounded."""
    squares = [(x - a) ** 2 + (y - b) ** 2 for (x, y), (a, b) in combinations(centres, 2)]
    if not squares or min(squares) >= apart**2:
        return Fraction(1)
    return Fraction(apart + 2, isqrt(min(squares)))
