"""Patterns of one sheet that waste very little of it, for a given number of each kind."""

from math import inf
from random import Random
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from nesting.arrays import Whole, records
from nesting.pack.model.deadline import stop_if_late
from nesting.pack.model.pattern import Leaf, Pattern
from nesting.pack.model.problem import Problem, lying_sizes
from nesting.pack.one_sheet.packed_counts import ListedPatterns, Makings, Words

if TYPE_CHECKING:
    from nesting.pack.kernels.near_full_loop import Lengths

#: The most blocks; with more cells than so many, fewer pairs of blocks are joined for each, and
#: nothing is learned, as that takes longer the more cells there are.
_MOST_BLOCKS, _MANY_CELLS = 1_000_000, 4_000
#: The most cells that are gone through: those of 12 x 12 in on sixteenths. More take seconds a list.
_MOST_CELLS = 40_000
#: The share of its area that a block may waste, as a multiple of that of the sheet; without limit last.
_TIMES = (1, 3, 0)
#: Up to this many blanks, all blocks are listed at once, as these blanks mostly do not fit one sheet.
_FEW_BLANKS = 15
#: How many pairs of blocks are looked at in the time that a pair of cells takes, or one block.
_CELLS_WORK, _BLOCK_WORK = 16, 200
#: How many pairs of blocks to look at before it looks whether it is late.
_PAUSE = 1_000_000
#: How many pairs of blocks a cell's list for a pattern may join at first, and how it grows.
_PAIRS, _GROWTH = 100, 6
#: The longest side of a sheet, in units, for which an array by length is quick to go through.
_MOST_UNITS = 4_096


class _Learned(NamedTuple):
    """What complete lists for a demand have shown, up to the waste ``over``; see ``least_waste_loop``."""

    demand: Whole
    over: int
    x: "Lengths"
    y: "Lengths"
    known: Whole


