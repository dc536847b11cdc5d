"""Full sheets: the patterns of one sheet that waste nothing, for a given number of each kind."""

from random import Random
from typing import TYPE_CHECKING

import numpy as np

from nesting.arrays import Whole, records
from nesting.pack.model.pattern import Leaf, Pattern
from nesting.pack.model.problem import Problem, lying_sizes
from nesting.pack.one_sheet.near_full import may_fill
from nesting.pack.one_sheet.packed_counts import Makings, Words

if TYPE_CHECKING:
    from nesting.pack.kernels.full_loop import Lengths

#: The most blocks; with more cells than so many, fewer pairs of blocks are joined for each.
_MOST_BLOCKS, _MOST_CELLS = 1_000_000, 4_000
#: How many pairs of blocks a cell's first list may join, and the factor by which it grows.
_PAIRS, _GROWTH = 100, 6
#: No more blocks are listed after so many pairs of them.
_MOST_PAIRS = 1_000_000
#: Where the demand is for more than two sheets, so many blocks and so many full sheets are enough.
_ALL_UP_TO, _ENOUGH_BLOCKS, _ENOUGH_SHEETS = 2, 30_000, 30
#: The most steps of one search for an exact cover.
_STEPS = 200_000


class FullSheets:
    """Lists the patterns of a sheet without waste, and covers a demand by them exactly.

    A block fills a cell of the grid of all lengths that blanks side by side can have, if the rest
    of the sheet's length can be filled, too. It is a blank, or joined of two blocks that fill cells
    of the same height, or width.
    """

    def __init__(self, problem: Problem, rng: Random) -> None:
        from nesting.pack.kernels.full_loop import FULL_BLOCK

        (size,) = problem.sizes
        self._size = size.width, size.height
        self.area = size.width * size.height
        self.areas = np.array(problem.areas)
        self._leaves = [Leaf(n, s) for n, kind in enumerate(problem.kinds) for s in kind.shapes]
        self._kind_of = np.array([leaf.kind for leaf in self._leaves])
        self._sides = np.array([(leaf.width, leaf.height) for leaf in self._leaves]).T
        self._lengths = np.ascontiguousarray(lying_sizes(problem).transpose(2, 0, 1))
        self._fields = Words(problem.demand)
        self._blank_words = self._fields.packed(np.eye(len(problem.kinds), dtype=np.int64))[
            self._kind_of
        ]
        self._chance = np.array([rng.randrange(1, 2147483647)])
        self._made = records(_MOST_BLOCKS, FULL_BLOCK)
        self._words = np.zeros((_MOST_BLOCKS, len(self._fields.free)), dtype=np.int64)
        self._hashed = np.zeros(1 << _MOST_BLOCKS.bit_length(), dtype=np.int64)
        self._sheets = range(0)
        #: How many pairs of blocks were looked at for the last list.
        self.looked_at = 0

    def within(self, demand: Whole) -> tuple[Whole, bool]:
        """The counts of full sheets within a demand, and whether these are all.

        Where there are too many blocks, of the pairs of blocks that fill a cell some are joined at
        random: few at first, then more until there are enough sheets.
        """
        most, found, every = _PAIRS, np.zeros((0, len(demand)), dtype=np.int64), False
        many = demand @ self.areas > _ALL_UP_TO * self.area
        self.looked_at = looked_at = 0
        while not every and looked_at < _MOST_PAIRS:
            before = self.looked_at
            blocks, every = self._list(demand, most)
            if blocks == _MOST_BLOCKS:
                break
            looked_at = self.looked_at - before
            found = self._fields.counts(self._words[self._sheets])
            if many and blocks > _ENOUGH_BLOCKS and len(found) >= _ENOUGH_SHEETS:
                break
            most *= _GROWTH
        return found, every

    def pattern(self, counts: Whole) -> Pattern | None:
        """A pattern of just the blanks of a sheet that was listed; None where it takes too many blocks."""
        self._sheets, blocks, pairs = range(0), 0, _PAIRS
        while not self._sheets and blocks < _MOST_BLOCKS:
            blocks, _ = self._list(counts, pairs)
            pairs *= _GROWTH
        makings = Makings(self._made, self._leaves)
        return makings.pattern(self._sheets[0]) if self._sheets else None

    def cover(self, demand: Whole, full: Whole, sheets: int) -> tuple[list[Whole] | None, bool]:
        """So many full sheets, of those given, that hold just a demand; where there are none, whether that is sure."""
        from nesting.pack.kernels.full_loop import NONE, Cover, cover_exactly

        fields = self._fields
        order = np.argsort(np.count_nonzero(full, axis=0), kind="stable")
        left = np.zeros((sheets, len(fields.free)), dtype=np.int64)
        left[0] = fields.packed(demand)
        cover = Cover(
            rows=fields.packed(full),
            order=order,
            word=fields.word,
            shift=fields.shift,
            mask=fields.mask,
            free=fields.free,
            hashed=np.full(1 << (2 * len(full) + 1).bit_length(), NONE),
            left=left,
            lists=np.tile(np.arange(len(full)), (sheets, 1)),
            counts=np.full(sheets, len(full)),
            at=np.zeros(sheets, dtype=np.int64),
            kinds=np.zeros(sheets, dtype=np.int64),
            chosen=np.full(sheets, NONE),
        )
        sure = cover_exactly(cover, _STEPS) >= 0
        if cover.chosen[-1] == NONE:
            return None, sure
        return [full[row] for row in cover.chosen], True

    def _list(self, demand: Whole, pairs: int) -> tuple[int, bool]:
        """List blocks and full sheets; return how many blocks there are, and whether these are all."""
        from nesting.pack.kernels.full_loop import CELL, FULL_TALLY, FullBlocks, list_full_sheets

        self._sheets = range(0)
        across, along = (self._points(demand, side) for side in range(2))
        if len(across) == 1 or len(along) == 1:
            return 0, True
        cells = records((len(across), len(along)), CELL)
        tally = records(1, FULL_TALLY)[0]
        ways = self._ways(demand, across, along)
        blocks = FullBlocks(
            self._made,
            self._words,
            self._hashed,
            cells,
            ways,
            self._blank_words[ways[2]],
            self._fields.packed(demand) + self._fields.free,
            self._fields.free,
            tally,
            self._chance,
        )
        most = max(1, min(pairs, pairs * _MOST_CELLS // cells.size))
        list_full_sheets(_sums(across), _sums(along), blocks, most)
        self.looked_at += int(tally.pairs)
        if tally.count < _MOST_BLOCKS:
            self._sheets = range(cells[-1, -1].begin, cells[-1, -1].end)
        return int(tally.count), not tally.some_left_out

    def _points(self, demand: Whole, side: int) -> Whole:
        """All lengths that blanks side by side can have if they can have the rest of the sheet's, too.

        Only 0 where they cannot have the sheet's.
        """
        from nesting.pack.kernels.near_full_loop import reach

        most = np.zeros(self._size[side] + 1, dtype=np.int64)
        reach(most, self._lengths[side], demand)
        reached = most == np.arange(len(most))
        return np.flatnonzero(reached & reached[::-1]) if reached[-1] else np.zeros(1, dtype=int)

    def _ways(self, demand: Whole, across: Whole, along: Whole) -> Whole:
        """The cells of the ways that wanted blanks may lie, and the numbers of these ways."""
        wanted = demand[self._kind_of] > 0
        for side, points in enumerate((across, along)):
            wanted &= np.isin(self._sides[side], points)
        number = np.flatnonzero(wanted)
        i, j = (
            np.searchsorted(points, sides[number])
            for points, sides in zip((across, along), self._sides, strict=True)
        )
        return np.array([i, j, number])


def _sums(points: Whole) -> "Lengths":
    """Which two lengths come to which."""
    from nesting.pack.kernels.full_loop import Lengths

    sums = points[1:, None] + points[None, 1:]
    first, second = np.nonzero(np.isin(sums, points))
    at = np.searchsorted(points, sums[first, second])
    order = np.argsort(at, kind="stable")
    starts = np.searchsorted(at[order], np.arange(len(points) + 1))
    return Lengths(np.array([first + 1, second + 1])[:, order], starts)


def may_be_full(problem: Problem, sheets: int) -> bool:
    """Whether the demand has just the area of so many sheets, and blocks can obey all the rules."""
    if not may_fill(problem):
        return False
    size = problem.sizes[0]
    asked = sum(area * n for area, n in zip(problem.areas, problem.demand, strict=True))
    return asked == sheets * size.width * size.height
