"""The printed plan: summary, the pages of each layout, record sheet, labels, a recipe for each card."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from io import BytesIO
from itertools import chain
from typing import TYPE_CHECKING, Literal

from nesting.draw.canvas.surface import LETTER_PAGE, Page, house_style
from nesting.draw.card.bag_labels import label_figures
from nesting.draw.card.recipe import recipe_figures
from nesting.draw.pages.record_sheet import record_figures
from nesting.draw.pages.summary import summary_figures
from nesting.draw.sheet.diagram import layout_figures, picture_file
from nesting.plan import Plan

if TYPE_CHECKING:
    from matplotlib.figure import Figure


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
    return _pdf(plan, page, diagrams, only)


def draw_all(
    plan: Plan,
    formats: Sequence[Literal["pdf", "png", "svg"]],
    page: Page = LETTER_PAGE,
    *,
    back_up: bool = False,
) -> Iterator[tuple[tuple[int, int] | None, Literal["pdf", "png", "svg"], bytes]]:
    """Draw the plan in some formats; every layout is composed once for all of them.

    Yields
    ------
    tuple
        The layout's position in ``plan.layouts`` and the number of its page, both from 0, the
        format and the file; the PDF has None instead.
    """
    with house_style():
        diagrams = [layout_figures(plan, one, page, back_up=back_up) for one in plan.layouts]
        for kind in formats:
            if kind == "pdf":
                yield None, kind, _pdf(plan, page, diagrams)
                continue
            for layout, figures in enumerate(diagrams):
                for number, figure in enumerate(figures):
                    yield (layout, number), kind, picture_file(figure, plan.tool, kind)


def _pdf(
    plan: Plan,
    page: Page,
    diagrams: "Iterable[Sequence[Figure]]",
    only: Collection[ChosenPage] | None = None,
) -> bytes:
    """The summary, diagrams, record sheet, labels and recipes, or some of them, as one file."""
    figures = chain(
        summary_figures(plan, page) if only is None or "summary" in only else (),
        chain.from_iterable(diagrams),
        record_figures(plan, page) if only is None or "record" in only else (),
        label_figures(plan, page) if only is None or "labels" in only else (),
        recipe_figures(plan, page) if only is None or "recipes" in only else (),
    )
    return figures_pdf(figures, plan.asked.name, plan.tool)


def figures_pdf(figures: "Iterable[Figure]", title: str, tool: str) -> bytes:
    """Bind figures into one PDF: the same figures give the same bytes."""
    from matplotlib.backends.backend_pdf import PdfPages

    out = BytesIO()
    metadata = {"Title": title, "Creator": tool, "Producer": tool, "CreationDate": None}
    with house_style(), PdfPages(out, metadata=metadata) as pdf:
        for figure in figures:
            pdf.savefig(figure)
    return out.getvalue()
