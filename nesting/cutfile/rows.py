"""Circles of one size in rows, square and staggered."""

from collections.abc import Iterator
from itertools import pairwise
from math import isqrt

XY = tuple[int, int]
#: Corners of the squares round the circles, row after row from below.
_Rows = list[list[XY]]


def best_rows(width: int, height: int, diameter: int, gap: int, most: int) -> list[XY]:
    """Lay circles in rows, as many as fit and are wanted, on as little height as they take.

    Parameters
    ----------
    width, height
        Of the rectangle to fill, in nm.
    diameter
        Of the circles, in nm, an even number.
    gap
        Least distance between two circles, in nm.
    most
        How many are wanted.

    Returns
    -------
    list
        The lower left corners of the squares round them, in nm.

    Notes
    -----
    Tried are square rows and staggered rows: neighbouring rows shifted by half the distance in a
    row, either all rows of n, or n and n - 1 in turn. Where the width is not used up, the
    circles of a row are moved apart, which lets the rows move closer. The best arrangements known
    for some counts are better by up to a few percent.

    References
    ----------
    Graham, R. L. and Lubachevsky, B. D. (1996). "Repeated patterns of dense packings of equal
    disks in a square", Electronic Journal of Combinatorics 3, R16.

    Examples
    --------
    >>> len(best_rows(120, 120, 20, 0, 99)), len(best_rows(120, 120, 10, 0, 999))
    (36, 150)
    """
    found: list[XY] = []
    least: tuple[int, int] | None = None
    for rows in _all_rows(width, height, diameter, gap):
        points = [point for row in rows for point in row][:most]
        if points and (least is None or (-len(points), points[-1][1]) < least):
            found, least = points, (-len(points), points[-1][1])
    return found


def _all_rows(width: int, height: int, diameter: int, gap: int) -> Iterator[_Rows]:
    """Every arrangement that is tried."""
    apart, free_x, free_y = diameter + gap, width - diameter, height - diameter
    if free_x < 0 or free_y < 0:
        return
    xs = range(0, free_x + 1, apart)
    yield [[(x, y) for x in xs] for y in range(0, free_y + 1, apart)]
    for count in (len(xs), len(xs) - 1):
        for halves in (2 * count - 1, 2 * count - 2):  # half distances from one end to the other
            if count and halves and 2 * free_x >= apart * halves * (count > 1):
                yield _staggered(free_x, free_y, apart, halves)


def _staggered(free_x: int, free_y: int, apart: int, halves: int) -> _Rows:
    """Rows on every even and on every odd half distance, as close as they can be."""
    places = [number * free_x // halves for number in range(halves + 1)]
    across = min(after - before for before, after in pairwise(places))
    # Apart are circles of rows next to each other, and those of every other row, which stand in a line.
    rise = max(_root_above(apart**2 - across**2), (apart + 1) // 2)
    starts = range(0, free_y + 1, rise)
    return [[(x, y) for x in places[number % 2 :: 2]] for number, y in enumerate(starts)]


def _root_above(square: int) -> int:
    """The square root rounded up, 0 of what is below zero."""
    return isqrt(square - 1) + 1 if square > 0 else 0
