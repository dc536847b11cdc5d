"""Pattern reduction: fewer different patterns in a plan of the same cost."""

from collections.abc import Iterator, Sequence
from heapq import nsmallest
from itertools import combinations

from nesting.pack.model.columns import Column, Used, surplus
from nesting.pack.model.deadline import is_late
from nesting.pack.model.overproduction import thinned

#: How many triples of patterns are looked at besides all pairs, those of fewest sheets first.
_MOST_TRIPLES = 100

#: A plan as sheets by column number, and its rank: the smallest is the tidiest.
_Plan = dict[int, int]
_Rank = tuple[int, int, int]


def reduce_patterns(
    plan: Sequence[Used], columns: Sequence[Column], demand: tuple[int, ...]
) -> tuple[Used, ...]:
    """Make a plan tidier with other columns, sheet for sheet from the same supplies.

    Tidier means, in this order: fewer folds across the grain, fewer patterns once nothing is cut
    beyond the demand, and more equal sheets. Two or three patterns at a time give way to others as
    long as that makes the plan tidier (combining patterns: Foerster and Wäscher 2000; a local
    search by such exchanges: Umetani, Yagiura and Ibaraki 2003). Where it is late, the tidiest plan
    so far.

    Parameters
    ----------
    columns
        The columns to choose from: those of the plan and any others.
    """
    numbers = {(column.supply, column.counts): n for n, column in enumerate(columns)}
    best: _Plan = {}
    for used in plan:
        number = numbers[used.column.supply, used.column.counts]
        best[number] = best.get(number, 0) + used.count
    exchanges = _Exchanges(columns, demand)
    rank = exchanges.rank(best)
    known: set[frozenset[tuple[int, int]]] = set()
    better: _Plan | None = best
    while better is not None:
        best, better = better, None
        spare = exchanges.spare(best)
        for leaving in _leaving(best):
            if is_late():
                break
            for other in exchanges.without(best, leaving, spare):
                key = frozenset(other.items())
                if key not in known:
                    known.add(key)
                    found = exchanges.rank(other)
                    if found < rank:
                        better, rank = other, found
            if better is not None:
                break
    return exchanges.used(best)


def _leaving(plan: _Plan) -> Iterator[tuple[int, ...]]:
    """The patterns to try to replace: all pairs and some triples, those of fewest sheets first."""

    def sheets(some: tuple[int, ...]) -> int:
        return sum(plan[number] for number in some)

    yield from sorted(combinations(plan, 2), key=sheets)
    # Any other pattern would give way, in its triples, to more than so many of these.
    few = set(nsmallest(_MOST_TRIPLES + 2, plan, key=plan.__getitem__))
    triples = combinations([number for number in plan if number in few], 3)
    yield from nsmallest(_MOST_TRIPLES, triples, key=sheets)


class _Exchanges:
    """Exchanges of columns for a demand; ``kinds`` has the kinds of each column as bits."""

    def __init__(self, columns: Sequence[Column], demand: tuple[int, ...]) -> None:
        self.columns = columns
        self.demand = demand
        self.kinds = [
            sum(1 << kind for kind, count in enumerate(column.counts) if count)
            for column in columns
        ]
        self._of: dict[int, list[tuple[int, int]]] = {}
        for number, (column, given) in enumerate(zip(columns, self.kinds, strict=True)):
            self._of.setdefault(column.supply, []).append((number, given))
        self._giving: dict[tuple[int, int], list[int]] = {}

    def used(self, plan: _Plan) -> tuple[Used, ...]:
        """A plan as its columns."""
        return tuple(Used(self.columns[number], count) for number, count in plan.items())

    def spare(self, plan: _Plan) -> list[int]:
        """How many of each kind a plan has beyond the demand."""
        return surplus(self.used(plan), self.demand)

    def rank(self, plan: _Plan) -> _Rank:
        """Folds across the grain, patterns once nothing is beyond the demand, and equality of sheets."""
        own = [self.columns[number] for number in plan]
        patterns = zip((column.counts for column in own), plan.values(), strict=True)
        alike: dict[tuple[int, tuple[int, ...]], int] = {}
        for one in thinned(patterns, self.demand):
            key = own[one.number].supply, one.held
            alike[key] = alike.get(key, 0) + one.alike
        across = sum(column.across_grain * n for column, n in zip(own, plan.values(), strict=True))
        return across, len(alike), -sum(n * n for n in alike.values())

    def without(self, plan: _Plan, leaving: tuple[int, ...], spare: list[int]) -> Iterator[_Plan]:
        """The plans in which some patterns give way to one of the plan's own, another, or both."""
        supply = self.columns[leaving[0]].supply
        if any(self.columns[number].supply != supply for number in leaving):
            return
        kept = {number: count for number, count in plan.items() if number not in leaving}
        sheets = sum(plan[number] for number in leaving)
        needed = self._needed(plan, leaving, spare)
        every = sum(1 << kind for kind, _ in needed)
        known: set[tuple[int, ...]] = set()
        for first in plan:
            if self.columns[first].supply != supply:
                continue
            for second in self._all_giving(every & ~self.kinds[first], supply):
                if second != first:
                    for share in self._shares(first, second, sheets, needed):
                        exchange = _exchange(first, share, second, sheets - share)
                        if exchange not in known:
                            known.add(exchange)
                            yield _with(kept, {first: share, second: sheets - share})

    def _needed(
        self, plan: _Plan, leaving: tuple[int, ...], spare: list[int]
    ) -> list[tuple[int, int]]:
        """The kinds, with counts, that a plan lacks without some of its patterns.

        Largest counts first, as most exchanges fail there.
        """
        gone: dict[int, int] = {}
        for number in leaving:
            for kind, count in enumerate(self.columns[number].counts):
                if count:
                    gone[kind] = gone.get(kind, 0) + count * plan[number]
        lacking = [(kind, n - spare[kind]) for kind, n in gone.items() if n > spare[kind]]
        return sorted(lacking, key=lambda pair: -pair[1])

    def _all_giving(self, kinds: int, supply: int) -> list[int]:
        """The columns of a supply that give all of these kinds."""
        found = self._giving.get((kinds, supply))
        if found is None:
            found = self._giving[kinds, supply] = [
                number for number, given in self._of[supply] if given & kinds == kinds
            ]
        return found

    def _shares(
        self, first: int, second: int, sheets: int, needed: list[tuple[int, int]]
    ) -> tuple[int, ...]:
        """The fewest and the most of some sheets that may have the first pattern, the rest the second."""
        least, most = 0, sheets
        ones, others = self.columns[first].counts, self.columns[second].counts
        for kind, need in needed:
            one, other = ones[kind], others[kind]
            more, lacking = one - other, need - other * sheets
            if more > 0:
                if lacking > least * more:
                    least = -(-lacking // more)
            elif more < 0:
                if lacking > most * more:
                    most = lacking // more
            elif lacking > 0:
                return ()
            if least > most:
                return ()
        return (least,) if least == most else (least, most)


def _exchange(first: int, some: int, second: int, others: int) -> tuple[int, ...]:
    """The same for the same sheets of one or two columns, in either order."""
    if not some or not others:
        return (first if some else second,)
    return (first, second, some) if first < second else (second, first, others)


def _with(plan: _Plan, more: _Plan) -> _Plan:
    """A plan with more sheets of some columns."""
    together = dict(plan)
    for number, count in more.items():
        if count:
            together[number] = together.get(number, 0) + count
    return together
