"""All layouts of one sheet that a plan of so many sheets can contain.

With them the integer programme is exact: it finds a plan of that many sheets, or there is none.
"""

from nesting.batch import Axis
from nesting.pack.content import Content, Leaf, group
from nesting.pack.problem import Problem
from nesting.pack.values import SheetTable

_Cell = tuple[int, int]
_Counts = tuple[int, ...]


class TooManyError(Exception):
    """There are more layouts than it is worth to list."""


class Exhaustion:
    """Lists every layout that is worth at least ``least`` and not contained in another.

    Each plan of ``n`` sheets that meets the demand exactly has a layout on each sheet worth at
    least the demand's value less what ``n - 1`` sheets hold at most, so no other need be looked
    at (enumeration by reduced cost; for one-dimensional stock: Belov and Scheithauer 2006).
    Blanks beyond the demand are clipped off: a layout that holds more than the demand stands for
    the one that holds just the demand.

    Only for one size of sheet and no longest cut.
    """

    def __init__(self, problem: Problem, table: SheetTable, values: list[int], least: int) -> None:
        self._problem = problem
        self._table = table
        self._values = values
        self._least = least
        self._demand = problem.demand
        self._outside = table.outside()
        self._listed: dict[_Cell, dict[_Counts, Content | None]] = {}
        self._budget = _MOST_STEPS

    def contents(self) -> list[Content]:
        """Every layout worth listing.

        Raises
        ------
        TooManyError
            There are too many.
        """
        size = self._problem.sizes[0]
        root = self._table.floor(size.width, size.height)
        found = self._list(root)
        return [
            content
            for counts, content in found.items()
            if content is not None and self._worth(counts) >= self._least
        ]

    def _worth(self, counts: _Counts) -> int:
        return sum(v * n for v, n in zip(self._values, counts, strict=True))

    def _list(self, cell: _Cell) -> dict[_Counts, Content | None]:
        """The contents of a cell that can be part of a layout worth listing."""
        if cell not in self._listed:
            needed = self._least - int(self._outside[cell])
            found = self._alone(cell, needed)
            for axis, low, high in self._table.divisions(*cell):
                if self._table.cells[low] + self._table.cells[high] >= needed:
                    self._combine(found, axis, low, high, needed)
            self._listed[cell] = _undominated(found)
        return self._listed[cell]

    def _alone(self, cell: _Cell, needed: int) -> dict[_Counts, Content | None]:
        """Nothing, or one blank, where that is worth enough."""
        found: dict[_Counts, Content | None] = {}
        if needed <= 0:
            found[(0,) * len(self._demand)] = None
        for number, shape, place in self._table.places:
            if place is not None and place[0] <= cell[0] and place[1] <= cell[1]:
                counts = tuple(int(number == kind) for kind in range(len(self._demand)))
                if self._values[number] >= needed:
                    found.setdefault(counts, Leaf(number, shape))
        return found

    def _combine(
        self,
        found: dict[_Counts, Content | None],
        axis: Axis,
        low: _Cell,
        high: _Cell,
        needed: int,
    ) -> None:
        """Add the contents that a cut makes of two cells."""
        best = self._table.cells
        for counts, content in self._list(low).items():
            if best[high] < needed - self._worth(counts):
                continue
            for more, other in self._list(high).items():
                self._step()
                both = tuple(
                    min(a + b, d) for a, b, d in zip(counts, more, self._demand, strict=True)
                )
                if both not in found and self._worth(both) >= needed:
                    found[both] = group(axis, [content, other])

    def _step(self) -> None:
        self._budget -= 1
        if self._budget < 0:
            raise TooManyError


#: How many pairs of contents to look at before giving up.
_MOST_STEPS = 400_000


def _undominated(found: dict[_Counts, Content | None]) -> dict[_Counts, Content | None]:
    """Without the contents that another one contains."""
    import numpy as np

    if len(found) <= 1:
        return found
    counts = list(found)
    matrix = np.array(counts, dtype=np.int32)
    kept: dict[_Counts, Content | None] = {}
    for row, one in zip(matrix, counts, strict=True):
        containing = (matrix >= row).all(axis=1)
        if containing.sum() == 1:
            kept[one] = found[one]
    return kept
