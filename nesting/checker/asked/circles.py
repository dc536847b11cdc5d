"""What groups of circles in one blank can hold, worked out for the proofs."""

from collections.abc import Collection, Iterator
from math import isqrt

_Size = tuple[int, int]


def group_sizes(
    diameter: int, allowance: int, sheets: Collection[_Size], marks: int
) -> list[tuple[_Size, int]]:
    """Every group of circles in rows on sheets of these usable sizes: its size in nm, its number.

    Straight rows; and staggered rows with the shortest step, or with the step stretched over the
    sheet. Staggered sides lie on the marks of the ruler or at the sheet's edge.
    """
    apart, single = diameter + allowance, diameter + 2 * allowance
    found: dict[_Size, int] = {}

    def note(width: int, height: int, holds: int) -> None:
        found[width, height] = max(holds, found.get((width, height), 0))

    for width, height in sheets:
        for columns in range(1, 1 + max(0, width - allowance) // apart):
            for rows in range(1, 1 + max(0, height - allowance) // apart):
                note(columns * apart + allowance, rows * apart + allowance, columns * rows)
        for (length, rise), holds in _staggered(apart, single, width, height, marks):
            note(length, rise, holds)
        for (length, rise), holds in _staggered(apart, single, height, width, marks):
            note(rise, length, holds)
    return list(found.items())


def _staggered(
    apart: int, single: int, along: int, over: int, marks: int
) -> Iterator[tuple[_Size, int]]:
    """Staggered groups with their rows along one side: their sides along and over, what they hold.

    ``steps`` are the half steps from the first circle of all to the last.
    """
    shortest = (apart + 1) // 2
    steps = 1
    while single + steps * shortest <= along:
        in_first, in_second = 1 + steps // 2, (steps + 1) // 2
        for half, length in (
            (shortest, min(along, _rounded_up(single + steps * shortest, marks))),
            ((along - single) // steps, along),
        ):
            rise = shortest
            if apart > half:
                rise = max(rise, _root_up(apart**2 - half**2))
            rows = 2
            while single + (rows - 1) * rise <= over:
                side = min(over, _rounded_up(single + (rows - 1) * rise, marks))
                holds = rows // 2 * (in_first + in_second) + rows % 2 * in_first
                yield (length, side), holds
                rows += 1
        steps += 1


def _rounded_up(length: int, marks: int) -> int:
    return length + -length % marks


def _root_up(square: int) -> int:
    """The least whole number whose square is at least this."""
    root = isqrt(square)
    return root + (root * root < square)


def least_area(
    width: int,
    height: int,
    allowance: int,
    sheets: Collection[_Size],
    marks: int,
    *,
    circles: int,
) -> int:
    """The least area of a blank that one piece takes, in nm².

    ``circles`` is how many circles are needed, 0 for a rectangle.
    """
    least = (width + 2 * allowance) * (height + 2 * allowance)
    if circles:
        for (across, along), holds in group_sizes(width, allowance, sheets, marks):
            least = min(least, across * along // min(holds, circles))
    return least
