"""Insertion of a blank where it wastes least. Compiled as ``compile_loop`` says.

A place is beside a node, along an axis. The best place for a kind on a sheet is kept until the
sheet changes: few sheets change between one insertion and the next.
"""

from typing import NamedTuple

from nesting.arrays import Whole
from nesting.pack.kernels.compiled import compile_loop, random_below
from nesting.pack.kernels.sheet_trees import (
    ALONG_X,
    ALONG_Y,
    FIRST,
    HEIGHT,
    KIND,
    LEAF,
    NEXT,
    NO_NODE,
    PARENT,
    WIDTH,
    Asked,
    Sheets,
)

#: One in so many places is skipped at random, so that equal ruins are not always repaired the same
#: way (blinks: Christiaens and Vanden Berghe 2020).
_OVERLOOKED = 50
NODE, AXIS, LYING, COST, SHEET = range(5)


class Known(NamedTuple):
    """The best place for each kind on each sheet, and when it was found.

    ``best`` has node, axis, orientation and cost; ``clock`` numbers the changes of sheets;
    ``stack`` is for the walk over a tree.
    """

    best: Whole
    stamps: Whole
    clock: Whole
    stack: Whole


@compile_loop
def note_change(sheets: Sheets, known: Known, sheet: int) -> None:
    """Mark a sheet as changed."""
    known.clock[0] += 1
    sheets.stamps[sheet] = known.clock[0]


@compile_loop
def find_place(
    sheets: Sheets, asked: Asked, known: Known, chance: Whole, blank: int, found: Whole
) -> bool:
    """Find the cheapest place on all sheets for a blank; whether there is any."""
    kind = asked.of[blank]
    found[COST] = NO_NODE
    for sheet in range(len(sheets.roots)):
        if sheets.room[sheet] < asked.area[blank]:
            continue
        if known.stamps[kind, sheet] != sheets.stamps[sheet]:
            best = known.best[kind, sheet]
            overlooked = _look_over(sheets, asked, known.stack, chance, sheet, kind, best)
            sure = best[COST] != NO_NODE or not overlooked
            known.stamps[kind, sheet] = sheets.stamps[sheet] if sure else NO_NODE
        cost = known.best[kind, sheet, COST]
        if cost != NO_NODE and (found[COST] == NO_NODE or cost < found[COST]):
            found[COST], found[SHEET] = cost, sheet
    if found[COST] == NO_NODE:
        return False
    for entry in (NODE, AXIS, LYING):
        found[entry] = known.best[kind, found[SHEET], entry]
    return True


@compile_loop
def _look_over(
    sheets: Sheets,
    asked: Asked,
    stack: Whole,
    chance: Whole,
    sheet: int,
    kind: int,
    best: Whole,
) -> bool:
    """Find the best place for a kind on one sheet; whether a place was skipped.

    ``stack`` walks the tree; for each node it has the rectangle that the node may grow to on the
    sheet, and the one that it may grow to without the whole pattern growing.
    """
    nodes, root, shapes = sheets.nodes, sheets.roots[sheet], asked.shapes[kind]
    lying = 1 if shapes[1, 0] == 0 else 2
    best[COST] = NO_NODE
    if root == NO_NODE:
        for way in range(lying):
            w, h = shapes[way, 0], shapes[way, 1]
            if w <= asked.size[0] and h <= asked.size[1]:
                _consider(best, NO_NODE, ALONG_X, way, 4 * w * h + w * h // 2)
        return False
    least_w = min(shapes[0, 0], shapes[lying - 1, 0])
    least_h = min(shapes[0, 1], shapes[lying - 1, 1])
    overlooked = False
    top = 0
    stack[0, 0], stack[0, 1], stack[0, 2] = root, asked.size[0], asked.size[1]
    stack[0, 3], stack[0, 4] = nodes[WIDTH, root], nodes[HEIGHT, root]
    while top >= 0:
        if _look_beside(nodes, root, stack[top], shapes, lying, chance, best):
            overlooked = True
        top = _push_members(nodes, stack, top, least_w, least_h)
    return overlooked


@compile_loop
def _consider(best: Whole, node: int, axis: int, way: int, cost: int) -> None:
    """Keep a place if it costs less."""
    if best[COST] == NO_NODE or cost < best[COST]:
        best[NODE], best[AXIS], best[LYING], best[COST] = node, axis, way, cost


@compile_loop
def _look_beside(
    nodes: Whole,
    root: int,
    may_grow: Whole,
    shapes: Whole,
    lying: int,
    chance: Whole,
    best: Whole,
) -> bool:
    """Consider the places beside a node along either axis; whether one was skipped.

    The cost is the growth of the rectangle round the pattern, then the hole left beside the blank.
    """
    node = may_grow[0]
    own_w, own_h = nodes[WIDTH, node], nodes[HEIGHT, node]
    full_w, full_h = nodes[WIDTH, root], nodes[HEIGHT, root]
    parent = nodes[PARENT, node]
    within = NO_NODE if parent == NO_NODE else nodes[KIND, parent]
    overlooked = False
    for way in range(lying):
        w, h = shapes[way, 0], shapes[way, 1]
        for axis in (ALONG_X, ALONG_Y):
            if within == axis:
                continue  # the same as beside the parent
            new_w = own_w + w if axis == ALONG_X else max(own_w, w)
            new_h = own_h + h if axis == ALONG_Y else max(own_h, h)
            if new_w > may_grow[1] or new_h > may_grow[2]:
                continue
            chance[1] -= 1
            if chance[1] < 0:
                chance[1] = random_below(chance, 2 * _OVERLOOKED - 1)
                overlooked = True
                continue
            grown_w = full_w + max(0, new_w - may_grow[3])
            grown_h = full_h + max(0, new_h - may_grow[4])
            growth = grown_w * grown_h - full_w * full_h
            hole = new_w * new_h - own_w * own_h - w * h
            _consider(best, node, axis, way, 4 * growth + hole)
    return overlooked


@compile_loop
def _push_members(nodes: Whole, stack: Whole, top: int, least_w: int, least_h: int) -> int:
    """Replace a group on the stack by its members, each with what it may grow to.

    Members that cannot grow to the least width and height are left out.
    """
    node, grow_w, grow_h = stack[top, 0], stack[top, 1], stack[top, 2]
    still_w, still_h = stack[top, 3], stack[top, 4]
    top -= 1
    if nodes[KIND, node] == LEAF:
        return top
    along_x = nodes[KIND, node] == ALONG_X
    child = nodes[FIRST, node]
    while child != NO_NODE:
        others_w = nodes[WIDTH, node] - nodes[WIDTH, child] if along_x else 0
        others_h = 0 if along_x else nodes[HEIGHT, node] - nodes[HEIGHT, child]
        if grow_w - others_w >= least_w and grow_h - others_h >= least_h:
            top += 1
            stack[top, 0] = child
            stack[top, 1], stack[top, 2] = grow_w - others_w, grow_h - others_h
            stack[top, 3], stack[top, 4] = still_w - others_w, still_h - others_h
        child = nodes[NEXT, child]
    return top
