"""The hot loops: the dynamic programme of large sheets, ruin and recreate on trees of contents.

Compiled by numba where the extra ``fast`` is installed, run as they are where it is not, with the
same answers: all numbers are 64-bit integers and chance comes from one of them. Imported only when
the search goes on; nothing is compiled before it is called.

A state of ruin and recreate is a few integer arrays. ``nodes`` has a column for each node of the sheets' trees: its
kind (a blank, or a group along an axis), width and height of its content, its parent, its first
child and next sibling, and for a blank which it is and how it lies. Members of a group lie side by
side along its axis; where what is over lies is not decided, so every hole is as large as it can be.
"""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar, cast

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Whole = NDArray[np.int64]

_Function = TypeVar("_Function", bound=Callable[..., Any])

try:
    from numba import njit
except ImportError:

    def compiled(function: _Function) -> _Function:
        """Leave the function as it is: numba is not installed."""
        return function

else:

    def compiled(function: _Function) -> _Function:
        """Compile the function when it is first called."""
        made: Any = njit(cache=True)(function)
        return cast("_Function", made)


KIND, WIDTH, HEIGHT, PARENT, FIRST, NEXT, BLANK, SHAPE = range(8)
FREE, LEAF, ALONG_X, ALONG_Y = range(4)
NONE = -1


@compiled
def fill_table(
    table: "Whole",
    sideways: "Whole",
    splits_x: "Whole",
    starts_x: "Whole",
    splits_y: "Whole",
    starts_y: "Whole",
    open_x: int,
    open_y: int,
) -> None:
    """Fill the table of the guillotine dynamic programme cell by cell (see ``values``).

    ``table`` holds the blanks' own values, ``sideways`` the same with its axes exchanged, so that
    cuts along either axis read memory in order. Of point ``i``, ``splits_x[0]`` and ``[1]`` have
    low and high parts from ``starts_x[i]`` to ``starts_x[i + 1]``.
    """
    for i in range(1, len(table)):
        for j in range(1, len(sideways)):
            best = table[i, j]
            if j < open_x:
                best = max(best, table[i - 1, j])
                row = sideways[j]
                for k in range(starts_x[i], starts_x[i + 1]):
                    best = max(best, row[splits_x[0, k]] + row[splits_x[1, k]])
            if i < open_y:
                best = max(best, table[i, j - 1])
                row = table[i]
                for k in range(starts_y[j], starts_y[j + 1]):
                    best = max(best, row[splits_y[0, k]] + row[splits_y[1, k]])
            table[i, j] = best
            sideways[j, i] = best


@compiled
def draw(chance: "Whole", below: int) -> int:
    """Draw a number from 0 to below - 1 (Park and Miller 1988, with the later multiplier)."""
    chance[0] = chance[0] * 48271 % 2147483647
    return int(chance[0] % below)


@compiled
def _take_node(nodes: "Whole", spare: "Whole") -> int:
    """A node that is free; ``spare[0]`` counts those stacked after it."""
    node = spare[spare[0]]
    spare[0] -= 1
    nodes[PARENT, node] = nodes[FIRST, node] = nodes[NEXT, node] = NONE
    return int(node)


@compiled
def _give_node(nodes: "Whole", spare: "Whole", node: int) -> None:
    nodes[KIND, node] = FREE
    spare[0] += 1
    spare[spare[0]] = node


@compiled
def _attach(nodes: "Whole", group: int, node: int) -> None:
    nodes[PARENT, node] = group
    nodes[NEXT, node] = nodes[FIRST, group]
    nodes[FIRST, group] = node


@compiled
def _detach(nodes: "Whole", node: int) -> None:
    group = nodes[PARENT, node]
    if nodes[FIRST, group] == node:
        nodes[FIRST, group] = nodes[NEXT, node]
        return
    before = nodes[FIRST, group]
    while nodes[NEXT, before] != node:
        before = nodes[NEXT, before]
    nodes[NEXT, before] = nodes[NEXT, node]


@compiled
def _resize(nodes: "Whole", node: int) -> None:
    """Work the size of a group and of all above it out again."""
    while node != NONE:
        width = height = 0
        child = nodes[FIRST, node]
        along_x = nodes[KIND, node] == ALONG_X
        while child != NONE:
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


