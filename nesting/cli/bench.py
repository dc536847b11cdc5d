"""``bench``: the packer measured on a set."""

import sys
from dataclasses import replace
from functools import partial
from importlib.util import find_spec
from io import BytesIO
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn, TypeVar

import click

from nesting.cli.options import (
    WORKERS,
    Amount,
    FileName,
    WholeNumber,
    WrittenName,
    force_option,
    rounds_option,
    seed_option,
)
from nesting.cli.running import refuse, refusing, search_limit
from nesting.nearest import Nearest

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from rich.table import Table

    from nesting.bench.growth import GrowthRow
    from nesting.bench.many_batches import ManyRow
    from nesting.bench.run import Result, RunSettings
    from nesting.bench.stroke_counts import StrokesRow

_Row = TypeVar("_Row")
#: What a picture can be written as, by the end of its file's name.
_PICTURES = (".png", ".svg", ".pdf")

_SETS = {
    "cards": "random batches of the trade",
    "few": "few of each piece, and areas just below 1, 2 and 3 sheets",
    "planted": "sheets cut up with nothing left over, asked for back, fixed and turned",
    "strokes": "strokes and ruler settings of small layouts against all equal cut trees",
    "growth": "more and more cards, kinds, circles, sheet sizes, papers: time, memory, gap",
    "many-batches": "1,000 batches of the trade in an executor beside one after the other",
    "single-unbounded": "the most value from one sheet",
    "single-bounded": "the same with limited copies",
    "many-fixed": "as few equal sheets as possible, of the data or of fresh instances",
    "many-turned": "the same with quarter turns",
}


