"""The packer against layouts by trying every cut at every whole number, on tiny sheets."""

from unittest.mock import patch

from hypothesis import assume, given, settings
from hypothesis import strategies as st
from pack_cases import Case, cost_of, problem_of, solved
from pack_exact import largest, least_cost, tries_of, usable_of

from nesting.pack import Rounds
from nesting.pack.model.pattern import counts
from nesting.pack.model.problem import Problem
from nesting.pack.one_sheet.pattern_enumeration import MUCH, Enumeration, ValueTarget
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.papers import Turn

TURNS: st.SearchStrategy[Turn] = st.sampled_from(["never", "may", "must"])


@st.composite
def cases(draw: st.DrawFn, *, sheets: int = 1, most: int = 10, trimmer: bool = True) -> Case:
    """A case whose sheets are at most so large, with one or several sizes."""
    side = st.integers(4, most)
    whole = draw(st.lists(st.tuples(side, side, st.none()), min_size=1, max_size=sheets))
    pieces = draw(
        st.lists(
            st.tuples(st.integers(1, most - 2), st.integers(2, most - 2), st.integers(1, 4), TURNS),
            min_size=1,
            max_size=3,
            unique_by=lambda piece: piece[:2],
        )
    )
    return Case(
        tuple(whole),
        tuple(pieces),
        cut_width=draw(st.sampled_from([0, 0, 1, 2])) if trimmer else 0,
        longest=draw(st.one_of(st.none(), st.integers(most // 2, most))) if trimmer else None,
    )


@st.composite
def stocked(draw: st.DrawFn) -> Case:
    """A case with two sizes of sheets, some limited, and perhaps an offcut."""
    case = draw(cases(sheets=2, most=8))
    have = st.one_of(st.none(), st.integers(0, 2))
    side = st.integers(2, 6)
    return Case(
        tuple((w, h, draw(have)) for w, h, _ in case.sheets),
        case.pieces,
        tuple(draw(st.lists(st.tuples(side, side, st.integers(1, 2)), max_size=1))),
        case.cut_width,
        case.longest,
    )


def every_point(problem: Problem) -> tuple[list[int], list[int]]:
    """Every whole number as a cut point."""
    width = max(size.width for size in problem.sizes)
    height = max(size.height for size in problem.sizes)
    return list(range(width + 1)), list(range(height + 1))


def filled(problem: Problem, values: tuple[int, ...]) -> SheetTable:
    """The table for these values, one per kind."""
    table = SheetTable(problem)
    table.fill(list(values[: len(problem.kinds)]))
    return table


@given(cases(sheets=2), st.tuples(*[st.integers(0, 50)] * 3))
@settings(max_examples=100)
def test_a_sheet_holds_as_much_value_as_trying_every_cut_finds(
    case: Case, values: tuple[int, ...]
) -> None:
    """With turns, cut width, longest cut and several sizes, best values are exact; layouts have them."""
    assume(case.sound)
    problem = problem_of(case.batch())
    values = values[: len(problem.kinds)]
    table, tries = filled(problem, values), tries_of(problem)
    for size in problem.sizes:
        rect = usable_of(problem)[size.supplies[0]]
        best = tries.most_value(values, rect)
        assert table.best(size.width, size.height) == best
        pattern = table.pattern(size.width, size.height)
        if pattern is None:
            assert best == 0
            continue
        held = counts(pattern, len(values))
        assert sum(n * value for n, value in zip(held, values, strict=True)) == best
        assert pattern.width <= size.width
        assert pattern.height <= size.height
        assert any(
            all(a <= b for a, b in zip(held, most, strict=True))
            for most in tries.patterns(held, rect)
        )


@given(cases(sheets=3, most=40), st.tuples(*[st.integers(0, 500)] * 3))
@settings(max_examples=80)
def test_few_cut_points_do_as_well_as_every_whole_number(
    case: Case, values: tuple[int, ...]
) -> None:
    """Raster points and normal points lose nothing against every whole number, on larger sheets."""
    assume(case.sound)
    problem = problem_of(case.batch())
    few = filled(problem, values)
    with patch("nesting.pack.one_sheet.value_table.cut_points", every_point):
        every = filled(problem, values)
    for size in problem.sizes:
        assert few.best(size.width, size.height) == every.best(size.width, size.height)


@given(cases(trimmer=False), st.integers(0, 2))
@settings(max_examples=80)
def test_listing_finds_every_layout(case: Case, cut_width: int) -> None:
    """The list of layouts has the largest counts within the demand, all of them and no others."""
    case = Case(case.sheets, case.pieces, cut_width=cut_width)
    assume(case.sound)
    problem = problem_of(case.batch())
    values = [kind.area for kind in problem.kinds]
    table = SheetTable(problem)
    table.fill(values)
    listed = [
        tuple(
            min(n, most)
            for n, most in zip(counts(pattern, len(values)), problem.demand, strict=True)
        )
        for pattern in Enumeration(problem, table, [ValueTarget(values, 0)], MUCH).patterns()
    ]
    expected = tries_of(problem).patterns(problem.demand, usable_of(problem)[0])
    assert largest(listed) == expected


@given(st.one_of(cases(), stocked()))
@settings(max_examples=120)
def test_the_bound_the_least_cost_and_the_plan_stand_in_order(case: Case) -> None:
    """No plan beats the least cost, no bound exceeds it, and where it is proven all three are equal."""
    assume(case.sound)
    problem = problem_of(case.batch())
    plan = solved(case.batch(), Rounds(15))
    bound, cost = plan.papers[0].bound.value, cost_of(plan, "pear toss")
    assert bound <= least_cost(problem) <= cost
    assert plan.papers[0].proven == (bound == cost)
