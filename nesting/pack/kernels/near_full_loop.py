"""Nearly full sheets: blocks of blanks with little waste, joined in pairs.

Compiled as ``compile_loop`` says.
"""

from typing import NamedTuple

import numpy as np

from nesting.arrays import Record, Records, Whole, whole_fields
from nesting.pack.kernels.compiled import compile_loop
from nesting.pack.kernels.listing_loop import ALONG_X, ALONG_Y, BLANK, slot

#: The axis and the two blocks that a block is joined of, or its way to lie (as in
#: ``listing_loop``); its size and the area of its blanks; the previous block with the same blanks,
#: of the same height, and of the same width; its slot.
BLOCK = whole_fields(
    *("axis", "first", "second", "width", "height", "area", "same", "as_high", "as_wide", "at")
)
#: The numbers of blocks, of nearly full ones, of pairs left to look at and of blocks waiting, and
#: whether there is no room for more.
TALLY = whole_fields("count", "full", "left", "waiting", "no_room")
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

    made: Records
    words: Whole
    hashed: Whole
    high: Whole
    wide: Whole
    full: Whole
    tally: Record
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
        new = tally.count
        made[new].width, made[new].height = wanted.ways[0, way], wanted.ways[1, way]
        made[new].area = wanted.ways[2, way]
        for word in range(len(wanted.free)):
            blocks.words[new, word] = wanted.words[way, word]
        if _is_wanted(wanted, blocks.words[new]) and _wastes_little(wanted, made[new]):
            _keep(wanted, blocks, BLANK, wanted.ways[3, way], NONE)
    least_w, least_h = wanted.ways[0].min(), wanted.ways[1].min()
    while tally.waiting and _goes_on(tally) and not (only_all and tally.full):
        row = _next(blocks)
        w, h = made[row].width, made[row].height
        made[row].as_high, blocks.high[h] = blocks.high[h], row
        made[row].as_wide, blocks.wide[w] = blocks.wide[w], row
        over = wanted.over - (w * h - made[row].area)
        for axis in (ALONG_X, ALONG_Y):
            along_x = axis == ALONG_X
            long, high, least = (w, h, least_w) if along_x else (h, w, least_h)
            last = blocks.high if along_x else blocks.wide
            least_high, most_high = max(0, high - over // least), high + over // long
            for across in range(least_high, min(len(last) - 1, most_high) + 1):
                _put_beside(wanted, blocks, axis, row, last[across], only_all)
    for row in range(tally.count):
        blocks.hashed[made[row].at] = NONE
    return _goes_on(tally)


@compile_loop
def _goes_on(tally: Record) -> bool:
    """Whether there is room for more blocks and some pair left to look at."""
    return bool(tally.left >= 0 and not tally.no_room)


@compile_loop
def _is_wanted(wanted: Target, words: Whole) -> bool:
    """Whether the demand has this many of each kind."""
    for w in range(len(words)):
        if (wanted.full[w] - words[w]) & wanted.free[w] != wanted.free[w]:
            return False
    return True


@compile_loop
def _wastes_little(wanted: Target, block: Record) -> bool:
    """Whether a block fits and wastes no more than allowed.

    Room beside it that no other blanks can take counts as waste, too.
    """
    w, h = block.width, block.height
    if w > wanted.size[0] or h > wanted.size[1]:
        return False
    w = wanted.size[0] - wanted.within_x[wanted.size[0] - w]
    h = wanted.size[1] - wanted.within_y[wanted.size[1] - h]
    return bool(w * h - block.area <= wanted.over)


@compile_loop
def _put_beside(
    wanted: Target, blocks: Blocks, axis: int, row: int, other: int, only_all: bool
) -> None:
    """Join a block with another, and with all earlier blocks of that one's height, or width."""
    made, words, tally = blocks.made, blocks.words, blocks.tally
    most = made[row].area + wanted.over
    while other != NONE and _goes_on(tally) and not (only_all and tally.full):
        tally.left -= 1
        new, partner = tally.count, other
        other = made[other].as_high if axis == ALONG_X else made[other].as_wide
        if axis == ALONG_X:
            w = made[row].width + made[partner].width
            h = max(made[row].height, made[partner].height)
        else:
            w = max(made[row].width, made[partner].width)
            h = made[row].height + made[partner].height
        if w * h > most + made[partner].area:
            continue
        for k in range(words.shape[1]):
            words[new, k] = words[row, k] + words[partner, k]
        if not _is_wanted(wanted, words[new]):
            continue
        made[new].width, made[new].height = w, h
        made[new].area = made[row].area + made[partner].area
        if not _wastes_little(wanted, made[new]) or not _keep(wanted, blocks, axis, row, partner):
            continue
        if only_all and not tally.full:
            _complete(wanted, blocks, new)


@compile_loop
def _keep(wanted: Target, blocks: Blocks, axis: int, first: int, second: int) -> bool:
    """Keep the last block unless one with the same blanks fits within its size."""
    made, tally = blocks.made, blocks.tally
    new = tally.count
    at = slot(blocks.hashed, blocks.words, new)
    other = blocks.hashed[at]
    while other != NONE:
        if made[other].width <= made[new].width and made[other].height <= made[new].height:
            return False
        other = made[other].same
    made[new].axis, made[new].first, made[new].second = axis, first, second
    made[new].same, made[new].at = blocks.hashed[at], at
    blocks.hashed[at] = new
    tally.count += 1
    _wait(wanted, blocks, new)
    if wanted.size[0] * wanted.size[1] - made[new].area <= wanted.over:
        blocks.full[tally.full] = new
        tally.full += 1
    if new + 3 == len(blocks.words) or tally.full == len(blocks.full):
        tally.no_room = True
    return True


@compile_loop
def _complete(wanted: Target, blocks: Blocks, row: int) -> None:
    """Join a block with one that has all the blanks it lacks, if there is one that fits."""
    made, words, tally = blocks.made, blocks.words, blocks.tally
    new = tally.count
    for k in range(words.shape[1]):
        words[new, k] = wanted.full[k] - wanted.free[k] - words[row, k]
    other = blocks.hashed[slot(blocks.hashed, words, new)]
    while other != NONE and not tally.full:
        wide_enough = made[row].width + made[other].width <= wanted.size[0]
        high_enough = made[row].height + made[other].height <= wanted.size[1]
        for axis in (ALONG_X, ALONG_Y):
            if wide_enough if axis == ALONG_X else high_enough:
                made[new].axis, made[new].first, made[new].second = axis, row, other
                blocks.full[0] = new
                tally.full = 1
        other = made[other].same


@compile_loop
def _wait(wanted: Target, blocks: Blocks, row: int) -> None:
    """Put a block on the heap, ranked by the share of its own area that it wastes.

    Of blocks that waste about the same share, the larger comes first: it is nearer to a full sheet.
    """
    made, waiting, keys, tally = blocks.made, blocks.waiting, blocks.keys, blocks.tally
    area, whole = made[row].area, wanted.size[0] * wanted.size[1]
    waste = made[row].width * made[row].height - area
    key = waste * _WASTE_STEPS // area - area * _AREA_STEPS // whole
    at = tally.waiting
    tally.waiting += 1
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
    tally.waiting -= 1
    last, end = waiting[tally.waiting], tally.waiting
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
