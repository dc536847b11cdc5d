"""Many batches on a cluster: as many a second as there are, and none lost with a worker that dies."""

import os
from dataclasses import replace

import pytest
from killing_one import KillingOne

from nesting.bench.many_batches import ManyRow, local_cluster, row_of
from nesting.bench.run import RunSettings
from nesting.cli import main
from nesting.pack import Rounds

RUN = RunSettings(Rounds(3), workers=2)
NUMBERS = range(16)


def test_no_batch_is_lost_with_a_worker() -> None:
    """One of two workers is killed at work, a third of the way: all answers come, the same as here."""
    here = row_of("here", map, NUMBERS, RUN)
    with local_cluster(2) as client:
        before = set(client.run(os.getpid).values())
        executor = KillingOne(client, after=4 * RUN.workers + 5)
        there = row_of("here", executor.map, NUMBERS, RUN)
    assert len(executor.killed) == 1
    assert set(executor.killed) < before
    assert replace(there, seconds=0, processor=0) == replace(here, seconds=0, processor=0)
    assert (there.batches, there.faults) == (16, 0)


def test_batches_a_second() -> None:
    """How many there are in the seconds that all of them took."""
    assert ManyRow("here", 30, 100, 30, 0, 3.0, 6.0).a_second == 5


@pytest.mark.parametrize("executor", ["dask", "processes"])
def test_many_batches_are_printed(executor: str, capsys: pytest.CaptureFixture[str]) -> None:
    """One after the other, then in the executor: as many sheets, and how many times as fast."""
    words = ["--count", "3", "--rounds", "3", "--executor", executor]
    with pytest.raises(SystemExit) as ended:
        main(["bench", "many-batches", *words])
    assert ended.value.code == 0
    lines = [line.split() for line in capsys.readouterr().out.splitlines() if line[:1] in "odp"]
    here, there = lines
    assert here[:4] == ["one", "after", "the", "other"]
    assert here[-1] == "1.00"
    assert there[:3] == [f"{executor},", "2", "workers"]
    assert there[3:7] == here[4:8]


def test_a_cluster_needs_its_library(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without the extra, one sentence says how to get it."""
    monkeypatch.setattr("nesting.cli.bench.find_spec", lambda _: None)
    with pytest.raises(SystemExit) as ended:
        main(["bench", "many-batches", "--executor", "dask"])
    assert ended.value.code == 2
    assert "nesting[dask]" in capsys.readouterr().err
