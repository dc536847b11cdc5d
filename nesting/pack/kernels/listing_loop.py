"""The enumeration of patterns, built up from single blanks, each pattern once.

Compiled as ``compile_loop`` says.

A pattern is a row of ``words``, which hold its count of each kind in bit fields. The highest bit of
each field is kept free, so that one operation adds or compares all fields of a word.
"""

from typing import NamedTuple

import numpy as np

from nesting.arrays import Record, Records, Whole, whole_fields
from nesting.pack.kernels.compiled import compile_loop, compile_making_arrays

#: Bits of a word that are used: sums of two words stay positive.
BITS = 60
#: How a pattern is made: the axis and the two patterns that it is joined of, or its blank; its cell;
#: the previous pattern with the same counts.
MADE = whole_fields("axis", "first", "second", "cell_x", "cell_y", "same")
BLANK, ALONG_X, ALONG_Y = range(3)
#: The numbers of patterns, of those not dominated in their cell, and of pairs left to look at.
TALLY = whole_fields("count", "live", "left")
#: Less than any value.
NOTHING = 1 - (1 << 62)


class Fields(NamedTuple):
    """For each kind its bit field, its largest count, and the value of one blank by each aim.

    ``value`` has a row for each aim. ``free`` has the free bits of each word, ``full`` the free
    bits and the largest counts.
    """

    word: Whole
    shift: Whole
    most: Whole
    value: Whole
    mask: int
    full: Whole
    free: Whole


class Grid(NamedTuple):
    """The cells of the table: the least value of a pattern there by each aim, and what is listed so far.

    ``needed`` is that least value where a pattern leaves all that the first aim counts, ``left`` that
    by the first aim for each stock that it leaves; a blank of a kind lowers the number of the stock by
    its ``stride``. Column ``k`` of ``pairs`` has two points, the lower first; the sums of columns ``starts[i]`` to
    ``starts[i + 1]`` come to point ``i``. ``begin`` has the first and the last entry of each cell
    in ``live``, ``most`` the highest value by the first aim there; the other two have the highest
    value in the cells of that width up to that height, and of that height up to that width.
    """

    needed: Whole
    left: Whole
    stride: Whole
    pairs_x: Whole
    starts_x: Whole
    pairs_y: Whole
    starts_y: Whole
    places: Whole
    begin: Whole
    most: Whole
    most_low: Whole
    most_left: Whole


class Listed(NamedTuple):
    """The patterns so far, and their values by each aim, in rows.

    ``left`` has the number of the stock that each leaves of what the first aim counts. ``hashed``
    finds the last pattern with given counts: its number and 1, or 0 where there is none.
    """

    words: Whole
    worth: Whole
    left: Whole
    made: Records
    hashed: Whole
    live: Whole
    tally: Record


@compile_loop
def list_cells(grid: Grid, fields: Fields, listed: Listed, cell: int, pause: int) -> int:
    """List the patterns of all cells from one on, width by width, after all smaller ones.

    A pattern belongs to the smallest cell that holds it, if it is worth the least value there. Ends
    when fewer than ``pause`` pairs, 0 or more, are left to look at, and returns the number of the cell
    at which to continue. Fewer than 0 are left where there are too many patterns.
    """
    tally = listed.tally
    heights = grid.needed.shape[2] - 1
    while cell < (grid.needed.shape[1] - 1) * heights and tally.left >= pause:
        i, j = 1 + cell // heights, 1 + cell % heights
        start, needed = tally.count, grid.needed[0, i, j]
        _place_blanks(grid, fields, listed, i, j)
        for axis in (ALONG_X, ALONG_Y):
            along_x = axis == ALONG_X
            point, across = (i, j) if along_x else (j, i)
            pairs = grid.pairs_x if along_x else grid.pairs_y
            starts = grid.starts_x if along_x else grid.starts_y
            most = grid.most[:, j] if along_x else grid.most[i]
            beside = grid.most_low[:, j] if along_x else grid.most_left[i]
            # Most cells have no pattern: looking here takes a tenth of the time that calls would.
            for k in range(starts[point], starts[point + 1]):
                low, high = pairs[0, k], pairs[1, k]
                if most[low] + beside[high] >= needed:
                    _join(grid, fields, listed, axis, low, high, i, j, across + 1)
                if low != high and most[high] + beside[low] >= needed:
                    _join(grid, fields, listed, axis, high, low, i, j, across)
        grid.begin[i, j, 0] = tally.live
        if tally.count > start:
            _keep_from(fields, listed, start)
            grid.most[i, j] = listed.worth[0, listed.live[grid.begin[i, j, 0]]]
        grid.begin[i, j, 1] = tally.live
        grid.most_low[i, j] = max(grid.most[i, j], grid.most_low[i, j - 1])
        grid.most_left[i, j] = max(grid.most[i, j], grid.most_left[i - 1, j])
        cell += 1
    return cell


