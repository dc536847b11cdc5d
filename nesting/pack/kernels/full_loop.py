"""Full sheets: blocks of blanks without waste, listed cell by cell, and exact covers by them.

Compiled as ``compile_loop`` says.
"""

from typing import NamedTuple

import numpy as np

from nesting.arrays import Record, Records, Whole, whole_fields
from nesting.pack.kernels.compiled import compile_loop, random_below
from nesting.pack.kernels.listing_loop import ALONG_X, ALONG_Y, BLANK

#: The axis and the two blocks that a block is joined of, or its way to lie; ``last`` is the last of
#: the members of a group.
FULL_BLOCK = whole_fields("axis", "first", "second", "last")
#: The blocks of a cell, in this order: from ``begin`` groups along y, from ``single`` blanks, from
#: ``along_x`` groups along x, up to ``end``.
CELL = whole_fields("begin", "single", "along_x", "end")
#: The numbers of blocks and of pairs looked at, and whether pairs or blocks had to be left out.
FULL_TALLY = whole_fields("count", "pairs", "some_left_out")
NONE = -1
#: How many times as many pairs are looked at for the sheet as for any other cell.
_FOR_SHEET = 100


class Lengths(NamedTuple):
    """The lengths along one axis of which blocks may be.

    Column ``k`` of ``pairs`` has two of them; the sums of columns ``starts[i]`` to ``starts[i + 1]``
    come to length ``i``. The last is that of the sheet.
    """

    pairs: Whole
    starts: Whole


class FullBlocks(NamedTuple):
    """The blocks so far, and the ways that a blank may lie, each with its cell and its counts.

    ``full`` has the free bits of each word and the largest counts, ``free`` the free bits.
    ``hashed`` finds the blocks of the current cell by their counts.
    """

    made: Records
    words: Whole
    hashed: Whole
    cells: Records
    ways: Whole
    ways_words: Whole
    full: Whole
    free: Whole
    tally: Record
    chance: Whole


@compile_loop
def list_full_sheets(across: Lengths, along: Lengths, blocks: FullBlocks, most: int) -> None:
    """List the blocks of every cell up to the sheet, of those with the same blanks only the first.

    A cell with more than ``most`` pairs of blocks to join gets so many at random.
    """
    cells, tally = blocks.cells, blocks.tally
    blocks.hashed.fill(NONE)
    tally.count = tally.pairs = tally.some_left_out = 0
    last_i, last_j = cells.shape[0] - 1, cells.shape[1] - 1
    for i in range(1, last_i + 1):
        for j in range(1, last_j + 1):
            cell = cells[i, j]
            pairs = most * _FOR_SHEET if i == last_i and j == last_j else most
            cell.begin = tally.count
            _join(blocks, along, ALONG_Y, i, j, pairs)
            cell.single = tally.count
            _place_blanks(blocks, i, j)
            cell.along_x = tally.count
            _join(blocks, across, ALONG_X, i, j, pairs)
            cell.end = tally.count
    if tally.count == len(blocks.made):
        tally.some_left_out = 1


@compile_loop
def _place_blanks(blocks: FullBlocks, i: int, j: int) -> None:
    """Put the blanks that fill a cell there."""
    made, words, tally = blocks.made, blocks.words, blocks.tally
    for way in range(blocks.ways.shape[1]):
        if blocks.ways[0, way] == i and blocks.ways[1, way] == j and tally.count < len(made):
            new = tally.count
            words[new] = blocks.ways_words[way]
            made[new].axis, made[new].first, made[new].second = BLANK, blocks.ways[2, way], NONE
            made[new].last = new
            tally.count += 1


@compile_loop
def _firsts(blocks: FullBlocks, axis: int, i: int, j: int, part: int) -> tuple[int, int]:
    """The blocks that may come first in a group: those that are no group along its axis."""
    cell = blocks.cells[part, j] if axis == ALONG_X else blocks.cells[i, part]
    return (cell.begin, cell.along_x) if axis == ALONG_X else (cell.single, cell.end)


@compile_loop
def _seconds(blocks: FullBlocks, axis: int, i: int, j: int, part: int) -> tuple[int, int]:
    """The blocks that may come second in a group."""
    cell = blocks.cells[part, j] if axis == ALONG_X else blocks.cells[i, part]
    return cell.begin, cell.end


@compile_loop
def _join(blocks: FullBlocks, lengths: Lengths, axis: int, i: int, j: int, most: int) -> None:
    """Join blocks along an axis to groups that fill a cell."""
    length = i if axis == ALONG_X else j
    every = 0
    for k in range(lengths.starts[length], lengths.starts[length + 1]):
        first, first_end = _firsts(blocks, axis, i, j, lengths.pairs[0, k])
        second, second_end = _seconds(blocks, axis, i, j, lengths.pairs[1, k])
        every += (first_end - first) * (second_end - second)
    base = blocks.cells[i, j].begin
    if every > most:
        blocks.tally.some_left_out = 1
    for k in range(lengths.starts[length], lengths.starts[length + 1]):
        first, first_end = _firsts(blocks, axis, i, j, lengths.pairs[0, k])
        second, second_end = _seconds(blocks, axis, i, j, lengths.pairs[1, k])
        pairs = (first_end - first) * (second_end - second)
        if pairs and every > most:
            for _ in range(1 + int(most * (pairs / every))):
                one = first + random_below(blocks.chance, first_end - first)
                other = second + random_below(blocks.chance, second_end - second)
                _keep(blocks, axis, one, other, base)
        elif pairs:
            _join_each(blocks, axis, first, first_end, second, second_end, base)


