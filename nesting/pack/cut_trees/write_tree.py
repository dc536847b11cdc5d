"""From rows of parts to the cut tree of the whole sheet."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

from nesting.layouts import (
    Blank,
    Cut,
    EdgeTrim,
    Node,
    Offcut,
    Pinwheel,
    Placed,
    Strip,
    arms_and_centre,
)
from nesting.pack.cut_trees.slicing_tree import Arms, Remainder, Slice, Slices
from nesting.pack.model.pattern import Leaf
from nesting.pack.model.problem import Problem
from nesting.papers import Axis, Edge, Sheet
from nesting.pieces import Piece
from nesting.sheets import full_size, is_kept, starting_edges, strip_of, taken_off

_Grow = Callable[["_Rect"], Node]


class _Rect(NamedTuple):
    """A rectangle of the sheet in nm."""

    x: int
    y: int
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class _Table:
    """What stays the same within one tree: the trimmer, the pieces, where measuring starts."""

    problem: Problem
    pieces: dict[str, Piece]
    keep_from: tuple[tuple[int, int], ...]
    corner: tuple[Edge, Edge]

    @property
    def cut_width(self) -> int:
        """The trimmer's, in nm."""
        return self.problem.trimmer.cut_width


def written_tree(
    part: Slice,
    problem: Problem,
    sheet: Sheet,
    pieces: dict[str, Piece],
    keep_from: tuple[tuple[int, int], ...],
) -> Node:
    """Write the cut tree of a full sheet: strip and edge trim first, then the parts of its rows.

    The cut width of strip and trim is taken from them. The first part of each row is on the side of
    the starting corner.
    """
    corner = starting_edges(strip_of(problem.paper, sheet), problem.trimmer.hand)
    table = _Table(problem, pieces, keep_from, corner)
    taken = taken_off(problem.paper, sheet, table.cut_width)

    def grow(number: int, rect: _Rect) -> Node:
        if number == len(taken):
            return _grow(table, part, rect)
        edge, off, what = taken[number]
        leaf: Node = Strip() if what == "strip" else EdgeTrim()
        axis: Axis = "x" if edge in ("left", "right") else "y"
        return _divide(
            table,
            rect,
            axis,
            off - table.cut_width,
            first=lambda _: leaf,
            rest=lambda rest: grow(number + 1, rest),
            edge=edge,
        )

    return grow(0, _Rect(0, 0, *full_size(problem.paper, sheet)))


def _divide(
    table: _Table,
    rect: _Rect,
    axis: Axis,
    size: int,
    *,
    first: _Grow,
    rest: _Grow,
    edge: Edge | None = None,
) -> Node:
    """Cut ``size`` off at an edge, by default the one where measuring starts, then divide the rest."""
    extent = rect.width if axis == "x" else rect.height
    over = extent - size
    if over <= table.cut_width:  # the cut takes the whole remainder, and lies on the high side
        return Cut(axis, size, first(_part(rect, axis, 0, size)), Offcut(keep=False))
    if (edge or table.corner[axis == "y"]) in ("left", "bottom"):
        beyond = size + table.cut_width
        low, high = _part(rect, axis, 0, size), _part(rect, axis, beyond, extent - beyond)
        return Cut(axis, size, first(low), rest(high))
    at = over - table.cut_width
    low, high = _part(rect, axis, 0, at), _part(rect, axis, over, size)
    return Cut(axis, at, rest(low), first(high))


def _part(rect: _Rect, axis: Axis, low: int, size: int) -> _Rect:
    if axis == "x":
        return _Rect(rect.x + low, rect.y, size, rect.height)
    return _Rect(rect.x, rect.y + low, rect.width, size)


def _grow(table: _Table, part: Slice, rect: _Rect) -> Node:
    """The node of a part that fills a rectangle."""
    if isinstance(part, Leaf):
        return _blank(table, part, rect)
    if isinstance(part, Remainder):
        return Offcut(keep=is_kept(rect.width, rect.height, table.keep_from))
    if isinstance(part, Arms):
        return _pinwheel(table, part, rect)
    return _row(table, part, rect)


def _pinwheel(table: _Table, arms: Arms, rect: _Rect) -> Pinwheel:
    """A pinwheel as it lies on the sheet: seen from another starting corner, it is mirrored.

    Mirrored once, its bottom arm begins on the left.
    """
    across, up = (edge in ("right", "top") for edge in table.corner)
    x, y = (
        (size - second, size - first) if mirrored else (first, second)
        for (first, second), size, mirrored in (
            (arms.x, arms.width, across),
            (arms.y, arms.height, up),
        )
    )
    bottom, left, top, right, centre = arms.parts
    if across:
        left, right = right, left
    if up:
        bottom, top = top, bottom
    empty, blade = Offcut(keep=False), table.cut_width
    wheel = Pinwheel(
        "clockwise" if across == up else "anticlockwise",
        (x[0] - blade, x[1] - blade),
        (y[0] - blade, y[1] - blade),
        *[empty] * 5,
    )
    inside = arms_and_centre(Placed(wheel, *rect), blade)
    parts = (bottom, left, top, right, centre)
    grown = (_grow(table, part, _Rect(*at[1:])) for part, at in zip(parts, inside, strict=True))
    return Pinwheel(wheel.way, wheel.x, wheel.y, *grown)


def _row(table: _Table, row: Slices, rect: _Rect) -> Node:
    """The parts of a row cut off one after another.

    Built from the last to the first: a row may be longer than Python's stack is deep.
    """
    sizes = [size - table.cut_width for size in row.sizes[:-1]]
    rests = [rect]
    for size in sizes:
        rests.append(_rest(table, rests[-1], row.axis, size))
    node = _grow(table, row.parts[-1], rests[-1])
    for part, size, before in reversed(list(zip(row.parts, sizes, rests, strict=False))):

        def own(rect: _Rect, part: Slice = part) -> Node:
            return _grow(table, part, rect)

        def after(_: _Rect, following: Node = node) -> Node:
            return following

        node = _divide(table, before, row.axis, size, first=own, rest=after)
    return node


def _rest(table: _Table, rect: _Rect, axis: Axis, size: int) -> _Rect:
    """What is left of a rectangle after ``size`` and its cut are taken at the starting edge."""
    extent = rect.width if axis == "x" else rect.height
    off = min(size + table.cut_width, extent)
    low = off if table.corner[axis == "y"] in ("left", "bottom") else 0
    return _part(rect, axis, low, extent - off)


def _blank(table: _Table, leaf: Leaf, rect: _Rect) -> Blank:
    """A blank: a circle has its centre in the middle, circles of a group have theirs in rows."""
    id_ = table.problem.kinds[leaf.kind].piece
    if leaf.shape.rows is not None:
        single, _ = table.pieces[id_].on_sheet(turned=False)
        centres = leaf.shape.rows.centres(single)[: leaf.shape.holds]
        return Blank(id_, leaf.shape.turned, tuple((rect.x + x, rect.y + y) for x, y in centres))
    if table.pieces[id_].shape == "circle":
        centre = (rect.x + rect.width // 2, rect.y + rect.height // 2)
        return Blank(id_, leaf.shape.turned, (centre,))
    return Blank(id_, leaf.shape.turned)
