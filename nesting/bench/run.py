"""Run the sets and measure: results against bounds and baseline, time, faults, with several seeds."""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import partial
from math import inf
from pathlib import Path
from statistics import fmean, median
from time import perf_counter, process_time
from typing import TypeVar

from nesting.batch import Batch
from nesting.bench.batches import card_batch, few_batch, full_batch, planted_batch, tight_batch
from nesting.bench.fresh import fresh_instances
from nesting.bench.leaving_out import without_stages
from nesting.bench.literature import (
    SheetsInstance,
    ValueInstance,
    sheets_instances,
    single,
    value_instances,
)
from nesting.pack.model.limits import Limit, seconds_of
from nesting.workers import worker_processes

_Task = TypeVar("_Task")
_Done = TypeVar("_Done")


#: How far apart the seeds of a batch's searches are: those of random sets count up by one.
_APART = 1_000
#: Enough rounds to lay blanks on one sheet that are known to fit it.
_ROUNDS_TO_CHECK = 20_000


@dataclass(frozen=True, slots=True)
class Result:
    """One batch or instance.

    ``result`` counts sheets over all papers, or is the value of one sheet; ``known`` is what is
    published of it, ``baseline`` what rectpack needs, where they are known. ``proven`` counts
    ``papers`` that are. ``seconds`` is the time that the search took, ``processor`` how much of it
    this process was at work. ``allowed`` is the limit in seconds, if any; the row is of the search with
    the seed ``again`` places after the first.
    """

    cell: str
    name: str
    pieces: int
    result: int
    bound: int
    known: int | None
    baseline: int | None
    papers: int
    proven: int
    faults: int
    seconds: float
    processor: float = 0.0
    allowed: float = inf
    again: int = 0


@dataclass(frozen=True, slots=True)
class Totals:
    """Some rows together.

    Of several seeds, ``result`` and ``bound`` are the mean and ``worst`` is the largest result.
    """

    rows: int
    result: float
    worst: int
    bound: float
    proven: int
    faults: int
    worse_than_baseline: int
    processor: float
    median_seconds: float
    high_seconds: float
    worst_seconds: float


def totals(rows: list[Result]) -> Totals:
    """Add rows up. A batch is proven when all its papers are; high is the 95th percentile."""
    times = sorted(row.seconds for row in rows)
    results: Counter[int] = Counter()
    for row in rows:
        results[row.again] += row.result
    return Totals(
        rows=len(rows),
        result=fmean(results.values()),
        worst=max(results.values()),
        bound=sum(row.bound for row in rows) / len(results),
        proven=sum(row.proven == row.papers for row in rows),
        faults=sum(row.faults for row in rows),
        worse_than_baseline=sum(
            row.baseline is not None and row.result > row.baseline for row in rows
        ),
        processor=sum(row.processor for row in rows),
        median_seconds=median(times),
        high_seconds=times[min(len(times) - 1, int(0.95 * len(times)))],
        worst_seconds=times[-1],
    )


@dataclass(frozen=True, slots=True)
class RunSettings:
    """How a set is run: what ends each search, chance, how many at once, rectpack beside it.

    ``without`` are names of stages that are left out. Of several searches with other seeds, each is
    ``again`` one more.
    """

    limit: Limit
    seed: int = 0
    workers: int = 1
    baseline: bool = False
    without: tuple[str, ...] = ()
    again: int = 0


def run_batch(
    batch: Batch,
    run: RunSettings,
    cell: str = "",
    known: int | None = None,
    seed: int = 0,
    executor: Executor | None = None,
) -> Result:
    """Plan one batch, check the plan, and let rectpack try the same papers."""
    from nesting.checker import check
    from nesting.pack import solve

    start, worked = perf_counter(), process_time()
    with without_stages(run.without):
        plan = solve(batch, run.limit, seed + run.again * _APART, executor=executor)
    seconds, processor = perf_counter() - start, process_time() - worked
    return Result(
        cell=cell or batch.name,
        name=batch.name,
        pieces=sum(piece.demand for piece in plan.pieces),
        result=sum(figures.needed for figures in plan.papers),
        bound=sum(figures.bound.value for figures in plan.papers),
        known=known,
        baseline=_baseline(batch) if run.baseline else None,
        papers=len(plan.papers),
        proven=sum(figures.proven for figures in plan.papers),
        faults=len(check(plan.asked, plan)),
        seconds=seconds,
        processor=processor,
        allowed=seconds_of(run.limit),
        again=run.again,
    )


def _baseline(batch: Batch) -> int:
    from nesting.bench.baseline import best_of_rectpack
    from nesting.cards.resolving import resolve
    from nesting.pack.model.problem import make_problem

    pieces = resolve(batch).pieces()
    problems = (make_problem(paper, pieces, batch.trimmer) for paper in batch.papers)
    return sum(best_of_rectpack(problem) for problem in problems if problem.kinds)


