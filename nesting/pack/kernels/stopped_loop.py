"""The dynamic programme with pinwheels, cell by cell."""

import numpy as np

from nesting.arrays import Whole
from nesting.pack.kernels.compiled import Cuts, compile_loop, compile_making_arrays


@compile_making_arrays
def fill_stopped(
    table: Whole,
    cuts: Cuts,
    rest_x: Whole,
    rest_y: Whole,
    row: int,
) -> None:
    """Fill a row of the table with edge-to-edge cuts and pinwheels (see ``value_table``).

    Earlier rows are filled already. ``rest_x[i, a]`` is the point of what point ``i`` leaves beside
    point ``a``.
    """
    splits_x, starts_x, splits_y, starts_y, _, _ = cuts
    low = np.zeros(table.shape[1], dtype=np.int64)
    high = np.zeros(table.shape[1], dtype=np.int64)
    for j in range(1, table.shape[1]):
        best = max(table[row, j], table[row - 1, j], table[row, j - 1])
        for k in range(starts_x[row], starts_x[row + 1]):
            best = max(best, table[splits_x[0, k], j] + table[splits_x[1, k], j])
        for k in range(starts_y[j], starts_y[j + 1]):
            best = max(best, table[row, splits_y[0, k]] + table[row, splits_y[1, k]])
        for b in range(2, row):
            for a in range(1, b):
                across = (a, b, rest_x[row, a], rest_x[row, b], rest_x[b, a])
                best = best_pinwheel(table, across, rest_y, j, best, low, high)
        table[row, j] = best


@compile_loop
def best_pinwheel(
    table: Whole,
    across: tuple[int, int, int, int, int],
    rest_y: Whole,
    j: int,
    best: int,
    low: Whole,
    high: Whole,
) -> int:
    """The most value of a pinwheel with two lines along x given, or ``best`` if that is more.

    Its other lines are ``c`` and ``d``. What the arms at the bottom and on the left hold depends on
    ``c`` alone, what those on the right and at the top hold on ``d``: so most are ruled out by the
    largest of each.
    """
    a, b, top, right, centre = across
    most_low = most_high = 0
    for c in range(1, j):
        low[c] = table[b, c] + table[a, rest_y[j, c]]
        high[c] = table[right, c] + table[top, rest_y[j, c]]
        most_low = max(most_low, low[c])
        most_high = max(most_high, high[c])
    if most_low + most_high + table[centre, j] <= best:
        return best
    for d in range(2, j):
        if most_low + high[d] + table[centre, d] > best:
            for c in range(1, d):
                best = max(best, low[c] + high[d] + table[centre, rest_y[d, c]])
    return best
