"""Sheets cut up: every cut tree walked once, with what is cut off the edges and which sheet it is."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from nesting.batch import Paper, Sheet, full_size, taken_off
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


Leaf = Blank | Offcut | Strip | EdgeTrim


@dataclass(frozen=True, slots=True)
class CutUp:
    """A layout cut up: leaves, cuts and impossible cuts, each with its rectangle.

    ``loss`` is the area that the cut width takes, in nm².
    """

    layout: Layout
    leaves: list[tuple[Leaf, Rect]]
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
    leaves: list[tuple[Leaf, Rect]] = []
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
        if not 0 < node.at < extent:
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


#: Kind of source, full width and full height: what tells the sheets of a paper apart.
SheetKey = tuple[str, int, int]


def key_of_sheet(paper: Paper, sheet: Sheet) -> SheetKey:
    """The key of a sheet of the batch."""
    return "offcut" if sheet.offcut else "sheet", *full_size(paper, sheet)


def key_of_layout(layout: Layout) -> SheetKey:
    """The key of the sheet that a layout is cut from."""
    return layout.source.kind, layout.width, layout.height


def sheet_of(layout: Layout, paper: Paper) -> Sheet | None:
    """A sheet of the paper that the layout can be cut from."""
    key = key_of_layout(layout)
    return next((sheet for sheet in paper.sheets if key_of_sheet(paper, sheet) == key), None)


def off_the_edges(paper: Paper, sheet: Sheet, cut_width: int) -> Iterator[tuple[str, Rect]]:
    """What is taken off a full sheet, "strip" or "edge", each with its rectangle."""
    left, bottom = 0, 0
    right, top = full_size(paper, sheet)
    for edge, off, what in taken_off(paper, sheet):
        match edge:
            case "left":
                yield what, Rect(left, bottom, off, top - bottom)
                left += off + cut_width
            case "right":
                yield what, Rect(right - off, bottom, off, top - bottom)
                right -= off + cut_width
            case "bottom":
                yield what, Rect(left, bottom, right - left, off)
                bottom += off + cut_width
            case "top":
                yield what, Rect(left, top - off, right - left, off)
                top -= off + cut_width
