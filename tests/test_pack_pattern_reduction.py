"""Few different layouts: what gives way to what, and that nothing else changes."""

from collections import Counter
from collections.abc import Iterator, Sequence
from heapq import nsmallest
from itertools import combinations, islice
from math import comb
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.pack.model.columns import Column, Used
from nesting.pack.model.overproduction import thinned
from nesting.pack.model.pattern import Leaf
from nesting.pack.model.problem import Shape
from nesting.pack.search import pattern_reduction
from nesting.pack.search.pattern_reduction import reduce_patterns

Plan = tuple[Used, ...]

#: What a layout looks like is not looked at, only what it gives.
CONTENT = Leaf(0, Shape(1, 1, turned=False))


def column(*counts: int, supply: int = 0, across: int = 0) -> Column:
    """A layout that gives so many of each kind."""
    return Column(supply, CONTENT, counts, across)


def given_by(plan: Plan) -> tuple[int, ...]:
    """How many of each kind a plan gives."""
    rows = [[n * used.count for n in used.column.counts] for used in plan]
    return tuple(map(sum, zip(*rows, strict=True)))


def across_and_layouts(plan: Plan, demand: tuple[int, ...]) -> tuple[int, int]:
    """Folds across the grain, and different layouts once nothing is spare."""
    kept = thinned([(used.column.counts, used.count) for used in plan], demand)
    layouts = {(plan[one.number].column.supply, one.held) for one in kept}
    return sum(used.column.across_grain * used.count for used in plan), len(layouts)


@st.composite
def plans(draw: st.DrawFn) -> tuple[Plan, list[Column], tuple[int, ...]]:
    """A plan of some columns of two supplies, further columns, and a demand that it meets."""
    kinds = draw(st.integers(1, 4))
    counts = st.tuples(*[st.integers(0, 4)] * kinds).filter(any)
    drawn = draw(
        st.lists(
            st.tuples(st.integers(0, 1), counts, st.integers(0, 2)),
            min_size=2,
            max_size=9,
            unique_by=lambda entry: entry[:2],
        )
    )
    columns = [column(*c, supply=supply, across=across) for supply, c, across in drawn]
    used = draw(st.lists(st.integers(0, 6), min_size=len(columns), max_size=len(columns)))
    plan = tuple(Used(c, n) for c, n in zip(columns, used, strict=True) if n)
    if not plan:
        plan = (Used(columns[0], 3),)
    demand = tuple(max(0, n - draw(st.integers(0, 2))) for n in given_by(plan))
    return plan, columns, demand


@given(plans())
def test_nothing_but_the_layouts_changes(
    case: tuple[Plan, list[Column], tuple[int, ...]],
) -> None:
    """The demand stays met from as many sheets of each supply, and no plan becomes less tidy."""
    plan, columns, demand = case
    tidier = reduce_patterns(plan, columns, demand)
    assert all(a >= b for a, b in zip(given_by(tidier), demand, strict=True))
    sheets, before = Counter[int](), Counter[int]()
    for used in tidier:
        sheets[used.column.supply] += used.count
    for used in plan:
        before[used.column.supply] += used.count
    assert sheets == before
    assert across_and_layouts(tidier, demand) <= across_and_layouts(plan, demand)


@pytest.mark.parametrize("kinds", [2, 3])
def test_several_layouts_give_way_to_one(kinds: int) -> None:
    """Sheets of one kind each become sheets that all have some of every kind, where one can be."""
    alone = [column(*(6 * (k == kind) for k in range(kinds))) for kind in range(kinds)]
    mixed = column(*[6 // kinds] * kinds)
    plan = tuple(Used(one, 2) for one in alone)
    tidier = reduce_patterns(plan, [*alone, mixed], (12,) * kinds)
    assert tidier == (Used(mixed, 2 * kinds),)


def test_sheets_are_shared_out_between_two_layouts() -> None:
    """Three layouts become two that give just what is asked for."""
    first, second, *others = column(2, 1), column(1, 2), column(3, 0), column(0, 3)
    plan = (Used(first, 3), Used(others[0], 1), Used(others[1], 3))
    tidier = reduce_patterns(plan, [first, second, *others], (9, 12))
    assert len(tidier) == 2
    assert given_by(tidier) == (9, 12)


def test_folds_across_the_grain_come_first() -> None:
    """Fewer folds across the grain are better than fewer layouts."""
    across = column(2, 2, across=1)
    along = [column(4, 0), column(0, 4)]
    plan = (Used(across, 2), Used(along[0], 1), Used(along[1], 1))
    tidier = reduce_patterns(plan, [across, *along], (8, 8))
    assert {(used.column.counts, used.count) for used in tidier} == {((4, 0), 2), ((0, 4), 2)}


@pytest.mark.parametrize("most", [1, 3, 60])
def test_only_the_first_of_many_patterns_are_combined_by_threes(
    most: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The triples are those of fewest sheets of all there are, of which hardly any is looked at."""
    rng = Random(most)
    plan = {number: rng.randint(1, most) for number in rng.sample(range(1000), 130)}
    triples = nsmallest(100, combinations(plan, 3), key=lambda some: sum(map(plan.get, some)))  # type: ignore[arg-type]
    combined: list[int] = []

    def counting(some: Sequence[int], number: int) -> Iterator[tuple[int, ...]]:
        combined.append(comb(len(some), number))
        return combinations(some, number)

    monkeypatch.setattr(pattern_reduction, "combinations", counting)
    leaving = list(islice(pattern_reduction._leaving(plan), comb(130, 2), None))
    assert leaving == triples
    assert combined == [comb(130, 2), comb(102, 3)]
