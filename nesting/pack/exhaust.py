"""All layouts of one sheet that a plan of so many sheets can contain.

With them the integer programme is exact: it finds a plan of that many sheets, or there is none.
"""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from nesting.batch import Axis
from nesting.pack.content import Content, Leaf, group
from nesting.pack.problem import Problem
from nesting.pack.values import SheetTable

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Whole = NDArray[np.int64]

_Cell = tuple[int, int]


class TooManyError(Exception):
    """There are more layouts than it is worth to list."""


@dataclass(frozen=True, slots=True)
class Patience:
    """How many pairs of contents to look at, and how many to keep in a cell, before giving up."""

    pairs: int
    kept: int


#: What looking at a cut costs beside its pairs, in pairs.
_PER_CUT = 200
#: Tenths of a second, and seconds.
LITTLE, MUCH = Patience(1_000_000, 600), Patience(5_000_000, 3_000)


@dataclass(frozen=True, slots=True)
class _Listed:
    """The contents of a cell: counts by content and kind, worth by content, and what makes each.

    ``made`` has a row for each content: -1 for a blank or nothing, else the number in ``cuts``,
    and the rows of the two parts.
    """

    counts: "Whole"
    worth: "Whole"
    made: "Whole"
    alone: tuple[Content | None, ...]
    cuts: tuple[tuple[Axis, _Cell, _Cell], ...]

    most: int = field(init=False)

    def __post_init__(self) -> None:
        """Remember what the best of them is worth: less than anything where there is none."""
        most = int(self.worth.max()) if len(self.worth) else -(2**62)
        object.__setattr__(self, "most", most)


class Exhaustion:
    """Lists every layout that is worth at least ``least`` and not contained in another.

    Each plan of ``n`` sheets that meets the demand exactly has a layout on each sheet worth at
    least the demand's value less what ``n - 1`` sheets hold at most, so no other need be looked
    at (enumeration by reduced cost; for one-dimensional stock: Belov and Scheithauer 2006).
    Blanks beyond the demand are clipped off: a layout that holds more than the demand stands for
    the one that holds just the demand.

    Only for one size of sheet and no longest cut.
    """

    def __init__(
        self, problem: Problem, table: SheetTable, values: list[int], least: int, patience: Patience
    ) -> None:
        import numpy as np

        self._problem = problem
        self._table = table
        self._values = np.array(values, dtype=np.int64)
        self._least = least
        self._demand = np.array(problem.demand, dtype=np.int64)
        self._outside = table.outside()
        self._listed: dict[_Cell, _Listed] = {}
        self._pairs_left, self._most_kept = patience.pairs, patience.kept

    def contents(self) -> list[Content]:
        """Every layout worth listing.

        Raises
        ------
        TooManyError
            There are too many.
        """
        size = self._problem.sizes[0]
        root = self._table.floor(size.width, size.height)
        listed = self._list(root)
        made = [self._content(root, row) for row in range(len(listed.worth))]
        return [content for content in made if content is not None]

    def _list(self, cell: _Cell) -> _Listed:
        """The contents of a cell that can be part of a layout worth listing."""
        if cell not in self._listed:
            needed = self._least - int(self._outside[cell])
            cuts = tuple(self._table.divisions(*cell, least=needed))
            parts = [self._alone(cell, needed)]
            combined = (self._combined(number, cut, needed) for number, cut in enumerate(cuts))
            parts += [part for part in combined if part is not None]
            self._listed[cell] = self._undominated(parts, cuts)
        return self._listed[cell]

    def _alone(self, cell: _Cell, needed: int) -> _Listed:
        """Nothing, or one blank, where that is worth enough."""
        import numpy as np

        kinds = len(self._demand)
        rows: list[Whole] = []
        alone: list[Content | None] = []
        if needed <= 0:
            rows.append(np.zeros(kinds, dtype=np.int64))
            alone.append(None)
        for number, shape, place in self._table.places:
            fits = place is not None and place[0] <= cell[0] and place[1] <= cell[1]
            if fits and self._values[number] * shape.holds >= needed:
                rows.append(shape.holds * np.eye(1, kinds, number, dtype=np.int64)[0])
                alone.append(Leaf(number, shape))
        counts = np.array(rows, dtype=np.int64).reshape(-1, kinds)
        made = np.full((len(alone), 3), -1)
        made[:, 1] = range(len(alone))
        return _Listed(counts, counts @ self._values, made, tuple(alone), ())

    def _combined(self, number: int, cut: tuple[Axis, _Cell, _Cell], needed: int) -> _Listed | None:
        """The contents that a cut makes of two cells; None where it makes none."""
        import numpy as np

        low = self._list(cut[1])
        if low.most + int(self._table.cells[cut[2]]) < needed:
            return None
        high = self._list(cut[2])
        if low.most + high.most < needed:
            return None
        # Clipped or not, a pair is worth no more than the sum: most pairs end here.
        worth = low.worth[:, None] + high.worth[None, :]
        self._pairs_left -= worth.size + _PER_CUT
        if self._pairs_left < 0:
            raise TooManyError
        firsts, seconds = np.nonzero(worth >= needed)
        if not len(firsts):
            return None
        counts = np.minimum(low.counts[firsts] + high.counts[seconds], self._demand)
        clipped = counts @ self._values
        kept = clipped >= needed
        made = np.empty((int(kept.sum()), 3), dtype=np.int64)
        made[:, 0], made[:, 1], made[:, 2] = number, firsts[kept], seconds[kept]
        return _Listed(counts[kept], clipped[kept], made, (), ())

    def _undominated(
        self, parts: list[_Listed], cuts: tuple[tuple[Axis, _Cell, _Cell], ...]
    ) -> _Listed:
        """All parts together, without the contents that another one contains."""
        import numpy as np

        counts, first = np.unique(
            np.concatenate([part.counts for part in parts]), axis=0, return_index=True
        )
        if len(counts) > self._most_kept:
            raise TooManyError
        if not len(counts):
            return _Listed(counts, np.zeros(0, np.int64), np.zeros((0, 3), int), (), cuts)
        contained = np.concatenate(
            [
                (counts[None, :, :] >= counts[rows : rows + 64, None, :]).all(axis=2).sum(axis=1)
                > 1
                for rows in range(0, len(counts), 64)
            ]
        )
        first = first[~contained]
        return _Listed(
            counts=counts[~contained],
            worth=np.concatenate([part.worth for part in parts])[first],
            made=np.concatenate([part.made for part in parts])[first],
            alone=parts[0].alone,
            cuts=cuts,
        )

    def _content(self, cell: _Cell, row: int) -> Content | None:
        """The content of a row, put together again from its parts."""
        listed = self._listed[cell]
        cut, first, second = (int(entry) for entry in listed.made[row])
        if cut < 0:
            return listed.alone[first]
        axis, low, high = listed.cuts[cut]
        return group(axis, [self._content(low, first), self._content(high, second)])
