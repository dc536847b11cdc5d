"""Figures written as files: the same figures give the same bytes."""

from collections.abc import Iterable
from functools import cache
from io import BytesIO
from typing import TYPE_CHECKING, Literal

from nesting.draw.canvas.palette import shades
from nesting.draw.canvas.surface import house_style

if TYPE_CHECKING:
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
    from PIL.Image import Dither, frombytes
    from PIL.PngImagePlugin import PngInfo

    drawn, out, info = BytesIO(), BytesIO(), PngInfo()
    figure.savefig(drawn, format="rgba", dpi=_DOTS)
    width, height = (int(side * _DOTS) for side in figure.get_size_inches())
    dots = frombytes("RGBA", (width, height), drawn.getvalue()).convert("RGB")
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
    """Bind figures into one PDF."""
    from matplotlib.backends.backend_pdf import PdfPages

    out = BytesIO()
    metadata = {"Title": title, "Creator": tool, "Producer": tool, "CreationDate": None}
    with house_style(), PdfPages(out, metadata=metadata) as pdf:
        for figure in figures:
            pdf.savefig(figure)
    return out.getvalue()
