"""``stash list``, ``history``, ``export`` and ``labels``: what there is, shown and written."""

import json
from dataclasses import asdict, replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from nesting.cli.options import WholeNumber, WrittenName, force_option, page_option, stash_option
from nesting.cli.overwriting import refuse_overwriting
from nesting.cli.running import refuse
from nesting.cli.stash_values import length_unit_option, opened_stash, paper_name, parsed_size

if TYPE_CHECKING:
    from nesting.papers import Paper
    from nesting.stash import StashOffcut
    from nesting.units import Unit


@click.command("list")
@click.option("--paper", type=paper_name, help="Of this paper only.")
@click.option("--holds", help="Only what a piece of this size, width x height, can be cut from.")
@click.option("--json", "as_json", is_flag=True, help="Print the list as JSON.")
@length_unit_option
@stash_option
def list_(
    paper: str | None, holds: str | None, as_json: bool, unit: "Unit", stash: Path | None
) -> None:
    """List what there is: whole sheets, then offcuts by number."""
    with opened_stash(stash) as opened:
        size = None if holds is None else parsed_size(holds, unit)
        papers = [opened.paper(paper)] if paper is not None else list(opened.papers())
        offcuts = opened.offcuts(paper)
    if size is not None:
        papers, offcuts = _holding(papers, offcuts, size)
    if as_json:
        told = {
            "papers": [asdict(one) for one in papers],
            "offcuts": [asdict(one) for one in offcuts],
        }
        click.echo(json.dumps(told, ensure_ascii=False, indent=1))
    else:
        _print_list(papers, offcuts)


def _holding(
    papers: "list[Paper]", offcuts: "tuple[StashOffcut, ...]", size: tuple[int, int]
) -> "tuple[list[Paper], tuple[StashOffcut, ...]]":
    """What a piece can be cut from, whole sheets that are there and offcuts."""
    from nesting.stash import holds

    known = {paper.name: paper for paper in papers}
    found = []
    for paper in papers:
        there = [sheet for sheet in paper.sheets if sheet.have != 0]
        sheets = tuple(sheet for sheet in there if holds(paper, sheet, *size))
        found += [replace(paper, sheets=sheets)] if sheets else []
    fitting = (
        one for one in offcuts if holds(known[one.paper], one.on_sheet(known[one.paper]), *size)
    )
    return found, tuple(fitting)


def _print_list(papers: "list[Paper]", offcuts: "tuple[StashOffcut, ...]") -> None:
    """Print a line for each size of whole sheets and each offcut, in columns as wide as they need."""
    from rich.cells import cell_len  # a table of rich takes seconds for thousands of lines

    from nesting.typed_lengths import exact_size
    from nesting.units import or_plenty

    rows = [("number", "at hand", "size", "paper", "strip", "top of the print", "note")]
    for paper in papers:
        for sheet in paper.sheets:
            have, size = or_plenty(sheet.have), exact_size(sheet.width, sheet.height)
            rows.append(("", have, size, paper.name, "", "", ""))
    for one in offcuts:
        size, strip = exact_size(one.width, one.height), one.strip.replace("none", "")
        rows.append((str(one.number), "1", size, one.paper, strip, one.top, one.note))
    if len(rows) == 1:
        click.echo("Nothing.")
        return
    widths = [max(map(cell_len, column)) for column in zip(*rows, strict=True)]
    for number, have, *rest in rows:
        cells = [number.rjust(widths[0]), have.rjust(widths[1])]
        cells += [c + " " * (w - cell_len(c)) for c, w in zip(rest, widths[2:], strict=True)]
        click.echo("  ".join(cells).rstrip())


@click.command()
@stash_option
def history(stash: Path | None) -> None:
    """List every change: its number, when, what and why."""
    with opened_stash(stash) as opened:
        for entry in opened.history():
            why = f" ({entry.why})" if entry.why else ""
            undone = " - undone" if entry.undone else ""
            click.echo(f"{entry.entry}  {entry.time}  {entry.what}{why}{undone}")


@click.command("export")
@click.argument("table", type=WrittenName())
@force_option
@stash_option
def export(table: Path, force: bool, stash: Path | None) -> None:
    """Write everything as one table (CSV)."""
    from nesting.files import write_whole
    from nesting.stash import write_table

    refuse_overwriting([table], force=force)
    with opened_stash(stash) as opened:
        write_whole({table: write_table(opened)})
    click.echo(f"Written to {table}.")


@click.command()
@click.argument("out", type=WrittenName())
@click.option(
    "--offcut",
    "numbers",
    type=WholeNumber(least=1),
    multiple=True,
    help="A number; may be given again.",
)
@click.option("--paper", type=paper_name, help="Of this paper only.")
@force_option
@page_option
@stash_option
def labels(
    out: Path,
    numbers: tuple[int, ...],
    paper: str | None,
    force: bool,
    page: str,
    stash: Path | None,
) -> None:
    """Draw labels for offcuts as a PDF.

    Each has number, paper, size and an arrow to the top of the print.
    """
    from nesting.draw import PAGES, draw_offcut_labels
    from nesting.files import write_whole
    from nesting.version import __version__

    refuse_overwriting([out], force=force)
    with opened_stash(stash) as opened:
        if paper is not None:
            opened.paper(paper)
        chosen = tuple(map(opened.offcut, numbers)) if numbers else opened.offcuts(paper)
        if not chosen:
            refuse("the stash has no offcut to label")
        told, tool = [one.label for one in chosen], f"nesting {__version__}"
        write_whole({out: draw_offcut_labels(told, tool, PAGES[page])})
    click.echo(f"Written to {out}.")
