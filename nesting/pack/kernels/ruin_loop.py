"""Ruin and recreate on the trees of all sheets at once. Compiled as ``compile_loop`` says."""

from nesting.arrays import Whole
from nesting.pack.kernels.archive_loop import Seen, note_sheet
from nesting.pack.kernels.compiled import compile_loop, random_below
from nesting.pack.kernels.insertion import Known, find_place, note_change
from nesting.pack.kernels.sheet_trees import (
    LEAF,
    NO_NODE,
    Asked,
    Sheets,
    copy_sheets,
    insert_blank,
    leaves_below,
    remove_blank,
    take_node,
)

#: Of a hundred ruins, how many empty two or three sheets, and how many keep to one to three sheets.
_WHOLE_SHEETS, _FEW_SHEETS = 10, 25
#: The weight of the bonus for free room that lies together.
_ROOM_TOGETHER = 0.25


@compile_loop
def ruin_and_recreate(
    sheets: Sheets,
    kept: Sheets,
    asked: Asked,
    known: Known,
    seen: Seen,
    leaves: Whole,
    keys: Whole,
    chance: Whole,
    count: int,
    rounds: int,
    heat: int,
    most: int,
) -> int:
    """Ruin and recreate for some rounds or until no blank is open; return how many stay open.

    The objective is the area of the open blanks, less a bonus for free room that lies together on
    few sheets. A worse state is accepted if it is worse by no more than a random part of ``heat``
    (threshold accepting, Dueck and Scheuer 1990; ruin and recreate with a goal on guillotine trees:
    Gardeyn and Wauters 2022). ``kept`` is room for the state before the ruin, ``leaves`` for the nodes
    taken out, ``keys`` for the order of the open blanks. Good sheets are recorded in ``seen``.
    """
    out = left_out(sheets, asked, count)
    for _ in range(rounds):
        if count == 0:
            break
        copy_sheets(sheets, kept)
        kept_count, before = count, known.clock[0]
        count = _ruin(sheets, asked, known, chance, count, most, leaves)
        _order(sheets, asked, chance, count, keys)
        count = _recreate(sheets, asked, known, chance, count)
        for sheet in range(len(sheets.roots)):
            if sheets.stamps[sheet] > before and sheets.roots[sheet] != NO_NODE:
                note_sheet(sheets, asked, seen, sheet)
        now = left_out(sheets, asked, count)
        if now <= out + random_below(chance, heat + 1):
            out = now
        else:
            count = kept_count
            copy_sheets(kept, sheets)
    return count


@compile_loop
def left_out(sheets: Sheets, asked: Asked, count: int) -> int:
    """The area of the open blanks, less a bonus for free room that lies together on few sheets.

    Room scattered over many sheets holds no blank; the sum of squares tells the two apart.
    """
    area, together = 0, 0.0
    for k in range(count):
        area += asked.area[sheets.open_[k]]
    whole = asked.size[0] * asked.size[1]
    for sheet in range(len(sheets.roots)):
        room = sheets.room[sheet]
        together += room * (room / whole)
    return area - int(_ROOM_TOGETHER * together)


