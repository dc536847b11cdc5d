"""The work of cutting a sheet: strokes, ruler settings, exact fits; and its offcuts."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import accumulate
from typing import NamedTuple

from nesting.pack.cut_trees.slicing_tree import (
    Filled,
    Remainder,
    Slice,
    Slices,
    arms_in,
    by_axis,
    cuts_in,
    rows_of,
)
from nesting.pack.cut_trees.usable_area import Room
from nesting.pack.model.pattern import Group, Pattern
from nesting.papers import Axis


class Choosable(NamedTuple):
    """The sizes of a row, all but one of which take a ruler setting: the last part needs none.

    ``over`` is the size of the remainder, 0 where there is none.
    """

    sizes: frozenset[int]
    over: int


@dataclass(frozen=True, slots=True)
class Laid:
    """One way to cut a sheet, and its figures.

    ``settings`` are the ruler settings needed in any case, ``rows`` those rows that leave a choice.
    ``largest`` and ``kept`` are the areas of the largest kept offcut and of all, in nm².
    """

    part: Filled
    settings: frozenset[int]
    rows: frozenset[Choosable]
    largest: int
    kept: int


def count_strokes(part: Filled, room: Room) -> int:
    """The strokes for one sheet, without those before its pattern is reached."""
    return cuts_in(part) + (room.far is not None and not _stays_on(part, room))


def _stays_on(part: Filled, room: Room) -> bool:
    """Whether what comes off at the far end stays on the remainder (``cutting.parallel_cuts``)."""
    if not isinstance(part, Slices) or part.axis != room.far:
        return False
    if room.far_low and part.sizes[-1] <= room.cut_width:
        return False
    last = part.parts[-1]
    return isinstance(last, Remainder) and (room.strip or not room.kept(last.width, last.height))


def measured(part: Filled, room: Room) -> Laid:
    """Measure one way to cut a sheet."""
    settings: set[int] = set()
    rows: set[Choosable] = set()
    kept: list[int] = []
    for row in rows_of(part):
        over = row.parts[-1]
        if isinstance(over, Remainder):
            kept.append(room.kept(over.width, over.height))
        if room.marks:
            settings.update(accumulate(row.sizes[:-1]))
        elif row is part and row.axis == room.far:
            settings.update(row.sizes[:-1] if _stays_on(part, room) else row.sizes)
        elif isinstance(over, Remainder) and row.sizes[-1] <= room.cut_width:
            settings.update(row.sizes[:-1])  # the last cut takes the whole remainder
        else:
            counted = Counter(row.sizes)
            settings.update(size for size, n in counted.items() if n > 1)
            single = frozenset(size for size, n in counted.items() if n == 1)
            if len(single) > 1:
                rows.add(Choosable(single, row.sizes[-1] if isinstance(over, Remainder) else 0))
    for arms in arms_in(part):
        settings.update((arms.x[0], arms.y[0], arms.width - arms.x[1], arms.height - arms.y[1]))
    if room.far is not None and not (isinstance(part, Slices) and part.axis == room.far):
        settings.add(room.size(room.far))
    return Laid(part, frozenset(settings), frozenset(rows), max(kept, default=0), sum(kept))


def ruler_settings(sheets: Iterable[Laid]) -> frozenset[int]:
    """The ruler settings for some sheets together, in nm with the cut width added.

    The last part of a row needs none, and any part may be last: the remainder, if no other row
    needs its size, else the part whose size the fewest other rows need.
    """
    sheets = tuple(sheets)
    needed = set().union(*(laid.settings for laid in sheets))
    rows = set().union(*(laid.rows for laid in sheets))
    often = Counter(size for row in rows for size in row.sizes)
    for row in sorted(rows, key=lambda row: (len(row.sizes), sorted(row.sizes), row.over)):
        more = row.sizes - needed
        if len(more) > 1:
            last = min(more, key=lambda size: (often[size], size != row.over, -size))
            needed |= more - {last}
    return frozenset(needed)


def more_settings(laid: Laid, known: frozenset[int]) -> int:
    """How many ruler settings a sheet adds to known ones."""
    needed = laid.settings | known
    return len(needed) - len(known) + sum(max(0, len(row.sizes - needed) - 1) for row in laid.rows)


def with_lasts(part: Slice, settings: frozenset[int], room: Room, *, first: bool = True) -> Slice:
    """The same cuts, with a part that needs no ruler setting at the end of each row."""
    if not isinstance(part, Slices) or room.marks:
        return part
    parts = [with_lasts(one, settings, room, first=False) for one in part.parts]
    sizes = list(part.sizes)
    if not first or part.axis != room.far:
        own = [n for n, size in enumerate(sizes) if size not in settings]
        if own and own[-1] != len(sizes) - 1 and sizes[-1] > room.cut_width:
            sizes.append(sizes.pop(own[-1]))
            parts.append(parts.pop(own[-1]))
    return part._replace(parts=tuple(parts), sizes=tuple(sizes))


def exact_fits(pattern: Pattern, room: Room) -> int:
    """Along how many axes a line across the sheet meets two or more blanks and nothing else.

    The remainder lies at the end of each row of an ordered pattern.
    """
    filled: list[Axis] = []
    if pattern.width * room.unit == room.width:
        filled.append("x")
    if pattern.height * room.unit == room.height:
        filled.append("y")
    length = {"x": room.width, "y": room.height}
    return sum(
        any(met > 1 for *_, met in _lines(pattern, length[axis], room.unit, axis))
        for axis in filled
    )


def _lines(pattern: Pattern, length: int, unit: int, axis: Axis) -> list[tuple[int, int, int]]:
    """Where lines of this length along an axis meet only blanks: from, to, and the most they meet."""
    own, cross = by_axis(axis, pattern.width * unit, pattern.height * unit)
    if not isinstance(pattern, Group):
        return [(0, cross, 1)] if own == length else []
    if pattern.axis != axis:
        found, start = [], 0
        for member in pattern.members:
            found += [
                (start + a, start + b, met) for a, b, met in _lines(member, length, unit, axis)
            ]
            start += by_axis(axis, member.width, member.height)[1] * unit
        return found
    if own < length:
        return []
    lines: list[tuple[int, int, int]] = [(0, cross, 0)]
    for member in pattern.members:
        size, _ = by_axis(axis, member.width * unit, member.height * unit)
        others = _lines(member, size, unit, axis)
        lines = [
            (max(a, c), min(b, d), met + more)
            for a, b, met in lines
            for c, d, more in others
            if max(a, c) < min(b, d)
        ]
        if not lines:
            break
    return lines
