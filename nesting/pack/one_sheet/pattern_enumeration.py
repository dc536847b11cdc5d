"""Enumeration of every pattern that a plan with a given number of sheets can contain.

Over these patterns the integer programme is exact: it finds such a plan, or there is none.
"""

from collections.abc import Generator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, cast

import numpy as np

from nesting.arrays import Whole, records
from nesting.pack.model.deadline import stop_if_late
from nesting.pack.model.pattern import Leaf, Pattern
from nesting.pack.model.pauses import STEP, Pause
from nesting.pack.model.problem import Problem
from nesting.pack.one_sheet.counted_table import CountedTable
from nesting.pack.one_sheet.packed_counts import ListedPatterns, Makings, Words
from nesting.pack.one_sheet.value_table import SheetTable

if TYPE_CHECKING:
    from nesting.pack.kernels.listing_loop import Fields, Grid, Listed


class TooManyError(Exception):
    """There are too many patterns to list."""


@dataclass(frozen=True, slots=True)
class Patience:
    """How many pairs of patterns to look at, and how many patterns to keep, before giving up.

    ``parts`` says of which part of the gap to list the patterns, one after another: the first is all.
    ``whole`` says whether to list kinds that are worth nothing as well, before leaving them out.
    ``choices`` says how many choices to try among the patterns of a list, again and again until it is
    decided.
    """

    pairs: int
    kept: int
    parts: tuple[int, ...] = (1,)
    whole: bool = False
    choices: tuple[int, ...] = (300_000,)


@dataclass(frozen=True, slots=True)
class ValueTarget:
    """A value for each kind, 0 or more, and the ``least`` value that a pattern must have.

    Of the kinds ``counted`` what a pattern lacks is taken to hold no more than it leaves, which few
    kinds should be: then much fewer patterns are listed. Only of the first of several aims.
    """

    values: list[int]
    least: int
    counted: tuple[int, ...] = ()


#: These take hundredths of a second, and seconds.
LITTLE = Patience(1_000_000, 20_000, parts=(1, 4))
MUCH = Patience(30_000_000, 200_000, whole=True, choices=(300_000, 10_000_000, 100_000_000))

#: The most cells of a table for which patterns are listed.
_MOST_CELLS = 100_000
#: How many times as long as filling a table it takes to work out what lies outside each cell.
_OUTSIDE = 5
#: How many pairs make a step.
_TURN = 1_000_000


def may_list(problem: Problem, table: SheetTable) -> bool:
    """Whether the enumeration can obey all the rules, and the table has not too many cells."""
    return problem.counts_sheets and problem.longest is None and table.cells.size <= _MOST_CELLS


