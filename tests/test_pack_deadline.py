"""Late: what takes long gives up, and what is best so far is arranged in the quickest way.

The clock of these tests goes on by a second whenever somebody looks at it.
"""

from collections.abc import Callable
from concurrent.futures import Executor, Future
from dataclasses import replace
from functools import partial
from math import inf
from random import Random

import numpy as np
import pytest
from pack_cases import Case, asked, problem_of, sheet_batch, solved

from nesting.batch import Batch, Card, Layer, LoosePiece, PaperChoice, PaperOption
from nesting.cards.resolving import resolve
from nesting.checker import check
from nesting.pack import FirstOf, NoGain, Rounds, Seconds, solve
from nesting.pack.bounds.dual_bounds import area_bound
from nesting.pack.bounds.sheet_cover import Offer, least_cost
from nesting.pack.cut_trees import easy_trees
from nesting.pack.cut_trees.arranging import Arranging
from nesting.pack.cut_trees.stroke_count import Laid
from nesting.pack.lp.highs import run_in_time
from nesting.pack.lp.master import choose_columns
from nesting.pack.lp.programme import Programme
from nesting.pack.model.deadline import (
    TimeIsUpError,
    Timetable,
    is_late,
    seconds_left,
    stop_if_late,
    until,
    within,
)
from nesting.pack.model.limits import seconds_of
from nesting.pack.model.problem import Problem, SheetSize
from nesting.pack.one_sheet.greedy import fill_sheets
from nesting.pack.one_sheet.pattern_enumeration import LITTLE, Enumeration
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.pack.search.column_generation import choose, generate_columns, repack_rest
from nesting.pack.search.incumbent import Search
from nesting.pack.search.pattern_reduction import reduce_patterns
from nesting.pack.search.runner import start_searches
from nesting.pack.search.schedule import improve
from nesting.pack.search.tie_break import break_ties
from nesting.pack.shortage.short_papers import Shortage
from nesting.papers import Edges, Paper, Sheet
from nesting.typed_lengths import parse_length

#: The module whose being loaded has tables filled by the compiled loop.
LOADED = "nesting.pack.one_sheet.value_table._LOOPS"


