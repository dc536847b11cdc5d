"""Which patterns together hold a demand, chosen one after another. Compiled as ``compile_loop`` says."""

from typing import NamedTuple

from nesting.arrays import Whole
from nesting.pack.kernels.compiled import compile_loop


class Cover(NamedTuple):
    """The search for patterns that together hold a demand, ``left[0]``; none has more of a kind than that.

    ``patterns`` has their counts; pattern ``n`` has the kinds in ``entries`` from ``starts[n]`` to
    ``starts[n + 1]``. Each kind is worth ``values``, and no pattern more than ``most``. For each number of
    them ``chosen``, ``left`` is what is left of the demand, ``lists`` those that may be chosen next,
    ``lengths`` their number, ``at`` the next to be tried and ``kinds`` the kind that it has to hold;
    ``often`` says how many of the last list hold each kind. ``depth`` is how many are chosen.
    """

    patterns: Whole
    entries: Whole
    starts: Whole
    values: Whole
    most: int
    left: Whole
    lists: Whole
    lengths: Whole
    at: Whole
    kinds: Whole
    often: Whole
    chosen: Whole
    depth: Whole


@compile_loop
def begin_cover(cover: Cover) -> None:
    """List what may be chosen first, of all patterns."""
    for pattern in range(len(cover.patterns)):
        cover.lists[0, pattern] = pattern
    cover.depth[0] = 0 if _may_hold(cover, 0, len(cover.patterns)) else -1


@compile_loop
def go_on_covering(cover: Cover, steps: int) -> bool:
    """Choose patterns, depth first, until they hold the demand; whether they do.

    Otherwise so many steps were made, or everything was tried: then the depth is -1.
    """
    depth = cover.depth[0]
    while depth >= 0 and steps >= 0:
        if cover.at[depth] == cover.lengths[depth]:
            depth -= 1
            continue
        pattern = cover.lists[depth, cover.at[depth]]
        cover.at[depth] += 1
        if not cover.patterns[pattern, cover.kinds[depth]]:
            continue
        steps -= 1 + cover.lengths[depth] // 16
        cover.chosen[depth] = pattern
        if _take_off(cover, depth, pattern):
            cover.depth[0] = depth + 1
            return True
        if depth + 1 < len(cover.chosen) and _narrow(cover, depth):
            depth += 1
    cover.depth[0] = depth
    return False


@compile_loop
def _take_off(cover: Cover, depth: int, pattern: int) -> bool:
    """Take a pattern off what is left; whether nothing is left."""
    nothing = True
    for kind in range(len(cover.values)):
        rest = max(0, cover.left[depth, kind] - cover.patterns[pattern, kind])
        cover.left[depth + 1, kind] = rest
        nothing &= rest == 0
    return nothing


@compile_loop
def _narrow(cover: Cover, depth: int) -> bool:
    """List what may be chosen after the pattern just chosen; whether it may come to the demand.

    With the patterns tried before it at this depth, which hold the kind that had to be held, all was tried.
    """
    number = 0
    for n in range(cover.lengths[depth]):
        pattern = cover.lists[depth, n]
        if n >= cover.at[depth] - 1 or not cover.patterns[pattern, cover.kinds[depth]]:
            cover.lists[depth + 1, number] = pattern
            number += 1
    return _may_hold(cover, depth + 1, number)


@compile_loop
def _may_hold(cover: Cover, depth: int, number: int) -> bool:
    """Leave in a list of so many patterns those that may be chosen; whether they may hold what is left.

    Together the patterns still to be chosen must be worth what is left, so none may fall short of ``most``
    by more than all together may.
    """
    left, often = cover.left, cover.often
    spare = cover.most * (len(cover.chosen) - depth)
    for kind in range(len(often)):
        spare -= cover.values[kind] * left[depth, kind]
        often[kind] = 0
    kept = 0
    for n in range(number):
        pattern = cover.lists[depth, n]
        worth = 0
        for at in range(cover.starts[pattern], cover.starts[pattern + 1]):
            kind = cover.entries[at]
            worth += cover.values[kind] * min(cover.patterns[pattern, kind], left[depth, kind])
        if cover.most - worth <= spare:
            cover.lists[depth, kept] = pattern
            kept += 1
            for at in range(cover.starts[pattern], cover.starts[pattern + 1]):
                often[cover.entries[at]] += 1
    cover.lengths[depth], cover.at[depth] = kept, 0
    fewest = -1
    for kind in range(len(often)):
        if left[depth, kind] and (fewest < 0 or often[kind] < often[fewest]):
            fewest = kind
    cover.kinds[depth] = fewest
    return fewest >= 0 and often[fewest] > 0
