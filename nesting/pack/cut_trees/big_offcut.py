"""One large offcut: blanks moved together, and off the sheet with the most free room."""

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import islice

from nesting.pack.cut_trees.easy_trees import Way, by_rank
from nesting.pack.cut_trees.fewest_offcuts import Blanks, Peeling
from nesting.pack.cut_trees.sheet_groups import Alike, merge_alike
from nesting.pack.cut_trees.slicing_tree import (
    AXES,
    CROSS,
    Filled,
    Remainder,
    Slices,
    by_axis,
    cuts_in,
    fit,
    lay_out,
    may_cut,
    row_of,
    rows_of,
)
from nesting.pack.cut_trees.stroke_count import Laid, count_strokes, measured
from nesting.pack.cut_trees.usable_area import Room
from nesting.pack.model.deadline import stop_if_late
from nesting.pack.model.pattern import (
    Group,
    Leaf,
    Pattern,
    beside_one_another,
    blank_area,
    leaves,
    without_one,
)
from nesting.pack.model.problem import Problem
from nesting.papers import Axis, Sheet

#: The most steps, and the most offcuts, of the search for all blanks in a part of the sheet.
_STEPS, _MOST_OFFCUTS = 400, 4
#: The most ways to lay the blanks of a sheet.
_MOST_CONTENTS = 5


def in_one_piece(pattern: Pattern, width: int, height: int, room: Room) -> Filled | None:
    """Cut the remainder beside an ordered pattern off so that the largest kept offcut is largest.

    In addition to the ways of ``lay_out``, one member of a row may keep the remainder beside the
    row and be cut out of that. None where each way needs a cut that is too long.
    """
    ways = lay_out(pattern, width, height, room)
    if isinstance(pattern, Group):
        ways += _kept_by_one(pattern, width, height, room)
    return min(ways, key=lambda way: (-largest(way, room), cuts_in(way)), default=None)


def _kept_by_one(pattern: Group, width: int, height: int, room: Room) -> Iterator[Slices]:
    """The ways in which one member keeps the remainder beside the row and is cut out of that."""
    axis, members = pattern.axis, pattern.members
    (length, cross), (size, _) = (
        by_axis(axis, width, height),
        by_axis(axis, pattern.width * room.unit, pattern.height * room.unit),
    )
    if length == size:
        return
    sizes = [by_axis(axis, member.width, member.height)[0] * room.unit for member in members]
    fitted = [
        (fit(member, *by_axis(axis, own, cross), room.unit), own)
        for member, own in zip(members, sizes, strict=True)
    ]
    for number, member in enumerate(members):
        if member in members[:number]:
            continue
        rest = length - size + sizes[number]
        last = in_one_piece(member, *by_axis(axis, rest, cross), room)
        if last is not None:
            others = fitted[:number] + fitted[number + 1 :]
            way = row_of(axis, width, height, [*others, (last, rest)])
            if may_cut(way, room):
                yield way


def largest(part: Filled, room: Room) -> int:
    """The area of the largest kept offcut, in nm²."""
    return max((room.kept(over.width, over.height) for over in overs(part)), default=0)


def overs(part: Filled) -> Iterator[Remainder]:
    """All remainders."""
    for row in rows_of(part):
        yield from (one for one in row.parts if isinstance(one, Remainder))


def one_large_offcut(ways: Sequence[Way], room: Room) -> list[Laid]:
    """The trees with the largest kept offcut, then fewest strokes, without more exact fits."""
    exact = min(way.exact for way in ways)
    found: dict[Filled, int] = {way.part: way.strokes for way in ways if way.exact == exact}
    patterns = dict.fromkeys(way.pattern for way in sorted(ways, key=by_rank) if way.exact <= exact)
    for pattern in islice(patterns, _MOST_CONTENTS):
        part = in_one_piece(pattern, room.width, room.height, room)
        if part is not None:
            found[part] = count_strokes(part, room)
    ranks = {part: (-largest(part, room), strokes) for part, strokes in found.items()}
    best = min(ranks.values())
    return [measured(part, room) for part, rank in ranks.items() if rank == best]


