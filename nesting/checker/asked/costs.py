"""What a paper can be cut from, and what each sheet of it costs."""

from collections.abc import Iterator
from math import gcd

from nesting.papers import Paper, Sheet, Supply


def counts_sheets(paper: Paper) -> bool:
    """Whether the cost of a plan of this paper is its number of sheets: they are all alike."""
    return [sheet.offcut for sheet in paper.sheets] == [False]


def supplies_of(paper: Paper, pieces: int) -> list[Supply]:
    """List what the full need of a paper can be cut from, sheets at hand before those to buy.

    Where sheets are not all alike, an offcut is free and a whole sheet costs its price, or its area
    where some have none. Sheets given away, however many, cost less than any other. Buying one sheet
    costs more than using up all sheets at hand, as many of each as there are or as there are ``pieces``.
    """
    if counts_sheets(paper):
        return [Supply(paper.sheets[0], bought=False, count=None, cost=1)]
    costs = dict(_costs(paper, pieces))
    at_hand = [
        Supply(sheet, bought=False, count=sheet.have, cost=costs.get(sheet, 0))
        for sheet in paper.sheets
    ]
    all_of_them = 0
    for supply in at_hand:
        all_of_them += supply.cost * (pieces if supply.count is None else supply.count)
    to_buy = [
        Supply(sheet, bought=True, count=None, cost=costs[sheet] * (all_of_them + 1))
        for sheet in paper.sheets
        if not sheet.offcut and sheet.have is not None
    ]
    return at_hand + to_buy


def _costs(paper: Paper, pieces: int) -> Iterator[tuple[Sheet, int]]:
    """The cost of each whole sheet, in integers as small as their ratios allow, at least 1."""
    whole = [sheet for sheet in paper.sheets if not sheet.offcut]
    weights = [sheet.price for sheet in whole if sheet.price is not None]
    if len(weights) < len(whole):
        weights = [sheet.width * sheet.height for sheet in whole]
    shared = max(1, gcd(*weights))
    for sheet, weight in zip(whole, weights, strict=True):
        share = weight // shared
        yield sheet, max(1, share * (pieces + 1) if 0 in weights else share)
