"""How many batches of the trade are planned a second: on a cluster, and one after the other."""

from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from functools import partial
from time import perf_counter
from typing import TYPE_CHECKING

from nesting.bench.run import Result, RunSettings, card_row
from nesting.workers import worker_processes

if TYPE_CHECKING:
    from distributed import Client


@dataclass(frozen=True, slots=True)
class ManyRow:
    """All batches, planned ``where`` it says; ``processor`` is what the searches took of all of them."""

    where: str
    batches: int
    result: int
    proven: int
    faults: int
    processor: float
    seconds: float

    @property
    def a_second(self) -> float:
        """How many batches were planned and checked in a second."""
        return self.batches / self.seconds


@contextmanager
def local_cluster(workers: int) -> "Iterator[Client]":
    """A dask cluster of so many processes, which nobody else can reach."""
    from distributed import Client, LocalCluster

    with (
        LocalCluster(
            n_workers=workers,
            threads_per_worker=1,
            processes=True,
            host="127.0.0.1",
            dashboard_address="127.0.0.1:0",  # any free port: its usual one may be taken
            scheduler_kwargs={"dashboard": False},
            silence_logs=50,
        ) as cluster,
        Client(cluster) as client,
    ):
        yield client


@contextmanager
def dask_executor(workers: int) -> Iterator[Executor]:
    """The executor of such a cluster: work that a worker dies of is done again by another."""
    with local_cluster(workers) as client:
        yield client.get_executor(pure=False)


#: What can run many batches.
EXECUTORS: dict[str, Callable[[int], AbstractContextManager[Executor]]] = {
    "processes": worker_processes,
    "dask": dask_executor,
}


def bench_many_batches(count: int, run: RunSettings, executor: str) -> Iterator[ManyRow]:
    """Measure random batches of the trade, the numbers ``seed`` and up: here, then in the executor."""
    numbers = range(run.seed, run.seed + count)
    yield row_of("one after the other", map, numbers, run)
    with EXECUTORS[executor](run.workers) as beside:
        yield row_of(f"{executor}, {run.workers} workers", beside.map, numbers, run)


def row_of(
    where: str,
    mapped: Callable[[Callable[[int], Result], Iterable[int]], Iterable[Result]],
    numbers: range,
    run: RunSettings,
) -> ManyRow:
    """Plan all batches by a kind of ``map``, after a few that are not timed, as they load libraries."""
    planned = partial(card_row, run=run)
    list(mapped(planned, numbers[: 4 * run.workers]))
    start = perf_counter()
    rows = list(mapped(planned, numbers))
    seconds = perf_counter() - start
    return ManyRow(
        where,
        batches=len(rows),
        result=sum(row.result for row in rows),
        proven=sum(row.proven == row.papers for row in rows),
        faults=sum(row.faults for row in rows),
        processor=sum(row.processor for row in rows),
        seconds=seconds,
    )
