"""Insertion of a blank where it wastes least. Compiled as ``compile_loop`` says.

A place is beside a node, along an axis. The best place for a kind on a sheet is kept until the
sheet changes: few sheets change between one insertion and the next.
"""

from typing import NamedTuple

from nesting.arrays import Record, Records, Whole, whole_fields
from nesting.pack.kernels.compiled import compile_loop, random_below
from nesting.pack.kernels.sheet_trees import (
    ALONG_X,
    ALONG_Y,
    LEAF,
    NO_NODE,
    Asked,
    Sheets,
)

#: One in so many places is skipped at random, so that equal ruins are not always repaired the same
#: way (blinks: Christiaens and Vanden Berghe 2020).
_OVERLOOKED = 50
#: A place beside a node: along which axis, how the blank lies, the cost, and on which sheet.
PLACE = whole_fields("node", "axis", "lying", "cost", "sheet")
#: A node with the rectangle that it may grow to on its sheet, and the one that it may grow to
#: without the whole pattern growing.
ROOM = whole_fields("node", "width", "height", "still_width", "still_height")


class Known(NamedTuple):
    """The best place for each kind on each sheet, and when it was found.

    ``clock`` numbers the changes of sheets; ``stack`` is for the walk over a tree, ``found`` for the
    place that ``find_place`` finds.
    """

    best: Records
    stamps: Whole
    clock: Whole
    stack: Records
    found: Record


@compile_loop
def note_change(sheets: Sheets, known: Known, sheet: int) -> None:
    """Mark a sheet as changed."""
    known.clock[0] += 1
    sheets.stamps[sheet] = known.clock[0]


@compile_loop
def find_place(sheets: Sheets, asked: Asked, known: Known, chance: Whole, blank: int) -> bool:
    """Find the cheapest place on all sheets for a blank; whether there is any."""
    kind, found = asked.of[blank], known.found
    found.cost = NO_NODE
    for sheet in range(len(sheets.roots)):
        if sheets.room[sheet] < asked.area[blank]:
            continue
        best = known.best[kind, sheet]
        if known.stamps[kind, sheet] != sheets.stamps[sheet]:
            overlooked = _look_over(sheets, asked, known.stack, chance, sheet, kind, best)
            sure = best.cost != NO_NODE or not overlooked
            known.stamps[kind, sheet] = sheets.stamps[sheet] if sure else NO_NODE
        if best.cost != NO_NODE and _consider(found, best.node, best.axis, best.lying, best.cost):
            found.sheet = sheet
    return bool(found.cost != NO_NODE)


@compile_loop
def _look_over(
    sheets: Sheets,
    asked: Asked,
    stack: Records,
    chance: Whole,
    sheet: int,
    kind: int,
    best: Record,
) -> bool:
    """Find the best place for a kind on one sheet; whether a place was skipped."""
    nodes, root, shapes = sheets.nodes, sheets.roots[sheet], asked.shapes[kind]
    lying = 1 if shapes[1, 0] == 0 else 2
    best.cost = NO_NODE
    if root == NO_NODE:
        for way in range(lying):
            w, h = shapes[way, 0], shapes[way, 1]
            if w <= asked.size[0] and h <= asked.size[1]:
                _consider(best, NO_NODE, ALONG_X, way, 4 * w * h + w * h // 2)
        return False
    stack[0].node, stack[0].width, stack[0].height = root, asked.size[0], asked.size[1]
    stack[0].still_width, stack[0].still_height = nodes[root].width, nodes[root].height
    overlooked = False
    for axis in (ALONG_X, ALONG_Y):
        if _look_beside(nodes, root, stack[0], axis, shapes, lying, chance, best):
            overlooked = True
    top = NO_NODE if nodes[root].kind == LEAF else 0
    while top >= 0:
        top, skipped = _look_into(nodes, root, stack, top, shapes, lying, chance, best)
        overlooked = overlooked or skipped
    return overlooked


@compile_loop
def _consider(best: Record, node: int, axis: int, way: int, cost: int) -> bool:
    """Keep a place if it costs less; whether it does."""
    if best.cost != NO_NODE and cost >= best.cost:
        return False
    best.node, best.axis, best.lying, best.cost = node, axis, way, cost
    return True


@compile_loop
def _look_into(
    nodes: Records,
    root: int,
    stack: Records,
    top: int,
    shapes: Whole,
    lying: int,
    chance: Whole,
    best: Record,
) -> tuple[int, bool]:
    """Consider the places beside the members of the group on top of the stack, across its axis.

    A place beside a member along that axis is one beside the group. The groups among the members
    replace it on the stack. Members that cannot grow to the least width and height of the kind are left
    out. Returns the new top, and whether a place was skipped.
    """
    group, grow_w, grow_h = stack[top].node, stack[top].width, stack[top].height
    still_w, still_h = stack[top].still_width, stack[top].still_height
    least_w = min(shapes[0, 0], shapes[lying - 1, 0])
    least_h = min(shapes[0, 1], shapes[lying - 1, 1])
    along_x = nodes[group].kind == ALONG_X
    across = ALONG_Y if along_x else ALONG_X
    overlooked = False
    child = nodes[group].first
    while child != NO_NODE:
        others_w = nodes[group].width - nodes[child].width if along_x else 0
        others_h = 0 if along_x else nodes[group].height - nodes[child].height
        if grow_w - others_w >= least_w and grow_h - others_h >= least_h:
            member = stack[top]
            member.node = child
            member.width, member.height = grow_w - others_w, grow_h - others_h
            member.still_width, member.still_height = still_w - others_w, still_h - others_h
            if _look_beside(nodes, root, member, across, shapes, lying, chance, best):
                overlooked = True
            if nodes[child].kind != LEAF:
                top += 1
        child = nodes[child].next
    return top - 1, overlooked


@compile_loop
def _look_beside(
    nodes: Records,
    root: int,
    may_grow: Record,
    axis: int,
    shapes: Whole,
    lying: int,
    chance: Whole,
    best: Record,
) -> bool:
    """Consider the places beside a node along an axis; whether one was skipped.

    The cost is the growth of the rectangle round the pattern, then the hole left beside the blank.
    """
    node = may_grow.node
    own_w, own_h = nodes[node].width, nodes[node].height
    full_w, full_h = nodes[root].width, nodes[root].height
    overlooked = False
    for way in range(lying):
        w, h = shapes[way, 0], shapes[way, 1]
        new_w = own_w + w if axis == ALONG_X else max(own_w, w)
        new_h = own_h + h if axis == ALONG_Y else max(own_h, h)
        if new_w > may_grow.width or new_h > may_grow.height:
            continue
        chance[1] -= 1
        if chance[1] < 0:
            chance[1] = random_below(chance, 2 * _OVERLOOKED - 1)
            overlooked = True
            continue
        grown_w = full_w + max(0, new_w - may_grow.still_width)
        grown_h = full_h + max(0, new_h - may_grow.still_height)
        growth = grown_w * grown_h - full_w * full_h
        hole = new_w * new_h - own_w * own_h - w * h
        _consider(best, node, axis, way, 4 * growth + hole)
    return overlooked
