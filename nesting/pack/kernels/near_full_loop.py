"""Nearly full sheets: blocks of blanks with little waste, joined in pairs, cell by cell.

Compiled as ``compile_loop`` says.
"""

from typing import NamedTuple

import numpy as np

from nesting.arrays import Record, Records, Whole, whole_fields
from nesting.pack.kernels.compiled import compile_loop, compile_making_arrays, random_below
from nesting.pack.kernels.listing_loop import ALONG_X, ALONG_Y, BLANK, mixed

#: The axis and the two blocks that a block is joined of, or its way to lie; its size; its slot.
BLOCK = whole_fields("axis", "first", "second", "width", "height", "slot")
#: The blocks of a cell, in this order: from ``begin`` groups along y, from ``single`` blanks, from
#: ``along_x`` groups along x, up to ``end``; the least area of blanks that they may have, and the
#: most that one has; the next cells to the left and below that have any.
CELL = whole_fields("begin", "single", "along_x", "end", "least", "most", "left", "below")
#: The numbers of blocks, and of pairs of blocks and of cells looked at, and whether pairs or blocks had to be left out.
TALLY = whole_fields("count", "pairs", "cells", "some_left_out")
NONE = -1
#: How many times as many pairs are looked at for the sheet as for any other cell.
_FOR_SHEET = 100


class Lengths(NamedTuple):
    """The lengths along one axis that blocks may have, from 0 up.

    ``rooms[i]`` is the least length of sheet that a block of ``lengths[i]`` takes up: other blanks
    cannot have more of the rest. ``at[k]`` is the number of length ``k``, 0 for none.
    """

    lengths: Whole
    rooms: Whole
    at: Whole


class Blocks(NamedTuple):
    """The blocks so far, and the ways that a blank may lie.

    ``areas`` and ``words`` have area and counts of their blanks. The last row of each array stays free.

    ``ways`` has the cell, number and area of each way, ``ways_words`` the counts. ``full`` has the
    free bits of each word and the largest counts, ``free`` the free bits. ``hashed`` finds blocks by
    their counts. ``parts`` has the pairs of cells that come to the cell at hand. ``beside`` has the
    least waste beside a block of each cell.
    """

    made: Records
    areas: Whole
    words: Whole
    hashed: Whole
    cells: Records
    x: Lengths
    y: Lengths
    ways: Whole
    ways_words: Whole
    full: Whole
    free: Whole
    tally: Record
    chance: Whole
    parts: Whole
    beside: Whole


@compile_making_arrays
def reach(within: Whole, lengths: Whole, demand: Whole, endless: bool) -> None:
    """Work out the most of each length that some of the blanks can take side by side.

    ``lengths`` has the one or two lengths of each kind, 0 for none. If ``endless``, as if there were
    more of each kind that is asked for than can be used.
    """
    sums = np.zeros(len(within), dtype=np.int64)
    sums[0] = 1
    for kind in range(len(demand)):
        for _ in range(min(1, demand[kind]) if endless else demand[kind]):
            for step in range(1, len(within)):
                k = step if endless else len(within) - step
                for length in lengths[kind]:
                    if 0 < length <= k and sums[k - length]:
                        sums[k] = 1
    last = 0
    for k in range(len(within)):
        if sums[k]:
            last = k
        within[k] = last


