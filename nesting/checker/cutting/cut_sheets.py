"""Sheets cut up: every cut tree walked once."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from nesting.layouts import Blank, Cut, EdgeTrim, Layout, Node, Offcut, Pinwheel, Strip


class Rect(NamedTuple):
    """A rectangle on the sheet, in nm."""

    x: int
    y: int
    width: int
    height: int

    @property
    def area(self) -> int:
        """In nm²."""
        return self.width * self.height


CutLeaf = Blank | Offcut | Strip | EdgeTrim


@dataclass(frozen=True, slots=True)
class CutUp:
    """A layout cut up: leaves, cuts, pinwheels, and what cannot be cut, each with its rectangle.

    ``loss`` is the area that the cut width takes, in nm².
    """

    layout: Layout
    leaves: list[tuple[CutLeaf, Rect]]
    cuts: list[tuple[Cut, Rect]]
    pinwheels: list[tuple[Pinwheel, Rect]]
    impossible: list[tuple[Cut | Pinwheel, Rect]]
    loss: int

    @property
    def made(self) -> set[tuple[int, Rect]]:
        """What of the tree is cut: each cut and pinwheel by its ``id``; equal rows may be one object."""
        return {(id(one), rect) for one, rect in (*self.cuts, *self.pinwheels)}

    @property
    def blanks(self) -> Iterator[tuple[Blank, Rect]]:
        """The leaves that are blanks."""
        for leaf, rect in self.leaves:
            if isinstance(leaf, Blank):
                yield leaf, rect


def parts_of_pinwheel(wheel: Pinwheel, rect: Rect, cut_width: int) -> list[tuple[Node, Rect]]:
    """The arms at the bottom, on the left, at the top and on the right, then the centre.

    The lines of the arms and their cut widths are taken off; a side may come out as nothing or less.
    """
    x, y, right, top = rect.x, rect.y, rect.x + rect.width, rect.y + rect.height
    x_low, x_high = x + wheel.x[0], x + wheel.x[1]
    y_low, y_high = y + wheel.y[0], y + wheel.y[1]
    in_x, in_y = (x_low + cut_width, x_high), (y_low + cut_width, y_high)
    if wheel.way == "anticlockwise":
        corners = [
            (wheel.bottom, x, y, x_high, y_low),
            (wheel.left, x, in_y[0], x_low, top),
            (wheel.top, in_x[0], y_high + cut_width, right, top),
            (wheel.right, x_high + cut_width, y, right, y_high),
        ]
    else:
        corners = [
            (wheel.bottom, in_x[0], y, right, y_low),
            (wheel.left, x, y, x_low, y_high),
            (wheel.top, x, y_high + cut_width, x_high, top),
            (wheel.right, x_high + cut_width, in_y[0], right, top),
        ]
    corners.append((wheel.centre, in_x[0], in_y[0], in_x[1], in_y[1]))
    return [(node, Rect(a, b, c - a, d - b)) for node, a, b, c, d in corners]


def cut_up(layout: Layout) -> CutUp:
    """Cut a layout up; what lies beyond an impossible cut is lost."""
    leaves: list[tuple[CutLeaf, Rect]] = []
    cuts: list[tuple[Cut, Rect]] = []
    pinwheels: list[tuple[Pinwheel, Rect]] = []
    impossible: list[tuple[Cut | Pinwheel, Rect]] = []
    loss = 0
    todo: list[tuple[Node, Rect]] = [(layout.tree, Rect(0, 0, layout.width, layout.height))]
    while todo:
        node, rect = todo.pop()
        if isinstance(node, Pinwheel):
            inside = parts_of_pinwheel(node, rect, layout.cut_width)
            if min(side for _, part in inside for side in (part.width, part.height)) < 1:
                impossible.append((node, rect))
                continue
            pinwheels.append((node, rect))
            (_, bottom), (_, left), (_, top), (_, right), _ = (
                inside  # each line is as long as its arm
            )
            loss += layout.cut_width * (bottom.width + left.height + top.width + right.height)
            todo += reversed(inside)
            continue
        if not isinstance(node, Cut):
            leaves.append((node, rect))
            continue
        x, y, width, height = rect
        extent = width if node.axis == "x" else height
        low_edge = 0 if isinstance(node.low, Strip | EdgeTrim) else 1  # the cut may take all of it
        if not low_edge <= node.at < extent:
            impossible.append((node, rect))
            continue
        cuts.append((node, rect))
        lost = min(layout.cut_width, extent - node.at)
        rest = extent - node.at - lost
        if node.axis == "x":
            low = Rect(x, y, node.at, height)
            high = Rect(x + width - rest, y, rest, height)
            loss += lost * height
        else:
            low = Rect(x, y, width, node.at)
            high = Rect(x, y + height - rest, width, rest)
            loss += lost * width
        todo += [(node.high, high), (node.low, low)]
    return CutUp(layout, leaves, cuts, pinwheels, impossible, loss)
