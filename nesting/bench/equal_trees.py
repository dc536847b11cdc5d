"""Every cut tree of the same blanks on the same sheet: fewest strokes, and with those fewest ruler settings.

For small layouts only, and by other means than the packer's: the two are held against each other.
"""

from collections import Counter
from collections.abc import Iterator
from functools import cache, cached_property
from itertools import product

#: How many of each size.
_Counts = tuple[int, ...]
#: Sets of ruler settings; none contains another.
_Sets = frozenset[frozenset[int]]

_NOTHING: _Sets = frozenset([frozenset()])


class EqualTrees:
    """The cut trees that give some blanks from a rectangle, measured exactly, in whole numbers.

    A tree of n blanks and k offcuts takes n + k - 1 strokes. A row of parts that parallel cuts
    make takes the sizes of its parts as ruler settings, but for the one that is left at the end.

    Looked at are the trees in which the first of two parts is as narrow as its blanks allow. That
    loses no stroke: a wider part has an offcut along all of it, which goes to the part beside it
    and makes at most one offcut there.

    Parameters
    ----------
    width, height
        Of the rectangle.
    blanks
        Widths and heights as they lie. A cut width is added to the rectangle and to every blank.

    Examples
    --------
    Six 4 x 5 1/4 from 12 x 12, in quarters of an inch:

    >>> trees = EqualTrees(48, 48, [(16, 21)] * 6)
    >>> trees.fewest_strokes, trees.fewest_settings
    (6, 2)

    References
    ----------
    N. Christofides, C. Whitlock (1977). An algorithm for two-dimensional cutting problems.
    Operations Research 25. The cut positions, section 2.
    """

    def __init__(self, width: int, height: int, blanks: list[tuple[int, int]]) -> None:
        counted = Counter(blanks)
        self._sizes = sorted(counted, key=lambda size: (-size[0] * size[1], size))
        self._all: _Counts = tuple(counted[size] for size in self._sizes)
        self._rect = width, height
        self._holds = cache(self._holds_within)
        self._row = cache(self._row_sets)
        self._inside = cache(self._inside_sets)
        self._lengths = cache(self._find_lengths)

    @cached_property
    def fewest_offcuts(self) -> int:
        """The fewest offcuts of any tree.

        Raises
        ------
        ValueError
            The blanks cannot be cut from the rectangle.
        """
        for offcuts in range(2 * sum(self._all) + 2):
            if self._holds(*self._rect, self._all, offcuts):
                return offcuts
        raise ValueError("the blanks cannot be cut from the rectangle")

    @property
    def fewest_strokes(self) -> int:
        """The fewest strokes of any tree."""
        return sum(self._all) + self.fewest_offcuts - 1

    @cached_property
    def fewest_settings(self) -> int:
        """The fewest ruler settings of any tree with fewest strokes."""
        width, height = self._rect
        found = _least(
            *(self._inside(width, height, self._all, self.fewest_offcuts, axis) for axis in (0, 1))
        )
        return min(map(len, found))

    def _area(self, counts: _Counts) -> int:
        return sum(n * w * h for n, (w, h) in zip(counts, self._sizes, strict=True))

    def _holds_within(self, width: int, height: int, counts: _Counts, offcuts: int) -> bool:
        """Whether a rectangle can be cut into some blanks and no more than so many offcuts."""
        over = width * height - self._area(counts)
        if over < 0 or (over > 0 and not offcuts):
            return False
        if not any(counts):
            return True
        if self._is_blank(width, height, counts):
            return True
        return any(
            self._holds(*_rect(axis, part, cross), some, own)
            and self._holds(*_rect(axis, length - part, cross), rest, offcuts - own)
            for axis, length, cross in ((0, width, height), (1, height, width))
            for some, rest in self._halves(counts)
            for part in self._lengths(axis, some)
            if part < length
            for own in self._budgets(part * cross, some, offcuts)
        )

    def _inside_sets(
        self, width: int, height: int, counts: _Counts, offcuts: int, axis: int
    ) -> _Sets:
        """The ruler settings to cut a rectangle up that is one blank or a row along an axis."""
        if self._is_blank(width, height, counts):
            return _NOTHING
        if not self._holds(width, height, counts, offcuts):
            return frozenset()
        length, cross = (width, height) if axis == 0 else (height, width)
        return self._row(length, cross, counts, offcuts, axis, 1, 1)

    def _row_sets(
        self, left: int, cross: int, counts: _Counts, offcuts: int, axis: int, free: int, whole: int
    ) -> _Sets:
        """The same for what is left of a row; ``free``: the part at its end is not among those taken.

        ``whole``: nothing is taken yet. The next part is the one with the first blank, and an
        offcut is the last: in which order they lie is free.
        """
        if not any(counts):
            if left == 0 or (free and offcuts):
                return _NOTHING
            return frozenset([frozenset([left])]) if offcuts else frozenset()
        if not self._holds(*_rect(axis, left, cross), counts, offcuts):
            return frozenset()
        found: list[frozenset[int]] = []
        for some, rest in self._halves(counts):
            for part in self._lengths(axis, some):
                if part > left or (whole and part == left):
                    continue
                own = self._fewest(*_rect(axis, part, cross), some, offcuts)
                if own is None or not self._holds(
                    *_rect(axis, left - part, cross), rest, offcuts - own
                ):
                    continue
                inside = self._inside(*_rect(axis, part, cross), some, own, 1 - axis)
                for last in range(1 + free):
                    beyond = self._row(
                        left - part, cross, rest, offcuts - own, axis, free - last, 0
                    )
                    setting = frozenset() if last else frozenset([part])
                    found += [a | b | setting for a in inside for b in beyond]
        return _least(found)

    def _fewest(self, width: int, height: int, counts: _Counts, most: int) -> int | None:
        """The fewest offcuts of a rectangle with some blanks, None for more than ``most``.

        A tree with fewest offcuts has fewest in each of its parts.
        """
        budgets = self._budgets(width * height, counts, most)
        return next((n for n in budgets if self._holds(width, height, counts, n)), None)

    def _is_blank(self, width: int, height: int, counts: _Counts) -> bool:
        if sum(counts) != 1:
            return False
        return self._sizes[counts.index(1)] == (width, height)

    def _halves(self, counts: _Counts) -> Iterator[tuple[_Counts, _Counts]]:
        """Some of the blanks, with one of the first size that there is, and the rest."""
        first = next(n for n, count in enumerate(counts) if count)
        ranges = [range(int(n == first), count + 1) for n, count in enumerate(counts)]
        for some in product(*ranges):
            yield some, tuple(a - b for a, b in zip(counts, some, strict=True))

    def _budgets(self, area: int, counts: _Counts, offcuts: int) -> range:
        """How many offcuts a rectangle of this area may have besides its blanks."""
        over = area - self._area(counts)
        if over < 0:
            return range(0)
        return range(1) if over == 0 else range(1, offcuts + 1)

    def _find_lengths(self, axis: int, counts: _Counts) -> list[int]:
        """How long a part with some blanks can be where a line of blanks fills it, from the least."""
        sums = {0}
        for count, size in zip(counts, self._sizes, strict=True):
            sums = {a + n * size[axis] for a in sums for n in range(count + 1)}
        least = max(size[axis] for count, size in zip(counts, self._sizes, strict=True) if count)
        return sorted(length for length in sums if length >= least)


def _rect(axis: int, length: int, cross: int) -> tuple[int, int]:
    return (length, cross) if axis == 0 else (cross, length)


def _least(*families: "list[frozenset[int]] | _Sets") -> _Sets:
    """The sets that contain no other."""
    least: list[frozenset[int]] = []
    for one in sorted({one for family in families for one in family}, key=len):
        if not any(other <= one for other in least):
            least.append(one)
    return frozenset(least)
