"""``bench``: the packer measured on a set."""

import sys
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

from nesting.cli.options import (
    WORKERS,
    FileName,
    rounds_option,
    seconds_option,
    seed_option,
)
from nesting.cli.running import (
    refuse,
    refusing,
    search_limit,
)
from nesting.nearest import Nearest

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from nesting.bench.run import Result, RunSettings
    from nesting.bench.stroke_counts import StrokesRow

_SETS = {
    "cards": "random batches of the trade",
    "few": "few of each piece, and areas just below 1, 2 and 3 sheets",
    "planted": "sheets cut up with nothing left over, asked for back, fixed and turned",
    "strokes": "strokes and ruler settings of small layouts against all equal cut trees",
    "growth": "the same designs with more and more cards",
    "single-unbounded": "the most value from one sheet",
    "single-bounded": "the same with limited copies",
    "many-fixed": "as few equal sheets as possible",
    "many-turned": "the same with quarter turns",
}


@click.command("bench", epilog="; ".join(f"{name}: {words}" for name, words in _SETS.items()) + ".")
@click.argument("which", type=click.Choice(list(_SETS)))
@click.option(
    "--count",
    type=click.IntRange(min=1),
    help="How many random batches (200; planted: 30) or small layouts (100); of the many sets, how many instances "
    "evenly drawn (all).",
)
@click.option(
    "--data",
    type=FileName(),
    help="JSON file of instances, for the single and many sets.",
)
@click.option(
    "--published",
    type=FileName(exists=True),
    help="For the many sets: a CSV of the fewest sheets published for each cell (columns group, "
    "pieces, fewest).",
)
@seed_option
@seconds_option
@rounds_option
@click.option(
    "--workers",
    type=WORKERS,
    default=1,
    show_default=True,
    help="How many are measured at the same time.",
)
@click.option(
    "--baseline",
    is_flag=True,
    help="Let a general packing library try the same papers, too (slow).",
)
@click.option(
    "--without",
    multiple=True,
    metavar="STAGE",
    help="Leave a stage of the search out, to see what it is worth; may be given more than once.",
)
@click.option("--csv", "table", type=FileName(), help="Also write every row to this file.")
def bench_command(
    which: str,
    count: int | None,
    data: Path | None,
    published: Path | None,
    seed: int,
    seconds: float | None,
    rounds: int | None,
    workers: int,
    baseline: bool,
    without: tuple[str, ...],
    table: Path | None,
) -> None:
    """Measure the packer on a set; every answer is checked."""
    from rich.console import Console
    from rich.progress import track

    from nesting.bench import run as runs
    from nesting.bench.literature import InstanceError
    from nesting.bench.literature import published as read_published
    from nesting.cli.bench_tables import rows_table

    _refuse_unknown(without)
    run = runs.RunSettings(search_limit(seconds, rounds), seed, workers, baseline, without)
    if which == "strokes":
        _bench_strokes(count or 100, run, table)
    rows_of: dict[str, Callable[[RunSettings], Iterator[Result]]] = {
        "cards": partial(runs.bench_cards, count or 200),
        "few": partial(runs.bench_few, count or 200),
        "planted": partial(runs.bench_planted, count or 30),
        "growth": runs.bench_growth,
    }
    if which in rows_of:
        measured = rows_of[which](run)
    elif data is None:
        raise click.UsageError(f"{which} needs --data FILE.")
    elif which.startswith("many"):
        measured = runs.bench_many(data, run, turned=which == "many-turned", count=count)
    else:
        measured = runs.bench_single(data, run, bounded=which == "single-bounded")
    errors = Console(stderr=True)
    try:
        totals = read_published(published) if published else {}
        rows = list(track(measured, which, console=errors, transient=True))
    except InstanceError as error:
        refuse(str(error))
    Console(width=150).print(rows_table(f"bench {which}, seed {seed}", rows, totals))
    _end(rows, table)


def _refuse_unknown(stages: tuple[str, ...]) -> None:
    """Refuse names of stages that there are not."""
    from nesting.bench.leaving_out import stage_names

    known = stage_names()
    wrong = [name for name in stages if name not in known]
    if wrong:
        words = "; ".join(f"no stage is called {n!r}, {Nearest().words(n, known)}" for n in wrong)
        raise click.BadParameter(f"{words}.", param_hint="--without")


def _bench_strokes(count: int, run: "RunSettings", table: Path | None) -> NoReturn:
    from rich.console import Console
    from rich.progress import track

    from nesting.bench.stroke_counts import bench_strokes
    from nesting.cli.bench_tables import strokes_table

    errors = Console(stderr=True)
    measured = bench_strokes(count, run)
    rows = list(track(measured, "strokes", total=count, console=errors, transient=True))
    Console(width=150).print(strokes_table(f"bench strokes, seed {run.seed}", rows))
    _end(rows, table)


def _end(rows: "Sequence[Result | StrokesRow]", table: Path | None) -> NoReturn:
    """Write every row, too, where that is asked for, and exit 1 where a plan had faults."""
    from nesting.cli.bench_tables import rows_csv
    from nesting.files import write_whole

    if table is not None:
        with refusing():
            write_whole({table: rows_csv(rows)})
    sys.exit(1 if any(row.faults for row in rows) else 0)
