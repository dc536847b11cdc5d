"""The exact last step: list every pattern that a plan of ``bound`` sheets can contain, and solve."""

from collections.abc import Generator, Iterator
from heapq import nlargest

from nesting.pack.lp.master import Choice, Relaxation, choose_columns
from nesting.pack.model.columns import Column, Pool
from nesting.pack.model.deadline import stop_if_late
from nesting.pack.model.pauses import STEP, Pause, Pauses
from nesting.pack.model.problem import Problem
from nesting.pack.one_sheet.constrained_pricing import Guide
from nesting.pack.one_sheet.pattern_enumeration import (
    Enumeration,
    Patience,
    TooManyError,
    may_list,
)
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.pack.search.incumbent import Search
from nesting.plan import Bound

#: The most guides for one enumeration.
_MOST_GUIDES = 8
#: How many columns the first integer programmes have, before all of them.
_FEW = (300, 1_500)
#: The least node limit for HiGHS, and nodes times columns: a step must not take too long.
_LEAST_NODES, _NODES_BY_COLUMNS = 50, 150_000


def enumerate_and_solve(search: Search, table: SheetTable, patience: Patience) -> Pauses:
    """List every pattern that a plan of ``bound`` sheets can contain; find that plan or rule it out.

    Only an integer programme over the full list can rule it out; the bound then rises by one. Where
    that list is too long, one of the most valuable patterns mostly has the plan: all its sheets
    together may be worth little less than the most, so nearly all of them are worth the most.
    """
    while not search.proven and may_list(search.problem, table):
        sheets = search.bound.value
        for parts in patience.parts:
            pool = yield from _listed(search, table, patience, parts)
            if pool is not None:
                break
        else:
            return
        chosen = Choice(None)
        for few in _best_first(search.problem, pool):
            nodes = max(_LEAST_NODES, _NODES_BY_COLUMNS // max(1, len(few.columns)))
            chosen = choose_columns(search.problem, few.columns, sheets, most=sheets, nodes=nodes)
            yield STEP
            if search.offer_choice(few.columns, chosen):
                return
        if chosen.impossible and parts == 1:
            search.offer_bound(Bound(sheets + 1, "sheets", "search"))
        else:
            return


def _listed(
    search: Search, table: SheetTable, patience: Patience, parts: int
) -> Generator[Pause, None, Pool | None]:
    """The patterns that meet the aims of all guides; None where there are too many, or no guides."""
    guides = _guides(search)
    aims = [guide.aim(search.problem, search.bound.value, parts) for guide in guides]
    if not aims:
        return None
    pool = Pool(search.problem)
    try:
        patterns = yield from Enumeration(search.problem, table, aims, patience).by_turns()
    except TooManyError:
        return None
    for pattern in patterns:
        stop_if_late()
        pool.add(0, pattern)
    yield STEP
    return pool


def _best_first(problem: Problem, pool: Pool) -> Iterator[Pool]:
    """Pools with a few of the most valuable columns, with more of them, and with all.

    Where there is a plan, it mostly consists of a few columns and is found much sooner that way.
    """
    relaxation = Relaxation(problem)
    relaxation.extend(pool.columns)
    found = relaxation.solve()
    if found is not None:

        def worth(column: Column) -> float:
            return sum(n * dual for n, dual in zip(column.counts, found[2], strict=True))

        for number in _FEW:
            if number < len(pool.columns):
                few = Pool(problem)
                for column in nlargest(number, pool.columns, worth):
                    few.add(0, column.pattern)
                yield few
    yield pool


def _guides(search: Search) -> list[Guide]:
    """The guides with the strongest bounds first: within the demand, and without it."""
    guides = list(search.guides)
    bound = search.values_bound
    if bound is not None:
        values = [bound.values[kind.piece] for kind in search.problem.kinds]
        guides.append(Guide(values, bound.sheet_values[0].value))
    return sorted(guides, key=lambda guide: -guide.sheets(search.problem))[:_MOST_GUIDES]
