"""A layer laid aslant: what is seen of it, how far it reaches, and two marks to lay it by.

A strip has only a height or only a width, and runs across all of what it lies on. Sines and cosines
are no whole numbers: what is handed on is rounded to nanometres, and millions of them are left to trim.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import cos, floor, hypot, pi, radians, sin, sqrt
from typing import NamedTuple

from nesting.batch import Layer
from nesting.papers import Edge, Edges

#: In nm, from the card's lower left corner.
Point = tuple[int, int]
_Exact = tuple[float, float]

#: Added before rounding down. Sums here are off by far less than a millionth of a nanometre, and none
#: ends in 7/10 of one: so the checker, which sums in another way, rounds to the same.
_ROUNDING = 0.3
#: Corners of the shape that is taken for a disc, all on its edge: what is seen is never made larger.
_ROUND = 240


@dataclass(frozen=True, slots=True)
class Ground:
    """What a layer lies on: a rectangle, or the disc in a square, in nm from the card's corner."""

    x: int
    y: int
    width: int
    height: int
    is_round: bool

    @property
    def corners(self) -> tuple[Point, ...]:
        """Its corners, or those of the square round the disc."""
        right, top = self.x + self.width, self.y + self.height
        return (self.x, self.y), (right, self.y), (right, top), (self.x, top)

    @property
    def middle(self) -> _Exact:
        """Its middle."""
        return self.x + self.width / 2, self.y + self.height / 2

    @property
    def outline(self) -> Sequence[_Exact]:
        """Its corners, or points on the edge of the disc."""
        if not self.is_round:
            return self.corners
        (x, y), radius = self.middle, self.width / 2
        turns = (2 * pi * number / _ROUND for number in range(_ROUND))
        return [(x + radius * cos(turn), y + radius * sin(turn)) for turn in turns]


