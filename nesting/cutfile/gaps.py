"""Circles in the gaps between what lies there already."""

import heapq
from collections.abc import Iterator
from itertools import combinations
from math import isqrt, sqrt

from nesting.cutfile.shapes import Shape

Point = tuple[int, int]
#: Where the middle of a circle may not be: within so far of a point, or strictly in a rectangle
#: (left, low, right, top).
_Ban = tuple[int, int, int] | tuple[int, int, int, int]


def circles_in_gaps(
    shapes: list[Shape], width: int, height: int, diameter: int, gap: int, most: int
) -> list[Point]:
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
    bans = [_ban(shape, radius, gap) for shape in shapes]
    todo = [(y, x) for x, y in _corners(inner)]
    for ban in bans:
        todo.extend((y, x) for x, y in _crossings(inner, ban))
    for one, other in combinations(bans, 2):
        todo.extend((y, x) for x, y in _crossings(one, other))
    heapq.heapify(todo)
    found: list[Point] = []
    while todo and len(found) < most:
        y, x = heapq.heappop(todo)
        if not _within(x, y, inner) or any(_banned(x, y, ban) for ban in bans):
            continue
        found.append((x - radius, y - radius))
        new = (x, y, diameter + gap)
        for other in (inner, *bans):
            for cx, cy in _crossings(new, other):
                heapq.heappush(todo, (cy, cx))
        bans.append(new)
    return found


def _ban(shape: Shape, radius: int, gap: int) -> _Ban:
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


def _corners(rect: tuple[int, int, int, int]) -> Iterator[Point]:
    yield from ((x, y) for x in rect[::2] for y in rect[1::2])


def _crossings(one: _Ban, other: _Ban) -> Iterator[Point]:
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
) -> Iterator[Point]:
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


def _of_circles(one: tuple[int, int, int], other: tuple[int, int, int]) -> Iterator[Point]:
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
