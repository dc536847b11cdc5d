"""The most value a sheet can hold: the guillotine dynamic programme."""

import sys
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from nesting.arrays import Whole
from nesting.pack.model.deadline import TimeIsUpError, stop_if_late
from nesting.pack.model.pattern import Leaf, Pattern, group, wheel_of
from nesting.pack.model.problem import Problem, Shape
from nesting.pack.one_sheet.raster_points import cut_points
from nesting.papers import Axis

#: Until all fillings of a table have taken this many steps, loading the compiled loop takes longer,
#: unless its module is loaded already.
_LONG, _LOOPS = 20_000_000, "nesting.pack.kernels.compiled"
#: With pinwheels, the most steps of all fillings of a table, which no clock counts: some 3 s.
_MOST_STOPPED = 1_500_000_000
#: How many sums of pairs are worked out at once: more would not fit the processor's cache.
_MOST_AT_ONCE = 30_000
#: How many steps of the recursion the compiled loop takes between two looks at the clock.
_STEPS_AT_ONCE = 100_000_000

_Cell = tuple[int, int]

if TYPE_CHECKING:
    from nesting.pack.kernels.compiled import Cuts

    _Pairs = tuple[NDArray[np.intp], NDArray[np.intp]]


class SheetTable:
    """The recursion of Gilmore and Gomory (1966, section 2) over the cut points of a problem.

    ``best(i, j)`` is the most value that a rectangle of width ``across[i]`` and height ``along[j]``
    can hold with any number of cuts and copies. It is the least table that is nowhere below the
    value of a blank that fits, a smaller rectangle, or the sum of the two rectangles that a cut
    makes. It is found by closing the table under cuts along one axis and the other in turn until
    nothing changes; each pass works on whole columns, and many points, at once.

    Where cuts may stop, a pinwheel divides a rectangle, too. Its four arms and its centre can be pushed
    down and to the left until each of its lines is at a normal point. One way round suffices for the
    most value: the mirror image of a pattern holds as much.
    """

    def __init__(self, problem: Problem) -> None:
        """Set up the table; raises ``TimeIsUpError`` where it gets late meanwhile."""
        self.problem = problem
        self.across, self.along = cut_points(problem)
        self._splits_x = _splits(self.across)
        self._splits_y = _splits(self.along)
        # A cut at constant x is as long as the rectangle is high, and the other way round.
        self._open_x = _count_up_to(self.along, problem.longest)
        self._open_y = _count_up_to(self.across, problem.longest)
        self.places = [
            (number, shape, self._index(shape.width, shape.height))
            for number, kind in enumerate(problem.kinds)
            for shape in kind.shapes
        ]
        self._blanks: dict[_Cell | None, list[tuple[int, Shape]]] = defaultdict(list)
        for number, shape, place in self.places:
            self._blanks[place].append((number, shape))
        self.steps = (
            1 + len(self.across) * len(self.along) * (len(self.across) + len(self.along)) // 4
        )
        self._table: Whole = np.zeros((len(self.across), len(self.along)), dtype=np.int64)
        self._values = [0] * len(problem.kinds)
        self._steps_taken = 0

    def _index(self, width: int, height: int) -> _Cell | None:
        """The smallest cell that holds a shape; None where it is larger than the largest sheet."""
        i, j = bisect_right(self.across, width - 1), bisect_right(self.along, height - 1)
        return (i, j) if i < len(self.across) and j < len(self.along) else None

    def fill(self, values: list[int]) -> None:
        """Fill the table for one value per kind, each 0 or more.

        Raises
        ------
        OverflowError
            A sheet could hold more than 63 bits of value.
        TimeIsUpError
            It is late; the table stays as it was.
        """
        sheet = self.across[-1] * self.along[-1]
        if any(
            values[n] * s.holds * sheet >= 2**62 * s.width * s.height for n, s, _ in self.places
        ):
            raise OverflowError("values too large for 64-bit integers")
        table = np.zeros_like(self._table)
        for number, shape, place in self.places:
            if place is not None:
                table[place] = max(table[place], values[number] * shape.holds)
        self._steps_taken += self.steps
        if self.problem.stopped:
            self._fill_stopped(table)
        elif self._steps_taken > _LONG or _LOOPS in sys.modules:
            self._fill_compiled(table)
        else:
            table = self._closed(table)
        self._values = values
        self._table = table

    def _closed(self, table: Whole) -> Whole:
        """Close the table under cuts along one axis and the other in turn."""
        while True:
            changed = _close(table, self._blocks_x, self._open_x)
            turned = np.ascontiguousarray(table.T)
            changed = _close(turned, self._blocks_y, self._open_y) or changed
            table = np.ascontiguousarray(turned.T)
            if not changed:
                return table

    @cached_property
    def _blocks_x(self) -> list["_Block"]:
        return _blocks(self._splits_x, self._open_x)

    @cached_property
    def _blocks_y(self) -> list["_Block"]:
        return _blocks(self._splits_y, self._open_y)

    @cached_property
    def cuts(self) -> "Cuts":
        """All pairs of points that a cut makes, and up to where it may, for the loops."""
        from nesting.pack.kernels.compiled import Cuts

        return Cuts(*_flat(self._splits_x), *_flat(self._splits_y), self._open_x, self._open_y)

    def _fill_compiled(self, table: Whole) -> None:
        """Fill the table cell by cell with the compiled loop; the values are the same."""
        from nesting.pack.kernels.compiled import fill_table

        sideways = np.ascontiguousarray(table.T)
        rows = max(1, _STEPS_AT_ONCE * len(table) // self.steps)
        for first in range(1, len(table), rows):
            stop_if_late()
            fill_table(table, sideways, self.cuts, first, min(first + rows, len(table)))

    def _fill_stopped(self, table: Whole) -> None:
        """Fill the table cell by cell, with pinwheels; raises ``TimeIsUpError`` when that was much work."""
        from nesting.pack.kernels.stopped_loop import fill_stopped

        self._steps_taken += len(self.across) ** 3 * len(self.along) ** 2
        if self._steps_taken > _MOST_STOPPED:
            raise TimeIsUpError
        for row in range(1, len(table)):
            stop_if_late()
            fill_stopped(table, self.cuts, *self._rests, row)

    @cached_property
    def _rests(self) -> tuple[Whole, Whole]:
        """For each pair of points, the point of what the higher one leaves beside the lower one."""
        grids = (np.array(points, dtype=np.int64) for points in (self.across, self.along))
        rests = (np.searchsorted(g, g[:, None] - g[None], side="right") - 1 for g in grids)
        across, along = (rest.astype(np.int64) for rest in rests)
        return across, along

    def best(self, width: int, height: int) -> int:
        """The most value of a rectangle of this size in units."""
        return int(self._table[self.floor(width, height)])

    def pattern(self, width: int, height: int) -> Pattern | None:
        """A pattern of the most value in a rectangle of this size; None where that is 0.

        None also where its pinwheel has no room for the width of its cuts between the lines.
        """
        found = self._trace(*self.floor(width, height))
        if found is None or found.width > width or found.height > height:
            return None
        return found

    def floor(self, width: int, height: int) -> tuple[int, int]:
        """Find the largest cell within a rectangle of this size in units."""
        return bisect_right(self.across, width) - 1, bisect_right(self.along, height) - 1

    @property
    def cells(self) -> Whole:
        """The table: most value by cell."""
        return self._table

    def _trace(self, i: int, j: int) -> Pattern | None:
        """Walk back from a cell: shrink, place a blank, or divide."""
        table = self._table
        value = table[i, j]
        if not value:
            return None
        while i and j < self._open_x and table[i - 1, j] == value:
            i -= 1
        while j and i < self._open_y and table[i, j - 1] == value:
            j -= 1
        while i and j < self._open_x and table[i - 1, j] == value:
            i -= 1
        for number, shape in self._blanks.get((i, j), ()):
            if self._values[number] * shape.holds == value:
                return Leaf(number, shape)
        for axis, low, high in self.divisions(i, j, least=int(value)):
            return group(axis, [self._trace(*low), self._trace(*high)])
        if self.problem.stopped:
            inside = [self._trace(*cell) for cell in self._arms(i, j)]
            return wheel_of(inside, self.problem.least_gap)
        raise AssertionError("a value without a pattern")

    def _arms(self, i: int, j: int) -> tuple[_Cell, ...]:
        """The cells of a pinwheel's arms and its centre that together hold what their cell does."""
        table, (rest_x, rest_y) = self._table, self._rests
        value = table[i, j]
        inner = np.arange(1, j)
        for b in range(2, i):
            for a in range(1, b):
                right, top, centre = rest_x[i, b], rest_x[i, a], rest_x[b, a]
                low = table[b, inner] + table[a, rest_y[j, inner]]
                high = table[right, inner] + table[top, rest_y[j, inner]]
                sums = low[:, None] + high + table[centre, rest_y[inner[None], inner[:, None]]]
                found = np.argwhere(np.triu(sums == value, 1))
                if len(found):
                    c, d = (int(inner[n]) for n in found[0])
                    return (
                        (b, c),
                        (a, int(rest_y[j, c])),
                        (int(top), int(rest_y[j, d])),
                        (int(right), d),
                        (int(centre), int(rest_y[d, c])),
                    )
        raise AssertionError("a value without a pattern")

    def divisions(self, i: int, j: int, least: int) -> Iterator[tuple[Axis, _Cell, _Cell]]:
        """The cuts of a cell whose parts together hold at least ``least``: axis, low cell, high cell."""
        table = self._table
        if j < self._open_x:
            lows, highs = self._splits_x[i]
            enough = (table[lows, j] + table[highs, j] >= least).nonzero()[0]
            for low, high in zip(lows[enough].tolist(), highs[enough].tolist(), strict=True):
                yield "x", (low, j), (high, j)
        if i < self._open_y:
            lows, highs = self._splits_y[j]
            enough = (table[i, lows] + table[i, highs] >= least).nonzero()[0]
            for low, high in zip(lows[enough].tolist(), highs[enough].tolist(), strict=True):
                yield "y", (i, low), (i, high)


def _splits(points: list[int]) -> list["_Pairs"]:
    """For each point, the pairs of points that a cut divides it into, the low one at most half."""
    grid = np.array(points)
    beyond = np.searchsorted(grid, grid // 2, side="right")
    lows = np.arange(beyond[-1])
    splits = []
    for point, end in zip(points, beyond.tolist(), strict=True):
        stop_if_late()
        highs = np.searchsorted(grid, point - grid[1:end], side="right") - 1
        splits.append((lows[1:end], highs))
    return splits


def _flat(splits: list["_Pairs"]) -> tuple[Whole, Whole]:
    """All pairs in one array, a row of low and a row of high parts, and where each point's begin."""
    pairs = np.array([np.concatenate(parts) for parts in zip(*splits, strict=True)], dtype=np.int64)
    starts = np.cumsum([0, *(len(lows) for lows, _ in splits)], dtype=np.int64)
    return pairs, starts


def _count_up_to(points: list[int], limit: int | None) -> int:
    return len(points) if limit is None else bisect_right(points, limit)


class _Block(NamedTuple):
    """Neighbouring points that are closed together: all their pairs, and where each one's begin."""

    first: int
    beyond: int
    lows: NDArray[np.intp]
    highs: NDArray[np.intp]
    starts: NDArray[np.intp]


def _blocks(splits: list["_Pairs"], columns: int) -> list[_Block]:
    """The points that can be divided, in blocks with few enough pairs to work out together."""
    blocks: list[_Block] = []
    # Every point after the first that can be divided can be divided, too.
    first = next((point for point, (lows, _) in enumerate(splits) if len(lows)), len(splits))
    pairs = 0
    for point in range(first, len(splits)):
        pairs += len(splits[point][0])
        if pairs * columns >= _MOST_AT_ONCE or point == len(splits) - 1:
            own = splits[first : point + 1]
            lows, highs = (np.concatenate(parts) for parts in zip(*own, strict=True))
            starts = np.cumsum([0, *(len(lows) for lows, _ in own[:-1])])
            blocks.append(_Block(first, point + 1, lows, highs, starts))
            first, pairs = point + 1, 0
    return blocks


def _close(table: Whole, blocks: list[_Block], columns: int) -> bool:
    """Raise entries to their lower neighbours and to the best sums of pairs along the first axis.

    Only in the first ``columns`` columns; later blocks use the results of earlier ones. Returns
    whether anything changed.
    """
    part = table[:, :columns]
    before = part.copy()
    np.maximum.accumulate(part, axis=0, out=part)
    for first, beyond, lows, highs, starts in blocks:
        sums = part[lows]
        sums += part[highs]
        stop_if_late()
        own = part[first:beyond]
        np.maximum(own, np.maximum.reduceat(sums, starts, axis=0), out=own)
        raised = part[first - 1 : beyond]
        np.maximum.accumulate(raised, axis=0, out=raised)
    return not np.array_equal(part, before)
