"""Of all cut trees for the same blanks on the same sheet, those that are easiest to cut.

In this order: few blanks from edge to edge of a sheet (exact fits), few strokes, few ruler settings
over all layouts of a paper, and large remainders. No tree takes more strokes than the packer's own.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import islice
from operator import attrgetter
from typing import NamedTuple

from nesting.pack.cut_trees.fewest_offcuts import Blanks, Peeling
from nesting.pack.cut_trees.slicing_tree import Filled, lay_out, ordered
from nesting.pack.cut_trees.stroke_count import (
    Laid,
    count_strokes,
    exact_fits,
    measured,
    more_settings,
    ruler_settings,
)
from nesting.pack.cut_trees.usable_area import Room
from nesting.pack.model.deadline import is_late
from nesting.pack.model.pattern import Leaf, Pattern, leaves
from nesting.pack.model.problem import Shape

#: The most steps of the search for a layout of few blanks, and for one of more.
_STEPS, _FEW, _STEPS_OF_MANY = 250, 8, 100
#: The most trees of a layout to look at for each number of strokes, and to keep for the choice.
_MOST_TREES, _MOST_CHOICES = 16, 6
#: How often all layouts of a paper are gone through for few ruler settings.
_TURNS = 3


class Way(NamedTuple):
    """A way to cut a sheet, with its ``rank``: exact fits, then strokes."""

    rank: tuple[int, int]
    pattern: Pattern
    part: Filled

    @property
    def exact(self) -> int:
        """How many exact fits there are."""
        return self.rank[0]

    @property
    def strokes(self) -> int:
        """How many strokes it takes."""
        return self.rank[1]


#: The sort key of ways.
by_rank = attrgetter("rank")


def find_ways(room: Room, patterns: Sequence[Pattern]) -> list[Way]:
    """Find the ways to cut the blanks of a sheet with fewest strokes, and some others.

    ``patterns`` are the packer's; no way takes more strokes than the best of these.
    """
    seen: set[Pattern] = set()
    ways = ways_of(room, _fresh(patterns, seen))
    most = min(way.strokes for way in ways)
    ways += _searched(room, patterns[0], most, seen)
    return [way for way in ways if way.strokes <= most]


def ways_of(room: Room, patterns: Iterable[Pattern], most: int | None = None) -> list[Way]:
    """Every way to cut the remainder off ordered patterns, in ``most`` cuts at most."""
    found: list[Way] = []
    for pattern in patterns:
        parts = lay_out(pattern, room.width, room.height, room, most)
        exact = exact_fits(pattern, room) if parts else 0
        found += [Way((exact, count_strokes(part, room)), pattern, part) for part in parts]
    return found


def _searched(room: Room, pattern: Pattern, most: int, seen: set[Pattern]) -> list[Way]:
    """Trees with as few strokes as are found, and with more where that avoids an exact fit.

    None where it is late: the packer's own trees will do.
    """
    found = _peeled(room, list(leaves(pattern)), most, seen)
    for blanks in _one_way(pattern):
        fewer = min((way.strokes for way in found), default=most) - 1
        found += _peeled(room, blanks, fewer, seen)
    return found


def _one_way(pattern: Pattern) -> Iterator[list[Leaf]]:
    """The blanks with equal ones that lie both ways all turned one way: rows of them take few strokes."""
    blanks = list(leaves(pattern))
    alike = [(one.kind, one.shape.holds, one.shape.across_grain) for one in blanks]
    shapes: dict[tuple[int, int, bool], set[Shape]] = {}
    for key, one in zip(alike, blanks, strict=True):
        shapes.setdefault(key, set()).add(one.shape)
    if len(shapes) < len(set(blanks)):
        for side in (attrgetter("width"), attrgetter("height")):
            yield [Leaf(key[0], max(shapes[key], key=side)) for key in alike]


def _peeled(room: Room, lying: list[Leaf], most: int, seen: set[Pattern]) -> list[Way]:
    """The ways with fewest strokes, at most so many, that are found for some blanks."""
    blanks = Blanks(lying, room.unit)
    least = int(blanks.measure(blanks.all).area < room.width * room.height)
    budgets = range(least, most - len(lying) + 2)
    if not budgets or len(lying) == 1 or not blanks.countable or is_late():
        return []
    search = Peeling(blanks, room, _STEPS if len(lying) <= _FEW else _STEPS_OF_MANY)
    found: list[Way] = []
    for budget in budgets:
        trees = islice(_fresh(search.trees(budget), seen), _MOST_TREES)
        found += ways_of(room, trees, most)
        if found and not min(way.exact for way in found):
            break
    return found


def _fresh(trees: Iterable[Pattern], seen: set[Pattern]) -> Iterator[Pattern]:
    """The trees not seen before in any order of their rows."""
    for tree in trees:
        known = len(seen)
        seen.add(tree)
        if len(seen) > known:
            in_order = ordered(tree)
            if in_order == tree or in_order not in seen:
                seen.add(in_order)
                yield in_order


def easy_to_cut(ways: Sequence[Way], room: Room) -> list[Laid]:
    """The best ways; of those with equal strokes, fewest ruler settings first."""
    best = min(way.rank for way in ways)
    equal = (way for way in ways if way.rank == best)
    distinct: dict[tuple[object, object], Laid] = {}
    for laid in sorted(
        (measured(way.part, room) for way in islice(equal, _MOST_TREES)),
        key=lambda laid: (more_settings(laid, frozenset()), -laid.largest, -laid.kept),
    ):
        distinct.setdefault((laid.settings, laid.rows), laid)
    return list(islice(distinct.values(), _MOST_CHOICES))


def few_settings(choices: Sequence[Sequence[Laid]]) -> list[Laid]:
    """One tree for each layout of a paper, so that all together need few ruler settings.

    Each layout in turn, least choice first, takes the tree that adds fewest settings to those of
    the others, until nothing changes, or it is late.
    """
    chosen = [own[0] for own in choices]
    order = sorted(
        (n for n, own in enumerate(choices) if len(own) > 1), key=lambda n: len(choices[n])
    )
    for _ in range(_TURNS):
        before = list(chosen)
        for number in order:
            if is_late():
                break
            others = ruler_settings(chosen[:number] + chosen[number + 1 :])
            chosen[number] = min(
                choices[number], key=lambda laid: (more_settings(laid, others), -laid.largest)
            )
        if chosen == before:
            break
    return chosen
