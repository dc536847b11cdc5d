"""How the page's program ends: at once, without a word, and with it every process that it started."""

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from http.client import HTTPConnection
from pathlib import Path
from random import Random

import pytest
from page_served import PATIENCE, Started, Visitor
from test_workers import children, parents, wait_for


@contextmanager
def searching(folder: Path) -> Iterator[tuple[Started, set[int]]]:
    """A page with a browser that listens to its news, while it looks for an answer."""
    folder.mkdir()
    (folder / "market.yaml").write_text(market())
    command = [sys.executable, "-m", "nesting.cli", "page", "--no-browser", str(folder)]
    environment = os.environ | {"XDG_DATA_HOME": str(folder.parent / "data")}
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment
    ) as process:
        try:
            assert process.stdout is not None
            address = next(line for line in process.stdout if "http://" in line).split()[-1]
            served = Started(folder, address, process)
            visitor = Visitor(served)
            news = HTTPConnection(visitor.host, visitor.port, timeout=PATIENCE)
            news.request("GET", "/batch/market.yaml/news", headers={"cookie": visitor.cookie})
            told = news.getresponse()
            next(line for line in told if b"still looking" in line)
            yield served, descendants(process.pid)
            news.close()
        finally:
            process.kill()


def market() -> str:
    """Many sizes without a common measure, three of each: no search comes to an end with them."""
    rng = Random(1)
    pieces = "".join(
        f"  - {{name: tag {n}, size: {rng.randint(15, 50)} x {rng.randint(15, 50)}, "
        "paper: pear toss, turn: never, count: 3}\n"
        for n in range(14)
    )
    paper = "papers:\n  pear toss: {sheet: 100 x 100, have: plenty}\n"
    return f"batch: Orchard market\nunit: mm\n{paper}pieces:\n{pieces}"


def descendants(process: int) -> set[int]:
    """The processes that a process has started, and those that they have."""
    own = children(process)
    return own.union(*map(descendants, own))


@pytest.mark.parametrize("ended_by", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL])
def test_nothing_goes_on_without_the_page(tmp_path: Path, ended_by: signal.Signals) -> None:
    """However it ends, with a search under way and a browser listening."""
    with searching(tmp_path / "cards") as (served, started):
        assert len(started) >= 3
        served.process.send_signal(ended_by)
        _, said = served.process.communicate(timeout=PATIENCE)
        wait_for(lambda: not started & parents().keys())
    assert said == ""
