"""The dynamic programme with some kinds counted. Compiled as ``compile_loop`` says."""

import numpy as np

from nesting.arrays import Whole
from nesting.pack.kernels.compiled import Cuts, compile_loop, compile_making_arrays


@compile_loop
def fill_counted(
    tables: Whole,
    sideways: Whole,
    shares: Whole,
    starts: Whole,
    cuts: Cuts,
    first: int,
    beyond: int,
) -> None:
    """Fill a table for each stock of the counted kinds, by the recursion of ``fill_table``.

    A cut shares a stock between two parts: ``shares[0]`` and ``shares[1]`` have the two stocks, from
    ``starts[n]`` to ``starts[n + 1]`` those of stock ``n``. The other parameters are those of
    ``fill_table``, with a table and its transpose for each stock.
    """
    splits_x, starts_x, splits_y, starts_y, open_x, open_y = cuts
    for i in range(first, beyond):
        for j in range(1, sideways.shape[1]):
            for n in range(len(tables)):
                best = tables[n, i, j]
                if j < open_x:
                    best = max(best, tables[n, i - 1, j])
                    begin, end = starts_x[i], starts_x[i + 1]
                    best = _cut(best, sideways, j, n, splits_x, begin, end, shares, starts)
                if i < open_y:
                    best = max(best, tables[n, i, j - 1])
                    begin, end = starts_y[j], starts_y[j + 1]
                    best = _cut(best, tables, i, n, splits_y, begin, end, shares, starts)
                tables[n, i, j] = best
                sideways[n, j, i] = best


@compile_loop
def _cut(
    best: int,
    tables: Whole,
    row: int,
    n: int,
    splits: Whole,
    begin: int,
    end: int,
    shares: Whole,
    starts: Whole,
) -> int:
    """The most that two parts in a row can hold of stock ``n``, if it is more than the best so far."""
    for k in range(begin, end):
        low, high = splits[0, k], splits[1, k]
        most = tables[n, row, low] + tables[n, row, high]
        if most > best:  # else no share of it is worth more
            for share in range(starts[n], starts[n + 1]):
                one, two = shares[0, share], shares[1, share]
                best = max(best, tables[one, row, low] + tables[two, row, high])
                if best == most:
                    break
    return best


@compile_making_arrays
def fill_outside(tables: Whole, shares: Whole, starts: Whole, cuts: Cuts) -> Whole:
    """For each stock and cell, the most value that the rest of the largest sheet can hold beside it.

    What can lie outside a part is what can lie outside the whole, and what the other part holds.
    Negative for a cell that is part of no division of the sheet.
    """
    splits_x, starts_x, splits_y, starts_y, _, _ = cuts
    outside = np.full_like(tables, -1)
    outside[:, -1, -1] = 0
    for i in range(tables.shape[1] - 1, 0, -1):
        for j in range(tables.shape[2] - 1, 0, -1):
            if outside[-1, i, j] < 0:
                continue
            beyond = outside[:, i, j].copy()
            for n in range(len(tables)):
                outside[n, i - 1, j] = max(outside[n, i - 1, j], beyond[n])
                outside[n, i, j - 1] = max(outside[n, i, j - 1], beyond[n])
                pairs = splits_x[:, starts_x[i] : starts_x[i + 1]]
                _spread(outside[:, :, j], beyond, tables[:, :, j], n, pairs, shares, starts)
                pairs = splits_y[:, starts_y[j] : starts_y[j + 1]]
                _spread(outside[:, i], beyond, tables[:, i], n, pairs, shares, starts)
    return outside


@compile_loop
def _spread(
    outside: Whole,
    beyond: Whole,
    inside: Whole,
    n: int,
    pairs: Whole,
    shares: Whole,
    starts: Whole,
) -> None:
    """Raise what can lie outside the parts of a cell, with ``beyond`` outside it, of stock ``n``."""
    for k in range(pairs.shape[1]):
        low, high = pairs[0, k], pairs[1, k]
        for part, other in ((low, high), (high, low)):
            best, most = outside[n, part], beyond[n] + inside[n, other]
            if most > best:
                for share in range(starts[n], starts[n + 1]):
                    one, two = shares[0, share], shares[1, share]
                    best = max(best, beyond[one] + inside[two, other])
                    if best == most:
                        break
                outside[n, part] = best
