"""The hot loop of nearly full sheets: blocks of blanks that waste little, put together in pairs.

Compiled by numba where the extra ``fast`` is installed, run as it is where it is not, with the
same answers (see ``nesting.pack.kernel``).
"""

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from nesting.pack.kernel import compiled
from nesting.pack.kernel_listing import ALONG_X, ALONG_Y, BLANK, slot

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Whole = NDArray[np.int64]

#: Rows of ``made``: size and area of blanks, how it is made and of which two blocks, or of which
#: way to lie; the block before it with the same blanks, as high, and as wide; its slot.
WIDTH, HEIGHT, AREA, AXIS, FIRST, SECOND, SAME, AS_HIGH, AS_WIDE, AT = range(10)
#: Entries of ``tally``: blocks, those that nearly fill the sheet, pairs left to look at.
COUNT, FULL, LEFT, WAITING = range(4)
NONE = -1


class Sheet(NamedTuple):
    """What is asked of one sheet.

    ``size`` is width and height, ``ways`` has size, area and number of each way that a blank may
    lie, ``words`` what each of them counts. ``full`` has the free bits of each word and the most of
    each kind, ``free`` the free bits. ``over`` is the area that may be wasted. ``within_x[k]`` is
    the most of a length ``k`` that blanks side by side can take, ``within_y`` the same upwards.
    """

    size: "Whole"
    ways: "Whole"
    words: "Whole"
    full: "Whole"
    free: "Whole"
    over: int
    within_x: "Whole"
    within_y: "Whole"


class Blocks(NamedTuple):
    """The blocks so far. ``high`` and ``wide`` have the last one of each height and width."""

    made: "Whole"
    words: "Whole"
    hashed: "Whole"
    high: "Whole"
    wide: "Whole"
    full: "Whole"
    tally: "Whole"
    waiting: "Whole"
    keys: "Whole"


@compiled
def reach(within: "Whole", lengths: "Whole", wanted: "Whole") -> None:
    """Fill in the most of each length that some of the blanks can take side by side.

    ``lengths`` has each kind's one or two lengths, 0 for none; of a kind are so many ``wanted``.
    """
    sums = np.zeros(len(within), dtype=np.int64)
    sums[0] = 1
    for kind in range(len(wanted)):
        for _ in range(wanted[kind]):
            for k in range(len(within) - 1, 0, -1):
                for length in lengths[kind]:
                    if 0 < length <= k and sums[k - length]:
                        sums[k] = 1
    last = 0
    for k in range(len(within)):
        if sums[k]:
            last = k
        within[k] = last


