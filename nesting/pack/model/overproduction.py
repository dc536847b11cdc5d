"""Blanks beyond the demand are taken out of the plan again."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from nesting.pack.model.columns import Used, column_of
from nesting.pack.model.pattern import Pattern, without_one


class Thinned(NamedTuple):
    """Equal sheets of the pattern ``number``, and how many of each kind they keep."""

    number: int
    held: tuple[int, ...]
    alike: int


def thinned(
    patterns: Iterable[tuple[tuple[int, ...], int]], demand: tuple[int, ...]
) -> list[Thinned]:
    """Decide what the sheets keep of each pattern, given its counts and its number of sheets.

    Where possible the same blanks are taken from all sheets of a pattern, so that they stay alike.
    Sheets that keep nothing are left out.
    """
    left = [Thinned(number, held, alike) for number, (held, alike) in enumerate(patterns)]
    for kind, needed in enumerate(demand):
        surplus = sum(one.held[kind] * one.alike for one in left) - needed
        while surplus > 0:
            one = left.pop(_thin_first(left, kind, surplus))
            alike = min(one.alike, surplus)
            if alike < one.alike:
                left.append(Thinned(one.number, one.held, one.alike - alike))
            fewer = (*one.held[:kind], one.held[kind] - 1, *one.held[kind + 1 :])
            if any(fewer):
                left.append(Thinned(one.number, fewer, alike))
            surplus -= alike
    return left


def _thin_first(left: list[Thinned], kind: int, surplus: int) -> int:
    """Which pattern loses a blank: one that stays whole if it can be, else the one that has fewest."""
    return min(
        (one.alike > surplus, sum(one.held), -one.alike, place)
        for place, one in enumerate(left)
        if one.held[kind]
    )[-1]


def without_overproduction(plan: Sequence[Used], demand: tuple[int, ...]) -> list[Used]:
    """Take out the blanks beyond the demand; their room becomes offcuts."""
    lean = []
    for one in thinned(((used.column.counts, used.count) for used in plan), demand):
        column = plan[one.number].column
        pattern = _without(column.pattern, column.counts, one.held)
        if pattern is not None:
            lean.append(Used(column_of(column.supply, pattern, len(demand)), one.alike))
    return lean


def _without(pattern: Pattern, held: tuple[int, ...], kept: tuple[int, ...]) -> Pattern | None:
    """A pattern with fewer of some kinds."""
    remains: Pattern | None = pattern
    for kind, (before, after) in enumerate(zip(held, kept, strict=True)):
        for _ in range(before - after):
            remains = without_one(remains, kind) if remains is not None else None
    return remains