class Clock:
    """A clock that goes on by a second at each look."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        """Look at it."""
        self.now += 1
        return self.now


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    """The clock that the packer looks at."""
    clock = Clock()
    for module in ("model.deadline", "search.runner"):
        monkeypatch.setattr(f"nesting.pack.{module}.monotonic", clock)
    return clock


def open_batch(papers: int = 1, seed: int = 1) -> Batch:
    """Fourteen sizes without a common measure from each of some papers: a search has much to do."""
    rng = Random(seed)
    pieces = tuple(
        (rng.randint(15, 50), rng.randint(15, 50), rng.randint(1, 3), "never") for _ in range(14)
    )
    batch = Case(((100, 100, None),), pieces).batch()  # type: ignore[arg-type]
    names = ["pear toss", "bee stripe", "plum dot"][:papers]
    return replace(
        batch,
        papers=tuple(replace(batch.papers[0], name=name) for name in names),
        pieces=tuple(replace(piece, paper=name) for name in names for piece in batch.pieces),
    )


PROBLEM = problem_of(open_batch())


def choice_batch() -> Batch:
    """Mats from either of two papers that cannot be bought, panels from one that can."""
    inches = partial(parse_length, unit="in")
    letter = Sheet(inches("8 1/2"), inches("11"), have=2)
    papers = (
        Paper("brick cardstock", (letter,), buy=False),
        Paper("moss cardstock", (letter,), buy=False),
        Paper("pear toss", (Sheet(inches("12"), inches("12"), have=1),)),
    )
    choice = PaperChoice((PaperOption("brick cardstock"), PaperOption("moss cardstock")), "each")
    mat = Layer("mat", "brick cardstock", reveal=Edges(), choice=choice)
    panel = Layer("panel", "pear toss", reveal=Edges(*(inches("1/8"),) * 4))
    card = Card("windfall", 20, inches("4 1/4"), inches("5 1/2"), layers=(mat, panel))
    tag = LoosePiece("tag", "pear toss", 9, inches("2"), inches("3 1/2"))
    return Batch("Orchard market", "in", papers, (card,), (tag,))


def test_moments(clock: Clock) -> None:
    """Of moments within moments the first counts, and afterwards the one before it counts again."""
    assert seconds_left() == inf
    with until(clock.now + 20):
        assert seconds_left() == 19
        with until(clock.now + 100):
            assert seconds_left() == 18
        with within(0.25):
            assert seconds_left() == 2
            assert not is_late()
            assert is_late()
            with pytest.raises(TimeIsUpError):
                stop_if_late()
    assert not is_late()
    stop_if_late()


@pytest.mark.parametrize(
    ("limit", "seconds"),
    [
        (Seconds(3), 3),
        (Rounds(9), inf),
        (FirstOf((Rounds(9), Seconds(5), FirstOf((NoGain(2), Seconds(4))))), 4),
        (FirstOf(()), inf),
    ],
)
def test_seconds_of_a_limit(limit: Callable[..., bool], seconds: float) -> None:
    """The least seconds in a limit; none in one of rounds."""
    assert seconds_of(limit) == seconds


def test_a_timetable_gives_each_part_its_share(clock: Clock) -> None:
    """Half of 100 seconds, then all of them, from the beginning on."""
    times = Timetable(100)
    assert times.run(0.5, seconds_left) == 50 - 1
    clock.now += 60
    assert times.run(0.5, is_late)
    assert times.run(1.0, seconds_left) == 100 - 60 - 3
    assert times.run(1.1, seconds_left) == 100.5 - 60 - 4
    assert times.run(1.0, seconds_left, kept=20) == 100 - 60 - 5 - 20
    assert not times.interrupted


def test_ctrl_c_brings_all_moments_forward() -> None:
    """The part that is interrupted is done again at once, and so are all after it; twice ends all."""
    late: list[bool] = []

    def interrupted() -> None:
        late.append(is_late())
        if len(late) == 1:
            raise KeyboardInterrupt

    times = Timetable(inf)
    times.run(1.0, interrupted)
    assert late == [False, True]
    assert times.interrupted
    assert times.run(1.0, is_late)

    def always() -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        Timetable(inf).run(1.0, always)


def test_the_quick_plan_is_quicker_when_late() -> None:
    """Each sheet is filled once, not eight times: the plan is the same as with one try."""
    with until(-inf):
        late = fill_sheets(PROBLEM, PROBLEM.demand, Random(0), 8)
    assert late == fill_sheets(PROBLEM, PROBLEM.demand, Random(0), 1)
    assert late != fill_sheets(PROBLEM, PROBLEM.demand, Random(0), 8)


def test_quick_plans_leave_time_for_the_search(clock: Clock) -> None:
    """Of many kinds the sheets are filled once, no longer eight times, after a third of the time."""
    asked = resolve(open_batch())
    quick = partial(start_searches, asked.batch, asked.pieces(), 0, {})
    careful = quick()["pear toss"].best
    with until(clock.now + 40):
        assert quick()["pear toss"].best != careful


@pytest.mark.parametrize("compiled", [False, True])
def test_a_table_keeps_its_values_when_late(
    compiled: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is given up half-way, and what it held before still holds."""
    monkeypatch.setattr(LOADED, "sys" if compiled else "not loaded")
    table = SheetTable(PROBLEM)
    table.fill(list(PROBLEM.areas))
    before = table.cells.copy()
    with until(-inf), pytest.raises(TimeIsUpError):
        table.fill([1] * len(PROBLEM.kinds))
    assert np.array_equal(table.cells, before)


NOTHING_FITS = replace(PROBLEM, kinds=(), sizes=(SheetSize(1, 1, (0,)),))