@compile_loop
def list_near_full(blocks: Blocks, over: int, times: int, most: int, i: int, pause: int) -> int:
    """List the blocks that waste no more than ``over`` of the sheet, cell by cell up to the sheet.

    They also waste no more than ``times`` the share of their area that the sheet may waste; 0 for no
    such limit. Of blocks with the same blanks, one that another fits into is left out. A cell with more than
    ``most`` pairs of blocks to join gets so many at random. It begins with the cells of width ``i``,
    and pauses after ``pause`` pairs; returns the width to go on with.
    """
    cells, tally, x, y = blocks.cells, blocks.tally, blocks.x, blocks.y
    paused, whole = tally.pairs + pause, x.rooms[-1] * y.rooms[-1]
    while i < len(x.lengths) and tally.pairs < paused:
        for j in range(1, len(y.lengths)):
            cell = cells[i, j]
            cell.begin = cell.single = cell.along_x = cell.end = tally.count
            cell.left = i - 1 if cells[i - 1, j].most else cells[i - 1, j].left
            cell.below = j - 1 if cells[i, j - 1].most else cells[i, j - 1].below
            room = x.rooms[i] * y.rooms[j]
            cell.least = x.lengths[i] * y.lengths[j] - over + blocks.beside[i, j]
            if times:
                cell.least = max(cell.least, room - over * room * times // whole)
            if x.lengths[i] * y.lengths[j] < cell.least:
                continue
            pairs = most * _FOR_SHEET if room == whole else most
            found = _parts(blocks, y, x, ALONG_Y, i, j)
            if found:
                _join(blocks, ALONG_Y, i, j, found, pairs)
            cell.single = tally.count
            for way in range(blocks.ways.shape[1]):
                if blocks.ways[0, way] == i and blocks.ways[1, way] == j:
                    for k in range(blocks.words.shape[1]):
                        blocks.words[tally.count, k] = blocks.ways_words[way, k]
                    _keep(blocks, BLANK, blocks.ways[2, way], NONE, blocks.ways[3, way], i, j)
            cell.along_x = tally.count
            found = _parts(blocks, x, y, ALONG_X, i, j)
            if found:
                _join(blocks, ALONG_X, i, j, found, pairs)
            cell.end = tally.count
        i += 1
    return i


@compile_loop
def _parts(blocks: Blocks, along: Lengths, across: Lengths, axis: int, i: int, j: int) -> int:
    """Find the pairs of cells whose blocks may be joined along an axis to fill a cell; their number.

    One block takes up the whole length across the axis, the other may be shorter.
    """
    cells, parts, tally = blocks.cells, blocks.parts, blocks.tally
    length, high = (i, j) if axis == ALONG_X else (j, i)
    least = cells[i, j].least
    may_waste = along.lengths[length] * across.lengths[high] - least
    found = 0
    part = cells[i, j].left if axis == ALONG_X else cells[i, j].below
    while part:
        high_one = cells[part, high] if axis == ALONG_X else cells[high, part]
        rest = along.at[along.lengths[length] - along.lengths[part]]
        low = high if rest else 0
        tally.cells += 1
        while low:
            tally.cells += 1
            lost = across.lengths[high] - across.lengths[low]
            if lost * along.lengths[rest] > may_waste:
                break
            low_one = cells[rest, low] if axis == ALONG_X else cells[low, rest]
            if high_one.most + low_one.most >= least:
                parts[0, found], parts[1, found], parts[2, found] = part, rest, low
                found += 1
            low = low_one.below if axis == ALONG_X else low_one.left
        part = high_one.left if axis == ALONG_X else high_one.below
    return found


@compile_loop
def _join(blocks: Blocks, axis: int, i: int, j: int, found: int, most: int) -> None:
    """Join the blocks of some pairs of cells, so many at random if they are too many."""
    every = _join_parts(blocks, axis, i, j, found, 0.0)
    has_room = blocks.tally.count + 1 < len(blocks.made)
    if every > most or not has_room:
        blocks.tally.some_left_out = 1
    if every and has_room:
        _join_parts(blocks, axis, i, j, found, min(1.0, most / every))


@compile_loop
def _join_parts(blocks: Blocks, axis: int, i: int, j: int, found: int, share: float) -> int:
    """Join a share of all pairs of blocks of some pairs of cells; the number of all pairs.

    What comes first in a group is no group along its axis itself.
    """
    every, high = 0, (j if axis == ALONG_X else i)
    for k in range(2 * found):
        part, rest, low = blocks.parts[0, k // 2], blocks.parts[1, k // 2], blocks.parts[2, k // 2]
        first = blocks.cells[part, high] if axis == ALONG_X else blocks.cells[high, part]
        second = blocks.cells[rest, low] if axis == ALONG_X else blocks.cells[low, rest]
        if k % 2:
            first, second = second, first
        begin = first.begin if axis == ALONG_X else first.single
        end = first.along_x if axis == ALONG_X else first.end
        pairs = (end - begin) * (second.end - second.begin)
        if not pairs or (k % 2 and low == high):
            continue
        every += pairs
        if share == 1.0:
            _join_all(blocks, axis, begin, end, second, i, j)
        elif share:
            _join_some(blocks, axis, begin, end, second, i, j, 1 + int(share * pairs))
    return every


@compile_loop
def _join_all(
    blocks: Blocks, axis: int, begin: int, end: int, second: Record, i: int, j: int
) -> None:
    """Join all blocks with all of another cell; the members of a group only from last to first."""
    made, areas, words, full, free = (
        blocks.made,
        blocks.areas,
        blocks.words,
        blocks.full,
        blocks.free,
    )
    least, most, new = blocks.cells[i, j].least, second.most, blocks.tally.count
    groups, groups_end = (second.begin, second.single)
    if axis == ALONG_X:
        groups, groups_end = (second.along_x, second.end)
    blocks.tally.pairs += (end - begin) * (second.end - second.begin)
    for one in range(begin, end):
        needed = least - areas[one]
        if needed > most or new + 1 == len(made):
            continue
        for other in range(second.begin, second.end):
            if areas[other] < needed:
                continue
            wanted = True
            for k in range(words.shape[1]):
                words[new, k] = words[one, k] + words[other, k]
                if (full[k] - words[new, k]) & free[k] != free[k]:
                    wanted = False
                    break
            if wanted and (made[other].first if groups <= other < groups_end else other) <= one:
                _keep(blocks, axis, one, other, areas[one] + areas[other], i, j)
                new = blocks.tally.count


@compile_loop
def _join_some(
    blocks: Blocks, axis: int, begin: int, end: int, second: Record, i: int, j: int, pairs: int
) -> None:
    """Join some pairs of blocks of two cells."""
    words, full, free = blocks.words, blocks.full, blocks.free
    blocks.tally.pairs += pairs
    for _ in range(pairs):
        one = begin + random_below(blocks.chance, end - begin)
        other = second.begin + random_below(blocks.chance, second.end - second.begin)
        area, new = blocks.areas[one] + blocks.areas[other], blocks.tally.count
        wanted = area >= blocks.cells[i, j].least
        for k in range(words.shape[1]):
            words[new, k] = words[one, k] + words[other, k]
            wanted = wanted and (full[k] - words[new, k]) & free[k] == free[k]
        if wanted:
            _keep(blocks, axis, one, other, area, i, j)


@compile_loop
def _keep(blocks: Blocks, axis: int, first: int, second: int, area: int, i: int, j: int) -> None:
    """Keep the next block unless one with the same blanks fits into it."""
    made, words, hashed, new = blocks.made, blocks.words, blocks.hashed, blocks.tally.count
    if new + 1 == len(made):
        blocks.tally.some_left_out = 1
        return
    width, height = blocks.x.lengths[i], blocks.y.lengths[j]
    at = mixed(words[new], len(hashed))
    while hashed[at] != NONE:
        known = hashed[at]
        same = made[known].width <= width and made[known].height <= height
        for k in range(words.shape[1]):
            if words[known, k] != words[new, k]:
                same = False
        if same:
            return
        at = (at + 1) & (len(hashed) - 1)
    hashed[at] = new
    block = made[new]
    block.axis, block.first, block.second = axis, first, second
    block.width, block.height, block.slot = width, height, at
    blocks.areas[new] = area
    blocks.cells[i, j].most = max(blocks.cells[i, j].most, area)
    blocks.tally.count += 1
