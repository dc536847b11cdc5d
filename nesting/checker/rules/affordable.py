"""Whether sheets that cost less than a bound could hold the value asked for, in integers."""

from fractions import Fraction

from nesting.papers import Supply

#: The most pairs of cost and value; with more, fractions of sheets are allowed.
_MOST_PAIRS = 200_000


def proves(worths: list[tuple[Supply, int]], need: int, bound: int, pieces: int) -> bool:
    """Whether no sheets that cost less than the bound together hold the value needed.

    Parameters
    ----------
    worths
        Each supply and what one sheet of it is worth at most.
    need
        What the pieces asked for are worth together.
    bound
        The cost said to be the least.
    pieces
        How many are asked for: without a sheet that holds none of them a plan costs no more.

    Notes
    -----
    The pairs of cost and value that some sheets can have are listed supply by supply. A pair that
    another dominates is left out (Nemhauser and Ullmann 1969), and so is one that cannot reach the
    need within the cost even with fractions of the remaining sheets. Where there are too many
    pairs, fractions of all sheets are allowed, which proves less.
    """
    purse = bound - 1
    if purse < 0:
        return True
    offers = [
        (offer.cost, worth, pieces if offer.count is None else min(offer.count, pieces))
        for offer, worth in worths
        if worth > 0
    ]
    offers.sort(key=lambda one: Fraction(one[0], one[1]))
    pairs = [(0, 0)]
    for place, (cost, worth, count) in enumerate(offers):
        grown: list[tuple[int, int]] = []
        for spent, held in pairs:
            most = -(-(need - held) // worth) if need > held else 0
            most = min(most, count)
            most = most if not cost else min(most, (purse - spent) // cost)
            if len(grown) + most >= _MOST_PAIRS:
                return _in_parts(offers, purse) < need
            grown += [(spent + n * cost, held + n * worth) for n in range(most + 1)]
        rest = offers[place + 1 :]
        pairs = [
            (spent, held)
            for spent, held in _undone(grown)
            if held + _in_parts(rest, purse - spent) >= need
        ]
    return all(held < need for _, held in pairs)


def _undone(pairs: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """The pairs that no other dominates: a higher cost goes with a higher value."""
    kept: list[tuple[int, int]] = []
    for spent, held in sorted(pairs, key=lambda pair: (pair[0], -pair[1])):
        if not kept or held > kept[-1][1]:
            kept.append((spent, held))
    return kept


def _in_parts(offers: list[tuple[int, int, int]], purse: int) -> Fraction:
    """The most value that a budget buys with fractions of sheets, best value for the cost first."""
    held, left = Fraction(0), Fraction(purse)
    for cost, worth, count in offers:
        bought = min(left / cost, Fraction(count)) if cost else Fraction(count)
        held += bought * worth
        left -= bought * cost
    return held
