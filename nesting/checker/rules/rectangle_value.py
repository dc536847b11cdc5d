"""The most value that cuts can get out of a rectangle, in whole numbers."""

from collections.abc import Mapping
from math import gcd

import numpy as np
from numpy.typing import NDArray

from nesting.arrays import Whole

#: The most cells of a table; a proof that needs more is refused.
_MOST_CELLS = 5_000_000
#: With pinwheels, the most cells; each takes as many steps as there are pairs of lines along both axes.
_MOST_STOPPED = 2_200


def most_value(
    width: int,
    height: int,
    values: Mapping[tuple[int, int], int],
    cut_width: int = 0,
    longest_cut: int | None = None,
    *,
    stopped: bool = False,
) -> int | None:
    """Work out the most value that edge-to-edge cuts, or pinwheels too, can get out of a rectangle.

    Every blank may be cut any number of times, and lies only as it is given.

    Parameters
    ----------
    width, height
        Of the rectangle, in nm.
    values
        Width and height of each blank, in nm, to its value, a whole number of 0 or more.
    cut_width, longest_cut
        Of the trimmer, in nm. What is over beside the blanks counts as no longer than it is.
    stopped
        Whether cuts may also end inside the rectangle: four arms round a centre, any number of times.

    Returns
    -------
    int | None
        The exact most where no cut is too long, else at least the most; None where the table
        would have more than five million cells, or pinwheels would take too long.

    Notes
    -----
    Every blank and the rectangle itself are enlarged by the cut width, so that cuts take nothing.
    Cuts are looked for at the sums of blank sizes only (Herz 1972), and where no cut is too long,
    only at the highest of them in each remainder (Terno, Lindemann and Scheithauer 1987). Whatever a
    pinwheel holds can be pushed down and to the left until its lines are at such sums, too, and one way
    round suffices: the mirror image of a pinwheel holds as much. Its lines may be as long as they like.

    Examples
    --------
    >>> most_value(12, 12, {(5, 7): 1, (7, 5): 1})
    3
    >>> most_value(12, 12, {(5, 7): 1, (7, 5): 1}, stopped=True)
    4
    """
    # A blank worth nothing is as good as an offcut, and would only add lines to look at.
    blanks = {(w + cut_width, h + cut_width): value for (w, h), value in values.items() if value}
    if width <= 0 or height <= 0 or not blanks:
        return 0
    if height > width:  # rows are closed many times over, so they lie along the shorter side
        blanks = {(h, w): value for (w, h), value in blanks.items()}
        width, height = height, width
    too_short = longest_cut is not None and longest_cut < width
    every = too_short or stopped
    xs = _cut_points({w for w, _ in blanks}, width + cut_width, every=every)
    ys = _cut_points({h for _, h in blanks}, height + cut_width, every=every)
    if len(xs) * len(ys) > (_MOST_STOPPED if stopped else _MOST_CELLS):
        return None
    table = _table_of_blanks(blanks, xs, ys)
    longest = (width + height if longest_cut is None else longest_cut) + cut_width
    _fill(table, xs, ys, longest, stopped=stopped)
    return int(table[-1, -1])


