"""Which sheet a layout is cut from: what tells the sheets of a paper apart, its size, its strip."""

from typing import Literal

from nesting.batch import Trimmer
from nesting.layouts import Layout, Source
from nesting.papers import BarcodeStrip, Edge, Edges, Paper, Sheet
from nesting.sheets import full_size, starting_edges, strip_along, strip_of, without_strip_beyond
from nesting.units import Unit, size_words

#: Kind, full width and height, the edge of the strip, edge trim still on an offcut: what tells the
#: sheets of a paper apart.
SheetKey = tuple[str, int, int, Edge | None, Edges | None]


def _kind_of(sheet: Sheet) -> Literal["sheet", "offcut", "middle"]:
    if sheet.windows:
        return "middle"
    return "offcut" if sheet.offcut else "sheet"


def source_of(sheet: Sheet, unit: Unit) -> Source:
    """What a layout that is cut from a sheet says of it."""
    name = size_words(sheet.width, sheet.height, unit)
    return Source(_kind_of(sheet), name, sheet.strip, sheet.trim)


def key_of_sheet(paper: Paper, sheet: Sheet) -> SheetKey:
    """The key of a sheet of a batch."""
    strip, kind = strip_of(paper, sheet), _kind_of(sheet)
    return kind, *full_size(paper, sheet), None if strip is None else strip.edge, sheet.trim


def key_of_source(paper: Paper, source: Source, width: int, height: int) -> SheetKey:
    """The key of a sheet of this full width and height."""
    strip = strip_along(paper, source.strip, whole=source.kind == "sheet")
    return source.kind, width, height, None if strip is None else strip.edge, source.trim


def key_of_layout(layout: Layout, paper: Paper) -> SheetKey:
    """The key of the sheet that a layout is cut from."""
    return key_of_source(paper, layout.source, layout.width, layout.height)


def strip_on(layout: Layout, paper: Paper) -> BarcodeStrip | None:
    """The barcode strip of the sheet that a layout is cut from."""
    return strip_along(paper, layout.source.strip, whole=layout.source.kind == "sheet")


def starting_corner(layout: Layout, paper: Paper, trimmer: Trimmer) -> tuple[Edge, Edge]:
    """The corner of the layout's sheet that all measures start from (``sheets.starting_edges``)."""
    return starting_edges(strip_on(layout, paper), trimmer.hand)


def nominal_size(layout: Layout, paper: Paper) -> tuple[int, int]:
    """Width and height of the layout's sheet without a barcode strip beyond them, in nm."""
    return without_strip_beyond(strip_on(layout, paper), layout.width, layout.height)


def sheet_of_layout(layout: Layout, paper: Paper) -> Sheet:
    """A layout's sheet as a batch lists it, without its price and how many there are.

    A covered middle is an offcut once it is cut out.
    """
    width, height = nominal_size(layout, paper)
    source = layout.source
    return Sheet(width, height, offcut=source.kind != "sheet", strip=source.strip, trim=source.trim)


def nominal_area(layout: Layout, paper: Paper) -> int:
    """Area of the layout's sheet without a barcode strip beyond it, in nm²."""
    width, height = nominal_size(layout, paper)
    return width * height
