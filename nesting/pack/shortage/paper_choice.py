"""Papers to choose from: which cards take which, to make the most and buy the least."""

from collections.abc import Mapping
from contextlib import suppress
from itertools import product
from math import gcd, prod
from typing import Literal

from nesting.batch import Batch, Piece, Sheet
from nesting.merging import Taken
from nesting.pack.bounds.sheet_cover import Offer, least_cost
from nesting.pack.model.deadline import TimeIsUpError, is_late
from nesting.pack.model.problem import Problem, make_problem, sheets_at_hand
from nesting.pack.search.incumbent import Search
from nesting.pack.shortage.allocation import Allocation
from nesting.pack.shortage.card_bounds import card_values, most_held
from nesting.pack.shortage.goals import Goal, Wish
from nesting.pack.shortage.short_papers import Shortage
from nesting.pack.shortage.solve_cards import (
    cheapest_sheets,
    fewest_sheets,
    relaxed_values,
    search_for,
)
from nesting.plan import PaperCost, Plan, key_of_layout, key_of_sheet

#: Up to so many ways to choose one paper for all cards, each way gets a bound of its own.
_MOST_WAYS = 32
#: The most rounds of column generation, and the node limit for HiGHS.
_PRICINGS, _NODES = 200, 2_000
#: How often whole sheets are searched for; cells of a table beyond which it is not filled for a wish.
_AIMS, _MOST_CELLS = 4, 20_000


class Buying:
    """With what is made settled: which papers to take so that the least is bought."""

    def __init__(
        self,
        batch: Batch,
        pieces: tuple[Piece, ...],
        goals: list[Goal],
        limited: Mapping[str, Problem],
        made: dict[Wish, int],
    ) -> None:
        _, costs = buying_costs(batch)
        problems = dict(limited)
        for name in costs:
            problems[name] = make_problem(batch.paper(name), pieces, batch.trimmer)
        prices = {
            name: tuple(
                own[supply.sheet] if supply.bought or problems[name].counts_sheets else 0
                for supply in problems[name].supplies
            )
            for name, own in costs.items()
        }
        self.made = made
        self.shortage = Shortage(problems, pieces, goals, prices)
        for name in costs:
            self.shortage.add(name, Search(problems[name], f"{name}/choice").pool.columns)
        self.tables = self.shortage.tables
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
                search_for(shortage, mark, f"{attempt}/choice")
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
        alike = [part for part in self.shortage.parts if part.alike]
        if not alike or prod(len(part.uses) for part in alike) > _MOST_WAYS:
            return 0
        ways = []
        for uses in product(*(part.uses for part in alike)):
            only = dict(zip(alike, uses, strict=True))
            self.shortage.barred = {
                key for part, use in only.items() for key in part.uses if key != use
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
            try:
                price = self._least_by(card_values(duals))
            except TimeIsUpError:
                break
            if price is None:
                return None
            least = max(least, price)
            if not self.shortage.take_priced(self.tables):
                break
        return least

    def _least_by(self, values: dict[str, int]) -> int | None:
        """The least price by values of the pieces, with the most that each sheet holds.

        What is made takes at least the value of the cheapest option for each part; the bound is the
        price of the cheapest sheets that, with all sheets at hand, hold that much (Farley 1990).
        None where no sheets do.
        """
        offers = []
        for paper, table in self.tables.items():
            problem = self.shortage.problems[paper]
            table.fill([values[kind.piece] for kind in problem.kinds])
            for supply, have in enumerate(sheets_at_hand(problem)):
                most, price = most_held(problem, table, supply), self.shortage.price(paper, supply)
                offers.append(Offer(0, most, have))
                if price:
                    offers.append(Offer(price, most, None))
        needed = -self.shortage.bagged_value(values, self.tables)
        for part in self.shortage.parts:
            allowed = [key for key in part.uses if key not in self.shortage.barred]
            worth = min(self._worth(piece, values) for piece, _ in allowed)
            sets = sum(n for wish, n in self.made.items() if part in wish.parts)
            needed += worth * part.each * sets
        endless = any(offer.worth and offer.have is None for offer in offers)
        if not endless and sum(offer.worth * (offer.have or 0) for offer in offers) < needed:
            return None
        return least_cost(offers, max(0, needed))

    def _worth(self, piece: str, values: dict[str, int]) -> int:
        """A piece's value; nothing where its paper has no table."""
        paper = self.shortage.kinds.get(piece, ("",))[0]
        return values[piece] if paper in self.tables else 0


def taken_of(batch: Batch, pieces: tuple[Piece, ...], cut: Mapping[tuple[str, int], int]) -> Taken:
    """How many sets take each option; sets not made count for the option most often taken."""
    found = {
        (use.card, use.layer, piece.paper, piece.face): cut.get((piece.id, number), 0)
        for piece in pieces
        for number, use in enumerate(piece.uses)
    }
    taken: dict[tuple[str, str], tuple[int, ...]] = {}
    for card in batch.cards:
        for layer in card.layers:
            if layer.choice:
                counts = [  # of a design that there is no paper for, options may have no piece
                    found.get((card.name, layer.name, o.paper, o.face or "front"), 0) // layer.each
                    for o in layer.options
                ]
                most = counts.index(max(counts))
                counts[most] += (card.make or 0) + card.spares - sum(counts)
                taken[card.name, layer.name] = tuple(counts)
    return taken


def cost_to_buy(plan: Plan) -> PaperCost:
    """The cost of the sheets to buy of papers to choose from; its lower bound is still unknown."""
    of, costs = buying_costs(plan.asked)
    value = 0
    for name, own in costs.items():
        paper = plan.asked.paper(name)
        each = {key_of_sheet(paper, sheet): cost for sheet, cost in own.items()}
        for layout in plan.layouts_of(name):
            if layout.to_buy:
                value += layout.to_buy * each[key_of_layout(layout, paper)]
    return PaperCost(of, value, 0)


def buying_costs(
    batch: Batch,
) -> tuple[Literal["sheets", "price", "area"], dict[str, dict[Sheet, int]]]:
    """The cost of a sheet to buy, for each paper that layers choose from and that can be bought.

    Its price in hundredths where every such sheet has one of 1 or more; else its area, in units of
    the greatest common divisor of these areas. Where all sheets are equal, that counts them.
    """
    names = {
        option.paper
        for card in batch.cards
        for layer in card.layers
        if layer.choice
        for option in layer.options
    }
    papers = [paper for paper in batch.papers if paper.name in names and paper.buy]
    sheets = [sheet for paper in papers for sheet in paper.sheets if not sheet.offcut]
    costs = {sheet: sheet.price or 0 for sheet in sheets}
    priced = bool(sheets) and all(costs.values())
    if not priced:
        unit = gcd(*(sheet.width * sheet.height for sheet in sheets))
        costs = {sheet: sheet.width * sheet.height // unit for sheet in sheets}
    each = {p.name: {s: costs[s] for s in p.sheets if not s.offcut} for p in papers}
    return "price" if priced else "area" if max(costs.values(), default=1) > 1 else "sheets", each
