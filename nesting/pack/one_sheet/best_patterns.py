"""Patterns of much value within a demand, found by a dynamic programme that keeps a few in each cell."""

from operator import itemgetter

import numpy as np

from nesting.arrays import Whole, records
from nesting.pack.model.deadline import stop_if_late
from nesting.pack.model.pattern import Leaf
from nesting.pack.model.problem import Problem
from nesting.pack.one_sheet.packed_counts import ListedPatterns, Makings, Words
from nesting.pack.one_sheet.value_table import SheetTable

#: How many patterns each cell keeps: one is quick, where that finds nothing a few more mostly do.
ONE, A_FEW = 1, 3
#: How many pairs of patterns the loop may join between two looks at the clock.
_STEPS_AT_ONCE = 10_000_000


class BestPatterns:
    """The recursion of ``SheetTable`` with a few patterns in each cell, clipped to the demand.

    Where demands are small, most values of that table are worth nothing, as they stand for patterns
    with the same blank again and again. Keeping the very counts instead makes them true, and what is
    lost is only the proof: two patterns that are not the best of their cells may fit each other
    better than those do. No value is above the table's.

    Only for one size of sheet.
    """

    def __init__(self, problem: Problem, table: SheetTable) -> None:
        from nesting.pack.kernels.best_loop import JOINED, Best

        #: How many patterns were joined so far.
        self.joined = 0
        self._table = table
        self._words = words = Words(problem.demand)
        (across, along), cells, size = table.cells.shape, table.cells.size, len(words.free)
        self._best = Best(
            words=np.zeros((cells, A_FEW, size), dtype=np.int64),
            worth=np.zeros((cells, A_FEW), dtype=np.int64),
            made=records((cells, A_FEW), JOINED),
            number=np.zeros(cells, dtype=np.int64),
            top=np.zeros((across, along), dtype=np.int64),
            sideways=np.zeros((along, across), dtype=np.int64),
            joined=np.zeros(size, dtype=np.int64),
        )
        placed = [(place, n, shape) for n, shape, place in table.places if place is not None]
        placed.sort(key=itemgetter(0))
        self._blanks = [Leaf(number, shape) for _, number, shape in placed]
        rows = [(number, i * along + j, shape.holds) for (i, j), number, shape in placed]
        self._places = np.array(rows, dtype=np.int64).T.copy()

    def find(self, values: list[int], demand: Whole, most: int = A_FEW) -> ListedPatterns:
        """Find patterns of much value within a demand, at most that of the problem.

        They have to be asked for by number before others are found.

        Parameters
        ----------
        values
            What each kind is worth, 0 or more; kinds worth 0 are left out.

        Raises
        ------
        TimeIsUpError
            It is late.
        """
        from nesting.pack.kernels.best_loop import find_best
        from nesting.pack.kernels.listing_loop import Fields

        words, best = self._words, self._best
        fields = Fields(
            word=words.word,
            shift=words.shift,
            most=demand,
            value=np.array([values], dtype=np.int64),
            mask=words.mask,
            full=words.packed(demand) | words.free,
            free=words.free,
        )
        rows = len(best.top)
        some = max(1, _STEPS_AT_ONCE * rows // (most * most * self._table.steps))
        for begin in range(1, rows, some):
            stop_if_late()
            beyond = min(begin + some, rows)
            self.joined += find_best(
                best, fields, self._places, self._table.cuts, most, begin, beyond
            )
        first = (len(best.number) - 1) * A_FEW
        makings = Makings(best.made.reshape(-1).view(np.recarray), self._blanks)
        return ListedPatterns(
            words.counts(best.words[-1, : best.number[-1]]),
            lambda number: makings.pattern(first + number),
        )
