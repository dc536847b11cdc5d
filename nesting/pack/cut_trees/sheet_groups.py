"""The sheets of a plan, grouped by the pieces they give."""

from dataclasses import dataclass, replace

from nesting.pack.model.columns import Used
from nesting.pack.model.overproduction import without_overproduction
from nesting.pack.model.pattern import Pattern, counts, folds_across
from nesting.pack.model.problem import Problem
from nesting.papers import Sheet


@dataclass(frozen=True, slots=True)
class Alike:
    """Sheets that give the same pieces: how many there are, and how many of them are to buy.

    ``patterns`` are the ways found to lay their blanks.
    """

    sheet: Sheet
    patterns: tuple[Pattern, ...]
    alike: int
    to_buy: int

    def parted(self) -> "tuple[Alike, Alike]":
        """One sheet, and the others if any; sheets to buy come last."""
        others = replace(self, alike=self.alike - 1, to_buy=min(self.to_buy, self.alike - 1))
        return replace(self, alike=1, to_buy=self.to_buy - others.to_buy), others


def alike_sheets(plan: tuple[Used, ...], problem: Problem) -> tuple[Alike, ...]:
    """The sheets of a plan without what is beyond the demand, in groups."""
    sheets = []
    for used in without_overproduction(plan, problem.demand):
        supply = problem.supplies[used.column.supply]
        to_buy = used.count if supply.bought else 0
        sheets.append(Alike(supply.sheet, (used.column.pattern,), used.count, to_buy))
    return merge_alike(sheets, problem)


def merge_alike(sheets: list[Alike], problem: Problem) -> tuple[Alike, ...]:
    """Merge groups of sheets that give the same.

    Of their patterns, those with the fewest folds across the grain are kept.
    """
    found: dict[tuple[Sheet, tuple[int, ...]], Alike] = {}
    for one in sheets:
        key = one.sheet, counts(one.patterns[0], len(problem.kinds))
        found[key] = _added(found[key], one) if key in found else one
    return tuple(found.values())


def _added(one: Alike, other: Alike) -> Alike:
    """Two groups merged."""
    patterns = dict.fromkeys(one.patterns + other.patterns)
    least = min(map(folds_across, patterns))
    return replace(
        one,
        patterns=tuple(pattern for pattern in patterns if folds_across(pattern) == least),
        alike=one.alike + other.alike,
        to_buy=one.to_buy + other.to_buy,
    )
