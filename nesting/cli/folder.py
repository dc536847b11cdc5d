"""The folder a plan is written to: which files, and never over anything else."""

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Literal

from nesting.batch import Card
from nesting.errors import NestingError
from nesting.file_names import numbered_name
from nesting.plan import Layout, Plan

Picture = Literal["png", "svg"]
Drawn = Literal["pdf"] | Picture
Format = Literal["json"] | Drawn

PICTURES: tuple[Picture, ...] = ("png", "svg")
#: From so many layouts on, the diagrams are drawn in a process of their own beside the pages.
_MANY = 6


class FolderError(NestingError, ValueError):
    """The folder cannot be written to as it is."""


def layout_name(layout: Layout) -> str:
    """Name a layout's diagram, without its ending.

    Examples
    --------
    >>> from nesting.plan import Offcut, Source
    >>> layout_name(Layout(3, "Pear toss!", Source("sheet", ""), 1, 1, 1, 0, 0, Offcut(True)))
    'layouts/03-pear-toss'
    """
    return f"layouts/{numbered_name(layout.id, layout.paper)}"


def _card_name(number: int, card: Card) -> str:
    """Name a card's picture, without its ending; ``number`` is its place in the batch, from 1."""
    return f"cards/{numbered_name(number, card.name, 'card')}"


def page_name(layout: Layout, number: int) -> str:
    """Name a page of a layout, counted from 0, without its ending: the first as the layout."""
    return f"{layout_name(layout)}-page-{number + 1}" if number else layout_name(layout)


def plan_files(plan: Plan, formats: tuple[Format, ...], page: str) -> dict[str, bytes]:
    """Make every file of a plan, by its name in the folder.

    Parameters
    ----------
    formats
        Which kinds to make beside ``plan.json``; empty for all.
    page
        ``letter`` or ``A4``.
    """
    from nesting.files import plan_to_json

    return {"plan.json": plan_to_json(plan).encode(), **drawn_files(plan, formats, page)}


def drawn_files(
    plan: Plan, formats: tuple[Format, ...], page: str, *, back_up: bool = False
) -> dict[str, bytes]:
    """Make the pages and diagrams of a plan, by their names in the folder."""
    drawn: tuple[Drawn, ...] = ("pdf", "png", "svg")
    wanted = [kind for kind in drawn if not formats or kind in formats]
    pictures = [kind for kind in wanted if kind != "pdf"]
    if len(wanted) == len(pictures) or not pictures or len(plan.layouts) < _MANY:
        return _drawn(plan, wanted, page, back_up=back_up)
    from nesting.workers import worker_processes

    with worker_processes(1) as executor:
        beside = executor.submit(_drawn, plan, pictures, page, back_up=back_up)
        files = _drawn(plan, ["pdf"], page, back_up=back_up)
        return files | beside.result()


def _drawn(plan: Plan, wanted: Sequence[Drawn], page: str, *, back_up: bool) -> dict[str, bytes]:
    """Draw in this process."""
    if not wanted:
        return {}
    from nesting.draw import PAGES, draw_all

    return {
        "plan.pdf" if at is None else f"{page_name(plan.layouts[at[0]], at[1])}.{kind}": data
        for at, kind, data in draw_all(plan, wanted, PAGES[page], back_up=back_up)
    }


def card_files(plan: Plan, formats: Sequence[Picture]) -> dict[str, bytes]:
    """Draw the finished cards of a plan, by their names in the folder."""
    from nesting.draw import draw_card

    return {
        f"{_card_name(number, card)}.{kind}": draw_card(plan, card.name, kind)
        for number, card in enumerate(plan.asked.cards, start=1)
        for kind in formats
    }


def refuse_existing(
    folder: Path, names: tuple[str, ...] = ("plan.json", "plan.pdf", "layouts")
) -> None:
    """Let a folder pass that holds nothing of these names; an empty folder of layouts is nothing.

    Raises
    ------
    FolderError
        It does, or it is no folder.
    """
    from nesting.files import is_empty_folder

    if folder.exists() and not folder.is_dir():
        raise FolderError(f"{folder}: a file; expected a folder to write to")
    for name in names:
        there = folder / name
        if there.exists() and not (name == "layouts" and is_empty_folder(there)):
            raise FolderError(
                f"{there}: is there already; expected another --out, or --force to "
                "overwrite what an earlier run wrote"
            )


def write_folder(folder: Path, files: dict[str, bytes]) -> None:
    """Write the files, every one whole; pages of an earlier plan that are not among them go.

    A page left over from another plan could end up beside the trimmer.
    """
    from nesting.files import write_whole

    stale = _written_before(folder) - set(files)
    write_whole({folder / name: data for name, data in files.items()})
    for name in stale:
        (folder / name).unlink(missing_ok=True)


def _written_before(folder: Path) -> set[str]:
    """The pages and pictures that were made from the plan lying in the folder."""
    from nesting.files import InputError, read_plan

    try:
        plan = read_plan(folder / "plan.json")
    except InputError:
        return set()
    cards = enumerate(plan.asked.cards, start=1)
    # Before, further pages were named by their bare number.
    names = [re.escape(layout_name(layout)) + r"(-(page-)?\d+)?" for layout in plan.layouts]
    names += [re.escape(_card_name(*numbered)) for numbered in cards]
    drawn = re.compile(rf"({'|'.join(names)})\.(png|svg)")
    files = [file for file in (folder / "plan.pdf", *folder.glob("*/*")) if file.is_file()]
    names = [file.relative_to(folder).as_posix() for file in files]
    return {name for name in names if name == "plan.pdf" or drawn.fullmatch(name)}
