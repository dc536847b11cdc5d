"""A few nearly full sheets: the fullest is laid first, the last takes what is left."""

from collections.abc import Callable, Generator, Sequence
from random import Random
from typing import NamedTuple, TypeVar

import numpy as np

from nesting.arrays import Whole
from nesting.pack.model.columns import cut_once
from nesting.pack.model.pattern import Pattern, beside_one_another, counts
from nesting.pack.model.pauses import STEP, Pause, Pauses
from nesting.pack.model.problem import Problem
from nesting.pack.one_sheet.near_full import FEW_BLANKS, FirstPart, NearFullPatterns, Part, may_fill
from nesting.pack.one_sheet.packed_counts import ListedPatterns
from nesting.pack.search.incumbent import Search
from nesting.plan import Bound

#: How many pairs of blocks a cell's first list may join, and how many of its patterns are tried.
_PAIRS, _TRIED = 100, 4
#: The most pairs of blocks for a cell, however patient.
_MOST_PAIRS = 1 << 40
#: The share of the waste that the first list for a sheet allows, and the factor by which it grows.
_FIRST_SHARE, _GROWTH = 4, 4
#: A list is long enough with this many times the patterns that are tried.
_ENOUGH = 4
#: The share of the waste that the first complete list allows; the next ones allow a quarter more each.
_FIRST_COMPLETE = 16
#: How many times the pairs of one cell a complete list may take.
_IN_ALL = 4_000
#: The most sheets that are all laid anew, and the most waste, as a share of them.
_MOST_SHEETS, _MOST_OVER = 3, 0.05
#: How often two or three sheets are laid anew with the open blanks, and how many pairs a cell has then.
_MENDED, _MENDED_PAIRS = 12, 100
#: How much work, in pairs of blocks, makes a step.
_WORK_A_STEP = 200_000

_Listed = TypeVar("_Listed", ListedPatterns, list[FirstPart])
#: Steps to the patterns that a demand was laid in, or None; and where there are none, whether that is proven.
_Laying = Generator[Pause, None, tuple[list[Pattern] | None, bool]]


class _Complete(NamedTuple):
    """Every pattern within a demand that wastes no more than ``over``: least waste first, counts in words."""

    demand: Whole
    over: int
    words: Whole
    waste: Whole


