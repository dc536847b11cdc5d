"""The few best patterns of each cell that keep within a demand. Compiled as ``compile_loop`` says."""

from typing import NamedTuple

import numpy as np

from nesting.arrays import Records, Whole, whole_fields
from nesting.pack.kernels.compiled import Cuts, compile_loop
from nesting.pack.kernels.listing_loop import ALONG_X, ALONG_Y, BLANK, Fields

#: How a pattern is made: the axis and the two patterns that it is joined of, or its blank.
JOINED = whole_fields("axis", "first", "second")


class Best(NamedTuple):
    """The best patterns of each cell, best first: their counts, their values, how they are made.

    Cells are numbered row by row. All have room for equally many patterns; ``number`` says how many a
    cell has. ``top`` has the value of its first, by row and column, and ``sideways`` is the transpose,
    so that cuts along either axis read memory in order. ``joined`` is the pattern being looked at.
    """

    words: Whole
    worth: Whole
    made: Records
    number: Whole
    top: Whole
    sideways: Whole
    joined: Whole


@compile_loop
def find_best(  # noqa: C901, PLR0912 - calls for every cell would double the time
    best: Best,
    fields: Fields,
    places: Whole,
    cuts: Cuts,
    most: int,
    begin: int,
    beyond: int,
) -> int:
    """Find the best patterns of all cells, ``most`` each, by the recursion of ``fill_table``.

    Only in the rows from ``begin`` up to, not including, ``beyond``; returns how many patterns were
    joined. A cell takes over the patterns of the next smaller cell along each axis, and for every
    cut joins those of both sides. What they have beyond the demand is clipped. Each column of
    ``places`` is a blank or a group of circles: its kind, its cell, how many it holds; in the order
    of the cells.
    """
    looked_at = 0
    splits_x, starts_x, splits_y, starts_y, open_x, open_y = cuts
    words, worths, number, joined = best.words, best.worth, best.number, best.joined
    full, free, room = fields.full, fields.free, worths.shape[1]
    columns = best.top.shape[1]
    each = 0  # how many kinds a word has fields for
    while each < len(fields.word) and fields.word[each] == 0:
        each += 1
    at = np.searchsorted(places[1], begin * columns)
    for i in range(begin, beyond):
        for j in range(1, columns):
            cell = i * columns + j
            number[cell] = 0
            least = 0  # the value above which the cell takes a pattern
            while at < places.shape[1] and places[1, at] == cell:
                least = max(least, _place(best, fields, most, places, at, cell))
                at += 1
            for axis in (ALONG_X, ALONG_Y):
                along_x = axis == ALONG_X
                if (j >= open_x) if along_x else (i >= open_y):
                    continue
                # The cell at point p of the same height, or width, is ``first + p * step``.
                point, first, step = (i, j, columns) if along_x else (j, i * columns, 1)
                for n in range(number[cell - step]):
                    worth = worths[cell - step, n]
                    if worth <= least:
                        break
                    for w in range(len(joined)):
                        joined[w] = words[cell - step, n, w]
                    made = best.made[cell - step, n]
                    least = _keep(best, most, cell, worth, made.axis, made.first, made.second)
                pairs = splits_x if along_x else splits_y
                starts = starts_x if along_x else starts_y
                tops = best.sideways[j] if along_x else best.top[i]
                for k in range(starts[point], starts[point + 1]):
                    if tops[pairs[0, k]] + tops[pairs[1, k]] <= least:
                        continue
                    low, high = first + pairs[0, k] * step, first + pairs[1, k] * step
                    for p in range(number[low]):
                        for q in range(number[high]):
                            worth = worths[low, p] + worths[high, q]
                            if worth <= least:
                                break
                            looked_at += 1
                            for w in range(len(joined)):
                                joined[w] = words[low, p, w] + words[high, q, w]
                                if (full[w] - joined[w]) & free[w] != free[w]:
                                    worth -= _clip(fields, joined, w, w * each)
                            if worth > least:
                                one, two = low * room + p, high * room + q
                                least = _keep(best, most, cell, worth, axis, one, two)
            best.top[i, j] = best.sideways[j, i] = worths[cell, 0] if number[cell] else 0
    return looked_at


@compile_loop
def _place(best: Best, fields: Fields, most: int, places: Whole, place: int, cell: int) -> int:
    """Place a single blank, or a group of circles; return the same as ``_keep``."""
    kind = places[0, place]
    held = min(places[2, place], fields.most[kind])
    worth = held * fields.value[0, kind]
    if worth == 0:
        return 0
    for w in range(len(best.joined)):
        best.joined[w] = 0
    best.joined[fields.word[kind]] = held << fields.shift[kind]
    return _keep(best, most, cell, worth, BLANK, place, place)


@compile_loop
def _keep(best: Best, most: int, cell: int, worth: int, axis: int, first: int, second: int) -> int:
    """Enter the pattern ``joined`` by its value, unless the cell has one with the same blanks.

    Returns the value above which the cell takes a pattern.
    """
    words, worths, made, joined = best.words, best.worth, best.made, best.joined
    at = number = best.number[cell]
    while at > 0 and worths[cell, at - 1] <= worth:
        at -= 1
        if worths[cell, at] < worth:
            continue
        same = True
        for w in range(len(joined)):
            if words[cell, at, w] != joined[w]:
                same = False
        if same:
            at = most
            break
    if at < most:
        number = best.number[cell] = min(number + 1, most)
        for n in range(number - 1, at, -1):
            worths[cell, n] = worths[cell, n - 1]
            made[cell, n] = made[cell, n - 1]
            for w in range(len(joined)):
                words[cell, n, w] = words[cell, n - 1, w]
        worths[cell, at] = worth
        one = made[cell, at]
        one.axis, one.first, one.second = axis, first, second
        for w in range(len(joined)):
            words[cell, at, w] = joined[w]
    return int(worths[cell, most - 1]) if number == most else 0


@compile_loop
def _clip(fields: Fields, words: Whole, w: int, k: int) -> int:
    """Clip the counts of a word, whose first kind is ``k``; return the value of what is beyond the demand."""
    beyond = 0
    word, shift, most = fields.word, fields.shift, fields.most
    while k < len(word) and word[k] == w:
        over = ((words[w] >> shift[k]) & fields.mask) - most[k]
        if over > 0:
            words[w] -= over << shift[k]
            beyond += over * fields.value[0, k]
        k += 1
    return beyond
