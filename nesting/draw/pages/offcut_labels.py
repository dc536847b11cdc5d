"""Labels to cut apart and stick on offcuts: number, paper, size, top of the print, barcode strip."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from nesting.draw.canvas.lettering import ASCENT, BODY, LEADING, SIZE, wrap
from nesting.draw.canvas.lines import set_lines, write_lines
from nesting.draw.canvas.palette import QUIET
from nesting.draw.canvas.surface import Box, Page, Surface, house_style
from nesting.draw.canvas.writing import pdf_file
from nesting.draw.sheet.labels import Arrow, Word, draw_row
from nesting.papers import Edge

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_ACROSS, _DOWN = 3, 8
_PAD = 8.0
_NUMBER = 24.0
_WHITE = 10.0

#: Number, paper, size in words, edge at the top of the print, edge of the strip or ``none``.
Label = tuple[int, str, str, Edge, str]


def draw_offcut_labels(labels: Sequence[Label], tool: str, page: Page) -> bytes:
    """Draw a label for each offcut as a PDF: the same labels give the same bytes."""
    return pdf_file(_pages(labels, page), "Labels for offcuts", tool)


def _pages(labels: Sequence[Label], page: Page) -> "Iterator[Figure]":
    """Draw labels, as many to a page as it has room for."""
    with house_style():
        for first in range(0, len(labels), _ACROSS * _DOWN):
            surface = Surface(page)
            whole = surface.print_area
            words = "Labels for offcuts: cut apart at the lines; stick each so that its arrow points to the top of the print."
            surface.text(whole.x, whole.top - BODY * ASCENT, words, BODY, colour=QUIET)
            width, height = whole.width / _ACROSS, (whole.height - BODY * LEADING - _WHITE) / _DOWN
            for number, label in enumerate(labels[first : first + _ACROSS * _DOWN]):
                down, across = divmod(number, _ACROSS)
                top = whole.top - BODY * LEADING - _WHITE - down * height
                box = Box(whole.x + across * width, top - height, width, height)
                _draw_label(surface, label, box)
            yield surface.figure


def _draw_label(surface: Surface, label: Label, box: Box) -> None:
    """Draw the frame of a label and write what it says."""
    number, paper, size, top, strip = label
    corners = [(box.x, box.y), (box.right, box.y), (box.right, box.top), (box.x, box.top)]
    surface.line([*corners, corners[0]], 0.6, colour=QUIET)
    row = (Word(str(number), _NUMBER, bold=True), Arrow(top, both=False, size=_NUMBER))
    draw_row(surface, row, (box.x + _PAD, box.top - _PAD - _NUMBER * ASCENT))
    room = box.width - 2 * _PAD
    lines, down = set_lines([size], SIZE, bold=True, down=_PAD + _NUMBER * LEADING, right=_PAD)
    said = wrap(paper, room, BODY, most=2)
    said.append("no barcode strip" if strip == "none" else f"barcode strip at the {strip}")
    more, _ = set_lines(said, BODY, down=down, right=_PAD)
    write_lines(surface, lines + more, box)
