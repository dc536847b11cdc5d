"""Rounds of all papers' searches, here in turn or in parallel in an executor."""

import os
from collections.abc import Callable, Mapping
from concurrent.futures import Executor, Future, wait
from contextlib import suppress
from math import inf
from time import monotonic, time

from nesting.batch import Batch
from nesting.pack.model.columns import Used, meets
from nesting.pack.model.deadline import is_late, seconds_left, until, within
from nesting.pack.model.limits import FirstOf, Limit, Rounds, State
from nesting.pack.model.problem import Problem, make_problem
from nesting.pack.search.compiling import ending_with_it
from nesting.pack.search.incumbent import Search
from nesting.pack.search.schedule import improve
from nesting.pack.search.tie_break import break_ties
from nesting.pieces import Piece

#: Called after each round with the name of the paper and the state of its search.
Report = Callable[[str, State], None]

#: How many rounds each paper gets here first, as an executor is not worth its cost for easy papers, and
#: how many all together, as it is for many.
_FIRST_ROUNDS, _FIRST_OF_ALL = 60, 600
#: The share of the time in which quick plans are looked for with care.
_QUICK_SHARE = 0.3
#: The share of the time for rounds; the rest, some tenths of a second at most, is for breaking ties.
_ROUNDS_SHARE, _TIES = 0.9, 0.3
#: How many seconds to wait for a search in an executor when it is late, and after a Ctrl-C.
_PATIENCE, _LAST_WORDS = 0.3, 1.0


def start_searches(
    batch: Batch,
    pieces: tuple[Piece, ...],
    seed: int,
    known: Mapping[str, tuple[Problem, tuple[Used, ...]]],
) -> dict[str, Search]:
    """Start a search, with a quick plan, for each paper that pieces are cut from.

    ``known`` has the problem of some papers, and sheets that may yield all that is asked of them;
    otherwise they are patterns to choose from.
    """
    searches = {}
    with within(_QUICK_SHARE):
        for paper in batch.papers:
            if any(piece.paper == paper.name and piece.demand for piece in pieces):
                problem, sheets = known.get(paper.name, (None, ()))
                if problem is None or not any(problem.demand):
                    problem, sheets = make_problem(paper, pieces, batch.trimmer), ()
                searches[paper.name] = search = Search(problem, f"{seed}/{paper.name}")
                held = search.taken(sheets)
                if meets(held, problem.demand):
                    search.offer(held)
    return searches


