"""Measure the page: ``python tests/page_measured.py [BATCH…]``; the sample and a large batch otherwise.

Prints, for each batch, the seconds from the command to the first page, what a change takes to be
answered (median and worst of 20), what the bar at the foot takes to be up to date, and the memory
of the program with its workers, what they share counted once.
"""

import os
import re
import statistics
import sys
import tempfile
from collections.abc import Iterator
from http.client import HTTPConnection, HTTPResponse
from pathlib import Path
from time import perf_counter

from page_served import Started, Visitor, memory_of, started
from project import SAMPLES

PAPERS, DESIGNS = 60, 40


def large_batch() -> str:
    """As many papers and designs as a busy workshop has."""
    lines = ["batch: Every market of the year", "unit: in", "papers:"]
    papers = range(PAPERS)
    lines += [
        f"  paper {number}: {{sheet: 12 x 12, have: 9, front: four-way}}" for number in papers
    ]
    lines.append("cards:")
    for number in range(DESIGNS):
        lines += [
            f"  card {number}:",
            "    make: 6",
            "    size: 4 1/4 x 5 1/2",
            f"    base: {{paper: paper {number % PAPERS}, fold: left}}",
            "    layers:",
            f"      - {{name: mat, paper: paper {(number + 20) % PAPERS}, reveal: 1/8}}",
            f"      - {{name: panel, paper: paper {(number + 40) % PAPERS}, reveal: 1/8}}",
        ]
    return "\n".join(lines) + "\n"


def measure(name: str, text: str) -> None:
    """Measure one batch, and print it as a line."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "cards"
        folder.mkdir()
        (folder / "batch.yaml").write_text(text, "utf-8")
        start = perf_counter()
        with started(folder) as page:
            visitor = Visitor(page)
            visitor.ask("GET", "/")
            first = perf_counter() - start
            answer = visitor.ask("GET", "/batch/batch.yaml")
            sheet = perf_counter() - start - first
            pointer = next(iter(changed(text)))
            seconds = []
            computed = computing_of(page)
            for number in range(20):
                before = perf_counter()
                fields = {pointer: str(10 + number % 2), "version": str(number + 1)}
                answer = visitor.post("/batch/batch.yaml/set", script=True, **fields)
                seconds.append(perf_counter() - before)
                assert answer.status == 200, answer.status
            computed = (computing_of(page) - computed) / len(seconds)
            bar = until_proven(visitor, pointer)
            sys.stdout.write(
                f"{name}: first page {first:.2f} s, sheet {sheet:.2f} s; "
                f"a change {statistics.median(seconds) * 1000:.0f} ms, "
                f"worst {max(seconds) * 1000:.0f} ms, computing {computed * 1000:.0f} ms; "
                f"bar {bar}; memory {memory_of(page) / 1e6:.0f} MB\n"
            )


def computing_of(page: Started) -> float:
    """The seconds of a processor that the program has taken so far, its workers left out."""
    fields = Path(f"/proc/{page.process.pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def changed(text: str) -> list[str]:
    """The numbers of sheets that can be changed."""
    from nesting.files import read_draft
    from nesting.page.folder.draft import pointer_of

    papers = read_draft(text, "batch.yaml").value(("papers",))
    return [pointer_of(("papers", name, "have")) for name, one in papers.items() if "have" in one]


def until_proven(visitor: Visitor, pointer: str) -> str:
    """How long after a change the bar at the foot has another answer, and until that is proven."""
    line = HTTPConnection(visitor.host, visitor.port, timeout=120)
    line.request("GET", "/batch/batch.yaml/news", headers={"cookie": visitor.cookie})
    bars = bars_told(line.getresponse())
    before = next(bar for bar in bars if "proven" in bar)
    start = perf_counter()
    visitor.post("/batch/batch.yaml/set", script=True, **{pointer: "1", "version": "21"})
    bar = next(bar for bar in bars if bar and bar[0] != before[0] and "Counting" not in bar[0])
    first = perf_counter() - start
    while bar[1:2] != ["proven"]:
        bar = next(bars)
    line.close()
    return f"answer {first:.2f} s, proven {perf_counter() - start:.2f} s"


def bars_told(news: HTTPResponse) -> Iterator[list[str]]:
    """What the bar at the foot says, each time that the page tells it."""
    event = ""
    while told := news.readline().decode():
        event += told
        if told == "\n":
            bar = re.search(r'id="bar".*?</p>', event, re.DOTALL)
            if bar:
                yield re.findall(r"<(?:strong|span)[^>]*>([^<]+)", bar[0])
            event = ""


if __name__ == "__main__":
    files = [Path(one) for one in sys.argv[1:]]
    for file in files or [SAMPLES / "orchard.yaml"]:
        measure(file.name, file.read_text("utf-8"))
    if not files:
        measure(f"{DESIGNS} designs, {PAPERS} papers", large_batch())
