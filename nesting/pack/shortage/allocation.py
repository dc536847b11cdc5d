"""What a choice of sheets yields of what is wanted, and which of two choices is better."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from nesting.pack.model.columns import Used
from nesting.pack.shortage.goals import Counts, Goal, Wish, counts_fewest

#: What is reached, and the share made of each wish, the smallest first.
Fairness = tuple[int, tuple[Fraction, ...]]


@dataclass(frozen=True, slots=True)
class Level:
    """A limit: at most so many wishes are made ``below`` this share, and at most so many ``up_to`` it."""

    share: Fraction
    below: int
    up_to: int


@dataclass(frozen=True, slots=True)
class Allocation:
    """A choice of sheets: what is made of each wish, what is cut of each use, the sheets by paper."""

    made: dict[Wish, int]
    cut: Counts
    sheets: dict[str, tuple[Used, ...]] = field(default_factory=dict)

    def reached(self, goal: Goal) -> int:
        """What is reached of a goal: how many are made, or where these are to be even, the fewest."""
        return reached(goal, self.made)

    def score(self, goal: Goal) -> Fairness:
        """How good it is for a goal: first what is reached, then the smallest share, the next, and so on."""
        return self.reached(goal), _shares(goal, self.made)

    def levels(self, goal: Goal) -> Iterator[Level]:
        """The limits that it just keeps, from the smallest share on; none where all is made."""
        if any(self.made.get(wish, 0) < wish.most for wish in goal):
            shares = _shares(goal, self.made)
            for share in dict.fromkeys(shares):
                yield Level(share, bisect_left(shares, share), bisect_right(shares, share))


def _shares(goal: Goal, made: Mapping[Wish, int]) -> tuple[Fraction, ...]:
    """The share made of each wish, the smallest first."""
    return tuple(sorted(wish.share(made.get(wish, 0)) for wish in goal))


def reached(goal: Goal, made: Mapping[Wish, int]) -> int:
    """What these numbers made reach of a goal."""
    counts = [wish.before + made.get(wish, 0) for wish in goal]
    return min(counts) if counts_fewest(goal) else sum(counts)


def most_even(most: Mapping[Wish, int], total: int) -> Fairness:
    """The best score for what is reached, where each wish has a limit of its own.

    Sets go one by one to the smallest share; among equal ones, to the wish that asks for least. Where
    only the fewest count, every wish reaches its limit.
    """
    if counts_fewest(tuple(most)):
        return total, _shares(tuple(most), most)
    made = dict.fromkeys(most, 0)
    for _ in range(total):
        open_ = [wish for wish in most if made[wish] < most[wish]]
        if not open_:
            break
        made[min(open_, key=lambda w: (w.share(made[w]), w.whole))] += 1
    return total, _shares(tuple(most), made)


def made_of_cards(made: Mapping[Wish, int]) -> dict[str, int]:
    """How many cards are made of each design."""
    cards: dict[str, int] = {}
    for wish, number in made.items():
        if wish.card is not None and not wish.spare:
            cards[wish.card] = cards.get(wish.card, 0) + number
    return cards