def improve_all(
    searches: dict[str, Search],
    limit: Limit,
    start: float,
    restarts: int,
    executor: Executor | None,
    report: Report | None,
) -> None:
    """Improve every search in place until it is proven, reaches its limit, or is late.

    ``start`` is the time at which the limit began to count. After a Ctrl-C every search has its
    best plan so far.
    """
    if executor is None:
        first, open_ = dict(searches), _by_turns(searches, limit, start, report)
        for number in range(1, restarts + 1):
            if is_late():
                break
            again = _started(_tasks(first, open_, number))  # by first seeds, whoever leads
            _by_turns(again, limit, start, report)
            _take_better(searches, again)
            open_ = [name for name in open_ if not searches[name].proven]
    else:
        rounds = min(_FIRST_ROUNDS, -(-_FIRST_OF_ALL // max(1, len(searches))))
        open_ = _by_turns(searches, FirstOf((limit, Rounds(rounds))), start, report)
        if open_ and not is_late():
            _beside_one_another(searches, open_, limit, start, restarts, executor)


def _by_turns(
    searches: dict[str, Search], limit: Limit, start: float, report: Report | None
) -> list[str]:
    """Give each paper a round in turn, and break ties at the end; return the papers not proven."""
    active = {name: improve(search) for name, search in searches.items()}
    with within(_ROUNDS_SHARE, kept=_TIES):
        while active and not is_late():
            for name in list(active):
                search = searches[name]
                ended = next(active[name], "ended") == "ended"
                state = search.state(monotonic() - start)
                if report is not None:
                    report(name, state)
                if ended or limit(state):
                    del active[name]
    for search in searches.values():
        break_ties(search)
    return [name for name, search in searches.items() if not search.proven]


def _take_better(searches: dict[str, Search], others: dict[str, Search]) -> None:
    """Take what other searches for the same demands have found where it is cheaper."""
    for name, other in others.items():
        searches[name] = searches[name].bettered_by(other)


#: Problems with the seeds of their searches, by the names of the papers.
_Tasks = dict[str, tuple[Problem, str]]


def _beside_one_another(
    searches: dict[str, Search],
    open_: list[str],
    limit: Limit,
    start: float,
    restarts: int,
    executor: Executor,
) -> None:
    """Run the open searches and their restarts from the beginning in the executor.

    Each processor has a group of papers, which take turns there: what one of them leaves of the time
    is for the others. Each search gives what it would give here, and the best is taken in the same
    order as here: a paper that is proven ignores its later restarts. Groups that cannot run all at
    once each get a part of the time; where none is ready in time, the plans found here stay.
    """
    elapsed, processors = monotonic() - start, os.cpu_count() or 1
    groups = [open_[n::processors] for n in range(min(processors, len(open_)))]
    own = seconds_left() / -(-len(groups) * (1 + restarts) // processors)
    late = time() + seconds_left()
    running = [
        [
            executor.submit(_searched, _tasks(searches, group, number), limit, elapsed, own, late)
            for number in range(1 + restarts)
        ]
        for group in groups
    ]
    try:
        for group, futures in zip(groups, running, strict=True):
            with suppress(TimeoutError):
                _take(searches, _result(futures[0]))
                for future in futures[1:]:
                    if all(searches[name].proven for name in group):
                        break
                    _take_better(searches, _result(future))
    except KeyboardInterrupt:
        _take_found(searches, running)
        raise
    finally:
        for futures in running:
            for future in futures:
                future.cancel()


def _tasks(searches: dict[str, Search], group: list[str], number: int) -> _Tasks:
    """The searches of a group, or restarts of them, whose seeds have this number."""
    return {
        name: (
            searches[name].problem,
            f"{searches[name].seed}/{number}" if number else searches[name].seed,
        )
        for name in group
    }


def _started(tasks: _Tasks) -> dict[str, Search]:
    return {name: Search(problem, seed) for name, (problem, seed) in tasks.items()}


def _take(searches: dict[str, Search], others: dict[str, Search]) -> None:
    """Take what was found elsewhere, unless what was found here is cheaper."""
    for name, other in others.items():
        searches[name] = other.bettered_by(searches[name])


def _take_found(
    searches: dict[str, Search], running: list[list[Future[dict[str, Search]]]]
) -> None:
    """Take the better plans of searches that a Ctrl-C has ended in an executor."""
    at_work = [future for futures in running for future in futures if not future.cancel()]
    wait(at_work, _LAST_WORDS)
    for future in at_work:
        if future.done() and future.exception() is None:
            _take(searches, future.result())


def _result(future: "Future[dict[str, Search]]") -> dict[str, Search]:
    """What a worker of the executor has found; waits only a moment when it is late."""
    left = seconds_left()
    return future.result(None if left == inf else max(0.0, left) + _PATIENCE)


@ending_with_it()
def _searched(
    tasks: _Tasks, limit: Limit, elapsed: float, own: float, late: float
) -> dict[str, Search]:
    """Run some searches to their end, in a worker of an executor.

    They have their ``own`` seconds, but end at ``late``, a time of day, as they may have waited for
    their turn. Ctrl-C reaches workers, too: they return their best plans so far.
    """
    with until(monotonic() + min(own, late - time())):
        searches = _started(tasks)
        with suppress(KeyboardInterrupt):
            _by_turns(searches, limit, monotonic() - elapsed, None)
    return searches
