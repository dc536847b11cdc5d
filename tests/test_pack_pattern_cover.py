"""Patterns that together hold a demand, against trying every choice and against the integer programme."""

from collections.abc import Generator
from itertools import combinations_with_replacement
from operator import ge
from random import Random
from typing import cast

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from pack_cases import Case, problem_of

from nesting.pack.lp.master import Relaxation, choose_columns
from nesting.pack.model.columns import Column
from nesting.pack.model.pattern import Leaf
from nesting.pack.model.pauses import Pause
from nesting.pack.one_sheet.pattern_cover import PatternCover
from nesting.pack.search.column_search import search_columns

Counts = tuple[int, ...]
#: Eight kinds; what columns hold of them is made up.
EIGHT = Case(((20, 20, None),), tuple((3, 4 + kind, 3, "never") for kind in range(8)))
#: Steps that no case of a test comes to.
ALL = 1_000_000


@given(
    st.lists(st.tuples(*[st.integers(0, 3)] * 4), max_size=9),
    st.tuples(*[st.integers(0, 5)] * 4).filter(any),
    st.tuples(*[st.integers(0, 9)] * 4),
    st.integers(1, 4),
)
@settings(max_examples=300)
def test_a_demand_is_held_or_proven_not_to_be(
    patterns: list[Counts], demand: Counts, worth: Counts, most: int
) -> None:
    """As trying every choice says, each pattern as often as one likes, whatever the kinds are worth."""
    possible = any(
        all(map(ge, map(sum, zip(*some, strict=True)), demand))
        for some in combinations_with_replacement(patterns, most)
    )
    listed = np.array(patterns, dtype=np.int64).reshape(-1, 4)
    cover = PatternCover(listed, np.array(demand), most, np.array(worth))
    found = cover.found(ALL)
    assert (found is not None) == possible
    assert cover.impossible != possible
    if found is not None:
        assert len(found) <= most
        assert all(map(ge, listed[found].sum(axis=0).tolist(), demand))


def test_after_few_steps_it_goes_on_where_it_was() -> None:
    """Step by step it tries the same and says in the end what it says at once; before that, nothing."""
    rng = np.random.default_rng(5)
    patterns = rng.integers(0, 2, (60, 12))
    demand, worth = np.full(12, 2), np.ones(12, dtype=np.int64)
    ends = set()
    for sheets in range(3, 7):
        at_once = PatternCover(patterns, demand, sheets, worth)
        found = at_once.found(ALL)
        slowly, steps = PatternCover(patterns, demand, sheets, worth), 0
        some = None
        while some is None and not slowly.impossible:
            some = slowly.found(0)
            steps += 1
        assert slowly.impossible == at_once.impossible
        assert (some is None) == (found is None)
        if some is not None and found is not None:
            assert some.tolist() == found.tolist()
            assert steps >= sheets
        ends.add(found is None)
    assert ends == {True, False}


def said_by(
    search: Generator[Pause, None, tuple[dict[int, int], bool]],
) -> tuple[dict[int, int], bool]:
    """What a search says at its end."""
    while True:
        try:
            next(search)
        except StopIteration as ended:
            return cast("tuple[dict[int, int], bool]", ended.value)


def columns_of(rng: Random) -> tuple[list[Column], list[int], int]:
    """Columns of eight kinds, a demand for some of each, and about as few sheets as may meet it."""
    leaf = Leaf(0, problem_of(EIGHT.batch()).kinds[0].shapes[0])
    every = {tuple(rng.choice((0, 0, 1, 2)) for _ in range(8)) for _ in range(40)}
    columns = [Column(0, leaf, counts, 0) for counts in sorted(every) if any(counts)]
    demand = [rng.randint(1, 3) for _ in range(8)]
    return columns, demand, rng.randint(2, 4)


def test_columns_meet_a_demand_where_the_integer_programme_says_so() -> None:
    """For 60 random demands: HiGHS knows nothing of this search."""
    said = set()
    for seed in range(60):
        columns, demand, sheets = columns_of(Random(seed))
        problem = problem_of(EIGHT.batch()).asking(demand)
        relaxation = Relaxation(problem)
        relaxation.extend(columns)
        relaxed = relaxation.solve()
        assert relaxed is not None
        counts = np.array([column.counts for column in columns])
        search = search_columns(counts, np.array(demand), sheets, relaxed, Random(seed), ALL)
        chosen, impossible = said_by(search)
        expected = choose_columns(problem, columns, sheets, most=sheets, nodes=10_000)
        assert impossible == expected.impossible
        assert bool(chosen) == (expected.plan is not None)
        if chosen:
            held = sum(counts[number] * often for number, often in chosen.items())
            assert (held >= demand).all()
            assert sum(chosen.values()) <= sheets
        said.add(impossible)
    assert said == {True, False}
