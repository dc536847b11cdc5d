"""Set covering: the integer programme over all sheets that ruin and recreate has made."""

from collections.abc import Generator, Sequence
from dataclasses import replace
from operator import le, sub

import numpy as np

from nesting.arrays import Numbers, Whole
from nesting.pack.lp.master import Relaxation, Relaxed
from nesting.pack.model.columns import Column, Pool, Used, column_of, cut_once
from nesting.pack.model.pattern import Pattern, blank_area
from nesting.pack.model.pauses import STEP, Pause, Pauses
from nesting.pack.search.column_search import search_columns
from nesting.pack.search.incumbent import Search
from nesting.pack.search.pattern_archive import PatternArchive

#: How many sheets enter the relaxation at a time.
_AT_A_TIME = 200
#: What is added to each use, so that sheets which the relaxation hardly uses get a chance.
_LITTLE_USED = 0.1
#: How many sheets stay in the archive after each choice.
_KEPT = 10_000
#: The least and the most slack: how much less than a sheet's cost a recorded sheet may be worth.
_LEAST_SLACK, _MOST_SLACK = 0.03, 0.2
#: How many choices to try.
_CHOICES = 300_000
#: The least and the largest share of the sheets that is set aside.
_SET_ASIDE = (0.4, 0.8)


def choose_from_archive(
    search: Search, seen: PatternArchive
) -> Generator[Pause, None, list[tuple[Column, float]]]:
    """Choose a plan with one sheet fewer from the archive and the columns of the search.

    Sheets enter the relaxation as they price out, as in column generation (set covering over what a
    search has visited also ends the searches of Cui, Yao and Zhang 2018 and others). A sheet whose
    reduced cost exceeds the gap is in no such plan, so the integer programme leaves it out. The
    dual values decide what the archive records from now on.

    Returns
    -------
    list[tuple[Column, float]]
        The columns that the relaxation uses, and how often: ``pick_sheets`` begins from them.
    """
    sheets = search.cost - 1
    pool = Pool(search.problem)
    for column in search.pool.columns:
        pool.take(column)
    relaxation = Relaxation(search.problem)
    while True:
        relaxation.extend(_within_demand(search, pool))
        found = relaxation.solve()
        yield STEP
        if found is None:
            return []
        reduced = 1 - seen.worth(found.duals)
        known = len(pool.columns)
        for number in np.argsort(reduced, kind="stable")[:_AT_A_TIME]:
            if reduced[number] < -1e-6:
                pool.add(0, seen.pattern(int(number)))
        if len(pool.columns) == known:
            break
    spare = sheets - found.cost
    slack = min(max(spare, _LEAST_SLACK), _MOST_SLACK)
    if spare >= -1e-6:
        yield from _choose(search, pool, seen, found, sheets)
    best = np.argsort(reduced, kind="stable")[:_KEPT]
    seen.keep(best[reduced[best] <= slack])
    seen.value(found.duals, slack)
    return [pair for pair in zip(pool.columns, found.uses, strict=True) if pair[1] > 1e-9]


def pick_sheets(search: Search, used: list[tuple[Column, float]], sheets: int) -> list[Pattern]:
    """Choose ``sheets`` sheets from those that the relaxation uses, one after another.

    Ruin and recreate then repairs the result.
    """
    left = np.array(search.problem.demand)
    held = np.array([column.counts for column, _ in used])
    uses = np.array([use for _, use in used])
    patterns = []
    for _ in range(sheets):
        best = pick_sheet(search, held, uses, left)
        left = np.maximum(left - held[best], 0)
        patterns.append(used[best][0].pattern)
    return patterns


def pick_sheet(search: Search, held: Whole, uses: Numbers, left: Whole) -> int:
    """The number of a sheet that the relaxation uses often and that holds much of what is left.

    Weighted at random: what is picked again and again differs.
    """
    chance = np.array([search.rng.uniform(0.7, 1.0) for _ in uses])
    areas = np.array(search.problem.areas)
    return int(np.argmax(np.minimum(held, left) @ areas * (uses + _LITTLE_USED) * chance))


def set_aside(
    search: Search, start: Sequence[Pattern]
) -> tuple[tuple[Used, ...], tuple[int, ...], list[Used]]:
    """Some of the fullest sheets to keep as they are, the demand left, and the other sheets.

    All the waste that a plan may have is then on the others, which leaves more room on each.
    """
    rest = search.problem.demand
    most = search.rng.randint(*(int(share * len(start)) for share in _SET_ASIDE))
    kept, others = list[Used](), list[Used]()
    for used in cut_once(sorted(start, key=blank_area, reverse=True), len(rest)):
        held = used.column.counts
        if len(kept) < most and all(map(le, held, rest)):
            kept.append(used)
            rest = tuple(map(sub, rest, held))
        else:
            others.append(used)
    return search.taken(kept), rest, others


def _within_demand(search: Search, pool: Pool) -> list[Column]:
    """The columns without what they have beyond the demand: no plan in whole numbers can use that."""
    demand = search.problem.demand
    return [replace(one, counts=tuple(map(min, one.counts, demand))) for one in pool.columns]


def _choose(
    search: Search,
    pool: Pool,
    seen: PatternArchive,
    found: Relaxed,
    sheets: int,
) -> Pauses:
    """Choose so many of the columns and archived sheets whose reduced cost is within the gap."""
    near = np.flatnonzero(1 - seen.worth(found.duals) <= sheets - found.cost + 1e-6)
    columns = pool.columns
    chosen, _ = yield from search_columns(
        np.concatenate([[column.counts for column in columns], seen.counts(near)]),
        np.array(search.problem.demand),
        sheets,
        found._replace(uses=found.uses + [0.0] * len(near)),
        search.rng,
        _CHOICES,
    )
    plan = []
    for number, often in chosen.items():
        archived = number - len(columns)
        pattern = columns[number].pattern if archived < 0 else seen.pattern(int(near[archived]))
        plan.append(Used(column_of(0, pattern, len(search.problem.kinds)), often))
    if plan:
        search.offer(search.taken(plan))
