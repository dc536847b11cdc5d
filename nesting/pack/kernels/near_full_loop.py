"""Nearly full sheets: blocks of blanks with little waste, joined in pairs.

Compiled as ``compile_loop`` says.
"""

from typing import NamedTuple

import numpy as np

from nesting.arrays import Whole
from nesting.pack.kernels.compiled import compile_loop
from nesting.pack.kernels.listing_loop import ALONG_X, ALONG_Y, AXIS, BLANK, FIRST, SECOND, slot

#: Rows of ``made``: the axis and the two blocks that a block is joined of, or its way to lie (as in
#: ``listing_loop``); its size and the area of its blanks; the previous block with the same blanks,
#: of the same height, and of the same width; its slot.
WIDTH, HEIGHT, AREA, SAME, AS_HIGH, AS_WIDE, AT = range(SECOND + 1, SECOND + 8)
MADE = AT + 1
#: Entries of ``tally``: blocks, nearly full ones, pairs left to look at, blocks waiting, and whether
#: there is no room for more.
COUNT, FULL, LEFT, WAITING, NO_ROOM = range(5)
NONE = -1
#: Waste of a block's area that makes one step of its rank, and steps that a sheet's area is worth.
_WASTE_STEPS, _AREA_STEPS = 65_536, 1_024


class Target(NamedTuple):
    """What one sheet is to hold.

    ``size`` is width and height. ``ways`` has size, area and number of each way that a blank may
    lie, ``words`` the counts of each. ``full`` has the free bits of each word and the largest
    counts, ``free`` the free bits. ``over`` is the area that may be wasted. ``within_x[k]`` is the
    most of a length ``k`` that blanks side by side can take, ``within_y`` the same along y.
    """

    size: Whole
    ways: Whole
    words: Whole
    full: Whole
    free: Whole
    over: int
    within_x: Whole
    within_y: Whole


class Blocks(NamedTuple):
    """The blocks so far.

    ``high`` and ``wide`` have the last block of each height and width, ``full`` the nearly full
    ones. ``waiting`` is a heap of the blocks that have not been joined with others yet, ``keys``
    has their ranks, the smallest on top.
    """

    made: Whole
    words: Whole
    hashed: Whole
    high: Whole
    wide: Whole
    full: Whole
    tally: Whole
    waiting: Whole
    keys: Whole


@compile_loop
def reach(within: Whole, lengths: Whole, demand: Whole) -> None:
    """Work out the most of each length that some of the blanks can take side by side.

    ``lengths`` has the one or two lengths of each kind, 0 for none.
    """
    sums = np.zeros(len(within), dtype=np.int64)
    sums[0] = 1
    for kind in range(len(demand)):
        for _ in range(demand[kind]):
            for k in range(len(within) - 1, 0, -1):
                for length in lengths[kind]:
                    if 0 < length <= k and sums[k - length]:
                        sums[k] = 1
    last = 0
    for k in range(len(within)):
        if sums[k]:
            last = k
        within[k] = last


