"""Papers that are short, what is wanted of them, and the known patterns of their sheets."""

from collections.abc import Collection, Iterable, Mapping
from contextlib import suppress
from copy import copy
from dataclasses import replace
from functools import cached_property
from random import Random
from typing import NamedTuple

from nesting.cards.merging import PlaceOfUse, Way
from nesting.pack.model.columns import Column, Pool
from nesting.pack.model.deadline import TimeIsUpError
from nesting.pack.model.otherwise import StillThere
from nesting.pack.model.problem import Problem, sheets_at_hand
from nesting.pack.one_sheet.greedy import fillings
from nesting.pack.one_sheet.raster_points import may_tabulate
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.pack.shortage.allocation import Allocation, made_of_cards
from nesting.pack.shortage.goals import Component, Counts, Goal, Wish, counts_of
from nesting.pieces import Piece

#: How often a sheet is filled greedily with all kinds where there is no dynamic programme.
_FILLINGS = 8


class Terms(NamedTuple):
    """How many sheets of one supply are free, and how many ``more`` there are at a price, if it has one.

    None is without limit.
    """

    free: int | None
    price: int = 0
    more: int | None = None

    @property
    def most(self) -> int | None:
        """How many there are in all."""
        if not self.price:
            return self.free
        return None if self.free is None or self.more is None else self.free + self.more


