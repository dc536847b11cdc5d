"""Ties between plans of equal cost: the one that is easiest to cut."""

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace

from nesting.pack.lp.master import choose_along_grain
from nesting.pack.model.columns import Column, Used, across_grain
from nesting.pack.model.deadline import TimeIsUpError, stop_if_late
from nesting.pack.model.problem import along_grain, always_across
from nesting.pack.search.incumbent import Search
from nesting.pack.search.pattern_reduction import reduce_patterns
from nesting.pack.search.schedule import improve

#: The most rounds of the search for a plan along the grain.
_GRAIN_ROUNDS = 40
#: How many quick plans keep a random part of the pieces along the grain.
_SOME = 8


def break_ties(search: Search) -> None:
    """Among plans of equal cost, take one with few folds across the grain and few patterns.

    It is looked for among the search's columns and, where more folds run across than have to, those
    of searches that allow fewer.
    """
    if search.across_grain > always_across(search.problem):
        with suppress(TimeIsUpError):
            _along_grain(search)
    if len(search.best) > 1:
        search.replace_equal(
            reduce_patterns(search.best, search.pool.columns, search.problem.demand)
        )


def _along_grain(search: Search) -> None:
    """Take a plan of the same cost with fewer folds across the grain, if there is one."""
    for column in _columns_along(search):
        search.pool.add(column.supply, column.pattern)
    columns = search.pool.columns
    chosen = choose_along_grain(search.problem, columns, search.bound.value, search.cost)
    if chosen.counts is not None:
        plan = search.on_cheapest(tuple(Used(columns[c], n) for c, n in chosen.counts.items()))
        if plan is not None and across_grain(plan) < search.across_grain:
            search.replace_equal(plan)


def _columns_along(search: Search) -> Iterator[Column]:
    """Columns with few folds across the grain, from a search that allows none.

    Where that takes more sheets, also from quick plans that allow none for a random part of the
    pieces.
    """
    wish = along_grain(search.problem)
    if wish is None:
        return
    stop_if_late()
    other = Search(wish, "grain")
    for _ in improve(other):
        if other.cost <= search.cost or other.rounds >= _GRAIN_ROUNDS:
            break
    yield from other.pool.columns
    if other.cost > search.cost:
        either = list(zip(search.problem.kinds, wish.kinds, strict=True))
        for _ in range(_SOME):
            stop_if_late()
            partly = replace(wish, kinds=tuple(map(search.rng.choice, either)))
            yield from Search(partly, "grain").pool.columns
