"""Patterns of one sheet that waste very little of it, for a given number of each kind."""

from collections.abc import Callable
from functools import partial
from math import inf
from random import Random
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from nesting.arrays import Whole, records
from nesting.pack.model.deadline import stop_if_late
from nesting.pack.model.pattern import Leaf, Pattern
from nesting.pack.model.problem import Problem, lying_sizes
from nesting.pack.one_sheet.packed_counts import ListedPatterns, Makings, Words
from nesting.papers import Axis

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
FEW_BLANKS = 15
#: How many pairs of blocks are looked at in the time that a pair of cells takes, or one block.
_CELLS_WORK, _BLOCK_WORK = 16, 200
#: How many pairs of blocks to look at before it looks whether it is late.
_PAUSE = 1_000_000
#: How many pairs of blocks a cell's list for a pattern may join at first, and how it grows.
_PAIRS, _GROWTH = 100, 6
#: The longest side of a sheet, in units, for which an array by length is quick to go through.
_MOST_UNITS = 4_096


class Part(NamedTuple):
    """Width and height of a sheet or of a part of it, in units, with the cut width added."""

    width: int
    height: int

    @property
    def area(self) -> int:
        """Its area in square units."""
        return self.width * self.height

    def beyond(self, axis: Axis, length: int) -> "Part":
        """The part beyond a cut at a length along an axis."""
        width, height = self
        return Part(width - length, height) if axis == "x" else Part(width, height - length)


