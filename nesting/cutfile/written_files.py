"""All files of a plan for a cutting machine."""

from dataclasses import dataclass

from nesting.cutfile.arrangement import Arrangement, arrange, numbered
from nesting.cutfile.carrier import CutFileError, Setup
from nesting.cutfile.document import drawing_of, sheetfuls_of
from nesting.cutfile.printed_page import FileRow, page_pdf
from nesting.cutfile.squares import squares_document
from nesting.cutfile.svg import write_svg
from nesting.cutfile.windows import windows_of, with_windows
from nesting.draw.canvas.surface import Page
from nesting.file_names import numbered_name
from nesting.plan import Plan

TEST_NAME, PAGE_NAME = "test-squares.svg", "cut-files.pdf"


@dataclass(frozen=True, slots=True)
class CutFiles:
    """Every file by its name, and what came of an arrangement without straight cuts."""

    files: dict[str, bytes]
    arrangements: tuple[Arrangement, ...]


def cut_files(plan: Plan, setup: Setup, page: Page, *, straight: bool = True) -> CutFiles:
    """Make the cut files of a plan, the test file, and the page that goes with them.

    Parameters
    ----------
    plan
        A plan that the check finds nothing wrong with.
    setup
        Gap, carrier, edge, face and lettering.
    page
        The printer's paper.
    straight
        Whether the layouts are the plan's own; otherwise the pieces are arranged anew, paper by
        paper, for a machine that needs no straight cuts.

    Raises
    ------
    CutFileError
        With every reason why it cannot be done this way.
    """
    arrangements: tuple[Arrangement, ...] = ()
    if straight:
        sheetfuls = sheetfuls_of(plan, plan.layouts, setup)
    else:
        arrangements = numbered(_arranged(plan, setup))
        arranged = [one for found in arrangements for one in found.sheetfuls]
        windows = windows_of(plan, arranged)[0]
        sheetfuls = tuple(with_windows(one, windows) for one in arranged)
    if not sheetfuls:
        raise CutFileError("the plan cuts nothing; expected one with a layout")
    entries = [
        FileRow(f"{numbered_name(one.number, one.paper)}.svg", one, drawing_of(one, plan, setup))
        for one in sheetfuls
    ]
    files = {entry.name: write_svg(entry.drawing) for entry in entries}
    files[TEST_NAME] = squares_document(plan.asked.unit, plan.tool)
    files[PAGE_NAME] = page_pdf(plan, entries, arrangements, setup, page)
    return CutFiles(files, arrangements)


def _arranged(plan: Plan, setup: Setup) -> list[Arrangement]:
    """Every paper arranged; what cannot be is said of all papers in one go."""
    found: list[Arrangement] = []
    messages: list[str] = []
    for paper in plan.asked.papers:
        if plan.layouts_of(paper.name):
            try:
                found.append(arrange(plan, paper, setup))
            except CutFileError as error:
                messages.extend(error.messages)
    if messages:
        raise CutFileError(*messages)
    return found
