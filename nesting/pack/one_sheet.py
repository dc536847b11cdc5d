"""The most value from one sheet with a limited number of each kind."""

from dataclasses import dataclass
from random import Random
from typing import TYPE_CHECKING

from nesting.pack.content import Content, counts
from nesting.pack.exhaust import Exhaustion, Patience, TooManyError
from nesting.pack.fill import fillings
from nesting.pack.problem import Problem
from nesting.pack.values import SheetTable

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

#: How often the multipliers are moved, and when to move them by less.
_MOVES, _PATIENT_MOVES = 120, 8


@dataclass(frozen=True, slots=True)
class BestSheet:
    """The best content found, its value, and a bound that no content's value exceeds.

    ``content`` is None where nothing has any value.
    """

    content: Content | None
    value: int
    bound: int

    @property
    def proven(self) -> bool:
        """Whether no content is worth more."""
        return self.value == self.bound


def best_sheet(
    problem: Problem, values: list[int], seed: int = 0, patience: Patience | None = None
) -> BestSheet:
    """Find the most value that one sheet can hold with no more of a kind than its demand.

    Dropping the demand leaves the unbounded problem, which the dynamic programme solves; a
    multiplier for each kind, by which its value is less, brings its use down to the demand
    (state-space relaxation with multipliers: Christofides and Hadjiconstantinou 1995; Velasco and
    Uchoa 2019). What the relaxation leaves open is listed with the multipliers as a guide, from
    the bound downwards, until the best content is among what is listed.

    Parameters
    ----------
    problem
        One size of sheet, no longest cut. Demands are the most copies of each kind.
    values
        What each kind is worth, 0 or more.
    patience
        How much to list before giving up; the value is then not proven. None for no such limit.

    References
    ----------
    N. Christofides, E. Hadjiconstantinou (1995). An exact algorithm for orthogonal 2-D cutting
    problems using guillotine cuts. EJOR 83.
    A. S. Velasco, E. Uchoa (2019). Improved state space relaxation for constrained
    two-dimensional guillotine cutting problems. EJOR 272.
    """
    table = SheetTable(problem)
    search = _OneSheet(problem, values, table)
    density = [v / kind.area for v, kind in zip(values, problem.kinds, strict=True)]
    left = list(problem.demand)
    for content in fillings(problem, problem.sizes[0], left, Random(seed), 40, density):
        search.look(content)
    search.move_multipliers()
    search.list_rest(patience or Patience(2**62, 1_000_000))
    return BestSheet(search.best, search.value, max(search.bound, search.value))


class _OneSheet:
    """The state of one search: the best content, the bound, and the multipliers that gave it."""

    def __init__(self, problem: Problem, values: list[int], table: SheetTable) -> None:
        import numpy as np

        self.problem = problem
        self.table = table
        self.values = np.array(values, dtype=np.int64)
        self.demand = np.array(problem.demand, dtype=np.int64)
        self.best: Content | None = None
        self.value = 0
        self.bound = int(self.values @ self.demand)
        self.multipliers = np.zeros(len(values), dtype=np.int64)

    def look(self, content: Content | None) -> None:
        """Take a content, its blanks beyond the demand without worth, if it is worth more."""
        if content is None:
            return
        value = int(self.values @ self._within(content))
        if value > self.value:
            self.best, self.value = content, value

    def _within(self, content: Content) -> "NDArray[np.int64]":
        import numpy as np

        return np.minimum(counts(content, len(self.values)), self.demand)

    def move_multipliers(self) -> None:
        """Lower the bound by moving multipliers against what the relaxation uses too much."""
        import numpy as np

        size = self.problem.sizes[0]
        multipliers = np.zeros(len(self.values))
        step, since = 1.0, 0
        for _ in range(_MOVES):
            whole = np.floor(multipliers).astype(np.int64)
            reduced = np.maximum(self.values - whole, 0)
            self.table.fill([int(value) for value in reduced])
            bound = self.table.best(size.width, size.height) + int(whole @ self.demand)
            content = self.table.content(size.width, size.height)
            self.look(content)
            since += 1
            if bound < self.bound or not self.multipliers.any():
                since = 0 if bound < self.bound else since
                self.bound, self.multipliers = min(bound, self.bound), whole
            if self.bound <= self.value or content is None:
                return
            used = np.array(counts(content, len(self.values)))
            beyond = used - self.demand
            beyond[(beyond < 0) & (whole == 0)] = 0
            if not beyond.any():
                return
            if since >= _PATIENT_MOVES:
                step, since = step / 2, 0
            move = step * (bound - self.value) / float(beyond @ beyond)
            multipliers = np.maximum(multipliers + move * beyond, 0)

    def list_rest(self, patience: Patience) -> None:
        """List contents from the bound downwards until the best one is among them."""
        import numpy as np

        reduced = np.maximum(self.values - self.multipliers, 0)
        given = int(self.multipliers @ self.demand)
        gap = max(1, (self.bound - self.value) // 16)
        while self.bound > self.value:
            least = max(self.value + 1, self.bound - gap)
            self.table.fill([int(value) for value in reduced])
            try:
                found = Exhaustion(self.problem, self.table, least - given, patience).contents()
            except TooManyError:
                return
            for content in found:
                self.look(content)
            self.bound = max(self.value, least - 1)
            gap *= 2
