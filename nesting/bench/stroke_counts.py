"""Strokes and ruler settings of small layouts against the fewest of all equal cut trees."""

from collections.abc import Iterator
from dataclasses import dataclass
from time import perf_counter

from nesting.bench.batches import small_batch
from nesting.bench.equal_trees import EqualTrees
from nesting.bench.run import RunSettings, mapped
from nesting.cutting.strokes import effort


@dataclass(frozen=True, slots=True)
class StrokesRow:
    """One layout: what the stored tree takes, and the fewest that any tree of its blanks takes.

    ``fewest_settings`` are those of the trees with ``fewest_strokes``. ``seconds`` is what its pages
    take, composed and drawn as PNG and as SVG.
    """

    name: str
    blanks: int
    strokes: int
    fewest_strokes: int
    settings: int
    fewest_settings: int
    seconds: float
    faults: int


def bench_strokes(count: int, run: RunSettings) -> Iterator[StrokesRow]:
    """Measure the layouts of random small batches, the numbers ``seed`` and up, until there are so many."""
    found = 0
    first = run.seed
    while found < count:
        tasks = [(number, run) for number in range(first, first + count - found)]
        first += len(tasks)
        for rows in mapped(_measured, tasks, run.workers):
            own = rows[: count - found]
            found += len(own)
            yield from own


def _measured(task: tuple[int, RunSettings]) -> list[StrokesRow]:
    """The layouts of one batch with two blanks or more, each held against all its equal trees."""
    from nesting.checker import check
    from nesting.draw import draw_layout
    from nesting.pack import solve

    number, run = task
    plan = solve(small_batch(number), run.limit, number)
    faults = len(check(plan.asked, plan))
    rows = []
    for layout in plan.layouts:
        blanks = [(placed.width, placed.height) for placed in layout.blanks]
        if len(blanks) < 2:
            continue
        took = effort((layout,), plan.asked)
        start = perf_counter()
        draw_layout(plan, layout, "png")
        draw_layout(plan, layout, "svg")
        seconds = perf_counter() - start
        trees = EqualTrees(layout.width, layout.height, blanks)
        rows.append(
            StrokesRow(
                name=f"{plan.asked.name}, layout {layout.id}",
                blanks=len(blanks),
                strokes=took.strokes // layout.alike,
                fewest_strokes=trees.fewest_strokes,
                settings=took.ruler_settings,
                fewest_settings=trees.fewest_settings,
                seconds=seconds,
                faults=faults,
            )
        )
    return rows
