"""The test file: two squares to check the scale with."""

from nesting.cutfile.svg import Drawing, Trace, write_svg
from nesting.units import NANOMETRES, Unit

#: The sides of the two squares of the test file, and the white round and between them.
_SQUARES = (NANOMETRES["in"], 20 * NANOMETRES["mm"])
_WHITE = 10 * NANOMETRES["mm"]


def squares_document(unit: Unit, made_by: str) -> bytes:
    """Write the test file: a square of one inch and one of 20 mm, each closed, side by side."""
    traces = []
    left, high = _WHITE, max(_SQUARES) + 2 * _WHITE
    for side, name in zip(_SQUARES, ("one inch", "20 mm"), strict=True):
        right, low, top = left + side, high - _WHITE - side, high - _WHITE
        corners = ((left, top), (right, top), (right, low), (left, low))
        traces.append(Trace(corners, True, f"a square of {name}"))
        left = right + _WHITE
    title = "Test of the scale: a square of one inch and a square of 20 mm"
    return write_svg(Drawing(title, made_by, left, high, unit, {"outlines": tuple(traces)}))