class Shortage:
    """Papers that are short, what is wanted of them, and the known patterns of their sheets.

    ``terms`` are those of each supply; where none are given for a paper, only sheets at hand count.
    ``barred`` ways must not be taken. ``middles_there`` are covered middles that pieces in the bags
    still have. ``bags`` has how many of each piece are cut already.
    """

    def __init__(
        self,
        problems: Mapping[str, Problem],
        pieces: tuple[Piece, ...],
        goals: list[Goal],
        terms: Mapping[str, tuple[Terms, ...]] | None = None,
        middles_there: StillThere | None = None,
    ) -> None:
        self.problems = dict(problems)
        at_hand = {name: tuple(map(Terms, sheets_at_hand(p))) for name, p in problems.items()}
        self.terms = at_hand | dict(terms or {})
        self.at_a_price = bool(terms)
        self.middles_there = middles_there or {}
        self.barred: set[Way] = set()
        self.pools = {name: Pool(problem) for name, problem in problems.items()}
        #: The paper of each piece.
        self.papers = {kind.piece: name for name, p in problems.items() for kind in p.kinds}
        self.wishes = [wish for goal in goals for wish in goal]
        self.components = list(
            dict.fromkeys(
                component
                for wish in self.wishes
                for component in wish.components
                if self.concerns(component)
            )
        )
        self._counts = counts_of(pieces)
        self.bags = dict.fromkeys(self.papers, 0)  # also of ways that nothing takes
        self.bags |= {piece.id: piece.in_bags for piece in pieces if piece.id in self.papers}

    def after(self, goal: Goal, made: Mapping[Wish, int]) -> Goal:
        """The goal with the cards that are really made before it, and not those asked for.

        Without spare sets of designs that lack cards: such a set would make a card.
        """
        lacking = {wish.card for wish, n in made.items() if not wish.spare and n < wish.most}
        there = made_of_cards(made)
        wishes = {}
        for wish in goal:
            if not wish.spare or wish.card not in lacking:
                before = there.get(wish.card or "", 0) if wish.before else 0
                most = wish.before + wish.most - before
                wishes[wish] = replace(wish, before=before, most=most)
        self.wishes = [wishes.get(wish, wish) for wish in self.wishes]
        return tuple(wishes.values())

    def concerns(self, component: Component) -> bool:
        """Whether some way to cut a component takes one of these papers."""
        return any(piece in self.papers for piece, _ in component.uses)

    @property
    def joints(self) -> list[Way]:
        """The ways to cut a layer as two ends."""
        return [way for component in self.components for way in component.ways if len(way) > 1]

    def bagged_value(self, values: Mapping[str, int], papers: Collection[str]) -> int:
        """What the pieces of some papers in the bags are worth."""
        return sum(
            values.get(piece, 0) * count
            for piece, count in self.bags.items()
            if self.papers[piece] in papers
        )

    @property
    def least_price(self) -> int:
        """The least price of any sheet."""
        prices = (terms.price for own in self.terms.values() for terms in own if terms.price)
        return min(prices, default=1)

    def price_of(self, allocation: Allocation) -> int:
        """The price of the sheets of an allocation that are not free."""
        total = 0
        for paper, used in allocation.sheets.items():
            for supply, terms in enumerate(self.terms[paper]):
                taken = sum(u.count for u in used if u.column.supply == supply)
                if terms.free is not None:
                    total += max(0, taken - terms.free) * terms.price
        return total

    def add(self, paper: str, columns: Iterable[Column]) -> None:
        """Add patterns of a paper, each for every supply of its size."""
        for column in columns:
            for number, size in enumerate(self.problems[paper].sizes):
                if column.supply in size.supplies:
                    self.pools[paper].add_to_size(number, column.pattern)

    @cached_property
    def tables(self) -> dict[str, SheetTable]:
        """The dynamic programmes of the papers, except where they would be too slow or it is late."""
        found = {}
        with suppress(TimeIsUpError):
            for name, problem in self.problems.items():
                if may_tabulate(problem):
                    found[name] = SheetTable(problem)
        return found

    def fill_greedily(self, seed: int) -> None:
        """Add patterns of every size for papers without a table: mixed, and kind by kind.

        What a search has found may all be on sheets that are neither at hand nor sold.
        """
        for paper, problem in self.problems.items():
            if paper in self.tables:
                continue
            rng = Random(f"{seed}/{paper}")
            kinds = range(len(problem.kinds))
            alone = [[problem.demand[k] if k == kind else 0 for k in kinds] for kind in kinds]
            wanted = [(list(problem.demand), _FILLINGS), *((left, 1) for left in alone)]
            for number, size in enumerate(problem.sizes):
                for left, tries in wanted:
                    for pattern in fillings(problem, size, left, rng, tries, [1.0] * len(left)):
                        self.pools[paper].add_to_size(number, pattern)

    def fill_tables(self, values: Mapping[str, int]) -> None:
        """Fill the dynamic programme of each paper with values of the pieces."""
        for paper, table in self.tables.items():
            table.fill([values[kind.piece] for kind in self.problems[paper].kinds])

    def take_priced(self, tables: Mapping[str, SheetTable]) -> bool:
        """Add the pattern of most value for each size of sheet; whether any is new."""
        before = sum(len(pool.columns) for pool in self.pools.values())
        for paper, table in tables.items():
            for number, size in enumerate(self.problems[paper].sizes):
                pattern = table.pattern(size.width, size.height)
                if pattern is not None:
                    self.pools[paper].add_to_size(number, pattern)
        return sum(len(pool.columns) for pool in self.pools.values()) > before

    def demand(self, cut: Counts) -> dict[str, dict[str, int]]:
        """By paper, how many of each piece are to be cut beside those in the bags."""
        wanted: dict[str, dict[str, int]] = {name: {} for name in self.problems}
        for (piece, _), count in cut.items():
            if piece in self.papers:
                own = wanted[self.papers[piece]]
                own[piece] = own.get(piece, 0) + count
        return {
            name: {piece: max(0, count - self.bags[piece]) for piece, count in own.items()}
            for name, own in wanted.items()
        }

    def most_demand(self, paper: str, wishes: Iterable[Wish]) -> dict[str, int]:
        """The most of each piece of a paper that some wishes can take beside those in the bags."""
        uses = {use for wish in wishes for component in wish.components for use in component.uses}
        most: dict[str, int] = {}
        for piece, number in sorted(uses):
            if self.papers.get(piece) == paper:
                most[piece] = most.get(piece, 0) + self._counts[piece, number]
        return {piece: max(0, count - self.bags[piece]) for piece, count in most.items()}

    def only(self, pools: dict[str, Pool]) -> "Shortage":
        """The same for these papers alone, with these patterns alone."""
        own = copy(self)
        own.problems = {name: self.problems[name] for name in pools}
        own.pools = pools
        own.papers = {piece: name for piece, name in self.papers.items() if name in pools}
        own.bags = {piece: count for piece, count in self.bags.items() if piece in own.papers}
        own.components = [one for one in self.components if own.concerns(one)]
        return own

    def with_patterns(self, pools: Mapping[str, Pool]) -> "Shortage":
        """The same with these patterns for some of its papers."""
        other = copy(self)
        other.pools = {**self.pools, **pools}
        return other

    def count(self, use: PlaceOfUse) -> int:
        """How many are asked for a use."""
        return self._counts[use]
