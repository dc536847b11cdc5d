"""The command line: parse, call, print, exit code.

Exit 0: all is cut from what is at hand. Exit 1: something is uncut or to buy, or a fault was
found. Exit 2: the input cannot be used; nothing was written.
"""

import json
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

from nesting import __version__

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from rich.progress import TaskID

    from nesting.batch import Batch
    from nesting.folder import Format
    from nesting.pack import Limit, Report, State
    from nesting.plan import Plan
    from nesting.units import Unit

#: Seconds after which a search ends that was given no limit.
_PATIENCE = 60
_LISTS = (".csv", ".tsv")
_FORMATS = ("json", "pdf", "png", "svg")


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="nesting")
def main() -> None:
    """Plan the cutting of hand-made cards: sizes, sheets, layouts, diagrams for the trimmer."""


_out = click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="Folder to write to, made if it is not there (the file's name and -plan by default).",
)
_force = click.option("--force", is_flag=True, help="Overwrite what an earlier run wrote.")
_page = click.option(
    "--page",
    type=click.Choice(["letter", "A4"], case_sensitive=False),
    default="letter",
    show_default=True,
    help="Paper size of the printed pages.",
)
_seed = click.option("--seed", type=int, default=0, show_default=True, help="Drives all chance.")
_seconds = click.option(
    "--seconds",
    type=click.FloatRange(min=0),
    help="End the search after this long (60 by default); the plan then depends on the machine.",
)
_rounds = click.option(
    "--rounds",
    type=click.IntRange(min=0),
    help="End the search after so many rounds a paper; the same rounds give the same plan.",
)


_sheet = click.option("--sheet", help='For a CSV: the sheet to cut from, such as "12 x 12".')
_papers = click.option(
    "--papers",
    type=click.Path(path_type=Path),
    help="For a CSV: a batch file whose papers and trimmer to use.",
)
_unit = click.option(
    "--unit", type=click.Choice(["in", "mm", "cm"]), help="For a CSV with --sheet (in)."
)


@main.command()
@click.argument("batch", type=click.Path(path_type=Path))
@_out
@_sheet
@_papers
@_unit
@_seed
@_seconds
@_rounds
@click.option(
    "--restarts",
    type=click.IntRange(min=0),
    default=0,
    show_default=True,
    help="More searches, with other chance, for a paper that is not proven.",
)
@click.option(
    "--workers",
    type=click.IntRange(min=1),
    help="Processes for searches that take long; as many as there are processors by default.",
)
@click.option(
    "--format",
    "formats",
    multiple=True,
    type=click.Choice(_FORMATS),
    help="What to write; may be given again. Everything by default; plan.json is always written.",
)
@_page
@click.option("--json", "as_json", is_flag=True, help="Print the figures as JSON.")
@_force
def plan(
    batch: Path,
    out: Path | None,
    sheet: str | None,
    papers: Path | None,
    unit: "Unit | None",
    seed: int,
    seconds: float | None,
    rounds: int | None,
    restarts: int,
    workers: int | None,
    formats: "tuple[Format, ...]",
    page: str,
    as_json: bool,
    force: bool,
) -> None:
    """Plan the cuts of a BATCH file (or a CSV of pieces) and write the plan and its pages."""
    from nesting.folder import plan_files, refuse_existing, write_folder
    from nesting.pack import solve
    from nesting.tables import figures_json, print_plan

    asked = _read(batch, sheet, papers, unit)
    folder = out or Path(f"{batch.stem}-plan")
    with _refusing():
        if not force:
            refuse_existing(folder)
    with _progress(quiet=as_json) as report, _processes(workers) as executor:
        limit = _limit(seconds, rounds)
        answer = solve(asked, limit, seed, restarts=restarts, executor=executor, report=report)
    _stop_at_faults(asked, answer, "The plan failed its own check; nothing was written.")
    files = plan_files(answer, formats, page)
    with _refusing():
        write_folder(folder, files)
    if as_json:
        click.echo(json.dumps(figures_json(answer), ensure_ascii=False, indent=1))
    else:
        from rich.console import Console

        print_plan(answer, Console())
        click.echo(f"Written to {folder}: {_listed(files)}.")
    sys.exit(0 if answer.all_cut else 1)


