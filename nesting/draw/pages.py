"""The printed plan: a summary, one page for each layout, labels, a recipe for each card."""

from collections.abc import Iterator, Sequence
from io import BytesIO
from itertools import chain
from typing import TYPE_CHECKING, Literal

from nesting.draw.bag_labels import label_figures
from nesting.draw.diagram import layout_figure, picture_file
from nesting.draw.recipe import recipe_figures
from nesting.draw.summary import summary_figures
from nesting.draw.surface import LETTER_PAGE, Page, house_style
from nesting.plan import Plan

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def draw_pdf(plan: Plan, page: Page = LETTER_PAGE) -> bytes:
    """Draw the whole plan as a PDF: the same plan gives the same bytes.

    Parameters
    ----------
    plan
        The plan.
    page
        ``LETTER_PAGE`` or ``A4_PAGE``; every page has exactly its size.

    Returns
    -------
    bytes
        The file: one or more pages of summary, one page for each layout, labels for the bags,
        one or more pages for each card; fonts embedded.
    """
    return _pdf(plan, page, [layout_figure(plan, layout, page) for layout in plan.layouts])


def draw_all(
    plan: Plan, formats: Sequence[Literal["pdf", "png", "svg"]], page: Page = LETTER_PAGE
) -> Iterator[tuple[int | None, Literal["pdf", "png", "svg"], bytes]]:
    """Draw the plan in some formats; every layout is composed once for all of them.

    Yields
    ------
    tuple
        The position in ``plan.layouts``, the format and the file; the PDF has the position None.
    """
    with house_style():
        diagrams = [layout_figure(plan, layout, page) for layout in plan.layouts]
        for kind in formats:
            if kind == "pdf":
                yield None, kind, _pdf(plan, page, diagrams)
            else:
                for number, diagram in enumerate(diagrams):
                    yield number, kind, picture_file(diagram, plan.tool, kind)


def _pdf(plan: Plan, page: Page, diagrams: "Sequence[Figure]") -> bytes:
    """The summary, the diagrams, labels and recipes, as one file."""
    from matplotlib.backends.backend_pdf import PdfPages

    out = BytesIO()
    metadata = {
        "Title": plan.asked.name,
        "Creator": plan.tool,
        "Producer": plan.tool,
        "CreationDate": None,
    }
    with house_style(), PdfPages(out, metadata=metadata) as pdf:
        last = chain(label_figures(plan, page), recipe_figures(plan, page))
        for figure in chain(summary_figures(plan, page), diagrams, last):
            pdf.savefig(figure)
    return out.getvalue()
