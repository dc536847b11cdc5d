"""``plan``, ``check`` and ``schema``."""

import json
import sys
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from nesting.cli.continuing import after_options, misfit_lines, read_begun, refusing_batch
from nesting.cli.options import (
    FORMATS,
    FileName,
    WholeNumber,
    force_option,
    out_option,
    page_option,
    papers_option,
    prefer_option,
    rounds_option,
    seconds_option,
    seed_option,
    sheet_option,
    stash_option,
    unit_option,
    workers_option,
)
from nesting.cli.running import (
    at_hand_in,
    drawing_processes,
    listed_files,
    plan_faults,
    processes,
    read_asked,
    refusing,
    search_limit,
    shown_progress,
    stop_at_faults,
)

if TYPE_CHECKING:
    from nesting.batch import Prefer
    from nesting.cli.folder import Format
    from nesting.papers import Paper
    from nesting.units import Unit


@click.command("plan")
@click.argument("batch", type=FileName())
@after_options
@out_option
@stash_option
@sheet_option
@papers_option
@unit_option
@seed_option
@seconds_option
@rounds_option
@prefer_option
@click.option(
    "--restarts",
    type=WholeNumber(least=0),
    default=0,
    show_default=True,
    help="How many more searches, each from another start, for a paper that is not proven.",
)
@workers_option
@click.option(
    "--format",
    "formats",
    multiple=True,
    type=click.Choice(FORMATS),
    help="What to write; may be given again. Everything by default; plan.json is always written.",
)
@page_option
@click.option("--json", "as_json", is_flag=True, help="Print the figures as JSON.")
@force_option
def plan_command(
    batch: Path,
    after: Path | None,
    done: str,
    spoilt: str,
    out: Path | None,
    stash: Path | None,
    sheet: str | None,
    papers: Path | None,
    unit: "Unit | None",
    seed: int,
    seconds: float | None,
    rounds: int | None,
    prefer: "Prefer | None",
    restarts: int,
    workers: int | None,
    formats: "tuple[Format, ...]",
    page: str,
    as_json: bool,
    force: bool,
) -> None:
    """Plan the cuts of a BATCH file, or of a list of pieces (CSV).

    The plan, its pages and its diagrams are written to a folder. With --after, --done and --spoilt
    it goes on from a plan that is cut in part.
    """
    drawing = drawing_processes(formats)  # first: what they load takes longer than most searches
    from nesting.cli.folder import drawn_files, write_folder
    from nesting.cli.overwriting import refuse_overwriting
    from nesting.cli.tables import figures_json, print_plan
    from nesting.draw.pages.plan_words import stopping_lines
    from nesting.files import folder_to_oneself, is_empty_folder, plan_to_json, try_folder
    from nesting.pack import saved_by_stopping, solve

    begun, from_stash = read_begun(after, done, spoilt), set[str]()
    asked = read_asked(batch, sheet, papers, unit, at_hand_in(stash, from_stash))
    asked = replace(asked, prefer=prefer or asked.prefer)
    folder = out or (begun.folder(batch) if begun else Path(f"{batch.stem}-plan"))

    def refuse_another_plan() -> None:
        layouts = [] if is_empty_folder(folder / "layouts") else ["layouts"]
        names = ["plan.json", "plan.pdf", *layouts]
        refuse_overwriting((folder / name for name in names), force=force)

    refuse_another_plan()
    with refusing():
        try_folder(folder)
    if begun:
        begun = begun.with_stash(stash, asked, from_stash)
        begun.say_back()
    with shown_progress(quiet=as_json) as report, processes(workers) as executor:
        limit = search_limit(seconds, rounds)
        run = partial(solve, asked) if begun is None else begun.runner(asked)
        own = begun.seed_or(seed) if begun else seed
        with refusing_batch(papers or batch):
            answer = run(limit, own, restarts=restarts, executor=executor, report=report)
    for line in misfit_lines(answer):
        click.echo(line, err=True)
    failed = "The plan failed its own check; nothing was written."
    stop_at_faults(asked, answer, failed, begun.plan if begun else None)
    drawn = drawn_files(answer, formats, page, drawing)
    saved = {} if as_json else saved_by_stopping(answer)
    files = {"plan.json": plan_to_json(answer).encode(), **drawn()}
    with refusing(), folder_to_oneself(folder):
        refuse_another_plan()  # which another run may have written meanwhile
        write_folder(folder, files)
    if as_json:
        click.echo(json.dumps(figures_json(answer), ensure_ascii=False, indent=1))
    else:
        from rich.console import Console

        print_plan(answer, Console())
        for line in stopping_lines(saved):
            click.echo(line)
        click.echo(f"Written to {folder}: {listed_files(files)}.")
    sys.exit(0 if answer.all_cut else 1)


@click.command("check")
@click.argument("batch", type=FileName())
@click.argument("plan", type=FileName())
@click.option(
    "--after",
    type=FileName(),
    help="The plan.json that the PLAN goes on from: what was cut of it is worked out again as well.",
)
@sheet_option
@papers_option
@unit_option
def check_command(
    batch: Path,
    plan: Path,
    after: Path | None,
    sheet: str | None,
    papers: Path | None,
    unit: "Unit | None",
) -> None:
    """Check a PLAN, whoever made it, against its BATCH.

    Every size, cut, count, figure and proof is worked out again.
    """
    from nesting.files import as_planned, read_plan, read_plan_with_faults
    from nesting.units import counted

    with refusing():
        answer, listed = read_plan_with_faults(plan)
        earlier = None if after is None else read_plan(after)
    at_hand, from_stash = as_planned(answer), set[str]()

    def noted(name: str) -> "Paper | None":
        from_stash.add(name)
        return at_hand(name)

    asked = read_asked(batch, sheet, papers, unit, noted)
    faults = [*plan_faults(asked, answer, earlier, from_stash), *listed]
    for fault in faults:
        click.echo(fault)
    if faults:
        click.echo(f"{plan}: {counted(len(faults), 'fault')}.")
        sys.exit(1)
    layouts = counted(len(answer.layouts), "layout")
    sheets = counted(sum(layout.alike for layout in answer.layouts), "sheet")
    click.echo(f"{plan}: no fault found in {layouts} on {sheets}.")
    if answer.after and earlier is None:
        click.echo(f"What was cut of {answer.after[-1].mark} is taken on trust; --after checks it.")
    elif earlier is not None and earlier.after:
        mark = earlier.after[-1].mark
        click.echo(f"What was cut of {mark} is taken on trust; check {after} with --after as well.")


@click.command("schema")
def schema_command() -> None:
    """Print the JSON Schema of a batch file.

    An editor that is given it completes batch files as you write them.
    """
    from nesting.files import batch_schema

    click.echo(json.dumps(batch_schema(), ensure_ascii=False, indent=2))
