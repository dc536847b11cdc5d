"""The picture of a paper: a sheet with its colour or photo, its barcode strip, the tops of its prints."""

from collections.abc import Iterator
from functools import lru_cache

from nesting.draw.canvas.palette import INK, SHADE
from nesting.draw.canvas.surface import Box
from nesting.draw.sheet.bearings import seen_edge
from nesting.draw.sheet.orientation import draw_big_arrow
from nesting.page.pictures.prints import FaceLook, Looks
from nesting.page.pictures.screen import ScreenSurface
from nesting.papers import Edge, FaceName, Paper
from nesting.sheets import full_size, strip_of
from nesting.units import Unit, length_words, size_words

_SIDE, _WHITE, _ARROW = 150.0, 4.0, 40.0
_BARS = (-14.0, -12.0, -8.0, -6.0, -1.0, 2.0, 4.0, 9.0, 11.0, 14.0)


def paper_picture(looks: Looks, paper: Paper, face: FaceName) -> str:
    """Draw a whole sheet of a paper with a face up, as SVG; the first of its sizes."""
    return _picture(looks.of(paper.name, face), looks.batch.unit)


@lru_cache(maxsize=500)  # a change leaves most papers as they were
def _picture(look: FaceLook, unit: Unit) -> str:
    paper, face = look.paper, look.face
    sheet = paper.sheets[0]
    full = full_size(paper, sheet)
    scale = (_SIDE - 2 * _WHITE) / max(full)
    width, height = (side * scale for side in full)
    surface = ScreenSurface(width + 2 * _WHITE, height + 2 * _WHITE)
    whole = Box(_WHITE, _WHITE, width, height)
    side = paper.face(face)
    top = seen_edge(side.up, back_up=face == "back")
    look.fill(surface, whole, scale, top)
    strip = strip_of(paper, sheet)
    if strip is not None:
        edge = seen_edge(strip.edge, back_up=face == "back")
        band = _along(whole, edge, strip.width * scale)
        surface.box(band, fill=SHADE, weight=0.6)
        surface.lines(_bars(band), 1.0, INK)
    if side.directed:
        x, y = whole.centre
        arrow = Box(x - _ARROW / 2, y - _ARROW / 2, _ARROW, _ARROW)
        draw_big_arrow(surface, arrow, top, both=side.print == "two-way", hollow=False)
    surface.box(whole, weight=1.6)
    return surface.svg(_title(paper, face, unit))


def _along(whole: Box, edge: Edge, width: float) -> Box:
    """The band of that width along an edge of a box."""
    match edge:
        case "left":
            return Box(whole.x, whole.y, width, whole.height)
        case "right":
            return Box(whole.right - width, whole.y, width, whole.height)
        case "top":
            return Box(whole.x, whole.top - width, whole.width, width)
        case _:
            return Box(whole.x, whole.y, whole.width, width)


def _bars(band: Box) -> Iterator[list[tuple[float, float]]]:
    """The bars that a barcode strip is known by, in the middle of it."""
    (x, y), upright = band.centre, band.width > band.height
    for aside in _BARS:
        if upright:
            yield [(x + aside, band.y + 1), (x + aside, band.top - 1)]
        else:
            yield [(band.x + 1, y + aside), (band.right - 1, y + aside)]


def _title(paper: Paper, face: FaceName, unit: Unit) -> str:
    """What the picture shows, in one sentence."""
    sheet, side, strip = paper.sheets[0], paper.face(face), strip_of(paper, paper.sheets[0])
    words = f"{paper.name}, {face}: {size_words(sheet.width, sheet.height, unit)}"
    words += f", {side.print}"
    if side.directed:
        words += f", the {seen_edge(side.up, back_up=face == 'back')} edge is the top of the print"
    if strip is not None:
        width = length_words(strip.width, unit)
        edge = seen_edge(strip.edge, back_up=face == "back")
        words += f", {width} of barcode strip along the {edge} edge"
    return words
