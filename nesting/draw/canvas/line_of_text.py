"""One line of text as matplotlib draws it, without measuring it a second time.

Imports matplotlib as it is loaded; it is itself loaded only when something is drawn.
"""

from math import cos, radians, sin

from matplotlib.backend_bases import RendererBase
from matplotlib.colors import to_rgba
from matplotlib.text import Text

#: Of the width, how far the anchor lies from the left end.
_SHIFTS = {"left": 0.0, "center": 0.5, "right": 1.0}


class LineOfText(Text):
    """A line whose width is known: ``Text`` spends most of its time on measuring it again.

    ``width`` is in points, as the position is; the line is anchored on its baseline.
    """

    def __init__(self, *args: object, width: float, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type] # as Text
        self._width = width

    def draw(self, renderer: RendererBase) -> None:
        """Draw the line where its anchor and its width put it."""
        if not self.get_visible() or not self.get_text():
            return
        renderer.open_group("text", self.get_gid())
        angle = self.get_rotation()
        shift = _SHIFTS[self.get_horizontalalignment()] * self._width
        x, y = self.get_unitless_position()
        start = x - shift * cos(radians(angle)), y - shift * sin(radians(angle))
        x, y = self.get_transform().transform(start)
        if renderer.flipy():
            y = renderer.get_canvas_width_height()[1] - y
        gc = renderer.new_gc()
        gc.set_foreground(to_rgba(self.get_color()), isRGBA=True)
        renderer.draw_text(
            gc, x, y, self.get_text(), self.get_fontproperties(), angle, ismath=False, mtext=self
        )
        gc.restore()
        renderer.close_group("text")
        self.stale = False