class Enumeration:
    """Lists every pattern that is worth enough by each aim and is not contained in another.

    In a plan of ``n`` sheets that meets the demand exactly, each pattern is worth at least the
    demand's value less the most that ``n - 1`` sheets hold, so no other need be looked at
    (enumeration by reduced cost; for one-dimensional stock: Belov and Scheithauer 2006). That holds
    for any values, so several aims together leave fewer patterns than the best of them.

    Patterns are joined from single blanks up (Wang 1983), each kept in the smallest cell of the
    table that holds it, as long as its value and the most that the rest of the sheet can hold are
    together enough. Blanks beyond the demand are clipped: a pattern with more than the demand
    stands for the one with exactly the demand.

    Only for one size of sheet and no longest cut.

    Parameters
    ----------
    table
        The table of the problem.
    aims
        What a clipped pattern must be worth; patterns are sorted by the first.

    References
    ----------
    P. Y. Wang (1983). Two algorithms for constrained two-dimensional cutting stock problems.
    Operations Research 31.
    G. Belov, G. Scheithauer (2006). A branch-and-cut-and-price algorithm for one-dimensional stock
    cutting and two-dimensional two-stage cutting. EJOR 171.
    """

    def __init__(
        self, problem: Problem, table: SheetTable, aims: Sequence[ValueTarget], patience: Patience
    ) -> None:
        self._problem = problem
        self._table = table
        self._aims = aims
        self._patience = patience
        #: By aim, once it is worked out, what the rest of a sheet can hold beside each cell.
        self._outside: list[Whole] = []
        self._stride: Whole
        self._places = [
            (number, shape, place)
            for number, shape, place in table.places
            if place is not None and problem.kinds[number].demand
        ]

    def patterns(self) -> ListedPatterns:
        """Every pattern that is worth enough, in order of falling value by the first aim.

        Raises
        ------
        TooManyError
            There are too many.
        TimeIsUpError
            It is late.
        """
        turns = self.by_turns()
        while True:
            stop_if_late()
            try:
                next(turns)
            except StopIteration as ended:
                return cast("ListedPatterns", ended.value)

    def by_turns(self, more: int = 0) -> Generator[Pause, None, ListedPatterns]:
        """The same as ``patterns``, with a pause now and then; each is to be worth so much ``more``.

        Raises
        ------
        TooManyError
            There are too many.
        """
        from nesting.pack.kernels import listing_loop

        if not self._places:
            nothing = np.zeros((0, len(self._problem.kinds)), dtype=np.int64)
            return ListedPatterns(nothing, list[Pattern]().__getitem__)
        most = self._most()
        words = Words(most)
        least = np.array([aim.least + more for aim in self._aims])
        fields, grid = self._fields(words, most), (yield from self._grid(least))
        listed = self._nothing(len(fields.free))
        pause = max(0, self._patience.pairs - _TURN)
        cell, cells = 0, (grid.needed.shape[1] - 1) * (grid.needed.shape[2] - 1)
        while cell < cells:
            cell = listing_loop.list_cells(grid, fields, listed, cell, pause)
            left = int(listed.tally.left)
            if left < 0:
                raise TooManyError
            if left < pause:
                pause = max(0, left - _TURN)
                yield STEP
        lives = int(listed.tally.live)
        rows = listed.live[:lives]
        enough = (listed.worth[:, rows] >= least[:, None]).all(axis=0)
        listing_loop.keep_largest(fields, listed, rows[enough])
        if listed.tally.left < 0:
            raise TooManyError
        found = listed.live[lives : listed.tally.live]
        makings = Makings(listed.made, [Leaf(number, shape) for number, shape, _ in self._places])
        return ListedPatterns(
            words.counts(listed.words[found]),
            lambda number: makings.pattern(int(found[number])),
        )

    def _most(self) -> list[int]:
        """The most of each kind in one pattern: its demand, or what fits by area if that is less."""
        (size,) = self._problem.sizes
        fitting = [0] * len(self._problem.kinds)
        for number, shape, _ in self._places:
            by_area = size.width * size.height * shape.holds // (shape.width * shape.height)
            fitting[number] = max(fitting[number], by_area)
        return list(map(min, fitting, self._problem.demand))

    def _fields(self, words: Words, most: list[int]) -> "Fields":
        from nesting.pack.kernels.listing_loop import Fields

        return Fields(
            word=words.word,
            shift=words.shift,
            most=np.array(most),
            value=np.array([aim.values for aim in self._aims], dtype=np.int64),
            mask=words.mask,
            full=words.packed(most) | words.free,
            free=words.free,
        )

    def _grid(self, least: Whole) -> Generator[Pause, None, "Grid"]:
        from nesting.pack.kernels.listing_loop import NOTHING, Grid

        for aim in self._aims[len(self._outside) :]:
            table = CountedTable(self._table, () if self._outside else aim.counted)
            yield from table.pauses(1 + _OUTSIDE)
            table.fill(aim.values)
            if not self._outside:
                self._stride = table.stride
            self._outside.append(table.outside())
        needed = [
            np.where(outside < 0, -NOTHING, enough - outside)
            for outside, enough in zip(self._outside, least, strict=True)
        ]
        every = np.array([one[-1] for one in needed])
        nothing = np.full_like(every[0], NOTHING)
        places = [
            (number, *place, min(shape.holds, self._problem.kinds[number].demand))
            for number, shape, place in self._places
        ]
        return Grid(
            every,
            needed[0],
            self._stride,
            *_pairs(tuple(self._table.across)),
            *_pairs(tuple(self._table.along)),
            np.array(places, dtype=np.int64).T.copy(),
            np.zeros((*nothing.shape, 2), dtype=np.int64),
            nothing,
            nothing.copy(),
            nothing.copy(),
        )

    def _nothing(self, words: int) -> "Listed":
        """Arrays with room for patterns, and none in them yet."""
        from nesting.pack.kernels.listing_loop import MADE, TALLY, Listed

        kept = self._patience.kept
        tally = records(1, TALLY)[0]
        tally.left = self._patience.pairs
        return Listed(
            np.zeros((kept, words), dtype=np.int64),
            np.zeros((len(self._aims), kept), dtype=np.int64),
            np.zeros(kept, dtype=np.int64),
            records(kept, MADE),
            np.zeros(1 << (2 * kept).bit_length(), dtype=np.int64),
            np.zeros(2 * kept, dtype=np.int64),
            tally,
        )


@lru_cache(2)
def _pairs(points: tuple[int, ...]) -> tuple[Whole, Whole]:
    """Pairs of points, lower first, grouped by the least point not below their sum; group starts."""
    grid = np.array(points, dtype=np.int64)
    low, high = np.triu_indices(len(points) - 1)
    low, high = low + 1, high + 1
    target = np.searchsorted(grid, grid[low] + grid[high])
    order = np.argsort(target, kind="stable")
    starts = np.searchsorted(target[order], np.arange(len(points) + 1))
    return np.array([low[order], high[order]], dtype=np.int64), starts.astype(np.int64)
