"""Groups of equal circles in rows, as one blank: fewer cuts, and often less paper.

Rows lie straight above one another (the die allowance between neighbours counts once), or every
second row is shifted by half a step (staggered). The step is then either the shortest possible or
stretched until the group is as wide as the sheet, which brings the rows closer together. All
lengths are whole nanometres, rounded to the safe side.
"""

from bisect import bisect_right, insort
from collections.abc import Iterator
from itertools import count
from math import isqrt
from typing import NamedTuple


class CircleRows(NamedTuple):
    """A group of circles, with the size of its blank in nm.

    Rows hold ``first`` and ``second`` circles in turn; there are ``rows`` of them, running along x,
    or along y where ``upright``.
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
        """The centres from the blank's low corner; ``across`` is the size of a single blank, in nm."""
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
    """How many half steps lie between the leftmost and the rightmost circle."""
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
    """List the groups that may save paper on sheets of these usable sizes, all lengths in nm.

    Sides that are no sum of diameters and die allowances lie on the ruler's ``marks`` or at the
    sheet's edge. No more than ``most`` circles are asked for. Groups that another group, or single
    circles, can replace are left out; ``every`` keeps them, for a trimmer with a longest cut, where
    such a group may be the only one that can be cut.
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
    """Staggered rows along a side, with the shortest step and with steps stretched over the side."""
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
    """How far apart rows must be whose circles are shifted by ``half``, so that none are too close.

    The row after the next lies straight above again.
    """
    rest = apart * apart - half * half
    return max(-(-apart // 2), 1 + isqrt(rest - 1) if rest > 0 else 0)


def _on_marks(length: int, marks: int, edge: int) -> int:
    return min(-(-length // marks) * marks, edge)


def _undone(found: set[CircleRows], most: int) -> list[CircleRows]:
    """The groups that no other dominates: none is as small and holds as many circles."""
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
    """Sorted by size, so that the order does not depend on how they were found."""
    return sorted(
        found,
        key=lambda g: (g.width * g.height, -g.circles, g.width, g.upright, g.staggered, g.rows),
    )