def bench_cards(count: int, run: RunSettings) -> Iterator[Result]:
    """Measure random batches of the trade, the numbers ``seed`` and up."""
    yield from mapped(partial(card_row, run=run), range(run.seed, run.seed + count), run.workers)


def card_row(number: int, run: RunSettings) -> Result:
    """Measure the random batch of the trade that has this number."""
    return run_batch(card_batch(number), run, "cards", seed=number)


def bench_few(count: int, run: RunSettings) -> Iterator[Result]:
    """Measure batches with few of each piece, and half as many of each kind that nearly fill sheets."""
    numbers = range(run.seed, run.seed + count)
    yield from mapped(partial(_few_row, run=run), numbers, run.workers)
    yield from mapped(partial(_tight_row, run=run), numbers[: count // 2], run.workers)
    yield from mapped(partial(_planted_row, run=run), numbers[: count // 2], run.workers)


def _few_row(number: int, run: RunSettings) -> Result:
    return run_batch(few_batch(number), run, "few of each", seed=number)


def _tight_row(number: int, run: RunSettings) -> Result:
    return run_batch(tight_batch(number), run, "nearly full", seed=number)


def _planted_row(number: int, run: RunSettings) -> Result:
    batch, sheets = planted_batch(number)
    return run_batch(batch, run, "sheets cut up", sheets, number)


def bench_planted(count: int, run: RunSettings) -> Iterator[Result]:
    """Measure sheets cut up with nothing left over, the numbers ``seed`` and up, fixed and turned."""
    for turned in (False, True):
        row = partial(_full_row, run=run, turned=turned)
        yield from mapped(row, range(run.seed, run.seed + count), run.workers)


def _full_row(number: int, run: RunSettings, *, turned: bool) -> Result:
    batch, sheets = full_batch(number, turned=turned)
    return run_batch(batch, run, "turned" if turned else "fixed", sheets, number)


def bench_many(
    path: Path | None, run: RunSettings, *, turned: bool, count: int | None = None
) -> Iterator[Result]:
    """Measure instances that ask for many sheets, or up to ``count``, evenly drawn.

    Those of a file, or fresh ones made with ``seed``.
    """
    read = partial(sheets_instances, path) if path else partial(fresh_instances, run.seed)
    instances = list(read(turned=turned))
    instances = instances[:: -(-len(instances) // count)] if count else instances
    yield from mapped(partial(_many_row, run=run), instances, run.workers)


def _many_row(instance: SheetsInstance, run: RunSettings) -> Result:
    return run_batch(instance.batch, run, instance.cell, instance.least, run.seed)


def bench_single(path: Path, run: RunSettings, *, bounded: bool) -> Iterator[Result]:
    """Measure the instances of a file that ask for the most value from one sheet.

    Unbounded ones fixed and turned, bounded ones fixed.
    """
    for turned in (False,) if bounded else (False, True):
        instances = value_instances(path, turned=turned, bounded=bounded)
        one = partial(_value_row, run=run, turned=turned, bounded=bounded)
        yield from mapped(one, instances, run.workers)


def _value_row(instance: ValueInstance, run: RunSettings, *, turned: bool, bounded: bool) -> Result:
    """The most value of one sheet; its layout is checked as the plan of a batch of its own."""
    from nesting.checker import check
    from nesting.pack import Rounds, solve
    from nesting.pack.model.pattern import counts
    from nesting.pack.one_sheet.constrained_pricing import best_sheet
    from nesting.pack.one_sheet.value_table import SheetTable

    problem = instance.problem
    start = perf_counter()
    if bounded:
        best = best_sheet(problem, instance.values, run.seed)
        pattern, value, bound = best.pattern, best.value, best.bound
    else:
        size = problem.sizes[0]
        table = SheetTable(problem)
        table.fill(instance.values)
        pattern = table.pattern(size.width, size.height)
        value = bound = table.best(size.width, size.height)
    seconds = perf_counter() - start
    found = counts(pattern, len(problem.kinds))
    worth = sum(
        v * min(n, d) for v, n, d in zip(instance.values, found, problem.demand, strict=True)
    )
    faults = int(worth != value)
    if pattern is not None:
        plan = solve(single(instance, found), Rounds(_ROUNDS_TO_CHECK), run.seed)
        faults += len(check(plan.asked, plan)) + int(plan.papers[0].needed != 1)
    return Result(
        cell="turned" if turned else "fixed",
        name=instance.batch.name,
        pieces=sum(found),
        result=value,
        bound=bound,
        known=instance.optimum,
        baseline=None,
        papers=1,
        proven=int(value == bound),
        faults=faults,
        seconds=seconds,
    )


def mapped(run: Callable[[_Task], _Done], tasks: Iterable[_Task], workers: int) -> Iterator[_Done]:
    """Do some tasks in order, here or in so many processes."""
    if workers == 1:
        yield from map(run, tasks)
        return
    with worker_processes(workers) as executor:
        yield from executor.map(run, tasks)
