"""A pattern and its remainders as rows of parts: every cut of a sheet.

Lengths are in nm with the cut width added, as blanks then fit side by side exactly when they do
with the cuts between them.
"""

from collections.abc import Iterator
from itertools import chain
from typing import NamedTuple

from nesting.pack.cut_trees.usable_area import Room
from nesting.pack.model.pattern import Group, Leaf, Pattern, Wheel
from nesting.papers import Axis

AXES: tuple[Axis, ...] = ("y", "x")
#: The other axis.
CROSS: dict[Axis, Axis] = {"x": "y", "y": "x"}


class Remainder(NamedTuple):
    """What is left over: an offcut, unless the cut beside it takes all of it."""

    width: int
    height: int


class Slices(NamedTuple):
    """Parts side by side along an axis, from the edge where measuring starts, each as high as the row.

    ``cuts`` are those between its parts and within them.
    """

    axis: Axis
    width: int
    height: int
    parts: tuple["Slice", ...]
    sizes: tuple[int, ...]
    cuts: int


class Arms(NamedTuple):
    """A pinwheel: its bottom, left, upper and right arm and its centre, seen from the starting corner.

    There it lies as if that were the lower left one; the bottom arm begins on the right. ``x`` and ``y``
    are the lengths from the corner to its lines. ``cuts`` are its own strokes and those within.
    """

    x: tuple[int, int]
    y: tuple[int, int]
    width: int
    height: int
    parts: tuple["Slice", ...]
    cuts: int


Slice = Leaf | Remainder | Slices | Arms
#: What is more than a remainder.
Filled = Slices | Leaf | Arms

#: The strokes that cut a pinwheel apart (``nesting.cutting.stopped``).
_OWN_STROKES = 5


def lay_out(
    pattern: Pattern, width: int, height: int, room: Room, most: int | None = None
) -> list[Filled]:
    """The ways to cut the remainder off an ordered pattern in a rectangle.

    The remainder along a row stays at its end. The remainder beside the pattern is cut off in one
    piece, before or after that one, or stays with each part of the row. ``most``: the most cuts.
    """
    unit = room.unit
    own = pattern.width * unit, pattern.height * unit
    if isinstance(pattern, Wheel):
        return [_roomy(pattern, width, height, room)]
    axis: Axis = pattern.axis if isinstance(pattern, Group) else "x"
    (length, cross), (size, breadth) = by_axis(axis, width, height), by_axis(axis, *own)
    least = len(pattern.kinds) - 1
    ways = []
    if most is None or least + _overs(pattern, width, height, unit) <= most:
        ways.append(fit(pattern, width, height, unit))
    low = by_axis(axis, length, breadth)
    if cross > breadth and (most is None or least + _overs(pattern, *low, unit) < most):
        beside = fit(pattern, *low, unit)
        ways.append(row_of(CROSS[axis], width, height, [(beside, breadth)]))
        if length > size:
            inner = [(fit(pattern, *own, unit), breadth)]
            column = row_of(CROSS[axis], *by_axis(axis, size, cross), inner)
            ways.append(row_of(axis, width, height, [(column, size)]))
    return [way for way in ways if may_cut(way, room)]


def _overs(pattern: Pattern, width: int, height: int, unit: int) -> int:
    """How many remainders there are where each part of a row keeps its own."""
    more_x, more_y = pattern.width * unit < width, pattern.height * unit < height
    if not isinstance(pattern, Group):
        return more_x + more_y
    if pattern.axis == "x":
        return more_x + sum(_overs(m, m.width * unit, height, unit) for m in pattern.members)
    return more_y + sum(_overs(m, width, m.height * unit, unit) for m in pattern.members)


def fit(pattern: Pattern, width: int, height: int, unit: int) -> Filled:
    """An ordered pattern in a rectangle at least as large, with the remainder at the end of its row."""
    own = pattern.width * unit, pattern.height * unit
    if not isinstance(pattern, Group):
        whole: Filled = pattern if isinstance(pattern, Leaf) else arms_of(pattern, *own, unit)
        if own == (width, height):
            return whole
        if own[0] == width:
            return row_of("y", width, height, [(whole, own[1])])
        if own[1] == height:
            return row_of("x", width, height, [(whole, own[0])])
        return row_of("x", width, height, [(fit(pattern, own[0], height, unit), own[0])])
    axis, along_x = pattern.axis, pattern.axis == "x"
    placed: list[tuple[Filled, int]] = []
    before: Pattern | None = None
    for member in pattern.members:
        if member is not before:
            size = (member.width if along_x else member.height) * unit
            part = fit(member, size, height, unit) if along_x else fit(member, width, size, unit)
        placed.append((part, size))
        before = member
    return row_of(axis, width, height, placed)


