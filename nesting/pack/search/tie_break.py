"""Ties between plans of equal cost: the one that is easiest to cut."""

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace

from nesting.pack.model.columns import Column, Used
from nesting.pack.model.deadline import TimeIsUpError, stop_if_late
from nesting.pack.model.otherwise import along_grain, always_across, without_middles
from nesting.pack.model.problem import Problem
from nesting.pack.search.incumbent import Search
from nesting.pack.search.pattern_reduction import reduce_patterns
from nesting.pack.search.schedule import improve

#: The most rounds of the search for a plan along the grain, or without covered middles.
_OTHER_ROUNDS = 40
#: How many quick plans keep a random part of the pieces along the grain.
_SOME = 8


def break_ties(search: Search) -> None:
    """Among plans of equal cost, take one with few covered middles, folds across the grain, and patterns.

    It is looked for among the search's columns and, where there are covered middles or more folds run
    across than have to, those of searches that allow fewer.
    """
    if any(_is_middle(used.column, search.problem) for used in search.best):
        with suppress(TimeIsUpError):
            _without_middles(search)
    if search.across_grain > always_across(search.problem):
        with suppress(TimeIsUpError):
            _along_grain(search)
    if len(search.best) > 1:
        search.replace_equal(
            reduce_patterns(search.best, search.pool.columns, search.problem.demand)
        )


def _is_middle(column: Column, problem: Problem) -> bool:
    """Whether a column is cut from a covered middle."""
    return bool(problem.supplies[column.supply].sheet.windows)


def _without_middles(search: Search) -> None:
    """Take a plan of the same cost from fewer covered middles, if there is one."""
    stop_if_late()
    problem = search.problem
    other = _searched(without_middles(problem), "middles", search.cost)
    search.taken(Used(column, 1) for column in other.pool.columns)
    search.take_few(lambda column: _is_middle(column, problem))


def _along_grain(search: Search) -> None:
    """Take a plan of the same cost with fewer folds across the grain, if there is one."""
    search.taken(Used(column, 1) for column in _columns_along(search))
    search.take_few(lambda column: column.across_grain)


def _searched(problem: Problem, seed: str, cost: int) -> Search:
    """A search, for no longer than it takes to reach a cost."""
    search = Search(problem, seed)
    for _ in improve(search):
        if search.cost <= cost or search.rounds >= _OTHER_ROUNDS:
            break
    return search


def _columns_along(search: Search) -> Iterator[Column]:
    """Columns with few folds across the grain, from a search that allows none.

    Where that takes more sheets, also from quick plans that allow none for a random part of the
    pieces.
    """
    wish = along_grain(search.problem)
    if wish is None:
        return
    stop_if_late()
    other = _searched(wish, "grain", search.cost)
    yield from other.pool.columns
    if other.cost > search.cost:
        either = list(zip(search.problem.kinds, wish.kinds, strict=True))
        for _ in range(_SOME):
            stop_if_late()
            partly = replace(wish, kinds=tuple(map(search.rng.choice, either)))
            yield from Search(partly, "grain").pool.columns
