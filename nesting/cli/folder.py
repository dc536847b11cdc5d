"""The folder a plan is written to: which files, and which of an earlier plan go."""

import re
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from nesting.batch import Card
from nesting.file_names import numbered_name
from nesting.layouts import Layout
from nesting.plan import Plan

if TYPE_CHECKING:
    from concurrent.futures import Executor

Picture = Literal["png", "svg"]
Format = Literal["json", "pdf"] | Picture

_PICTURES: tuple[Picture, ...] = ("png", "svg")
#: In so many parts the diagrams are drawn: each part is sent the plan.
_SIDE_BY_SIDE = 8


def layout_name(layout: Layout) -> str:
    """Name a layout's diagram, without its ending.

    Examples
    --------
    >>> from nesting.layouts import Offcut, Source
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


def drawn_files(
    plan: Plan,
    formats: Sequence[Format],
    page: str,
    executor: "Executor | None" = None,
    *,
    back_up: bool = False,
) -> Callable[[], dict[str, bytes]]:
    """Begin to draw the pages and diagrams of a plan.

    Parameters
    ----------
    formats
        Which kinds to make; empty for all.
    page
        ``letter`` or ``A4``.
    executor
        Draws them side by side, beside what is done here meanwhile.

    Returns
    -------
    Callable[[], dict[str, bytes]]
        Waits for them, and gives them by their names in the folder.
    """
    pictures = _wanted(formats)
    parts: list[Callable[[], dict[str, bytes]]] = []
    if not formats or "pdf" in formats:  # it takes longest, so it comes first
        parts.append(partial(_pages, plan, page, back_up=back_up))
    if pictures:
        every = (plan.layouts[number::_SIDE_BY_SIDE] for number in range(_SIDE_BY_SIDE))
        parts += [
            partial(_pictures, plan, some, pictures, page, back_up=back_up)
            for some in filter(None, every)
        ]
    if executor is not None:
        parts = [executor.submit(part).result for part in parts]
    return lambda: {name: data for part in parts for name, data in part().items()}


def _wanted(formats: Sequence[Format]) -> list[Picture]:
    """The kinds of picture that are made; no formats stand for all."""
    return [kind for kind in _PICTURES if not formats or kind in formats]


def _pages(plan: Plan, page: str, *, back_up: bool) -> dict[str, bytes]:
    """The printed plan."""
    from nesting.draw import PAGES, draw_pdf

    return {"plan.pdf": draw_pdf(plan, PAGES[page], back_up=back_up)}


def _pictures(
    plan: Plan, layouts: Sequence[Layout], kinds: Sequence[Picture], page: str, *, back_up: bool
) -> dict[str, bytes]:
    """The diagrams of some layouts."""
    from nesting.draw import PAGES, draw_pictures

    return {
        f"{page_name(layout, number)}.{kind}": data
        for layout in layouts
        for number, kind, data in draw_pictures(plan, layout, kinds, PAGES[page], back_up=back_up)
    }


def card_files(plan: Plan, formats: Sequence[Format]) -> dict[str, bytes]:
    """Draw the finished cards of a plan, by their names in the folder."""
    from nesting.draw import draw_card

    return {
        f"{_card_name(number, card)}.{kind}": draw_card(plan, card.name, kind)
        for number, card in enumerate(plan.asked.cards, start=1)
        for kind in _wanted(formats)
    }


def write_folder(folder: Path, files: dict[str, bytes]) -> None:
    """Write the files, every one whole; pages of an earlier plan that are not among them go.

    A page left over from another plan could end up beside the trimmer.
    """
    from nesting.files import write_whole

    stale = _written_before(folder) - set(files)
    # The plan last: a run that is killed leaves the one before, which tells what is to go.
    ordered = sorted(files, key=lambda name: name == "plan.json")
    write_whole({folder / name: files[name] for name in ordered})
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
