"""``enough``: whether there is enough paper, before any cut."""

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from nesting.cli.options import (
    FileName,
    WrittenName,
    force_option,
    page_option,
    papers_option,
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
    processes,
    read_asked,
    refuse,
    search_limit,
    shown_progress,
    stop_at_faults,
)

if TYPE_CHECKING:
    from nesting.units import Unit


@click.command("enough")
@click.argument("batch", type=FileName())
@click.option("--out", type=WrittenName(), help="PDF to write: the page to take shopping.")
@stash_option
@sheet_option
@papers_option
@unit_option
@seed_option
@seconds_option
@rounds_option
@workers_option
@page_option
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
@force_option
def enough_command(
    batch: Path,
    out: Path | None,
    stash: Path | None,
    sheet: str | None,
    papers: Path | None,
    unit: "Unit | None",
    seed: int,
    seconds: float | None,
    rounds: int | None,
    workers: int | None,
    page: str,
    as_json: bool,
    force: bool,
) -> None:
    """Tell whether there is enough paper for a BATCH.

    What there is to buy, how many cards and loose pieces can be made, and what limits them.
    """
    from nesting.advice.sufficiency import enough as answer
    from nesting.cli.overwriting import refuse_overwriting, write_where_free
    from nesting.cli.tables import needs_json, print_needs

    if out is not None and out.suffix.lower() != ".pdf":
        refuse(f"--out {out}: expected a name that ends in .pdf; the page is a PDF")
    asked = read_asked(batch, sheet, papers, unit, at_hand_in(stash))
    if out is not None:
        refuse_overwriting([out], force=force)
    with shown_progress(quiet=as_json) as report, processes(workers) as executor:
        limit = search_limit(seconds, rounds)
        needs = answer(asked, limit, seed, executor=executor, report=report)
    stop_at_faults(asked, needs.plan, "The plan behind the answer failed its own check.")
    if as_json:
        click.echo(json.dumps(needs_json(needs), ensure_ascii=False, indent=1))
    else:
        from rich.console import Console

        print_needs(needs, Console())
    if out is not None:
        from nesting.draw import PAGES, draw_shopping

        write_where_free({out: draw_shopping(needs, PAGES[page])}, force=force)
        click.echo(f"Written to {out}.", err=as_json)
    sys.exit(0 if needs.plan.all_cut else 1)
