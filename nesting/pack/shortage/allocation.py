"""What some sheets give of what is wanted, and which of two answers is better."""

from dataclasses import dataclass, field
from fractions import Fraction

from nesting.pack.model.columns import Used
from nesting.pack.shortage.goals import Counts, Stage, Wish

#: How many there are, and how even they are.
Score = tuple[int, Fraction]


@dataclass(frozen=True, slots=True)
class Given:
    """What some sheets give: how many of each wish, of each use, and how often each column is cut."""

    made: dict[Wish, int]
    cut: Counts
    sheets: dict[str, tuple[Used, ...]] = field(default_factory=dict)

    def total(self, stage: Stage) -> int:
        """How many of a stage there are."""
        return sum(self.made.get(wish, 0) for wish in stage)

    def score(self, stage: Stage) -> tuple[int, Fraction]:
        """How good it is for a stage: how many, then how evenly, each in proportion to its most."""
        lean = sum(
            (Fraction(self.made.get(w, 0) ** 2, w.most) for w in stage if w.most), Fraction(0)
        )
        return self.total(stage), -lean


def most_even(stage: Stage, total: int) -> Score:
    """The score of so many of a stage, were every paper in plenty."""
    steps = sorted(Fraction(2 * k - 1, w.most) for w in stage for k in range(1, w.most + 1))
    return total, -sum(steps[:total], Fraction(0))
