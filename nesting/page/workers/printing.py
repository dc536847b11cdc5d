"""What the page's workers draw: pages to print, cut files, pictures of cards, plans side by side."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from io import BytesIO
from typing import TYPE_CHECKING, Any, Literal
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from nesting.draw.pages.printed_plan import ChosenPage
from nesting.needs import Needs
from nesting.page.workers.answers import Send
from nesting.plan import Plan
from nesting.stash import StashOffcut
from nesting.version import __version__

if TYPE_CHECKING:
    from nesting.advice.suggestions import Suggestion
    from nesting.cutfile.carrier import Setup


@dataclass(frozen=True, slots=True)
class MadeFile:
    """A file, or why it cannot be made."""

    data: bytes
    refused: tuple[str, ...] = ()


def make_file(send: Send, make: Callable[..., bytes], *args: Any) -> None:
    """Make a file."""
    from nesting.cutfile import CutFileError

    try:
        send(MadeFile(make(*args)))
    except CutFileError as error:
        send(MadeFile(b"", error.messages))


def plan_pages(plan: Plan, size: str, only: Sequence[ChosenPage], back_up: bool) -> bytes:
    """The printed plan, or the chosen pages of it; the record sheet is for those who type commands."""
    from nesting.draw import PAGES, draw_pdf

    layouts = (layout.id for layout in plan.layouts)
    every: tuple[ChosenPage, ...] = ("summary", *layouts, "labels", "recipes")
    return draw_pdf(plan, PAGES[size], back_up=back_up, only=only or every)


def print_shopping(needs: Needs, size: str) -> bytes:
    """The page to take shopping."""
    from nesting.draw import PAGES, draw_shopping

    return draw_shopping(needs, PAGES[size])


def print_labels(offcuts: tuple[StashOffcut, ...], size: str) -> bytes:
    """Labels for offcuts of the stash."""
    from nesting.draw import PAGES, draw_offcut_labels

    return draw_offcut_labels([one.label for one in offcuts], f"nesting {__version__}", PAGES[size])


def draw_finished(plan: Plan, card: str, kind: Literal["png", "svg"]) -> bytes:
    """The picture of a finished card."""
    from nesting.draw import draw_card

    return draw_card(plan, card, kind)


def zip_cut_files(plan: Plan, setup: "Setup", size: str, straight: bool) -> bytes:
    """The files for a cutting machine, packed: the same plan gives the same bytes.

    Raises
    ------
    CutFileError
        With every reason why they cannot be made this way.
    """
    from nesting.cutfile.written_files import cut_files
    from nesting.draw import PAGES

    packed = BytesIO()
    with ZipFile(packed, "w", ZIP_DEFLATED) as archive:
        for name, data in cut_files(plan, setup, PAGES[size], straight=straight).files.items():
            archive.writestr(ZipInfo(name), data, ZIP_DEFLATED)
    return packed.getvalue()


def draw_sheets(title: str, plans: tuple[tuple[str, Plan], ...]) -> bytes:
    """All sheets of some plans at one scale."""
    from nesting.draw import draw_side_by_side

    return draw_side_by_side(title, plans, format="svg")


def draw_saving(plan: Plan, change: "Suggestion") -> bytes:
    """The sheets of the paper that a change saves, before and after it."""
    plans = tuple(
        (name, _only(one, change.paper)) for name, one in (("before", plan), ("after", change.plan))
    )
    return draw_sheets(change.paper, plans)


def _only(plan: Plan, paper: str) -> Plan:
    """What a plan says of one paper."""
    return replace(
        plan,
        layouts=plan.layouts_of(paper),
        papers=tuple(one for one in plan.papers if one.paper == paper),
        pieces=tuple(piece for piece in plan.pieces if piece.paper == paper),
    )
