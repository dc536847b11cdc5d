"""The trees of all sheets in a few arrays, with insertion and removal of blanks.

Members of a group lie side by side along its axis; where the free room lies is left open, so every
hole is as large as it can be. Compiled as ``compile_loop`` says.
"""

from typing import NamedTuple

from nesting.arrays import Records, Whole, whole_fields
from nesting.pack.kernels.compiled import compile_loop, copy_values

#: A node of a sheet's tree: its kind, the size of its pattern, its parent, first child and next
#: sibling, and for a blank its number and how it lies.
NODE = whole_fields("kind", "width", "height", "parent", "first", "next", "blank", "lying")
#: Where a blank is.
PLACED = whole_fields("node", "sheet")
#: The kinds of nodes: not in use, a blank, or a group along an axis.
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
    root of its tree, its free area, and when it last changed. ``places`` says where each blank is;
    the first of ``open_``, as many as the search says, are the blanks that lie nowhere.
    """

    nodes: Records
    spare: Whole
    roots: Whole
    room: Whole
    stamps: Whole
    places: Records
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
def take_node(nodes: Records, spare: Whole) -> int:
    """Take a free node off the stack."""
    node = spare[spare[0]]
    spare[0] -= 1
    nodes[node].parent = nodes[node].first = nodes[node].next = NO_NODE
    return int(node)


@compile_loop
def _give_node(nodes: Records, spare: Whole, node: int) -> None:
    nodes[node].kind = FREE
    spare[0] += 1
    spare[spare[0]] = node


@compile_loop
def _attach(nodes: Records, group: int, node: int) -> None:
    nodes[node].parent = group
    nodes[node].next = nodes[group].first
    nodes[group].first = node


@compile_loop
def _detach(nodes: Records, node: int) -> None:
    group = nodes[node].parent
    if nodes[group].first == node:
        nodes[group].first = nodes[node].next
        return
    before = nodes[group].first
    while nodes[before].next != node:
        before = nodes[before].next
    nodes[before].next = nodes[node].next


@compile_loop
def _resize(nodes: Records, node: int) -> None:
    """Work out the sizes of a group and of all groups above it again."""
    while node != NO_NODE:
        width = height = 0
        child = nodes[node].first
        along_x = nodes[node].kind == ALONG_X
        while child != NO_NODE:
            if along_x:
                width += nodes[child].width
                height = max(height, nodes[child].height)
            else:
                width = max(width, nodes[child].width)
                height += nodes[child].height
            child = nodes[child].next
        nodes[node].width = width
        nodes[node].height = height
        node = nodes[node].parent


@compile_loop
def _replace(nodes: Records, roots: Whole, sheet: int, old: int, new: int) -> None:
    """Put a node in the place of another."""
    group = nodes[old].parent
    if group == NO_NODE:
        roots[sheet] = new
        nodes[new].parent = NO_NODE
        nodes[new].next = NO_NODE
    else:
        _detach(nodes, old)
        _attach(nodes, group, new)


@compile_loop
def remove_blank(nodes: Records, roots: Whole, spare: Whole, sheet: int, leaf: int) -> None:
    """Take a blank out of its sheet; a group left with one member is replaced by it."""
    group = nodes[leaf].parent
    if group == NO_NODE:
        roots[sheet] = NO_NODE
        _give_node(nodes, spare, leaf)
        return
    _detach(nodes, leaf)
    _give_node(nodes, spare, leaf)
    only = nodes[group].first
    if nodes[only].next != NO_NODE:
        _resize(nodes, group)
        return
    above = nodes[group].parent
    if above == NO_NODE or nodes[only].kind == LEAF:
        _detach(nodes, only)
        _replace(nodes, roots, sheet, group, only)
    else:  # the member runs along the same axis as the group above: its members move up
        _detach(nodes, group)
        child = nodes[only].first
        while child != NO_NODE:
            following = nodes[child].next
            _attach(nodes, above, child)
            child = following
        _give_node(nodes, spare, only)
    _give_node(nodes, spare, group)
    _resize(nodes, above)


@compile_loop
def insert_blank(
    nodes: Records, roots: Whole, spare: Whole, sheet: int, beside: int, axis: int, leaf: int
) -> None:
    """Insert a blank beside a node along an axis; ``beside`` is NO_NODE on an empty sheet."""
    if beside == NO_NODE:
        roots[sheet] = leaf
        nodes[leaf].parent = NO_NODE
        nodes[leaf].next = NO_NODE
        return
    if nodes[beside].kind == axis:
        _attach(nodes, beside, leaf)
        _resize(nodes, beside)
        return
    group = take_node(nodes, spare)
    nodes[group].kind = axis
    _replace(nodes, roots, sheet, beside, group)
    nodes[group].first = NO_NODE
    _attach(nodes, group, beside)
    _attach(nodes, group, leaf)
    _resize(nodes, group)


@compile_loop
def leaves_below(nodes: Records, node: int, out: Whole) -> int:
    """Write the blanks below a node to ``out``; return how many there are."""
    count = 0
    current = node
    while True:
        while nodes[current].kind != LEAF:
            current = nodes[current].first
        out[count] = current
        count += 1
        while current != node and nodes[current].next == NO_NODE:
            current = nodes[current].parent
        if current == node:
            return count
        current = nodes[current].next
