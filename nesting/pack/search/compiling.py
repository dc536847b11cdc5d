"""The first run: processes beside this one compile the loops, and only who needs a loop waits for it.

Quick stages need none, and the searches for other papers go on meanwhile. What a search does, and in
which order, does not depend on when its loops are ready.
"""

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Thread
from time import sleep

import numpy as np

from nesting.batch import Trimmer
from nesting.pack.kernels.cache import cache_folder
from nesting.pack.model.pauses import WAIT, Pauses, so_many
from nesting.pack.model.problem import Kind, Problem, Shape, SheetSize
from nesting.pack.one_sheet.pattern_cover import PatternCover
from nesting.pack.search.incumbent import Search
from nesting.pack.search.stages import Stages
from nesting.papers import Paper, Sheet
from nesting.sheets import supplies

#: What each process compiles: the loops of these stages, which are run for so many steps. They call
#: the loops with the very types of every search. A list needs the values of a first pricing, and with more
#: steps than these nothing would be left for the columns after it.
_LOOPS = {
    "trees": {Stages.near_full_first: 1, Stages.tree_recreation: 2_000},
    "patterns": {
        Stages.column_generation: 1,
        Stages.long_enumeration: 2,
        Stages.proper_columns: 20,
    },
    "full": {Stages.full_sheets_first: 20},
}
#: The loops that a stage needs, where it needs any.
NEEDED = {
    Stages.tree_recreation: "trees",
    Stages.residual_recreation: "trees",
    Stages.near_full_first: "trees",
    Stages.full_sheets_first: "full",
    Stages.short_enumeration: "patterns",
    Stages.proper_columns: "patterns",
    Stages.dives: "patterns",
    Stages.long_enumeration: "patterns",
}
#: Seconds between two looks whether a process has finished.
_A_MOMENT = 0.005
#: Blanks of which two sheets of 100 x 100 would hold each twice if they were cut to dust.
_BLANKS = ((41, 23), (37, 31), (29, 17), (53, 21), (47, 43), (23, 17), (61, 13), (43, 29), (29, 59))
#: With these, just nothing would be left over.
_REST = (47, 3)

_beside: dict[str, subprocess.Popen[bytes]] = {}


def loops_for(needed: str) -> Pauses:
    """Wait until some loops are compiled, with a pause now and then."""
    while not _are_ready(needed):
        sleep(_A_MOMENT)
        yield WAIT


def _are_ready(needed: str) -> bool:
    """Whether loops are compiled, or have to be compiled by whoever calls them."""
    folder = cache_folder()
    if folder is None or (folder / needed).exists() or not sys.executable:
        return True
    if os.environ.get("NUMBA_DISABLE_JIT", "0") != "0":
        return True
    for loops in {needed, "trees", "patterns"} - _beside.keys():
        code = f"from nesting.pack.search.compiling import compile_loops; compile_loops({loops!r})"
        _beside[loops] = subprocess.Popen(  # noqa: S603 - these are our own words
            [sys.executable, "-c", code],
            env=os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
    return _beside[needed].poll() is not None


def compile_beforehand() -> None:
    """Compile all loops before anything is measured, where they are not compiled yet."""
    with ending_with_it():
        for loops in _LOOPS:
            for _ in loops_for(loops):
                pass


@contextmanager
def ending_with_it() -> Iterator[None]:
    """End here what still compiles; the loops that are finished are kept."""
    try:
        yield
    finally:
        while _beside:
            _, process = _beside.popitem()
            process.kill()
            process.communicate()


def compile_loops(loops: str) -> None:
    """Compile some loops, in a process of its own that ends with the one that started it."""
    Thread(target=_end_with_starter, daemon=True).start()
    stages = Stages(Search(_open_problem(*(_REST,) * (loops == "full")), ""))
    one = np.ones(1, dtype=np.int64)
    PatternCover(one.reshape(1, 1), one, 1, one).found(1)  # a list may end before it is needed
    for stage, steps in _LOOPS[loops].items():
        for _ in so_many(stage(stages), steps):
            pass
    folder = cache_folder()
    if folder is not None:
        (folder / loops).touch()


def _open_problem(*more: tuple[int, int]) -> Problem:
    """A few sheets that would be nearly full with one fewer: no stage is soon done with them."""
    paper = Paper("", (Sheet(100, 100),))
    kinds = tuple(
        Kind(str(number), 2, width * height, (Shape(width, height, turned=False),))
        for number, (width, height) in enumerate((*_BLANKS, *more))
    )
    return Problem(
        paper=paper,
        trimmer=Trimmer(),
        kinds=kinds,
        supplies=supplies(paper, 2 * len(kinds)),
        sizes=(SheetSize(100, 100, (0,)),),
        usable=((100, 100),),
        unit=1,
        longest=None,
    )


def _end_with_starter() -> None:
    """Wait until the other end of standard input is closed, however the process there ends."""
    sys.stdin.read()
    os._exit(1)
