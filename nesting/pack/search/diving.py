"""Diving: sheets that the relaxation uses are fixed one after another, with pricing in between."""

from collections.abc import Generator

import numpy as np

from nesting.arrays import Whole
from nesting.pack.lp.master import Relaxation
from nesting.pack.model.pattern import Pattern
from nesting.pack.model.pauses import STEP, Pause
from nesting.pack.model.problem import Problem
from nesting.pack.one_sheet.constrained_pricing import ConstrainedPricing
from nesting.pack.one_sheet.pattern_enumeration import Patience
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.pack.search.incumbent import Search
from nesting.pack.search.pattern_archive import PatternArchive
from nesting.pack.search.proper_columns import NEAR_AREAS, ProperColumns
from nesting.pack.search.set_covering import pick_sheet

#: How much one pricing may list, and how often it moves the multipliers: a dive prices some hundred times.
_PRICING, _MOVES = Patience(30_000, 20_000), 4
#: The most pricings between two sheets.
_MOST_PRICINGS = 40
#: The relaxation may use so much more than the sheets that are left.
_ALMOST = 1e-6


class Diving:
    """Dives into one relaxation, whose columns stay: what one dive found, the next begins with.

    Pricing for what is left finds the sheets that no search over all sheets comes upon, and it is
    quick, as less and less is left (diving with column generation: Clautiaux, Sadykov, Vanderbeck
    and Viaud 2019; Sadykov, Vanderbeck, Pessoa, Tahiri and Uchoa 2019).

    References
    ----------
    F. Clautiaux, R. Sadykov, F. Vanderbeck, Q. Viaud (2019). Pattern-based diving heuristics for a
    two-dimensional guillotine cutting-stock problem with leftovers. EURO Journal on Computational
    Optimization 7.
    R. Sadykov, F. Vanderbeck, A. Pessoa, I. Tahiri, E. Uchoa (2019). Primal heuristics for branch
    and price: the assets of diving methods. INFORMS Journal on Computing 31.
    """

    def __init__(
        self, search: Search, table: SheetTable, columns: ProperColumns, seen: PatternArchive
    ) -> None:
        self.search = search
        self._table = table
        self._seen = seen
        self._relaxation = Relaxation(search.problem)
        self._columns = columns
        self._multipliers = np.zeros(len(search.problem.kinds), dtype=np.int64)

    def dive(self, sheets: int) -> Generator[Pause, None, list[Pattern]]:
        """Choose ``sheets`` sheets, fewer where these hold all, with a pause after each pricing.

        What they leave open is for ruin and recreate.
        """
        search = self.search
        left = np.array(search.problem.demand)
        patterns: list[Pattern] = []
        while left.any() and len(patterns) < sheets:
            uses = yield from self._priced(left, sheets - len(patterns))
            used = np.flatnonzero(np.array(uses) > 0)
            if not len(used):
                break
            held = np.array([self._columns.taken[number].counts for number in used])
            best = pick_sheet(search, held, np.array(uses)[used], left)
            left = np.maximum(left - held[best], 0)
            patterns.append(self._columns.taken[used[best]].pattern)
        return patterns

    def _priced(self, left: Whole, sheets: int) -> Generator[Pause, None, list[float]]:
        """How often each column is used for what is left, once ``sheets`` suffice or nothing prices out."""
        problem = self.search.problem.asking(left.tolist())
        self._relaxation.ask(problem.demand)
        uses: list[float] = []
        for _ in range(_MOST_PRICINGS):
            self._relaxation.extend(self._columns.taken)
            found = self._relaxation.solve()
            if found is None:
                return []
            cost, uses, duals = found
            if cost <= sheets + _ALMOST:
                break
            added = self._columns.add_seen(self._seen, duals)
            for stay in NEAR_AREAS:
                if not added:
                    one = self._price(problem, self._columns.prices(left, duals, stay))
                    added = self._columns.add(one.seen, one.listed, duals)
            yield STEP
            if not added:
                break
        return uses

    def _price(self, problem: Problem, values: list[int]) -> ConstrainedPricing:
        """Look for sheets of much value within what is left, with multipliers."""
        multipliers = np.where(problem.demand, self._multipliers, 0)
        one = ConstrainedPricing(problem, self._table, values, multipliers)
        one.move_multipliers(_MOVES)
        self._multipliers = one.multipliers
        for _ in one.list_rest(_PRICING):
            pass
        return one
