"""Nearly full sheets, and plans of a few of them, against trying every cut and sheets cut up."""

from collections.abc import Generator, Iterator
from random import Random
from typing import TypeVar
from unittest import mock

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from pack_cases import Case, problem_of, sheet_batch
from pack_exact import largest, least_cost, tries_of, usable_of
from test_pack_dual_bounds import SEEDS, known_few
from test_pack_pattern_enumeration import cases
from test_pack_ruin_recreate import is_sound

from nesting.batch import LoosePiece
from nesting.bench.batches import tight_batch
from nesting.pack.model.pattern import Pattern, counts, leaves
from nesting.pack.model.pauses import Pause, Pauses
from nesting.pack.model.problem import Problem
from nesting.pack.one_sheet.near_full import FEW_BLANKS, NearFullPatterns, may_fill
from nesting.pack.search.incumbent import Search
from nesting.pack.search.near_full_first import FullestFirst, lay_fullest_first
from nesting.pack.search.stages import may_dive
from nesting.typed_lengths import parse_length

ENDLESS = 10**9


_Returned = TypeVar("_Returned")


def ended(steps: Generator[Pause, None, _Returned]) -> _Returned:
    """What a generator returns."""

    def delegate() -> Pauses:
        returned.append((yield from steps))

    returned: list[_Returned] = []
    for _ in delegate():
        pass
    return returned[0]


def is_held(problem: Problem, patterns: list[Pattern], demand: tuple[int, ...]) -> bool:
    """Whether patterns that fit the sheet hold just a demand."""
    size = problem.sizes[0]
    held = np.sum([counts(pattern, len(demand)) for pattern in patterns], axis=0)
    sound = all(is_sound(pattern, size.width, size.height) for pattern in patterns)
    return sound and tuple(held) == demand


@given(cases(trimmer=False), st.integers(0, 2), st.integers(0, 100))
@settings(max_examples=80)
def test_every_content_that_wastes_little_is_listed(case: Case, cut_width: int, share: int) -> None:
    """Those with the largest counts are just those that trying every cut finds, and each fits."""
    case = Case(case.sheets, case.pieces, cut_width=cut_width)
    assume(case.sound)
    problem = problem_of(case.batch())
    sheets, demand = NearFullPatterns(problem, Random(0)), np.array(problem.demand)
    whole = sheets.area
    over = whole * share // 100
    full, every = sheets.wasting(demand, over, ENDLESS)
    assert every
    expected = tries_of(problem).patterns(problem.demand, usable_of(problem)[0])
    enough = {held for held in expected if whole - int(sheets.areas @ held) <= over and any(held)}
    assert largest(map(tuple, full.counts.tolist())) >= enough
    for number, row in enumerate(full.counts.tolist()):
        assert whole - int(sheets.areas @ np.array(row)) <= over
        assert any(all(a <= b for a, b in zip(row, most, strict=True)) for most in expected)
        assert is_held(problem, [full.pattern(number)], tuple(row))


@given(cases(trimmer=False))
@settings(max_examples=80)
def test_a_demand_fits_one_sheet_or_surely_does_not(case: Case) -> None:
    """As trying every cut says."""
    assume(case.sound)
    problem = problem_of(case.batch())
    sheets, demand = NearFullPatterns(problem, Random(0)), np.array(problem.demand)
    fits = problem.demand in tries_of(problem).patterns(problem.demand, usable_of(problem)[0])
    laid, sure = sheets.lay(demand, ENDLESS)
    assert ((laid is not None), sure) == (fits, True)
    if fits:
        for pattern in (laid, sheets.pattern(demand)):
            assert pattern is not None
            assert is_held(problem, [pattern], problem.demand)


@given(cases(trimmer=False), st.integers(1, 3), st.sampled_from((1, 3, FEW_BLANKS)))
@settings(max_examples=100)
def test_a_plan_of_so_many_sheets_is_found_or_surely_there_is_none(
    case: Case, sheets: int, few: int
) -> None:
    """As trying every way to cut every next sheet says, from however few blanks parts are listed whole."""
    assume(case.sound)
    problem = problem_of(case.batch())
    demand = np.array(problem.demand)
    fullest = FullestFirst(problem, Random(0))
    with mock.patch("nesting.pack.search.near_full_first.FEW_BLANKS", few):
        patterns, sure = ended(fullest.lay(demand, sheets, ENDLESS, 10**6))
    assert sure
    assert (patterns is not None) == (least_cost(problem) <= sheets)
    if patterns is not None:
        assert len(patterns) <= sheets
        assert is_held(problem, patterns, problem.demand)


