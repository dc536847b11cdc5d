"""``compare`` and ``suggest``: variants side by side, and small changes that save paper."""

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from nesting.cli.options import (
    WORKERS,
    FileName,
    WholeNumber,
    WrittenName,
    force_option,
    rounds_option,
    seconds_option,
    seed_option,
    stash_option,
)
from nesting.cli.running import (
    at_hand_in,
    processes,
    read_batch_file,
    refuse,
    refusing,
    search_limit,
)

if TYPE_CHECKING:
    from nesting.advice.comparison import Comparison, ProgressReport

_PICTURES = (".png", ".svg")
#: What the processes that plan have loaded before the first batch comes.
_LOADED = ("nesting.advice.suggestions", "highspy", "numba")

plan_workers_option = click.option(
    "--workers",
    type=WORKERS,
    help="How many plans are made at the same time; by default as many as there are processors.",
)


@click.command("compare")
@click.argument("batch", type=FileName())
@click.option(
    "--vary",
    multiple=True,
    help='A variant, such as "thin mats: windfall / mat / reveal = 1/16"; may be given again.',
)
@click.option("--variants", type=FileName(), help="A file of variants (YAML).")
@click.option("--csv", "table", type=WrittenName(), help="Also write the table to this file.")
@click.option(
    "--picture",
    type=WrittenName(),
    help="Also draw the layouts side by side, as PNG or SVG.",
)
@click.option("--json", "as_json", is_flag=True, help="Print the figures as JSON.")
@force_option
@stash_option
@seed_option
@seconds_option
@rounds_option
@plan_workers_option
def compare_command(
    batch: Path,
    vary: tuple[str, ...],
    variants: Path | None,
    table: Path | None,
    picture: Path | None,
    as_json: bool,
    force: bool,
    stash: Path | None,
    seed: int,
    seconds: float | None,
    rounds: int | None,
    workers: int | None,
) -> None:
    """Plan a BATCH file and variants of it, side by side."""
    from nesting.advice.comparison import compare as lay_side_by_side
    from nesting.advice.variants import Variant
    from nesting.cli.comparison_tables import comparison_csv, comparison_json, print_comparison
    from nesting.cli.overwriting import refuse_overwriting, write_where_free
    from nesting.files import read_variants, read_vary

    if not vary and variants is None:
        raise click.UsageError("Nothing to compare with: give --vary or --variants.")
    if picture is not None and picture.suffix.lower() not in _PICTURES:
        raise click.UsageError("--picture needs a name that ends in .png or .svg.")
    at_hand = at_hand_in(stash)
    with processes(workers, _LOADED) as executor:
        asked = read_batch_file(batch, at_hand)
        with refusing():
            named = [
                *(read_variants(variants, batch, at_hand) if variants else ()),
                *read_vary(vary, batch, at_hand),
            ]
        written = [path for path in (table, picture) if path is not None]
        read = [one.file for one in named]
        refuse_overwriting(written, force=force, read=read)
        with progress_bar(quiet=as_json) as report, stopping():
            comparison = lay_side_by_side(
                asked,
                [Variant(one.name, batch=one.batch) for one in named],
                search_limit(seconds, rounds),
                seed,
                executor=executor,
                report=report,
            )
    files: dict[Path, bytes | str] = {}
    if table is not None:
        files[table] = comparison_csv(comparison)
    if picture is not None:
        files[picture] = _draw(comparison, picture)
    if as_json:
        click.echo(json.dumps(comparison_json(comparison), ensure_ascii=False, indent=1))
    else:
        from rich.console import Console

        print_comparison(comparison, Console())
    if files:
        write_where_free(files, force=force, read=read)
        click.echo(f"Written: {', '.join(map(str, files))}.", err=as_json)


@click.command("suggest")
@click.argument("batch", type=FileName())
@click.option(
    "--apply",
    "number",
    type=WholeNumber(least=1),
    help="Write a new batch file with the suggestion of this number; needs --out.",
)
@click.option("--out", type=WrittenName(), help="The new batch file.")
@click.option("--json", "as_json", is_flag=True, help="Print the suggestions as JSON.")
@stash_option
@seed_option
@seconds_option
@rounds_option
@plan_workers_option
def suggest_command(
    batch: Path,
    number: int | None,
    out: Path | None,
    as_json: bool,
    stash: Path | None,
    seed: int,
    seconds: float | None,
    rounds: int | None,
    workers: int | None,
) -> None:
    """Find small changes of a BATCH file that save paper.

    Nothing is changed unless you ask for it.
    """
    from nesting.advice.suggestions import suggest as find_suggestions
    from nesting.cli.comparison_tables import print_suggestions, suggestions_json
    from nesting.cli.overwriting import refuse_overwriting, write_where_free
    from nesting.files import encoded_like, read_draft, read_text, with_changes_written

    if (number is None) != (out is None):
        raise click.UsageError("--apply N and --out FILE go together.")
    at_hand = at_hand_in(stash)
    with processes(workers, _LOADED) as executor:
        asked = read_batch_file(batch, at_hand)
        refuse_overwriting([out] if out is not None else [], force=None)
        with progress_bar(quiet=as_json) as report, stopping():
            limit = search_limit(seconds, rounds)
            suggested = find_suggestions(asked, limit, seed, executor=executor, report=report)
    found = dict(enumerate(suggested, 1))
    if number is not None and number not in found:
        refuse(f"--apply {number}: there are {len(found)} suggestions")
    if number is not None and out is not None:
        one = found[number]
        with refusing():
            draft = read_draft(read_text(batch, "a batch file"), str(batch), at_hand)
            after = with_changes_written(draft, one.changes, one.batch)
            written = encoded_like(batch, after.text)
        write_where_free({out: written}, force=None)
        found = {number: one}
    if as_json:
        click.echo(json.dumps(suggestions_json(found), ensure_ascii=False, indent=1))
        return
    from rich.console import Console

    print_suggestions(found, Console())
    if out is not None:
        click.echo(f"Written to {out}.")


def _draw(comparison: "Comparison", picture: Path) -> bytes:
    from nesting.draw import draw_side_by_side

    rows = comparison.rows
    quiet = [row.name for row, beaten in zip(rows, comparison.beaten, strict=True) if beaten]
    return draw_side_by_side(
        rows[0].plan.asked.name,
        [(row.name, row.plan) for row in rows],
        quiet,
        "svg" if picture.suffix.lower() == ".svg" else "png",
    )


@contextmanager
def stopping() -> Iterator[None]:
    """Exit 1, with nothing written, where a plan fails its own check."""
    from nesting.advice.comparison import PlanFaultError

    try:
        yield
    except PlanFaultError as error:
        click.echo(error, err=True)
        click.echo("A plan failed its own check; nothing was written.", err=True)
        sys.exit(1)


@contextmanager
def progress_bar(*, quiet: bool) -> Iterator["ProgressReport | None"]:
    """A bar on the terminal of how many are planned."""
    if quiet or not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    columns = (BarColumn(), MofNCompleteColumn(), TextColumn("{task.description}", markup=False))
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("planning")

        def report(name: str, done: int, of: int) -> None:
            bar.update(task, completed=done, total=of, description=name)

        yield report
