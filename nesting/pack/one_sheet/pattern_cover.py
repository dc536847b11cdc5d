"""Patterns that together hold a demand, chosen one after another."""

import numpy as np

from nesting.arrays import Whole


class PatternCover:
    """The search for so many patterns that together hold a demand, depth first; each may be chosen again and again.

    What holds the kind that the fewest patterns hold comes first, in the order given. A choice is given up
    once what is left of the demand is worth more than the patterns still to be chosen can be: with good
    values that is soon so.

    Parameters
    ----------
    counts
        What each pattern holds: a number for each kind.
    worth
        What each kind is worth, 0 or more, in whole numbers.
    """

    def __init__(self, counts: Whole, demand: Whole, sheets: int, worth: Whole) -> None:
        from nesting.pack.kernels.cover_loop import Cover, begin_cover

        held = np.ascontiguousarray(np.minimum(counts, demand))
        of, entries = np.divmod(np.flatnonzero(held), len(demand))
        self._cover = Cover(
            patterns=held,
            entries=entries,
            starts=np.searchsorted(of, np.arange(len(held) + 1)),
            values=worth,
            most=int((held @ worth).max(initial=0)),
            left=np.tile(demand, (sheets + 1, 1)),
            lists=np.zeros((sheets, len(held)), dtype=np.int64),
            lengths=np.zeros(sheets, dtype=np.int64),
            at=np.zeros(sheets, dtype=np.int64),
            kinds=np.zeros(sheets, dtype=np.int64),
            often=np.zeros(len(demand), dtype=np.int64),
            chosen=np.zeros(sheets, dtype=np.int64),
            depth=np.zeros(1, dtype=np.int64),
        )
        begin_cover(self._cover)

    @property
    def impossible(self) -> bool:
        """Whether everything was tried in vain, which proves that no patterns hold the demand."""
        return bool(self._cover.depth[0] < 0)

    def found(self, steps: int) -> Whole | None:
        """The numbers of patterns that hold the demand, once they are found; about so many choices are tried."""
        from nesting.pack.kernels.cover_loop import go_on_covering

        if not go_on_covering(self._cover, steps):
            return None
        return self._cover.chosen[: self._cover.depth[0]]
