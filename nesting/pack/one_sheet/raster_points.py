"""The coordinates at which cuts have to be looked for."""

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from functools import lru_cache
from math import prod

from nesting.pack.model.problem import Problem

#: The most cells of a table with pinwheels by which a bound may be proven (``checker/rectangle_value``).
_MOST_VERIFIED = 1_600
#: Of how many cells a table of several sheet sizes is so large that fewer points are worth looking for.
_MANY_CELLS = 100_000
#: The most cells of a table; more would be too slow.
_MOST_CELLS = 4_000_000


def cells_of(problem: Problem) -> int:
    """How many cells the dynamic programme's table has."""
    return prod(map(len, cut_points(problem)))


def may_tabulate(problem: Problem) -> bool:
    """Whether the dynamic programme's table is small enough to be worth it."""
    return cells_of(problem) <= _MOST_CELLS


def may_verify(problem: Problem) -> bool:
    """Whether the checker has the time for a table with pinwheels; for circles it has more points."""
    return not problem.has_groups and cells_of(problem) <= _MOST_VERIFIED


def cut_points(problem: Problem) -> tuple[list[int], list[int]]:
    """Coordinates along x and y, in units, from 0 up, that suffice for every guillotine pattern.

    Normal points are the sums of blank sizes (Herz 1972; Christofides and Whitlock 1977): every
    pattern can be pushed towards one corner until each cut lies on one. Where there is one size of
    sheet and no longest cut, the fewer raster points (Terno, Lindemann and Scheithauer 1987)
    suffice, unless cuts may stop; of several sizes, those of all, which are looked for where the normal
    points are many: sheets and blanks off any grid. With a longest cut the sheets' own sizes are added,
    as they decide whether the remainder can be trimmed off.
    """
    width = max(size.width for size in problem.sizes)
    height = max(size.height for size in problem.sizes)
    shapes = [shape for kind in problem.kinds for shape in kind.shapes]
    across = normal_points(frozenset(shape.width for shape in shapes), width)
    along = normal_points(frozenset(shape.height for shape in shapes), height)
    few = len(problem.sizes) == 1 or len(across) * len(along) > _MANY_CELLS
    if few and problem.longest is None and not problem.stopped:
        return (
            _raster(across, {size.width for size in problem.sizes}),
            _raster(along, {size.height for size in problem.sizes}),
        )
    ends = problem.sizes if problem.longest is not None else ()
    return (
        sorted({*across, *(size.width for size in ends)}),
        sorted({*along, *(size.height for size in ends)}),
    )


@lru_cache(maxsize=8)
def normal_points(lengths: frozenset[int], limit: int) -> tuple[int, ...]:
    """All sums of any number of the lengths, up to the limit, in order.

    Cached, as one paper's searches ask for the same ones.
    """
    points = {0}
    for length in lengths:
        fresh = points
        while fresh:
            fresh = {point + length for point in fresh if point + length <= limit} - points
            points = points | fresh
    return tuple(sorted(points))


def _raster(points: Sequence[int], limits: Iterable[int]) -> list[int]:
    """Raster points: for each ``limit - point``, the highest point not above it."""
    return sorted(
        {
            points[bisect_right(points, limit - point) - 1]
            for limit in limits
            for point in points[: bisect_right(points, limit)]
        }
    )
