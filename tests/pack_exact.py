"""Guillotine layouts by trying every cut at every whole number: slow, plain, sure.

Nothing here knows of cut points, of adding the cut width to blanks, or of bounds.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache, partial, reduce
from itertools import combinations, product

from nesting.pack.model.problem import Problem

Counts = tuple[int, ...]
Rect = tuple[int, int]


@dataclass(frozen=True)
class Tries:
    """The blanks of each kind, every way they may lie, and the trimmer, in whole millimetres."""

    blanks: tuple[frozenset[Rect], ...]
    cut_width: int
    longest: int | None
    stopped: bool = False

    def divisions(self, width: int, height: int) -> Iterator[tuple[Rect, ...]]:
        """What every cut makes that the trimmer is long enough for, and every pinwheel."""
        if self.stopped:
            yield from self._pinwheels(width, height)
        if self.longest is None or height <= self.longest:
            yield from (((at, height), (rest, height)) for at, rest in self._parted(width))
        if self.longest is None or width <= self.longest:
            yield from (((width, at), (width, rest)) for at, rest in self._parted(height))

    def _parted(self, side: int) -> Iterator[Rect]:
        """A side cut at every whole number, but for those that give the same two mirrored."""
        for at in range(1, side):
            rest = max(0, side - at - self.cut_width)
            if not 0 < rest < at:
                yield at, rest

    def _pinwheels(self, width: int, height: int) -> Iterator[tuple[Rect, ...]]:
        """Four arms and the centre, for every four lines that leave something of each."""
        wide = self.cut_width
        for left, right in combinations(range(1, width - wide), 2):
            for low, high in combinations(range(1, height - wide), 2):
                centre = right - left - wide, high - low - wide
                if min(centre) > 0:
                    bottom, top = (right, low), (width - left - wide, height - high - wide)
                    upright = (left, height - low - wide), (width - right - wide, high)
                    yield bottom, *upright, top, centre

    def most_value(self, values: tuple[int, ...], rect: Rect) -> int:
        """The most value that a rectangle can hold, with as many of each kind as it takes."""

        @cache
        def most(width: int, height: int) -> int:
            whole = [
                value
                for value, ways in zip(values, self.blanks, strict=True)
                if (width, height) in ways
            ]
            cut = (sum(most(*part) for part in parts) for parts in self.divisions(width, height))
            return max([0, *whole, *cut])

        return most(*rect)

    def patterns(self, demand: Counts, rect: Rect) -> frozenset[Counts]:
        """The counts of each kind that a rectangle can hold within the demand, largest ones only."""
        nothing = (0,) * len(demand)

        @cache
        def held(width: int, height: int) -> frozenset[Counts]:
            found = {nothing}
            for kind, ways in enumerate(self.blanks):
                if (width, height) in ways and demand[kind]:
                    found.add(tuple(int(k == kind) for k in range(len(demand))))
            for parts in self.divisions(width, height):
                for held_by_parts in product(*(held(*part) for part in parts)):
                    found.add(reduce(partial(clipped, demand=demand), held_by_parts))
            return largest(found)

        return held(*rect)


def clipped(one: Counts, other: Counts, demand: Counts) -> Counts:
    """Both counts together, no more than the demand."""
    return tuple(min(a + b, most) for a, b, most in zip(one, other, demand, strict=True))


def largest(found: Iterable[Counts]) -> frozenset[Counts]:
    """Those counts that no other one contains."""
    kept: list[Counts] = []
    for counts in sorted(found, key=sum, reverse=True):
        if not any(all(a <= b for a, b in zip(counts, other, strict=True)) for other in kept):
            kept.append(counts)
    return frozenset(kept)


def tries_of(problem: Problem) -> Tries:
    """The same blanks and trimmer as a problem whose lengths are whole millimetres."""
    cut_width, longest = problem.trimmer.cut_width, problem.trimmer.longest_cut
    return Tries(
        tuple(
            frozenset(
                (
                    (shape.width * problem.unit - cut_width) // 1_000_000,
                    (shape.height * problem.unit - cut_width) // 1_000_000,
                )
                for shape in kind.shapes
            )
            for kind in problem.kinds
        ),
        cut_width // 1_000_000,
        None if longest is None else longest // 1_000_000,
        problem.stopped,
    )


def usable_of(problem: Problem) -> list[Rect]:
    """Each supply's usable rectangle in whole millimetres."""
    return [(width // 1_000_000, height // 1_000_000) for width, height in problem.usable]


def least_cost(problem: Problem) -> int:
    """The least cost of the demand, by trying every way to cut every next sheet."""
    tries = tries_of(problem)
    held = [tries.patterns(problem.demand, rect) for rect in usable_of(problem)]

    @cache
    def least(open_: Counts, left: tuple[int | None, ...]) -> float:
        if not any(open_):
            return 0
        best = float("inf")
        for number, supply in enumerate(problem.supplies):
            at_hand = left[number]
            if at_hand == 0:
                continue
            after = left
            if at_hand is not None:
                after = (*left[:number], at_hand - 1, *left[number + 1 :])
            for counts in held[number]:
                rest = tuple(max(0, a - b) for a, b in zip(open_, counts, strict=True))
                if rest != open_:
                    best = min(best, supply.cost + least(rest, after))
        return best

    return int(least(problem.demand, tuple(supply.count for supply in problem.supplies)))