@compiled
def _replace(nodes: "Whole", roots: "Whole", sheet: int, old: int, new: int) -> None:
    """Put a node in another's place."""
    group = nodes[PARENT, old]
    if group == NONE:
        roots[sheet] = new
        nodes[PARENT, new] = NONE
        nodes[NEXT, new] = NONE
    else:
        _detach(nodes, old)
        _attach(nodes, group, new)


@compiled
def remove_blank(nodes: "Whole", roots: "Whole", spare: "Whole", sheet: int, leaf: int) -> None:
    """Take a blank out of its sheet; a group left with one member gives way to it."""
    group = nodes[PARENT, leaf]
    if group == NONE:
        roots[sheet] = NONE
        _give_node(nodes, spare, leaf)
        return
    _detach(nodes, leaf)
    _give_node(nodes, spare, leaf)
    only = nodes[FIRST, group]
    if nodes[NEXT, only] != NONE:
        _resize(nodes, group)
        return
    above = nodes[PARENT, group]
    if above == NONE or nodes[KIND, only] == LEAF:
        _detach(nodes, only)
        _replace(nodes, roots, sheet, group, only)
    else:  # the member runs along the same axis as the group above: its members move up
        _detach(nodes, group)
        child = nodes[FIRST, only]
        while child != NONE:
            following = nodes[NEXT, child]
            _attach(nodes, above, child)
            child = following
        _give_node(nodes, spare, only)
    _give_node(nodes, spare, group)
    _resize(nodes, above)


@compiled
def insert_blank(
    nodes: "Whole", roots: "Whole", spare: "Whole", sheet: int, beside: int, axis: int, leaf: int
) -> None:
    """Lay a blank beside a node along an axis; ``beside`` NONE is an empty sheet."""
    if beside == NONE:
        roots[sheet] = leaf
        nodes[PARENT, leaf] = NONE
        nodes[NEXT, leaf] = NONE
        return
    if nodes[KIND, beside] == axis:
        _attach(nodes, beside, leaf)
        _resize(nodes, beside)
        return
    group = _take_node(nodes, spare)
    nodes[KIND, group] = axis
    _replace(nodes, roots, sheet, beside, group)
    nodes[FIRST, group] = NONE
    _attach(nodes, group, beside)
    _attach(nodes, group, leaf)
    _resize(nodes, group)