@pytest.mark.parametrize("problem", [PROBLEM, NOTHING_FITS])
def test_a_table_is_filled_by_rows_to_the_same_values(
    problem: Problem, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A row at a time or many, or none at all: the compiled loop comes to the values of the other."""
    values = list(problem.areas)
    by_rows, whole = SheetTable(problem), SheetTable(problem)
    monkeypatch.setattr(LOADED, "not loaded")
    whole.fill(values)
    monkeypatch.setattr(LOADED, "sys")
    monkeypatch.setattr("nesting.pack.one_sheet.value_table._STEPS_AT_ONCE", 1)
    by_rows.fill(values)
    assert np.array_equal(by_rows.cells, whole.cells)


def test_long_work_is_given_up() -> None:
    """Setting up a table, bounds by lengths, a listing, generating, choosing, packing anew: none goes on."""
    search = Search(PROBLEM, "0")
    table = SheetTable(PROBLEM)
    with until(-inf):
        for work in (
            lambda: SheetTable(PROBLEM),
            lambda: Enumeration(PROBLEM, table, [], LITTLE).patterns(),
            lambda: next(generate_columns(search, None, table)),  # type: ignore[arg-type]
            lambda: choose(search, None, 200),  # type: ignore[arg-type]
            lambda: repack_rest(search, []),
        ):
            with pytest.raises(TimeIsUpError):
                work()  # type: ignore[no-untyped-call]


def test_the_least_cost_of_parts_will_do_when_late() -> None:
    """Whole sheets cost 8 where parts of them cost 7.8: late, the bound is by parts, rounded up."""
    offers, needed = [Offer(30, 100, 2), Offer(44, 120, None)], 300
    assert least_cost(offers, needed) == 104
    with until(-inf):
        assert least_cost(offers, needed) == 97
        assert area_bound(PROBLEM).value > 0


class Recorded:
    """What HiGHS is told."""

    def __init__(self) -> None:
        self.told: list[tuple[str, float]] = []

    def setOptionValue(self, name: str, value: float) -> None:  # noqa: N802 - HiGHS's name
        """Keep it."""
        self.told.append((name, value))

    def run(self) -> None:
        """Note that it ran."""
        self.told.append(("run", 0))


def test_highs_has_what_is_left_of_the_time(clock: Clock) -> None:
    """The time that is left is its limit, the least there is when late, and none under rounds."""
    highs = Recorded()
    run_in_time(highs)
    with until(clock.now + 10):
        run_in_time(highs)
    with until(-inf):
        run_in_time(highs)
    run, least = ("run", 0), ("time_limit", 0.1)
    assert highs.told == [run, ("time_limit", 9), run, least, run]


def test_time_that_is_up_proves_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """HiGHS without any time: nothing was found, and nothing is said to be impossible."""
    monkeypatch.setattr("nesting.pack.lp.highs._LEAST_SECONDS", 0.0)
    search = Search(PROBLEM, "0")
    programme = Programme()
    one, other = (programme.column(1.0, 0.0, 10.0, whole=True) for _ in range(2))
    programme.row({one: 3.0, other: 5.0}, 8.0, 8.5)
    with until(-inf):
        chosen = choose_columns(PROBLEM, search.pool.columns, 1)
        outcome = programme.solve()
    assert not chosen.impossible
    assert not outcome.impossible
    assert not outcome.optimal


def test_a_search_ends_by_itself_when_late() -> None:
    """No step is done, and the plan stays the quick one."""
    search = Search(PROBLEM, "0")
    quick = search.best
    with until(-inf):
        assert len(list(improve(search))) <= 1
    assert search.best is quick


@pytest.mark.parametrize("looks", [5, 20, 100, 400, 700])
def test_a_search_may_end_wherever_it_is(looks: int, clock: Clock) -> None:
    """Late at any look at the clock, in whatever stage: few more looks follow, and the plan is whole."""
    problem = problem_of(open_batch(seed=2))
    search = Search(problem, "0")
    with until(clock.now + looks):
        for _ in improve(search):
            pass
    assert looks <= clock.now <= looks + 60
    for kind, needed in enumerate(problem.demand):
        assert sum(used.column.counts[kind] * used.count for used in search.best) >= needed
    assert search.bound.value <= search.cost


def test_ties_stay_when_late() -> None:
    """Neither folds nor layouts are looked at: the plan stays as it is."""
    search = Search(PROBLEM, "0")
    for _ in improve(search):
        if search.rounds > 10:
            break
    before = search.best
    with until(-inf):
        assert set(reduce_patterns(before, search.pool.columns, PROBLEM.demand)) == set(before)
        break_ties(search)
    assert set(search.best) == set(before)


def test_trees_are_the_packers_own_when_late() -> None:
    """Both ways to arrange a paper's sheets are the same, with more strokes than need be."""
    batch = sheet_batch("12 x 12", asked("5 x 3", 3), asked("4 x 4", 2), asked("2 x 7", 3))
    search = Search(problem_of(batch), "0")
    easy, _ = Arranging(search.best, search.problem, batch).both()
    with until(-inf):
        late, big = Arranging(search.best, search.problem, batch).both()
    assert late == big
    assert late.strokes >= easy.strokes
    assert solved(batch, Seconds(0)).ended in ("proven", "limit")


def test_ruler_settings_are_not_compared_when_late(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each layout takes the first of its trees: none is held against those of a thousand others."""
    counted: list[object] = []
    monkeypatch.setattr(easy_trees, "ruler_settings", counted.append)
    laid = [Laid(part, frozenset({1}), frozenset(), 0, 0) for part in (None, 0)]  # type: ignore[arg-type]
    with until(-inf):
        assert easy_trees.few_settings([laid] * 3) == [laid[0]] * 3
    assert not counted


def test_papers_that_are_short_have_no_tables_when_late() -> None:
    """Tables take long to set up: where it is late there are none."""
    with until(-inf):
        assert Shortage({"pear toss": PROBLEM}, (), []).tables == {}
    assert Shortage({"pear toss": PROBLEM}, (), []).tables.keys() == {"pear toss"}


@pytest.mark.parametrize("batch", [open_batch(3), choice_batch()], ids=["papers", "choice"])
@pytest.mark.parametrize("seconds", [0, 30, 300, 3000])
def test_the_limit_is_for_everything_together(batch: Batch, seconds: int, clock: Clock) -> None:
    """However many papers there are and wherever it gets late: few more looks, and a sound plan."""
    plan = solve(batch, Seconds(seconds))
    assert check(plan.asked, plan) == ()
    assert clock.now <= seconds + 250


@pytest.mark.parametrize(("part", "times"), [("improve_all", 2), ("make_plan", 1)])
def test_time_is_kept_for_the_layouts_of_many_patterns(
    part: str, times: int, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Searching ends early enough for arranging and writing, arranging early enough for writing."""
    import nesting.pack

    done: Callable[..., object] = getattr(nesting.pack, part)
    left: list[float] = []

    def recording(*args: object) -> object:
        left.append(seconds_left())
        return done(*args)

    monkeypatch.setattr(nesting.pack, part, recording)
    for seconds in (0.0, 100.0):
        monkeypatch.setattr(nesting.pack, "_A_PATTERN", seconds)
        solve(open_batch(), FirstOf((Seconds(10_000), Rounds(0))))
    assert left[0] - left[1] >= times * 300


@pytest.mark.parametrize(
    "part", ["settle_choices", "start_searches", "improve_all", "settle", "make_plan"]
)
def test_ctrl_c_in_any_part_leaves_a_plan(part: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The part is done again in the quickest way, and the plan says that it was interrupted."""
    import nesting.pack

    done: Callable[..., object] = getattr(nesting.pack, part)
    late: list[bool] = []

    def interrupted(*args: object) -> object:
        late.append(is_late())
        if len(late) == 1:
            raise KeyboardInterrupt
        return done(*args)

    monkeypatch.setattr(nesting.pack, part, interrupted)
    plan = solve(choice_batch(), Rounds(5))
    assert late == [False, True]
    assert plan.ended == "interrupted"
    assert check(plan.asked, plan) == ()


class Asked(Executor):
    """An executor that never gets round to anything, and keeps what it was asked for."""

    def __init__(self) -> None:
        self.asked: list[tuple[object, ...]] = []
        self.futures: list[Future[object]] = []

    def submit(self, *args: object) -> Future[object]:  # type: ignore[override]
        """Keep it."""
        self.asked.append(args)
        self.futures.append(Future())
        return self.futures[-1]


def test_an_executor_is_not_waited_for_when_late(
    clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Searches that do not end are given up, each had its part of the time, and the plan is sound."""
    monkeypatch.setattr("os.cpu_count", lambda: 2)
    monkeypatch.setattr("nesting.pack.search.runner._PATIENCE", 0.0)
    monkeypatch.setattr("nesting.pack.search.runner._FIRST_ROUNDS", 1)

    class Later(Asked):
        """Late as soon as it is asked for anything."""

        def submit(self, *args: object) -> Future[object]:  # type: ignore[override]
            """Keep it."""
            clock.now += 10_000
            return super().submit(*args)

    executor = Later()
    plan = solve(open_batch(3), Seconds(10_000), restarts=1, executor=executor)
    assert check(plan.asked, plan) == ()
    assert len(executor.asked) == 4  # two groups of papers, twice
    assert all(future.cancelled() for future in executor.futures)
    own = {args[-2] for args in executor.asked}
    assert len(own) == 1
    assert 3_000 < float(str(own.pop())) < 5_000  # two turns on two processors
