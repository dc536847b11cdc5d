"""How time, memory and the gap to the bound grow: one thing grows while all else stays as it is."""

import re
import sys
from collections.abc import Iterator
from contextlib import nullcontext
from dataclasses import dataclass, replace
from itertools import groupby
from pathlib import Path
from random import Random
from time import perf_counter
from typing import TYPE_CHECKING

from nesting.batch import Batch, LoosePiece
from nesting.bench.batches import grown, growth_batch, loose_piece
from nesting.bench.run import Result, RunSettings, run_batch
from nesting.papers import Paper, Sheet
from nesting.typed_lengths import parse_length
from nesting.workers import worker_processes

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_INCH = parse_length("1", "in")
_TENTH = parse_length("0.1", "mm")


@dataclass(frozen=True, slots=True)
class GrowthRow:
    """One batch with so many of what grows, planned and checked in a process of its own.

    ``seconds`` go from the start of the process to the checked plan, ``memory`` is the most that it
    had at once, in megabytes.
    """

    what: str
    number: int
    pieces: int
    result: int
    bound: int
    papers: int
    proven: int
    faults: int
    processor: float
    seconds: float
    memory: float

    @property
    def gap(self) -> float:
        """By how much of the bound the plan is above it."""
        return (self.result - self.bound) / max(1, self.bound)


def growing() -> Iterator[tuple[str, int, Batch]]:
    """What grows, how many of it there are, and the batch."""
    yield from (("cards", 32 * n, grown(growth_batch(), n)) for n in (1, 10, 100, 1_000))
    yield from (("kinds", number, many_kinds(number)) for number in (10, 30, 100, 300, 1_000))
    yield from (("circles", number, many_circles(number)) for number in (10, 100, 1_000, 10_000))
    yield from (("sheet sizes", number, many_sizes(number)) for number in (1, 3, 10, 30, 100))
    yield from (("papers", number, many_papers(number)) for number in (1, 3, 10, 30, 100))


def many_kinds(number: int) -> Batch:
    """So many different sizes on sixteenths of an inch, 6 to 50 of each, from one paper."""
    rng, sixteenth = Random("kinds"), _INCH // 16
    sizes: dict[tuple[int, int], int] = {}
    while len(sizes) < number:
        size = rng.randint(16, 96) * sixteenth, rng.randint(16, 112) * sixteenth
        sizes.setdefault(size, rng.randint(6, 50))
    return Batch(f"{number} kinds", "in", (_square(),), pieces=_pieces(sizes))


def many_circles(number: int) -> Batch:
    """So many circles of four sizes from one paper."""
    shares = {"1": 0.1, "1 1/2": 0.2, "2": 0.3, "2 1/2": 0.4}
    paper = _square()
    circles = tuple(
        LoosePiece(
            f"circle {words}", paper.name, round(share * number), circle=parse_length(words, "in")
        )
        for words, share in shares.items()
    )
    return Batch(f"{number} circles", "in", (paper,), pieces=circles)


def many_sizes(number: int) -> Batch:
    """Twelve kinds from one large sheet and offcuts, on no grid but 0.1 mm."""
    rng = Random("sizes")
    sizes = {
        (rng.randint(254, 1524) * _TENTH, rng.randint(254, 1778) * _TENTH): rng.randint(6, 50)
        for _ in range(12)
    }
    offcuts = [
        Sheet(rng.randint(800, 2000) * _TENTH, rng.randint(800, 2000) * _TENTH, 1, offcut=True)
        for _ in range(number - 1)
    ]
    paper = replace(_square(), sheets=(Sheet(3047 * _TENTH, 3052 * _TENTH), *offcuts))
    return Batch(f"{number} sheet sizes", "mm", (paper,), pieces=_pieces(sizes))


def many_papers(number: int) -> Batch:
    """Eight kinds on quarter inches, 6 to 50 of each, from each of so many papers."""
    rng = Random("papers")
    papers = tuple(replace(_square(), name=f"paper {n}") for n in range(1, number + 1))
    pieces = (loose_piece(rng, n, papers[n // 8]) for n in range(8 * number))
    return Batch(
        f"{number} papers",
        "in",
        papers,
        pieces=tuple(replace(piece, count=rng.randint(6, 50)) for piece in pieces),
    )


def _square() -> Paper:
    return Paper("pear toss", (Sheet(12 * _INCH, 12 * _INCH),))


def _pieces(sizes: dict[tuple[int, int], int]) -> tuple[LoosePiece, ...]:
    return tuple(
        LoosePiece(f"piece {number}", "pear toss", count, *size)
        for number, (size, count) in enumerate(sizes.items(), 1)
    )


def bench_growth(run: RunSettings) -> Iterator[GrowthRow]:
    """Measure every batch, each in a process of its own, one after the other.

    The papers of a batch run side by side in so many ``workers``.
    """
    for what, number, batch in growing():
        start = perf_counter()
        with worker_processes(1) as executor:
            row, memory = executor.submit(_measured, batch, run).result()
            seconds = perf_counter() - start
            executor.shutdown()  # the process tidies up after processes of its own
        yield GrowthRow(
            what,
            number,
            pieces=row.pieces,
            result=row.result,
            bound=row.bound,
            papers=row.papers,
            proven=row.proven,
            faults=row.faults,
            processor=row.processor,
            seconds=seconds,
            memory=memory,
        )


def _measured(batch: Batch, run: RunSettings) -> tuple[Result, float]:
    """The batch's row, and the most memory that this process had at once, in megabytes."""
    beside = nullcontext() if run.workers == 1 else worker_processes(run.workers)
    with beside as executor:
        row = run_batch(batch, run, seed=run.seed, executor=executor)
    return row, _most_memory() / 1e6


def _most_memory() -> int:
    """The most memory that this process had at once, in bytes.

    Where the system has it in a file: what is asked for there begins anew with the process, while
    its resource usage begins with the memory of the process that started it.
    """
    import resource

    status = Path("/proc/self/status")
    if status.exists():
        return 1024 * int(re.findall(r"^VmHWM:\s+(\d+) kB", status.read_text(), re.MULTILINE)[0])
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most if sys.platform == "darwin" else 1024 * most


def growth_figure(rows: list[GrowthRow]) -> "Figure":
    """Draw time, memory and gap over how many there are, a line for each thing that grows."""
    from matplotlib.figure import Figure
    from matplotlib.ticker import StrMethodFormatter

    figure = Figure(figsize=(7, 9), layout="constrained")
    for axes, (label, values) in zip(
        figure.subplots(3, sharex=True),
        {
            "seconds": [row.seconds for row in rows],
            "memory, MB": [row.memory for row in rows],
            "above the bound, %": [100 * row.gap for row in rows],
        }.items(),
        strict=True,
    ):
        points = zip(rows, values, strict=True)
        grouped = groupby(points, key=lambda point: point[0].what)
        for marker, (what, own) in zip("osD^v", grouped, strict=False):
            numbers, heights = zip(*((row.number, value) for row, value in own), strict=True)
            axes.plot(numbers, heights, marker=marker, label=what)
        axes.set(xscale="log", ylabel=label)
        axes.set_ylim(bottom=0)
    figure.axes[0].legend()
    figure.axes[-1].set_xlabel("how many")
    figure.axes[-1].xaxis.set_major_formatter(StrMethodFormatter("{x:,.0f}"))
    return figure
