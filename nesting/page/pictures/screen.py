"""A surface for the screen: SVG as text, in points, y up, drawn on like a printed page."""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from html import escape
from typing import Literal

from nesting.draw.canvas.palette import INK, WHITE, Colour
from nesting.draw.canvas.surface import Box, Dash

#: How far apart the lines of a hatch are, in points.
_HATCH = 7.0
_ANCHORS = {"center": "middle", "right": "end"}


class ScreenSurface:
    """A picture of ``width`` by ``height`` points; what is drawn later lies on top.

    All names in it are text: whatever is written is escaped. ``name`` is one that no other
    picture on the same page has.
    """

    def __init__(self, width: float, height: float, name: str = "") -> None:
        self.width = width
        self.height = height
        self._name = re.sub(r"[^0-9A-Za-z]", lambda found: f"-{ord(found[0]):x}", name)
        self._drawn: list[str] = []

    def svg(self, title: str, least_y: float = 0.0) -> str:
        """The picture down to a height, with its title: what a screen reader says of it."""
        width, height = _n(self.width), _n(self.height - least_y)
        return (
            '<svg xmlns="http://www.w3.org/2000/svg" class="picture" role="img" '
            f'width="{width}pt" height="{height}pt" viewBox="0 0 {width} {height}" '
            f'font-family="system-ui, sans-serif"><title>{escape(title)}</title>'
            f'<rect width="100%" height="100%" fill="{_colour(WHITE)}"/>'
            f"{''.join(self._drawn)}</svg>"
        )

    @contextmanager
    def group(self, **attributes: str) -> Iterator[None]:
        """What is drawn meanwhile is one group, with these attributes (``data_x`` is ``data-x``)."""
        self._element("g", attributes, end="")
        yield
        self._drawn.append("</g>")

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        *,
        bold: bool = False,
        align: Literal["left", "center", "right"] = "left",
        rotation: float = 0,
        colour: Colour = INK,
    ) -> None:
        """Write a line of text with its baseline at ``y``."""
        attributes = {"x": _n(x), "y": self._up(y), "font-size": _n(size), "fill": _colour(colour)}
        if bold:
            attributes["font-weight"] = "bold"
        if align != "left":
            attributes["text-anchor"] = _ANCHORS[align]
        if rotation:
            attributes["transform"] = f"rotate({_n(-rotation)} {_n(x)} {self._up(y)})"
        self._element("text", attributes, end=f"{escape(text)}</text>")

    def line(
        self,
        points: Sequence[tuple[float, float]],
        weight: float,
        *,
        dash: Dash = (),
        colour: Colour = INK,
    ) -> None:
        """Draw a line through points; ``dash`` is lengths of line and gap in turn."""
        attributes = {"points": self._points(points), "fill": "none"}
        self._element("polyline", attributes | _stroke(weight, colour, dash))

    def lines(
        self, lines: Iterable[Sequence[tuple[float, float]]], weight: float, colour: Colour
    ) -> None:
        """Draw many lines as one."""
        path = "".join(f"M{self._points(points)}" for points in lines)
        if path:
            self._element("path", {"d": path, "fill": "none"} | _stroke(weight, colour))

    def box(
        self,
        box: Box,
        *,
        fill: Colour | None = None,
        weight: float = 0,
        dash: Dash = (),
        colour: Colour = INK,
        hatch: Colour | None = None,
    ) -> None:
        """Draw a rectangle: filled, hatched, outlined, or more than one of these."""
        attributes = self._rectangle(box)
        inside = {"fill": "none" if fill is None else _colour(fill)}
        if hatch is not None:
            self._element("rect", attributes | inside)
            self.lines(_hatch(box), 0.6, hatch)
            inside = {"fill": "none"}
        if weight or hatch is None:
            self._element("rect", attributes | inside | _stroke(weight, colour, dash))

    def disc(
        self,
        centre: tuple[float, float],
        radius: float,
        *,
        fill: Colour | None = None,
        weight: float = 0,
    ) -> None:
        """Draw a circle."""
        attributes = {"cx": _n(centre[0]), "cy": self._up(centre[1]), "r": _n(radius)}
        inside = {"fill": "none" if fill is None else _colour(fill)}
        self._element("circle", attributes | inside | _stroke(weight, INK))

    def shape(
        self,
        corners: Sequence[tuple[float, float]],
        *,
        fill: Colour | None,
        weight: float = 0,
        dash: Dash = (),
    ) -> None:
        """Draw a closed shape with straight sides."""
        inside = {"fill": "none" if fill is None else _colour(fill)}
        attributes = {"points": self._points(corners)} | inside
        self._element("polygon", attributes | _stroke(weight, INK, dash))

    def photo(self, href: str, size: tuple[float, float], shown: Box, turns: int) -> None:
        """Draw the middle of a photo of that size, turned clockwise so many quarters, in a box."""
        (width, height), (x, y) = size, (shown.width / 2, shown.height / 2)
        self._element("svg", self._rectangle(shown), end="")
        image = {
            "href": href, "x": _n(x - width / 2), "y": _n(y - height / 2), "width": _n(width),
            "height": _n(height), "preserveAspectRatio": "none",
        }  # fmt: skip
        if turns:
            image["transform"] = f"rotate({90 * turns} {_n(x)} {_n(y)})"
        self._element("image", image)
        self._drawn.append("</svg>")

    @contextmanager
    def turned(self, centre: tuple[float, float], angle: int) -> Iterator[None]:
        """What is drawn meanwhile is turned clockwise about a point, by thousandths of a degree."""
        about = f"{_n(centre[0])} {self._up(centre[1])}"
        with self.group(transform=f"rotate({angle / 1000:g} {about})"):
            yield

    @contextmanager
    def cut_along(self, corners: Sequence[tuple[float, float]]) -> Iterator[None]:
        """Of what is drawn meanwhile only what lies in a shape is seen."""
        with self._cut_out(lambda: self.shape(corners, fill=None)):
            yield

    @contextmanager
    def cut_round(self, centre: tuple[float, float], radius: float) -> Iterator[None]:
        """Of what is drawn meanwhile only what lies in a disc is seen."""
        with self._cut_out(lambda: self.disc(centre, radius)):
            yield

    @contextmanager
    def _cut_out(self, draw: Callable[[], None]) -> Iterator[None]:
        """Of what is drawn meanwhile only what lies in what is drawn first is seen."""
        name = f"disc-{len(self._drawn)}-{self._name}"
        self._element("clipPath", {"id": name}, end="")
        draw()
        self._drawn.append("</clipPath>")
        with self.group(clip_path=f"url(#{name})"):
            yield

    def _element(self, name: str, attributes: dict[str, str], *, end: str | None = None) -> None:
        written = "".join(
            f' {key.replace("_", "-")}="{escape(value)}"' for key, value in attributes.items()
        )
        self._drawn.append(f"<{name}{written}/>" if end is None else f"<{name}{written}>{end}")

    def _rectangle(self, box: Box) -> dict[str, str]:
        return {
            "x": _n(box.x), "y": self._up(box.top), "width": _n(box.width), "height": _n(box.height),
        }  # fmt: skip

    def _up(self, y: float) -> str:
        return _n(self.height - y)

    def _points(self, points: Sequence[tuple[float, float]]) -> str:
        return " ".join(f"{_n(x)},{self._up(y)}" for x, y in points)


def _hatch(box: Box) -> Iterator[tuple[tuple[float, float], tuple[float, float]]]:
    """Both ends of each line of a hatch rising to the right, cut off at the box.

    Drawn line by line: a pattern would need a name that no other picture of the page has.
    """
    along = _HATCH / 2
    while along < box.width + box.height:
        low, high = max(0.0, along - box.height), min(along, box.width)
        yield (box.x + low, box.top - along + low), (box.x + high, box.top - along + high)
        along += _HATCH


def _stroke(weight: float, colour: Colour, dash: Dash = ()) -> dict[str, str]:
    """The attributes of an outline; none where it has no weight."""
    if not weight:
        return {}
    attributes = {"stroke": _colour(colour), "stroke-width": _n(weight)}
    if dash:
        attributes["stroke-dasharray"] = " ".join(map(_n, dash))
    return attributes


def _n(value: float) -> str:
    """A number of points to two decimals, as short as it goes."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _colour(colour: Colour) -> str:
    red, green, blue = (round(255 * part) for part in colour)
    return f"#{red:02x}{green:02x}{blue:02x}"
