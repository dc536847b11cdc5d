"""Full sheets: the patterns of one sheet that waste nothing, for a given number of each kind."""

from random import Random

import numpy as np

from nesting.arrays import Whole
from nesting.pack.model.pattern import Pattern
from nesting.pack.model.problem import Problem
from nesting.pack.one_sheet.near_full import NearFullPatterns, may_fill
from nesting.pack.one_sheet.pattern_cover import PatternCover

#: How many pairs of blocks a cell's first list may join, and the factor by which it grows.
_PAIRS, _GROWTH = 100, 6
#: No more blocks are listed after so many pairs of them.
_MOST_PAIRS = 1_000_000
#: Where the demand is for more than two sheets, so many blocks and so many full sheets are enough.
_ALL_UP_TO, _ENOUGH_BLOCKS, _ENOUGH_SHEETS = 2, 30_000, 30
#: The most steps of one search for an exact cover.
_STEPS = 200_000


class FullSheets:
    """Lists the patterns of a sheet without waste, and covers a demand by them exactly."""

    def __init__(self, problem: Problem, rng: Random) -> None:
        self._near_full = NearFullPatterns(problem, rng)
        self.area, self.areas = self._near_full.area, self._near_full.areas
        #: How many pairs of blocks were looked at for the last list.
        self.looked_at = 0

    def within(self, demand: Whole) -> tuple[Whole, bool]:
        """The counts of full sheets within a demand, and whether these are all.

        Where there are too many blocks, of the pairs of blocks that fill a cell some are joined at
        random: few at first, then more until there are enough sheets.
        """
        most, found, every = _PAIRS, np.zeros((0, len(demand)), dtype=np.int64), False
        many = demand @ self.areas > _ALL_UP_TO * self.area
        self.looked_at = looked_at = 0
        while not every and looked_at < _MOST_PAIRS:
            full, every = self._near_full.wasting(demand, 0, most)
            looked_at = self._near_full.looked_at
            self.looked_at += looked_at
            if self._near_full.has_no_room:
                break
            found = full.counts
            if many and self._near_full.count > _ENOUGH_BLOCKS and len(found) >= _ENOUGH_SHEETS:
                break
            most *= _GROWTH
        return found, every

    def pattern(self, counts: Whole) -> Pattern | None:
        """A pattern of just the blanks of a sheet that was listed; None where it takes too many blocks."""
        return self._near_full.pattern(counts)

    def cover(self, demand: Whole, full: Whole, sheets: int) -> tuple[list[Whole] | None, bool]:
        """So many full sheets, of those given, that hold just a demand; where there are none, whether that is sure."""
        cover = PatternCover(full, demand, sheets, self.areas)
        found = cover.found(_STEPS)
        return None if found is None else [full[number] for number in found], cover.impossible


def may_be_full(problem: Problem, sheets: int) -> bool:
    """Whether the demand has just the area of so many sheets, and blocks can obey all the rules."""
    if not may_fill(problem):
        return False
    size = problem.sizes[0]
    return problem.area == sheets * size.width * size.height
