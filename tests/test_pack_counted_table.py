"""Counted kinds: never more of them than their demand, and nothing that fits is left out."""

from itertools import chain, islice
from random import Random

import numpy as np
import pytest
from pack_cases import Case, problem_of
from pack_exact import tries_of, usable_of

from nesting.bench.fresh import fresh_instances
from nesting.pack.model.pattern import counts
from nesting.pack.model.problem import Problem
from nesting.pack.one_sheet.constrained_pricing import ConstrainedPricing
from nesting.pack.one_sheet.counted_table import CountedTable, may_count
from nesting.pack.one_sheet.pattern_enumeration import MUCH, Enumeration, ValueTarget
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.pack.search.incumbent import Search
from nesting.pack.search.stages import Stages


def small_problem(seed: int) -> tuple[Problem, list[int]]:
    """Four kinds of which a small sheet holds more than there are, and what each is worth."""
    rng = Random(seed)
    sizes = rng.sample([(w, h) for w in range(1, 5) for h in range(1, 5)], 4)
    pieces = tuple((*size, rng.randint(1, 3), rng.choice(["may", "never"])) for size in sizes)
    problem = problem_of(Case(((8, 6, None),), pieces).batch())
    return problem, [int(area * rng.uniform(5, 20)) for area in problem.areas]


def most_of_every_try(problem: Problem, values: list[int]) -> int:
    """The most value within the demand, by trying every cut."""
    held = tries_of(problem).patterns(problem.demand, usable_of(problem)[0])
    return max(sum(v * n for v, n in zip(values, one, strict=True)) for one in held)


@pytest.mark.parametrize("seed", range(12))
def test_with_every_kind_counted_it_is_as_much_as_trying_every_cut_finds(seed: int) -> None:
    """Each kind that is counted lowers the most, or leaves it; the last leaves what is possible."""
    problem, values = small_problem(seed)
    table, (size,) = SheetTable(problem), problem.sizes
    table.fill(values)
    most = table.best(size.width, size.height)
    for number in range(len(values) + 1):
        some = CountedTable(table, range(number))
        some.fill(values)
        assert most_of_every_try(problem, values) <= some.best(size.width, size.height) <= most
        most = some.best(size.width, size.height)
        pattern = some.pattern(size.width, size.height)
        assert pattern is not None
        assert pattern.width <= size.width
        assert pattern.height <= size.height
        held = counts(pattern, len(values))
        assert sum(v * n for v, n in zip(values, held, strict=True)) == most
        assert all(held[kind] <= problem.demand[kind] for kind in range(number))
    assert most == most_of_every_try(problem, values)


@pytest.mark.parametrize("seed", range(12))
def test_what_lies_outside_a_cell_has_what_the_cell_leaves(seed: int) -> None:
    """Some cell and the rest of the sheet together hold the most, and none holds more."""
    problem, values = small_problem(seed)
    every = CountedTable(SheetTable(problem), range(len(values)))
    every.fill(values)
    outside = every.outside()[::-1]  # a stock and the one with the same place from behind are all
    both = np.where(outside < 0, 0, outside + every.cells)[:, 1:, 1:]
    assert both.max() == most_of_every_try(problem, values)


@pytest.mark.parametrize("seed", range(12))
def test_the_same_patterns_are_listed_from_fewer(seed: int) -> None:
    """Whatever is counted, the same patterns are worth enough."""
    problem, values = small_problem(seed)
    least = most_of_every_try(problem, values) * 9 // 10
    table = SheetTable(problem)
    found = []
    for counted in ((), (0,), (3, 1), (0, 1, 2, 3)):
        aim = ValueTarget(values, least, counted)
        listed = Enumeration(problem, table, [aim], MUCH).patterns()
        found.append({tuple(held) for held in listed.counts.tolist()})
    assert found[0]
    assert all(one == found[0] for one in found)


def fresh_problem(number: int) -> Problem:
    """One of the fresh instances of the ten classes, with few blanks a sheet and one of each kind."""
    instance = next(islice(fresh_instances(0, turned=False), number, None))
    return problem_of(instance.batch)


def test_tables_are_not_too_many() -> None:
    """Kinds of which there are many, or too many kinds, are not counted together."""
    problem = problem_of(Case(((8, 6, None),), ((2, 3, 500, "may"), (3, 3, 1, "may"))).batch())
    table = SheetTable(problem)
    assert may_count(table, [1])
    assert not may_count(table, [0])


def test_others_go_first_before_tables_are_filled() -> None:
    """Nothing is known of the most before the first pause; the more shares, the more pauses there are."""
    problem = fresh_problem(359)
    one = ConstrainedPricing(problem, SheetTable(problem), list(problem.areas))
    one.move_multipliers()
    before = one.bound
    counting = one.count_kinds()
    next(counting)
    assert one.bound == before
    for _ in counting:
        pass
    assert one.bound < before
    counted = CountedTable(one.table, range(6)), CountedTable(one.table, range(2))
    many, few = (sum(1 for _ in table.pauses(1_000)) for table in counted)
    assert many > few > 1


def test_proper_columns_prove_by_counting_what_multipliers_leave_open(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """No list of patterns is needed to prove a plan that the values of all columns leave open."""

    def proven() -> bool:
        search = Search(fresh_problem(359), "0")
        stages = Stages(search)
        for _ in chain(stages.column_generation(), stages.proper_columns()):
            pass
        return search.proven

    monkeypatch.setattr(ConstrainedPricing, "list_rest", lambda *_: iter(()))
    assert proven()
    monkeypatch.setattr(ConstrainedPricing, "count_kinds", lambda *_: iter(()))
    assert not proven()
