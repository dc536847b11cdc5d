"""A pattern: what lies on one sheet, as groups of blanks; a cut tree without its offcuts.

A group lays its members side by side along one axis. Room without a blank is left over; where
exactly it lies is decided once, when the cut tree is written
(``nesting.pack.cut_trees.write_tree``). A blank can therefore be taken out without any repair.
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from nesting.pack.model.problem import Shape
from nesting.papers import Axis


class Leaf(NamedTuple):
    """One blank of a kind, lying in one of its shapes."""

    kind: int
    shape: Shape

    @property
    def width(self) -> int:
        """Width in units, cut width added."""
        return self.shape.width

    @property
    def height(self) -> int:
        """Height in units, cut width added."""
        return self.shape.height

    @property
    def kinds(self) -> tuple[int, ...]:
        """The kinds of its blanks, in order."""
        return (self.kind,)


class Group(NamedTuple):
    """Members side by side along ``axis``, each starting at the same cross edge (``grouped``).

    ``width`` and ``height`` are in units, cut width added; ``kinds`` are those of its blanks, in
    order.
    """

    axis: Axis
    members: tuple["Pattern", ...]
    width: int
    height: int
    kinds: tuple[int, ...]


class Wheel(NamedTuple):
    """Four arms round a centre, as a pinwheel cuts them, its bottom arm beginning on the left.

    ``members`` are the arms at the bottom, on the left, at the top and on the right, and the centre;
    None where nothing lies. ``width`` and ``height`` are the least that it needs, with a centre that is
    at least ``gap`` wide and high.
    """

    members: tuple["Pattern | None", ...]
    width: int
    height: int
    kinds: tuple[int, ...]
    gap: int


Pattern = Leaf | Group | Wheel


def wheel_of(members: Sequence["Pattern | None"], gap: int) -> Wheel:
    """Put four arms round a centre that is at least ``gap`` wide and high, in units."""
    width, height = wheel_size(
        [(0, 0) if one is None else (one.width, one.height) for one in members], gap
    )
    kinds = tuple(kind for one in members if one is not None for kind in one.kinds)
    return Wheel(tuple(members), width, height, kinds, gap)


def wheel_size(sizes: Sequence[tuple[int, int]], gap: int) -> tuple[int, int]:
    """The least width and height of a pinwheel whose members have these sizes."""
    bottom, left, top, right, centre = sizes
    past = max(bottom[0], left[0] + max(centre[0], gap))
    above = max(right[1], bottom[1] + max(centre[1], gap))
    return (
        max(past + right[0], left[0] + top[0]),
        max(above + top[1], bottom[1] + left[1]),
    )


def grouped(axis: Axis, members: tuple[Pattern, ...]) -> Group:
    """Put members side by side without merging any."""
    return Group(axis, members, *_measured(axis, members))


def _measured(axis: Axis, members: Sequence[Pattern]) -> tuple[int, int, tuple[int, ...]]:
    """Width and height of members side by side, and the kinds of their blanks."""
    width = height = 0
    kinds: tuple[int, ...] = ()
    for member in members:
        if axis == "x":
            width += member.width
            height = max(height, member.height)
        else:
            width = max(width, member.width)
            height += member.height
        kinds += member.kinds
    return width, height, kinds


def group(axis: Axis, members: list[Pattern | None]) -> Pattern | None:
    """Put patterns side by side: empty ones are dropped, groups along the same axis merged."""
    present = [member for member in members if member is not None]
    if len(present) < 2:
        return present[0] if present else None
    return beside_one_another(axis, present)


def beside_one_another(axis: Axis, members: list[Pattern]) -> Pattern:
    """Put one or more patterns side by side: groups along the same axis are merged."""
    flat: list[Pattern] = []
    for member in members:
        if isinstance(member, Group) and member.axis == axis:
            flat += member.members
        else:
            flat.append(member)
    return flat[0] if len(flat) == 1 else Group(axis, tuple(flat), *_measured(axis, members))


def leaves(pattern: Pattern | None) -> Iterator[Leaf]:
    """Every blank, in order."""
    todo: list[Pattern] = [pattern] if pattern is not None else []
    while todo:
        member = todo.pop()
        if isinstance(member, Leaf):
            yield member
        else:
            todo.extend(one for one in reversed(member.members) if one is not None)


def is_stopped(pattern: Pattern) -> bool:
    """Whether it takes cuts that end inside the sheet."""
    if isinstance(pattern, Group):
        return any(map(is_stopped, pattern.members))
    return isinstance(pattern, Wheel)


def counts(pattern: Pattern | None, kinds: int) -> tuple[int, ...]:
    """How many of each kind a pattern holds; a group of circles counts all of its circles."""
    found = [0] * kinds
    for leaf in leaves(pattern):
        found[leaf.kind] += leaf.shape.holds
    return tuple(found)


def counts_within(pattern: Pattern, demand: tuple[int, ...]) -> tuple[int, ...]:
    """How many of each kind a pattern holds, clipped to the demand."""
    return tuple(map(min, counts(pattern, len(demand)), demand))


def without_one(pattern: Pattern, kind: int) -> Pattern | None:
    """Take out one blank of a kind, or one circle of a group, so that the smallest pattern remains.

    None where nothing remains.
    """
    if isinstance(pattern, Leaf):
        if pattern.kind != kind:
            return pattern
        smaller = pattern.shape.fewer
        return None if smaller is None else Leaf(kind, smaller)
    if isinstance(pattern, Wheel):
        return _wheel_without_one(pattern, kind)
    best: tuple[int, int] | None = None
    remains: Pattern | None = pattern
    seen: set[Pattern] = set()
    for number in reversed(range(len(pattern.members))):
        member = pattern.members[number]
        if kind not in member.kinds or member in seen:
            continue
        seen.add(member)
        fewer: list[Pattern | None] = list(pattern.members)
        fewer[number] = without_one(member, kind)
        candidate = group(pattern.axis, fewer)
        if candidate is None:
            return None
        size = (candidate.width * candidate.height, -number)
        if best is None or size < best:
            best, remains = size, candidate
    return remains


def _wheel_without_one(wheel: Wheel, kind: int) -> Pattern | None:
    """Take one blank out of the first member of a pinwheel that has one; its room is left over."""
    members = list(wheel.members)
    for number, member in enumerate(members):
        if member is not None and kind in member.kinds:
            members[number] = without_one(member, kind)
            break
    kinds = tuple(kind for one in members if one is not None for kind in one.kinds)
    return wheel._replace(members=tuple(members), kinds=kinds) if kinds else None


def folds_across(pattern: Pattern) -> int:
    """How many blanks have their fold across the grain."""
    return sum(leaf.shape.across_grain for leaf in leaves(pattern))


def blank_area(pattern: Pattern) -> int:
    """Area of the blanks of a pattern in units."""
    return sum(leaf.width * leaf.height for leaf in leaves(pattern))
