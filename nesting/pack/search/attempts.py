"""Attempts to save a sheet by ruin and recreate, on all sheets or on the residual problem."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from nesting.pack.model.columns import Used, cut_once
from nesting.pack.model.overproduction import without_overproduction
from nesting.pack.model.pattern import Pattern, blank_area, leaves
from nesting.pack.model.pauses import STEP, Pauses
from nesting.pack.model.problem import Problem
from nesting.pack.one_sheet.greedy import fill_sheets
from nesting.pack.search.column_generation import LATER_TRIES, rounded_down
from nesting.pack.search.incumbent import Search
from nesting.pack.search.near_full_first import FullestFirst
from nesting.pack.search.pattern_archive import PatternArchive
from nesting.pack.search.ruin_recreate import RuinAndRecreate
from nesting.pack.search.set_covering import set_aside

#: The most blanks that one attempt lays anew.
MOST_BLANKS = 600
#: How many turns an attempt takes; threshold and size of the ruins, for one attempt after another.
TURNS = 100
_TEMPERS = ((0.1, 6), (0.2, 6), (0.05, 10), (0.1, 10))
#: From so many kinds a sheet on, an attempt takes so many times as many turns, with larger ruins.
MANY_KINDS, _LONGER, _LARGER = 20, 10, 12
#: Every so many turns, two or three sheets are laid anew together with the open blanks.
_LAID_ANEW = 50


@dataclass(frozen=True, slots=True)
class Start:
    """Where an attempt begins: sheets that stay as they are, the demand left, and sheets for it."""

    kept: tuple[Used, ...]
    demand: tuple[int, ...]
    sheets: Sequence[Used] = field(default=())


def from_all_sheets(search: Search, patterns: Sequence[Pattern]) -> Start:
    """Begin with these patterns, some of them set aside; without any, with the best plan."""
    if patterns:
        return Start(*set_aside(search, patterns))
    return Start((), search.problem.demand, search.best)


def may_recreate(problem: Problem) -> bool:
    """Whether ruin and recreate can obey all the rules: equal sheets, no longest cut."""
    return problem.counts_sheets and problem.longest is None


def from_rounding(search: Search, uses: list[float]) -> Start:
    """Begin with the residual problem: the relaxation rounded down, less six sheets."""
    if not may_recreate(search.problem):
        return Start((), search.problem.demand)
    if sum(search.problem.demand) <= MOST_BLANKS:
        return from_all_sheets(search, ())
    kept, rest = rounded_down(search, uses, 6)
    if sum(rest) > MOST_BLANKS:
        return Start(kept, rest)
    return Start(kept, rest, fill_sheets(search.problem, rest, search.rng, LATER_TRIES) or ())


def attempt(
    search: Search,
    start: Start,
    number: int,
    *,
    turns: int = TURNS,
    archive: PatternArchive | None = None,
    fullest: FullestFirst | None = None,
) -> Pauses:
    """Ruin and recreate on one sheet fewer than the best plan has.

    Ends with the first plan found or after ``turns`` turns, more where sheets hold many kinds; the
    last sheets then become columns.
    Now and then ``fullest`` lays two or three sheets anew together with the open blanks.
    """
    problem, rest = search.problem, start.demand
    patterns = [
        used.column.pattern
        for used in without_overproduction(start.sheets, rest)
        for _ in range(used.count)
    ]
    if any(leaf.shape.holds > 1 for pattern in patterns for leaf in leaves(pattern)):
        return
    patterns.sort(key=blank_area, reverse=True)
    sheets = min(len(patterns), search.cost - 1 - sum(used.count for used in start.kept))
    if sheets < 1:
        return
    heat, most = _TEMPERS[number % len(_TEMPERS)]
    if np.count_nonzero(rest) > MANY_KINDS * sheets:
        turns, most = _LONGER * turns, _LARGER
    part = problem.asking(rest)
    if archive is None:
        archive = PatternArchive(part, search.rng, most=0)
    else:
        archive.aim(search.cost - 1)
    ruin = RuinAndRecreate(part, patterns[:sheets], search.rng, archive)
    for turn in range(turns):
        ruin.run(heat * (1 - turn / turns), most)
        found = None if ruin.open else ruin.patterns()
        if ruin.open and fullest is not None and turn % _LAID_ANEW == _LAID_ANEW - 1:
            found = yield from fullest.lay_with_open(ruin.patterns(), rest, sheets, search.rng)
        if found is not None:
            search.offer((*start.kept, *search.taken(cut_once(found, len(rest)))))
        yield STEP  # after the offer: a search that is proven by it must not be asked for more
        if found is not None:
            return
    for pattern in ruin.patterns():
        search.pool.add(0, pattern)
