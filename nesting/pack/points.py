"""The places where cuts need to be looked for."""

from bisect import bisect_right

from nesting.pack.problem import Problem


def cut_points(problem: Problem) -> tuple[list[int], list[int]]:
    """Points along x and y, in units, from 0 up, that suffice for every guillotine layout.

    Normal points are the sums of blank sizes (Herz 1972; Christofides and Whitlock 1977): every
    layout can be pushed towards one corner until each cut lies on one. Where there is one size
    of sheet and no longest cut, the fewer raster points (Terno, Lindemann and Scheithauer 1987)
    suffice. With a longest cut the sheets' own sizes are points, too: whether what is over can be
    trimmed off depends on them.
    """
    width = max(size.width for size in problem.sizes)
    height = max(size.height for size in problem.sizes)
    shapes = [shape for kind in problem.kinds for shape in kind.shapes]
    across = normal_points({shape.width for shape in shapes}, width)
    along = normal_points({shape.height for shape in shapes}, height)
    if len(problem.sizes) == 1 and problem.longest is None:
        across, along = _raster(across, width), _raster(along, height)
    if problem.longest is not None:
        across = sorted({*across, *(size.width for size in problem.sizes)})
        along = sorted({*along, *(size.height for size in problem.sizes)})
    return across, along


def normal_points(lengths: set[int], limit: int) -> list[int]:
    """All sums of any number of the lengths, up to the limit, in order."""
    points = {0}
    for length in lengths:
        fresh = points
        while fresh:
            fresh = {point + length for point in fresh if point + length <= limit} - points
            points = points | fresh
    return sorted(points)


def _raster(points: list[int], limit: int) -> list[int]:
    """Of the points, the highest ones within each remainder ``limit - point``."""
    return sorted({points[bisect_right(points, limit - point) - 1] for point in points})
