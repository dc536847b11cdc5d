"""``draw``: pages and diagrams again from a plan."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from nesting.cli.options import (
    FORMATS,
    force_option,
    out_option,
    page_option,
)
from nesting.cli.running import (
    listed_files,
    refusing,
    stop_at_faults,
)

if TYPE_CHECKING:
    from nesting.folder import Format


@click.command()
@click.argument("plan", type=click.Path(path_type=Path))
@out_option
@click.option(
    "--format",
    "formats",
    multiple=True,
    type=click.Choice(FORMATS[1:]),
    help="What to draw; may be given again. Everything by default.",
)
@click.option("--back-up", is_flag=True, help="Draw the sheets as they lie with their back up.")
@page_option
@force_option
def draw(
    plan: Path,
    out: Path | None,
    formats: "tuple[Format, ...]",
    page: str,
    back_up: bool,
    force: bool,
) -> None:
    """Draw the pages and diagrams of a PLAN again."""
    from nesting.files import read_plan, write_whole
    from nesting.folder import drawn_files, refuse_existing

    with refusing():
        answer = read_plan(plan)
    stop_at_faults(answer.asked, answer, "The plan has faults; nothing was drawn.")
    folder = out or plan.parent
    files = drawn_files(answer, formats, page, back_up=back_up)
    with refusing():
        if not force:
            refuse_existing(folder, tuple(files))
        write_whole({folder / name: data for name, data in files.items()})
    click.echo(f"Written to {folder}: {listed_files(files)}.")
