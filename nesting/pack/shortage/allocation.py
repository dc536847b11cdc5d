"""What some sheets give of what is wanted, and which of two answers is better."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from nesting.pack.model.columns import Used
from nesting.pack.shortage.goals import Counts, Goal, Wish

#: How many there are, and the shares made of each wish, the smallest first.
Fairness = tuple[int, tuple[Fraction, ...]]


@dataclass(frozen=True, slots=True)
class Level:
    """No more than ``number`` wishes are made to this share of what is asked, or to less."""

    share: Fraction
    number: int


@dataclass(frozen=True, slots=True)
class Allocation:
    """What some sheets give: how many of each wish, of each use, and how often each column is cut."""

    made: dict[Wish, int]
    cut: Counts
    sheets: dict[str, tuple[Used, ...]] = field(default_factory=dict)

    def total(self, goal: Goal) -> int:
        """How many of a goal there are."""
        return sum(self.made.get(wish, 0) for wish in goal)

    def score(self, goal: Goal) -> Fairness:
        """How good it is for a goal: how many, then how even, by the smallest share, the next, ...

        Equal shares of as many in all leave as many missing, so nothing is left to compare.
        """
        return self.total(goal), _shares(goal, self.made)

    def level_above(self, goal: Goal, settled: tuple[Level, ...]) -> Level | None:
        """The smallest share beyond those that are settled; None where the rest is made in full."""
        shares = _shares(goal, self.made)
        rest = [share for share in shares if not settled or share > settled[-1].share]
        if not rest or rest[0] == 1:
            return None
        return Level(rest[0], sum(share <= rest[0] for share in shares))


def _shares(goal: Goal, made: Mapping[Wish, int]) -> tuple[Fraction, ...]:
    """The share made of each wish, the smallest first."""
    return tuple(sorted(Fraction(made.get(w, 0), w.most) for w in goal))


def most_even(most: Mapping[Wish, int], total: int) -> Fairness:
    """The score of so many wishes, as even as can be, where each can be made so often by itself.

    One after the other is given to the smallest share; of equal ones to that which grows most.
    """
    made = dict.fromkeys(most, 0)
    for _ in range(total):
        open_ = [wish for wish in most if made[wish] < most[wish]]
        if not open_:
            break
        made[min(open_, key=lambda w: (Fraction(made[w], w.most), w.most))] += 1
    return total, _shares(tuple(most), made)
