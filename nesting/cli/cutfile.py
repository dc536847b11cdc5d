"""``cutfile``: true-scale SVG of a plan for a cutting machine."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from nesting.cli.options import FileName, WrittenName, force_option, page_option
from nesting.cli.running import read_sound_plan, refuse, refusing

if TYPE_CHECKING:
    from nesting.cutfile.carrier import Setup
    from nesting.cutfile.written_files import CutFiles
    from nesting.units import Unit


@click.command("cutfile")
@click.argument("plan", type=FileName())
@click.option(
    "--out",
    type=WrittenName(),
    help="Folder to write to, made if it is not there (cut-files beside the plan by default).",
)
@click.option(
    "--gap",
    default="0",
    show_default=True,
    help="How far apart the pieces' outlines lie, each closed: in the plan's unit, or with its own, "
    "such as '1/8 in'. Without a gap, an edge that two pieces share is cut once.",
)
@click.option("--carrier", help='What the machine carries the sheet on, such as "12 x 24".')
@click.option(
    "--edge",
    help="What the blade does not reach along each edge of the carrier (1/4 in or 6 mm with "
    "--carrier, else 0).",
)
@click.option(
    "--no-straight-cuts",
    "free",
    is_flag=True,
    help="Arrange the pieces anew, for a machine that need not cut from edge to edge.",
)
@click.option(
    "--face-down",
    is_flag=True,
    help="For sheets that lie face down, their back to the blade: mirror everything.",
)
@click.option("--lettering", is_flag=True, help="Add the pieces' letters, for a pen.")
@page_option
@force_option
def cutfile_command(
    plan: Path,
    out: Path | None,
    gap: str,
    carrier: str | None,
    edge: str | None,
    free: bool,
    face_down: bool,
    lettering: bool,
    page: str,
    force: bool,
) -> None:
    """Write the layouts of a PLAN as true-scale SVG.

    They are for a cutting machine; a page to print says how to use them.
    """
    from nesting.cli.overwriting import refuse_overwriting
    from nesting.cutfile import ArrangementError, CutFileError
    from nesting.cutfile.written_files import cut_files
    from nesting.draw import PAGES

    answer = read_sound_plan(plan, "The plan has faults; nothing was written.")
    setup = _setup(answer.asked.unit, gap, carrier, edge, face_down=face_down, lettering=lettering)
    folder = out or plan.parent / "cut-files"
    try:
        made = cut_files(answer, setup, PAGES[page], straight=not free)
    except CutFileError as error:
        refuse(*error.messages)
    except ArrangementError as error:
        click.echo(f"{error}\nThe arrangement failed its own check; nothing was written.", err=True)
        sys.exit(1)
    refuse_overwriting((folder / name for name in made.files), force=force)
    with refusing():
        _write(folder, made.files)
    _tell(folder, made)
    sys.exit(1 if any(one.needed > one.planned and one.to_buy for one in made.arrangements) else 0)


def _setup(
    unit: "Unit",
    gap: str,
    carrier: str | None,
    edge: str | None,
    *,
    face_down: bool,
    lettering: bool,
) -> "Setup":
    """Read the lengths of the options, all mistakes in one go."""
    from nesting.cutfile.carrier import USUAL_EDGE, Setup
    from nesting.typed_lengths import LengthError, parse_length, parse_size

    if edge is None:
        edge = "0" if carrier is None else USUAL_EDGE[unit]
    wrong: list[str] = []
    lengths: list[int] = []
    size: tuple[int, int] | None = None
    for option, text in (("--gap", gap), ("--edge", edge)):
        try:
            lengths.append(parse_length(text, unit))
        except LengthError as error:
            wrong.append(f"{option} {error}")
    try:
        size = parse_size(carrier, unit) if carrier is not None else None
    except LengthError as error:
        wrong.append(f"--carrier {error}")
    if wrong:
        refuse(*wrong)
    return Setup(lengths[0], size, lengths[1], back_up=face_down, lettering=lettering)


def _write(folder: Path, files: dict[str, bytes]) -> None:
    """Write the files, every one whole; cut files of an earlier run that are not among them go.

    One left over from another plan could be cut by mistake.
    """
    from nesting.cutfile.svg import MARK
    from nesting.files import write_whole

    stale = [
        path
        for path in folder.glob("*.svg")
        if path.name not in files and path.is_file() and MARK.encode() in path.read_bytes()
    ]
    write_whole({folder / name: data for name, data in files.items()})
    for path in stale:
        path.unlink(missing_ok=True)


def _tell(folder: Path, made: "CutFiles") -> None:
    """Say what was saved, and what was written."""
    from nesting.cutfile.page_words import saving_words
    from nesting.units import counted

    for arrangement in made.arrangements:
        click.echo(saving_words(arrangement))
    *sheets, test, page = made.files
    count = counted(len(sheets), "cut file")
    click.echo(f"Written to {folder}: {count}, {test}, {page}.")
