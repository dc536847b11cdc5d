"""Plans without any waste: full sheets, one after another, until what is left is covered exactly."""

from collections.abc import Generator, Iterable, Iterator
from math import gcd
from random import Random

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
_TRIED, _TRIED_FOR_TWO = 3, 16
#: Of so many full sheets, drawn at random, the one that leaves the best rest is tried.
_DRAWN = 60
#: How much chance counts beside what speaks for a full sheet.
_BY_CHANCE = 0.2
#: How often a sheet has to hold the kind that is in the fewest.
_HARDEST_FIRST = 0.7
#: How many full sheets within a demand are remembered, and for how many demands.
_REMEMBERED, _DEMANDS = 4_000, 300
#: How often the blanks of a sheet that is left over are drawn at random.
_LEFT_OVER = 300
#: From this many visits on, a list grows each time its visits have doubled.
_LISTED_AGAIN = 4
#: How many pairs of blocks make a step.
_PAIRS_A_STEP = 100_000


class _Within:
    """Full sheets within a demand: some of them, or ``every`` one.

    ``cover`` has those that together come to the demand, once they are found; it is ``impossible`` where
    none do. ``hardest`` is the kind that the fewest sheets hold; the fewer hold a kind, the larger is its
    weight.
    """

    def __init__(self, kinds: int) -> None:
        self.some: Whole = np.zeros((0, kinds), dtype=np.int64)
        self.weights: Numbers = np.zeros(kinds)
        self.hardest = 0
        self.every = False
        self.visits = 0
        self.cover: list[Whole] | None = None
        self.impossible = False


