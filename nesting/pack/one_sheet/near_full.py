"""Patterns of one sheet that waste very little of it, for a given number of each kind."""

from typing import TYPE_CHECKING

import numpy as np

from nesting.arrays import Whole, records
from nesting.pack.model.pattern import Leaf, Pattern
from nesting.pack.model.problem import Problem, lying_sizes
from nesting.pack.one_sheet.packed_counts import ListedPatterns, Makings, Words

if TYPE_CHECKING:
    from nesting.pack.kernels.near_full_loop import Target


#: The most blocks and the most nearly full patterns that are kept.
_MOST_BLOCKS, _MOST_FULL = 200_000, 3_000
#: The longest side of a sheet, in units, for which an array by height is quick to go through.
_MOST_UNITS = 4_096


class NearFullPatterns:
    """Lists the patterns of a sheet that waste no more than a given area of it.

    Blocks are joined in pairs, from single blanks up, as long as they waste no more than the sheet
    may (Wang 1983, first algorithm). Only pairs of nearly equal height, or width, are looked at.
    Room beside a block that no blanks can fill counts as its waste, too.

    References
    ----------
    P. Y. Wang (1983). Two algorithms for constrained two-dimensional cutting stock problems.
    Operations Research 31.
    """

    def __init__(self, problem: Problem) -> None:
        from nesting.pack.kernels.near_full_loop import BLOCK, TALLY, Blocks

        (size,) = problem.sizes
        self._size = np.array([size.width, size.height])
        self.area = size.width * size.height
        self.areas = np.array(problem.areas)
        self._leaves = [Leaf(n, s) for n, kind in enumerate(problem.kinds) for s in kind.shapes]
        self._kind_of = np.array([leaf.kind for leaf in self._leaves])
        sizes = np.array([(leaf.width, leaf.height) for leaf in self._leaves]).T
        self._ways = np.array([*sizes, sizes.prod(axis=0), np.arange(len(self._leaves))])
        self._lengths = np.ascontiguousarray(lying_sizes(problem).transpose(2, 0, 1))
        self._fields = Words(problem.demand)
        each = np.eye(len(problem.kinds), dtype=np.int64)
        self._words = np.array([self._fields.packed(each[kind]) for kind in self._kind_of])
        self._pairs = 0
        self._blocks = Blocks(
            made=records(_MOST_BLOCKS, BLOCK),
            words=np.zeros((_MOST_BLOCKS, len(self._fields.free)), dtype=np.int64),
            hashed=np.full(1 << (2 * _MOST_BLOCKS).bit_length(), -1),
            high=np.zeros(size.height + 1, dtype=np.int64),
            wide=np.zeros(size.width + 1, dtype=np.int64),
            full=np.zeros(_MOST_FULL, dtype=np.int64),
            tally=records(1, TALLY)[0],
            waiting=np.zeros(_MOST_BLOCKS, dtype=np.int64),
            keys=np.zeros(_MOST_BLOCKS, dtype=np.int64),
        )

    def over(self, demand: Whole, sheets: int) -> int:
        """By how much the area of the sheets exceeds that of a demand."""
        return sheets * self.area - int(self.areas @ demand)

    def wasting(self, demand: Whole, over: int, pairs: int) -> tuple[ListedPatterns, bool]:
        """The patterns within a demand that waste no more than ``over`` of the sheet.

        At most ``pairs`` pairs of blocks are looked at.

        Returns
        -------
        tuple
            The patterns, which are valid until the next list is made; and whether the list is
            complete.
        """
        every = self._list(demand, over, pairs, only_all=False)
        rows = self._rows()
        counts = self._fields.counts(self._blocks.words[rows])
        distinct, first = np.unique(counts, axis=0, return_index=True)
        makings = self._makings()
        return ListedPatterns(
            distinct, lambda number: makings.pattern(int(rows[first[number]]))
        ), every

    def holding(self, demand: Whole, pairs: int) -> tuple[Pattern | None, bool]:
        """A pattern that holds the whole demand; where there is none, whether that is proven."""
        over = self.over(demand, 1)
        if over < 0:
            return None, True
        sure = self._list(demand, over, pairs, only_all=True)
        rows = self._rows()
        return (self._makings().pattern(int(rows[0])), True) if len(rows) else (None, sure)

    @property
    def looked_at(self) -> int:
        """How many pairs of blocks were looked at for the last list."""
        return self._pairs - int(self._blocks.tally.left)

    def _rows(self) -> Whole:
        return self._blocks.full[: self._blocks.tally.full]

    def _list(self, demand: Whole, over: int, pairs: int, *, only_all: bool) -> bool:
        from nesting.pack.kernels import near_full_loop

        self._pairs = pairs
        tally = self._blocks.tally
        tally.count = tally.full = tally.waiting = tally.no_room = 0
        tally.left = pairs
        return near_full_loop.list_full(self._wanted(demand, over), self._blocks, only_all)

    def _wanted(self, demand: Whole, over: int) -> "Target":
        from nesting.pack.kernels.near_full_loop import Target, reach

        wanted = np.flatnonzero(demand[self._kind_of])
        within = [np.zeros(int(length) + 1, dtype=np.int64) for length in self._size]
        for side, most in enumerate(within):
            reach(most, self._lengths[side], demand)
        return Target(
            self._size,
            np.ascontiguousarray(self._ways[:, wanted]),
            self._words[wanted],
            self._fields.packed(demand) + self._fields.free,
            self._fields.free,
            over,
            *within,
        )

    def _makings(self) -> Makings:
        return Makings(self._blocks.made, self._leaves)


def may_fill(problem: Problem) -> bool:
    """Whether blocks can obey all the rules, and the sheet has not too many units."""
    return (
        problem.counts_sheets
        and problem.longest is None
        and not problem.has_groups
        and max(problem.sizes[0].width, problem.sizes[0].height) <= _MOST_UNITS
    )