@main.command()
@click.argument("batch", type=click.Path(path_type=Path))
@click.argument("plan", type=click.Path(path_type=Path))
@_sheet
@_papers
@_unit
def check(
    batch: Path, plan: Path, sheet: str | None, papers: Path | None, unit: "Unit | None"
) -> None:
    """Check anyone's PLAN against its BATCH: every size, cut, count, figure and proof."""
    from nesting.files import read_plan_with_faults

    asked = _read(batch, sheet, papers, unit)
    with _refusing():
        answer, listed = read_plan_with_faults(plan)
    faults = [*_plan_faults(asked, answer), *listed]
    for fault in faults:
        click.echo(fault)
    if faults:
        click.echo(f"{plan}: {len(faults)} faults.")
        sys.exit(1)
    layouts, sheets = len(answer.layouts), sum(layout.alike for layout in answer.layouts)
    click.echo(f"{plan}: no fault found in {layouts} layouts on {sheets} sheets.")


@main.command()
@click.argument("plan", type=click.Path(path_type=Path))
@_out
@click.option(
    "--format",
    "formats",
    multiple=True,
    type=click.Choice(_FORMATS[1:]),
    help="What to draw; may be given again. Everything by default.",
)
@_page
@_force
def draw(
    plan: Path, out: Path | None, formats: "tuple[Format, ...]", page: str, force: bool
) -> None:
    """Draw the pages and diagrams of a PLAN again."""
    from nesting.files import read_plan, write_whole
    from nesting.folder import drawn_files, refuse_existing

    with _refusing():
        answer = read_plan(plan)
    _stop_at_faults(answer.asked, answer, "The plan has faults; nothing was drawn.")
    folder = out or plan.parent
    files = drawn_files(answer, formats, page)
    with _refusing():
        if not force:
            refuse_existing(folder, tuple(files))
        write_whole({folder / name: data for name, data in files.items()})
    click.echo(f"Written to {folder}: {_listed(files)}.")


@main.command()
def schema() -> None:
    """Print the JSON Schema of a batch file, for an editor to complete it."""
    from nesting.files import batch_schema

    click.echo(json.dumps(batch_schema(), ensure_ascii=False, indent=2))


_SETS = {
    "cards": "random batches of the trade",
    "few": "few of each piece, and areas just below 1, 2 and 3 sheets",
    "growth": "the same designs with more and more cards",
    "single-unbounded": "the most value from one sheet",
    "single-bounded": "the same with limited copies",
    "many-fixed": "as few equal sheets as possible",
    "many-turned": "the same with quarter turns",
}


@main.command(epilog="; ".join(f"{name}: {words}" for name, words in _SETS.items()) + ".")
@click.argument("which", type=click.Choice(list(_SETS)))
@click.option("--count", type=click.IntRange(min=1), default=200, show_default=True)
@click.option(
    "--data",
    type=click.Path(path_type=Path),
    help="JSON file of instances, for the single and many sets.",
)
@click.option(
    "--published",
    type=click.Path(path_type=Path, exists=True),
    help="CSV of published totals by cell (class, n, ub_best), for the many sets.",
)
@_seed
@_seconds
@_rounds
@click.option("--workers", type=click.IntRange(min=1), default=1, show_default=True)
@click.option("--baseline", is_flag=True, help="Let rectpack try the same papers (slow).")
@click.option("--csv", "table", type=click.Path(path_type=Path), help="Write every row, too.")
def bench(
    which: str,
    count: int,
    data: Path | None,
    published: Path | None,
    seed: int,
    seconds: float | None,
    rounds: int | None,
    workers: int,
    baseline: bool,
    table: Path | None,
) -> None:
    """Measure the packer on a set; every answer goes through the check."""
    from rich.console import Console
    from rich.progress import track

    from nesting.bench import run as runs
    from nesting.bench.literature import InstanceError
    from nesting.bench.literature import published as read_published
    from nesting.tables import rows_csv, rows_table

    run = runs.Run(_limit(seconds, rounds), seed, workers, baseline)
    if which in ("cards", "few", "growth"):
        rows_of = {"cards": runs.bench_cards, "few": runs.bench_few}
        measured = runs.bench_growth(run) if which == "growth" else rows_of[which](count, run)
    elif data is None:
        raise click.UsageError(f"{which} needs --data FILE.")
    elif which.startswith("many"):
        measured = runs.bench_many(data, run, turned=which == "many-turned")
    else:
        measured = runs.bench_single(data, run, bounded=which == "single-bounded")
    errors = Console(stderr=True)
    try:
        rows = list(track(measured, which, console=errors, transient=True))
    except InstanceError as error:
        _refuse(str(error))
    totals = read_published(published) if published else {}
    Console(width=150).print(rows_table(f"bench {which}, seed {seed}", rows, totals))
    if table is not None:
        from nesting.files import write_whole

        with _refusing():
            write_whole({table: rows_csv(rows)})
    sys.exit(1 if any(row.faults for row in rows) else 0)


