"""Run the sets and measure: sheets against bounds and baseline, time, faults."""

from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context
from statistics import median
from time import perf_counter

from nesting.batch import Batch
from nesting.bench.batches import card_batch, grown, growth_batch
from nesting.pack.limits import Limit


@dataclass(frozen=True, slots=True)
class Row:
    """One batch: its sheets over all papers, what is proven, and what the baseline needs.

    ``baseline`` is None where rectpack was not run. ``proven`` and ``papers`` count papers.
    """

    name: str
    pieces: int
    sheets: int
    bound: int
    baseline: int | None
    papers: int
    proven: int
    faults: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Totals:
    """A set's rows together."""

    batches: int
    proven: int
    faults: int
    sheets: int
    bound: int
    worse_than_baseline: int
    median_seconds: float
    high_seconds: float
    worst_seconds: float


def measure(batch: Batch, limit: Limit, seed: int, *, baseline: bool) -> Row:
    """Plan one batch, check the plan, and let rectpack try the same papers."""
    from nesting.check import check
    from nesting.pack import solve

    start = perf_counter()
    plan = solve(batch, limit, seed)
    seconds = perf_counter() - start
    return Row(
        name=batch.name,
        pieces=sum(piece.demand for piece in plan.pieces),
        sheets=sum(figures.needed for figures in plan.papers),
        bound=sum(figures.bound.value for figures in plan.papers),
        baseline=_baseline(batch) if baseline else None,
        papers=len(plan.papers),
        proven=sum(figures.proven for figures in plan.papers),
        faults=len(check(plan.asked, plan)),
        seconds=seconds,
    )


def _baseline(batch: Batch) -> int:
    from nesting.bench.baseline import best_of_rectpack
    from nesting.layers import pieces_of
    from nesting.pack.problem import make_problem

    pieces = pieces_of(batch)
    problems = (make_problem(paper, pieces, batch.trimmer) for paper in batch.papers)
    return sum(best_of_rectpack(problem) for problem in problems if problem.kinds)


def bench_cards(
    count: int, limit: Limit, seed: int, *, workers: int = 1, baseline: bool = True
) -> Iterator[Row]:
    """Measure random batches of the trade, the numbers ``seed`` and up."""
    run = partial(_card_row, limit=limit, baseline=baseline)
    yield from _mapped(run, range(seed, seed + count), workers)


def _card_row(number: int, limit: Limit, *, baseline: bool) -> Row:
    return measure(card_batch(number), limit, number, baseline=baseline)


def bench_growth(limit: Limit, seed: int) -> Iterator[Row]:
    """Measure the same designs with 32, 320, 3,200 and 32,000 cards."""
    batch = growth_batch()
    measure(batch, limit, seed, baseline=False)  # what is loaded on first use is not growth
    for factor in (1, 10, 100, 1000):
        larger = grown(batch, factor)
        yield measure(larger, limit, seed, baseline=False)


def _mapped(run: "partial[Row]", numbers: Iterable[int], workers: int) -> Iterator[Row]:
    if workers == 1:
        yield from map(run, numbers)
        return
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as executor:
        yield from executor.map(run, numbers)


def totals(rows: list[Row]) -> Totals:
    """Add a set's rows up. A batch is proven when all its papers are."""
    times = sorted(row.seconds for row in rows)
    return Totals(
        batches=len(rows),
        proven=sum(row.proven == row.papers for row in rows),
        faults=sum(row.faults for row in rows),
        sheets=sum(row.sheets for row in rows),
        bound=sum(row.bound for row in rows),
        worse_than_baseline=sum(
            row.baseline is not None and row.sheets > row.baseline for row in rows
        ),
        median_seconds=median(times),
        high_seconds=times[min(len(times) - 1, int(0.95 * len(times)))],
        worst_seconds=times[-1],
    )
