"""Constrained pricing: the most value from one sheet with a limited number of each kind."""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from itertools import chain
from random import Random

import numpy as np

from nesting.arrays import Whole
from nesting.pack.model.pattern import Pattern, counts, counts_within
from nesting.pack.model.pauses import Pauses
from nesting.pack.model.problem import Problem
from nesting.pack.one_sheet.counted_table import CountedTable, may_count
from nesting.pack.one_sheet.greedy import fillings
from nesting.pack.one_sheet.packed_counts import ListedPatterns
from nesting.pack.one_sheet.pattern_enumeration import (
    Enumeration,
    Patience,
    TooManyError,
    ValueTarget,
)
from nesting.pack.one_sheet.value_table import SheetTable

#: How often the multipliers are moved, and after how many moves in vain the step is made smaller.
_MOVES, _PATIENT_MOVES = 120, 8
#: How often they are moved once one more kind is counted.
_COUNTED_MOVES = 12
#: No limit on pairs; as many patterns as memory allows.
_ENDLESS = Patience(2**62, 2_000_000)


@dataclass(frozen=True, slots=True)
class BestSheet:
    """The best pattern found, its value, and an upper bound on the value of any pattern.

    ``pattern`` is None where nothing has any value.
    """

    pattern: Pattern | None
    value: int
    bound: int

    @property
    def proven(self) -> bool:
        """Whether no pattern is worth more."""
        return self.value == self.bound


def best_sheet(
    problem: Problem, values: list[int], seed: int = 0, patience: Patience = _ENDLESS
) -> BestSheet:
    """Find the most value that one sheet can hold with no more of a kind than its demand.

    Parameters
    ----------
    problem
        One size of sheet, no longest cut. Demands are the most copies of each kind.
    values
        What each kind is worth, 0 or more.
    patience
        How much to list before giving up; the value is then not proven.

    References
    ----------
    N. Christofides, E. Hadjiconstantinou (1995). An exact algorithm for orthogonal 2-D cutting
    problems using guillotine cuts. EJOR 83.
    A. S. Velasco, E. Uchoa (2019). Improved state space relaxation for constrained
    two-dimensional guillotine cutting problems. EJOR 272.
    """
    search = ConstrainedPricing(problem, SheetTable(problem), values)
    density = [v / kind.area for v, kind in zip(values, problem.kinds, strict=True)]
    left = list(problem.demand)
    for pattern in fillings(problem, problem.sizes[0], left, Random(seed), 40, density):
        search.look(pattern)
    search.move_multipliers()
    for _ in chain(search.count_kinds(), search.list_rest(patience)):
        pass
    return BestSheet(search.best, search.value, search.bound)


