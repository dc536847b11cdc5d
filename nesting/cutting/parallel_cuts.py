"""A layout's cut tree as rows of parts: parallel cuts beside one another, taken together.

A pinwheel stays as it is: four arms round a centre.

The tree says in which order a row was divided; at the trimmer any order gives the same parts.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import chain

from nesting.layouts import (
    Blank,
    Cut,
    EdgeTrim,
    Layout,
    Node,
    Offcut,
    Pinwheel,
    Placed,
    Strip,
    arms_and_centre,
    both_sides,
)
from nesting.papers import Axis, BarcodeStrip, Paper, Sheet
from nesting.sheets import without_strip_beyond
from nesting.sources import strip_on


@dataclass(frozen=True)
class Part:
    """A rectangle of the sheet that is in hand at some time, in nm, front up.

    A finished part has one leaf of the tree in ``leaves``, or several that no cut parts, such as a
    kept offcut and the barcode strip on it. Any other is cut into ``parts``: a row of them along ``axis``,
    from the low edge to the high one, or the arms and the centre of a pinwheel, ``wheel``. What is
    neither is ``joined``: what is left of a pinwheel before its last stroke, in a rectangle round it.
    """

    x: int
    y: int
    width: int
    height: int
    leaves: tuple[Placed, ...] = ()
    axis: Axis | None = None
    parts: tuple["Part", ...] = ()
    wheel: Pinwheel | None = None

    @property
    def joined(self) -> bool:
        """Whether its parts still hang together, and it is no rectangle."""
        return bool(self.parts) and self.axis is None and self.wheel is None

    @property
    def rectangle(self) -> tuple[int, int, int, int]:
        """x, y, width and height in nm: what tells one part of a sheet from another."""
        return self.x, self.y, self.width, self.height

    def extent(self, axis: Axis) -> int:
        """The length along an axis, in nm."""
        return self.width if axis == "x" else self.height

    def low(self, axis: Axis) -> int:
        """The coordinate of the low edge along an axis, in nm."""
        return self.x if axis == "x" else self.y

    def high(self, axis: Axis) -> int:
        """The coordinate of the high edge along an axis, in nm."""
        return self.x + self.width if axis == "x" else self.y + self.height

    def rows(self) -> Iterator["Part"]:
        """The rows and pinwheels that are cut apart in it, itself among them."""
        if self.parts:
            yield self
            yield from chain.from_iterable(part.rows() for part in self.parts)

    def finished(self) -> Iterator["Part"]:
        """The parts that it ends up as, without those of no size."""
        if self.parts:
            yield from chain.from_iterable(part.finished() for part in self.parts)
        elif self.width and self.height:
            yield self

    def all_leaves(self) -> Iterator[Placed]:
        """The leaves that it ends up as, those that the blade takes whole among them."""
        yield from self.leaves
        yield from chain.from_iterable(part.all_leaves() for part in self.parts)

    @cached_property
    def pattern(self) -> tuple[object, ...]:
        """What makes two parts equal, wherever they lie: they are cut with the same strokes."""
        inside: tuple[object, ...] = tuple(
            (leaf.node.piece, leaf.node.turned) if isinstance(leaf.node, Blank) else leaf.node
            for leaf in self.leaves
        )
        within = tuple(part.pattern for part in self.parts)
        way = self.axis if self.wheel is None else self.wheel.way
        return self.width, self.height, way, inside, within


def whole_part(layout: Layout) -> Part:
    """The whole sheet of a layout as rows of parts."""
    return _part(Placed(layout.tree, 0, 0, layout.width, layout.height), layout.cut_width)


def kept_offcuts(layout: Layout, paper: Paper) -> Iterator[Sheet]:
    """The offcuts that one sheet of a layout leaves to keep, as a batch file asks for them."""
    strip = strip_on(layout, paper)
    for part in whole_part(layout).finished():
        sheet = kept_offcut(part, strip)
        if sheet is not None:
            yield sheet


def kept_offcut(part: Part, strip: BarcodeStrip | None) -> Sheet | None:
    """A finished part as an offcut to keep, with the sheet's barcode strip where it stays on; else None."""
    if part.parts or Offcut(keep=True) not in (leaf.node for leaf in part.leaves):
        return None
    return as_offcut(part, strip)


def as_offcut(part: Part, strip: BarcodeStrip | None) -> Sheet:
    """A part as an offcut to cut from, with the sheet's barcode strip where it is still on."""
    if strip is None or Strip() not in (leaf.node for leaf in part.all_leaves()):
        return Sheet(part.width, part.height, offcut=True)
    size = without_strip_beyond(strip, part.width, part.height)
    return Sheet(*size, offcut=True, strip=strip.edge)


def span(parts: Sequence[Part], axis: Axis) -> Part:
    """Neighbours along an axis, in either order, as one part; one alone as itself."""
    if len(parts) == 1:
        return parts[0]
    if parts[0].low(axis) > parts[-1].low(axis):
        parts = parts[::-1]
    first, last = parts[0], parts[-1]
    length = last.high(axis) - first.low(axis)
    width, height = (length, first.height) if axis == "x" else (first.width, length)
    return Part(first.x, first.y, width, height, axis=axis, parts=tuple(parts))


def stay_together(first: Node, second: Node) -> bool:
    """Whether no cut is made between neighbours.

    A barcode strip stays on an offcut that is kept, whose paper it names; strip, edge trim and
    what goes to the bin stay on one another.
    """
    kinds = {type(first), type(second)}
    if EdgeTrim in kinds:
        return all(_is_waste(node) or isinstance(node, Strip) for node in (first, second))
    return kinds == {Strip, Offcut}


def _is_waste(node: Node) -> bool:
    return isinstance(node, EdgeTrim) or node == Offcut(keep=False)


def _part(placed: Placed, cut_width: int) -> Part:
    """A node of the tree with its parallel neighbours as one row; a leaf as it is."""
    node = placed.node
    if isinstance(node, Pinwheel):
        inside = tuple(_part(one, cut_width) for one in arms_and_centre(placed, cut_width))
        return Part(placed.x, placed.y, placed.width, placed.height, parts=inside, wheel=node)
    if not isinstance(node, Cut):
        return Part(placed.x, placed.y, placed.width, placed.height, leaves=(placed,))
    parts: list[Part] = []
    before: Placed | None = None
    for member in _row(placed, node.axis, cut_width):
        part = _part(member, cut_width)
        if before is not None and stay_together(before.node, member.node):
            both, leaves = span([parts[-1], part], node.axis), (*parts[-1].leaves, member)
            parts[-1] = Part(both.x, both.y, both.width, both.height, leaves=leaves)
        else:
            parts.append(part)
        before = member
    if len(parts) == 1:
        return parts[0]
    return Part(placed.x, placed.y, placed.width, placed.height, axis=node.axis, parts=tuple(parts))


def _row(placed: Placed, axis: Axis, cut_width: int) -> Iterator[Placed]:
    """What all neighbouring cuts along one axis make of a rectangle, from its low edge.

    A cut within that has not its whole width is a row by itself: what it leaves depends on the cut
    before. Without recursion: a row may be longer than Python's stack is deep.
    """
    todo = list(reversed(both_sides(placed, cut_width)))
    while todo:
        member = todo.pop()
        node = member.node
        extent = member.width if axis == "x" else member.height
        if isinstance(node, Cut) and node.axis == axis and node.at + cut_width <= extent:
            todo.extend(reversed(both_sides(member, cut_width)))
        else:
            yield member
