"""The cheapest sheets that are together worth enough: what turns values into a bound on the cost."""

from fractions import Fraction
from math import ceil
from typing import NamedTuple

from nesting.pack.model.deadline import is_late

#: How many choices to look at before the answer for parts of sheets has to do.
_MOST_CHOICES = 20_000


class Offer(NamedTuple):
    """Sheets of one supply: what each costs and is worth at most, and how many there are (None: plenty)."""

    cost: int
    worth: int
    have: int | None


class _TooManyError(Exception):
    """There are more choices than it is worth to look at, or than there is time for."""


def least_cost(offers: list[Offer], needed: int) -> int:
    """Find the least cost of whole sheets that are together worth at least so much.

    Branch and bound over the numbers of each supply, the one of most worth for its cost first; the
    rest may be taken in parts (Horowitz and Sahni 1974, for covering). Where that takes too long,
    the least cost of parts of sheets, rounded up, which is never more.

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
    """The least cost where sheets may be taken in parts; None where all are not enough."""
    cost = Fraction(0)
    for offer in offers:
        if needed <= 0:
            break
        taken = needed if offer.have is None else min(needed, offer.have * offer.worth)
        cost += Fraction(taken * offer.cost, offer.worth)
        needed -= taken
    return cost if needed <= 0 else None


class _Choices:
    """One run of the branch and bound: the best found and how many choices were looked at."""

    def __init__(self, offers: list[Offer]) -> None:
        self._offers = offers
        self._best: int | None = None
        self._seen = 0

    def least(self, needed: int) -> int:
        """Look at every choice that may be the cheapest."""
        self._look(0, needed, 0)
        if self._best is None:
            raise AssertionError("enough in parts is enough in whole sheets")
        return self._best

    def _look(self, first: int, needed: int, cost: int) -> None:
        """Choose how many of the supply ``first``: most first, until fewer are surely no cheaper."""
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
            elif rest >= 0:  # fewer only cost more; one that is worth too much may yet cost more
                return
