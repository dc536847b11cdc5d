"""Patterns of much value within a demand: nothing made up, and mostly as good as is possible."""

from itertools import count
from math import inf
from random import Random

import numpy as np
import pytest
from pack_cases import Case, problem_of
from test_pack_constrained_pricing import CORRECTED, FILE, names

from nesting.bench.literature import value_instances
from nesting.pack.model.deadline import TimeIsUpError, until
from nesting.pack.model.pattern import Pattern, counts, counts_within
from nesting.pack.model.problem import Problem
from nesting.pack.one_sheet import best_patterns
from nesting.pack.one_sheet.best_patterns import A_FEW, ONE, BestPatterns
from nesting.pack.one_sheet.constrained_pricing import ConstrainedPricing, best_sheet
from nesting.pack.one_sheet.packed_counts import ListedPatterns
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.pack.search import proper_columns
from nesting.pack.search.incumbent import Search
from nesting.pack.search.proper_columns import ProperColumns
from nesting.pack.search.stages import Stages


def found_for(problem: Problem, values: list[int], most: int = A_FEW) -> ListedPatterns:
    """What is found within the whole demand."""
    best = BestPatterns(problem, SheetTable(problem))
    return best.find(values, np.array(problem.demand), most)


def worth(problem: Problem, values: list[int], pattern: Pattern) -> int:
    """The value of a pattern that fits the sheet, with no more of a kind than its demand."""
    (size,) = problem.sizes
    assert pattern.width <= size.width
    assert pattern.height <= size.height
    held = counts_within(pattern, problem.demand)
    return sum(v * n for v, n in zip(values, held, strict=True))


# Published instances and optima: see ``test_pack_constrained_pricing``.
def test_published_optima_are_nearly_reached() -> None:
    """No pattern is worth more than the published optimum; half of the best are worth as much."""
    reached = 0
    instances = [
        one
        for one in value_instances(FILE, turned=False, bounded=True)
        if one.batch.name in names() and one.problem.longest is None
    ]
    for instance in instances:
        optimum = CORRECTED.get(instance.batch.name, instance.optimum)
        found = found_for(instance.problem, instance.values)
        values = [worth(instance.problem, instance.values, pattern) for pattern in found]
        assert optimum is not None
        assert max(values) <= optimum
        assert max(values) >= 0.97 * optimum
        assert values == sorted(values, reverse=True)
        reached += max(values) == optimum
    assert reached >= len(instances) / 2


def random_problem(seed: int) -> tuple[Problem, list[int]]:
    """Few of many kinds, and values that are not their areas."""
    rng = Random(seed)
    pieces = tuple(
        (rng.randint(4, 20), rng.randint(4, 20), rng.randint(1, 2), rng.choice(["may", "never"]))
        for _ in range(20)
    )
    problem = problem_of(Case(((40, 30, None),), pieces).batch())
    return problem, [int(area * rng.uniform(0.5, 2)) for area in problem.areas]


def test_a_few_in_each_cell_find_more_than_one() -> None:
    """Of eight random sheets, half are as good as what is proven; one pattern a cell finds less."""
    reached = {ONE: 0, A_FEW: 0}
    for seed in range(8):
        problem, values = random_problem(seed)
        most = best_sheet(problem, values)
        assert most.proven
        for kept in reached:
            best = max(worth(problem, values, one) for one in found_for(problem, values, kept))
            assert best <= most.value
            reached[kept] += best == most.value
    assert reached[ONE] < reached[A_FEW]
    assert reached[A_FEW] >= 4


def test_counts_are_those_of_the_patterns_within_what_is_left() -> None:
    """Asked for less than the problem's demand, patterns keep to that, clipped."""
    problem, values = random_problem(3)
    best = BestPatterns(problem, SheetTable(problem))
    left = np.array(problem.demand)
    while left.any():
        found = best.find([v if n else 0 for v, n in zip(values, left, strict=True)], left)
        for number, pattern in enumerate(found):
            held = np.minimum(counts(pattern, len(left)), left)
            assert (held == found.counts[number]).all()
        left = left - found.counts[0]


def test_row_by_row_the_same_is_found_and_the_clock_looked_at(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Between any two rows it may turn out to be late; as long as it is not, nothing changes."""
    problem, values = random_problem(4)
    at_once = found_for(problem, values)
    monkeypatch.setattr(best_patterns, "_STEPS_AT_ONCE", 1)
    assert (found_for(problem, values).counts == at_once.counts).all()
    looks = count()
    monkeypatch.setattr(best_patterns, "stop_if_late", lambda: next(looks))
    found_for(problem, values)
    assert next(looks) > 10
    monkeypatch.undo()
    with until(-inf), pytest.raises(TimeIsUpError):
        found_for(problem, values)


@pytest.mark.parametrize("kept", [ONE, A_FEW])
def test_what_is_worth_nothing_is_left_out(kept: int) -> None:
    """Where no kind has a value, there is no pattern; where one has, only that is placed."""
    problem, values = random_problem(5)
    assert len(found_for(problem, [0] * len(values), kept).counts) == 0
    only = [v if number == 7 else 0 for number, v in enumerate(values)]
    for pattern in found_for(problem, only, kept):
        assert set(pattern.kinds) == {7}


def test_they_leave_little_to_be_priced_exactly(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same bound of proper columns, with half as many exact pricings."""
    exact = 0

    def counted(*args: object) -> ConstrainedPricing:
        nonlocal exact
        exact += 1
        return ConstrainedPricing(*args)  # type: ignore[arg-type]

    def bound_and_pricings() -> tuple[int, int]:
        nonlocal exact
        exact = 0
        search = Search(random_problem(0)[0], "0")
        for _ in Stages(search).proper_columns():
            pass
        return search.bound.value, exact

    monkeypatch.setattr(proper_columns, "ConstrainedPricing", counted)
    bound, with_them = bound_and_pricings()
    monkeypatch.setattr(ProperColumns, "add_best", lambda *_: 0)
    other, without = bound_and_pricings()
    assert bound == other
    assert 0 < with_them < without / 2
