"""The choice among all sheets seen: known plans are found among others, nothing is made up."""

from collections import Counter
from random import Random

import numpy as np
import pytest
from pack_cases import Case, problem_of

from nesting.pack.kernels.archive_loop import note_sheet
from nesting.pack.model.columns import Column
from nesting.pack.model.pattern import Leaf, Pattern, blank_area, counts, group, without_one
from nesting.pack.model.pauses import Pauses
from nesting.pack.model.problem import Problem
from nesting.pack.search.attempts import attempt, from_all_sheets
from nesting.pack.search.incumbent import Search
from nesting.pack.search.pattern_archive import PatternArchive
from nesting.pack.search.ruin_recreate import RuinAndRecreate
from nesting.pack.search.set_covering import choose_from_archive, pick_sheets, set_aside

SIDE = 40
Size = tuple[int, int]
Cut = Size | tuple[str, "Cut", "Cut"]


def cut_at_random(rng: Random, width: int, height: int) -> Cut:
    """A rectangle cut edge to edge again and again, without waste."""
    if max(width, height) < 14 or (max(width, height) < 30 and rng.random() < 0.3):
        return width, height
    if width >= height:
        at = rng.randint(4, width - 4)
        return "x", cut_at_random(rng, at, height), cut_at_random(rng, width - at, height)
    at = rng.randint(4, height - 4)
    return "y", cut_at_random(rng, width, at), cut_at_random(rng, width, height - at)


def sizes_of(cut: Cut) -> list[Size]:
    """The sizes that a cut gives."""
    if len(cut) == 3:
        return sizes_of(cut[1]) + sizes_of(cut[2])
    return [cut]


