"""Groups of equal circles in rows, as one blank: fewer cuts, and less paper where they save any.

Rows lie straight above one another (the die allowance between neighbours counts once), or every
other row is moved by half a step (staggered), with steps as short as can be or stretched until
the group is as wide as the sheet, so that its rows move closer. All lengths are whole nanometres
and rounded to the safe side.
"""

from bisect import bisect_right, insort
from collections.abc import Iterator
from itertools import count
from math import isqrt
from typing import NamedTuple


class CircleRows(NamedTuple):
    """A group of circles, with its blank's size in nm.

    ``first`` and ``second`` are the circles in a row by turns, ``rows`` how many rows there are;
    rows run along x or, ``upright``, along y.
    """

    width: int
    height: int
    first: int
    second: int
    rows: int
    staggered: bool
    upright: bool

    @property
    def circles(self) -> int:
        """How many circles there are."""
        return self.first * (self.rows - self.rows // 2) + self.second * (self.rows // 2)

    def centres(self, across: int) -> list[tuple[int, int]]:
        """The circles' centres from the blank's low corner; ``across`` is of one blank alone, in nm."""
        half = across // 2
        along, over = (self.height, self.width) if self.upright else (self.width, self.height)
        steps = _half_steps(self.first, self.second, staggered=self.staggered)
        found = []
        for row in range(self.rows):
            odd = row % 2
            y = half + (over - across) * row // max(1, self.rows - 1)
            for place in range(self.second if odd else self.first):
                step = 2 * place + (odd if self.staggered else 0)
                found.append((half + (along - across) * step // max(1, steps), y))
        return [(y, x) for x, y in found] if self.upright else found


def _half_steps(first: int, second: int, *, staggered: bool) -> int:
    """How many half steps lie between the first and the last circle of all rows."""
    return 2 * (first - 1) + (staggered and second == first)


def groups(
    diameter: int,
    allowance: int,
    cut_width: int,
    sheets: list[tuple[int, int]],
    marks: int,
    most: int,
    *,
    every: bool = False,
) -> list[CircleRows]:
    """List the groups that may save paper on sheets of some usable sizes, all lengths in nm.

    Sides that are no sum of diameters and die allowances lie on the ruler's ``marks`` or at the
    sheet's edge. No more than ``most`` circles are asked for; groups are left out that another
    one, or circles cut out one by one, can replace; ``every`` keeps them, for a trimmer with a
    longest cut: a group may need no cut where others need long ones.
    """
    if most < 2:
        return []
    found: set[CircleRows] = set()
    for width, height in sheets:
        for upright in (False, True):
            along, over = (height, width) if upright else (width, height)
            ways = _staggered(diameter, allowance, along, over, marks, most, upright=upright)
            found.update(ways)
        if allowance or cut_width or every:
            found.update(_straight(diameter, allowance, width, height))
    if every:
        return _in_order(found)
    single = diameter + 2 * allowance + cut_width

    def replaced(group: CircleRows) -> bool:
        across, up = (group.width + cut_width) // single, (group.height + cut_width) // single
        return across * up >= min(group.circles, most)

    return _undone({group for group in found if not replaced(group)}, most)


def _straight(diameter: int, allowance: int, width: int, height: int) -> Iterator[CircleRows]:
    """Rows straight above one another."""
    apart = diameter + allowance
    for rows in range(1, (height - allowance) // apart + 1):
        for first in range(1 + (rows == 1), (width - allowance) // apart + 1):
            yield CircleRows(
                first * apart + allowance,
                rows * apart + allowance,
                first,
                first,
                rows,
                staggered=False,
                upright=False,
            )


def _staggered(
    diameter: int, allowance: int, along: int, over: int, marks: int, most: int, *, upright: bool
) -> Iterator[CircleRows]:
    """Staggered rows along a side, as short as can be and stretched over it, as many as are needed."""
    single, apart = diameter + 2 * allowance, diameter + allowance
    for first in count(1):
        for second in (first, first - 1):
            steps = _half_steps(first, second, staggered=True)
            if not second or single + steps * -(-apart // 2) > along:
                continue
            for half in {-(-apart // 2), (along - single) // steps}:
                distance = _row_distance(apart, half)
                length = along if half == (along - single) // steps else single + steps * half
                pairs, more = divmod(most, first + second)
                needed = 2 * pairs + (more > 0) + (more > first)
                for rows in range(2, min((over - single) // distance + 1, needed) + 1):
                    sides = (
                        _on_marks(length, marks, along),
                        _on_marks(single + (rows - 1) * distance, marks, over),
                    )
                    width, height = reversed(sides) if upright else sides
                    yield CircleRows(
                        width, height, first, second, rows, staggered=True, upright=upright
                    )
        if single + (2 * first - 2) * -(-apart // 2) > along:
            return


def _row_distance(apart: int, half: int) -> int:
    """How far rows are apart whose circles lie ``half`` a step to the side, so that none are too close.

    The row after the next lies straight above again.
    """
    rest = apart * apart - half * half
    return max(-(-apart // 2), 1 + isqrt(rest - 1) if rest > 0 else 0)


def _on_marks(length: int, marks: int, edge: int) -> int:
    return min(-(-length // marks) * marks, edge)


def _undone(found: set[CircleRows], most: int) -> list[CircleRows]:
    """The groups that no other is as good as: no larger, and with as many circles."""
    kept: list[CircleRows] = []
    best: list[tuple[int, int, int]] = []  # those of most circles first
    for group in _in_order(found):
        own = -min(group.circles, most), group.width, group.height
        as_many = best[: bisect_right(best, own)]
        if not any(w <= group.width and h <= group.height for _, w, h in as_many):
            kept.append(group)
            insort(best, own)
    return kept


def _in_order(found: set[CircleRows]) -> list[CircleRows]:
    """Small ones first, whatever order they were found in."""
    return sorted(
        found,
        key=lambda g: (g.width * g.height, -g.circles, g.width, g.upright, g.staggered, g.rows),
    )
