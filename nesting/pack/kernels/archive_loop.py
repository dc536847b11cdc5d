"""The archive of good sheets, without repeats. Compiled as ``compile_loop`` says."""

from typing import NamedTuple

from nesting.arrays import Records, Whole, whole_fields
from nesting.pack.kernels.compiled import compile_loop
from nesting.pack.kernels.sheet_trees import (
    ALONG_X,
    LEAF,
    NO_NODE,
    Asked,
    Sheets,
)

#: A tree as a sequence of numbers: these open and close a group, all others are blanks.
OPEN_X, OPEN_Y, END = -1, -2, -3
#: An entry of the hash table: a sheet's key and its number.
SLOT = whole_fields("key", "number")


class Seen(NamedTuple):
    """The trees of the sheets one after another, no two with the same blanks.

    ``tokens`` has the trees, the one with number ``n`` from ``starts[n]`` to ``starts[n + 1]``: a
    group is ``OPEN_X`` or ``OPEN_Y``, its members, ``END``; a blank is twice its kind plus the way
    it lies. ``number`` is how many trees there are. ``keys`` has a random number for each kind; a
    sheet's key is the sum of these over its blanks, and ``slots`` is a hash table of keys (open
    addressing). ``worth`` has a value for each kind, and ``least`` the value that a sheet must
    have.
    """

    tokens: Whole
    starts: Whole
    number: Whole
    keys: Whole
    slots: Records
    worth: Whole
    least: Whole


@compile_loop
def note_sheet(sheets: Sheets, asked: Asked, seen: Seen, sheet: int) -> None:
    """Record a sheet's tree if it is worth enough, not recorded yet, and there is room."""
    number = seen.number[0]
    at = seen.starts[number]
    if number + 1 == len(seen.starts) or at + 3 * len(asked.of) > len(seen.tokens):
        return
    nodes, root = sheets.nodes, sheets.roots[sheet]
    key = worth = 0
    current = root
    while True:
        while nodes[current].kind != LEAF:
            seen.tokens[at] = OPEN_X if nodes[current].kind == ALONG_X else OPEN_Y
            at += 1
            current = nodes[current].first
        kind = asked.of[nodes[current].blank]
        seen.tokens[at] = 2 * kind + nodes[current].lying
        at += 1
        key += seen.keys[kind]
        worth += seen.worth[kind]
        while current != root and nodes[current].next == NO_NODE:
            current = nodes[current].parent
            seen.tokens[at] = END
            at += 1
        if current == root:
            break
        current = nodes[current].next
    if worth >= seen.least[0] and _note_key(seen, key, number):
        seen.starts[number + 1] = at
        seen.number[0] += 1


@compile_loop
def _note_key(seen: Seen, key: int, number: int) -> bool:
    """Enter a key with its number; False if it is there already."""
    slot = key % len(seen.slots)
    while seen.slots[slot].number != NO_NODE:
        if seen.slots[slot].key == key:
            return False
        slot = (slot + 1) % len(seen.slots)
    seen.slots[slot].key, seen.slots[slot].number = key, number
    return True


@compile_loop
def note_keys(seen: Seen, keys: Whole) -> None:
    """Enter the keys of the first sheets."""
    for number in range(len(keys)):
        _note_key(seen, keys[number], number)
