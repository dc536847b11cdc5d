"""Figures as the dots of a picture, text drawn by the outlines of its glyphs.

Imports matplotlib as it is loaded; it is itself loaded only when something is drawn.
"""

from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.path import Path
from matplotlib.transforms import Affine2D

from nesting.draw.canvas.shaping import face_of, font_of, shaped
from nesting.draw.canvas.surface import POINTS_PER_INCH

if TYPE_CHECKING:
    from matplotlib.backend_bases import GraphicsContextBase
    from matplotlib.font_manager import FontProperties
    from numpy.typing import NDArray


class DotRenderer(RendererAgg):
    """Agg, with each glyph's outline looked up once: making a bitmap of it anew takes most of the time."""

    def draw_text(
        self,
        gc: "GraphicsContextBase",
        x: float,
        y: float,
        s: str,
        prop: "FontProperties",
        angle: float,
        ismath: Any = False,  # noqa: ARG002 - as matplotlib calls it
        mtext: Any = None,  # noqa: ARG002
    ) -> None:
        """Write a line of text in one typeface."""
        size = prop.get_size_in_points() / 1000 * self.dpi / POINTS_PER_INCH
        place = Affine2D().scale(size).rotate_deg(angle).translate(x, self.height - y)
        ink = self.new_gc()
        ink.set_linewidth(0)
        ink.set_snap(False)
        outline = _outline(s, str(prop.get_file()))
        if outline is not None:
            self.draw_path(ink, outline, place, gc.get_rgb())  # type: ignore[no-untyped-call] # there
        ink.restore()


def _outline(run: str, file: str) -> Path | None:
    """The outlines of a run of text, in thousandths of the type size; None where it draws nothing."""
    corners, codes, along = [], [], 0.0
    for glyph in shaped(run, file):
        own, kinds = _glyph(glyph.number, file)
        corners.append(np.add(own, (along + glyph.right, glyph.up)))
        codes.append(kinds)
        along += glyph.advance
    if not any(map(len, codes)):
        return None
    return Path(np.concatenate(corners), np.concatenate(codes))


@cache
def _glyph(number: int, file: str) -> "tuple[NDArray[np.float64], NDArray[np.uint8]]":
    """The corners of a glyph, and what leads to each."""
    pen = _Pen()
    font_of(file).draw_glyph_with_pen(number, pen)
    scale = 1000 / face_of(file).upem
    return np.array(pen.corners, float).reshape(-1, 2) * scale, np.array(pen.codes, np.uint8)


class _Pen:
    """Notes down an outline as matplotlib has it."""

    def __init__(self) -> None:
        self.corners: list[tuple[float, float]] = []
        self.codes: list[int] = []

    def _note(self, code: int, *corners: tuple[float, float]) -> None:
        self.corners += corners
        self.codes += [code] * len(corners)

    def moveTo(self, corner: tuple[float, float]) -> None:  # noqa: N802 - HarfBuzz's name
        """Begin at a corner."""
        self._note(int(Path.MOVETO), corner)

    def lineTo(self, corner: tuple[float, float]) -> None:  # noqa: N802
        """Go straight to a corner."""
        self._note(int(Path.LINETO), corner)

    def qCurveTo(self, *corners: tuple[float, float]) -> None:  # noqa: N802
        """Go on in a curve of the second degree."""
        self._note(int(Path.CURVE3), *corners)

    def curveTo(self, *corners: tuple[float, float]) -> None:  # noqa: N802
        """Go on in a curve of the third degree."""
        self._note(int(Path.CURVE4), *corners)

    def closePath(self) -> None:  # noqa: N802
        """Go back to where it began."""
        self._note(int(Path.CLOSEPOLY), (0.0, 0.0))
