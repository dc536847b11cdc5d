"""Cuts that stop inside the sheet: tried where they could save a sheet, after the edge-to-edge search.

The same problem with pinwheels is a search of its own: the dynamic programme has them, and so its
columns and its bounds do. It begins with the plan and the columns of the edge-to-edge search, and what
it finds is taken only if it is cheaper.
"""

from collections.abc import Iterable
from contextlib import suppress
from dataclasses import replace

from nesting.pack.bounds.dual_bounds import bound_by
from nesting.pack.model.deadline import TimeIsUpError
from nesting.pack.model.pattern import is_stopped
from nesting.pack.model.problem import Problem
from nesting.pack.one_sheet.raster_points import cut_points
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.pack.search.incumbent import Search
from nesting.pack.search.known_sheets import KnownSheets, offer_known
from nesting.pack.search.schedule import improve
from nesting.pieces import Piece

#: The most steps of a table with pinwheels: the cube of the points along one axis times the square of
#: those along the other. One filling takes up to 0.2 s.
_MOST_STEPS = 100_000_000
#: The most rounds of the search with pinwheels.
_ROUNDS = 40


def may_stop(problem: Problem, most_steps: int = _MOST_STEPS) -> bool:
    """Whether pinwheels are looked for: the trimmer can stop, and their table is not too large."""
    if not problem.trimmer.stops or problem.longest is not None:
        return False
    few, many = sorted(map(len, cut_points(replace(problem, stopped=True))))
    return many**3 * few**2 <= most_steps


def stop_where_it_saves(
    searches: dict[str, Search], pieces: Iterable[Piece], known: KnownSheets
) -> None:
    """Take a search with stopped cuts in the place of each for which that saves something."""
    for name, search in searches.items():
        searches[name] = _with_stopped_cuts(search, pieces, known)


def _with_stopped_cuts(search: Search, pieces: Iterable[Piece], known: KnownSheets) -> Search:
    """The search with stopped cuts that saves something; else the same, its bound for them, if proven.

    Where the area alone proves that nothing can be saved, nothing is looked for. Where it is late, what
    is found so far counts.
    """
    if (search.bound.by == "area" and search.proven) or not may_stop(search.problem):
        return search
    stopped = Search(replace(search.problem, stopped=True), search.seed, search.best)
    offer_known({search.problem.paper.name: stopped}, pieces, known)
    with suppress(TimeIsUpError):
        _look(stopped, search)
    if stopped.cost < search.cost:
        stopped.take_few(lambda column: is_stopped(column.pattern))
        return stopped
    if stopped.proven:
        search.bound = stopped.bound
    return search


def _look(stopped: Search, search: Search) -> None:
    """Prove with the values of the edge-to-edge search that nothing is saved, or look for it."""
    for column in search.pool.columns:
        stopped.pool.take(column)
    if search.values_bound is not None:
        known = search.values_bound.values
        values = [known[kind.piece] for kind in stopped.problem.kinds]
        stopped.offer_bound(bound_by(stopped.problem, SheetTable(stopped.problem), values))
    if stopped.proven:
        return
    for _ in improve(stopped):
        if stopped.rounds > _ROUNDS:
            return