class ConstrainedPricing:
    """The search for the most value of one sheet: the best pattern so far, and an upper bound.

    Without the demand the problem is unbounded, and the dynamic programme solves it. A multiplier
    for each kind, subtracted from its value, brings its use down to the demand (state-space
    relaxation with multipliers: Christofides and Hadjiconstantinou 1995; Velasco and Uchoa 2019).
    A few kinds that it still uses too often can be counted (``CountedTable``). The gap that the
    relaxation leaves is closed by listing patterns, guided by multipliers and counted kinds, from the
    bound downwards until the best pattern is among them.

    ``bound`` is the upper bound on a pattern within the demand, ``seen`` has every pattern that was
    the best for a while, ``listed`` those that were listed.

    Parameters
    ----------
    multipliers, counted
        Where to begin: those of a search with similar values.
    """

    def __init__(
        self,
        problem: Problem,
        table: SheetTable,
        values: list[int],
        multipliers: Whole | None = None,
        counted: Iterable[int] = (),
    ) -> None:
        self.problem = problem
        self.table = table
        self.values = np.array(values, dtype=np.int64)
        self.demand = np.array(problem.demand, dtype=np.int64)
        self.best: Pattern | None = None
        self.value = 0
        self.bound = int(self.values @ self.demand)
        self.multipliers = np.zeros_like(self.values) if multipliers is None else multipliers
        self.counted = tuple(counted)
        #: The value of what the last relaxations have beyond the demand, by kind.
        self._beyond = np.zeros_like(self.values)
        self.seen: list[Pattern] = []
        self.listed: list[ListedPatterns] = []

    def look(self, pattern: Pattern | None) -> None:
        """Keep a pattern if it is the best; its blanks beyond the demand count for nothing."""
        if pattern is None:
            return
        value = int(self.values @ self._within(pattern))
        if value > self.value:
            self.best, self.value = pattern, value
            self.seen.append(pattern)
        self.bound = max(self.bound, self.value)

    def _within(self, pattern: Pattern) -> Whole:
        return np.array(counts_within(pattern, self.problem.demand))

    def move_multipliers(self, moves: int = _MOVES) -> None:
        """Lower the bound: raise the multipliers of kinds that the relaxation uses too often."""
        self.multipliers, _ = self._moved(self.table, self.multipliers, moves)

    def count_kinds(self, enough: int = 0) -> Pauses:
        """Lower the bound: count the kinds that the relaxation uses too often, one after another, with pauses.

        Until the best pattern is proven, the bound is below what is ``enough``, or tables for one more
        kind would be too many.
        """
        counted, multipliers, lowest = list(self.counted), self.multipliers, self.bound + 1
        while self.value < self.bound >= enough and may_count(self.table, counted):
            multipliers = multipliers.copy()
            multipliers[counted] = 0
            table = CountedTable(self.table, counted)
            yield from table.pauses(_COUNTED_MOVES)
            multipliers, bound = self._moved(table, multipliers, _COUNTED_MOVES)
            if bound < lowest:
                self.counted, self.multipliers, lowest = tuple(counted), multipliers, bound
            worst = int(self._beyond.argmax())
            if not self._beyond[worst]:
                return
            counted.append(worst)

    def _moved(
        self, table: SheetTable | CountedTable, multipliers: Whole, moves: int
    ) -> tuple[Whole, int]:
        """Move multipliers so that the bound by a table falls; return those of the lowest, and that."""
        size = self.problem.sizes[0]
        best, lowest = multipliers, int(self.values @ self.demand)
        moving = multipliers.astype(float)
        step, since = 1.0, 0
        self._beyond = np.zeros_like(self.values)
        for _ in range(moves):
            whole = np.floor(moving).astype(np.int64)
            table.fill([int(value) for value in np.maximum(self.values - whole, 0)])
            bound = table.best(size.width, size.height) + int(whole @ self.demand)
            pattern = table.pattern(size.width, size.height)
            self.look(pattern)
            since += 1
            if bound < lowest:
                lowest, best, since = bound, whole, 0
                self.bound = max(min(bound, self.bound), self.value)
            if self.bound <= self.value or pattern is None:
                break
            beyond = np.array(counts(pattern, len(self.values))) - self.demand
            self._beyond += np.maximum(beyond, 0) * self.values
            beyond[(beyond < 0) & (whole == 0)] = 0
            if not beyond.any():
                break
            if since >= _PATIENT_MOVES:
                step, since = step / 2, 0
            move = step * (bound - self.value) / float(beyond @ beyond)
            moving = np.maximum(moving + move * beyond, 0)
        return best, lowest

    def list_rest(self, patience: Patience, enough: int = 0) -> Pauses:
        """List patterns from the bound downwards until the best one is among them, with pauses.

        Or until the bound is below what is ``enough``, as it is at once where none is worth that.
        """
        gap = max(1, (self.bound - self.value) // 16)
        aim = _aim(self.values, self.multipliers, self.demand, 0, self.counted)
        listing = Enumeration(self.problem, self.table, [aim], patience)
        while self.bound > self.value and self.bound >= enough:
            least = enough if enough > self.value else max(self.value + 1, self.bound - gap)
            try:
                found = yield from listing.by_turns(least)
            except TooManyError:
                return
            if len(found.counts):
                self.look(found.pattern(found.best(self.values)))
                self.listed.append(found)
            self.bound = max(self.value, least - 1)
            gap *= 2


def _aim(
    values: Whole, multipliers: Whole, demand: Whole, least: int, counted: Iterable[int]
) -> ValueTarget:
    """What a pattern worth ``least`` is still worth when the multipliers are subtracted."""
    reduced = np.maximum(values - multipliers, 0)
    values_left = [int(value) for value in reduced]
    return ValueTarget(values_left, least - int(multipliers @ demand), tuple(counted))


@dataclass(frozen=True, slots=True)
class Guide:
    """A value for each kind, and the ``most`` value that a sheet within the demand can hold.

    ``multipliers`` and the kinds ``counted`` are those that gave this bound on one sheet.
    """

    values: list[int]
    most: int
    multipliers: Whole | None = None
    counted: tuple[int, ...] = ()

    def total(self, problem: Problem) -> int:
        """The value of the whole demand."""
        return sum(v * n for v, n in zip(self.values, problem.demand, strict=True))

    def sheets(self, problem: Problem) -> Fraction:
        """The bound on the number of sheets by these values, not rounded up."""
        return Fraction(self.total(problem), self.most)

    def aim(self, problem: Problem, sheets: int, parts: int = 1) -> ValueTarget:
        """What every pattern in a plan of this many sheets must be worth.

        None is worth less than the most by more than all sheets together may lose. With ``parts`` above
        1, the aim is at patterns that lose no more than one such part of that.
        """
        values, demand = (np.array(row, dtype=np.int64) for row in (self.values, problem.demand))
        multipliers = np.zeros_like(values) if self.multipliers is None else self.multipliers
        least = self.most - (sheets * self.most - self.total(problem)) // parts
        return _aim(values, multipliers, demand, least, self.counted)
