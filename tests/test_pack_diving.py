"""Diving: sheets fixed one after another, with pricing in between, find known plans and make nothing up."""

from random import Random

import pytest
from pack_cases import Case, problem_of
from test_pack_set_covering import known_plan, noted, one_too_many

from nesting.pack.lp.master import Relaxation
from nesting.pack.model.columns import cut_once
from nesting.pack.model.pattern import counts
from nesting.pack.model.pauses import so_many
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.pack.search.diving import Diving
from nesting.pack.search.incumbent import Search
from nesting.pack.search.pattern_archive import PatternArchive
from nesting.pack.search.proper_columns import ProperColumns
from nesting.pack.search.stages import Stages


def dive_of(diving: Diving, sheets: int) -> list[tuple[int, ...]]:
    """The counts of the sheets of one dive."""
    steps = diving.dive(sheets)
    while True:
        try:
            next(steps)
        except StopIteration as ended:
            kinds = len(diving.search.problem.kinds)
            return [counts(pattern, kinds) for pattern in ended.value]


def diving_for(search: Search, seen: PatternArchive) -> Diving:
    """A dive's surroundings."""
    table = SheetTable(search.problem)
    return Diving(search, table, ProperColumns(search.pool, table), seen)


def test_a_dive_ends_with_the_sheets_of_a_plan_that_was_seen() -> None:
    """Where the archive has every sheet of a plan without waste, no pricing is needed to find it."""
    problem, patterns = known_plan(5, 8)
    search = one_too_many(problem, 8)
    seen = PatternArchive(problem, Random(0))
    whole = problem.sizes[0].width * problem.sizes[0].height
    seen.value([area / whole for area in problem.areas], 0.01)
    noted(problem, patterns, seen)
    found = dive_of(diving_for(search, seen), 8)
    assert len(found) <= 8
    for number, demand in enumerate(problem.demand):
        assert sum(held[number] for held in found) >= demand


@pytest.mark.parametrize("sheets", [0, 3])
def test_a_dive_takes_no_more_sheets_than_asked_for(sheets: int) -> None:
    """What does not fit them stays open."""
    problem, _ = known_plan(6, 8)
    search = one_too_many(problem, 8)
    diving = diving_for(search, PatternArchive(problem, Random(0)))
    assert len(dive_of(diving, sheets)) == sheets


@pytest.mark.parametrize("seed", [2, 3, 14, 21])
def test_dives_save_a_sheet(seed: int) -> None:
    """Soon after column generation, pricing and repair alone come to a plan that is proven."""
    rng = Random(seed)
    pieces = tuple((rng.randint(6, 26), rng.randint(6, 26), 1, "never") for _ in range(30))
    search = Search(problem_of(Case(((40, 40, None),), pieces).batch()), "0")
    stages = Stages(search)
    for _ in stages.column_generation():
        pass
    assert not search.proven
    known = {column.counts for column in search.pool.columns}
    for _ in so_many(stages.dives(), 100):
        if search.proven:
            break
    assert search.proven
    assert any(used.column.counts not in known for used in search.best)


def test_a_relaxation_asked_for_another_demand() -> None:
    """Its value and its prices are those of a relaxation that was made for that demand."""
    problem, patterns = known_plan(5, 6)
    columns = [used.column for used in cut_once(patterns, len(problem.kinds))]
    less = problem.asking(
        max(0, n - h) for n, h in zip(problem.demand, columns[0].counts, strict=True)
    )
    asked = Relaxation(problem)
    asked.extend(columns)
    before = asked.solve()
    asked.ask(less.demand)
    after = asked.solve()
    fresh = Relaxation(less)
    fresh.extend(columns)
    expected = fresh.solve()
    assert before is not None
    assert after is not None
    assert expected is not None
    assert after[0] == pytest.approx(expected[0])
    assert after[0] < before[0]
    assert sum(d * n for d, n in zip(after[2], less.demand, strict=True)) == pytest.approx(after[0])
