"""Layouts: cut trees, and walks over them.

The cut tree is the layout: a layout that cannot be cut cannot be written down.
Coordinates are integer nanometres from the sheet's lower left corner, front up, x right, y up.
Every list of blanks or offcuts and every area is a walk over the tree.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

from nesting.papers import ONLY_WHERE_SAID, Axis, Edges, StripEdge


@dataclass(frozen=True, slots=True)
class Cut:
    """An edge-to-edge cut: ``axis`` x is the line x = ``at``, measured from the node's low edge.

    The cut width lies on the high side and is clipped at that edge.
    """

    axis: Axis
    at: int
    low: "Node"
    high: "Node"


@dataclass(frozen=True, slots=True)
class Pinwheel:
    """Four arms round a centre: cuts that end inside the sheet.

    ``x`` are two upright lines and ``y`` two level ones, measured from the node's low edges; the cut
    width lies on the high side of each. Named ``anticlockwise``, the bottom arm begins at the left edge
    and ends at the second upright line, the right arm begins at the bottom edge, and so on round; each
    line ends at the next. ``clockwise`` is the mirror image.
    """

    way: Literal["clockwise", "anticlockwise"]
    x: tuple[int, int]
    y: tuple[int, int]
    bottom: "Node"
    left: "Node"
    top: "Node"
    right: "Node"
    centre: "Node"


@dataclass(frozen=True, slots=True)
class Blank:
    """A rectangle cut out for a piece; ``turned`` is relative to the print.

    ``circles`` are the centres of a circle piece's discs, from the sheet's origin.
    """

    piece: str
    turned: bool = False
    circles: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Offcut:
    """What is left over, kept or to the bin."""

    keep: bool


@dataclass(frozen=True, slots=True)
class Strip:
    """The barcode strip."""


@dataclass(frozen=True, slots=True)
class EdgeTrim:
    """An edge trimmed off before anything else."""


Node = Cut | Pinwheel | Blank | Offcut | Strip | EdgeTrim


class Placed(NamedTuple):
    """A node of a cut tree with its rectangle on the sheet."""

    node: Node
    x: int
    y: int
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class Source:
    """What kind of sheet a layout is cut from; ``name`` is its nominal size, written out.

    ``strip`` is the edge along which the barcode strip is still on, and ``trim`` the edge trim still
    on an offcut, as a ``Sheet`` says it.
    """

    kind: Literal["sheet", "offcut", "middle"]
    name: str
    strip: StripEdge | None = field(default=None, metadata={"later": True})
    trim: Edges | None = field(default=None, metadata=ONLY_WHERE_SAID)


@dataclass(frozen=True, slots=True)
class Layout:
    """How one sheet is cut, and how many are cut alike.

    ``width`` and ``height`` are of the whole sheet, with a strip beyond its size; ``to_buy`` of
    the ``alike`` sheets are not at hand.
    """

    id: int
    paper: str
    source: Source
    width: int
    height: int
    alike: int
    to_buy: int
    cut_width: int
    tree: Node

    def at_hand(self, cut: int) -> int:
        """How many of the first sheets cut were at hand: those to buy are cut last."""
        return min(cut, self.alike - self.to_buy)

    def walk(self) -> Iterator[Placed]:
        """Every node with its rectangle, a cut before its sides, the low side before the high."""
        todo = [Placed(self.tree, 0, 0, self.width, self.height)]
        while todo:
            placed = todo.pop()
            yield placed
            if isinstance(placed.node, Cut):
                todo.extend(reversed(both_sides(placed, self.cut_width)))
            elif isinstance(placed.node, Pinwheel):
                todo.extend(reversed(arms_and_centre(placed, self.cut_width)))

    @property
    def blanks(self) -> tuple[Placed, ...]:
        """The blanks with their rectangles, in the order of the walk."""
        return tuple(placed for placed in self.walk() if isinstance(placed.node, Blank))

    @property
    def offcuts(self) -> tuple[Placed, ...]:
        """The offcuts with their rectangles; one of no width (a clipped cut) is none."""
        return tuple(
            placed
            for placed in self.walk()
            if isinstance(placed.node, Offcut) and placed.width and placed.height
        )

    @property
    def cuts(self) -> tuple[Placed, ...]:
        """The cuts with the rectangles they divide."""
        return tuple(placed for placed in self.walk() if isinstance(placed.node, Cut))


def both_sides(placed: Placed, cut_width: int) -> tuple[Placed, Placed]:
    """The two rectangles a cut makes, low side first.

    Raises
    ------
    TypeError
        The node is not a cut.
    """
    cut = placed.node
    if not isinstance(cut, Cut):
        raise TypeError(f"{cut!r} is not a cut")
    if cut.axis == "x":
        beyond = min(cut.at + cut_width, placed.width)
        return (
            Placed(cut.low, placed.x, placed.y, cut.at, placed.height),
            Placed(cut.high, placed.x + beyond, placed.y, placed.width - beyond, placed.height),
        )
    beyond = min(cut.at + cut_width, placed.height)
    return (
        Placed(cut.low, placed.x, placed.y, placed.width, cut.at),
        Placed(cut.high, placed.x, placed.y + beyond, placed.width, placed.height - beyond),
    )


def arms_and_centre(placed: Placed, cut_width: int) -> tuple[Placed, ...]:
    """The five rectangles of a pinwheel: bottom, left, top and right arm, then the centre.

    Raises
    ------
    TypeError
        The node is no pinwheel.
    """
    wheel = placed.node
    if not isinstance(wheel, Pinwheel):
        raise TypeError(f"{wheel!r} is no pinwheel")
    (left, right), (low, high) = wheel.x, wheel.y
    width, height = placed.width, placed.height
    past_left, past_right = left + cut_width, right + cut_width
    past_low, past_high = low + cut_width, high + cut_width
    if wheel.way == "anticlockwise":
        spans = (
            (0, 0, right, low),
            (0, past_low, left, height),
            (past_left, past_high, width, height),
            (past_right, 0, width, high),
        )
    else:
        spans = (
            (past_left, 0, width, low),
            (0, 0, left, high),
            (0, past_high, right, height),
            (past_right, past_low, width, height),
        )
    nodes = wheel.bottom, wheel.left, wheel.top, wheel.right, wheel.centre
    return tuple(
        Placed(node, placed.x + x, placed.y + y, to_x - x, to_y - y)
        for node, (x, y, to_x, to_y) in zip(
            nodes, (*spans, (past_left, past_low, right, high)), strict=True
        )
    )
