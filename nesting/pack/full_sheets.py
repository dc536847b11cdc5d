"""Contents of one sheet that waste very little of it, for a given number of each kind."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nesting.batch import Axis
from nesting.pack.content import Content, Leaf, beside_one_another
from nesting.pack.problem import Problem

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from nesting.pack.kernel_full import Sheet

    Whole = NDArray[np.int64]

#: How many blocks and how many nearly full sheets there may be at once.
_MOST_BLOCKS, _MOST_FULL = 200_000, 3_000
#: Units of a sheet's side beyond which blocks of all heights would take too long to go through.
_MOST_UNITS = 4_096


@dataclass(frozen=True, slots=True)
class Full:
    """Contents found; ``every`` says whether there are no others.

    ``counts`` has a row for each with how many of each kind it has.
    """

    counts: "Whole"
    every: bool


class FullSheets:
    """Lists the contents of a sheet that waste no more than so much of it.

    Blocks of blanks are put side by side in pairs from single blanks up, as long as they waste no
    more than the sheet may (Wang 1983, first algorithm). A pair is only looked at if the one is
    nearly as high, or as wide, as the other. What blanks beside a block cannot fill is its waste,
    too.

    References
    ----------
    P. Y. Wang (1983). Two algorithms for constrained two-dimensional cutting stock problems.
    Operations Research 31.
    """

    def __init__(self, problem: Problem) -> None:
        import numpy as np

        from nesting.pack.kernel_full import Blocks
        from nesting.pack.kernel_listing import BITS

        self._problem = problem
        (size,) = problem.sizes
        self.size = np.array([size.width, size.height])
        self.areas = np.array(problem.areas)
        self._lying = [(n, shape) for n, kind in enumerate(problem.kinds) for shape in kind.shapes]
        self._kind_of = np.array([number for number, _ in self._lying])
        self._ways = np.array(
            [(s.width, s.height, s.width * s.height, n) for n, (_, s) in enumerate(self._lying)]
        ).T
        self._lengths = np.zeros((2, len(problem.kinds), 2), dtype=np.int64)
        for number, kind in enumerate(problem.kinds):
            for lying, shape in enumerate(kind.shapes):
                self._lengths[:, number, lying] = shape.width, shape.height
        bits = max(problem.demand).bit_length() + 1
        self._mask = (1 << bits) - 1
        self._word, place = np.divmod(np.arange(len(problem.kinds)), BITS // bits)
        self._shift = place * bits
        self._free = self._packed(np.full(len(problem.kinds), 1 << (bits - 1)))
        self._words = np.array(
            [self._packed(np.arange(len(problem.kinds)) == n) for n, _ in self._lying]
        )
        self._pairs = 0
        self._blocks = Blocks(
            made=np.zeros((10, _MOST_BLOCKS), dtype=np.int64),
            words=np.zeros((_MOST_BLOCKS, len(self._free)), dtype=np.int64),
            hashed=np.full(1 << (2 * _MOST_BLOCKS).bit_length(), -1),
            high=np.zeros(size.height + 1, dtype=np.int64),
            wide=np.zeros(size.width + 1, dtype=np.int64),
            full=np.zeros(_MOST_FULL, dtype=np.int64),
            tally=np.zeros(4, dtype=np.int64),
            waiting=np.zeros(_MOST_BLOCKS, dtype=np.int64),
            keys=np.zeros(_MOST_BLOCKS, dtype=np.int64),
        )

    def _packed(self, counts: "Whole") -> "Whole":
        """So many of each kind in words."""
        import numpy as np

        words = np.zeros(int(self._word[-1]) + 1, dtype=np.int64)
        np.add.at(words, self._word, counts.astype(np.int64) << self._shift)
        return words

    def over(self, demand: "Whole", sheets: int) -> int:
        """The area that so many sheets have more than a demand."""
        return sheets * int(self.size.prod()) - int(self.areas @ demand)

    def wasting(self, demand: "Whole", over: int, pairs: int) -> Full:
        """Every content of some of a demand that wastes no more than ``over`` of the sheet.

        No more than so many ``pairs`` of blocks are looked at.
        """
        import numpy as np

        every = self._list(demand, over, pairs, only_all=False)
        rows = self._blocks.words[self._rows()]
        counts = (rows[:, self._word] >> self._shift) & self._mask
        distinct, self._first = np.unique(counts, axis=0, return_index=True)
        return Full(distinct, every)

    def found(self, number: int) -> Content:
        """The content with the counts of a row of the last list."""
        return self._content(int(self._rows()[self._first[number]]))

    def holding(self, demand: "Whole", pairs: int) -> tuple[Content | None, bool]:
        """A content that holds all of a demand; if there is none, whether that is sure."""
        over = self.over(demand, 1)
        sure = over < 0 or self._list(demand, over, pairs, only_all=True)
        if over < 0 or not len(self._rows()):
            return None, sure
        return self._content(int(self._rows()[0])), True

    @property
    def looked_at(self) -> int:
        """How many pairs of blocks the last list looked at."""
        from nesting.pack.kernel_full import LEFT

        return self._pairs - int(self._blocks.tally[LEFT])

    def _rows(self) -> "Whole":
        from nesting.pack.kernel_full import FULL

        return self._blocks.full[: self._blocks.tally[FULL]]

    def _list(self, demand: "Whole", over: int, pairs: int, *, only_all: bool) -> bool:
        from nesting.pack import kernel_full

        self._pairs = pairs
        self._blocks.tally[:] = 0, 0, pairs, 0
        return kernel_full.list_full(self._sheet(demand, over), self._blocks, only_all)

    def _sheet(self, demand: "Whole", over: int) -> "Sheet":
        import numpy as np

        from nesting.pack.kernel_full import Sheet, reach

        wanted = np.flatnonzero(demand[self._kind_of])
        within = [np.zeros(int(length) + 1, dtype=np.int64) for length in self.size]
        for side, most in enumerate(within):
            reach(most, self._lengths[side], demand)
        return Sheet(
            self.size,
            np.ascontiguousarray(self._ways[:, wanted]),
            self._words[wanted],
            self._packed(demand) + self._free,
            self._free,
            over,
            *within,
        )

    def _content(self, row: int) -> Content:
        """The content of a row, put together again from its parts."""
        from nesting.pack.kernel_full import AXIS, FIRST, SECOND
        from nesting.pack.kernel_listing import ALONG_X, BLANK

        made = self._blocks.made
        if made[AXIS, row] == BLANK:
            return Leaf(*self._lying[int(made[FIRST, row])])
        axis: Axis = "x" if made[AXIS, row] == ALONG_X else "y"
        parts = (self._content(int(made[part, row])) for part in (FIRST, SECOND))
        return beside_one_another(axis, list(parts))


def may_fill(problem: Problem) -> bool:
    """Whether blocks know all the rules, and the sheet is not too finely divided."""
    return (
        problem.counts_sheets
        and problem.longest is None
        and not problem.has_groups
        and max(problem.sizes[0].width, problem.sizes[0].height) <= _MOST_UNITS
    )