class NearFullPatterns:
    """Lists the patterns of a sheet that waste no more than a given area of it.

    Blocks are joined in pairs, from single blanks up, as long as they waste no more than the sheet
    may (Wang 1983, first algorithm). Room beside a block that no blanks can fill counts as its
    waste, too. A block lies in a cell of the grid of all lengths that blanks side by side can have,
    so only blocks of cells that together come to another cell are looked at.

    References
    ----------
    P. Y. Wang (1983). Two algorithms for constrained two-dimensional cutting stock problems.
    Operations Research 31.
    """

    def __init__(self, problem: Problem, rng: Random) -> None:
        from nesting.pack.kernels.near_full_loop import BLOCK, NONE, TALLY

        (size,) = problem.sizes
        self._size = size.width, size.height
        self.area = size.width * size.height
        self.areas = np.array(problem.areas)
        self._leaves = [
            Leaf(n, shape)
            for n, kind in enumerate(problem.kinds)
            for shape in kind.shapes
            if shape.width <= size.width and shape.height <= size.height
        ]
        self._kind_of = np.array([leaf.kind for leaf in self._leaves])
        self._sides = np.array([(leaf.width, leaf.height) for leaf in self._leaves]).T
        self._lengths = np.ascontiguousarray(lying_sizes(problem).transpose(2, 0, 1))
        self.fields = Words(problem.demand)
        each = self.fields.packed(np.eye(len(problem.kinds), dtype=np.int64))
        self._blank_words = each[self._kind_of]
        self._chance = np.array([rng.randrange(1, 2147483647)])
        self._made = records(_MOST_BLOCKS, BLOCK)
        self._areas = np.zeros(_MOST_BLOCKS, dtype=np.int64)
        self._words = np.zeros((_MOST_BLOCKS, len(self.fields.free)), dtype=np.int64)
        self._hashed = np.full(1 << (2 * _MOST_BLOCKS).bit_length(), NONE)
        self._tally = records(1, TALLY)[0]
        self._learned: _Learned | None = None
        #: How long the last list took, as the number of pairs of blocks looked at in that time.
        self.work = 0
        #: Whether the last list had no room for more blocks, or too many cells.
        self.has_no_room = False

    @property
    def count(self) -> int:
        """How many blocks the last list has."""
        return int(self._tally.count)

    @property
    def looked_at(self) -> int:
        """How many pairs of blocks were looked at for the last list."""
        return int(self._tally.pairs)

    def over(self, demand: Whole, sheets: int) -> int:
        """By how much the area of the sheets exceeds that of a demand."""
        return sheets * self.area - int(self.areas @ demand)

    def wasting(
        self, demand: Whole, over: int, pairs: int, in_all: float = inf, enough: float = inf
    ) -> tuple[ListedPatterns, bool]:
        """The patterns within a demand that waste no more than ``over`` of the sheet.

        Where ``enough`` patterns will do, blocks that waste a small share of their area are listed first,
        as they are few. Where more than ``pairs`` pairs come to a cell, so many are joined at random.
        With a limit ``in_all`` no more blocks are listed after some more pairs than that; and what a
        complete list says of the waste that each cell must have makes later lists for the same
        demand, or a part of it, much shorter, even if they may waste more.

        Returns
        -------
        tuple
            The patterns, which are valid until the next list is made; and whether the list is
            complete.

        Raises
        ------
        TimeIsUpError
            It is late.
        """
        work = 0
        for times in _TIMES if over and enough < inf else _TIMES[-1:]:
            every = self._list(demand, over, times, pairs, in_all)
            work += self.looked_at + _CELLS_WORK * int(self._tally.cells) + _BLOCK_WORK * self.count
            rows = np.flatnonzero(self._areas[: self.count] >= self.area - over)
            if not every or len(rows) >= enough:
                break
        self.work = work
        distinct, first = np.unique(self._words[rows], axis=0, return_index=True)
        makings = Makings(self._made, self._leaves)
        return ListedPatterns(
            self.fields.counts(distinct), lambda number: makings.pattern(int(rows[first[number]]))
        ), every and not times

    def holds(self, demand: Whole, pairs: int) -> tuple[bool, bool]:
        """Whether a sheet holds the whole demand, and whether that is proven."""
        over = self.over(demand, 1)
        if over < 0:
            return False, True
        few = demand.sum() <= _FEW_BLANKS
        full, every = self.wasting(demand, over, pairs, enough=inf if few else 1)
        return len(full.counts) > 0, every or len(full.counts) > 0

    def pattern(self, counts: Whole) -> Pattern | None:
        """A pattern of just these blanks, which a sheet holds; None where it takes too many blocks."""
        over, pairs = self.over(counts, 1), _PAIRS
        while True:
            full, _ = self.wasting(counts, over, pairs, enough=1)
            if len(full.counts) or self.has_no_room:
                return next(iter(full), None)
            pairs *= _GROWTH

    def _list(self, demand: Whole, over: int, times: int, pairs: int, in_all: float) -> bool:
        """List blocks; return whether these are all."""
        from nesting.pack.kernels.least_waste_loop import BESIDE, learn_waste
        from nesting.pack.kernels.near_full_loop import CELL, NONE, Blocks, list_near_full

        self._hashed[self._made.slot[: self.count]] = NONE
        tally = self._tally
        tally.count = tally.pairs = tally.cells = tally.some_left_out = 0
        self.has_no_room = False
        wanted = demand[self._kind_of] > 0
        if not wanted.any():
            return True
        least = self._sides[:, wanted].min(axis=1)
        learned = self._learned
        if learned is not None and not (demand <= learned.demand).all():
            learned = None
        learning = in_all < inf and (
            learned is None or (over > learned.over and np.array_equal(demand, learned.demand))
        )
        x = self._points(demand, 0, over // int(least[1]), learning)
        y = self._points(demand, 1, over // int(least[0]), learning)
        cells = len(x.lengths) * len(y.lengths)
        if cells > _MOST_CELLS:
            self.has_no_room = True
            return False
        i, j = x.at[self._sides[0] * wanted], y.at[self._sides[1] * wanted]
        number = np.flatnonzero(i * j)
        known = self._known(x, y, learned)
        blocks = Blocks(
            self._made,
            self._areas,
            self._words,
            self._hashed,
            np.zeros((len(x.lengths), len(y.lengths)), dtype=CELL).view(np.recarray),
            x,
            y,
            np.array([i[number], j[number], number, self.areas[self._kind_of[number]]]),
            self._blank_words[number],
            self.fields.packed(demand) + self.fields.free,
            self.fields.free,
            tally,
            self._chance,
            np.zeros((3, cells), dtype=np.int64),
            known[BESIDE],
        )
        most, column = max(1, min(pairs, pairs * _MANY_CELLS // cells)), 1
        while column < len(x.lengths) and tally.pairs < in_all:
            column = list_near_full(blocks, over, times, most, column, _PAUSE)
            stop_if_late()
        self.has_no_room = self.count + 1 == _MOST_BLOCKS
        if tally.some_left_out or column < len(x.lengths):
            return False
        if learning and not times and cells <= _MANY_CELLS:
            learn_waste(blocks.cells, x, y, known, over, self.area)
            self._learned = _Learned(demand, over, x, y, known)
        return True

    def _known(self, x: "Lengths", y: "Lengths", learned: _Learned | None) -> Whole:
        """The least waste inside and beside each cell, as far as it is known."""
        from nesting.pack.kernels.least_waste_loop import BESIDE

        known = np.zeros((2, len(x.lengths), len(y.lengths)), dtype=np.int64)
        known[BESIDE] = np.outer(x.rooms, y.rooms) - np.outer(x.lengths, y.lengths)
        if learned is not None:
            i, j = learned.x.at[x.lengths], learned.y.at[y.lengths]
            known = np.maximum(known, learned.known[:, i[:, None], j])
        return known

    def _points(self, demand: Whole, side: int, lost: int, endless: bool) -> "Lengths":
        """All lengths that blanks side by side can have if no more than some length is lost then.

        What is learned from a list needs rooms as of ``endless`` blanks: then the room that a block
        takes up grows at least by the length of what is joined to it.
        """
        from nesting.pack.kernels.near_full_loop import Lengths, reach

        most, beside = np.zeros((2, self._size[side] + 1), dtype=np.int64)
        reach(most, self._lengths[side], demand, False)
        reach(beside, self._lengths[side], demand, endless)
        rooms = self._size[side] - beside[::-1]
        every = np.arange(len(most))
        lengths = np.flatnonzero((most == every) & ((rooms - every <= lost) | (every == 0)))
        at = np.zeros(len(most), dtype=np.int64)
        at[lengths] = np.arange(len(lengths))
        return Lengths(lengths, rooms[lengths], at)


def may_fill(problem: Problem) -> bool:
    """Whether blocks can obey all the rules, and the sheet has not too many units."""
    return (
        problem.counts_sheets
        and problem.longest is None
        and not problem.has_groups
        and max(problem.sizes[0].width, problem.sizes[0].height) <= _MOST_UNITS
    )