class FullSheetsFirst:
    """Covers a demand by full sheets exactly.

    As makers cut several sheets alike, a sheet is laid as often as a demand divided by some number
    allows; or only once, if it holds what is left over when the demand is divided. What is left
    after it had better have many equal lengths, and few of the kinds that are in the fewest full
    sheets: then it can be filled again.
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
        key = demand.tobytes()
        parts = self._parts(demand, sheets)
        for copies, part in () if key in self._in_vain else parts:
            if (copies * part == demand).all():
                within = yield from self._listed(part)
                if within.cover is not None:
                    return copies * within.cover, True
                if copies == 1 and within.impossible:
                    self._in_vain.add(key)
                    del self._within[key]
        if sheets == 1 or key in self._in_vain:
            return None, key in self._in_vain
        return (yield from self._by_parts(demand, sheets, parts)), False

    def _by_parts(
        self, demand: Whole, sheets: int, parts: list[tuple[int, Whole]]
    ) -> Generator[Pause, None, list[Whole] | None]:
        """The same, from covers of demands for fewer sheets."""
        common = gcd(sheets, *map(int, demand))
        if common > 1:
            found, _ = yield from self.cover(demand // common, sheets // common)
            if found is not None:
                return common * found
        for one in self._left_over(demand, sheets):
            alone, _ = yield from self.cover(one, 1)
            if alone is not None:
                found, _ = yield from self.cover(demand - one, sheets - 1)
                if found is not None:
                    return [*found, one]
        for _ in range(_TRIED_FOR_TWO if sheets == 2 else _TRIED):
            copies, part = self._drawn(parts)
            within = self._within.get(part.tobytes()) or (yield from self._listed(part))
            chosen = self._chosen(within, demand, copies)
            if chosen is not None:
                found, _ = yield from self.cover(demand - copies * chosen, sheets - copies)
                if found is not None:
                    return [*found, *copies * [chosen]]
        return None

    def _parts(self, demand: Whole, sheets: int) -> list[tuple[int, Whole]]:
        """How many alike a sheet may be laid, and the demand that each of them can hold; most alike first.

        Left out are those whose demand does not fill a sheet, and those with the demand of one before.
        """
        parts: list[tuple[int, Whole]] = []
        for copies in range(sheets, 0, -1):
            part = demand // copies
            if part @ self._full.areas >= self._full.area and not (
                parts and (part == parts[-1][1]).all()
            ):
                parts.append((copies, part))
        return parts

    def _left_over(self, demand: Whole, sheets: int) -> Iterator[Whole]:
        """What one sheet may hold where all others are alike in equal groups, and it alone is left over."""
        ways = []
        for alike in range(sheets - 1, 1, -1):
            over = demand % alike
            missing, rest = divmod(self._full.area - int(over @ self._full.areas), alike)
            if sheets % alike == 1 and missing >= 0 and not rest:
                ways.append((alike, over, missing))
        for alike, over, missing in ways:
            for _ in range(_LEFT_OVER // len(ways)):
                more = self._of_area(missing, demand // alike)
                if more is not None:
                    yield over + alike * more

    def _of_area(self, area: int, most: Whole) -> Whole | None:
        """Blanks that come to an area, drawn at random from ``most`` of each kind; None if in vain."""
        drawn, areas = np.zeros_like(most), self._full.areas
        while area:
            fitting = np.flatnonzero((drawn < most) & (areas <= area))
            if not len(fitting):
                return None
            last = fitting[areas[fitting] == area]
            kind = self._rng.choice(last if len(last) else fitting)
            drawn[kind] += 1
            area -= int(areas[kind])
        return drawn

    def _drawn(self, parts: list[tuple[int, Whole]]) -> tuple[int, Whole]:
        """One of the parts at random, each half as often as the one before."""
        return next((part for part in parts[:-1] if self._rng.random() < 0.5), parts[-1])

    def _listed(self, demand: Whole) -> Generator[Pause, None, _Within]:
        """Full sheets within a demand, more of them when it has been asked for often."""
        key = demand.tobytes()
        if key not in self._within and len(self._within) == _DEMANDS:
            self._within.clear()
        found = self._within.setdefault(key, _Within(len(demand)))
        found.visits += 1
        again = found.visits >= _LISTED_AGAIN and not found.visits & (found.visits - 1)
        if found.every or found.cover or not (found.visits == 1 or again):
            return found
        full, found.every = self._full.within(demand)
        yield from self._pause()
        found.some = np.unique(np.concatenate([found.some, full]), axis=0)
        held = np.count_nonzero(found.some, axis=0)
        found.hardest = int(np.where(held, held, len(found.some) + 1).argmin())
        found.weights = -np.log((held + 1) / (len(found.some) + 1))
        sheets, over = divmod(int(demand @ self._full.areas), self._full.area)
        if not over:
            found.cover, sure = self._full.cover(demand, found.some, sheets)
            found.impossible = sure and found.every and found.cover is None
        if len(found.some) > _REMEMBERED:
            found.some = found.some[sorted(self._rng.sample(range(len(found.some)), _REMEMBERED))]
        return found

    def _pause(self) -> Pauses:
        """Pause once for so many pairs, so that a step takes about as long as elsewhere."""
        for _ in range(1 + self._full.looked_at // _PAIRS_A_STEP):
            yield STEP

    def _chosen(self, within: _Within, demand: Whole, copies: int) -> Whole | None:
        """A full sheet after which the rest of a demand can probably be covered."""
        full = within.some
        if copies == 1 and self._rng.random() < _HARDEST_FIRST:
            full = full[full[:, within.hardest] > 0]
        if not len(full):
            return None
        drawn = full[self._rng.sample(range(len(full)), min(len(full), _DRAWN))]
        drawn = np.array(
            [one for one in drawn if (demand - copies * one).tobytes() not in self._in_vain]
        )
        if not len(drawn):
            return None
        alike = (((demand - copies * drawn) @ self._sides) ** 2).sum(axis=1)
        hard = drawn @ within.weights if copies == 1 else 1.0
        chance = [self._rng.uniform(1 - _BY_CHANCE, 1 + _BY_CHANCE) for _ in drawn]
        best: Whole = drawn[int((alike * hard * chance).argmax())]
        return best

    def patterns(self, sheets: Iterable[Whole]) -> list[Pattern]:
        """Patterns of some full sheets, without those that would take too many blocks."""
        return [pattern for sheet in sheets if (pattern := self._full.pattern(sheet)) is not None]


def cover_by_full_sheets(search: Search) -> Pauses:
    """Lay the whole demand on sheets without waste, over and over, if it has just their area.

    Where there is no such plan, the bound rises by one, and with more sheets something is left over.
    """
    sheets = search.bound.value
    if not may_be_full(search.problem, sheets):
        return
    first = FullSheetsFirst(search.problem, search.rng)
    demand = np.array(search.problem.demand)
    while not search.proven and search.bound.value == sheets:
        yield STEP  # also where all that is tried was listed before
        found, sure = yield from first.cover(demand, sheets)
        if found is not None:
            patterns = first.patterns(found)
            if len(patterns) == sheets:
                search.offer(search.taken(cut_once(patterns, len(demand))))
        elif sure:
            search.offer_bound(Bound(sheets + 1, "sheets", "search"))
