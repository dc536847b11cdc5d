"""Full sheets, and demands covered by them, against trying every cut and sheets cut up."""

from itertools import islice
from random import Random

import numpy as np
import pytest
from hypothesis import assume, given, settings
from pack_cases import Case, asked, problem_of, sheet_batch
from pack_exact import tries_of, usable_of
from test_pack_near_full import is_held, pinwheels
from test_pack_pattern_enumeration import cases

from nesting.bench.batches import full_batch
from nesting.bench.run import RunSettings, run_batch
from nesting.pack import Rounds
from nesting.pack.model.columns import cut_once, meets
from nesting.pack.model.pattern import Leaf, grouped
from nesting.pack.model.problem import Problem
from nesting.pack.one_sheet import near_full
from nesting.pack.one_sheet.full_sheets import FullSheets, may_be_full
from nesting.pack.search.full_sheets_first import cover_by_full_sheets
from nesting.pack.search.incumbent import Search


def full_problem(seed: int, *, turned: bool) -> tuple[Problem, int]:
    """Sheets cut up with nothing left over, and how many."""
    batch, sheets = full_batch(seed, turned=turned)
    return problem_of(batch), sheets


@given(cases(trimmer=False))
@settings(max_examples=100)
def test_all_full_sheets_are_listed(case: Case) -> None:
    """They are just those that trying every cut finds, and each can be laid."""
    assume(case.sound)
    problem = problem_of(case.batch())
    sheets, demand = FullSheets(problem, Random(0)), np.array(problem.demand)
    full, every = sheets.within(demand)
    assert every
    expected = {
        held
        for held in tries_of(problem).patterns(problem.demand, usable_of(problem)[0])
        if int(sheets.areas @ held) == sheets.area
    }
    assert sorted(map(tuple, full.tolist())) == sorted(expected)
    for row in full:
        pattern = sheets.pattern(row)
        assert pattern is not None
        assert is_held(problem, [pattern], tuple(row.tolist()))


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("most", [500, 20_000])
def test_of_too_many_blocks_some_are_left_out(
    most: int, turned: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Then it does not say that these are all; those that it lists are full sheets."""
    monkeypatch.setattr(near_full, "_MOST_BLOCKS", most)
    problem, _ = full_problem(0, turned=turned)
    sheets, demand = FullSheets(problem, Random(0)), np.array(problem.demand)
    full, every = sheets.within(demand)
    assert not every
    assert (full @ sheets.areas == sheets.area).all()
    assert (full <= demand).all()


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("seed", [1, 4, 9])
def test_sheets_cut_up_are_laid_again(seed: int, turned: bool) -> None:
    """The pieces of up to eight sheets without waste are all laid on as many again."""
    problem, sheets = full_problem(seed, turned=turned)
    search = Search(problem, "orchard")
    for _ in islice(cover_by_full_sheets(search), 400):
        pass
    assert search.cost == sheets
    patterns = [used.column.pattern for used in search.best for _ in range(used.count)]
    assert is_held(problem, patterns, problem.demand)


def test_a_sheet_between_others_cut_alike_is_laid_again() -> None:
    """Two sheets cut twice and one cut once: what it holds is left over when the demand is halved."""
    problem, sheets = full_problem(10, turned=False)
    search = Search(problem, "orchard")
    for _ in islice(cover_by_full_sheets(search), 300):
        pass
    assert search.cost == sheets


def test_where_no_sheet_can_be_full_the_bound_goes_up() -> None:
    """Two pinwheels have the area of two sheets and need three: a sheet has three of 5 x 7 at most."""
    search = Search(pinwheels(2), "orchard")
    assert (search.cost, search.bound.value, search.bound.by) == (3, 2, "area")
    for _ in cover_by_full_sheets(search):
        pass
    assert (search.cost, search.bound.value, search.bound.by) == (3, 3, "search")


def test_once_the_bound_has_gone_up_it_ends() -> None:
    """The plan has a sheet more than the bound even then: the rounds are for other stages."""
    problem = pinwheels(2)
    panel, label = (Leaf(number, kind.shapes[0]) for number, kind in enumerate(problem.kinds))
    pair = grouped("x", (panel, panel))
    plan = cut_once([pair, pair, *[grouped("y", (pair, label))] * 2], 2)
    search = Search(problem, "orchard", tuple(plan))
    assert meets(plan, problem.demand)
    assert (search.cost, search.bound.value) == (4, 2)
    assert len(list(islice(cover_by_full_sheets(search), 50))) < 50
    assert (search.cost, search.bound.value) == (4, 3)


def test_without_patience_that_stays_open(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where blocks had to be left out, nothing is proven."""
    monkeypatch.setattr(near_full, "_MOST_BLOCKS", 3)
    search = Search(pinwheels(2), "orchard")
    for _ in islice(cover_by_full_sheets(search), 20):
        pass
    assert (search.cost, search.bound.value, search.bound.by) == (3, 2, "area")


def test_only_where_nothing_may_be_left_over() -> None:
    """With a little room to spare, or rules that blocks do not know, it is left to others."""
    panel = asked("6 x 4", 6)
    assert may_be_full(problem_of(sheet_batch("12 x 12", panel)), 1)
    assert not may_be_full(problem_of(sheet_batch("12 x 12", panel)), 2)
    assert not may_be_full(problem_of(sheet_batch("14 x 12", panel)), 1)
    longest = Case(((24, 24, None),), ((12, 8, 6, "may"),), longest=20)
    assert not may_be_full(problem_of(longest.batch()), 1)


def test_as_many_sheets_as_were_cut_up_are_found_among_all_stages() -> None:
    """Five sheets that take six without this stage."""
    batch, sheets = full_batch(4, turned=False)
    result = run_batch(batch, RunSettings(Rounds(60)))
    assert (result.result, result.proven, result.faults) == (sheets, 1, 0)
    without = run_batch(batch, RunSettings(Rounds(60), without=("full_sheets_first",)))
    assert without.result > sheets
