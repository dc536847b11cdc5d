"""The trees of all sheets in a few integer arrays, with insertion and removal of blanks.

A column of ``nodes`` is a node of a sheet's tree: its kind (a blank, or a group along an axis),
width and height of its pattern, its parent, its first child and next sibling, and for a blank its
number and orientation. Members of a group lie side by side along its axis; where the free room lies
is left open, so every hole is as large as it can be. Compiled as ``compile_loop`` says.
"""

from typing import NamedTuple

from nesting.arrays import Whole
from nesting.pack.kernels.compiled import compile_loop, copy_values

KIND, WIDTH, HEIGHT, PARENT, FIRST, NEXT, BLANK, SHAPE = range(8)
FREE, LEAF, ALONG_X, ALONG_Y = range(4)
NO_NODE = -1


class Asked(NamedTuple):
    """The instance: the size of the sheet, the shapes of each kind, kind and area of each blank.

    ``size`` is width and height; ``shapes`` has width and height for both orientations of each kind
    (0 where it has only one).
    """

    size: Whole
    shapes: Whole
    of: Whole
    area: Whole


class Sheets(NamedTuple):
    """The state: the trees of all sheets.

    ``spare`` is a stack of free nodes, beginning with their number. For each sheet there are the
    root of its tree, its free area, and when it last changed. ``places`` has node and sheet of each
    blank; the first of ``open_``, as many as the search says, are the blanks that lie nowhere.
    """

    nodes: Whole
    spare: Whole
    roots: Whole
    room: Whole
    stamps: Whole
    places: Whole
    open_: Whole


@compile_loop
def copy_sheets(source: Sheets, target: Sheets) -> None:
    """Copy one state to another of the same shape."""
    copy_values(source.nodes, target.nodes)
    copy_values(source.spare, target.spare)
    copy_values(source.roots, target.roots)
    copy_values(source.room, target.room)
    copy_values(source.stamps, target.stamps)
    copy_values(source.places, target.places)
    copy_values(source.open_, target.open_)


@compile_loop
def take_node(nodes: Whole, spare: Whole) -> int:
    """Take a free node off the stack."""
    node = spare[spare[0]]
    spare[0] -= 1
    nodes[PARENT, node] = nodes[FIRST, node] = nodes[NEXT, node] = NO_NODE
    return int(node)


@compile_loop
def _give_node(nodes: Whole, spare: Whole, node: int) -> None:
    nodes[KIND, node] = FREE
    spare[0] += 1
    spare[spare[0]] = node


@compile_loop
def _attach(nodes: Whole, group: int, node: int) -> None:
    nodes[PARENT, node] = group
    nodes[NEXT, node] = nodes[FIRST, group]
    nodes[FIRST, group] = node


@compile_loop
def _detach(nodes: Whole, node: int) -> None:
    group = nodes[PARENT, node]
    if nodes[FIRST, group] == node:
        nodes[FIRST, group] = nodes[NEXT, node]
        return
    before = nodes[FIRST, group]
    while nodes[NEXT, before] != node:
        before = nodes[NEXT, before]
    nodes[NEXT, before] = nodes[NEXT, node]


@compile_loop
def _resize(nodes: Whole, node: int) -> None:
    """Work out the sizes of a group and of all groups above it again."""
    while node != NO_NODE:
        width = height = 0
        child = nodes[FIRST, node]
        along_x = nodes[KIND, node] == ALONG_X
        while child != NO_NODE:
            if along_x:
                width += nodes[WIDTH, child]
                height = max(height, nodes[HEIGHT, child])
            else:
                width = max(width, nodes[WIDTH, child])
                height += nodes[HEIGHT, child]
            child = nodes[NEXT, child]
        nodes[WIDTH, node] = width
        nodes[HEIGHT, node] = height
        node = nodes[PARENT, node]


@compile_loop
def _replace(nodes: Whole, roots: Whole, sheet: int, old: int, new: int) -> None:
    """Put a node in the place of another."""
    group = nodes[PARENT, old]
    if group == NO_NODE:
        roots[sheet] = new
        nodes[PARENT, new] = NO_NODE
        nodes[NEXT, new] = NO_NODE
    else:
        _detach(nodes, old)
        _attach(nodes, group, new)


@compile_loop
def remove_blank(nodes: Whole, roots: Whole, spare: Whole, sheet: int, leaf: int) -> None:
    """Take a blank out of its sheet; a group left with one member is replaced by it."""
    group = nodes[PARENT, leaf]
    if group == NO_NODE:
        roots[sheet] = NO_NODE
        _give_node(nodes, spare, leaf)
        return
    _detach(nodes, leaf)
    _give_node(nodes, spare, leaf)
    only = nodes[FIRST, group]
    if nodes[NEXT, only] != NO_NODE:
        _resize(nodes, group)
        return
    above = nodes[PARENT, group]
    if above == NO_NODE or nodes[KIND, only] == LEAF:
        _detach(nodes, only)
        _replace(nodes, roots, sheet, group, only)
    else:  # the member runs along the same axis as the group above: its members move up
        _detach(nodes, group)
        child = nodes[FIRST, only]
        while child != NO_NODE:
            following = nodes[NEXT, child]
            _attach(nodes, above, child)
            child = following
        _give_node(nodes, spare, only)
    _give_node(nodes, spare, group)
    _resize(nodes, above)


@compile_loop
def insert_blank(
    nodes: Whole, roots: Whole, spare: Whole, sheet: int, beside: int, axis: int, leaf: int
) -> None:
    """Insert a blank beside a node along an axis; ``beside`` is NO_NODE on an empty sheet."""
    if beside == NO_NODE:
        roots[sheet] = leaf
        nodes[PARENT, leaf] = NO_NODE
        nodes[NEXT, leaf] = NO_NODE
        return
    if nodes[KIND, beside] == axis:
        _attach(nodes, beside, leaf)
        _resize(nodes, beside)
        return
    group = take_node(nodes, spare)
    nodes[KIND, group] = axis
    _replace(nodes, roots, sheet, beside, group)
    nodes[FIRST, group] = NO_NODE
    _attach(nodes, group, beside)
    _attach(nodes, group, leaf)
    _resize(nodes, group)


@compile_loop
def leaves_below(nodes: Whole, node: int, out: Whole) -> int:
    """Write the blanks below a node to ``out``; return how many there are."""
    count = 0
    current = node
    while True:
        while nodes[KIND, current] != LEAF:
            current = nodes[FIRST, current]
        out[count] = current
        count += 1
        while current != node and nodes[NEXT, current] == NO_NODE:
            current = nodes[PARENT, current]
        if current == node:
            return count
        current = nodes[NEXT, current]
