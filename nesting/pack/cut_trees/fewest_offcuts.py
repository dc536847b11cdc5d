"""The same blanks on the same sheet, in the cut trees with the fewest offcuts.

Every stroke makes one part more, so fewest strokes means fewest offcuts. A tree with few offcuts
consists of few *blocks*, rectangles of blanks without an offcut. Blocks are found first, from
single blanks upwards. They are then peeled off the sheet from the outside inwards, within a budget
of offcuts that grows by one until there is a tree. A budget leaves hardly any choice: a rectangle
without an offcut has to be filled to the last nanometre, and whatever is not filled is an offcut.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from itertools import combinations
from typing import NamedTuple

from nesting.pack.cut_trees.slicing_tree import AXES, CROSS, by_axis
from nesting.pack.cut_trees.usable_area import Room
from nesting.pack.model.pattern import Group, Leaf, Pattern, beside_one_another, grouped
from nesting.papers import Axis

#: The most blocks.
_MOST_BLOCKS = 200
#: Bits for the count of one kind of blank in a code; one more than a count may take.
_BITS = 10
_FIELD = (1 << _BITS) - 1


class Measure(NamedTuple):
    """The area of a multiset of blanks in nm², the width of its widest, the height of its highest."""

    area: int
    width: int
    height: int


class Blanks:
    """The blanks of one sheet, equal ones counted, with each multiset of them coded as an integer.

    Sizes are in nm, cut width added.
    """

    def __init__(self, blanks: Iterable[Leaf], unit: int) -> None:
        counted = Counter(blanks)
        self.kinds = sorted(
            counted, key=lambda leaf: (-leaf.width * leaf.height, -leaf.width, leaf.kind)
        )
        self.sizes = [(leaf.width * unit, leaf.height * unit) for leaf in self.kinds]
        self.all = sum(counted[leaf] << (_BITS * n) for n, leaf in enumerate(self.kinds))
        self.countable = max(counted.values()) < 1 << (_BITS - 1)
        #: A multiset contains another if every bit of this is left in ``(code | guard) - part``.
        self.guard = sum(1 << (_BITS * n + _BITS - 1) for n in range(len(self.kinds)))
        self._measures: dict[int, Measure] = {}

    def has(self, code: int, part: int) -> bool:
        """Whether a multiset contains another."""
        return ((code | self.guard) - part) & self.guard == self.guard

    def measure(self, code: int) -> Measure:
        """The area and the extents of a multiset that is not empty."""
        found = self._measures.get(code)
        if found is None:
            area = widest = highest = 0
            for n, (width, height) in enumerate(self.sizes):
                count = code >> (_BITS * n) & _FIELD
                if count:
                    area += count * width * height
                    widest, highest = max(widest, width), max(highest, height)
            found = self._measures[code] = Measure(area, widest, highest)
        return found

    def sums(self, axis: Axis) -> list[int]:
        """The lengths that some of the blanks take side by side, in increasing order, in nm."""
        sums = {0}
        for number, size in enumerate(self.sizes):
            length, _ = by_axis(axis, *size)
            count = self.all >> (_BITS * number) & _FIELD
            sums = {a + n * length for a in sums for n in range(count + 1)}
        return sorted(sums - {0})

    def sizes_in(self, code: int) -> list[tuple[int, int]]:
        """The different sizes of a multiset, in nm."""
        return [size for n, size in enumerate(self.sizes) if code >> (_BITS * n) & _FIELD]


class BlankBlock(NamedTuple):
    """A rectangle of blanks without an offcut; ``ways`` to divide it, by the axis of the first cut."""

    width: int
    height: int
    code: int
    ways: dict[Axis, Pattern]

    def along(self, axis: Axis) -> Pattern:
        """Its pattern, divided along an axis first where it can be."""
        return self.ways[axis] if axis in self.ways else self.ways[CROSS[axis]]


def find_blocks(blanks: Blanks, room: Room) -> list[BlankBlock]:
    """Find the blocks that some of the blanks make on a sheet, the simplest first.

    At most some hundreds: many equal blanks make more blocks than are of use.
    """
    found: dict[tuple[int, int, int], BlankBlock] = {}
    for number, (leaf, (w, h)) in enumerate(zip(blanks.kinds, blanks.sizes, strict=True)):
        if w <= room.width and h <= room.height:
            block = BlankBlock(w, h, 1 << (_BITS * number), {"x": leaf, "y": leaf})
            found.setdefault((w, h, block.code), block)
    # By size across an axis: length, code and block.
    rows: dict[Axis, dict[int, list[tuple[int, int, BlankBlock]]]] = {
        "x": defaultdict(list),
        "y": defaultdict(list),
    }
    guard, every = blanks.guard, blanks.all | blanks.guard
    queue = list(found.values())
    for block in queue:  # grows as it goes
        for axis in AXES:
            length, cross = by_axis(axis, block.width, block.height)
            if not room.may_cut(cross):
                continue
            row = rows[axis][cross]
            row.append((length, block.code, block))
            most, beside = room.size(axis) - length, every - block.code
            for other_length, other_code, other in row:
                # ``Blanks.has`` without a call, as in ``_full``: there are thousands of pairs.
                if other_length <= most and (beside - other_code) & guard == guard:
                    code = other_code + block.code
                    key = (*by_axis(axis, other_length + length, cross), code)
                    if key not in found and len(found) < _MOST_BLOCKS:
                        found[key] = BlankBlock(*key, {})
                        queue.append(found[key])
                    if key in found and axis not in found[key].ways:
                        joined = [other.along(axis), block.along(axis)]
                        found[key].ways[axis] = beside_one_another(axis, joined)
    return queue


class _Full(NamedTuple):
    """A block exactly as high as a row: its length and area in nm and nm², and its blanks."""

    length: int
    area: int
    code: int
    pattern: Pattern


class Peeling:
    """The search for cut trees of all the blanks of a sheet within a budget of offcuts.

    A row along an axis is a block as high as the row, if any, then parts that are not blocks: rows
    across it, and an offcut at the end. The search tries every such combination, except rows with
    two parts of two or more offcuts each beside a third, and ends after ``steps`` steps.
    """

    def __init__(self, blanks: Blanks, room: Room, steps: int) -> None:
        self.blanks = blanks
        self.room = room
        self.steps = steps
        self._across: dict[Axis, dict[int, list[_Full]]] = {
            "x": defaultdict(list),
            "y": defaultdict(list),
        }
        blocks = find_blocks(blanks, room)
        blocks.sort(key=lambda block: -block.width * block.height)
        for block in blocks:
            for axis, rows in self._across.items():
                length, cross = by_axis(axis, block.width, block.height)
                rows[cross].append(_Full(length, length * cross, block.code, block.along(axis)))
        self._known_lengths: dict[tuple[Axis, int], list[int]] = {}
        #: The largest budget with which a multiset is known not to fit a rectangle.
        self._failed: dict[tuple[int, int, int, Axis], int] = {}

    def trees(self, budget: int) -> Iterator[Pattern]:
        """Every way found to lay all blanks on the sheet with at most ``budget`` offcuts."""
        for axis in AXES:
            yield from self._rows(self.room.width, self.room.height, self.blanks.all, budget, axis)

    def _rows(
        self, width: int, height: int, code: int, budget: int, axis: Axis
    ) -> Iterator[Pattern]:
        """Ways to lay a multiset, not empty, in a rectangle that is first divided along an axis."""
        area, widest, highest = self.blanks.measure(code)
        over = width * height - area
        key = (width, height, code, axis)
        if (
            self.steps <= 0
            or over < 0
            or (over and not budget)
            or widest > width
            or highest > height
            or self._failed.get(key, -1) >= budget
        ):
            return
        self.steps -= 1
        length, cross = (width, height) if axis == "x" else (height, width)
        some = False
        for block in self._full(axis, cross, length, code):
            rest, left = length - block.length, code - block.code
            if rest and not self.room.may_cut(cross):
                continue
            if not left and (not rest or budget):
                some = True
                yield block.pattern
            for other in self._others(rest, cross, left, budget, axis) if left else ():
                some = True
                yield beside_one_another(axis, [block.pattern, other])
        for pattern in self._others(length, cross, code, budget, axis, whole=True):
            some = True
            yield pattern
        if not some and self.steps > 0:
            self._failed[key] = budget

    def _others(
        self, length: int, cross: int, code: int, budget: int, axis: Axis, *, whole: bool = False
    ) -> Iterator[Pattern]:
        """Ways to lay a multiset in the rest of a row without a block as high as the row.

        ``whole``: the rest is the whole row, which a single part that fills it would not divide.
        """
        area, *extents = self.blanks.measure(code)
        if area > length * cross or not budget or self.steps <= 0:
            return
        if not whole:
            yield from self._across_row(length, cross, code, budget, axis)
        if budget == 1 or not self.room.may_cut(cross):
            return
        longest = extents[axis == "y"]
        for part in self._lengths(axis, code):
            # What the rest of the row cannot hold must lie in the part, and the other way round.
            if part >= length or (longest > part and longest > length - part):
                continue
            if longest <= part and part * cross >= area:
                # With an offcut at the end.
                yield from self._across_row(part, cross, code, budget - 1, axis)
            if part in self._across[CROSS[axis]] and self.room.may_cut(part):
                least = area - (length - part) * cross
                for some, pattern in self._parts(part, cross, code, least, CROSS[axis]):
                    first = self._part(pattern, axis, cross)
                    for rest in self._others(length - part, cross, code - some, budget - 1, axis):
                        yield beside_one_another(axis, [first, rest])

    def _across_row(
        self, length: int, cross: int, code: int, budget: int, axis: Axis
    ) -> Iterator[Pattern]:
        """Ways to lay a multiset in one part of a row, divided across the row."""
        for pattern in self._rows(*by_axis(axis, length, cross), code, budget, CROSS[axis]):
            yield self._part(pattern, axis, cross)

    def _parts(
        self, cross: int, length: int, code: int, least: int, axis: Axis
    ) -> Iterator[tuple[int, Pattern]]:
        """Parts of a multiset, not all of it, with one offcut in a row of this height and length.

        ``least`` is the least area of such a part. The trimmer makes cuts as long as the row is
        high.
        """
        if self.steps <= 0:
            return
        self.steps -= 1
        for block in self._full(axis, cross, length - 1, code):
            left, rest, more = code - block.code, length - block.length, least - block.area
            if not left:
                continue
            if more <= 0:
                yield block.code, block.pattern
            if more >= rest * cross or rest not in self._across[CROSS[axis]]:
                continue
            if not self.room.may_cut(rest):
                continue
            for some, pattern in self._parts(rest, cross, left, more, CROSS[axis]):
                inner = self._part(pattern, axis, cross)
                yield block.code + some, beside_one_another(axis, [block.pattern, inner])

    def _part(self, pattern: Pattern, axis: Axis, cross: int) -> Pattern:
        """A pattern as one part of a row along an axis, with the remainder beside it in one piece."""
        if isinstance(pattern, Group) and pattern.axis == axis:
            breadth = pattern.height if axis == "x" else pattern.width
            if breadth * self.room.unit < cross:
                return grouped(CROSS[axis], (pattern,))
        return pattern

    def _full(self, axis: Axis, cross: int, length: int, code: int) -> list[_Full]:
        """Blocks of some of a multiset that are exactly as high as a row and no longer than it."""
        guard = self.blanks.guard
        guarded = code | guard
        return [
            block
            for block in self._across[axis].get(cross, ())
            if block[0] <= length and (guarded - block[2]) & guard == guard
        ]

    def _lengths(self, axis: Axis, code: int) -> list[int]:
        """The possible lengths of a part of a row: those of a block of the multiset, or of two blanks."""
        found = self._known_lengths.get((axis, code))
        if found is None:
            lengths = {
                length
                for length, blocks in self._across[CROSS[axis]].items()
                if any(self.blanks.has(code, block.code) for block in blocks)
            }
            pairs = combinations(
                (by_axis(axis, *size)[0] for size in self.blanks.sizes_in(code)), 2
            )
            found = sorted(lengths.union(map(sum, pairs)), reverse=True)
            self._known_lengths[axis, code] = found
        return found
