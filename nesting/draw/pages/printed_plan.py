"""The printed plan: summary, the pages of each layout, record sheet, labels, a recipe for each card."""

from collections.abc import Collection
from itertools import chain
from typing import Literal

from nesting.draw.canvas.surface import LETTER_PAGE, Page
from nesting.draw.canvas.writing import pdf_file
from nesting.draw.card.bag_labels import label_figures
from nesting.draw.card.recipe import recipe_figures
from nesting.draw.pages.record_sheet import record_figures
from nesting.draw.pages.summary import summary_figures
from nesting.draw.sheet.diagram import layout_figures
from nesting.plan import Plan

#: Of the printed plan, what comes before and after the layouts, which are chosen by their numbers.
ChosenPage = int | Literal["summary", "record", "labels", "recipes"]


def draw_pdf(
    plan: Plan,
    page: Page = LETTER_PAGE,
    *,
    back_up: bool = False,
    only: Collection[ChosenPage] | None = None,
) -> bytes:
    """Draw the whole plan as a PDF: the same plan gives the same bytes.

    Parameters
    ----------
    plan
        The plan.
    page
        ``LETTER_PAGE`` or ``A4_PAGE``; every page has exactly its size.
    back_up
        Draw the layouts as they lie with the back of the paper up.
    only
        Draw no more than these: layouts by their numbers, ``summary``, ``record``, ``labels``,
        ``recipes``.

    Returns
    -------
    bytes
        The file: one or more pages of summary, the pages of each layout, the record sheet, labels
        for the bags, the pages of each card; fonts embedded.

    Examples
    --------
    >>> import nesting
    >>> plan = nesting.solve(nesting.read_batch("samples/cider.yaml"))
    >>> draw_pdf(plan)[:5]
    b'%PDF-'
    """
    diagrams = (
        layout_figures(plan, layout, page, back_up=back_up)
        for layout in plan.layouts
        if only is None or layout.id in only
    )
    figures = chain(
        summary_figures(plan, page) if only is None or "summary" in only else (),
        chain.from_iterable(diagrams),
        record_figures(plan, page) if only is None or "record" in only else (),
        label_figures(plan, page) if only is None or "labels" in only else (),
        recipe_figures(plan, page) if only is None or "recipes" in only else (),
    )
    return pdf_file(figures, plan.asked.name, plan.tool)
