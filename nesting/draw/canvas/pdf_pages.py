"""Figures as the pages of a PDF, with text that can be searched, in fonts cut down to what is used.

Imports matplotlib as it is loaded; it is itself loaded only when something is drawn.
"""

from io import BytesIO
from math import cos, radians, sin
from typing import TYPE_CHECKING, Any

import pydyf
from matplotlib import rcParams
from matplotlib.backend_bases import RendererBase
from matplotlib.path import Path
from matplotlib.transforms import Affine2D

from nesting.draw.canvas.pdf_fonts import EmbeddedFont, added, rounded
from nesting.draw.canvas.shaping import shaped

if TYPE_CHECKING:
    from matplotlib.backend_bases import GraphicsContextBase
    from matplotlib.font_manager import FontProperties
    from matplotlib.transforms import Transform

_CAPS = {"butt": 0, "round": 1, "projecting": 2}
_JOINS = {"miter": 0, "round": 1, "bevel": 2}
#: A hatch is laid out in tiles of so many points.
_TILE = 72.0


class PdfPages:
    """Pages that are drawn one after the other, and the file of them all."""

    def __init__(self) -> None:
        self._fonts: dict[str, EmbeddedFont] = {}
        self._pages: list[PageRenderer] = []

    def new_page(self, width: float, height: float) -> "PageRenderer":
        """A page to draw on, its size in points."""
        self._pages.append(PageRenderer(width, height, self._fonts))
        return self._pages[-1]

    def file(self, title: str, tool: str) -> bytes:
        """The file: the same pages give the same bytes."""
        pdf = pydyf.PDF()
        fonts = {font.name: font.added_to(pdf) for font in self._fonts.values()}
        resources = added(pdf, pydyf.Dictionary({"Font": pydyf.Dictionary(fonts)}))
        for page in self._pages:
            described = {
                "Type": "/Page",
                "Parent": pdf.pages.reference,
                "MediaBox": pydyf.Array([0, 0, page.width, page.height]),
                "Resources": resources,
                "Contents": added(pdf, page.stream),
            }
            pdf.add_page(pydyf.Dictionary(described))
        for key, said in (("Title", title), ("Creator", tool), ("Producer", tool)):
            pdf.info[key] = pydyf.String(said)
        out = BytesIO()
        pdf.write(out)
        return out.getvalue()


class PageRenderer(RendererBase):
    """Draws what a figure says into the stream of a page; all lengths are in points."""

    def __init__(self, width: float, height: float, fonts: dict[str, EmbeddedFont]) -> None:
        super().__init__()
        self.width, self.height = width, height
        self.stream = pydyf.Stream(compress=True)
        self._fonts = fonts

    def flipy(self) -> bool:
        """Y is upwards."""
        return False

    def get_canvas_width_height(self) -> tuple[float, float]:
        """The size of the page."""
        return self.width, self.height

    def draw_path(
        self,
        gc: "GraphicsContextBase",
        path: Path,
        transform: "Transform",
        rgbFace: Any = None,  # noqa: N803 - matplotlib's name for it
    ) -> None:
        """Fill, hatch and outline a path."""
        moved = transform.transform_path(path)
        stream = self.stream
        stream.push_state()
        if gc.get_hatch():
            self._hatch(gc, moved)
        weight = gc.get_linewidth() if gc.get_rgb()[3] else 0
        filled = rgbFace is not None and (len(rgbFace) < 4 or rgbFace[3])
        if filled:
            stream.set_color_rgb(*rounded(rgbFace[:3]))
        if weight:
            self._set_pen(gc, weight)
        if filled or weight:
            self._trace(moved)
            finish = stream.fill_and_stroke if weight else stream.fill
            (finish if filled else stream.stroke)()
        stream.pop_state()

    def _set_pen(self, gc: "GraphicsContextBase", weight: float) -> None:
        stream = self.stream
        stream.set_color_rgb(*rounded(gc.get_rgb()[:3]), stroke=True)
        stream.set_line_width(round(weight, 3))
        stream.set_line_cap(_CAPS[gc.get_capstyle()])
        stream.set_line_join(_JOINS[gc.get_joinstyle()])
        start, dashes = gc.get_dashes()
        if dashes is not None:
            stream.set_dash(pydyf.Array(rounded(dashes)), round(float(start), 3))

    def _trace(self, path: Path) -> None:
        """Write the corners of a path that lies where it is drawn."""
        stream = self.stream
        for corners, code in path.iter_segments(simplify=False):
            at = rounded(corners)
            if code == Path.MOVETO:
                stream.move_to(*at)
            elif code == Path.LINETO:
                stream.line_to(*at)
            elif code == Path.CURVE4:
                stream.curve_to(*at)
            elif code == Path.CLOSEPOLY:
                stream.close()

    def _hatch(self, gc: "GraphicsContextBase", path: Path) -> None:
        """Draw the lines of a hatch within a path, tile by tile."""
        stream = self.stream
        stream.push_state()
        self._trace(path)
        stream.clip()
        stream.end()
        stream.set_color_rgb(*rounded(gc.get_hatch_color()[:3]), stroke=True)
        stream.set_line_width(rcParams["hatch.linewidth"])
        box = path.get_extents()
        for across in range(int(box.x0 // _TILE), int(box.x1 // _TILE) + 1):
            for up in range(int(box.y0 // _TILE), int(box.y1 // _TILE) + 1):
                tile = Affine2D().translate(across, up).scale(_TILE)
                self._trace(tile.transform_path(gc.get_hatch_path()))
        stream.stroke()
        stream.pop_state()

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
        file = str(prop.get_file())
        if file not in self._fonts:
            self._fonts[file] = EmbeddedFont(file, f"F{len(self._fonts)}")
        font, size, turn = self._fonts[file], prop.get_size_in_points(), radians(angle)
        along, aside = round(cos(turn), 6), round(sin(turn), 6)
        stream, up = self.stream, 0.0
        stream.begin_text()
        stream.set_color_rgb(*rounded(gc.get_rgb()[:3]))
        stream.set_font_size(font.name, size)
        stream.set_text_matrix(along, aside, -aside, along, *rounded((x, y)))
        for rise, codes in font.codes(shaped(s, file)):
            if rise != up:
                stream.set_text_rise(round(rise * size / 1000, 3))
                up = rise
            stream.show_text(codes)
        if up:
            stream.set_text_rise(0)
        stream.end_text()