@compile_loop
def list_full(wanted: Target, blocks: Blocks, only_all: bool) -> bool:
    """List all patterns that waste no more than ``over`` of the sheet.

    With ``only_all``, only the first one that holds all blanks. False where the list is not
    complete, for lack of pairs or room.
    """
    made, tally = blocks.made, blocks.tally
    blocks.high.fill(NONE)
    blocks.wide.fill(NONE)
    for way in range(wanted.ways.shape[1]):
        if not _goes_on(tally):
            break
        new = tally[COUNT]
        made[WIDTH, new], made[HEIGHT, new] = wanted.ways[0, way], wanted.ways[1, way]
        made[AREA, new] = wanted.ways[2, way]
        for word in range(len(wanted.free)):
            blocks.words[new, word] = wanted.words[way, word]
        if _is_wanted(wanted, blocks.words[new]) and _wastes_little(wanted, made[:, new]):
            _keep(wanted, blocks, BLANK, wanted.ways[3, way], NONE)
    least_w, least_h = wanted.ways[0].min(), wanted.ways[1].min()
    while tally[WAITING] and _goes_on(tally) and not (only_all and tally[FULL]):
        row = _next(blocks)
        w, h = made[WIDTH, row], made[HEIGHT, row]
        made[AS_HIGH, row], blocks.high[h] = blocks.high[h], row
        made[AS_WIDE, row], blocks.wide[w] = blocks.wide[w], row
        over = wanted.over - (w * h - made[AREA, row])
        for axis in (ALONG_X, ALONG_Y):
            along_x = axis == ALONG_X
            long, high, least = (w, h, least_w) if along_x else (h, w, least_h)
            last = blocks.high if along_x else blocks.wide
            least_high, most_high = max(0, high - over // least), high + over // long
            for across in range(least_high, min(len(last) - 1, most_high) + 1):
                _put_beside(wanted, blocks, axis, row, last[across], only_all)
    for row in range(tally[COUNT]):
        blocks.hashed[made[AT, row]] = NONE
    return _goes_on(tally)


@compile_loop
def _goes_on(tally: Whole) -> bool:
    """Whether there is room for more blocks and some pair left to look at."""
    return bool(tally[LEFT] >= 0 and not tally[NO_ROOM])


@compile_loop
def _is_wanted(wanted: Target, words: Whole) -> bool:
    """Whether the demand has this many of each kind."""
    for w in range(len(words)):
        if (wanted.full[w] - words[w]) & wanted.free[w] != wanted.free[w]:
            return False
    return True


@compile_loop
def _wastes_little(wanted: Target, block: Whole) -> bool:
    """Whether a block fits and wastes no more than allowed.

    Room beside it that no other blanks can take counts as waste, too.
    """
    w, h = block[WIDTH], block[HEIGHT]
    if w > wanted.size[0] or h > wanted.size[1]:
        return False
    w = wanted.size[0] - wanted.within_x[wanted.size[0] - w]
    h = wanted.size[1] - wanted.within_y[wanted.size[1] - h]
    return bool(w * h - block[AREA] <= wanted.over)


@compile_loop
def _put_beside(
    wanted: Target, blocks: Blocks, axis: int, row: int, other: int, only_all: bool
) -> None:
    """Join a block with another, and with all earlier blocks of that one's height, or width."""
    made, words, tally = blocks.made, blocks.words, blocks.tally
    most = made[AREA, row] + wanted.over
    while other != NONE and _goes_on(tally) and not (only_all and tally[FULL]):
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
        if not _is_wanted(wanted, words[new]):
            continue
        made[WIDTH, new], made[HEIGHT, new] = w, h
        made[AREA, new] = made[AREA, row] + made[AREA, partner]
        if not _wastes_little(wanted, made[:, new]) or not _keep(
            wanted, blocks, axis, row, partner
        ):
            continue
        if only_all and not tally[FULL]:
            _complete(wanted, blocks, new)


@compile_loop
def _keep(wanted: Target, blocks: Blocks, axis: int, first: int, second: int) -> bool:
    """Keep the last block unless one with the same blanks fits within its size."""
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
    _wait(wanted, blocks, new)
    if wanted.size[0] * wanted.size[1] - made[AREA, new] <= wanted.over:
        blocks.full[tally[FULL]] = new
        tally[FULL] += 1
    if new + 3 == len(blocks.words) or tally[FULL] == len(blocks.full):
        tally[NO_ROOM] = True
    return True


@compile_loop
def _complete(wanted: Target, blocks: Blocks, row: int) -> None:
    """Join a block with one that has all the blanks it lacks, if there is one that fits."""
    made, words, tally = blocks.made, blocks.words, blocks.tally
    new = tally[COUNT]
    for k in range(words.shape[1]):
        words[new, k] = wanted.full[k] - wanted.free[k] - words[row, k]
    other = blocks.hashed[slot(blocks.hashed, words, new)]
    while other != NONE and not tally[FULL]:
        for axis in (ALONG_X, ALONG_Y):
            side = WIDTH if axis == ALONG_X else HEIGHT
            if made[side, row] + made[side, other] <= wanted.size[side - WIDTH]:
                made[AXIS, new], made[FIRST, new], made[SECOND, new] = axis, row, other
                blocks.full[0] = new
                tally[FULL] = 1
        other = made[SAME, other]


@compile_loop
def _wait(wanted: Target, blocks: Blocks, row: int) -> None:
    """Put a block on the heap, ranked by the share of its own area that it wastes.

    Of blocks that waste about the same share, the larger comes first: it is nearer to a full sheet.
    """
    made, waiting, keys, tally = blocks.made, blocks.waiting, blocks.keys, blocks.tally
    area, whole = made[AREA, row], wanted.size[0] * wanted.size[1]
    waste = made[WIDTH, row] * made[HEIGHT, row] - area
    key = waste * _WASTE_STEPS // area - area * _AREA_STEPS // whole
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


@compile_loop
def _next(blocks: Blocks) -> int:
    """Take the top off the heap."""
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