@compile_loop
def _join_each(
    blocks: FullBlocks,
    axis: int,
    first: int,
    first_end: int,
    second: int,
    second_end: int,
    base: int,
) -> None:
    """Join all blocks of two cells; the members of each group only in their order from last to first."""
    for one in range(first, first_end):
        if blocks.tally.count == len(blocks.made):
            return
        for other in range(second, second_end):
            if _last_member(blocks.made[other], axis, other) <= one:
                _keep(blocks, axis, one, other, base)


@compile_loop
def _last_member(block: Record, axis: int, row: int) -> int:
    """The last member of a group along an axis; of a group along the other axis, or a blank, itself."""
    return int(block.last if block.axis == axis else row)


@compile_loop
def _keep(blocks: FullBlocks, axis: int, one: int, other: int, base: int) -> None:
    """Keep two blocks as a group if the demand has so many and its cell none with the same blanks."""
    made, words, tally = blocks.made, blocks.words, blocks.tally
    tally.pairs += 1
    new = tally.count
    if new == len(made):
        return
    for k in range(words.shape[1]):
        words[new, k] = words[one, k] + words[other, k]
        if (blocks.full[k] - words[new, k]) & blocks.free[k] != blocks.free[k]:
            return
    at = _slot(blocks.hashed, words, words[new], base)
    if blocks.hashed[at] >= base:
        return
    blocks.hashed[at] = new
    made[new].axis, made[new].first, made[new].second = axis, one, other
    made[new].last = max(one, _last_member(made[other], axis, other))
    tally.count += 1


@compile_loop
def _slot(hashed: Whole, rows: Whole, words: Whole, base: int) -> int:
    """The slot of some counts in the hash table; rows before ``base`` count as none."""
    mixed = np.int64(0)
    for k in range(len(words)):
        mixed = (mixed * 1000003 + words[k] % 2147483629) % 2147483647
    at = mixed & (len(hashed) - 1)
    while hashed[at] >= base:
        same = True
        for k in range(len(words)):
            if rows[hashed[at], k] != words[k]:
                same = False
        if same:
            break
        at = (at + 1) & (len(hashed) - 1)
    return int(at)


class Cover(NamedTuple):
    """An exact cover: so many of ``rows`` that come to the demand, whose counts are ``left[0]``.

    For each number of rows chosen, ``left`` is what is left of the demand, ``lists`` the rows that
    fit into it, ``counts`` their number, ``at`` the next to be tried and ``kinds`` the kind that it
    has to hold; ``chosen`` are the rows. ``order`` has the kinds, those in the fewest rows first.
    """

    rows: Whole
    order: Whole
    word: Whole
    shift: Whole
    mask: int
    free: Whole
    hashed: Whole
    left: Whole
    lists: Whole
    counts: Whole
    at: Whole
    kinds: Whole
    chosen: Whole


@compile_loop
def cover_exactly(cover: Cover, steps: int) -> int:
    """Choose rows that come to the demand exactly, depth first.

    What holds the kind that is in the fewest rows comes first. Returns the steps left: 0 or more
    where it has tried everything, or has ``chosen``.
    """
    deepest = len(cover.chosen) - 1
    for row in range(len(cover.rows)):
        cover.hashed[_slot(cover.hashed, cover.rows, cover.rows[row], 0)] = row
    _set_kind(cover, 0)
    depth = 0
    while depth >= 0 and steps >= 0:
        if depth == deepest:
            row = cover.hashed[_slot(cover.hashed, cover.rows, cover.left[depth], 0)]
            cover.chosen[depth] = row
            if row != NONE:
                break
            depth -= 1
        elif cover.at[depth] == cover.counts[depth]:
            depth -= 1
        else:
            row = cover.lists[depth, cover.at[depth]]
            cover.at[depth] += 1
            if _holds(cover, cover.rows[row], cover.kinds[depth]):
                steps -= 1 + cover.counts[depth] // 16
                cover.chosen[depth] = row
                depth += 1
                _go_on(cover, depth, row)
    return steps


@compile_loop
def _holds(cover: Cover, words: Whole, kind: int) -> bool:
    """Whether some counts have any of a kind."""
    return bool((words[cover.word[kind]] >> cover.shift[kind]) & cover.mask)


@compile_loop
def _set_kind(cover: Cover, depth: int) -> None:
    """Look up the kind in the fewest rows of which something is left."""
    for kind in cover.order:
        if _holds(cover, cover.left[depth], kind):
            cover.kinds[depth] = kind
            break


@compile_loop
def _go_on(cover: Cover, depth: int, row: int) -> None:
    """Take a row off what is left, and list the rows that still fit into it."""
    left, rows, free = cover.left, cover.rows, cover.free
    for k in range(len(free)):
        left[depth, k] = left[depth - 1, k] - rows[row, k]
    cover.at[depth] = cover.counts[depth] = 0
    if depth == len(cover.chosen) - 1:
        return
    for n in range(cover.counts[depth - 1]):
        other = cover.lists[depth - 1, n]
        fits = True
        for k in range(len(free)):
            if ((left[depth, k] | free[k]) - rows[other, k]) & free[k] != free[k]:
                fits = False
        if fits:
            cover.lists[depth, cover.counts[depth]] = other
            cover.counts[depth] += 1
    _set_kind(cover, depth)
