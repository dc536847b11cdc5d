"""The cheapest sheets that together hold enough value: how values become a bound on the cost."""

from fractions import Fraction
from math import ceil
from typing import NamedTuple

from nesting.pack.model.deadline import is_late

#: How many nodes to search before the fractional relaxation has to do.
_MOST_CHOICES = 20_000


class Offer(NamedTuple):
    """Sheets of one supply: cost and value of each, and how many there are (None: plenty)."""

    cost: int
    worth: int
    have: int | None


class _TooManyError(Exception):
    """The search tree is too large, or there is no time for it."""


def least_cost(offers: list[Offer], needed: int) -> int:
    """Find the least cost of whole sheets that together hold at least the value needed.

    Branch and bound over the number of sheets of each supply, best value for its cost first, with
    the fractional relaxation as bound (Horowitz and Sahni 1974, for covering). Where that takes too
    long, the relaxation rounded up, which is never more.

    Raises
    ------
    ValueError
        All sheets together are worth less.

    Examples
    --------
    >>> least_cost([Offer(3, 10, 1), Offer(4, 12, None)], 23)
    8
    >>> least_cost([Offer(3, 10, 2), Offer(4, 12, None)], 30)
    10
    """
    useful = [offer for offer in offers if offer.worth > 0 and offer.have != 0]
    useful.sort(key=lambda offer: Fraction(offer.cost, offer.worth))
    parts = _in_parts(useful, needed)
    if parts is None:
        raise ValueError(f"no number of these sheets is worth {needed}: {offers}")
    try:
        return _Choices(useful).least(needed)
    except _TooManyError:
        return ceil(parts)


def _in_parts(offers: list[Offer], needed: int) -> Fraction | None:
    """The fractional relaxation: the least cost, or None where all sheets together are not enough."""
    cost = Fraction(0)
    for offer in offers:
        if needed <= 0:
            break
        taken = needed if offer.have is None else min(needed, offer.have * offer.worth)
        cost += Fraction(taken * offer.cost, offer.worth)
        needed -= taken
    return cost if needed <= 0 else None


class _Choices:
    """One run of the branch and bound: the best found, and how many nodes it has searched."""

    def __init__(self, offers: list[Offer]) -> None:
        self._offers = offers
        self._best: int | None = None
        self._seen = 0

    def least(self, needed: int) -> int:
        """Search every choice that may be the cheapest."""
        self._look(0, needed, 0)
        if self._best is None:
            raise AssertionError("enough in parts is enough in whole sheets")
        return self._best

    def _look(self, first: int, needed: int, cost: int) -> None:
        """Branch on how many sheets of supply ``first`` to take: the largest number first."""
        if needed <= 0:
            self._best = cost if self._best is None else min(self._best, cost)
            return
        if first == len(self._offers):
            return
        self._seen += 1
        if self._seen > _MOST_CHOICES or is_late():
            raise _TooManyError
        offer = self._offers[first]
        most = -(-needed // offer.worth)
        most = most if offer.have is None else min(most, offer.have)
        for number in range(most, -1, -1):
            rest, spent = needed - number * offer.worth, cost + number * offer.cost
            parts = _in_parts(self._offers[first + 1 :], rest)
            if parts is None:
                return
            if self._best is None or spent + ceil(parts) < self._best:
                self._look(first + 1, rest, spent)
            elif rest >= 0:  # fewer cost more, unless so many hold more than is needed
                return