@dataclass(frozen=True, slots=True)
class Slant:
    """How a layer lies aslant.

    ``centre`` is the place that was asked for, ``middle`` that of what is seen along it. ``outline``
    has the corners of what is seen, ``whole`` those of all of it laid flat, with what goes behind.
    A ``strip`` has its ``reach`` from end to end of what it lies on; what has its size has its
    length. One ``edge`` of it, named as it is seen, runs through both ``marks``, which lie on the
    edge of what it lies on; a layer that neither of its long edges crosses has none.
    """

    strip: bool
    centre: Point
    middle: Point
    reach: int
    outline: tuple[Point, ...]
    whole: tuple[Point, ...]
    edge: Edge
    marks: tuple[Point, ...]

    @property
    def ends(self) -> tuple[Point, Point]:
        """Both ends of its middle line, laid flat."""
        (x, y), (to_x, to_y), (over_x, over_y), (back_x, back_y) = self.whole
        return ((x + back_x) // 2, (y + back_y) // 2), ((to_x + over_x) // 2, (to_y + over_y) // 2)


class _Frame(NamedTuple):
    """Directions along a layer and up from its middle line, from its centre."""

    centre: _Exact
    along: _Exact
    aside: _Exact

    def inside(self, point: _Exact) -> _Exact:
        """How far along and how far aside a point of the card lies."""
        x, y = point[0] - self.centre[0], point[1] - self.centre[1]
        return (
            x * self.along[0] + y * self.along[1],
            x * self.aside[0] + y * self.aside[1],
        )

    def on_card(self, along: float, aside: float) -> Point:
        """The point of the card that lies so far along and aside."""
        return (
            round(self.centre[0] + along * self.along[0] + aside * self.aside[0]),
            round(self.centre[1] + along * self.along[1] + aside * self.aside[1]),
        )

    def shape(self, points: Sequence[_Exact]) -> tuple[Point, ...]:
        """Corners on the card, each once."""
        return tuple(dict.fromkeys(self.on_card(*point) for point in points))


def is_strip(layer: Layer) -> bool:
    """Whether it runs across all of what it lies on, its length being worked out."""
    return (layer.width is None) != (layer.height is None)


def ends_behind(strip: Layer) -> tuple[int, int]:
    """How much of a strip is folded behind at its low end, left or bottom, and at its high one."""
    wrap = strip.wrap
    if not isinstance(wrap, Edges):
        return wrap, wrap
    return (wrap.left, wrap.right) if strip.width is None else (wrap.bottom, wrap.top)


def lay_aslant(layer: Layer, ground: Ground, centre: _Exact) -> Slant | None:
    """Lay a layer that has an angle on what it lies on, its middle line through ``centre``.

    None where it is a strip that misses what it lies on.
    """
    turn = radians(layer.angle / 1000)
    right, up = (cos(turn), -sin(turn)), (sin(turn), cos(turn))
    across = layer.height is not None
    frame = _Frame(centre, right, up) if across else _Frame(centre, up, right)
    half = ((layer.height if across else layer.width) or 0) / 2
    if not is_strip(layer):
        low, high = -(layer.width or 0) / 2, (layer.width or 0) / 2
        shown = whole = _rectangle(low, high, half)
        reach = layer.width or 0
    else:
        shown = band(list(map(frame.inside, ground.outline)), half)
        ends = _ends(frame, ground, half)
        if ends is None or len(frame.shape(shown)) < 3:
            return None
        low, high = ends
        reach = floor(high - low + _ROUNDING)
        before, after = ends_behind(layer)
        whole = _rectangle(low - before, high + after, half)
    aside, marks = max(
        ((aside, _crossing(frame, ground, aside)) for aside in (half, -half)),
        key=lambda found: _apart(found[1]),
    )
    return Slant(
        strip=is_strip(layer),
        centre=frame.on_card(0, 0),
        middle=frame.on_card((low + high) / 2, 0),
        reach=reach,
        outline=frame.shape(shown),
        whole=frame.shape(whole),
        edge=_seen_edge(frame.aside, aside),
        marks=marks,
    )


def box_round(corners: Sequence[Point]) -> tuple[int, int, int, int]:
    """The upright rectangle round a shape: its lower left corner, width and height."""
    x, y = (min(corner[axis] for corner in corners) for axis in (0, 1))
    right, top = (max(corner[axis] for corner in corners) for axis in (0, 1))
    return x, y, right - x, top - y


def _rectangle(low: float, high: float, half: float) -> list[_Exact]:
    return [(low, -half), (high, -half), (high, half), (low, half)]


def band(corners: Sequence[_Exact], half: float) -> list[_Exact]:
    """What of a convex shape lies between two lines aside of the middle, by its corners.

    References
    ----------
    Sutherland, I. E. and Hodgman, G. W. (1974): Reentrant polygon clipping.
    """
    for sign in (1, -1):
        kept: list[_Exact] = []
        for here, there in pairwise([*corners, *corners[:1]]):
            inside, goes_inside = sign * here[1] <= half, sign * there[1] <= half
            if inside:
                kept.append(here)
            if inside != goes_inside:
                part = (sign * half - here[1]) / (there[1] - here[1])
                kept.append((here[0] + part * (there[0] - here[0]), sign * half))
        corners = kept
    return list(corners)


def _ends(frame: _Frame, ground: Ground, half: float) -> tuple[float, float] | None:
    """How far along a strip reaches both ways to cover all that is below it; None where nothing is."""
    if not ground.is_round:
        along = [point[0] for point in band(list(map(frame.inside, ground.corners)), half)]
        return (min(along), max(along)) if along else None
    _, aside = frame.inside(ground.middle)
    return _chord(frame, ground, min(max(aside, -half), half))


def _chord(frame: _Frame, ground: Ground, aside: float) -> tuple[float, float] | None:
    """From where to where along it a line aside of the middle lies on a disc."""
    along, off = frame.inside(ground.middle)
    squared = (ground.width / 2) ** 2 - (aside - off) ** 2
    if squared <= 0:
        return None
    return along - sqrt(squared), along + sqrt(squared)


def _crossing(frame: _Frame, ground: Ground, aside: float) -> tuple[Point, ...]:
    """Where a line aside of the middle crosses the edge of what a layer lies on: two points, or none."""
    if ground.is_round:
        chord = _chord(frame, ground, aside)
        points = {frame.on_card(along, aside) for along in chord} if chord else set()
    else:
        corners = ground.corners
        points = set(_crossings(frame, [*corners, corners[0]], aside))
    marks = tuple(sorted(points))
    return (marks[0], marks[-1]) if len(marks) > 1 else ()


def _crossings(frame: _Frame, corners: Sequence[Point], aside: float) -> Iterator[Point]:
    """Every point of the sides of a rectangle at which the line crosses them."""
    for here, there in pairwise(corners):
        off, goes_off = frame.inside(here)[1] - aside, frame.inside(there)[1] - aside
        if off * goes_off <= 0 and off != goes_off:
            part = off / (off - goes_off)
            yield (
                round(here[0] + part * (there[0] - here[0])),
                round(here[1] + part * (there[1] - here[1])),
            )


def _apart(marks: tuple[Point, ...]) -> float:
    """How far two marks are from each other: the farther, the truer a layer is laid by them."""
    if not marks:
        return 0.0
    (x, y), (to_x, to_y) = marks
    return hypot(to_x - x, to_y - y)


def _seen_edge(aside: _Exact, sign: float) -> Edge:
    """Which of its edges a long edge is as it is seen: that to which it faces most."""
    x, y = (aside[0], aside[1]) if sign > 0 else (-aside[0], -aside[1])
    if abs(x) > abs(y):
        return "right" if x > 0 else "left"
    return "top" if y > 0 else "bottom"