class FirstPart(NamedTuple):
    """One part of a first cut: the axis along which the two lie, the other part, what this one holds.

    The pattern is built when it is asked for, before the next list is made.
    """

    axis: Axis
    rest: Part
    counts: Whole
    pattern: Callable[[], Pattern]


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
        self.sheet = Part(size.width, size.height)
        self.area = self.sheet.area
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
        self._rng = np.random.default_rng(self._chance)
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
        self,
        demand: Whole,
        over: int,
        pairs: int,
        in_all: float = inf,
        enough: float = inf,
        part: Part | None = None,
    ) -> tuple[ListedPatterns, bool]:
        """The patterns within a demand that waste no more than ``over`` of the sheet, or of a part of it.

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
        part = part or self.sheet
        self.work = 0
        for times in _TIMES if over and enough < inf else _TIMES[-1:]:
            every = self._list(demand, part, over, times, pairs, in_all)
            rows = np.flatnonzero(self._areas[: self.count] >= part.area - over)
            if not every or len(rows) >= enough:
                break
        distinct, first = np.unique(self._words[rows], axis=0, return_index=True)
        makings = Makings(self._made, self._leaves)
        return ListedPatterns(
            self.fields.counts(distinct), lambda number: makings.pattern(int(rows[first[number]]))
        ), every and not times

    def first_parts(
        self, demand: Whole, part: Part, over: int, pairs: int, most: int
    ) -> tuple[list[FirstPart], bool]:
        """What one of the two parts of a first cut of ``part`` may hold if that wastes no more than ``over``.

        As many as ``most`` of them, even if more were listed.

        Returns
        -------
        tuple
            The part, least waste for its blanks first, those alike at random; and whether all were
            listed.

        Raises
        ------
        TimeIsUpError
            It is late.
        """
        self.work = 0
        every = self._list(demand, part, over, 0, pairs, inf, divided=True)
        areas = self._areas[: self.count]
        widths, heights = self._made.width[: self.count], self._made.height[: self.count]
        waste = np.concatenate((part.width * heights - areas, part.height * widths - areas))
        some = np.flatnonzero(waste <= over)
        axis, row = np.divmod(some, max(1, self.count))
        order = np.lexsort((self._rng.random(len(some)), waste[some] / areas[row]))
        axis, row = axis[order[:most]], row[order[:most]]
        lengths = np.where(axis, widths[row], heights[row])
        counts = self.fields.counts(self._words[row])
        makings = Makings(self._made, self._leaves)
        found = []
        for along_x, length, held, number in zip(axis, lengths, counts, row, strict=True):
            way: Axis = "x" if along_x else "y"
            rest = part.beyond(way, int(length))
            found.append(FirstPart(way, rest, held, partial(makings.pattern, int(number))))
        return found, every

    def lay(
        self, demand: Whole, pairs: int, part: Part | None = None
    ) -> tuple[Pattern | None, bool]:
        """Lay a whole demand on a sheet, or in a part of one; if it is not laid, whether that is proven."""
        over = (part or self.sheet).area - int(self.areas @ demand)
        if over < 0:
            return None, True
        few = demand.sum() <= FEW_BLANKS
        full, every = self.wasting(demand, over, pairs, enough=inf if few else 1, part=part)
        return next(iter(full), None), every or len(full.counts) > 0

    def may_hold(self, demand: Whole, part: Part) -> bool:
        """Whether a part has the area for a demand, and each of its blanks fits."""
        fits = np.zeros(len(demand), dtype=np.bool_)
        fits[self._kind_of[self._fits(part)]] = True
        return bool(part.area >= self.areas @ demand and (fits | (demand == 0)).all())

    def _fits(self, part: Part) -> NDArray[np.bool_]:
        """Which ways to lie fit a part."""
        width, height = self._sides
        fits: NDArray[np.bool_] = (width <= part.width) & (height <= part.height)
        return fits

    def pattern(self, counts: Whole) -> Pattern | None:
        """A pattern of just these blanks, which a sheet holds; None where it takes too many blocks."""
        over, pairs = self.over(counts, 1), _PAIRS
        while True:
            full, _ = self.wasting(counts, over, pairs, enough=1)
            if len(full.counts) or self.has_no_room:
                return next(iter(full), None)
            pairs *= _GROWTH

    def _list(
        self,
        demand: Whole,
        part: Part,
        over: int,
        times: int,
        pairs: int,
        in_all: float,
        *,
        divided: bool = False,
    ) -> bool:
        """List blocks; return whether these are all.

        ``divided``: for one part of a first cut, whose waste says nothing of the room beyond that cut.
        """
        from nesting.pack.kernels.least_waste_loop import BESIDE, learn_waste
        from nesting.pack.kernels.near_full_loop import CELL, NONE, Blocks, list_near_full

        self._hashed[self._made.slot[: self.count]] = NONE
        tally = self._tally
        tally.count = tally.pairs = tally.cells = tally.some_left_out = 0
        self.has_no_room = False
        wanted = (demand[self._kind_of] > 0) & self._fits(part)
        if not wanted.any():
            return True
        least = self._sides[:, wanted].min(axis=1)
        learned = self._learned if part == self.sheet and not divided else None
        if learned is not None and not (demand <= learned.demand).all():
            learned = None
        learning = (
            in_all < inf
            and part == self.sheet
            and (
                learned is None or (over > learned.over and np.array_equal(demand, learned.demand))
            )
        )
        x, y = (
            self._points(
                demand,
                side,
                part[side],
                over // int(least[1 - side]),
                shortest=int(least[side]) if divided else None,
                endless=learning,
            )
            for side in (0, 1)
        )
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
        self.work += self.looked_at + _CELLS_WORK * int(tally.cells) + _BLOCK_WORK * self.count
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

    def _points(
        self,
        demand: Whole,
        side: int,
        size: int,
        lost: int,
        *,
        shortest: int | None,
        endless: bool,
    ) -> "Lengths":
        """All lengths that blanks side by side can have if no more than some length is lost then.

        What is learned from a list needs rooms as of ``endless`` blanks: then the room that a block
        takes up grows at least by the length of what is joined to it. In one part of a first cut a
        block takes up no more than its length, unless there is no room for the ``shortest`` blank.
        """
        from nesting.pack.kernels.near_full_loop import Lengths, reach

        every = np.arange(size + 1)
        most, beside = np.zeros((2, size + 1), dtype=np.int64)
        reach(most, self._lengths[side], demand, False)
        if shortest is None:
            reach(beside, self._lengths[side], demand, endless)
        else:
            beside[shortest:] = every[shortest:]
        rooms = size - beside[::-1]
        lengths = np.flatnonzero((most == every) & ((rooms - every <= lost) | (every == 0)))
        at = np.zeros(size + 1, dtype=np.int64)
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