def compact(room: Room, pattern: Pattern) -> Iterator[Pattern]:
    """The blanks of a sheet in as short a part of it as is found, along each axis."""
    blanks = Blanks(leaves(pattern), room.unit)
    if not blanks.countable:
        return
    for axis in AXES:
        length, cross = by_axis(axis, room.width, room.height)
        least = -(-blanks.measure(blanks.all).area // cross)
        lengths = [size for size in blanks.sums(axis) if least <= size < length]
        found: list[Pattern] = []

        def holds(
            size: int, cross: int = cross, axis: Axis = axis, found: list[Pattern] = found
        ) -> bool:
            width, height = by_axis(axis, size, cross)
            search = Peeling(blanks, replace(room, width=width, height=height), _STEPS)
            for budget in range(_MOST_OFFCUTS + 1):
                laid = next(search.trees(budget), None)
                if laid is not None:
                    found.append(laid)
                    return True
            return False

        bisect_left(lengths, True, key=holds)
        yield from found[-1:]


def gathered(sheets: Sequence[Alike], rooms: Sequence[Room], problem: Problem) -> tuple[Alike, ...]:
    """Move blanks from the sheet with the most free room into free room on the others.

    The number of sheets and what is cut from all of them together stay the same.
    """
    number = max(range(len(sheets)), key=lambda n: area_over(sheets[n].patterns[0], rooms[n]))
    room_on = {one.sheet: room for one, room in zip(sheets, rooms, strict=True)}
    emptied, others = sheets[number].parted()
    pile = [one for n, one in enumerate(sheets) if n != number] + ([others] if others.alike else [])
    pattern: Pattern = emptied.patterns[0]
    for kind in sorted(set(pattern.kinds), key=lambda kind: -problem.kinds[kind].area):
        for _ in range(pattern.kinds.count(kind)):
            stop_if_late()
            left = without_one(pattern, kind)
            place = _first_place(problem, kind, pile, room_on) if left is not None else None
            if left is None or place is None:
                break
            pattern, (at, fuller) = left, place
            one, rest = pile.pop(at).parted()
            pile += [replace(one, patterns=(fuller,)), *([rest] if rest.alike else [])]
    return merge_alike([*pile, replace(emptied, patterns=(pattern,))], problem)


def _first_place(
    problem: Problem, kind: int, pile: Sequence[Alike], room_on: dict[Sheet, Room]
) -> tuple[int, Pattern] | None:
    """The sheet with least free room that takes one more blank of a kind, and its new pattern."""
    alone = [shape for shape in problem.kinds[kind].shapes if shape.holds == 1]
    shapes = [shape for shape in alone if not shape.across_grain]
    order = sorted(
        range(len(pile)), key=lambda n: area_over(pile[n].patterns[0], room_on[pile[n].sheet])
    )
    for number in order:
        room = room_on[pile[number].sheet]
        for pattern in pile[number].patterns:
            for shape in shapes:
                fuller = with_one(pattern, Leaf(kind, shape), room.width, room.height, room.unit)
                if fuller is not None and lay_out(fuller, room.width, room.height, room):
                    return number, fuller
    return None


def with_one(pattern: Pattern, leaf: Leaf, width: int, height: int, unit: int) -> Pattern | None:
    """A pattern in a rectangle with one more blank in its free room, as deep inside as possible."""
    if leaf.width * unit > width or leaf.height * unit > height:
        return None
    if isinstance(pattern, Group):
        _, cross = by_axis(pattern.axis, width, height)
        for number, member in enumerate(pattern.members):
            own, _ = by_axis(pattern.axis, member.width * unit, member.height * unit)
            fuller = with_one(member, leaf, *by_axis(pattern.axis, own, cross), unit)
            if fuller is not None:
                members = [*pattern.members[:number], fuller, *pattern.members[number + 1 :]]
                return beside_one_another(pattern.axis, members)
    axes = AXES if not isinstance(pattern, Group) else (pattern.axis, CROSS[pattern.axis])
    for axis in axes:
        (length, cross), (own, _), (more, breadth) = (
            by_axis(axis, width, height),
            by_axis(axis, pattern.width * unit, pattern.height * unit),
            by_axis(axis, leaf.width * unit, leaf.height * unit),
        )
        if own + more <= length and breadth <= cross:
            return beside_one_another(axis, [pattern, leaf])
    return None


def area_over(pattern: Pattern, room: Room) -> int:
    """The area of a sheet that is not in blanks, in nm²."""
    return room.width * room.height - blank_area(pattern) * room.unit**2
