"""Exact covers of a demand by full sheets.

Compiled as ``compile_loop`` says.
"""

from typing import NamedTuple

from nesting.arrays import Whole
from nesting.pack.kernels.compiled import compile_loop
from nesting.pack.kernels.listing_loop import mixed

NONE = -1


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
        cover.hashed[_slot(cover.hashed, cover.rows, cover.rows[row])] = row
    _set_kind(cover, 0)
    depth = 0
    while depth >= 0 and steps >= 0:
        if depth == deepest:
            row = cover.hashed[_slot(cover.hashed, cover.rows, cover.left[depth])]
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


@compile_loop
def _slot(hashed: Whole, rows: Whole, words: Whole) -> int:
    """The slot of some counts in the hash table, taken or free."""
    at = mixed(words, len(hashed))
    while hashed[at] != NONE:
        same = True
        for k in range(len(words)):
            if rows[hashed[at], k] != words[k]:
                same = False
        if same:
            break
        at = (at + 1) & (len(hashed) - 1)
    return int(at)