def content_of(problem: Problem, cut: Cut) -> Pattern:
    """The cut as a pattern of the problem."""
    if len(cut) == 3:
        axis = "x" if cut[0] == "x" else "y"
        made = group(axis, [content_of(problem, part) for part in cut[1:]])
        assert made is not None
        return made
    return next(
        Leaf(number, shape)
        for number, kind in enumerate(problem.kinds)
        for shape in kind.shapes
        if (shape.width * problem.unit, shape.height * problem.unit)
        == tuple(side * problem.sizes[0].width * problem.unit // SIDE for side in cut)
    )


def known_plan(seed: int, sheets: int) -> tuple[Problem, list[Pattern]]:
    """The pieces of some sheets cut up without waste, and those sheets."""
    rng = Random(seed)
    cuts = [cut_at_random(rng, SIDE, SIDE) for _ in range(sheets)]
    asked = Counter(size for cut in cuts for size in sizes_of(cut))
    pieces = tuple((*size, number, "never") for size, number in asked.items())
    problem = problem_of(Case(((SIDE, SIDE, None),), pieces).batch())
    return problem, [content_of(problem, cut) for cut in cuts]


def noted(problem: Problem, patterns: list[Pattern], seen: PatternArchive) -> RuinAndRecreate:
    """The patterns noted as sheets seen."""
    rebuild = RuinAndRecreate(problem, patterns, Random(0), seen)
    for sheet in range(len(patterns)):
        note_sheet(rebuild.sheets, rebuild.asked, seen.record, sheet)
    return rebuild


def one_too_many(problem: Problem, sheets: int) -> Search:
    """A search whose best plan has one sheet more than is needed."""
    for seed in range(100):
        search = Search(problem, str(seed))
        if search.cost == sheets + 1:
            return search
    raise AssertionError("the quick plans are too good or too bad")


@pytest.mark.parametrize("seed", range(4))
def test_a_known_plan_is_found_among_many_sheets(seed: int) -> None:
    """Sheets cut up without waste are put together again from a record with many others."""
    problem, patterns = known_plan(seed, 8)
    search = one_too_many(problem, 8)
    seen = PatternArchive(problem, Random(0))
    seen.value([0.0] * len(problem.kinds), 1.0)  # whatever comes is noted
    others = noted(problem, patterns[:-2], seen)
    for _ in range(5):
        others.run(3.0, 12)
    assert len(seen) > 300
    noted(problem, patterns, seen)
    steps = len(list(choose_from_archive(search, seen)))
    assert search.cost == 8
    assert steps >= 2


def test_the_archive_counts_the_blanks_of_its_sheets() -> None:
    """As the patterns that it gives back hold them, of any of its sheets in any order."""
    problem, patterns = known_plan(3, 8)
    seen = PatternArchive(problem, Random(0))
    seen.value([0.0] * len(problem.kinds), 1.0)
    noted(problem, patterns, seen)
    numbers = [5, 0, 7]
    expected = [counts(seen.pattern(number), len(problem.kinds)) for number in numbers]
    assert list(map(tuple, seen.counts(np.array(numbers)).tolist())) == expected
    assert seen.counts(np.array([], dtype=np.int64)).shape == (0, len(problem.kinds))


@pytest.mark.parametrize("seed", range(2))
def test_where_a_sheet_lacks_there_is_no_plan(seed: int) -> None:
    """Without the sheets that hold a kind, the best plan stays as it was, and values stay sound."""
    problem, patterns = known_plan(seed, 8)
    search = one_too_many(problem, 8)
    seen = PatternArchive(problem, Random(0))
    seen.value([0.0] * len(problem.kinds), 1.0)
    noted(problem, patterns[:-1], seen)
    before = search.best
    for _ in choose_from_archive(search, seen):
        pass
    assert search.best == before
    assert all(worth >= 0 for worth in seen.record.worth.tolist())


def test_what_columns_have_beyond_the_demand_counts_for_nothing() -> None:
    """Two blanks that go on no sheet together take two, though twice each of them fills one."""
    problem = problem_of(
        Case(((20, 20, None),), ((20, 10, 1, "never"), (10, 20, 1, "never"))).batch()
    )
    search = Search(problem, "orchard")
    for kind in problem.kinds:
        (shape,) = kind.shapes
        axis = "y" if shape.width > shape.height else "x"
        twice = group(axis, [Leaf(problem.kinds.index(kind), shape)] * 2)
        assert twice is not None
        search.pool.add(0, twice)
    used: list[tuple[Column, float]] = []

    def choosing() -> Pauses:
        used.extend((yield from choose_from_archive(search, PatternArchive(problem, Random(0)))))

    for _ in choosing():
        pass
    assert sum(use for _, use in used) == pytest.approx(2)


def test_a_start_is_made_of_what_the_relaxation_uses() -> None:
    """Sheets that are used wholly come first, one of each, and no more sheets than asked for."""
    problem, patterns = known_plan(5, 8)
    search = one_too_many(problem, 8)
    columns = [search.pool.columns[search.pool.add(0, pattern)] for pattern in patterns]
    start = pick_sheets(search, [(column, 1.0) for column in columns], 8)
    assert {counts(c, len(problem.kinds)) for c in start} == {column.counts for column in columns}
    first = pick_sheets(search, [(columns[0], 0.01), (columns[1], 1.0)], 1)
    assert first == [columns[1].pattern]


@pytest.mark.parametrize("twice", [False, True])
def test_the_fullest_sheets_are_set_aside(twice: bool) -> None:
    """A share of the sheets stays, the fullest, and none holds what is not asked for any more."""
    problem, patterns = known_plan(6, 8)
    search = one_too_many(problem, 8)
    thinned = [without_one(pattern, pattern.kinds[0]) for pattern in patterns[:4]]
    start = [*filter(None, thinned), *patterns[4:]] * (2 if twice else 1)
    assert len({blank_area(pattern) for pattern in start}) > 1
    kept, rest, others = set_aside(search, start)
    alike = sum(used.count for used in kept)
    assert alike + len(others) == len(start)
    assert 3 <= alike <= (8 if twice else 6)
    held = np.sum([np.array(used.column.counts) * used.count for used in kept], axis=0)
    assert tuple(held + np.array(rest)) == problem.demand
    assert min(rest) >= 0
    if not twice:
        least = min(blank_area(used.column.pattern) for used in kept)
        assert least >= max(blank_area(used.column.pattern) for used in others)


def test_sheets_set_aside_and_the_others_make_a_plan() -> None:
    """Begun from a plan with a sheet fewer, that plan is found, whatever stays as it is."""
    problem, patterns = known_plan(7, 8)
    search = one_too_many(problem, 8)
    seen = PatternArchive(problem, Random(0))
    for _ in attempt(search, from_all_sheets(search, patterns), 0, archive=seen):
        pass
    assert search.cost == 8
    held = np.sum([np.array(used.column.counts) * used.count for used in search.best], axis=0)
    assert (held >= problem.demand).all()