class FullestFirst:
    """Lays blanks on a number of sheets, the first ones with hardly any waste.

    The fullest of ``n`` sheets has at most an ``n``th of their waste. So every pattern with no more
    than that is tried for it, least waste first, and the other sheets must hold what is left: again
    the fullest first, down to one sheet. Of the two parts of its first cut the fuller has at most half
    of its waste, and so on, down to parts of few blanks. A demand that failed is only tried again with
    more pairs of blocks.
    """

    def __init__(self, problem: Problem, rng: Random) -> None:
        self._sheets = NearFullPatterns(problem, rng)
        none = np.zeros((0, len(self._sheets.fields.free)), dtype=np.int64)
        self._complete = _Complete(np.array(problem.demand), -1, none, none[:, 0])
        self._in_vain: dict[tuple[int | Part, bytes], int] = {}

    def lay(self, demand: Whole, sheets: int, pairs: int, tried: int) -> _Laying:
        """Lay a demand on a number of sheets, with a pause now and then.

        Returns
        -------
        tuple
            The pattern of each sheet, or None; and where there are none, whether that is proven.
        """
        if not demand.any():
            return [], True
        if self._sheets.over(demand, sheets) < 0:
            return None, True
        if sheets == 1:
            return (yield from self._in_part(demand, self._sheets.sheet, pairs, tried))
        laying = self._on_sheets(demand, sheets, pairs, tried)
        return (yield from self._unless_in_vain((sheets, demand.tobytes()), pairs, laying))

    def _unless_in_vain(
        self, key: tuple[int | Part, bytes], pairs: int, laying: _Laying
    ) -> _Laying:
        """Take these steps, unless they were in vain with as many pairs of blocks, or surely are."""
        known = self._in_vain.get(key, 0)
        if known < 0 or known >= pairs:
            return None, known < 0
        found, sure = yield from laying
        if found is None:
            self._in_vain[key] = -1 if sure else pairs
        return found, sure

    def _in_part(self, demand: Whole, part: Part, pairs: int, tried: int) -> _Laying:
        """Lay a demand, which is not empty, in a sheet or a part of one."""
        if not self._sheets.may_hold(demand, part):
            return None, True
        laying = self._whole_or_in_two(demand, part, pairs, tried)
        return (yield from self._unless_in_vain((part, demand.tobytes()), pairs, laying))

    def _whole_or_in_two(self, demand: Whole, part: Part, pairs: int, tried: int) -> _Laying:
        """Lay a demand by one list, or, where that lacks a pattern of many blanks, in two parts."""
        pattern, sure = self._sheets.lay(demand, pairs, part)
        yield from self._pause()
        if not sure and demand.sum() > FEW_BLANKS:
            return (yield from self._in_two(demand, part, pairs, tried))
        return None if pattern is None else [pattern], sure

    def _in_two(self, demand: Whole, part: Part, pairs: int, tried: int) -> _Laying:
        """Lay a demand in the two parts of a first cut, the fuller first."""
        most, enough = (part.area - int(self._sheets.areas @ demand)) // 2, _ENOUGH * tried
        choices, every = yield from self._widened(
            0,
            most,
            enough,
            lambda over: self._sheets.first_parts(demand, part, over, pairs, enough),
        )
        sure = every and len(choices) <= tried
        tries = [(one, one.pattern()) for one in choices[:tried]]
        yield from self._pause()
        for one, pattern in tries:
            left = demand - one.counts
            if not left.any():
                return [pattern], True
            others, none = yield from self._in_part(left, one.rest, pairs, -(-tried // 2))
            if others is not None:
                return [beside_one_another(one.axis, [pattern, *others])], True
            sure = sure and none
        return None, sure

    def _pause(self) -> Pauses:
        """Pause once for so much work, so that a step takes about as long as elsewhere."""
        for _ in range(1 + self._sheets.work // _WORK_A_STEP):
            yield STEP

    def _on_sheets(self, demand: Whole, sheets: int, pairs: int, tried: int) -> _Laying:
        """Lay a demand on several sheets, the fullest first."""
        choices, sure = yield from self._fullest(demand, sheets, pairs, tried)
        for held, known in choices:
            others, none = yield from self.lay(demand - held, sheets - 1, pairs, tried)
            if others is None:
                sure = sure and none
                continue
            pattern = known or self._sheets.pattern(held)
            if pattern is not None:
                return [pattern, *others], True
            sure = False
        return None, sure

    def _fullest(
        self, demand: Whole, sheets: int, pairs: int, tried: int
    ) -> Generator[Pause, None, tuple[list[tuple[Whole, Pattern | None]], bool]]:
        """What the sheets of least waste hold, with patterns where they are known; whether there are no others."""
        most, enough = self._sheets.over(demand, sheets) // sheets, _ENOUGH * tried
        yield from self._deepen(demand, sheets, pairs)
        if most <= self._complete.over:
            counts = self._within(demand, most)
            return [(held, None) for held in counts[:tried]], len(counts) <= tried
        full, every = yield from self._widened(
            most // _FIRST_SHARE,
            most,
            enough,
            lambda over: self._sheets.wasting(demand, over, pairs, enough=enough),
        )
        order = np.argsort(-(full.counts @ self._sheets.areas), kind="stable")
        tries: list[tuple[Whole, Pattern | None]] = [
            (full.counts[number], full.pattern(number)) for number in order[:tried].tolist()
        ]
        yield from self._pause()
        return tries, every and len(order) <= tried

    def _widened(
        self, over: int, most: int, enough: int, listed: Callable[[int], tuple[_Listed, bool]]
    ) -> Generator[Pause, None, tuple[_Listed, bool]]:
        """List what wastes up to ``over``, then more up to ``most``, until that is enough; whether it is all.

        It does not pause after the last list: patterns are built from it before another search lists.
        """
        while True:
            found, every = listed(over)
            if not every or over == most or len(found) >= enough:
                return found, every and over == most
            yield from self._pause()
            over = min(most, over * _GROWTH + 1)

    def _deepen(self, demand: Whole, sheets: int, pairs: int) -> Pauses:
        """List every pattern of ever more waste within the whole demand, as far as patience allows.

        Each list makes the next one shorter. Of three sheets the second may waste half of what all
        may waste: then it is looked up, too.
        """
        if not np.array_equal(demand, self._complete.demand):
            return
        over = self._sheets.over(demand, sheets)
        most = over // max(2, sheets - 1)
        while self._complete.over < most:
            over = min(most, max(most // _FIRST_COMPLETE, self._complete.over * 5 // 4 + 1))
            full, every = self._sheets.wasting(demand, over, _MOST_PAIRS, pairs * _IN_ALL)
            yield from self._pause()
            if not every:
                return
            waste = self._sheets.area - full.counts @ self._sheets.areas
            order = np.argsort(waste, kind="stable")
            words = self._sheets.fields.packed(full.counts[order])
            self._complete = _Complete(demand, over, words, waste[order])

    def _within(self, demand: Whole, most: int) -> Whole:
        """The patterns within a demand that waste no more than ``most``, of those listed completely."""
        fields = self._sheets.fields
        words = self._complete.words[: np.searchsorted(self._complete.waste, most, "right")]
        return fields.counts(words[fields.within(words, demand)])

    def lay_with_open(
        self, patterns: Sequence[Pattern], demand: tuple[int, ...], sheets: int, rng: Random
    ) -> Generator[Pause, None, list[Pattern] | None]:
        """Lay a demand on a number of sheets of which all but two or three keep their ``patterns``.

        The blanks that lie on none of these are laid together with those of a few sheets that have
        enough room left.
        """
        held = np.zeros((sheets, len(demand)), dtype=np.int64)
        for number, pattern in enumerate(patterns):
            held[number] = counts(pattern, len(demand))
        missing = np.array(demand) - held.sum(axis=0)
        for number in range(_MENDED):
            chosen = sorted(rng.sample(range(sheets), min(sheets, 2 + number % 2)))
            laid_anew = held[chosen].sum(axis=0) + missing
            anew, _ = yield from self.lay(laid_anew, len(chosen), _MENDED_PAIRS, _TRIED)
            if anew is not None:
                return [
                    *(one for number, one in enumerate(patterns) if number not in chosen),
                    *anew,
                ]
        return None


def would_be_nearly_full(search: Search) -> bool:
    """Whether one sheet fewer would be few sheets, and all of them nearly full."""
    problem, sheets = search.problem, search.cost - 1
    if not may_fill(problem):
        return False
    area = sheets * problem.sizes[0].width * problem.sizes[0].height
    return sheets <= _MOST_SHEETS and area - problem.area <= _MOST_OVER * area


def lay_fullest_first(search: Search, fullest: FullestFirst) -> Pauses:
    """Lay the whole demand on one sheet fewer, if these are few and nearly full, ever more patiently.

    Where nothing is left to try, there is no such plan, and the bound rises instead.
    """
    demand = np.array(search.problem.demand)
    pairs, tried = _PAIRS, _TRIED
    while pairs <= _MOST_PAIRS and not search.proven and would_be_nearly_full(search):
        sheets = search.cost - 1
        found, sure = yield from fullest.lay(demand, sheets, pairs, tried)
        if found is not None:
            search.offer(search.taken(cut_once(found, len(demand))))
        elif sure:
            search.offer_bound(Bound(sheets + 1, "sheets", "search"))
        pairs, tried = 2 * pairs, tried + tried // 2
