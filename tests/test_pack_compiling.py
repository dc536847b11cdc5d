"""The first run: loops are compiled beside it, and nothing else depends on that."""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest
from pack_cases import Case

from nesting.batch import Batch, LoosePiece
from nesting.bench.batches import card_batch
from nesting.pack import Rounds, Seconds, solve
from nesting.pack.kernels.cache import cache_folder
from nesting.pack.search import compiling
from nesting.papers import Paper, Sheet

#: Say for what types each loop is compiled that was called.
SAY_WHICH = """
import importlib, os, pkgutil, sys
import nesting.pack.kernels as kernels
for found in pkgutil.iter_modules(kernels.__path__):
    loops = vars(importlib.import_module(f"{kernels.__name__}.{found.name}"))
    for name, loop in loops.items():
        if hasattr(loop, "stats"):
            for types in loop.signatures:
                print("loop:", name, types)
            if loop.stats.cache_misses:
                print("compiled here:", name)
sys.stdout.flush()
os._exit(0)
"""
#: Plan what needs every loop.
PLAN = """
from nesting.bench.batches import card_batch, full_batch, planted_batch, tight_batch
from nesting.pack import Rounds, solve
for batch in (planted_batch(2)[0], full_batch(1, turned=False)[0], card_batch(11)):
    print(solve(batch, Rounds(250)))
print(solve(tight_batch(6), Rounds(700)))
"""
#: What is compiled beside a first run.
COMPILE = """
from nesting.pack.search.compiling import _LOOPS, compile_loops
for loops in _LOOPS:
    compile_loops(loops)
"""


def said_by(code: str, cache: Path) -> list[str]:
    """What is said by some code, and which loops it needs, with compiled loops kept in a folder."""
    process = subprocess.Popen(
        [sys.executable, "-c", code + SAY_WHICH],
        env=os.environ | {"NUMBA_CACHE_DIR": str(cache)},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    with process:
        assert process.stdout is not None
        said = process.stdout.read()
    assert process.returncode == 0
    return said.splitlines()


def called(said: list[str]) -> set[str]:
    """The loops that were called, and for which types."""
    return {line for line in said if line.startswith("loop: ")}


def test_the_first_run_plans_as_every_other(tmp_path: Path) -> None:
    """All its loops come from processes beside it, and its plans are those of the next run.

    Before all tests they were compiled, which takes a minute; here it is only not said that they are.
    """
    compiled = cache_folder()
    assert compiled is not None
    here = tmp_path / compiled.name
    shutil.copytree(compiled, here, ignore=shutil.ignore_patterns(*compiling._LOOPS))
    first = said_by(PLAN, tmp_path)
    assert all((here / loops).exists() for loops in compiling._LOOPS)
    assert first == said_by(PLAN, tmp_path)
    assert not [line for line in first if "compiled here" in line]
    assert called(first) <= called(said_by(COMPILE, tmp_path))
    for loop in (
        "ruin_and_recreate",
        "list_near_full",
        "list_cells",
        "find_best",
        "go_on_covering",
    ):
        assert any(f"loop: {loop} " in line for line in first)


class Endless:
    """A process that compiles and compiles."""

    started: list["Endless"]

    def __init__(self, *_: object, **__: object) -> None:
        self.killed = False
        self.started.append(self)

    def poll(self) -> None:
        """Not finished."""

    def kill(self) -> None:
        """End it."""
        self.killed = True

    def communicate(self) -> None:
        """Wait for its end."""
        assert self.killed


@pytest.fixture
def started(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[list[Endless]]:
    """The processes that were started where nothing is compiled yet, and never will be."""
    monkeypatch.setattr(Endless, "started", [], raising=False)
    monkeypatch.setattr(compiling, "cache_folder", lambda: tmp_path)
    monkeypatch.setattr("nesting.pack.search.compiling.subprocess.Popen", Endless)
    yield Endless.started
    assert not compiling._beside


def open_batch() -> Batch:
    """Pieces of which no quick stage finds the best plan."""
    rng = Random(6)
    pieces = tuple((rng.randint(15, 50), rng.randint(15, 50), 3, "never") for _ in range(14))
    return Case(((100, 100, None),), pieces).batch()  # type: ignore[arg-type]


@pytest.mark.parametrize("seed", [0, 2, 3, 5, 6])
def test_what_quick_stages_settle_starts_no_compiler(seed: int, started: list[Endless]) -> None:
    """Batches of the trade are planned and proven without a compiled loop."""
    assert solve(card_batch(seed), Seconds(60)).ended == "proven"
    assert not started


def test_papers_without_loops_go_on_while_one_waits(started: list[Endless]) -> None:
    """Until the time is up: then what still compiles is ended, and each paper has a plan."""
    batch = open_batch()
    other = LoosePiece("tag", "bee stripe", 5, 30_000_000, 40_000_000)
    paper = Paper("bee stripe", (Sheet(100_000_000, 100_000_000),))
    batch = replace(batch, papers=(*batch.papers, paper), pieces=(*batch.pieces, other))
    plan = solve(batch, Seconds(1))
    assert [figures.proven for figures in plan.papers] == [False, True]
    assert not plan.uncut
    assert len(started) == 2
    assert all(process.killed for process in started)


def test_ctrl_c_ends_what_compiles(started: list[Endless], monkeypatch: pytest.MonkeyPatch) -> None:
    """Interrupted as it waits, a search has its plan, and no process is left."""

    def interrupted(_: float) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(compiling, "sleep", interrupted)
    plan = solve(open_batch(), Rounds(200))
    assert plan.ended == "interrupted"
    assert not plan.uncut
    assert all(process.killed for process in started)
    assert started


def test_before_a_measurement_everything_is_compiled(
    started: list[Endless], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else the first batches of a set would be measured without most stages."""
    polled = iter([None, None, 0, 0, 0])
    monkeypatch.setattr(Endless, "poll", lambda _: next(polled))
    compiling.compile_beforehand()
    assert len(started) == 3
    assert next(polled, "none left") == "none left"


def test_what_compiles_ends_with_the_process_that_started_it() -> None:
    """As soon as the other end of its standard input is closed, however that comes about."""
    code = "from nesting.pack.search.compiling import _end_with_starter; _end_with_starter()"
    process = subprocess.Popen([sys.executable, "-c", code], stdin=subprocess.PIPE)
    assert process.poll() is None
    process.communicate()
    assert process.returncode == 1
