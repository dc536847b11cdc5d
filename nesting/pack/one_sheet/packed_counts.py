"""Listed patterns as rows of an array: counts packed into a few words, and how each was made."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nesting.arrays import Numbers, Records, Whole
from nesting.pack.model.pattern import Leaf, Pattern, beside_one_another
from nesting.papers import Axis


@dataclass(frozen=True, slots=True)
class ListedPatterns:
    """Listed patterns: a row each, with the counts by kind, none beyond the demand.

    The pattern itself is built when it is asked for by its number.
    """

    counts: Whole
    pattern: Callable[[int], Pattern]

    def __len__(self) -> int:
        return len(self.counts)

    def __iter__(self) -> Iterator[Pattern]:
        return map(self.pattern, range(len(self.counts)))

    def best(self, values: Whole | Numbers) -> int:
        """The number of the first pattern of most value."""
        return int((self.counts @ values).argmax())


class Words:
    """Counts of all kinds packed into a few words, a bit field for each kind.

    The highest bit of each field stays free, so that one operation adds or compares all fields of a
    word (``nesting.pack.kernels.listing_loop``).

    Parameters
    ----------
    most
        The largest count of each kind.
    """

    def __init__(self, most: Sequence[int]) -> None:
        from nesting.pack.kernels.listing_loop import BITS

        bits = max(most).bit_length() + 1
        self.mask = (1 << bits) - 1
        self.word, place = np.divmod(np.arange(len(most)), BITS // bits)
        self.shift = place * bits
        self.free = self.packed(np.full(len(most), 1 << (bits - 1)))

    def packed(self, counts: Sequence[int] | Whole) -> Whole:
        """Pack counts by kind, or rows of them, into words."""
        fields = np.asarray(counts, dtype=np.int64) << self.shift
        starts = np.flatnonzero(np.diff(self.word, prepend=-1))
        words: Whole = np.add.reduceat(fields, starts, axis=-1)
        return words

    def counts(self, words: Whole) -> Whole:
        """Unpack rows of words into counts by kind."""
        counts: Whole = (words[:, self.word] >> self.shift) & self.mask
        return counts

    def within(self, words: Whole, most: Sequence[int] | Whole) -> NDArray[np.bool_]:
        """Which rows of words have no more of any kind than the largest counts."""
        fits: NDArray[np.bool_] = (
            ((self.packed(most) + self.free - words) & self.free) == self.free
        ).all(axis=-1)
        return fits


class Makings:
    """How each row's pattern is made of others; each is built once, as many are parts of others.

    Parameters
    ----------
    made
        Records with the fields ``axis``, ``first`` and ``second`` (see ``kernels.listing_loop``).
    blanks
        The single blanks by number.
    """

    def __init__(self, made: Records, blanks: Sequence[Leaf]) -> None:
        self._axis, self._first, self._second = made.axis, made.first, made.second
        self._blanks = blanks
        self._known: dict[int, Pattern] = {}

    def pattern(self, row: int) -> Pattern:
        """The pattern of a row."""
        from nesting.pack.kernels.listing_loop import ALONG_X, BLANK

        found = self._known.get(row)
        if found is None:
            if self._axis[row] == BLANK:
                found = self._blanks[self._first[row]]
            else:
                axis: Axis = "x" if self._axis[row] == ALONG_X else "y"
                members = [self.pattern(int(part[row])) for part in (self._first, self._second)]
                found = beside_one_another(axis, members)
            self._known[row] = found
        return found
