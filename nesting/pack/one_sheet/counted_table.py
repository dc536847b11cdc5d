"""The most value a sheet can hold with no more of some kinds than there are of them."""

from collections.abc import Sequence
from itertools import product, repeat
from math import prod

import numpy as np

from nesting.arrays import Whole
from nesting.pack.model.deadline import stop_if_late
from nesting.pack.model.pattern import Leaf, Pattern, group
from nesting.pack.model.pauses import STEP, Pauses
from nesting.pack.one_sheet.value_table import SheetTable

#: The most ways to share a stock, for all stocks; the most entries of all tables; the most steps of a filling.
_MOST_SHARES, _MOST_ENTRIES, _MOST_STEPS = 20_000, 4_000_000, 20_000_000
#: How many shares of a stock, at so many cuts, are looked at in the time of a search's step.
_SHARES_A_STEP = 100_000_000
#: How many steps the loop takes between two looks at the clock.
_STEPS_AT_ONCE = 20_000_000


def may_count(table: SheetTable, counted: Sequence[int]) -> bool:
    """Whether the tables for these kinds are few enough."""
    most = [table.problem.demand[kind] for kind in counted]
    stocks = prod(number + 1 for number in most)
    return (
        prod((number + 1) * (number + 2) // 2 for number in most) <= _MOST_SHARES
        and stocks * table.cells.size <= _MOST_ENTRIES
        and stocks * table.steps <= _MOST_STEPS
    )


class CountedTable:
    """The recursion of ``SheetTable`` with a table for each stock of a few *counted* kinds.

    A stock says how many blanks of each counted kind there are to use; a cut shares it between the
    two parts. So no pattern has more of a counted kind than its demand, and of the others any
    number. Counting the few kinds that the relaxation uses too often mostly makes it exact
    (decremental state-space relaxation: Righini and Salani 2008).

    References
    ----------
    G. Righini, M. Salani (2008). New dynamic programming algorithms for the resource constrained
    elementary shortest path problem. Networks 51.
    """

    def __init__(self, table: SheetTable, counted: Sequence[int]) -> None:
        self._table = table
        demand = table.problem.demand
        stocks = list(product(*(range(demand[kind] + 1) for kind in counted)))
        number = {stock: n for n, stock in enumerate(stocks)}
        shares = [
            [
                (number[part], number[tuple(a - b for a, b in zip(stock, part, strict=True))])
                for part in product(*(range(most + 1) for most in stock))
            ]
            for stock in stocks
        ]
        self._shares = np.array([pair for some in shares for pair in some], dtype=np.int64).T.copy()
        self._starts = np.cumsum([0, *map(len, shares)], dtype=np.int64)
        #: By how much the number of a stock falls with a blank of each kind.
        self.stride = np.zeros(len(demand), dtype=np.int64)
        for place, kind in enumerate(counted):
            one = tuple(int(n == place) for n in range(len(counted)))
            self.stride[kind] = number[one]
        #: How many blanks of each counted kind each stock has.
        self._left = dict(zip(counted, np.array(stocks, dtype=np.int64).T, strict=True))
        self._tables = np.zeros((len(stocks), *table.cells.shape), dtype=np.int64)
        self._worth: list[tuple[tuple[int, int], Leaf, Whole]] = []

    def fill(self, values: list[int]) -> None:
        """Fill all tables for one value per kind, each 0 or more.

        Raises
        ------
        TimeIsUpError
            It is late.
        """
        from nesting.pack.kernels.counted_loop import fill_counted

        tables = np.zeros_like(self._tables)
        self._worth = [
            (place, Leaf(number, shape), values[number] * self._most(number, shape.holds))
            for number, shape, place in self._table.places
            if place is not None and values[number]
        ]
        for (i, j), _, worth in self._worth:
            tables[:, i, j] = np.maximum(tables[:, i, j], worth)
        sideways = np.ascontiguousarray(tables.transpose(0, 2, 1))
        rows = tables.shape[1]
        some = max(1, _STEPS_AT_ONCE * rows // (len(tables) * self._table.steps))
        for first in range(1, rows, some):
            stop_if_late()
            fill_counted(
                tables,
                sideways,
                self._shares,
                self._starts,
                self._table.cuts,
                first,
                min(first + some, rows),
            )
        self._tables = tables

    def pauses(self, fillings: int) -> Pauses:
        """Pause for so many fillings, some of which take a second: before them, so that others go first."""
        work = fillings * self._shares.shape[1] * self._table.steps
        yield from repeat(STEP, 1 + work // _SHARES_A_STEP)

    def _most(self, kind: int, holds: int) -> Whole:
        """How many blanks of a kind, placed so many at once, each stock has."""
        every = np.full(len(self._tables), holds)
        return np.minimum(self._left[kind], holds) if kind in self._left else every

    def best(self, width: int, height: int) -> int:
        """The most value of a rectangle of this size in units."""
        return int(self._tables[(-1, *self._table.floor(width, height))])

    def pattern(self, width: int, height: int) -> Pattern | None:
        """A pattern of the most value in a rectangle of this size; None where that is 0."""
        return self._trace(len(self._tables) - 1, *self._table.floor(width, height))

    @property
    def cells(self) -> Whole:
        """The tables: most value by stock and cell; the last stock is all of the demand."""
        return self._tables

    def outside(self) -> Whole:
        """For each stock and cell, the most that the rest of the largest sheet can hold beside it.

        Negative where no division of the sheet has the cell as a part.
        """
        from nesting.pack.kernels.counted_loop import fill_outside

        return fill_outside(self._tables, self._shares, self._starts, self._table.cuts)

    def _trace(self, stock: int, i: int, j: int) -> Pattern | None:
        """Walk back from a cell: shrink, place a blank, or divide."""
        splits_x, starts_x, splits_y, starts_y, open_x, open_y = self._table.cuts
        table = self._tables[stock]
        value = table[i, j]
        if not value:
            return None
        if j < open_x and table[i - 1, j] == value:
            return self._trace(stock, i - 1, j)
        if i < open_y and table[i, j - 1] == value:
            return self._trace(stock, i, j - 1)
        for place, leaf, worth in self._worth:
            if place == (i, j) and worth[stock] == value:
                return leaf
        ones, twos = self._shares[:, self._starts[stock] : self._starts[stock + 1]]
        if j < open_x:
            lows, highs = splits_x[:, starts_x[i] : starts_x[i + 1]]
            sums = self._tables[ones[:, None], lows, j] + self._tables[twos[:, None], highs, j]
            for share, cut in np.argwhere(sums == value)[:1]:
                low = self._trace(int(ones[share]), int(lows[cut]), j)
                return group("x", [low, self._trace(int(twos[share]), int(highs[cut]), j)])
        lows, highs = splits_y[:, starts_y[j] : starts_y[j + 1]]
        sums = self._tables[ones[:, None], i, lows] + self._tables[twos[:, None], i, highs]
        share, cut = np.argwhere(sums == value)[0]
        low = self._trace(int(ones[share]), i, int(lows[cut]))
        return group("y", [low, self._trace(int(twos[share]), i, int(highs[cut]))])