@compiled
def find_place(
    nodes: "Whole",
    roots: "Whole",
    room: "Whole",
    size: "Whole",
    shapes: "Whole",
    chance: "Whole",
    stack: "Whole",
    best: "Whole",
) -> bool:
    """Find the place on any sheet where a blank wastes least.

    A place lies beside a node along an axis. ``stack`` walks the trees with, for each node, the
    rectangle it may grow to on the sheet and the one it may grow to without its sheet's content
    growing. ``best`` takes sheet, node, axis, shape and cost.
    """
    area = shapes[0, 0] * shapes[0, 1]
    best[4] = NONE
    for sheet in range(len(roots)):
        if room[sheet] < area:
            continue
        root = roots[sheet]
        if root == NONE:
            for shape in range(len(shapes)):
                if 0 < shapes[shape, 0] <= size[0] and shapes[shape, 1] <= size[1]:
                    _consider(best, 4 * area + area // 2, sheet, NONE, ALONG_X, shape)
            continue
        top = 0
        stack[0, 0], stack[0, 1], stack[0, 2] = root, size[0], size[1]
        stack[0, 3], stack[0, 4] = nodes[WIDTH, root], nodes[HEIGHT, root]
        while top >= 0:
            node = stack[top, 0]
            _look_beside(nodes, node, root, sheet, stack[top], shapes, chance, best)
            top = _push_members(nodes, node, stack, top)
    return bool(best[4] != NONE)


@compiled
def _consider(best: "Whole", cost: int, sheet: int, node: int, axis: int, shape: int) -> None:
    """Keep a place that costs less."""
    if best[4] == NONE or cost < best[4]:
        best[0], best[1], best[2], best[3], best[4] = sheet, node, axis, shape, cost


@compiled
def _look_beside(
    nodes: "Whole",
    node: int,
    root: int,
    sheet: int,
    may_grow: "Whole",
    shapes: "Whole",
    chance: "Whole",
    best: "Whole",
) -> None:
    """Consider the places beside a node, in either axis and shape.

    The measure is the growth of the rectangle round the sheet's content, then the hole left beside
    the blank. One place in fifty is overlooked, so that the same ruin is not always mended the
    same way.
    """
    own_w, own_h = nodes[WIDTH, node], nodes[HEIGHT, node]
    full_w, full_h = nodes[WIDTH, root], nodes[HEIGHT, root]
    parent = nodes[PARENT, node]
    for shape in range(len(shapes)):
        w, h = shapes[shape, 0], shapes[shape, 1]
        if w == 0:
            continue
        for axis in (ALONG_X, ALONG_Y):
            if parent != NONE and nodes[KIND, parent] == axis:
                continue  # the same as beside the parent
            new_w = own_w + w if axis == ALONG_X else max(own_w, w)
            new_h = own_h + h if axis == ALONG_Y else max(own_h, h)
            if new_w > may_grow[1] or new_h > may_grow[2] or draw(chance, 50) == 0:
                continue
            grown_w = full_w + max(0, new_w - may_grow[3])
            grown_h = full_h + max(0, new_h - may_grow[4])
            growth = grown_w * grown_h - full_w * full_h
            hole = new_w * new_h - own_w * own_h - w * h
            _consider(best, 4 * growth + hole, sheet, node, axis, shape)


@compiled
def _push_members(nodes: "Whole", node: int, stack: "Whole", top: int) -> int:
    """Put a group's members on the stack in its place, each with what it may grow to."""
    grow_w, grow_h = stack[top, 1], stack[top, 2]
    still_w, still_h = stack[top, 3], stack[top, 4]
    top -= 1
    if nodes[KIND, node] == LEAF:
        return top
    along_x = nodes[KIND, node] == ALONG_X
    child = nodes[FIRST, node]
    while child != NONE:
        top += 1
        others_w = nodes[WIDTH, node] - nodes[WIDTH, child] if along_x else 0
        others_h = 0 if along_x else nodes[HEIGHT, node] - nodes[HEIGHT, child]
        stack[top, 0] = child
        stack[top, 1], stack[top, 2] = grow_w - others_w, grow_h - others_h
        stack[top, 3], stack[top, 4] = still_w - others_w, still_h - others_h
        child = nodes[NEXT, child]
    return top


@compiled
def _leaves_below(nodes: "Whole", node: int, out: "Whole", count: int) -> int:
    """Write the blanks below a node to ``out`` from ``count`` on; the new count."""
    if nodes[KIND, node] == LEAF:
        out[count] = node
        return count + 1
    current = node
    while True:
        while nodes[KIND, current] != LEAF:
            current = nodes[FIRST, current]
        out[count] = current
        count += 1
        while current != node and nodes[NEXT, current] == NONE:
            current = nodes[PARENT, current]
        if current == node:
            return count
        current = nodes[NEXT, current]


@compiled
def _take_out(
    nodes: "Whole",
    roots: "Whole",
    spare: "Whole",
    room: "Whole",
    places: "Whole",
    area: "Whole",
    leaf: int,
) -> int:
    """Take a placed blank out; its number."""
    blank = nodes[BLANK, leaf]
    sheet = places[1, blank]
    remove_blank(nodes, roots, spare, sheet, leaf)
    room[sheet] += area[blank]
    places[0, blank] = NONE
    return int(blank)


@compiled
def _ruin(
    nodes: "Whole",
    roots: "Whole",
    spare: "Whole",
    room: "Whole",
    places: "Whole",
    area: "Whole",
    chance: "Whole",
    open_: "Whole",
    count: int,
    most: int,
    scratch: "Whole",
) -> int:
    """Take random subtrees out, up to about ``most`` blanks; the new count of open blanks."""
    blanks = places.shape[1]
    target = count + 1 + draw(chance, most)
    tries = 0
    while count < target and tries < 4 * most:
        tries += 1
        node = places[0, draw(chance, blanks)]
        if node == NONE:
            continue
        levels = draw(chance, 3)
        while levels > 0 and nodes[PARENT, node] != NONE:
            node = nodes[PARENT, node]
            levels -= 1
        leaves = _leaves_below(nodes, node, scratch, 0)
        if leaves > 2 * most:
            continue
        for k in range(leaves):
            open_[count] = _take_out(nodes, roots, spare, room, places, area, scratch[k])
            count += 1
    return count


@compiled
def _order(
    open_: "Whole", count: int, area: "Whole", shapes: "Whole", of: "Whole", chance: "Whole"
) -> None:
    """Sort the open blanks: large ones, long ones or wide ones first, or at random."""
    way = draw(chance, 8)
    for k in range(count):
        blank = open_[k]
        w, h = shapes[of[blank], 0, 0], shapes[of[blank], 0, 1]
        if way < 3:
            key = area[blank]
        elif way < 5:
            key = max(w, h)
        elif way < 6:
            key = w
        elif way < 7:
            key = h
        else:
            key = draw(chance, 1_000_000)
        noise = 90 + draw(chance, 21)
        open_[len(of) + k] = -key * noise
    for k in range(1, count):
        blank, key = open_[k], open_[len(of) + k]
        before = k - 1
        while before >= 0 and open_[len(of) + before] > key:
            open_[before + 1] = open_[before]
            open_[len(of) + before + 1] = open_[len(of) + before]
            before -= 1
        open_[before + 1] = blank
        open_[len(of) + before + 1] = key


@compiled
def _recreate(
    nodes: "Whole",
    roots: "Whole",
    spare: "Whole",
    room: "Whole",
    places: "Whole",
    area: "Whole",
    chance: "Whole",
    open_: "Whole",
    count: int,
    size: "Whole",
    shapes: "Whole",
    of: "Whole",
    stack: "Whole",
) -> int:
    """Lay the open blanks one by one where each wastes least; how many stay open."""
    best = np.zeros(5, dtype=np.int64)
    left = 0
    failed = NONE
    for k in range(count):
        blank = open_[k]
        kind = of[blank]
        if kind != failed and find_place(
            nodes, roots, room, size, shapes[kind], chance, stack, best
        ):
            leaf = _take_node(nodes, spare)
            nodes[KIND, leaf] = LEAF
            nodes[WIDTH, leaf] = shapes[kind, best[3], 0]
            nodes[HEIGHT, leaf] = shapes[kind, best[3], 1]
            nodes[BLANK, leaf] = blank
            nodes[SHAPE, leaf] = best[3]
            insert_blank(nodes, roots, spare, best[0], best[1], best[2], leaf)
            places[0, blank], places[1, blank] = leaf, best[0]
            room[best[0]] -= area[blank]
        else:
            failed = kind
            open_[left] = blank
            left += 1
    return left


@compiled
def search(
    nodes: "Whole",
    roots: "Whole",
    spare: "Whole",
    room: "Whole",
    places: "Whole",
    size: "Whole",
    shapes: "Whole",
    of: "Whole",
    area: "Whole",
    open_: "Whole",
    count: int,
    chance: "Whole",
    rounds: int,
    heat: int,
    most: int,
) -> int:
    """Ruin and recreate until nothing is left out, or for some rounds; how many stay open.

    The area left out is what is made less. A state that leaves out more is taken where it is
    worse by no more than a random part of ``heat`` (threshold accepting, Dueck and Scheuer 1990;
    ruin and recreate with a goal on guillotine trees: Gardeyn and Wauters 2022).
    """
    stack = np.zeros((nodes.shape[1] + 1, 5), dtype=np.int64)
    scratch = np.zeros(nodes.shape[1], dtype=np.int64)
    kept_nodes, kept_roots, kept_spare = nodes.copy(), roots.copy(), spare.copy()
    kept_room, kept_places, kept_open = room.copy(), places.copy(), open_.copy()
    out = np.int64(0)
    for k in range(count):
        out += area[open_[k]]
    for _ in range(rounds):
        if count == 0:
            break
        kept_nodes[:, :] = nodes
        kept_roots[:], kept_spare[:], kept_room[:] = roots, spare, room
        kept_places[:, :] = places
        kept_open[:count] = open_[:count]
        kept_count = count
        count = _ruin(nodes, roots, spare, room, places, area, chance, open_, count, most, scratch)
        _order(open_, count, area, shapes, of, chance)
        count = _recreate(
            nodes, roots, spare, room, places, area, chance, open_, count, size, shapes, of, stack
        )
        now = np.int64(0)
        for k in range(count):
            now += area[open_[k]]
        if now <= out + draw(chance, heat + 1):
            out = now
        else:
            nodes[:, :] = kept_nodes
            roots[:], spare[:], room[:] = kept_roots, kept_spare, kept_room
            places[:, :] = kept_places
            count = kept_count
            open_[:count] = kept_open[:count]
    return count
