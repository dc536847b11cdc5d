"""The printed plan: a summary, then one page for each layout."""

from io import BytesIO

from nesting.draw.diagram import layout_figure
from nesting.draw.summary import summary_figures
from nesting.draw.surface import LETTER_PAGE, Page, house_style
from nesting.plan import Plan


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
        The file: one or more pages of summary, then one page for each layout, fonts embedded.
    """
    from matplotlib.backends.backend_pdf import PdfPages

    out = BytesIO()
    metadata = {
        "Title": plan.asked.name,
        "Creator": plan.tool,
        "Producer": plan.tool,
        "CreationDate": None,
    }
    with house_style(), PdfPages(out, metadata=metadata) as pdf:
        for figure in summary_figures(plan, page):
            pdf.savefig(figure)
        for layout in plan.layouts:
            pdf.savefig(layout_figure(plan, layout, page))
    return out.getvalue()
