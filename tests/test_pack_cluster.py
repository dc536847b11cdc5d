"""Searches on a cluster: real workers beside one another, of which one is killed, give the same plans."""

import os
import time
from collections.abc import Iterator
from itertools import count, islice

import distributed
import pytest
from killing_one import KillingOne

from nesting.bench.batches import few_batch
from nesting.bench.many_batches import local_cluster
from nesting.pack import Rounds, solve

#: How many batches there are, and how long each is searched for, here and on the cluster.
BATCHES, LIMIT = 20, Rounds(12)


@pytest.fixture
def client() -> Iterator[distributed.Client]:
    """A client of a cluster of two worker processes."""
    with local_cluster(2) as client:
        yield client


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
