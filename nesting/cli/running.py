"""What the commands share: reading what is asked, refusing, checking, limits, progress."""

import os
import sys
from collections.abc import Collection, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

from nesting.errors import NestingError

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from rich.progress import TaskID

    from nesting.batch import Batch
    from nesting.cli.folder import Format
    from nesting.files import AtHand
    from nesting.pack import Limit, Report, State
    from nesting.papers import Paper
    from nesting.plan import Plan
    from nesting.units import Unit

_MOST_SAID = 100
LISTS = (".csv", ".tsv")
#: What the processes that draw have loaded before there is something to draw.
_TO_DRAW = (
    "matplotlib.backends.backend_svg",
    "matplotlib.figure",
    "nesting.draw.canvas.line_of_text",
    "nesting.draw.canvas.pdf_pages",
    "nesting.draw.canvas.png_dots",
    "nesting.draw.pages.printed_plan",
)


def at_hand_in(stash: Path | None, asked_for: set[str] | None = None) -> "AtHand":
    """What the stash has of a paper; it is opened where a batch asks for it, and never made.

    The names of the papers that are asked for are added to ``asked_for``.
    """

    def find(name: str) -> "Paper | None":
        from nesting.files import InputError
        from nesting.stash import Stash, usual_place

        if asked_for is not None:
            asked_for.add(name)
        path = stash or usual_place()
        if not path.exists():
            raise InputError(f"{path}: no stash yet; expected papers put in by nesting stash add")
        with Stash(path) as opened:
            return opened.at_hand(name)

    return find


def read_asked(
    batch: Path,
    sheet: str | None,
    papers: Path | None,
    unit: "Unit | None",
    at_hand: "AtHand",
) -> "Batch":
    """The batch of a YAML file or of a CSV of pieces; warnings go to standard error."""
    from nesting.cards.warnings import find_slips
    from nesting.files import batch_of_sheet, read_papers, read_pieces_csv

    if batch.suffix.lower() not in LISTS:
        if sheet is not None or papers is not None or unit is not None:
            raise click.UsageError("--sheet, --papers and --unit go with a list of pieces (CSV).")
        return read_batch_file(batch, at_hand)
    if (sheet is None) == (papers is None):
        raise click.UsageError('A list of pieces needs one of --sheet "W x H" and --papers FILE.')
    with refusing():
        given = (
            read_papers(papers, at_hand) if papers else batch_of_sheet(sheet or "", unit or "in")
        )
        asked = read_pieces_csv(batch, given)
    for _, words in find_slips(asked):
        click.echo(f"{batch}: {words}", err=True)
    return asked


def read_batch_file(batch: Path, at_hand: "AtHand") -> "Batch":
    """The batch of a YAML file; its warnings go to standard error."""
    from nesting.files import read_batch_with_warnings

    with refusing():
        asked, notes = read_batch_with_warnings(batch, at_hand)
    for note in notes:
        click.echo(note, err=True)
    return asked


@contextmanager
def refusing() -> Iterator[None]:
    """Turn what cannot be used into its messages and exit code 2."""
    try:
        yield
    except NestingError as error:
        from nesting.files import InputError
        from nesting.stash import StashError

        if isinstance(error, InputError | StashError):
            refuse(*error.messages)
        raise
    except OSError as error:
        refuse(f"{error.filename}: {error.strerror}")


def refuse(*messages: str) -> NoReturn:
    """Say what is wrong, the first hundred faults where there are more, and exit 2."""
    for message in messages[:_MOST_SAID]:
        click.echo(message, err=True)
    if len(messages) > _MOST_SAID:
        click.echo(f"and {len(messages) - _MOST_SAID:,} more", err=True)
    sys.exit(2)


def plan_faults(
    asked: "Batch",
    answer: "Plan",
    earlier: "Plan | None",
    from_stash: Collection[str] | None = None,
) -> list[str]:
    """The faults of a plan in words, by the independent check."""
    from nesting.checker import check as find_faults

    faults = find_faults(asked, answer, earlier, from_stash=from_stash)
    return [f"{fault.where}: {fault.said}" for fault in faults]


def stop_at_faults(
    asked: "Batch", answer: "Plan", words: str, earlier: "Plan | None" = None
) -> None:
    """Exit 1 before anything is written or drawn from a plan that is wrong."""
    faults = plan_faults(asked, answer, earlier)
    if faults:
        for fault in faults:
            click.echo(fault, err=True)
        click.echo(words, err=True)
        sys.exit(1)


def read_sound_plan(path: Path, words: str) -> "Plan":
    """The plan of a file; exit 1, with what that means in words, where it is wrong."""
    from nesting.files import read_plan

    with refusing():
        plan = read_plan(path)
    stop_at_faults(plan.asked, plan, words)
    return plan


def search_limit(seconds: float | None, rounds: int | None) -> "Limit":
    """What ends the search: what was asked, or the default, and a minute, where nothing was."""
    from nesting.pack import WITHIN_A_MINUTE, FirstOf, Rounds, Seconds

    limits: list[Limit] = []
    if seconds is not None:
        limits.append(Seconds(seconds))
    if rounds is not None:
        limits.append(Rounds(rounds))
    return FirstOf(tuple(limits)) if limits else WITHIN_A_MINUTE


@contextmanager
def processes(workers: int | None, load: Sequence[str] = ()) -> "Iterator[Executor | None]":
    """Processes that start when the first search is handed to them; none for one worker.

    What all of them ``load`` is loaded from now on.
    """
    from nesting.workers import worker_processes

    count = workers or os.cpu_count() or 1
    if count == 1:
        yield None
        return
    with worker_processes(count, load) as executor:
        yield executor


def drawing_processes(formats: "Sequence[Format]") -> "Executor | None":
    """Processes that get ready to draw from now on, until the command ends; none where of no use."""
    if set(formats) == {"json"} or os.cpu_count() == 1:
        return None
    from nesting.workers import worker_processes

    return click.get_current_context().with_resource(worker_processes(2, _TO_DRAW))


@contextmanager
def shown_progress(*, quiet: bool) -> Iterator["Report | None"]:
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


def listed_files(files: dict[str, bytes]) -> str:
    """The files in a few words; in folders of their own what they show is counted, not the files."""
    listed = [name for name in files if "/" not in name]
    for folder in ("layouts", "cards"):
        inside = [Path(name) for name in files if name.startswith(f"{folder}/")]
        kinds = dict.fromkeys(file.suffix[1:].upper() for file in inside)
        count = len({file.name.split("-")[0] for file in inside})
        what = folder if count > 1 else folder.removesuffix("s")
        listed += [f"{count} {what} as {' and '.join(kinds)} in {folder}"] if inside else []
    return ", ".join(listed)
