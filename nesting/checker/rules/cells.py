"""The largest rectangle of a layer that is hidden and free to be cut out, cell by cell."""

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

from nesting.arrays import Whole
from nesting.checker.asked.places import Shape

#: Cells between the marks, by rows from the bottom: whether each may be cut out.
Cells = npt.NDArray[np.bool_]


def largest_within(
    host: Shape,
    bounds: Sequence[Shape],
    lying: Sequence[Shape],
    inners: Sequence[Shape | None],
    marks: int,
) -> set[tuple[int, int]]:
    """Width and height of the largest rectangles that may be cut out of a host; none, where there is none.

    Each lies inside all ``bounds`` and inside one of ``inners``, which are the shapes ``lying`` on the
    host without their glue lap; of every other, it lies inside as well, or beside the whole shape.
    """
    best, largest = 1, set[tuple[int, int]]()
    x, y = (
        _lines(low, length, marks) for low, length in ((host.x, host.width), (host.y, host.height))
    )
    for number, under in enumerate(inners):
        if under is None or len(x) < 2 or len(y) < 2:
            continue
        free = np.logical_and.reduce([_cells_inside(x, y, one) for one in (under, *bounds)])
        for n, (shape, inner) in enumerate(zip(lying, inners, strict=True)):
            if n != number:
                beside = _cells_beside(x, y, shape)
                free &= beside if inner is None else beside | _cells_inside(x, y, inner)
        for width, height in _rectangles(free):
            if width * height > best:
                best, largest = width * height, set()
            if width * height == best:
                largest.add((width * marks, height * marks))
    return largest


def _lines(low: int, length: int, marks: int) -> Whole:
    """The marks of a ruler laid along a side."""
    return low + marks * np.arange(length // marks + 1, dtype=np.int64)


def _cells_inside(x: Whole, y: Whole, shape: Shape) -> Cells:
    """Which cells between the marks lie inside a shape, by rows from the bottom."""
    if not shape.is_round:
        across = (x[:-1] >= shape.x) & (x[1:] <= shape.x + shape.width)
        along = (y[:-1] >= shape.y) & (y[1:] <= shape.y + shape.height)
        return along[:, None] & across[None, :]
    far = [
        np.maximum(np.abs(2 * line[:-1] - middle), np.abs(2 * line[1:] - middle)) ** 2
        for line, middle in _doubled(x, y, shape)
    ]
    inside: Cells = far[1][:, None] + far[0][None, :] <= shape.width**2
    return inside


def _cells_beside(x: Whole, y: Whole, shape: Shape) -> Cells:
    """Which cells have nothing of the inside of a shape."""
    if not shape.is_round:
        across = (x[1:] <= shape.x) | (x[:-1] >= shape.x + shape.width)
        along = (y[1:] <= shape.y) | (y[:-1] >= shape.y + shape.height)
        return along[:, None] | across[None, :]
    near = [
        np.maximum(np.maximum(2 * line[:-1] - middle, middle - 2 * line[1:]), 0) ** 2
        for line, middle in _doubled(x, y, shape)
    ]
    beside: Cells = near[1][:, None] + near[0][None, :] >= shape.width**2
    return beside


def _doubled(x: Whole, y: Whole, disc: Shape) -> tuple[tuple[Whole, int], tuple[Whole, int]]:
    """The marks of both sides, each with the middle of a disc, which is given twice to be whole."""
    return (x, 2 * disc.x + disc.width), (y, 2 * disc.y + disc.width)


def _rectangles(free: Cells) -> Iterator[tuple[int, int]]:
    """Width and height of every rectangle of free cells that cannot grow where it stands on its row.

    Row by row, over the heights of free cells that end there, with a stack of rising heights.
    """
    heights = np.zeros(free.shape[1], dtype=np.int64)
    for row in free:
        heights = np.where(row, heights + 1, 0)
        if not row.any():
            continue
        rising: list[tuple[int, int]] = []  # where each height begins
        for at, height in enumerate((*heights.tolist(), 0)):
            start = at
            while rising and rising[-1][1] > height:
                start, tall = rising.pop()
                yield at - start, tall
            if height and (not rising or rising[-1][1] < height):
                rising.append((start, height))
