"""Where what is made can be cut in several ways: the least price of the sheets, and its bound."""

from collections.abc import Mapping
from contextlib import suppress
from itertools import product
from math import prod

from nesting.pack.bounds.dual_bounds import most_held
from nesting.pack.bounds.sheet_cover import Offer, least_cost
from nesting.pack.model.deadline import TimeIsUpError, is_late
from nesting.pack.shortage.allocation import Allocation
from nesting.pack.shortage.card_bounds import card_values, value_of_set
from nesting.pack.shortage.few_joints import few_sheets_and_joints
from nesting.pack.shortage.goals import Wish, sets_of
from nesting.pack.shortage.short_papers import Shortage
from nesting.pack.shortage.solve_cards import (
    cheapest_sheets,
    cheapest_target,
    fewest_sheets,
    relaxed_values,
    search_for,
)

#: Up to so many choices of one paper for all cards, each choice gets a bound of its own.
_MOST_CHOICES = 32
#: The most rounds of column generation, and targets that are searched for.
_PRICINGS, _TARGETS = 200, 4
#: The most cells of a table that is filled for each piece alone.
_MOST_CELLS = 20_000


class Cheapest:
    """In which ways to cut what is made, so that its sheets cost least."""

    def __init__(self, shortage: Shortage, made: Mapping[Wish, int], seed: str) -> None:
        self.shortage, self.made, self.seed = shortage, dict(made), seed
        self.values: dict[str, int] = {}  # of the pieces, by the best bound
        with suppress(TimeIsUpError):
            self._take_of_one()

    def _take_of_one(self) -> None:
        """Add patterns of one piece alone: they make choices with few papers possible."""
        for paper, table in self.shortage.tables.items():
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
        found = cheapest_sheets(shortage, self.made)
        for attempt in range(_TARGETS):
            if found is None or shortage.price_of(found) <= least or is_late():
                break
            target = cheapest_target(shortage, self.made)
            if target is not None:
                search_for(shortage, target, f"{attempt}/{self.seed}")
            if not attempt:
                least = max(least, self._least_of_all_choices())
            found = cheapest_sheets(shortage, self.made) or found
        if found is None:
            return None, least
        price = shortage.price_of(found)
        few = few_sheets_and_joints(shortage, self.made, price, self.seed)
        return few or fewest_sheets(shortage, self.made, price) or found, least

    def _least_of_all_choices(self) -> int:
        """The least price where all cards take the same papers: the least of each choice's own bound."""
        alike = [component for component in self.shortage.components if component.papers]
        numbers = [sorted(set(component.papers)) for component in alike]
        if not alike or prod(map(len, numbers)) > _MOST_CHOICES:
            return 0
        bounds = []
        for only in product(*numbers):
            self.shortage.barred = {
                way
                for component, paper in zip(alike, only, strict=True)
                for way, own in zip(component.ways, component.papers, strict=True)
                if own != paper
            }
            bounds.append(self._least())
        self.shortage.barred = set()
        return min((least for least in bounds if least is not None), default=0)

    def _least(self) -> int | None:
        """A bound on the price by column generation; None where it cannot be made at any."""
        least = 0
        for _ in range(_PRICINGS):
            duals = None if is_late() else relaxed_values(self.shortage, (), self.made)
            if duals is None:
                break
            values = {
                piece: value
                for piece, value in card_values(duals).items()
                if self.shortage.papers[piece] in self.shortage.tables
            }
            try:
                price = self._least_by(values)
            except TimeIsUpError:
                break
            if price is None:
                return None
            if price > least or not self.values:
                least, self.values = max(least, price), values
            if not self.shortage.take_priced(self.shortage.tables):
                break
        return least

    def _least_by(self, values: dict[str, int]) -> int | None:
        """The bound by values of the pieces (Farley 1990); None where no sheets hold what is needed.

        It is the price of the cheapest sheets that, with all free ones, hold that much.
        """
        offers = []
        self.shortage.fill_tables(values)
        for paper, table in self.shortage.tables.items():
            problem = self.shortage.problems[paper]
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
        """The least value that what is made takes beside what the bags hold."""
        needed = -self.shortage.bagged_value(values, self.shortage.problems)
        for component in self.shortage.components:
            value = value_of_set(component, values, self.shortage.barred)
            needed += value * sets_of(component, self.made)
        return max(0, needed)
