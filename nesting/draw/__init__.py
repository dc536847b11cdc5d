"""Diagrams and printed pages."""

from nesting.draw.canvas.surface import A4_PAGE, LETTER_PAGE, PAGES, Page
from nesting.draw.card.card_picture import draw_card
from nesting.draw.pages.offcut_labels import draw_offcut_labels
from nesting.draw.pages.printed_plan import draw_all, draw_pdf
from nesting.draw.pages.shopping import draw_shopping
from nesting.draw.pages.side_by_side import draw_side_by_side, side_by_side_figure
from nesting.draw.sheet.diagram import draw_layout, layout_figures

__all__ = [
    "A4_PAGE",
    "LETTER_PAGE",
    "PAGES",
    "Page",
    "draw_all",
    "draw_card",
    "draw_layout",
    "draw_offcut_labels",
    "draw_pdf",
    "draw_shopping",
    "draw_side_by_side",
    "layout_figures",
    "side_by_side_figure",
]
