"""Sheets cut by hand and at random, for the tests of plans and strokes."""

from dataclasses import replace

from hypothesis import strategies as st
from plans import inches

from nesting.layouts import (
    Blank,
    Cut,
    EdgeTrim,
    Layout,
    Node,
    Offcut,
    Pinwheel,
    Placed,
    Source,
    Strip,
    arms_and_centre,
)
from nesting.papers import Paper, Sheet
from nesting.typed_lengths import parse_size

KEEP, BIN = Offcut(keep=True), Offcut(keep=False)


def three(node: Node) -> Node:
    """Three side by side, 4 in each."""
    return Cut("x", inches("4"), node, Cut("x", inches("4"), node, node))


def paper(**changes: object) -> Paper:
    """A 12 x 12 in paper."""
    plain = Paper("pear toss", (Sheet(*parse_size("12 x 12", "in"), have=3),))
    return replace(plain, **changes)  # type: ignore[arg-type]


def layout(tree: Node, width: int, height: int, **changes: object) -> Layout:
    """One sheet cut by a tree."""
    plain = Layout(
        id=1,
        paper="pear toss",
        source=Source("sheet", "12 x 12 in"),
        width=width,
        height=height,
        alike=1,
        to_buy=0,
        cut_width=0,
        tree=tree,
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


# Random legal trees. A blank is named by its size, so that its piece can be made up.


@st.composite
def trees(
    draw: st.DrawFn,
    width: int,
    height: int,
    cut_width: int,
    depth: int = 4,
    *,
    stopped: bool = True,
) -> Node:
    """A tree that cuts a rectangle of whole numbers, at most ``depth`` cuts deep.

    It has pinwheels where cuts may be ``stopped``.
    """
    if not width or not height:
        return BIN
    extents = [extent for extent in (("x", width), ("y", height)) if extent[1] > 1]
    if not depth or not extents or draw(st.integers(0, 4)) == 0:
        leaves: list[Node] = [Blank(f"{width} x {height}"), KEEP, BIN, Strip(), EdgeTrim()]
        return draw(st.sampled_from(leaves))
    if stopped and min(width, height) >= 3 + 2 * cut_width and draw(st.integers(0, 3)) == 0:
        return draw(pinwheels(width, height, cut_width, depth))
    axis, extent = draw(st.sampled_from(extents))
    at = draw(st.integers(1, extent - 1))
    beyond = max(0, extent - at - cut_width)
    low, high = ((at, height), (beyond, height)) if axis == "x" else ((width, at), (width, beyond))
    return Cut(
        axis,  # type: ignore[arg-type]
        at,
        draw(trees(*low, cut_width, depth - 1, stopped=stopped)),
        draw(trees(*high, cut_width, depth - 1, stopped=stopped)),
    )


@st.composite
def pinwheels(draw: st.DrawFn, width: int, height: int, cut_width: int, depth: int = 1) -> Pinwheel:
    """A pinwheel of a rectangle that has room for one."""
    lines = []
    for extent in (width, height):
        first = draw(st.integers(1, extent - 2 - 2 * cut_width))
        lines.append((first, draw(st.integers(first + cut_width + 1, extent - 1 - cut_width))))
    way = draw(st.sampled_from(["clockwise", "anticlockwise"]))
    empty = Pinwheel(way, *lines, BIN, BIN, BIN, BIN, BIN)  # type: ignore[arg-type]
    inside = arms_and_centre(Placed(empty, 0, 0, width, height), cut_width)
    five = [draw(trees(one.width, one.height, cut_width, depth - 1)) for one in inside]
    return Pinwheel(way, *lines, *five)  # type: ignore[arg-type]


@st.composite
def layouts(draw: st.DrawFn, *, stopped: bool = True) -> Layout:
    """A random sheet of whole numbers, cut at random with a random cut width."""
    width, height = draw(st.integers(1, 24)), draw(st.integers(1, 24))
    cut_width = draw(st.integers(0, 3))
    tree = draw(trees(width, height, cut_width, stopped=stopped))
    return layout(tree, width, height, cut_width=cut_width, alike=draw(st.integers(1, 5)))
