"""From what lies on a sheet to the cut tree of the whole sheet."""

from collections.abc import Callable
from dataclasses import dataclass

from nesting.batch import Axis, Edge, Piece, Sheet, full_size, is_kept, starting_edges, taken_off
from nesting.pack.content import Content, Group, Leaf
from nesting.pack.problem import Problem
from nesting.plan import Blank, Cut, EdgeTrim, Node, Offcut, Strip

_Grow = Callable[["_Rect"], Node]


@dataclass(frozen=True, slots=True)
class _Rect:
    """A rectangle of the sheet in nm."""

    x: int
    y: int
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class _Table:
    """What stays the same over one tree: the trimmer, the pieces, where measures start."""

    problem: Problem
    pieces: dict[str, Piece]
    keep_from: tuple[tuple[int, int], ...]
    corner: tuple[Edge, Edge]

    def real(self, units: int) -> int:
        """A length in nm of a blank or group given in units with the cut width added."""
        return units * self.problem.unit - self.problem.trimmer.cut_width

    def may_cut(self, length: int) -> bool:
        """Whether the trimmer cuts this length in nm."""
        longest = self.problem.trimmer.longest_cut
        return longest is None or length <= longest


def cut_tree(
    content: Content,
    problem: Problem,
    sheet: Sheet,
    pieces: dict[str, Piece],
    keep_from: tuple[tuple[int, int], ...],
) -> Node:
    """Write the cut tree of a full sheet: strip and edge trim first, then the content.

    The content lies in the starting corner; what is over along a group stays whole at its end,
    what is over beside it is cut off in one piece first, whichever way leaves most to keep.
    """
    corner = starting_edges(problem.paper, problem.trimmer.hand, offcut=sheet.offcut)
    table = _Table(problem, pieces, keep_from, corner)
    taken = taken_off(problem.paper, sheet)

    def grow(number: int, rect: _Rect) -> Node:
        if number == len(taken):
            return _grow(table, content, rect)
        edge, off, what = taken[number]
        leaf: Node = Strip() if what == "strip" else EdgeTrim()
        axis: Axis = "x" if edge in ("left", "right") else "y"
        return _divide(
            table,
            rect,
            axis,
            off,
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
    """Cut ``size`` off at an edge, by default the one where measures start, and go on with the rest."""
    extent = rect.width if axis == "x" else rect.height
    cut_width = table.problem.trimmer.cut_width
    over = extent - size
    if over == 0:
        return first(rect)
    if over <= cut_width:  # the cut takes all that is over, and lies on the high side
        return Cut(axis, size, first(_part(rect, axis, 0, size)), Offcut(keep=False))
    if (edge or table.corner[axis == "y"]) in ("left", "bottom"):
        beyond = size + cut_width
        low, high = _part(rect, axis, 0, size), _part(rect, axis, beyond, extent - beyond)
        return Cut(axis, size, first(low), rest(high))
    at = over - cut_width
    low, high = _part(rect, axis, 0, at), _part(rect, axis, over, size)
    return Cut(axis, at, rest(low), first(high))


def _part(rect: _Rect, axis: Axis, low: int, size: int) -> _Rect:
    if axis == "x":
        return _Rect(rect.x + low, rect.y, size, rect.height)
    return _Rect(rect.x, rect.y + low, rect.width, size)


def _grow(table: _Table, content: Content, rect: _Rect) -> Node:
    """The node of a content in a rectangle at least as large: cut what is over beside it off."""
    for axis in _trim_order(table, content, rect):
        width, height = table.real(content.width), table.real(content.height)
        size, length = (width, rect.height) if axis == "x" else (height, rect.width)
        if size < (rect.width if axis == "x" else rect.height) and table.may_cut(length):
            return _divide(
                table,
                rect,
                axis,
                size,
                first=lambda part: _grow(table, content, part),
                rest=lambda over: _over(table, over),
            )
    if isinstance(content, Leaf):
        return _blank(table, content, rect)
    return _row(table, content, rect)


def _trim_order(table: _Table, content: Content, rect: _Rect) -> tuple[Axis, ...]:
    """On which axes to cut off what is over before dividing, in order.

    Along a group the rest is left to the end of the row: one ruler setting less. Only where
    cutting it off first leaves more to keep, or a cut across would be too long, is it first.
    """
    if isinstance(content, Leaf):
        over_x = (rect.width - table.real(content.width)) * rect.height
        over_y = (rect.height - table.real(content.height)) * rect.width
        return ("x", "y") if over_x >= over_y else ("y", "x")
    width, height = table.real(content.width), table.real(content.height)
    cross: Axis = "y"
    along, beside = (rect.width, width), (rect.height, height)
    if content.axis == "y":
        cross = "x"
        along, beside = beside, along
    over_along, over_beside = along[0] - along[1], beside[0] - beside[1]
    kept_beside_first = _kept(table, [(over_beside, along[0]), (over_along, beside[1])])
    kept_along_first = _kept(table, [(over_along, beside[0]), (over_beside, along[1])])
    if kept_along_first > kept_beside_first or not table.may_cut(along[0]):
        return (content.axis, cross)
    return (cross,)


def _kept(table: _Table, rects: list[tuple[int, int]]) -> tuple[int, int]:
    """Area of the largest offcut that is kept, and of all that are."""
    areas = [w * h for w, h in rects if is_kept(w, h, table.keep_from)]
    return max(areas, default=0), sum(areas)


def _row(table: _Table, content: Group, rect: _Rect) -> Node:
    """The members of a group cut off one after another, what is over left at the end.

    Built from the last to the first: a row may be longer than Python's stack is deep.
    """
    axis, cut_width = content.axis, table.problem.trimmer.cut_width
    sizes = [table.real(m.width if axis == "x" else m.height) for m in content.members]
    rests = [rect]
    for size in sizes:
        rests.append(_rest(table, rests[-1], axis, size, cut_width))
    node: Node | None = None
    for member, size, before in reversed(list(zip(content.members, sizes, rests, strict=False))):
        following = node

        def after(over: _Rect, following: Node | None = following) -> Node:
            return _over(table, over) if following is None else following

        def own(part: _Rect, member: Content = member) -> Node:
            return _grow(table, member, part)

        node = _divide(table, before, axis, size, first=own, rest=after)
    if node is None:
        raise ValueError("a group without members")
    return node


def _rest(table: _Table, rect: _Rect, axis: Axis, size: int, cut_width: int) -> _Rect:
    """What is left of a rectangle after ``size`` and its cut are taken at the starting edge."""
    extent = rect.width if axis == "x" else rect.height
    off = min(size + cut_width, extent)
    low = off if table.corner[axis == "y"] in ("left", "bottom") else 0
    return _part(rect, axis, low, extent - off)


def _over(table: _Table, rect: _Rect) -> Offcut:
    return Offcut(keep=is_kept(rect.width, rect.height, table.keep_from))


def _blank(table: _Table, leaf: Leaf, rect: _Rect) -> Blank:
    """A blank; a circle has its centre in the middle of it."""
    id_ = table.problem.kinds[leaf.kind].piece
    if table.pieces[id_].shape == "circle":
        centre = (rect.x + rect.width // 2, rect.y + rect.height // 2)
        return Blank(id_, leaf.shape.turned, (centre,))
    return Blank(id_, leaf.shape.turned)
