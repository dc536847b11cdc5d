"""Plans without any waste: full sheets, one after another, until what is left is covered exactly."""

from collections.abc import Generator, Iterable
from random import Random
from typing import NamedTuple

import numpy as np

from nesting.arrays import Numbers, Whole
from nesting.pack.model.columns import cut_once
from nesting.pack.model.pattern import Pattern
from nesting.pack.model.pauses import STEP, Pause, Pauses
from nesting.pack.model.problem import Problem, lying_sizes
from nesting.pack.one_sheet.full_sheets import FullSheets, may_be_full
from nesting.pack.search.incumbent import Search
from nesting.plan import Bound

#: How many full sheets are tried for each demand before going back; for two sheets they are many.
_TRIED, _TRIED_FOR_TWO = 3, 8
#: Of so many full sheets, drawn at random, the one that leaves the most equal lengths is tried.
_DRAWN = 60
#: By so much chance may outweigh these lengths.
_BY_CHANCE = 0.2
#: How often a sheet has to hold the kind that is in the fewest.
_HARDEST_FIRST = 0.7
#: How many full sheets within a demand are remembered, and for how many demands.
_REMEMBERED, _DEMANDS = 2_000, 300
#: How many pairs of blocks make a step.
_PAIRS_A_STEP = 100_000


class _Within(NamedTuple):
    """Some full sheets within a demand; those that come to it, if found, or whether none surely do."""

    some: Whole
    cover: list[Whole] | None
    impossible: bool


class FullSheetsFirst:
    """Covers a demand by full sheets exactly.

    As makers cut several sheets alike, a sheet is laid as often as a demand divided by some number
    allows. What is left after it had better have many equal lengths: then it can be filled again.
    """

    def __init__(self, problem: Problem, rng: Random) -> None:
        self._full = FullSheets(problem, rng)
        self._rng = rng
        self._within: dict[bytes, _Within] = {}
        self._in_vain: set[bytes] = set()
        each = lying_sizes(problem)
        self._sides: Numbers = np.concatenate(
            [
                (each[:, :, side, None] == np.unique(each[each > 0])).any(axis=1)
                for side in range(2)
            ],
            axis=1,
        ).astype(float)

    def cover(
        self, demand: Whole, sheets: int
    ) -> Generator[Pause, None, tuple[list[Whole] | None, bool]]:
        """The counts of so many full sheets that come to a demand, looked for once, with pauses.

        Where there are none, also whether that is proven.
        """
        if not sheets:
            return [], True
        if demand.tobytes() in self._in_vain:
            return None, True
        parts = self._parts(demand, sheets)
        for copies, part in parts:
            if (copies * part == demand).all():
                within = yield from self._listed(part)
                if within.cover is not None:
                    return copies * within.cover, True
                if copies == 1 and within.impossible:
                    self._in_vain.add(demand.tobytes())
                    return None, True
        for _ in range(0 if sheets == 1 else _TRIED_FOR_TWO if sheets == 2 else _TRIED):
            copies, part = self._drawn(parts)
            within = yield from self._listed(part)
            if len(within.some):
                one = self._chosen(within.some, demand, copies)
                others, _ = yield from self.cover(demand - copies * one, sheets - copies)
                if others is not None:
                    return [*others, *copies * [one]], True
        return None, False

    def _parts(self, demand: Whole, sheets: int) -> list[tuple[int, Whole]]:
        """How often a sheet may be laid, and the demand that each of these can hold; most often first.

        Only those of which a part can be a full sheet, and of equal ones the first.
        """
        parts: list[tuple[int, Whole]] = []
        for copies in range(sheets, 0, -1):
            part = demand // copies
            if part @ self._full.areas >= self._full.area and not (
                parts and (part == parts[-1][1]).all()
            ):
                parts.append((copies, part))
        return parts

    def _drawn(self, parts: list[tuple[int, Whole]]) -> tuple[int, Whole]:
        """One of the parts: each next one half as often."""
        return next((part for part in parts[:-1] if self._rng.random() < 0.5), parts[-1])

    def _listed(self, demand: Whole) -> Generator[Pause, None, _Within]:
        """Full sheets within a demand, listed when it is first asked for."""
        key = demand.tobytes()
        found = self._within.get(key)
        if found is None:
            full, every = self._full.within(demand)
            yield from self._pause()
            sheets, over = divmod(int(demand @ self._full.areas), self._full.area)
            cover, impossible = None, False
            if not over:
                cover, impossible = self._full.cover(demand, full, sheets)
            if len(full) > _REMEMBERED:
                full = full[sorted(self._rng.sample(range(len(full)), _REMEMBERED))]
            if len(self._within) == _DEMANDS:
                self._within.clear()
            found = self._within[key] = _Within(full, cover, impossible and every)
        return found

    def _pause(self) -> Pauses:
        """Pause once for so many pairs, so that a step takes about as long as elsewhere."""
        for _ in range(1 + self._full.looked_at // _PAIRS_A_STEP):
            yield STEP

    def _chosen(self, full: Whole, demand: Whole, copies: int) -> Whole:
        """A full sheet after which the rest of a demand can probably be covered."""
        if copies == 1 and self._rng.random() < _HARDEST_FIRST:
            held = np.count_nonzero(full, axis=0)
            hardest = int(np.where(held, held, len(full) + 1).argmin())
            full = full[full[:, hardest] > 0]
        drawn = full[self._rng.sample(range(len(full)), min(len(full), _DRAWN))]
        alike = (((demand - copies * drawn) @ self._sides) ** 2).sum(axis=1)
        chance = [self._rng.uniform(1 - _BY_CHANCE, 1 + _BY_CHANCE) for _ in drawn]
        best: Whole = drawn[int((alike * chance).argmax())]
        return best

    def patterns(self, sheets: Iterable[Whole]) -> list[Pattern]:
        """Patterns of some full sheets, without those that would take too many blocks."""
        return [pattern for sheet in sheets if (pattern := self._full.pattern(sheet)) is not None]


def cover_by_full_sheets(search: Search) -> Pauses:
    """Lay the whole demand on sheets without waste, over and over, if it has just their area.

    Where there is no such plan, the bound rises by one.
    """
    sheets = search.bound.value
    if not may_be_full(search.problem, sheets):
        return
    first = FullSheetsFirst(search.problem, search.rng)
    demand = np.array(search.problem.demand)
    while not search.proven:
        yield STEP  # also where all that is tried was listed before
        found, sure = yield from first.cover(demand, sheets)
        if found is not None:
            patterns = first.patterns(found)
            if len(patterns) == sheets:
                search.offer(search.taken(cut_once(patterns, len(demand))))
        elif sure:
            search.offer_bound(Bound(sheets + 1, "sheets", "search"))