def _cut_points(lengths: set[int], extent: int, *, every: bool) -> Whole:
    """Where cuts are looked for, from 0 up to the extent: sums of lengths, as bits of an integer."""
    unit = gcd(*lengths) or extent
    last = extent // unit
    reached, within = 1, (1 << (last + 1)) - 1
    for length in lengths:
        step = length // unit
        while step <= last:
            reached |= (reached << step) & within
            step *= 2
    bits = np.frombuffer(reached.to_bytes(last // 8 + 1, "little"), dtype=np.uint8)
    sums = np.flatnonzero(np.unpackbits(bits, bitorder="little")).astype(np.int64) * unit
    points = sums if sums[-1] == extent else np.append(sums, extent)
    return points if every else points[np.bincount(_places(points, extent - points)) > 0]


def _places(points: Whole, lengths: Whole) -> NDArray[np.intp]:
    """The index of the highest point within each length; -1 for a negative length."""
    return np.searchsorted(points, lengths, side="right") - 1


def _table_of_blanks(blanks: dict[tuple[int, int], int], xs: Whole, ys: Whole) -> Whole:
    """A table over the points with the value of each blank in its cell, else 0.

    Uses Python's own integers where some sum of values could exceed 62 bits.
    """
    most_blanks = int(xs[-1]) * int(ys[-1]) // min(w * h for w, h in blanks)
    fits = max(blanks.values()) * (most_blanks + 1) < 2**62
    table = np.zeros((len(xs), len(ys)), dtype=np.int64 if fits else object)
    for (w, h), value in blanks.items():
        if w <= xs[-1] and h <= ys[-1]:
            place = np.searchsorted(xs, w), np.searchsorted(ys, h)
            table[place] = max(table[place], value)
    return table


def _fill(table: Whole, xs: Whole, ys: Whole, longest: int, *, stopped: bool) -> None:
    """Fill the table row by row, from the narrowest rectangle to the widest.

    Cuts across a row use finished rows, and so do pinwheels; then the row is closed under cuts along it.
    """
    rests = [_places(points, points[:, None] - points) for points in (xs, ys)]
    short_enough = int(np.searchsorted(ys, longest, side="right"))
    low, high = _halves(ys)
    for i in range(1, len(xs)):
        row = table[i, :short_enough]
        np.maximum(row, table[i - 1, :short_enough], out=row)
        half = int(np.searchsorted(xs, xs[i] // 2, side="right"))
        if half > 1:
            rest = _places(xs, xs[i] - xs[1:half])
            sums = table[1:half, :short_enough] + table[rest, :short_enough]
            np.maximum(row, sums.max(axis=0), out=row)
        if xs[i] <= longest:
            table[i] = _closed(table[i], low, high)
        if stopped and _raised_by_pinwheels(table, i, rests[0], rests[1]):
            table[i] = _closed(table[i], low, high)


def _raised_by_pinwheels(
    table: Whole, i: int, rest_x: NDArray[np.intp], rest_y: NDArray[np.intp]
) -> bool:
    """Raise a row to the values of pinwheels as wide as it; whether any was higher.

    With the upright lines at the points ``a`` and ``b`` and the level ones at ``c`` and ``d``, the bottom
    arm is ``b`` wide and ``c`` high, the left one lies above it, the right one is ``d`` high, the upper
    one is above that. ``rest_x[i, a]`` is the point of what ``i`` leaves beyond ``a``.
    """
    levels = np.arange(table.shape[1])
    below = levels < levels[:, None]  # by height: the lines below it
    inner = below & (levels > 0)
    never = -3 * int(table.max()) - 1
    raised = False
    for b in range(2, i):
        for a in range(1, b):
            low = np.where(inner, table[b] + table[a][rest_y], never)  # by height, then c
            high = np.where(inner, table[rest_x[i, b]] + table[rest_x[i, a]][rest_y], never)
            centre = table[rest_x[b, a]]
            heights = np.flatnonzero(low.max(axis=1) + high.max(axis=1) + centre > table[i])
            if not len(heights):
                continue
            between = np.where(below, centre[rest_y], never)  # by d, then c
            sums = (low[heights][:, None] + between).max(axis=2) + high[heights]
            best = np.maximum(table[i, heights], sums.max(axis=1))
            raised = raised or bool((best > table[i, heights]).any())
            table[i, heights] = best
    return raised


def _halves(points: Whole) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """The indices of the two sides that a cut makes of each point (column), by low side (row).

    The low side is at most half; beyond that, the pair is nothing and the whole point.
    """
    whole = np.arange(len(points))
    lows = points[points <= points[-1] // 2, None]
    is_half = 2 * lows <= points
    low = np.where(is_half, np.arange(len(lows))[:, None], 0)
    high = np.where(is_half, _places(points, points - lows), whole)
    return low, high


def _closed(row: Whole, low: NDArray[np.intp], high: NDArray[np.intp]) -> Whole:
    """The least row, nowhere below this one, that no cut along it improves.

    Each pass joins twice as many parts. A low side is tried only where the value increases: a
    shorter one of the same value leaves more for the high side. Index 0 keeps what is there.
    """
    row = np.maximum.accumulate(row)
    while True:
        steps = np.flatnonzero(row[: len(low)] != np.concatenate([[-1], row[: len(low) - 1]]))
        joined = (row.take(low[steps]) + row.take(high[steps])).max(axis=0)
        if np.array_equal(joined, row):
            return row
        row = joined