@pytest.mark.parametrize("pairs", [1, 1_000])
@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_known_to_fit_is_not_refuted(seed: int, pairs: int) -> None:
    """Sheets that were cut up can be laid again: with little patience that may stay open."""
    case, sheets = known_few(seed)
    problem = problem_of(case.batch())
    demand = np.array(problem.demand)
    fullest = FullestFirst(problem, Random(0))
    patterns, sure = ended(fullest.lay(demand, sheets, pairs, 6))
    assert patterns is not None or not sure
    if patterns is not None:
        assert is_held(problem, patterns, problem.demand)


@pytest.mark.parametrize("seed", range(8))
def test_what_is_open_is_laid_with_the_blanks_of_other_sheets(seed: int) -> None:
    """Blanks taken off cut-up sheets find room again, and the sheets that stay are as they were."""
    case, sheets = known_few(seed)
    problem = problem_of(case.batch())
    demand = np.array(problem.demand)
    fullest = FullestFirst(problem, Random(0))
    patterns, _ = ended(fullest.lay(demand, sheets, ENDLESS, 10_000))
    assert patterns is not None
    left = [leaf for leaf in list(leaves(patterns[-1]))[:1] if len(patterns) > 1]
    again = ended(
        fullest.lay_with_open([*patterns[:-1], *left], problem.demand, sheets, Random(seed))
    )
    if sheets <= 2:  # all sheets are laid anew
        assert again is not None
    if again is not None:
        assert is_held(problem, again, problem.demand)


@pytest.mark.parametrize("seed", [6, 8])
def test_a_sheet_of_many_kinds_is_laid_part_by_part(seed: int) -> None:
    """A list for the whole sheet is too long to hold all of thirty blanks, lists for its parts are not."""
    problem = problem_of(Case(((100, 100, None),), tuple(cut_up(Random(seed), 100, 100))).batch())
    sheets, demand = NearFullPatterns(problem, Random(0)), np.array(problem.demand)
    assert demand.sum() > 25
    assert sheets.lay(demand, 800) == (None, False)
    patterns, _ = ended(FullestFirst(problem, Random(0)).lay(demand, 1, 800, 13))
    assert patterns is not None
    assert is_held(problem, patterns, problem.demand)


def test_two_that_take_turns_lay_what_they_listed() -> None:
    """Patterns are built before a pause, in which another search with the same lists may go on."""
    problem = problem_of(Case(((100, 100, None),), tuple(cut_up(Random(8), 100, 100))).batch())
    demand, fullest = np.array(problem.demand), FullestFirst(problem, Random(0))
    both = [fullest.lay(demand, 1, pairs, 13) for pairs in (800, 900)]
    laid: list[list[Pattern] | None] = []
    while len(laid) < len(both):
        for steps in both:
            try:
                next(steps)
            except StopIteration as end:
                if end.value is not None:
                    laid.append(end.value[0])
    for patterns in laid:
        assert patterns is not None
        assert is_held(problem, patterns, problem.demand)


def cut_up(rng: Random, width: int, height: int) -> Iterator[tuple[int, int, int, str]]:
    """Cut a rectangle into blanks of at most 35 x 35, a little less than there is room for."""
    if max(width, height) <= 35 and (max(width, height) < 15 or rng.random() < 0.5):
        yield width - (rng.random() < 0.3), height, 1, "never"
        return
    along_x = width > height
    at = rng.randint(4, max(width, height) - 4)
    for part in (at, max(width, height) - at):
        yield from cut_up(rng, *((part, height) if along_x else (width, part)))