def _roomy(wheel: Wheel, width: int, height: int, room: Room) -> Filled:
    """A pinwheel on a sheet: what is over along one axis, if it is not worth keeping, stays in its arms.

    The first line then ends before an offcut and may overrun. What is over along the other is cut off.
    """
    own_x, own_y = wheel.width * room.unit, wheel.height * room.unit
    if own_x < width and not room.kept(width - own_x, height):
        return _trimmed("y", wheel, width, height, own_y, room)
    if own_y < height and not room.kept(width, height - own_y):
        return _trimmed("x", wheel, width, height, own_x, room)
    return fit(wheel, width, height, room.unit)


def _trimmed(axis: Axis, wheel: Wheel, width: int, height: int, size: int, room: Room) -> Filled:
    """A pinwheel of this size along an axis, with the whole room along the other."""
    cross = by_axis(axis, width, height)[1]
    arms = arms_of(wheel, *by_axis(axis, size, cross), room.unit)
    if size == by_axis(axis, width, height)[0]:
        return arms
    return row_of(axis, width, height, [(arms, size)])


def arms_of(wheel: Wheel, width: int, height: int, unit: int) -> Arms:
    """A pinwheel in a rectangle at least as large; what is over lies beyond the line on the far side.

    A pattern has its bottom arm on the left; its mirror image is laid here.
    """
    bottom, right, top, left, centre = wheel.members
    across = [0 if one is None else one.width * unit for one in (bottom, left, top, right, centre)]
    along = [0 if one is None else one.height * unit for one in (bottom, left, top, right, centre)]
    gap = wheel.gap * unit
    far_x, far_y = width - across[3], height - along[2]
    x = min(width - across[0], far_x - max(across[4], gap)), far_x
    y = min(height - along[3], far_y - max(along[4], gap)), far_y
    rooms = (
        (bottom, width - x[0], y[0]),
        (left, x[0], y[1]),
        (top, x[1], height - y[1]),
        (right, width - x[1], height - y[0]),
        (centre, x[1] - x[0], y[1] - y[0]),
    )
    parts = tuple(
        Remainder(w, h) if one is None else fit(ordered(one), w, h, unit) for one, w, h in rooms
    )
    return Arms(x, y, width, height, parts, _OWN_STROKES + sum(map(cuts_in, parts)))


def ordered(pattern: Pattern) -> Pattern:
    """The same pattern with its rows sorted: full members first, then long ones, equal ones together."""
    if not isinstance(pattern, Group):
        return pattern
    axis, members, width, height, _ = pattern
    inside = list(map(ordered, members))
    if axis == "x":
        inside.sort(key=lambda m: (-m.height, -m.width, m.kinds))
    else:
        inside.sort(key=lambda m: (-m.width, -m.height, m.kinds))
    kinds = tuple(chain.from_iterable(m.kinds for m in inside))
    return Group(axis, tuple(inside), width, height, kinds)


def row_of(axis: Axis, width: int, height: int, placed: list[tuple[Filled, int]]) -> Slices:
    """A row of parts of these sizes, the remainder last.

    A full row along the same axis inside it is merged: its cuts are neighbours of the others.
    """
    parts: list[Slice] = []
    sizes: list[int] = []
    within = 0
    for placed_part, size in placed:
        part: Slice = placed_part
        while isinstance(part, Slices) and len(part.parts) == 1:
            part = part.parts[0]
        within += cuts_in(part)
        if (
            isinstance(part, Slices)
            and part.axis == axis
            and not isinstance(part.parts[-1], Remainder)
        ):
            parts += part.parts
            sizes += part.sizes
            within -= len(part.parts) - 1  # these are now between the row's own parts
        else:
            parts.append(part)
            sizes.append(size)
    left = by_axis(axis, width, height)[0] - sum(sizes)
    if left:
        parts.append(Remainder(left, height) if axis == "x" else Remainder(width, left))
        sizes.append(left)
    return Slices(axis, width, height, tuple(parts), tuple(sizes), len(parts) - 1 + within)


def cuts_in(part: Slice) -> int:
    """The cuts that a part takes, between its parts and within them."""
    return part.cuts if isinstance(part, Slices | Arms) else 0


def by_axis(axis: Axis, first: int, second: int) -> tuple[int, int]:
    """Swap width and height with length along an axis and size across it, either way."""
    return (first, second) if axis == "x" else (second, first)


def rows_of(part: Slice) -> Iterator[Slices]:
    """Every row, from the outside inwards."""
    return (one for one in _divided(part) if isinstance(one, Slices))


def arms_in(part: Slice) -> Iterator[Arms]:
    """Every pinwheel, from the outside inwards."""
    return (one for one in _divided(part) if isinstance(one, Arms))


def _divided(part: Slice) -> Iterator[Slices | Arms]:
    """Whatever is cut into parts, from the outside inwards."""
    todo: list[Slice] = [part]
    while todo:
        one = todo.pop()
        if isinstance(one, Slices | Arms):
            yield one
            todo.extend(one.parts)


def may_cut(part: Slice, room: Room) -> bool:
    """Whether no cut is too long for the trimmer."""
    return room.longest is None or all(
        len(row.parts) == 1 or room.may_cut(by_axis(row.axis, row.width, row.height)[1])
        for row in rows_of(part)
    )
