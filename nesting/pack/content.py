"""What lies on one sheet, as groups of blanks: a cut tree without its offcuts.

A group lays its members side by side along one axis; whatever is not blank is over, and where it
is over is decided once, when the cut tree is written (``nesting.pack.trees``). Taking a blank out
therefore needs no repair.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate, pairwise

from nesting.batch import Axis
from nesting.pack.problem import Shape


@dataclass(frozen=True)
class Leaf:
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


@dataclass(frozen=True)
class Group:
    """Members side by side along ``axis``, each starting at the same cross edge."""

    axis: Axis
    members: tuple["Content", ...]

    @cached_property
    def width(self) -> int:
        """Width in units, cut width added."""
        widths = [member.width for member in self.members]
        return sum(widths) if self.axis == "x" else max(widths)

    @cached_property
    def height(self) -> int:
        """Height in units, cut width added."""
        heights = [member.height for member in self.members]
        return sum(heights) if self.axis == "y" else max(heights)


Content = Leaf | Group


def group(axis: Axis, members: list[Content | None]) -> Content | None:
    """Lay contents side by side: empty ones dropped, groups along the same axis taken up."""
    flat: list[Content] = []
    for member in members:
        if isinstance(member, Group) and member.axis == axis:
            flat.extend(member.members)
        elif member is not None:
            flat.append(member)
    if len(flat) <= 1:
        return flat[0] if flat else None
    return Group(axis, tuple(flat))


def leaves(content: Content | None) -> Iterator[Leaf]:
    """Every blank, in order."""
    todo: list[Content] = [content] if content is not None else []
    while todo:
        member = todo.pop()
        if isinstance(member, Leaf):
            yield member
        else:
            todo.extend(reversed(member.members))


def counts(content: Content | None, kinds: int) -> tuple[int, ...]:
    """How many of each kind there are; a group of circles counts them all."""
    found: Counter[int] = Counter()
    for leaf in leaves(content):
        found[leaf.kind] += leaf.shape.holds
    return tuple(found[kind] for kind in range(kinds))


def without_one(content: Content, kind: int) -> Content | None:
    """Take one blank of a kind, or one circle of a group, out, where what remains is smallest; None where nothing remains."""
    if isinstance(content, Leaf):
        if content.kind != kind:
            return content
        smaller = content.shape.fewer
        return None if smaller is None else Leaf(kind, smaller)
    best: tuple[int, int] | None = None
    remains: Content | None = content
    seen: set[Content] = set()
    for number in reversed(range(len(content.members))):
        member = content.members[number]
        if member in seen or all(leaf.kind != kind for leaf in leaves(member)):
            continue
        seen.add(member)
        fewer: list[Content | None] = list(content.members)
        fewer[number] = without_one(member, kind)
        candidate = group(content.axis, fewer)
        if candidate is None:
            return None
        size = (candidate.width * candidate.height, -number)
        if best is None or size < best:
            best, remains = size, candidate
    return remains


def tidied(content: Content, longest: int | None) -> Content:
    """Put members in an order that is easy to cut: full ones first, equal ones side by side.

    Where the same blanks can be divided along the other axis first, the way with fewer distinct
    lengths to set the ruler to is taken, or else the one with fewer and longer rows. ``longest``
    is the longest cut in units.
    """
    if isinstance(content, Leaf):
        return content
    members = [tidied(member, longest) for member in content.members]
    ordered = Group(content.axis, tuple(sorted(members, key=lambda m: _order(content.axis, m))))
    extent = ordered.width if content.axis == "x" else ordered.height
    if longest is not None and extent > longest:
        return ordered
    other = _divided_across(ordered)
    if other is None:
        return ordered
    return min(ordered, other, key=lambda way: (len(_lengths(way)), len(way.members)))


def _order(axis: Axis, member: Content) -> tuple[int, int, list[int]]:
    cross, along = member.height, member.width
    if axis == "y":
        cross, along = along, cross
    return -cross, -along, [leaf.kind for leaf in leaves(member)]


def _divided_across(content: Group) -> Group | None:
    """The same blanks divided along the other axis first, at every place where all members allow it."""
    cross: Axis = "y" if content.axis == "x" else "x"
    rows = [
        m.members if isinstance(m, Group) and m.axis == cross else (m,) for m in content.members
    ]
    ends = [
        list(accumulate(row.height if cross == "y" else row.width for row in column))
        for column in rows
    ]
    full = max(column[-1] for column in ends)
    shared = sorted(
        end
        for end in set().union(*ends)
        if end == full or all(end in column or end > column[-1] for column in ends)
    )
    if len(shared) < 2:
        return None
    slices: list[Content | None] = []
    for low, high in pairwise([0, *shared]):
        parts = [
            group(cross, [r for r, end in zip(column, until, strict=True) if low < end <= high])
            for column, until in zip(rows, ends, strict=True)
        ]
        slices.append(group(content.axis, parts))
    divided = group(cross, slices)
    return divided if isinstance(divided, Group) and divided.axis == cross else None


def _lengths(content: Content) -> set[int]:
    """The distinct lengths that the ruler is set to."""
    if isinstance(content, Leaf):
        return set()
    own = {member.width if content.axis == "x" else member.height for member in content.members}
    return own.union(*map(_lengths, content.members))
