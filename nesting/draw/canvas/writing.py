"""Figures written as files: the same figures give the same bytes."""

from collections.abc import Iterable
from functools import cache
from io import BytesIO
from typing import TYPE_CHECKING, Literal

from nesting.draw.canvas.palette import shades
from nesting.draw.canvas.surface import POINTS_PER_INCH, house_style

if TYPE_CHECKING:
    from matplotlib.backend_bases import RendererBase
    from matplotlib.figure import Figure
    from PIL.Image import Image

#: Dots to the inch of a PNG.
_DOTS = 150


def picture_file(figure: "Figure", tool: str, format: Literal["png", "svg"]) -> bytes:  # noqa: A002 - the word for it
    """Write a figure as a picture file, made by ``tool``."""
    with house_style():
        if format == "png":
            return _png(figure, tool)
        out = BytesIO()
        figure.savefig(out, format=format, metadata={"Creator": tool, "Date": None})
        return out.getvalue()


def _png(figure: "Figure", tool: str) -> bytes:
    """A PNG with a byte for each dot: compressing is most of the work, and less than half as much so."""
    from PIL.Image import Dither, frombuffer
    from PIL.PngImagePlugin import PngInfo

    from nesting.draw.canvas.png_dots import DotRenderer

    width, height = (int(side * _DOTS) for side in figure.get_size_inches())
    drawn = DotRenderer(width, height, _DOTS)  # type: ignore[no-untyped-call] # not annotated there
    _draw(figure, drawn, _DOTS)
    seen = drawn.buffer_rgba()  # type: ignore[no-untyped-call] # as above
    dots = frombuffer("RGBA", (width, height), seen).convert("RGB")
    out, info = BytesIO(), PngInfo()
    info.add_text("Software", tool)
    dots.quantize(palette=_colour_table(), dither=Dither.NONE).save(
        out, format="png", dpi=(_DOTS, _DOTS), pnginfo=info, compress_level=1
    )
    return out.getvalue()


@cache
def _colour_table() -> "Image":
    """The colours of a picture, as Pillow wants them: those of an image of one dot."""
    from PIL.Image import new

    table = new("P", (1, 1))
    table.putpalette([round(255 * part) for colour in shades() for part in colour])
    return table


def pdf_file(figures: "Iterable[Figure]", title: str, tool: str) -> bytes:
    """Bind figures into one PDF, fonts embedded."""
    from nesting.draw.canvas.pdf_pages import PdfPages

    pages = PdfPages()
    with house_style():
        for figure in figures:
            width, height = (float(side * POINTS_PER_INCH) for side in figure.get_size_inches())
            _draw(figure, pages.new_page(width, height), POINTS_PER_INCH)
    return pages.file(title, tool)


def _draw(figure: "Figure", renderer: "RendererBase", dots: int) -> None:
    """Draw a figure, with so many dots to the inch meanwhile."""
    before = figure.dpi
    figure.set_dpi(dots)
    try:
        figure.draw(renderer)
    finally:
        figure.set_dpi(before)