@compile_loop
def _place_blanks(grid: Grid, fields: Fields, listed: Listed, i: int, j: int) -> None:
    """List the single blanks of a cell; the rows of ``places`` are kind, cell and blanks held."""
    places, count = grid.places, listed.tally.count
    for p in range(places.shape[1]):
        if places[1, p] != i or places[2, p] != j:
            continue
        kind, holds = places[0, p], places[3, p]
        for w in range(listed.words.shape[1]):
            listed.words[count, w] = 0
        listed.words[count, fields.word[kind]] = holds << fields.shift[kind]
        for aim in range(len(listed.worth)):
            listed.worth[aim, count] = holds * fields.value[aim, kind]
        listed.left[count] = len(grid.left) - 1 - holds * grid.stride[kind]
        if _is_worth_it(grid, listed, count, i, j) and _suffices(grid, listed, count, i, j):
            count = _keep(listed, count, BLANK, p, p, i, j)
    listed.tally.count = count


@compile_loop
def _join(
    grid: Grid,
    fields: Fields,
    listed: Listed,
    axis: int,
    one: int,
    two: int,
    i: int,
    j: int,
    end: int,
) -> None:
    """Join patterns of length ``one`` and full cross size with patterns of length ``two``.

    The cross size of the latter is less than ``end``.
    """
    along_x = axis == ALONG_X
    x, y = (one, j) if along_x else (i, one)
    needed = grid.needed[0, i, j]
    listed.tally.left -= end
    for across in range(1, end):
        other_x, other_y = (two, across) if along_x else (across, two)
        if grid.most[x, y] + grid.most[other_x, other_y] >= needed:
            first, second = grid.begin[x, y], grid.begin[other_x, other_y]
            _combine(grid, fields, listed, first, second, axis, i, j)


@compile_loop
def _is_worth_it(grid: Grid, listed: Listed, row: int, i: int, j: int) -> bool:
    """Whether a row is worth the least value of a cell by each aim."""
    enough = True
    for aim in range(len(listed.worth)):
        if listed.worth[aim, row] < grid.needed[aim, i, j]:
            enough = False
    return enough


@compile_loop
def _suffices(grid: Grid, listed: Listed, row: int, i: int, j: int) -> bool:
    """Whether a row is worth enough by the first aim with the stock that it leaves for the rest."""
    return bool(listed.worth[0, row] >= grid.left[listed.left[row], i, j])


@compile_loop
def _combine(
    grid: Grid,
    fields: Fields,
    listed: Listed,
    first: Whole,
    second: Whole,
    axis: int,
    i: int,
    j: int,
) -> None:
    """Join each pattern of one cell with each of another, in order of falling value."""
    words, worth, live, tally = listed.words, listed.worth, listed.live, listed.tally
    needed = grid.needed[0, i, j]
    for p in range(first[0], first[1]):
        a = live[p]
        start = p if first[0] == second[0] else second[0]
        if worth[0, a] + worth[0, live[start]] < needed or tally.left < 0:
            return
        for q in range(start, second[1]):
            b = live[q]
            tally.left -= 1
            if worth[0, a] + worth[0, b] < needed or tally.left < 0:
                break
            count = tally.count
            for aim in range(len(worth)):
                worth[aim, count] = worth[aim, a] + worth[aim, b]
            if not _is_worth_it(grid, listed, count, i, j):
                continue
            for w in range(words.shape[1]):
                words[count, w] = words[a, w] + words[b, w]
            listed.left[count] = listed.left[a] + listed.left[b] - (len(grid.left) - 1)
            if _clip(grid, fields, listed, count) and not _is_worth_it(grid, listed, count, i, j):
                continue
            if _suffices(grid, listed, count, i, j):
                tally.count = _keep(listed, count, axis, a, b, i, j)