@pytest.mark.parametrize("blocks", [3, 60])
def test_where_there_is_no_room_for_more_that_is_said(
    blocks: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Then there may be others; a list with room again has them all."""
    problem = problem_of(Case(((30, 30, None),), ((7, 9, 6, "may"), (5, 8, 9, "may"))).batch())
    demand, roomy = np.array(problem.demand), NearFullPatterns(problem, Random(0))
    monkeypatch.setattr("nesting.pack.one_sheet.near_full._MOST_BLOCKS", blocks)
    sheets = NearFullPatterns(problem, Random(0))
    full, every = sheets.wasting(demand, sheets.area, ENDLESS)
    assert not every
    assert sheets.has_no_room
    assert len(full.counts) < blocks == sheets.count + 1
    again, every = sheets.wasting(np.minimum(demand, [1, 0]), 0, ENDLESS)
    assert (len(again.counts), every) == (0, True)
    monkeypatch.undo()
    full, every = roomy.wasting(demand, roomy.area, ENDLESS)
    assert every
    assert len(full.counts) > blocks


@pytest.mark.parametrize("pairs", [1, 10])
def test_of_too_many_pairs_some_are_joined_at_random(pairs: int) -> None:
    """What is listed is sound, and that it may not be all is said."""
    problem = problem_of(Case(((30, 30, None),), ((7, 9, 6, "may"), (5, 8, 9, "may"))).batch())
    sheets, demand = NearFullPatterns(problem, Random(0)), np.array(problem.demand)
    full, every = sheets.wasting(demand, sheets.area // 4, pairs)
    assert not every
    looked_at, blocks = sheets.looked_at, sheets.count
    for row, pattern in zip(full.counts, full, strict=True):
        assert is_held(problem, [pattern], tuple(row.tolist()))
    _, every = sheets.wasting(demand, sheets.area // 4, ENDLESS)
    assert every
    assert sheets.looked_at > looked_at
    assert sheets.count > blocks


@given(cases(trimmer=False), st.lists(st.tuples(st.integers(0, 60), st.booleans()), max_size=4))
@settings(max_examples=200)
def test_after_other_lists_nothing_is_left_out(case: Case, lists: list[tuple[int, bool]]) -> None:
    """What lists of more or less waste, for all blanks or a part of them, show of later ones is true."""
    assume(case.sound)
    problem = problem_of(case.batch())
    sheets, all_blanks = NearFullPatterns(problem, Random(0)), np.array(problem.demand)
    expected = tries_of(problem).patterns(problem.demand, usable_of(problem)[0])
    for share, in_part in lists:
        demand = (all_blanks + 1) // 2 if in_part else all_blanks
        over = sheets.area * share // 100
        full, every = sheets.wasting(demand, over, ENDLESS, in_all=ENDLESS)
        assert every
        held = {tuple(np.minimum(one, demand).tolist()) for one in expected}
        enough = {one for one in held if sheets.area - int(sheets.areas @ one) <= over and any(one)}
        assert largest(map(tuple, full.counts.tolist())) == largest(enough)


def test_what_a_list_shows_makes_the_next_much_shorter() -> None:
    """Lists of less waste say where blocks can be no part of a sheet, also for a part of the blanks."""
    problem = problem_of(tight_batch(49))
    demand = np.array(problem.demand)
    sheets = NearFullPatterns(problem, Random(0))
    for over in (10, 20, 30, 40):
        sheets.wasting(demand, over, ENDLESS, in_all=ENDLESS)
    for most in (demand, np.where(np.arange(len(demand)) % 4, demand, 0)):
        alone = NearFullPatterns(problem, Random(0))
        full, every = sheets.wasting(most, 50, ENDLESS)
        expected, _ = alone.wasting(most, 50, ENDLESS)
        assert every
        assert {*map(tuple, full.counts.tolist())} == {*map(tuple, expected.counts.tolist())}
        assert sheets.looked_at * 10 < alone.looked_at


def test_a_list_ends_after_so_many_pairs() -> None:
    """That it is not complete is said, and nothing false is learned from it."""
    problem = problem_of(tight_batch(49))
    sheets, demand = NearFullPatterns(problem, Random(0)), np.array(problem.demand)
    _, every = sheets.wasting(demand, 50, ENDLESS, in_all=100_000)
    assert not every
    full, every = sheets.wasting(demand, 50, ENDLESS)
    expected, _ = NearFullPatterns(problem, Random(0)).wasting(demand, 50, ENDLESS)
    assert every
    assert len(full.counts) == len(expected.counts) > 100


def test_if_some_patterns_are_enough_that_there_may_be_others_is_said() -> None:
    """Then blocks that waste a larger share than the sheet are not looked for."""
    problem = problem_of(Case(((30, 30, None),), ((10, 10, 9, "may"), (6, 8, 2, "may"))).batch())
    sheets, demand = NearFullPatterns(problem, Random(0)), np.array(problem.demand)
    some, every = sheets.wasting(demand, sheets.area // 8, ENDLESS, enough=1)
    blocks = sheets.count
    assert len(some.counts) > 0
    assert not every
    _, every = sheets.wasting(demand, sheets.area // 8, ENDLESS)
    assert every
    assert sheets.count > blocks


def test_of_a_sheet_too_finely_divided_nothing_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where there are too many cells, no list is complete."""
    monkeypatch.setattr("nesting.pack.one_sheet.near_full._MOST_CELLS", 20)
    sheets = NearFullPatterns(pinwheels(1), Random(0))
    demand = np.array(pinwheels(1).demand)
    full, every = sheets.wasting(demand, sheets.area, ENDLESS)
    assert (len(full.counts), every, sheets.has_no_room) == (0, False, True)
    assert sheets.pattern(demand) is None


def pinwheels(sheets: int, *others: LoosePiece) -> Problem:
    """Four of 5 x 7 in round one of 2 x 2 in fill 12 x 12, but cannot be cut edge to edge."""
    inch = parse_length("1", "in")
    panel = LoosePiece("panel", "pear toss", 4 * sheets, 5 * inch, 7 * inch, turn="may")
    label = LoosePiece("label", "pear toss", sheets, 2 * inch, 2 * inch, turn="may")
    return problem_of(sheet_batch("12 x 12", panel, label, *others))


def test_where_nothing_is_left_to_try_the_bound_goes_up() -> None:
    """Two pinwheels have the area of two sheets and need three: a sheet has three of 5 x 7 at most."""
    search = Search(pinwheels(2), "orchard")
    assert (search.cost, search.bound.value, search.bound.by) == (3, 2, "area")
    for _ in lay_fullest_first(search, FullestFirst(search.problem, Random(0))):
        pass
    assert (search.cost, search.bound.value, search.bound.by) == (3, 3, "search")


def test_the_second_of_three_sheets_is_looked_up() -> None:
    """Only whole sheets, and what would be left for the last, are listed, so a proof takes few steps."""
    search = Search(problem_of(tight_batch(20)), "orchard")
    assert (search.cost, search.bound.value, search.bound.by) == (4, 3, "area")
    steps = list(lay_fullest_first(search, FullestFirst(search.problem, Random(0))))
    assert (search.bound.value, search.bound.by) == (4, "search")
    assert len(steps) < 800


def test_patience_ends_before_it_is_more_than_can_be_counted(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Where lists have no room for all patterns, no patience is ever enough."""
    monkeypatch.setattr("nesting.pack.one_sheet.near_full._MOST_BLOCKS", 5)
    inch = parse_length("1", "in")
    half = LoosePiece("half", "pear toss", 2, 12 * inch, 6 * inch, turn="may")
    search = Search(pinwheels(1, half), "orchard")
    for _ in lay_fullest_first(search, FullestFirst(search.problem, Random(0))):
        pass
    assert (search.cost, search.bound.value, search.bound.by) == (3, 2, "area")


def test_only_few_sheets_that_are_nearly_full_are_laid_so() -> None:
    """Many sheets, or sheets with much to spare, are left to others."""
    inch = parse_length("1", "in")
    loose = LoosePiece("panel", "pear toss", 7, 7 * inch, 4 * inch, turn="never")
    for problem in (pinwheels(9), problem_of(sheet_batch("12 x 12", loose))):
        search = Search(problem, "orchard")
        assert list(lay_fullest_first(search, FullestFirst(problem, Random(0)))) == []
        assert search.bound.by == "area"


def test_dives_leave_nearly_full_sheets_to_what_finds_them_sooner() -> None:
    """They take part for few sheets with more to spare, as long as these hold few kinds."""
    inch = parse_length("1", "in")
    loose = LoosePiece("panel", "pear toss", 7, 7 * inch, 4 * inch, turn="never")
    assert not may_dive(Search(pinwheels(3), "orchard"))
    assert may_dive(Search(problem_of(sheet_batch("12 x 12", loose)), "orchard"))


def test_where_blocks_do_not_know_the_rules_they_are_not_used() -> None:
    """Several sizes, a longest cut, and sheets too finely divided."""
    fine = ((1_000, 700, 3, "may"), (333, 334, 4, "may"))
    assert may_fill(pinwheels(1))
    assert not may_fill(problem_of(Case(((5_001, 900, None),), fine).batch()))
    longest = Case(((30, 30, None),), ((9, 8, 3, "may"),), longest=20)
    assert not may_fill(problem_of(longest.batch()))
    sizes = Case(((30, 30, None), (20, 20, None)), ((9, 8, 3, "may"),))
    assert not may_fill(problem_of(sizes.batch()))
