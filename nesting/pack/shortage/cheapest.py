"""What is made at the least price, where it can be cut in several ways: found, and bounded."""

from collections.abc import Mapping
from contextlib import suppress
from itertools import product
from math import prod

from nesting.pack.bounds.sheet_cover import Offer, least_cost
from nesting.pack.model.deadline import TimeIsUpError, is_late
from nesting.pack.shortage.allocation import Allocation
from nesting.pack.shortage.card_bounds import card_values, most_held
from nesting.pack.shortage.goals import Wish
from nesting.pack.shortage.short_papers import Shortage
from nesting.pack.shortage.solve_cards import (
    cheapest_sheets,
    fewest_sheets,
    relaxed_values,
    search_for,
)

#: Up to so many ways to choose one paper for all cards, each way gets a bound of its own.
_MOST_WAYS = 32
#: The most rounds of column generation, and the node limit for HiGHS.
_PRICINGS, _NODES = 200, 2_000
#: How often whole sheets are searched for; cells of a table beyond which it is not filled for a wish.
_AIMS, _MOST_CELLS = 4, 20_000


class Cheapest:
    """With what is made settled: in which ways to cut it, so that the sheets cost least."""

    def __init__(self, shortage: Shortage, made: Mapping[Wish, int], seed: str) -> None:
        self.shortage, self.made, self.seed = shortage, dict(made), seed
        self.tables = shortage.tables
        self.values: dict[str, int] = {}  # of the pieces, by the best bound
        with suppress(TimeIsUpError):
            self._take_of_one()

    def _take_of_one(self) -> None:
        """Add patterns of one piece alone: they make choices with few papers possible."""
        for paper, table in self.tables.items():
            if table.cells.size > _MOST_CELLS:
                continue
            kinds = range(len(self.shortage.problems[paper].kinds))
            for kind in kinds:
                table.fill([int(kind == other) for other in kinds])
                self.shortage.take_priced({paper: table})

    def choose(self) -> tuple[Allocation | None, int]:
        """The cheapest choice found, and a lower bound on the price."""
        shortage = self.shortage
        least = self._least() or 0
        found = cheapest_sheets(shortage, self.made, _NODES)
        for attempt in range(_AIMS):
            if found is None or shortage.price_of(found) <= least or is_late():
                break
            mark = cheapest_sheets(shortage, self.made, _NODES, whole_sheets=False)
            if mark is not None:
                search_for(shortage, mark, f"{attempt}/{self.seed}")
            if not attempt:
                least = max(least, self._least_of_all_ways())
            found = cheapest_sheets(shortage, self.made, _NODES) or found
        few = (
            None
            if found is None
            else fewest_sheets(shortage, self.made, _NODES, shortage.price_of(found))
        )
        return few or found, least

    def _least_of_all_ways(self) -> int:
        """The least price where all cards take the same papers: each way to choose by itself."""
        alike = [part for part in self.shortage.parts if part.papers]
        numbers = [sorted(set(part.papers)) for part in alike]
        if not alike or prod(map(len, numbers)) > _MOST_WAYS:
            return 0
        ways = []
        for only in product(*numbers):
            self.shortage.barred = {
                way
                for part, paper in zip(alike, only, strict=True)
                for way, own in zip(part.ways, part.papers, strict=True)
                if own != paper
            }
            ways.append(self._least())
        self.shortage.barred = set()
        return min((least for least in ways if least is not None), default=0)

    def _least(self) -> int | None:
        """Column generation for the least price; an integer bound, or None: impossible."""
        least = 0
        for _ in range(_PRICINGS):
            duals = None if is_late() else relaxed_values(self.shortage, (), self.made, even=False)
            if duals is None:
                break
            values = {
                piece: value
                for piece, value in card_values(duals).items()
                if self.shortage.kinds[piece][0] in self.tables
            }
            try:
                price = self._least_by(values)
            except TimeIsUpError:
                break
            if price is None:
                return None
            if price > least or not self.values:
                least, self.values = max(least, price), values
            if not self.shortage.take_priced(self.tables):
                break
        return least

    def _least_by(self, values: dict[str, int]) -> int | None:
        """The least price by values of the pieces, with the most that each sheet holds.

        What is made takes at least the value of the cheapest way for each part; the bound is the
        price of the cheapest sheets that, with all free ones, hold that much (Farley 1990).
        None where no sheets do.
        """
        offers = []
        for paper, table in self.tables.items():
            problem = self.shortage.problems[paper]
            table.fill([values[kind.piece] for kind in problem.kinds])
            for supply, terms in enumerate(self.shortage.terms[paper]):
                most = most_held(problem, table, supply)
                offers.append(Offer(0, most, terms.free))
                if terms.price:
                    offers.append(Offer(terms.price, most, terms.more))
        needed = self.needed(values)
        endless = any(offer.worth and offer.have is None for offer in offers)
        if not endless and sum(offer.worth * (offer.have or 0) for offer in offers) < needed:
            return None
        return least_cost(offers, needed)

    def needed(self, values: Mapping[str, int]) -> int:
        """The value that what is made takes at least beside the bags: the least of every layer's ways."""
        needed = -self.shortage.bagged_value(values, self.shortage.problems)
        for part in self.shortage.parts:
            allowed = [way for way in part.ways if way not in self.shortage.barred]
            worth = min(sum(values.get(piece, 0) for piece, _ in way) for way in allowed)
            sets = sum(n for wish, n in self.made.items() if part in wish.parts)
            needed += worth * part.each * sets
        return max(0, needed)