@compile_loop
def _clip(grid: Grid, fields: Fields, listed: Listed, row: int) -> bool:
    """Clip the counts of a row to the demand; whether any was above it."""
    words = listed.words
    beyond = False
    for w in range(words.shape[1]):
        if (fields.full[w] - words[row, w]) & fields.free[w] != fields.free[w]:
            beyond = True
    if beyond:
        for k in range(len(fields.word)):
            word, shift = fields.word[k], fields.shift[k]
            over = ((words[row, word] >> shift) & fields.mask) - fields.most[k]
            if over > 0:
                words[row, word] -= over << shift
                listed.left[row] += over * grid.stride[k]
                for aim in range(len(listed.worth)):
                    listed.worth[aim, row] -= over * fields.value[aim, k]
    return beyond


@compile_loop
def _keep(listed: Listed, row: int, axis: int, first: int, second: int, i: int, j: int) -> int:
    """Keep a new row unless a cell no larger has the same counts; return the number of rows."""
    made, tally = listed.made, listed.tally
    at = _slot(listed.hashed, listed.words, row)
    latest = other = listed.hashed[at] - 1
    while other >= 0:
        if made[other].cell_x <= i and made[other].cell_y <= j:
            return row
        other = made[other].same
    made[row].axis, made[row].first, made[row].second = axis, first, second
    made[row].cell_x, made[row].cell_y = i, j
    made[row].same = latest
    listed.hashed[at] = row + 1
    if row + 2 == len(listed.words):
        tally.left = -1
        return row
    return row + 1


@compile_loop
def mixed(words: Whole, slots: int) -> int:
    """The slot of a hash table, whose number of slots is a power of two, at which counts are looked for.

    The last factor keeps counts that differ by little far apart, as what is taken stands in runs.
    """
    total = np.int64(0)
    for w in range(len(words)):
        total = (total * 1000003 + words[w] % 2147483629) % 2147483647
    return int(total * 1103515245 % 2147483647 & (slots - 1))


@compile_loop
def _slot(hashed: Whole, words: Whole, row: int) -> int:
    """The slot of a row's counts in the hash table, taken or free."""
    at = mixed(words[row], len(hashed))
    while hashed[at]:
        same = True
        for w in range(words.shape[1]):
            if words[hashed[at] - 1, w] != words[row, w]:
                same = False
        if same:
            break
        at = (at + 1) & (len(hashed) - 1)
    return int(at)


@compile_making_arrays
def _keep_from(fields: Fields, listed: Listed, start: int) -> None:
    """Add to ``live`` what is not dominated of the rows from ``start`` on."""
    keep_largest(fields, listed, np.arange(start, listed.tally.count))


@compile_making_arrays
def keep_largest(fields: Fields, listed: Listed, rows: Whole) -> None:
    """Add to ``live`` the rows that no other dominates, in order of falling value by the first aim."""
    words, live, tally, free = listed.words, listed.live, listed.tally, fields.free
    base = tally.live
    for row in rows[np.argsort(-listed.worth[0, rows], kind="mergesort")]:
        contained = False
        for p in range(base, tally.live):
            contained = True
            for w in range(words.shape[1]):
                if ((words[live[p], w] | free[w]) - words[row, w]) & free[w] != free[w]:
                    contained = False
            if contained:
                break
        tally.left -= (tally.live - base) >> 3
        if tally.left < 0:
            return
        if not contained:
            live[tally.live] = row
            tally.live += 1
