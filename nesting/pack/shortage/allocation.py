"""What a choice of sheets yields of what is wanted, and which of two choices is better."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from nesting.pack.model.columns import Used
from nesting.pack.shortage.goals import Counts, Goal, Wish

#: The number made, and the share made of each wish, the smallest first.
Fairness = tuple[int, tuple[Fraction, ...]]


@dataclass(frozen=True, slots=True)
class Level:
    """A limit: at most ``number`` wishes are made to this share of what is asked, or less."""

    share: Fraction
    number: int


@dataclass(frozen=True, slots=True)
class Allocation:
    """What a choice of sheets yields: how much of each wish and use, and the sheets of each column."""

    made: dict[Wish, int]
    cut: Counts
    sheets: dict[str, tuple[Used, ...]] = field(default_factory=dict)

    def total(self, goal: Goal) -> int:
        """How many are made for a goal."""
        return sum(self.made.get(wish, 0) for wish in goal)

    def score(self, goal: Goal) -> Fairness:
        """How good it is for a goal: first the number made, then how even the shares are.

        Evenness compares the smallest share, then the next, and so on (lexicographic maximin).
        """
        return self.total(goal), _shares(goal, self.made)

    def level_above(self, goal: Goal, settled: tuple[Level, ...]) -> Level | None:
        """The smallest share above the settled levels; None where the rest is made in full."""
        shares = _shares(goal, self.made)
        rest = [share for share in shares if not settled or share > settled[-1].share]
        if not rest or rest[0] == 1:
            return None
        return Level(rest[0], sum(share <= rest[0] for share in shares))


def _shares(goal: Goal, made: Mapping[Wish, int]) -> tuple[Fraction, ...]:
    """The share made of each wish, the smallest first."""
    return tuple(sorted(Fraction(made.get(w, 0), w.most) for w in goal))


def most_even(most: Mapping[Wish, int], total: int) -> Fairness:
    """The best score for a total, where each wish has a limit of its own.

    Units go one by one to the smallest share; among equal shares, to the one that grows most.
    """
    made = dict.fromkeys(most, 0)
    for _ in range(total):
        open_ = [wish for wish in most if made[wish] < most[wish]]
        if not open_:
            break
        made[min(open_, key=lambda w: (Fraction(made[w], w.most), w.most))] += 1
    return total, _shares(tuple(most), made)
