"""Which rows of counts together hold a demand, tried one after another. Compiled as ``compile_loop`` says."""

from typing import NamedTuple

from nesting.arrays import Whole
from nesting.pack.kernels.compiled import compile_loop


class Cover(NamedTuple):
    """The search for rows that together hold a demand, ``left[0]``; no row has more of a kind than that.

    Row ``n`` has the kinds in ``entries`` from ``starts[n]`` to ``starts[n + 1]``. Each kind is worth
    ``values``, and no row more than ``most``. For each number of rows ``chosen``, ``left`` is what is left
    of the demand, ``lists`` the rows that may be chosen next, ``counts`` their number, ``at`` the next to
    be tried and ``kinds`` the kind that it has to hold; ``held`` says how many rows of the last list hold
    each kind. ``depth`` is how many are chosen.
    """

    rows: Whole
    entries: Whole
    starts: Whole
    values: Whole
    most: int
    left: Whole
    lists: Whole
    counts: Whole
    at: Whole
    kinds: Whole
    held: Whole
    chosen: Whole
    depth: Whole


@compile_loop
def begin_cover(cover: Cover) -> None:
    """List what may be chosen first, of all rows."""
    for row in range(len(cover.rows)):
        cover.lists[0, row] = row
    cover.depth[0] = 0 if _may_hold(cover, 0, len(cover.rows)) else -1


@compile_loop
def go_on_covering(cover: Cover, steps: int) -> bool:
    """Choose rows, depth first, until they hold the demand; whether they do.

    Otherwise so many steps were made, or everything was tried: then the depth is -1.
    """
    depth = cover.depth[0]
    while depth >= 0 and steps >= 0:
        if cover.at[depth] == cover.counts[depth]:
            depth -= 1
            continue
        row = cover.lists[depth, cover.at[depth]]
        cover.at[depth] += 1
        if not cover.rows[row, cover.kinds[depth]]:
            continue
        steps -= 1 + cover.counts[depth] // 16
        cover.chosen[depth] = row
        if _take_off(cover, depth, row):
            cover.depth[0] = depth + 1
            return True
        if depth + 1 < len(cover.chosen) and _narrow(cover, depth):
            depth += 1
    cover.depth[0] = depth
    return False


@compile_loop
def _take_off(cover: Cover, depth: int, row: int) -> bool:
    """Take a row off what is left; whether nothing is left."""
    nothing = True
    for kind in range(len(cover.values)):
        rest = max(0, cover.left[depth, kind] - cover.rows[row, kind])
        cover.left[depth + 1, kind] = rest
        nothing &= rest == 0
    return nothing


@compile_loop
def _narrow(cover: Cover, depth: int) -> bool:
    """List what may be chosen after the row just chosen; whether it may come to the demand.

    With the rows tried before it at this depth, which hold the kind that had to be held, all was tried.
    """
    number = 0
    for n in range(cover.counts[depth]):
        row = cover.lists[depth, n]
        if n >= cover.at[depth] - 1 or not cover.rows[row, cover.kinds[depth]]:
            cover.lists[depth + 1, number] = row
            number += 1
    return _may_hold(cover, depth + 1, number)


@compile_loop
def _may_hold(cover: Cover, depth: int, number: int) -> bool:
    """Leave in a list of so many rows those that may be chosen; whether they may hold what is left.

    Together the rows still to be chosen must be worth what is left, so none may fall short of ``most``
    by more than all together may.
    """
    left, held = cover.left, cover.held
    spare = cover.most * (len(cover.chosen) - depth)
    for kind in range(len(held)):
        spare -= cover.values[kind] * left[depth, kind]
        held[kind] = 0
    kept = 0
    for n in range(number):
        row = cover.lists[depth, n]
        worth = 0
        for at in range(cover.starts[row], cover.starts[row + 1]):
            kind = cover.entries[at]
            worth += cover.values[kind] * min(cover.rows[row, kind], left[depth, kind])
        if cover.most - worth <= spare:
            cover.lists[depth, kept] = row
            kept += 1
            for at in range(cover.starts[row], cover.starts[row + 1]):
                held[cover.entries[at]] += 1
    cover.counts[depth], cover.at[depth] = kept, 0
    fewest = -1
    for kind in range(len(held)):
        if left[depth, kind] and (fewest < 0 or held[kind] < held[fewest]):
            fewest = kind
    cover.kinds[depth] = fewest
    return fewest >= 0 and held[fewest] > 0
