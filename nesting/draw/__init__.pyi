from .canvas.surface import A4_PAGE, LETTER_PAGE, PAGES, Page
from .card.card_picture import draw_card
from .pages.offcut_labels import draw_offcut_labels
from .pages.printed_plan import draw_pdf
from .pages.shopping import draw_shopping
from .pages.side_by_side import draw_side_by_side, side_by_side_figure
from .sheet.diagram import draw_layout, draw_pictures, layout_figures

__all__ = [
    "A4_PAGE",
    "LETTER_PAGE",
    "PAGES",
    "Page",
    "draw_card",
    "draw_layout",
    "draw_offcut_labels",
    "draw_pdf",
    "draw_pictures",
    "draw_shopping",
    "draw_side_by_side",
    "layout_figures",
    "side_by_side_figure",
]