def _read(batch: Path, sheet: str | None, papers: Path | None, unit: "Unit | None") -> "Batch":
    """The batch of a YAML file or of a CSV of pieces; warnings go to standard error."""
    from nesting.files import (
        batch_of_sheet,
        read_batch_with_warnings,
        read_papers,
        read_pieces_csv,
    )

    with _refusing():
        if batch.suffix.lower() not in _LISTS:
            if sheet is not None or papers is not None or unit is not None:
                raise click.UsageError(
                    "--sheet, --papers and --unit go with a list of pieces (CSV)."
                )
            asked, notes = read_batch_with_warnings(batch)
            for note in notes:
                click.echo(note, err=True)
            return asked
        if (sheet is None) == (papers is None):
            raise click.UsageError('A list of pieces needs --sheet "W x H" or --papers FILE.')
        given = read_papers(papers) if papers else batch_of_sheet(sheet or "", unit or "in")
        return read_pieces_csv(batch, given)
    raise AssertionError("unreachable")


@contextmanager
def _refusing() -> Iterator[None]:
    """Turn what cannot be used into its messages and exit code 2."""
    from nesting.files import InputError
    from nesting.folder import FolderError

    try:
        yield
    except InputError as error:
        _refuse(*error.messages)
    except FolderError as error:
        _refuse(str(error))
    except OSError as error:
        _refuse(f"{error.filename}: {error.strerror}")


def _refuse(*messages: str) -> NoReturn:
    for message in messages:
        click.echo(message, err=True)
    sys.exit(2)


def _plan_faults(asked: "Batch", answer: "Plan") -> list[str]:
    """The faults of a plan in words, by the independent check."""
    from nesting.check import check as find_faults

    return [f"{fault.where}: {fault.said}" for fault in find_faults(asked, answer)]


def _stop_at_faults(asked: "Batch", answer: "Plan", words: str) -> None:
    """Exit 1 before anything is written or drawn from a plan that is wrong."""
    faults = _plan_faults(asked, answer)
    if faults:
        for fault in faults:
            click.echo(fault, err=True)
        click.echo(words, err=True)
        sys.exit(1)


def _limit(seconds: float | None, rounds: int | None) -> "Limit":
    """What ends the search: what was asked, or the default, and a minute, where nothing was."""
    from nesting.pack import DEFAULT_LIMIT, FirstOf, Rounds, Seconds

    limits: list[Limit] = []
    if seconds is not None:
        limits.append(Seconds(seconds))
    if rounds is not None:
        limits.append(Rounds(rounds))
    return FirstOf(tuple(limits or (DEFAULT_LIMIT, Seconds(_PATIENCE))))


@contextmanager
def _processes(workers: int | None) -> "Iterator[Executor | None]":
    """Processes that start when the first search is handed to them; none for one worker."""
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    count = workers or os.cpu_count() or 1
    if count == 1:
        yield None
        return
    with ProcessPoolExecutor(count, mp_context=get_context("spawn")) as executor:
        yield executor


@contextmanager
def _progress(*, quiet: bool) -> Iterator["Report | None"]:
    """A line for each paper on the terminal while the search goes on."""
    if quiet or not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    columns = (SpinnerColumn(), TextColumn("{task.description}", markup=False), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as progress:
        tasks: dict[str, TaskID] = {}

        def report(paper: str, state: "State") -> None:
            words = f"{paper}: {state.sheets} sheets, round {state.rounds}"
            if paper not in tasks:
                tasks[paper] = progress.add_task(words, total=None)
            progress.update(tasks[paper], description=words)

        yield report


def _listed(files: dict[str, bytes]) -> str:
    """The files in a few words, the diagrams counted."""
    single = [name for name in files if "/" not in name]
    diagrams = len(files) - len(single)
    return ", ".join([*single, *([f"{diagrams} diagrams in layouts"] if diagrams else [])])


if __name__ == "__main__":
    main()
