"""``draw``: pages and diagrams again from a plan."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from nesting.cli.options import FORMATS, FileName, WrittenName, force_option, page_option
from nesting.cli.running import drawing_processes, listed_files, read_sound_plan, refuse

if TYPE_CHECKING:
    from nesting.cli.folder import Format


@click.command("draw")
@click.argument("plan", type=FileName())
@click.option(
    "--out",
    type=WrittenName(),
    help="Folder to write to, made if it is not there (the plan's own by default).",
)
@click.option(
    "--format",
    "formats",
    multiple=True,
    type=click.Choice(FORMATS[1:]),
    help="What to draw; may be given again. Everything by default.",
)
@click.option(
    "--cards",
    is_flag=True,
    help="Draw the finished cards instead, as PNG and SVG in the folder cards.",
)
@click.option(
    "--face-down", is_flag=True, help="Draw the sheets as they lie face down, their back up."
)
@page_option
@force_option
def draw_command(
    plan: Path,
    out: Path | None,
    formats: "tuple[Format, ...]",
    cards: bool,
    page: str,
    face_down: bool,
    force: bool,
) -> None:
    """Draw the pages of a PLAN again, or pictures of its cards."""
    from nesting.cli.folder import card_files, drawn_files
    from nesting.cli.overwriting import write_where_free

    if cards and "pdf" in formats:
        raise click.UsageError("--cards draws PNG and SVG; the recipes are in the PDF without it.")
    if cards and face_down:
        raise click.UsageError("--face-down is about sheets; --cards draws none.")
    drawing = drawing_processes(formats)
    answer = read_sound_plan(plan, "The plan has faults; nothing was drawn.")
    if cards and not answer.asked.cards:
        refuse(f"{plan}: no cards; expected a plan of a batch with cards for --cards")
    folder = out or plan.parent
    if cards:
        files = card_files(answer, formats)
    else:
        files = drawn_files(answer, formats, page, drawing, back_up=face_down)()
    written = {folder / name: data for name, data in files.items()}
    write_where_free(written, force=force)
    click.echo(f"Written to {folder}: {listed_files(files)}.")
