"""Sheets as they lie on the table: which one a layout is cut from, and what is left of it for pieces."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from nesting.checker.cutting.cut_sheets import Rect
from nesting.layouts import Layout
from nesting.papers import BarcodeStrip, Edge, Edges, Paper, Sheet, StripEdge

#: Kind of source, full width and height, edge of the strip, edge trim still on an offcut: what tells
#: the sheets of a paper apart.
SheetIdentity = tuple[str, int, int, Edge | None, Edges | None]

_EDGES: tuple[Edge, ...] = ("left", "right", "top", "bottom")


@dataclass(frozen=True, slots=True)
class Bared:
    """A full sheet without its strip and edge trim.

    ``off`` lists what comes off first, "strip" or "edge", each with its rectangle, cuts not
    counted; ``usable`` is what is then left for pieces.
    """

    full: tuple[int, int]
    off: tuple[tuple[str, Rect], ...]
    usable: Rect


def strip_still_on(paper: Paper, edge: StripEdge | None, *, whole: bool) -> BarcodeStrip | None:
    """The paper's barcode strip along the edge given; None on an offcut for which none is given."""
    strip = paper.barcode_strip
    if strip is None or edge == "none":
        return None
    if edge is None:
        return strip if whole else None
    return replace(strip, edge=edge)


def bared(paper: Paper, sheet: Sheet, cut_width: int) -> Bared:
    """Take barcode strip and edge trim off a sheet.

    The strip comes off first, along its whole edge, then the trim of each edge. Each cut ends where
    what it takes off ends, or takes the rest of its width from the sheet.
    """
    strip = strip_still_on(paper, sheet.strip, whole=not sheet.offcut)
    full = sheet.width, sheet.height
    if strip is not None and strip.beyond_the_sheet:
        upright = strip.edge in ("left", "right")
        full = full[0] + upright * strip.width, full[1] + (not upright) * strip.width
    trims = (sheet.trim or Edges()) if sheet.offcut else paper.edge_trim
    depths: list[tuple[Edge, str, int]] = []
    for edge in _EDGES:
        printed = strip.width if strip is not None and strip.edge == edge else 0
        depths += [(edge, *one) for one in _depths(printed, getattr(trims, edge), cut_width)]
    depths.sort(key=lambda one: one[1] != "strip")
    off = []
    usable = Rect(0, 0, *full)
    for edge, what, depth in depths:
        rect, usable = _divided(usable, full, edge, depth, cut_width)
        off.append((what, rect))
    return Bared(full, tuple(off), usable)


def _divided(
    rest: Rect, full: tuple[int, int], edge: Edge, depth: int, cut_width: int
) -> tuple[Rect, Rect]:
    """What a cut at an edge takes off and leaves; ``depth`` is from the full sheet's edge to its inner side."""
    x, y, width, height = rest
    right, top = x + width, y + height
    match edge:
        case "left":
            return Rect(x, y, depth - cut_width - x, height), Rect(depth, y, right - depth, height)
        case "bottom":
            return Rect(x, y, width, depth - cut_width - y), Rect(x, depth, width, top - depth)
        case "right":
            end = full[0] - depth
            beyond = end + cut_width
            return Rect(beyond, y, right - beyond, height), Rect(x, y, end - x, height)
        case "top":
            end = full[1] - depth
            beyond = end + cut_width
            return Rect(x, beyond, width, top - beyond), Rect(x, y, width, end - y)


def _depths(strip: int, trim: int, cut_width: int) -> Iterator[tuple[str, int]]:
    """How far from an edge each cut for strip and trim reaches in total.

    The last one reaches to their inner edge, and at least as far as its own width. A cut between
    the two needs room before it; where there is none, both come off as trim.
    """
    if not strip and not trim:
        return
    inner = max(strip + trim, cut_width)
    if strip and trim and inner >= 2 * cut_width:
        yield "strip", max(cut_width, min(strip, inner - cut_width))
    yield "edge" if trim else "strip", inner


def usable_of(paper: Paper, sheet: Sheet, cut_width: int) -> tuple[int, int]:
    """Width and height of what strip, edge trim and their cuts leave of a sheet, in nm."""
    usable = bared(paper, sheet, cut_width).usable
    return usable.width, usable.height


def identity_of_sheet(paper: Paper, sheet: Sheet) -> SheetIdentity:
    """The key of a sheet of the batch."""
    strip = strip_still_on(paper, sheet.strip, whole=not sheet.offcut)
    kind = "middle" if sheet.windows else "offcut" if sheet.offcut else "sheet"
    return kind, *bared(paper, sheet, 0).full, strip.edge if strip else None, sheet.trim


def strip_of_layout(layout: Layout, paper: Paper) -> BarcodeStrip | None:
    """The barcode strip that the sheet of a layout is said to have."""
    return strip_still_on(paper, layout.source.strip, whole=layout.source.kind == "sheet")


def identity_of_layout(layout: Layout, paper: Paper) -> SheetIdentity:
    """The key of the sheet that a layout is cut from."""
    strip = strip_of_layout(layout, paper)
    edge, trim = strip.edge if strip else None, layout.source.trim
    return layout.source.kind, layout.width, layout.height, edge, trim


def sheet_of(layout: Layout, paper: Paper) -> Sheet | None:
    """A sheet of the paper that the layout can be cut from."""
    key = identity_of_layout(layout, paper)
    return next((sheet for sheet in paper.sheets if identity_of_sheet(paper, sheet) == key), None)