@compiled
def list_full(sheet: Sheet, blocks: Blocks, only_all: bool) -> bool:
    """List all contents that waste no more than ``over`` of the sheet.

    ``only_all``: those that have all blanks, and only the first. False where there are too many
    pairs to look at.
    """
    made, tally = blocks.made, blocks.tally
    blocks.high[:], blocks.wide[:] = NONE, NONE
    for way in range(sheet.ways.shape[1]):
        made[WIDTH, tally[COUNT]], made[HEIGHT, tally[COUNT]] = (
            sheet.ways[0, way],
            sheet.ways[1, way],
        )
        made[AREA, tally[COUNT]] = sheet.ways[2, way]
        blocks.words[tally[COUNT]] = sheet.words[way]
        if _is_wanted(sheet, blocks.words[tally[COUNT]]) and _wastes_little(
            sheet, made[:, tally[COUNT]]
        ):
            _keep(sheet, blocks, BLANK, sheet.ways[3, way], NONE)
    least_w, least_h = sheet.ways[0].min(), sheet.ways[1].min()
    while tally[WAITING] and tally[LEFT] >= 0 and not (only_all and tally[FULL]):
        row = _next(blocks)
        w, h = made[WIDTH, row], made[HEIGHT, row]
        made[AS_HIGH, row], blocks.high[h] = blocks.high[h], row
        made[AS_WIDE, row], blocks.wide[w] = blocks.wide[w], row
        over = sheet.over - (w * h - made[AREA, row])
        for across in range(max(0, h - over // least_w), min(sheet.size[1], h + over // w) + 1):
            _put_beside(sheet, blocks, ALONG_X, row, blocks.high[across], only_all)
        for across in range(max(0, w - over // least_h), min(sheet.size[0], w + over // h) + 1):
            _put_beside(sheet, blocks, ALONG_Y, row, blocks.wide[across], only_all)
    for row in range(tally[COUNT]):
        blocks.hashed[made[AT, row]] = NONE
    return bool(tally[LEFT] >= 0)


@compiled
def _is_wanted(sheet: Sheet, words: "Whole") -> bool:
    """Whether there are so many of each kind."""
    wanted = True
    for w in range(len(words)):
        if (sheet.full[w] - words[w]) & sheet.free[w] != sheet.free[w]:
            wanted = False
    return wanted


@compiled
def _wastes_little(sheet: Sheet, block: "Whole") -> bool:
    """Whether a block fits and wastes no more than may be.

    What no other blanks can take beside it is waste, too.
    """
    w, h = block[WIDTH], block[HEIGHT]
    if w > sheet.size[0] or h > sheet.size[1]:
        return False
    w = sheet.size[0] - sheet.within_x[sheet.size[0] - w]
    h = sheet.size[1] - sheet.within_y[sheet.size[1] - h]
    return bool(w * h - block[AREA] <= sheet.over)


@compiled
def _put_beside(
    sheet: Sheet, blocks: Blocks, axis: int, row: int, other: int, only_all: bool
) -> None:
    """Put a block beside another and all that are as high, or as wide, before that one."""
    made, words, tally = blocks.made, blocks.words, blocks.tally
    most = made[AREA, row] + sheet.over
    while other != NONE and tally[LEFT] >= 0 and not (only_all and tally[FULL]):
        tally[LEFT] -= 1
        new, partner = tally[COUNT], other
        other = made[AS_HIGH, other] if axis == ALONG_X else made[AS_WIDE, other]
        if axis == ALONG_X:
            w = made[WIDTH, row] + made[WIDTH, partner]
            h = max(made[HEIGHT, row], made[HEIGHT, partner])
        else:
            w = max(made[WIDTH, row], made[WIDTH, partner])
            h = made[HEIGHT, row] + made[HEIGHT, partner]
        if w * h > most + made[AREA, partner]:
            continue
        for k in range(words.shape[1]):
            words[new, k] = words[row, k] + words[partner, k]
        if not _is_wanted(sheet, words[new]):
            continue
        made[WIDTH, new], made[HEIGHT, new] = w, h
        made[AREA, new] = made[AREA, row] + made[AREA, partner]
        if not _wastes_little(sheet, made[:, new]) or not _keep(sheet, blocks, axis, row, partner):
            continue
        if only_all and not tally[FULL]:
            _complete(sheet, blocks, new)


@compiled
def _keep(sheet: Sheet, blocks: Blocks, axis: int, first: int, second: int) -> bool:
    """Keep the block after the last, unless one with the same blanks is within its size."""
    made, tally = blocks.made, blocks.tally
    new = tally[COUNT]
    at = slot(blocks.hashed, blocks.words, new)
    other = blocks.hashed[at]
    while other != NONE:
        if made[WIDTH, other] <= made[WIDTH, new] and made[HEIGHT, other] <= made[HEIGHT, new]:
            return False
        other = made[SAME, other]
    made[AXIS, new], made[FIRST, new], made[SECOND, new] = axis, first, second
    made[SAME, new], made[AT, new] = blocks.hashed[at], at
    blocks.hashed[at] = new
    tally[COUNT] += 1
    _wait(sheet, blocks, new)
    if sheet.size[0] * sheet.size[1] - made[AREA, new] <= sheet.over:
        blocks.full[tally[FULL]] = new
        tally[FULL] += 1
    if new + 3 == len(blocks.words) or tally[FULL] == len(blocks.full):
        tally[LEFT] = -1
    return True


@compiled
def _complete(sheet: Sheet, blocks: Blocks, row: int) -> None:
    """Put a block beside one with all the blanks that it has not, if there is one that fits."""
    made, words, tally = blocks.made, blocks.words, blocks.tally
    new = tally[COUNT]
    for k in range(words.shape[1]):
        words[new, k] = sheet.full[k] - sheet.free[k] - words[row, k]
    other = blocks.hashed[slot(blocks.hashed, words, new)]
    while other != NONE and not tally[FULL]:
        for axis in (ALONG_X, ALONG_Y):
            side = 0 if axis == ALONG_X else 1
            if made[side, row] + made[side, other] <= sheet.size[side]:
                made[AXIS, new], made[FIRST, new], made[SECOND, new] = axis, row, other
                blocks.full[0] = new
                tally[FULL] = 1
        other = made[SAME, other]


@compiled
def _wait(sheet: Sheet, blocks: Blocks, row: int) -> None:
    """Put a block on the heap of those that wait: on top is what wastes least of its own area.

    Of those that waste about the same, the larger: it is nearer to a sheet.
    """
    made, waiting, keys, tally = blocks.made, blocks.waiting, blocks.keys, blocks.tally
    waste = made[WIDTH, row] * made[HEIGHT, row] - made[AREA, row]
    key = waste * 65536 // made[AREA, row] - made[AREA, row] * 1024 // (
        sheet.size[0] * sheet.size[1]
    )
    at = tally[WAITING]
    tally[WAITING] += 1
    while at:
        above = (at - 1) >> 1
        if keys[waiting[above]] <= key:
            break
        waiting[at] = waiting[above]
        at = above
    waiting[at] = row
    keys[row] = key


@compiled
def _next(blocks: Blocks) -> int:
    """Take the top of the heap off."""
    waiting, keys, tally = blocks.waiting, blocks.keys, blocks.tally
    top = waiting[0]
    tally[WAITING] -= 1
    last, end = waiting[tally[WAITING]], tally[WAITING]
    at = 0
    while 2 * at + 1 < end:
        below = 2 * at + 1
        if below + 1 < end and keys[waiting[below + 1]] < keys[waiting[below]]:
            below += 1
        if keys[waiting[below]] >= keys[last]:
            break
        waiting[at] = waiting[below]
        at = below
    waiting[at] = last
    return int(top)
