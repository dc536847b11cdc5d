"""What lies on a sheet and what is over, as rows of parts: how it is cut, in all detail.

Lengths are in nm with the cut width added, as blanks then fit side by side exactly when they do
with the cuts between them.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from nesting.batch import Axis, is_kept
from nesting.pack.content import Content, Leaf

#: The other axis.
CROSS: dict[Axis, Axis] = {"x": "y", "y": "x"}


@dataclass(frozen=True, slots=True)
class Over:
    """What is over: an offcut, unless the cut beside it takes all of it."""

    width: int
    height: int


@dataclass(frozen=True, slots=True)
class Row:
    """Parts side by side along an axis, from the edge where measures start, each as high as the row.

    ``cuts`` are those between its parts and within them.
    """

    axis: Axis
    width: int
    height: int
    parts: tuple["Part", ...]
    sizes: tuple[int, ...]
    cuts: int


Part = Leaf | Over | Row


@dataclass(frozen=True, slots=True)
class Room:
    """The usable rectangle of a sheet, and what cutting on it has to mind.

    ``far`` is the axis at whose far end something comes off in the same row of cuts, ``strip``
    says that it is the barcode strip, which stays on a kept offcut beside it. ``keep_from`` and
    ``longest`` are without the cut width, lengths otherwise with it.
    """

    width: int
    height: int
    unit: int
    cut_width: int
    longest: int | None
    keep_from: tuple[tuple[int, int], ...]
    far: Axis | None = None
    strip: bool = False

    def size(self, axis: Axis) -> int:
        """Its length along an axis."""
        return self.width if axis == "x" else self.height

    def may_cut(self, length: int) -> bool:
        """Whether the trimmer makes a cut of this length."""
        return self.longest is None or length - self.cut_width <= self.longest

    def kept(self, over: Over) -> int:
        """The area of an offcut if it is kept, in nm²."""
        width, height = over.width - self.cut_width, over.height - self.cut_width
        return width * height if is_kept(width, height, self.keep_from) else 0


def lay_out(content: Content, room: Room) -> list[Row | Leaf]:
    """The ways to cut off what is over beside the content of a whole sheet.

    What is over along a row stays at its end. What is over beside the content comes off in one
    piece, before or after that, or stays with each part of the row.
    """
    width, height = content.width * room.unit, content.height * room.unit
    axis: Axis = "x" if isinstance(content, Leaf) else content.axis
    length, size = (room.width, width) if axis == "x" else (room.height, height)
    cross, breadth = (room.height, height) if axis == "x" else (room.width, width)
    ways = [_fit(content, room.width, room.height, room.unit)]
    if cross > breadth:
        beside = _fit(content, *rect(axis, length, breadth), room.unit)
        ways.append(_row(CROSS[axis], room.width, room.height, [(beside, breadth)]))
    if cross > breadth and length > size:
        inner = _fit(content, width, height, room.unit)
        column = _row(CROSS[axis], *rect(axis, size, cross), [(inner, breadth)])
        ways.append(_row(axis, room.width, room.height, [(column, size)]))
    return [way for way in ways if not isinstance(way, Over) and _may_cut(way, room)]


def _fit(content: Content, width: int, height: int, unit: int) -> Row | Leaf:
    """A content in a rectangle at least as large: what is over at the end of its row."""
    own = content.width * unit, content.height * unit
    if isinstance(content, Leaf):
        if own == (width, height):
            return content
        if own[0] == width:
            return _row("y", width, height, [(content, own[1])])
        if own[1] == height:
            return _row("x", width, height, [(content, own[0])])
        return _row("x", width, height, [(_fit(content, own[0], height, unit), own[0])])
    placed: list[tuple[Row | Leaf, int]] = []
    for member in sorted(content.members, key=lambda m: _order(content.axis, m)):
        along = (member.width if content.axis == "x" else member.height) * unit
        cross = height if content.axis == "x" else width
        placed.append((_fit(member, *rect(content.axis, along, cross), unit), along))
    return _row(content.axis, width, height, placed)


def _order(axis: Axis, member: Content) -> tuple[int, int, tuple[int, ...]]:
    """Full members first, then long ones, equal ones side by side."""
    cross, along = member.height, member.width
    if axis == "y":
        cross, along = along, cross
    return -cross, -along, member.kinds


def _row(axis: Axis, width: int, height: int, placed: list[tuple[Row | Leaf, int]]) -> Row:
    """A row of parts of these sizes, and what is over last."""
    parts: list[Part] = [part for part, _ in placed]
    sizes = [size for _, size in placed]
    left = (width if axis == "x" else height) - sum(sizes)
    if left:
        parts.append(Over(left, height) if axis == "x" else Over(width, left))
        sizes.append(left)
    cuts = len(parts) - 1 + sum(part.cuts for part, _ in placed if isinstance(part, Row))
    return Row(axis, width, height, tuple(parts), tuple(sizes), cuts)


def rect(axis: Axis, length: int, cross: int) -> tuple[int, int]:
    """Width and height of something so long along an axis, and so long across it."""
    return (length, cross) if axis == "x" else (cross, length)


def rows_of(part: Part) -> Iterator[Row]:
    """Every row, from the outside inwards."""
    todo: list[Part] = [part]
    while todo:
        one = todo.pop()
        if isinstance(one, Row):
            yield one
            todo.extend(one.parts)


def _may_cut(part: Part, room: Room) -> bool:
    """Whether no cut is too long for the trimmer."""
    return all(
        len(row.parts) == 1 or room.may_cut(row.height if row.axis == "x" else row.width)
        for row in rows_of(part)
    )
