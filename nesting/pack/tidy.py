"""Of plans of equal cost, one that is easy to cut."""

from nesting.pack.columns import Used
from nesting.pack.fill import Filled
from nesting.pack.master import choose_tidy
from nesting.pack.problem import along_grain
from nesting.pack.search import Search
from nesting.pack.surplus import without_surplus

#: How many columns the choice of a tidy plan may have.
_MOST_TIDIED = 50
#: How many rounds the search for a plan along the grain may take.
_GRAIN_ROUNDS = 40


def tidy(search: Search) -> None:
    """Of plans of equal cost, take one with few folds across the grain and few layouts.

    Looked for among the columns of the search and, where folds run across, of a search that
    lets none do so.
    """
    if len(search.best) == 1 and not search.across_grain:
        return
    wish = along_grain(search.problem) if search.across_grain else None
    if wish is not None:
        other = Search(wish, "grain")
        for _ in other.improve():
            if other.cost <= search.cost or other.rounds >= _GRAIN_ROUNDS:
                break
        for used in other.best:
            search.pool.add(used.column.supply, used.column.content)
    if len(search.pool.columns) > _MOST_TIDIED:
        return
    chosen = choose_tidy(search.problem, search.pool.columns, search.bound.value, search.cost)
    if chosen.counts is not None:
        plan = tuple(Used(search.pool.columns[c], n) for c, n in chosen.counts.items())
        plan = search.on_cheapest(plan) or search.best
        if _untidiness(search, plan) < _untidiness(search, search.best):
            search.best = plan


def _untidiness(search: Search, plan: tuple[Used, ...]) -> tuple[int, int]:
    """Folds across the grain, and layouts once nothing is cut beyond the demand."""
    filled = [Filled(used.column.supply, used.column.content, used.count) for used in plan]
    layouts = {(one.supply, one.content) for one in without_surplus(filled, search.problem.demand)}
    return sum(used.column.across_grain * used.count for used in plan), len(layouts)
