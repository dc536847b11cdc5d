"""Sheets cut up: every cut tree walked once."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from nesting.plan import Blank, Cut, EdgeTrim, Layout, Node, Offcut, Strip


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
    """A layout cut up: leaves, cuts and impossible cuts, each with its rectangle.

    ``loss`` is the area that the cut width takes, in nm².
    """

    layout: Layout
    leaves: list[tuple[CutLeaf, Rect]]
    cuts: list[tuple[Cut, Rect]]
    impossible: list[tuple[Cut, Rect]]
    loss: int

    @property
    def blanks(self) -> Iterator[tuple[Blank, Rect]]:
        """The leaves that are blanks."""
        for leaf, rect in self.leaves:
            if isinstance(leaf, Blank):
                yield leaf, rect


def cut_up(layout: Layout) -> CutUp:
    """Cut a layout up; what lies beyond an impossible cut is lost."""
    leaves: list[tuple[CutLeaf, Rect]] = []
    cuts: list[tuple[Cut, Rect]] = []
    impossible: list[tuple[Cut, Rect]] = []
    loss = 0
    todo: list[tuple[Node, Rect]] = [(layout.tree, Rect(0, 0, layout.width, layout.height))]
    while todo:
        node, rect = todo.pop()
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
    return CutUp(layout, leaves, cuts, impossible, loss)
