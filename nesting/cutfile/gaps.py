"""Circles in the gaps between what lies there already."""

import heapq
from collections.abc import Iterator
from math import isqrt, sqrt

from nesting.cutfile.rows import XY
from nesting.cutfile.shapes import PlacedPiece

#: Where the middle of a circle may not be: within so far of a point, or strictly in a rectangle
#: (left, low, right, top).
_Ban = tuple[int, int, int] | tuple[int, int, int, int]


def circles_in_gaps(
    shapes: list[PlacedPiece], width: int, height: int, diameter: int, gap: int, most: int
) -> list[XY]:
    """Put circles where they touch two others, an edge, or a rectangle: the lowest place first.

    Parameters
    ----------
    shapes
        What lies on the rectangle already.
    width, height
        Of the rectangle, in nm.
    diameter
        Of the circles to add, in nm, an even number.
    gap
        Least distance to each shape and to each other, in nm.
    most
        How many are wanted.

    Returns
    -------
    list
        The lower left corners of the squares round them, in nm.

    Notes
    -----
    A place that can be moved neither down nor left is where the borders of two bans on the
    circle's middle cross, so those crossings are all that is looked at. They are rounded; whether
    one will do is decided in whole numbers.
    """
    radius = diameter // 2
    if min(width, height) < diameter or not most:
        return []
    inner = (radius, radius, width - radius, height - radius)
    field = _Field(diameter + gap)
    todo = [(y, x) for x, y in _corners(inner)]
    for shape in shapes:
        todo.extend(field.add(_ban(shape, radius, gap), inner))
    heapq.heapify(todo)
    found: list[XY] = []
    while todo and len(found) < most:
        y, x = heapq.heappop(todo)
        if _within(x, y, inner) and field.is_free(x, y):
            found.append((x - radius, y - radius))
            for place in field.add((x, y, diameter + gap), inner):
                heapq.heappush(todo, place)
    return found


class _Field:
    """Bans by the squares of a grid that they reach into: only those close by are looked at."""

    def __init__(self, pitch: int) -> None:
        self._pitch = pitch
        self._squares: dict[tuple[int, int], list[_Ban]] = {}

    def add(self, ban: _Ban, inner: tuple[int, int, int, int]) -> Iterator[tuple[int, int]]:
        """Add a ban; where its border crosses that of the inside and of others, as y and x."""
        squares = list(self._reached(ban, inner))
        close = {other: None for square in squares for other in self._squares.get(square, ())}
        for square in squares:
            self._squares.setdefault(square, []).append(ban)
        for other in (inner, *close):
            for x, y in _crossings(ban, other):
                if _within(x, y, inner):
                    yield y, x

    def is_free(self, x: int, y: int) -> bool:
        """Whether no ban holds at a point."""
        square = self._squares.get((x // self._pitch, y // self._pitch), ())
        return not any(_banned(x, y, ban) for ban in square)

    def _reached(self, ban: _Ban, inner: tuple[int, int, int, int]) -> Iterator[tuple[int, int]]:
        """The squares that a ban reaches into, as far as they lie inside."""
        left, low, right, top = ban if len(ban) == 4 else _bounds(ban)
        columns = range(max(left, inner[0]) // self._pitch, min(right, inner[2]) // self._pitch + 1)
        rows = range(max(low, inner[1]) // self._pitch, min(top, inner[3]) // self._pitch + 1)
        yield from ((column, row) for column in columns for row in rows)


def _bounds(circle: tuple[int, int, int]) -> tuple[int, int, int, int]:
    x, y, apart = circle
    return x - apart, y - apart, x + apart, y + apart


def _ban(shape: PlacedPiece, radius: int, gap: int) -> _Ban:
    """Where the middle of a circle may not be because of a shape; a rectangle's corners stay sharp."""
    if shape.is_round:
        return (*shape.centre, shape.width // 2 + radius + gap)
    off = radius + gap
    return (shape.x - off, shape.y - off, shape.x + shape.width + off, shape.y + shape.height + off)


def _within(x: int, y: int, inner: tuple[int, int, int, int]) -> bool:
    return inner[0] <= x <= inner[2] and inner[1] <= y <= inner[3]


def _banned(x: int, y: int, ban: _Ban) -> bool:
    if len(ban) == 3:
        cx, cy, apart = ban
        dx, dy = x - cx, y - cy
        return dx * dx + dy * dy < apart * apart
    return ban[0] < x < ban[2] and ban[1] < y < ban[3]


def _corners(rect: tuple[int, int, int, int]) -> Iterator[XY]:
    yield from ((x, y) for x in rect[::2] for y in rect[1::2])


def _crossings(one: _Ban, other: _Ban) -> Iterator[XY]:
    """Where two borders cross, just outside both."""
    if len(one) == 3 and len(other) == 3:
        yield from _of_circles(one, other)
    elif len(one) == 3 and len(other) == 4:
        yield from _of_circle_and_sides(one, other)
    elif len(one) == 4 and len(other) == 3:
        yield from _of_circle_and_sides(other, one)
    elif len(one) == 4 and len(other) == 4:
        for first, second in ((one, other), (other, one)):
            yield from ((x, y) for x in first[::2] for y in second[1::2])


def _of_circle_and_sides(
    circle: tuple[int, int, int], rect: tuple[int, int, int, int]
) -> Iterator[XY]:
    """On the lines of a rectangle's sides: exact along one axis, outwards by 1 nm along the other."""
    cx, cy, apart = circle
    for x in rect[::2]:
        square = apart * apart - (x - cx) ** 2
        if square >= 0:
            off = isqrt(square) + 1
            yield from ((x, y) for y in {cy - off, cy + off, cy - off + 1, cy + off - 1})
    for y in rect[1::2]:
        square = apart * apart - (y - cy) ** 2
        if square >= 0:
            off = isqrt(square) + 1
            yield from ((x, y) for x in {cx - off, cx + off, cx - off + 1, cx + off - 1})


def _of_circles(one: tuple[int, int, int], other: tuple[int, int, int]) -> Iterator[XY]:
    """The two crossings of two circles, each drawn 2 nm larger, so that rounding stays outside."""
    dx, dy = other[0] - one[0], other[1] - one[1]
    first, second = one[2] + 2, other[2] + 2
    square = dx * dx + dy * dy
    if not square or square > (first + second) ** 2 or square < (first - second) ** 2:
        return
    distance = sqrt(square)
    along = (square + first * first - second * second) / (2 * distance)
    aside = sqrt(max(0.0, first * first - along * along))
    for way in (aside, -aside):
        x = one[0] + (along * dx - way * dy) / distance
        y = one[1] + (along * dy + way * dx) / distance
        yield round(x), round(y)
