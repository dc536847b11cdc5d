"""Columns: patterns on one supply as the master problem sees them, without repeats."""

from collections.abc import Iterable
from dataclasses import dataclass

from nesting.pack.model.pattern import Pattern, counts, folds_across
from nesting.pack.model.problem import Problem


@dataclass(frozen=True, slots=True)
class Column:
    """One way to cut one sheet of a supply: how many of each kind it gives."""

    supply: int
    pattern: Pattern
    counts: tuple[int, ...]
    across_grain: int


def column_of(supply: int, pattern: Pattern, kinds: int) -> Column:
    """The column of a pattern on a supply, in a problem with ``kinds`` kinds."""
    return Column(supply, pattern, counts(pattern, kinds), folds_across(pattern))


@dataclass(frozen=True, slots=True)
class Used:
    """A column and how many sheets are cut by it."""

    column: Column
    count: int


def cut_once(patterns: Iterable[Pattern], kinds: int) -> list[Used]:
    """Each pattern on one sheet of the first supply."""
    return [Used(column_of(0, pattern, kinds), 1) for pattern in patterns]


def surplus(plan: Iterable[Used], demand: Iterable[int]) -> list[int]:
    """How many of each kind a plan has beyond a demand; negative where it lacks some."""
    found = [-needed for needed in demand]
    for used in plan:
        for kind, number in enumerate(used.column.counts):
            found[kind] += number * used.count
    return found


def meets(plan: Iterable[Used], demand: Iterable[int]) -> bool:
    """Whether a plan has as many of each kind as a demand asks for."""
    return all(number >= 0 for number in surplus(plan, demand))


class Pool:
    """All columns found so far: for equal counts on one supply, the one with fewest folds across."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.columns: list[Column] = []
        self._known: dict[tuple[int, tuple[int, ...]], int] = {}

    def add(self, supply: int, pattern: Pattern) -> int:
        """Add a pattern and return its column's number.

        A pattern with more than the demand is kept as it is: if it were clipped, the relaxation
        could no longer use a fraction of it, and column generation would end before its bound is
        reached. Blanks beyond the demand are taken out of the plan at the end (``overproduction``).
        """
        return self.take(column_of(supply, pattern, len(self.problem.kinds)))

    def take(self, column: Column) -> int:
        """Add a column of the same problem and return its number."""
        number = self._known.setdefault((column.supply, column.counts), len(self.columns))
        if number == len(self.columns):
            self.columns.append(column)
        elif column.across_grain < self.columns[number].across_grain:
            self.columns[number] = column
        return number

    def add_to_size(self, size: int, pattern: Pattern) -> None:
        """Add a pattern for every supply of a size."""
        for supply in self.problem.sizes[size].supplies:
            self.add(supply, pattern)
