"""What a list of nearly full sheets says about the next: the least waste in each cell, and beside it.

Compiled as ``compile_loop`` says.
"""

import numpy as np

from nesting.arrays import Records, Whole
from nesting.pack.kernels.compiled import compile_loop, compile_making_arrays
from nesting.pack.kernels.near_full_loop import Lengths

#: The two tables of what is known: of a cell that blanks fill, and of the rest of the sheet beside it.
INSIDE, BESIDE = 0, 1


@compile_making_arrays
def learn_waste(
    cells: Records, x: Lengths, y: Lengths, known: Whole, over: int, whole: int
) -> None:
    """Raise the least waste inside and beside each cell by what a complete list shows.

    A cell's blocks waste no less than the best that is listed, or more than the list allowed. What
    is learned holds for any part of the demand and any ``over``. ``whole`` is the area of the sheet.
    """
    nx, ny = cells.shape
    beyond = over + 1  # more is not known of any cell
    inside, beside = known[INSIDE], known[BESIDE]
    padded_x, padded_y = np.full((nx, ny), beyond), np.full((nx, ny), beyond)
    for i in range(1, nx):
        for j in range(1, ny):
            wide, high = x.lengths[i], y.lengths[j]
            least = wide * high - max(cells[i, j].most, cells[i, j].least - 1)
            inside[i, j] = max(inside[i, j], min(beyond, least))
            padded_x[i, j] = min(
                inside[i, j], padded_x[i, j - 1] + wide * (high - y.lengths[j - 1])
            )
            padded_y[i, j] = min(
                inside[i, j], padded_y[i - 1, j] + high * (wide - x.lengths[i - 1])
            )
    for i in range(nx - 1, 0, -1):
        for j in range(ny - 1, 0, -1):
            least = min(beyond, whole - x.lengths[i] * y.lengths[j])
            least = _least_joined(x, y, i, j, padded_x, beside, least)
            least = _least_joined(y, x, j, i, padded_y.T, beside.T, least)
            beside[i, j] = max(beside[i, j], least)


@compile_loop
def _least_joined(
    along: Lengths, across: Lengths, i: int, j: int, padded: Whole, beside: Whole, least: int
) -> int:
    """The least waste beside a cell if it is joined with another along an axis, if that is less.

    Either of the two may be the shorter one across that axis.
    """
    length, high = along.lengths[i], across.lengths[j]
    for higher in range(j, len(across.lengths)):
        lost = (across.lengths[higher] - high) * length
        if lost >= least:
            break
        for other in range(1, len(along.lengths)):
            both = length + along.lengths[other]
            if both > along.lengths[-1]:
                break
            to = along.at[both]
            if to:
                least = min(least, lost + padded[other, higher] + beside[to, higher])
    return least