@compile_loop
def _ruin(
    sheets: Sheets,
    asked: Asked,
    known: Known,
    chance: Whole,
    count: int,
    most: int,
    leaves: Whole,
) -> int:
    """Remove about ``most`` blanks; return the new number of open blanks.

    Whole sheets are emptied, or random subtrees of all sheets or of one to three: blanks that are
    removed together can be combined in another way.
    """
    way = random_below(chance, 100)
    if way < _WHOLE_SHEETS:
        for _ in range(2 + random_below(chance, 2)):
            root = sheets.roots[random_below(chance, len(sheets.roots))]
            if root != NO_NODE:
                count = _take_subtree(sheets, asked, known, count, most, root, leaves)
        return count
    chosen = 1 + random_below(chance, 3) if way < _WHOLE_SHEETS + _FEW_SHEETS else 0
    first, second = random_below(chance, len(sheets.roots)), random_below(chance, len(sheets.roots))
    third = random_below(chance, len(sheets.roots))
    target = count + 1 + random_below(chance, most)
    tries = 4 * most * (1 + len(sheets.roots) // 2 if chosen else 1)
    while count < target and tries > 0:
        tries -= 1
        blank = random_below(chance, len(asked.of))
        node, sheet = sheets.places[blank].node, sheets.places[blank].sheet
        if node == NO_NODE:
            continue
        if chosen and not (
            sheet == first or (chosen > 1 and sheet == second) or (chosen > 2 and sheet == third)
        ):
            continue
        levels = random_below(chance, 3)
        while levels > 0 and sheets.nodes[node].parent != NO_NODE:
            node = sheets.nodes[node].parent
            levels -= 1
        count = _take_subtree(sheets, asked, known, count, most, node, leaves)
    return count


@compile_loop
def _take_subtree(
    sheets: Sheets,
    asked: Asked,
    known: Known,
    count: int,
    most: int,
    node: int,
    leaves: Whole,
) -> int:
    """Remove all blanks below a node, unless they are too many; return how many are open."""
    number = leaves_below(sheets.nodes, node, leaves)
    if number > 2 * most:
        return count
    sheet = sheets.places[sheets.nodes[leaves[0]].blank].sheet
    for k in range(number):
        blank = sheets.nodes[leaves[k]].blank
        remove_blank(sheets.nodes, sheets.roots, sheets.spare, sheet, leaves[k])
        sheets.room[sheet] += asked.area[blank]
        sheets.places[blank].node = NO_NODE
        sheets.open_[count + k] = blank
    note_change(sheets, known, sheet)
    return count + number


@compile_loop
def _order(sheets: Sheets, asked: Asked, chance: Whole, count: int, keys: Whole) -> None:
    """Sort the open blanks: by area, length or width, largest first, or at random."""
    open_ = sheets.open_
    way = random_below(chance, 8)
    for k in range(count):
        shape = asked.shapes[asked.of[open_[k]], 0]
        if way < 3:
            key = asked.area[open_[k]]
        elif way < 5:
            key = max(shape[0], shape[1])
        elif way < 6:
            key = shape[0]
        elif way < 7:
            key = shape[1]
        else:
            key = random_below(chance, 1_000_000)
        keys[k] = -key * (90 + random_below(chance, 21))
    for k in range(1, count):
        blank, key = open_[k], keys[k]
        before = k - 1
        while before >= 0 and keys[before] > key:
            open_[before + 1] = open_[before]
            keys[before + 1] = keys[before]
            before -= 1
        open_[before + 1] = blank
        keys[before + 1] = key


@compile_loop
def _recreate(sheets: Sheets, asked: Asked, known: Known, chance: Whole, count: int) -> int:
    """Insert the open blanks one by one at the cheapest place; return how many stay open."""
    nodes, found, left, failed = sheets.nodes, known.found, 0, NO_NODE
    for k in range(count):
        blank = sheets.open_[k]
        kind = asked.of[blank]
        if kind != failed and find_place(sheets, asked, known, chance, blank):
            sheet = found.sheet
            leaf = take_node(nodes, sheets.spare)
            nodes[leaf].kind = LEAF
            nodes[leaf].width = asked.shapes[kind, found.lying, 0]
            nodes[leaf].height = asked.shapes[kind, found.lying, 1]
            nodes[leaf].blank = blank
            nodes[leaf].lying = found.lying
            insert_blank(nodes, sheets.roots, sheets.spare, sheet, found.node, found.axis, leaf)
            sheets.places[blank].node, sheets.places[blank].sheet = leaf, sheet
            sheets.room[sheet] -= asked.area[blank]
            note_change(sheets, known, sheet)
        else:
            failed = kind
            sheets.open_[left] = blank
            left += 1
    return left
