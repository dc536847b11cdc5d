"""Searches on a cluster: real workers beside one another, of which one is killed, give the same plans."""

import os
import signal
import time
from collections.abc import Iterator
from concurrent.futures import Executor, Future
from itertools import count, islice
from typing import Any

import distributed
import pytest

from nesting.bench.batches import few_batch
from nesting.pack import Rounds, solve

#: How many batches there are, and how long each is searched for, here and on the cluster.
BATCHES, LIMIT = 20, Rounds(12)


@pytest.fixture
def client() -> Iterator[distributed.Client]:
    """A client of a cluster of two worker processes, which nobody else can reach."""
    with (
        distributed.LocalCluster(
            n_workers=2,
            threads_per_worker=1,
            processes=True,
            host="127.0.0.1",
            dashboard_address="127.0.0.1:0",  # any free port: its usual one may be taken
            scheduler_kwargs={"dashboard": False},
            silence_logs=50,
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        yield client


class KillingOne(Executor):
    """The client's executor, which kills the worker that has got a search when it has handed out so many."""

    def __init__(self, client: distributed.Client, after: int) -> None:
        self._client = client
        self._executor = client.get_executor(pure=False)
        self._after = after
        self.handed_out = 0
        self.killed: list[int] = []

    def submit(self, *args: Any, **kwargs: Any) -> Future[Any]:
        """Hand a search out."""
        future: Future[Any] = self._executor.submit(*args, **kwargs)
        self.handed_out += 1
        if self.handed_out == self._after:
            self._kill_one()
        return future

    def _kill_one(self) -> None:
        """Kill a worker that has something to do."""
        processes = self._client.run(os.getpid)
        at_work = [worker for worker, tasks in self._client.processing().items() if tasks]
        process = processes[(at_work or list(processes))[0]]
        os.kill(process, signal.SIGKILL)
        self.killed.append(process)


def test_a_killed_worker_changes_no_plan(
    client: distributed.Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Twenty batches, each searched twice, half-way through which one of two workers is killed."""
    monkeypatch.setattr("nesting.pack.search.runner._FIRST_ROUNDS", 1)
    not_at_once = (b for b in map(few_batch, count()) if solve(b, Rounds(1)).ended == "limit")
    batches = list(islice(not_at_once, BATCHES))
    here = [solve(batch, LIMIT, restarts=1) for batch in batches]
    executor = KillingOne(client, after=BATCHES)
    before = set(client.run(os.getpid).values())
    assert len(before) == 2
    for number, (batch, plan) in enumerate(zip(batches, here, strict=True), start=1):
        began = time.perf_counter()
        assert solve(batch, LIMIT, restarts=1, executor=executor) == plan
        print(f"batch {number}: {time.perf_counter() - began:.2f} s on the cluster")  # noqa: T201
    assert executor.handed_out == 2 * BATCHES
    assert len(executor.killed) == 1
    assert set(executor.killed) < before
