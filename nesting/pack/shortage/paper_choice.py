"""Papers to choose from: which cards take which, so that the least is bought."""

from collections.abc import Mapping
from math import gcd
from typing import Literal

from nesting.batch import Batch
from nesting.pack.model.problem import Problem, make_problem, sheets_at_hand
from nesting.pack.search.incumbent import Search
from nesting.pack.shortage.cheapest import Cheapest
from nesting.pack.shortage.goals import Goal, Wish
from nesting.pack.shortage.short_papers import Shortage, Terms
from nesting.papers import Sheet
from nesting.pieces import Piece
from nesting.plan import PaperCost, Plan
from nesting.sources import key_of_layout, key_of_sheet


def buying(
    batch: Batch,
    pieces: tuple[Piece, ...],
    goals: list[Goal],
    limited: Mapping[str, Problem],
    made: Mapping[Wish, int],
) -> Cheapest:
    """Which papers to take for what is made, so that the least is bought."""
    _, costs = _buying_costs(batch)
    problems = dict(limited)
    for name in costs:
        problems[name] = make_problem(batch.paper(name), pieces, batch.trimmer)
    terms = {
        name: tuple(
            Terms(have, own[supply.sheet])
            if supply.bought or problems[name].counts_sheets
            else Terms(have)
            for have, supply in zip(
                sheets_at_hand(problems[name]), problems[name].supplies, strict=True
            )
        )
        for name, own in costs.items()
    }
    shortage = Shortage(problems, pieces, goals, terms)
    for name in costs:
        shortage.add(name, Search(problems[name], f"{name}/choice").pool.columns)
    return Cheapest(shortage, made, "choice")


def cost_to_buy(plan: Plan) -> PaperCost:
    """What the sheets to buy of papers to choose from cost; no bound is known yet."""
    of, costs = _buying_costs(plan.asked)
    value = 0
    for name, own in costs.items():
        paper = plan.asked.paper(name)
        each = {key_of_sheet(paper, sheet): cost for sheet, cost in own.items()}
        for layout in plan.layouts_of(name):
            if layout.to_buy:
                value += layout.to_buy * each[key_of_layout(layout, paper)]
    return PaperCost(of, value, 0)


def _buying_costs(
    batch: Batch,
) -> tuple[Literal["sheets", "price", "area"], dict[str, dict[Sheet, int]]]:
    """What each sheet costs of papers that layers choose from and that can be bought.

    Its price in hundredths where all have one; else its area in units of the greatest common divisor,
    which counts sheets where all are equal.
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
