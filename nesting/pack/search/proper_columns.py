"""Column generation with proper columns: those that hold no more of a kind than its demand.

Where demands are small, the relaxation over proper columns is much stronger than the one over all
columns, whose pricing may place a blank twice that is needed once.
"""

from collections.abc import Callable
from dataclasses import replace
from heapq import nlargest
from itertools import product, repeat
from operator import itemgetter

import numpy as np

from nesting.arrays import Numbers, Whole
from nesting.pack.bounds.dual_bounds import whole_values
from nesting.pack.lp.master import Relaxation
from nesting.pack.model.columns import Column, Pool
from nesting.pack.model.pattern import Pattern, counts_within
from nesting.pack.model.pauses import STEP, Pauses
from nesting.pack.one_sheet.best_patterns import A_FEW, ONE, BestPatterns
from nesting.pack.one_sheet.constrained_pricing import ConstrainedPricing, Guide
from nesting.pack.one_sheet.packed_counts import ListedPatterns
from nesting.pack.one_sheet.pattern_enumeration import LITTLE, Patience
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.pack.search.incumbent import Search
from nesting.pack.search.pattern_archive import PatternArchive
from nesting.plan import Bound

#: How much one pricing may list.
_PRICING = Patience(20_000_000, 200_000)
#: How often one pricing moves the multipliers, starting from those of the last.
_MOVES = 60
#: The weights of areas in quick prices: where the first prices nothing out, the second.
NEAR_AREAS = (0.5, 0.0)
#: The most columns to add at once.
_MOST_ADDED = 100
#: By how much a new column's value must exceed its sheet's cost.
_ENOUGH = 1e-6
#: How many patterns joined by ``best_patterns`` make a step.
_JOINED_A_STEP = 200_000
#: The most pricings.
_MOST_PRICINGS = 400


def price_proper_columns(
    search: Search,
    table: SheetTable,
    columns: "ProperColumns",
    seen: PatternArchive | None = None,
) -> Pauses:
    """Generate proper columns; they give a bound and the guides for the enumeration.

    Columns from the archive, then the best patterns, are added first as long as any price out; a
    sheet is priced exactly only when none does. The most that a sheet holds is found by counting a
    few kinds, then by listing, as far as a bound of one sheet more needs it, so the bound is one by
    search.
    """
    problem = search.problem
    relaxation, demand = Relaxation(problem), np.array(problem.demand)
    multipliers: Whole | None = None
    counted: tuple[int, ...] = ()
    for _ in range(_MOST_PRICINGS):
        relaxation.extend(columns.taken)
        found = relaxation.solve()
        if found is None or search.proven:
            return
        joined = columns.joined
        added = (seen is not None and columns.add_seen(seen, found.duals)) or columns.add_best(
            demand, found.duals
        )
        if not added:
            values = whole_values(problem, found.duals)
            one = ConstrainedPricing(problem, table, values, multipliers, counted)
            one.look(columns.most_worth(demand, values))
            one.move_multipliers(_MOVES if multipliers is not None else 4 * _MOVES)
            enough = -(-int(one.values @ one.demand) // search.bound.value)
            yield from one.count_kinds(enough)
            yield from one.list_rest(_PRICING if one.value < enough else LITTLE, enough)
            multipliers, counted = one.multipliers, one.counted
            guide = Guide(values, one.bound, multipliers, counted)
            search.offer_bound(Bound(-(-guide.total(problem) // one.bound), "sheets", "search"))
            search.guides.append(guide)
            if not columns.add(one.seen, one.listed, found.duals):
                return
        yield from repeat(STEP, 1 + (columns.joined - joined) // _JOINED_A_STEP)


class ProperColumns:
    """The columns of a pool, clipped to the demand, and new ones."""

    def __init__(self, pool: Pool, table: SheetTable) -> None:
        self._pool = pool
        self._best = BestPatterns(pool.problem, table)
        (size,) = pool.problem.sizes
        #: Each kind's share of the area of a sheet.
        self.shares = np.array(pool.problem.areas) / (size.width * size.height)
        self._known: set[tuple[int, ...]] = set()
        self.taken: list[Column] = []
        for column in pool.columns:
            self._take(column.pattern)

    @property
    def joined(self) -> int:
        """How many patterns were joined so far in looking for the best, which tells how long it took."""
        return self._best.joined

    def _clipped(self, pattern: Pattern) -> tuple[int, ...]:
        return counts_within(pattern, self._pool.problem.demand)

    def _take(self, pattern: Pattern) -> None:
        clipped = self._clipped(pattern)
        if clipped not in self._known:
            self._known.add(clipped)
            column = self._pool.columns[self._pool.add(0, pattern)]
            self.taken.append(replace(column, counts=clipped))

    def add_seen(self, seen: PatternArchive, duals: list[float]) -> int:
        """Add the archive's patterns of most value above a sheet's cost; return how many."""
        return self._add_most(_most_worth(seen.worth(duals), seen.pattern))

    def add_best(self, demand: Whole, duals: list[float]) -> int:
        """Add patterns of much value within a demand, as soon as some are worth more than a sheet's cost.

        Prices near the areas come first: then it takes fewer columns until nothing prices out.
        """
        for most, stay in product((ONE, A_FEW), NEAR_AREAS):
            found = self._best.find(self.prices(demand, duals, stay), demand, most)
            added = self.add([], [found], duals)
            if added:
                return added
        return 0

    def prices(self, demand: Whole, duals: list[float], stay: float) -> list[int]:
        """Dual values mixed with the areas, which have the weight ``stay``, of the kinds asked for."""
        mixed = stay * self.shares + (1 - stay) * np.array(duals)
        return whole_values(self._pool.problem, list(np.where(demand, mixed, 0.0)))

    def most_worth(self, demand: Whole, values: list[int]) -> Pattern | None:
        """The pattern of most value among the columns and the best patterns within a demand."""
        found = self._best.find(values, demand)
        patterns = [*(column.pattern for column in self.taken), *found]
        held = np.array([*(column.counts for column in self.taken), *found.counts])
        return patterns[int((held @ np.array(values)).argmax())] if patterns else None

    def add(self, patterns: list[Pattern], listed: list[ListedPatterns], duals: list[float]) -> int:
        """Add the patterns of most value above a sheet's cost; return how many."""
        prices = np.array(duals)
        found = [(float(prices @ self._clipped(one)), one) for one in patterns]
        for some in listed:
            found += _most_worth(some.counts @ prices, some.pattern)
        return self._add_most(found)

    def _add_most(self, found: list[tuple[float, Pattern]]) -> int:
        known = len(self.taken)
        for worth, pattern in nlargest(_MOST_ADDED, found, itemgetter(0)):
            if worth > 1 + _ENOUGH:
                self._take(pattern)
        return len(self.taken) - known


def _most_worth(worth: Numbers, pattern: Callable[[int], Pattern]) -> list[tuple[float, Pattern]]:
    """The patterns of most value above a sheet's cost, with that value."""
    enough = np.flatnonzero(worth > 1 + _ENOUGH)
    most = enough[np.argsort(-worth[enough], kind="stable")[:_MOST_ADDED]]
    return [(float(worth[number]), pattern(int(number))) for number in most]
