"""The exact last step: list every pattern that a plan of ``bound`` sheets can contain, and solve."""

from collections.abc import Generator, Iterator
from itertools import product

import numpy as np

from nesting.arrays import Whole
from nesting.pack.lp.master import Relaxation, Relaxed, choose_columns
from nesting.pack.model.columns import Column, Pool, Used
from nesting.pack.model.deadline import stop_if_late
from nesting.pack.model.pauses import STEP, Pause
from nesting.pack.model.problem import Problem
from nesting.pack.one_sheet.constrained_pricing import Guide
from nesting.pack.one_sheet.pattern_enumeration import (
    Enumeration,
    Patience,
    TooManyError,
    ValueTarget,
    may_list,
)
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.pack.search.column_search import search_columns
from nesting.pack.search.incumbent import Search
from nesting.plan import Bound

#: The most guides for one enumeration.
_MOST_GUIDES = 8
#: How many columns the first integer programmes have, before all of them.
_FEW = 100, 300
#: A column counts as worth more by chance there, up to this share of what all sheets together may be worth less
#: than the most.
_BY_CHANCE = 0.3
#: The least node limit for HiGHS, and nodes times columns: a step must not take too long.
_LEAST_NODES, _NODES_BY_COLUMNS = 50, 150_000


def enumerate_and_solve(
    search: Search, table: SheetTable, patience: Patience
) -> Generator[Pause, None, tuple[Used, ...]]:
    """List every pattern that a plan of ``bound`` sheets can contain; find that plan or rule it out.

    Only an integer programme over the full list can rule it out; the bound then rises by one. Where
    that list is too long, a list of the most valuable patterns mostly has the plan: all its sheets
    together may be worth little less than the most, so nearly all of them are worth the most.

    Kinds that are worth nothing to any guide are left out, as they only multiply the patterns: what
    cannot be cut without them cannot be cut with them. A plan that lacks nothing but them is returned
    as its sheets. With much patience all kinds are tried first.
    """
    while not search.proven and may_list(search.problem, table):
        bound = search.bound
        lacking = yield from _plan_of_bound(search, table, patience)
        if lacking or search.bound == bound:
            return lacking
    return ()


def _plan_of_bound(
    search: Search, table: SheetTable, patience: Patience
) -> Generator[Pause, None, tuple[Used, ...]]:
    """Offer a plan of ``bound`` sheets, return one that lacks kinds worth nothing, or raise the bound."""
    sheets, tried = search.bound.value, []
    for problem, parts in product(_problems(search, patience), patience.parts):
        aims = [guide.aim(search.problem, sheets, parts) for guide in _guides(search)]
        if not aims or (problem, aims) in tried:
            continue
        tried.append((problem, aims))
        pool = yield from _listed(problem, table, patience, aims)
        if pool is None:
            continue
        plan, impossible = yield from _chosen(search, problem, pool, sheets, patience)
        if impossible and parts == 1:
            search.offer_bound(Bound(sheets + 1, "sheets", "search"))
        if problem != search.problem:
            return plan
        if plan:
            search.offer(plan)
        break
    return ()


def _problems(search: Search, patience: Patience) -> Iterator[Problem]:
    """The problem, if there is patience for it, and the problem without kinds that are worth nothing."""
    guides, kinds = _guides(search), search.problem.kinds
    if patience.whole:
        yield search.problem
    worth = [any(guide.values[number] for guide in guides) for number in range(len(kinds))]
    yield search.problem.asking(
        kind.demand if some else 0 for kind, some in zip(kinds, worth, strict=True)
    )


def _listed(
    problem: Problem, table: SheetTable, patience: Patience, aims: list[ValueTarget]
) -> Generator[Pause, None, Pool | None]:
    """The patterns that meet all aims; None where there are too many."""
    pool = Pool(problem)
    try:
        patterns = yield from Enumeration(problem, table, aims, patience).by_turns()
    except TooManyError:
        return None
    for pattern in patterns:
        stop_if_late()
        pool.add(0, pattern)
    yield STEP
    return pool


def _chosen(
    search: Search, problem: Problem, pool: Pool, sheets: int, patience: Patience
) -> Generator[Pause, None, tuple[tuple[Used, ...], bool]]:
    """A plan of so many sheets, none if none was found, and whether there is none.

    Few sheets are chosen one after another sooner than by the integer programme, many are not.
    """
    every = pool.columns
    relaxation = Relaxation(problem)
    relaxation.extend(every)
    demand = np.array(problem.demand)
    counts = np.array([column.counts for column in every], dtype=np.int64).reshape(-1, len(demand))
    # Where a kind is in no column, there is no optimum.
    relaxed = relaxation.solve() or Relaxed(0.0, [0.0] * len(every), [0.0] * len(demand))
    for choices in patience.choices:
        found, impossible = yield from search_columns(
            counts, demand, sheets, relaxed, search.rng, choices
        )
        if found or impossible:
            return tuple(Used(every[number], often) for number, often in found.items()), impossible
        for columns in (*_few_of(search, every, counts, sheets, relaxed), every):
            nodes = max(_LEAST_NODES, _NODES_BY_COLUMNS // len(columns))
            chosen = choose_columns(problem, columns, sheets, most=sheets, nodes=nodes)
            yield STEP
            if chosen.plan is not None or (chosen.impossible and columns is every):
                return chosen.plan or (), chosen.impossible
    return (), False


def _few_of(
    search: Search,
    columns: list[Column],
    counts: Whole,
    sheets: int,
    relaxed: Relaxed,
) -> Iterator[list[Column]]:
    """Some of the most valuable columns, then more of them; never all.

    Where there is a plan, it mostly consists of few columns and is found much sooner among few. As
    many may be worth the same, chance has a part in it. Those that the relaxation uses always belong
    to it.
    """
    cost, uses, duals = relaxed
    worth = counts @ duals
    unused = np.array(uses) <= 0
    for number in _FEW:
        if number < len(columns):
            chance = [_BY_CHANCE * (sheets - cost) * search.rng.random() for _ in columns]
            order = np.lexsort((-worth - chance, unused))
            yield [columns[n] for n in order[:number]]


def _guides(search: Search) -> list[Guide]:
    """The guides with the strongest bounds first: within the demand, and without it."""
    guides = list(search.guides)
    bound = search.values_bound
    if bound is not None:
        values = [bound.values[kind.piece] for kind in search.problem.kinds]
        guides.append(Guide(values, bound.sheet_values[0].value))
    return sorted(guides, key=lambda guide: -guide.sheets(search.problem))[:_MOST_GUIDES]
