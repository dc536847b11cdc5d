"""Patterns listed in rows: how many they hold of each kind, in a few words, and of what they are made."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from nesting.arrays import Numbers, Whole
from nesting.batch import Axis
from nesting.pack.model.pattern import Leaf, Pattern, beside_one_another


@dataclass(frozen=True, slots=True)
class ListedPatterns:
    """Patterns that are listed: how many each holds of each kind, none beyond the demand, in rows.

    A pattern itself is put together when it is asked for by its number.
    """

    counts: Whole
    pattern: Callable[[int], Pattern]

    def __iter__(self) -> Iterator[Pattern]:
        return map(self.pattern, range(len(self.counts)))

    def best(self, values: Whole | Numbers) -> int:
        """The number of the first of those worth most at a value of each kind."""
        return int((self.counts @ values).argmax())


class Words:
    """Where in how many words the kinds are counted, each in a field of bits.

    The highest bit of a field stays free, so that all fields of a word are added and compared at
    once (``nesting.pack.kernels.listing_loop``).

    Parameters
    ----------
    most
        How many of each kind there may be.
    """

    def __init__(self, most: Sequence[int]) -> None:
        from nesting.pack.kernels.listing_loop import BITS

        bits = max(most).bit_length() + 1
        self.mask = (1 << bits) - 1
        self.word, place = np.divmod(np.arange(len(most)), BITS // bits)
        self.shift = place * bits
        self.free = self.packed(np.full(len(most), 1 << (bits - 1)))

    def packed(self, counts: Sequence[int] | Whole) -> Whole:
        """So many of each kind in words."""
        words = np.zeros(int(self.word[-1]) + 1, dtype=np.int64)
        np.add.at(words, self.word, np.asarray(counts, dtype=np.int64) << self.shift)
        return words

    def counts(self, words: Whole) -> Whole:
        """How many of each kind there are, for each row of words."""
        counts: Whole = (words[:, self.word] >> self.shift) & self.mask
        return counts


class Makings:
    """Of what the patterns of rows are made; each is put together once, as many are part of others.

    Parameters
    ----------
    made
        Has the rows ``AXIS``, ``FIRST`` and ``SECOND`` of ``nesting.pack.kernels.listing_loop``.
    blanks
        The single blanks by number.
    """

    def __init__(self, made: Whole, blanks: Sequence[Leaf]) -> None:
        self._made = made
        self._blanks = blanks
        self._known: dict[int, Pattern] = {}

    def pattern(self, row: int) -> Pattern:
        """The pattern of a row."""
        from nesting.pack.kernels.listing_loop import ALONG_X, AXIS, BLANK, FIRST, SECOND

        found = self._known.get(row)
        if found is None:
            how, first, second = self._made[[AXIS, FIRST, SECOND], row].tolist()
            if how == BLANK:
                found = self._blanks[first]
            else:
                axis: Axis = "x" if how == ALONG_X else "y"
                found = beside_one_another(axis, [self.pattern(first), self.pattern(second)])
            self._known[row] = found
        return found