@click.command("bench", epilog="; ".join(f"{name}: {words}" for name, words in _SETS.items()) + ".")
@click.argument("which", type=click.Choice(list(_SETS)))
@click.option(
    "--count",
    type=WholeNumber(least=1),
    help="How many random batches (200; planted: 30; many-batches: 1000) or small layouts (100); of the many sets, how many instances "
    "evenly drawn (all).",
)
@click.option(
    "--data",
    type=FileName(),
    help="JSON file of instances, for the single and many sets; without one, the many sets are made "
    "anew by the published recipe.",
)
@click.option(
    "--published",
    type=FileName(exists=True),
    help="For the many sets: a CSV of the fewest sheets published for each cell (columns group, "
    "pieces, fewest).",
)
@seed_option
@click.option(
    "--seeds",
    type=WholeNumber(least=1),
    default=1,
    show_default=True,
    help="Search everything so many times with other seeds, and print mean and worst.",
)
@click.option(
    "--seconds",
    type=Amount(),
    multiple=True,
    help="End each search after so many seconds (60 by default); given more than once, what more time "
    "gains is told.",
)
@rounds_option
@click.option(
    "--workers",
    type=WORKERS,
    default=1,
    show_default=True,
    help="How many are measured at the same time; of growth, how many processes each batch has, "
    "of many-batches, how many the executor has (at least 2).",
)
@click.option(
    "--executor",
    type=click.Choice(["processes", "dask"]),
    default="processes",
    show_default=True,
    help="For many-batches: what runs them; dask is a cluster on this machine (the extra dask).",
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
@click.option(
    "--picture",
    type=WrittenName(),
    help="For growth: also draw the curves to this file (PNG, SVG or PDF).",
)
@click.option("--csv", "table", type=WrittenName(), help="Also write every row to this file.")
@force_option
def bench_command(
    which: str,
    count: int | None,
    data: Path | None,
    published: Path | None,
    seed: int,
    seeds: int,
    seconds: tuple[float, ...],
    rounds: int | None,
    workers: int,
    executor: str,
    baseline: bool,
    without: tuple[str, ...],
    picture: Path | None,
    table: Path | None,
    force: bool,
) -> None:
    """Measure the packer on a set; every answer is checked."""
    from nesting.bench.run import RunSettings
    from nesting.cli.overwriting import refuse_overwriting
    from nesting.pack import compile_beforehand

    _refuse_unknown(without)
    runs = [
        RunSettings(search_limit(allowed, rounds), seed, workers, baseline, without, again)
        for allowed in seconds or (None,)
        for again in range(seeds)
    ]
    if which in ("strokes", "growth", "many-batches") and len(runs) > 1:
        raise click.UsageError(f"{which} takes one seed and one limit.")
    refuse_overwriting([path for path in (picture, table) if path is not None], force=force)
    compile_beforehand()
    match which:
        case "strokes":
            _bench_strokes(count or 100, runs[0], table)
        case "growth":
            _bench_growth(runs[0], picture, table)
        case "many-batches":
            own = replace(runs[0], workers=max(2, workers))
            _bench_many_batches(count or 1_000, own, executor, table)
    _bench_rows(which, count, data, published, runs, table)


def _bench_rows(
    which: str,
    count: int | None,
    data: Path | None,
    published: Path | None,
    runs: "list[RunSettings]",
    table: Path | None,
) -> NoReturn:
    from nesting.bench import run
    from nesting.bench.literature import InstanceError
    from nesting.bench.literature import published as read_published
    from nesting.cli.bench_tables import rows_table

    measure: Callable[[RunSettings], Iterator[Result]]
    match which:
        case "cards":
            measure = partial(run.bench_cards, count or 200)
        case "few":
            measure = partial(run.bench_few, count or 200)
        case "planted":
            measure = partial(run.bench_planted, count or 30)
        case "many-fixed" | "many-turned":
            measure = partial(run.bench_many, data, turned=which == "many-turned", count=count)
        case _ if data is None:
            raise click.UsageError(f"{which} needs --data FILE.")
        case _:
            measure = partial(run.bench_single, data, bounded=which == "single-bounded")
    try:
        totals = read_published(published) if published else {}
        rows = _shown(which, chain.from_iterable(map(measure, runs)))
    except InstanceError as error:
        refuse(str(error))
    _end(rows_table(f"bench {which}, seed {runs[0].seed}", rows, totals), rows, table)


def _bench_growth(run: "RunSettings", picture: Path | None, table: Path | None) -> NoReturn:
    from nesting.bench.growth import bench_growth, growth_figure
    from nesting.cli.bench_tables import growth_table
    from nesting.files import write_whole

    if picture is not None and picture.suffix.lower() not in _PICTURES:
        words = " or ".join(_PICTURES)
        raise click.BadParameter(f"{picture}: expected {words}.", param_hint="--picture")
    rows = _shown("growth", bench_growth(run))
    if picture is not None:
        drawn = BytesIO()
        growth_figure(rows).savefig(drawn, format=picture.suffix[1:].lower())
        with refusing():
            write_whole({picture: drawn.getvalue()})
    _end(growth_table(f"bench growth, seed {run.seed}", rows), rows, table)


def _shown(which: str, measured: "Iterable[_Row]", total: int | None = None) -> "list[_Row]":
    """The rows, with a bar on the terminal while they are measured."""
    from rich.console import Console
    from rich.progress import track

    errors = Console(stderr=True)
    return list(track(measured, which, total=total, console=errors, transient=True))


def _refuse_unknown(stages: tuple[str, ...]) -> None:
    """Refuse names of stages that there are not."""
    from nesting.bench.leaving_out import stage_names

    known = stage_names()
    wrong = [name for name in stages if name not in known]
    if wrong:
        words = "; ".join(f"no stage is called {n!r}, {Nearest().words(n, known)}" for n in wrong)
        raise click.BadParameter(f"{words}.", param_hint="--without")


def _bench_many_batches(
    count: int, run: "RunSettings", executor: str, table: Path | None
) -> NoReturn:
    from nesting.bench.many_batches import bench_many_batches
    from nesting.cli.bench_tables import many_batches_table

    if executor == "dask" and find_spec("distributed") is None:
        raise click.UsageError("--executor dask needs the extra dask: pip install 'nesting[dask]'.")
    rows = _shown("many-batches", bench_many_batches(count, run, executor), 2)
    _end(many_batches_table(f"bench many-batches, seed {run.seed}", rows), rows, table)


def _bench_strokes(count: int, run: "RunSettings", table: Path | None) -> NoReturn:
    from nesting.bench.stroke_counts import bench_strokes
    from nesting.cli.bench_tables import strokes_table

    rows = _shown("strokes", bench_strokes(count, run), count)
    _end(strokes_table(f"bench strokes, seed {run.seed}", rows), rows, table)


def _end(
    told: "Table", rows: "Sequence[Result | GrowthRow | ManyRow | StrokesRow]", table: Path | None
) -> NoReturn:
    """Print what the rows come to, write every row where that is asked for; exit 1 where a plan had faults."""
    from rich.console import Console

    from nesting.cli.bench_tables import rows_csv
    from nesting.files import write_whole

    Console(width=150).print(told)
    if table is not None:
        with refusing():
            write_whole({table: rows_csv(rows)})
    sys.exit(1 if any(row.faults for row in rows) else 0)
