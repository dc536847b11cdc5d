"""The stages of a search, each a small function with its source, and the order they come in."""

from collections.abc import Generator, Sequence
from contextlib import suppress
from dataclasses import replace
from itertools import count

from nesting.pack.bounds.dual_bounds import bound_by, length_values_bound
from nesting.pack.lp.master import Relaxation
from nesting.pack.model.columns import Column, Used, cut_once
from nesting.pack.model.deadline import TimeIsUpError, is_late
from nesting.pack.model.overproduction import without_overproduction
from nesting.pack.model.pattern import Pattern, blank_area, leaves
from nesting.pack.model.pauses import STEP, Pause, Pauses, so_many
from nesting.pack.model.problem import Problem, without_groups
from nesting.pack.one_sheet.greedy import fill_sheets
from nesting.pack.one_sheet.near_full import may_fill
from nesting.pack.one_sheet.pattern_enumeration import LITTLE, MUCH
from nesting.pack.one_sheet.raster_points import cut_points
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.pack.search.column_generation import (
    LATER_TRIES,
    choose,
    generate_columns,
    price_noisily,
    repack_rest,
    rounded_down,
    solve_master,
)  # fmt: skip
from nesting.pack.search.enumerate_and_solve import enumerate_and_solve
from nesting.pack.search.incumbent import Search
from nesting.pack.search.near_full_first import FullestFirst, lay_fullest_first
from nesting.pack.search.pattern_archive import PatternArchive
from nesting.pack.search.proper_columns import price_proper_columns
from nesting.pack.search.ruin_recreate import RuinAndRecreate
from nesting.pack.search.set_covering import choose_from_archive, dive, set_aside

#: Cells of the dynamic programme's table beyond which it would be too slow to be worth it.
_MOST_CELLS = 4_000_000
#: How many blanks at most are laid anew all together.
_MOST_BLANKS = 600
#: With so few of each kind, layouts beyond the demand are of little use: the trees come first.
_FEW = 3
#: With so few blanks in all, the trees of all sheets are worth most of the time.
_FEW_BLANKS = 150
#: How many attempts go without ruin and recreate first: they are cheap, and often enough.
_CHEAP_ATTEMPTS = 2
#: How many turns an attempt of ruin and recreate takes, and its heat and size of ruin by turns.
_RUIN_TURNS = 100
_TEMPERS = ((0.1, 6), (0.2, 6), (0.05, 10), (0.1, 10))
#: Up to so many sheets, laying two or three of them anew is worth its time, and plans come before proofs.
_SOME_SHEETS = 12
#: With few of each kind, so many turns of ruin and recreate come beside each step of quick proofs.
_RUINED_QUICKLY = 20
#: How many steps of what finds plans come before the long proofs, and turns of ruin and recreate
#: beside each of their steps for each sheet: the more sheets, the longer those steps.
_FOUND_FIRST, _RUINED_BESIDE = 1_000, 8
#: How many steps of what lays the fullest sheets first come beside them.
_LISTED_BESIDE = 160
#: After how many turns each time two or three sheets are laid anew with what is open.
_LAID_ANEW = 50
#: After how many attempts each time all sheets seen are recombined.
_ARCHIVE_EACH = 4
#: How many rounds circles are laid one by one before groups are tried, and between later tries.
_ROUNDS_ALONE = 40


def improve(search: Search) -> Pauses:
    """Make the plan and the bound better, a step at a time, until they meet or it is late."""
    with suppress(TimeIsUpError):
        for pause in pipeline(search):
            if pause is STEP:
                search.count_step()
            yield pause
            if search.proven or is_late():
                return


def pipeline(search: Search) -> Pauses:
    """The stages in order, each until it has nothing more to give; an endless one comes last."""
    yield STEP
    across, along = cut_points(search.problem)
    if len(across) * len(along) > _MOST_CELLS:
        yield from _refill_for_ever(search)
    relaxation, table = Relaxation(search.problem), SheetTable(search.problem)
    one_by_one = _one_by_one(search, table)
    yield from so_many(one_by_one, _ROUNDS_ALONE + 1)
    if _few_blanks(search.problem):
        _bound_by_lengths(search, table)
        yield STEP
        yield from _few(search, relaxation, table)
    uses = yield from _generated(search, relaxation, table)
    _bound_by_lengths(search, table)
    yield STEP
    yield from _repack(search, uses)
    yield from enumerate_and_solve(search, table, LITTLE)
    for attempt in count(-_CHEAP_ATTEMPTS):
        if attempt >= 0:
            yield from _ruin_and_recreate(search, uses, attempt)
        repack_rest(search, uses)
        yield STEP
        price_noisily(search, relaxation, table)
        found = solve_master(search, relaxation)
        uses = found[1] if found else uses
        choose(search, nodes=400)
        yield STEP
        yield from so_many(one_by_one, _ROUNDS_ALONE + 1)
        if attempt == 0:
            yield from price_proper_columns(search, table)
            yield from enumerate_and_solve(search, table, MUCH)


def _few(search: Search, relaxation: Relaxation, table: SheetTable) -> Pauses:
    """Few blanks: ruin and recreate for ever, and beside it all that proves or finds in other ways."""
    seen = PatternArchive(search.problem, search.rng)
    some = search.cost <= _SOME_SHEETS and may_fill(search.problem)
    fullest = FullestFirst(search.problem) if some else None
    recreating = _ruin_and_recreate_for_ever(search, seen, fullest)
    quickly = _prove_quickly(search, relaxation, table)
    if _few_of_each(search.problem):
        yield from so_many(recreating, _RUIN_TURNS)
        for pause in quickly:
            yield pause
            if pause is STEP:
                yield from so_many(recreating, _RUINED_QUICKLY)
    else:
        yield from quickly
    listing = lay_fullest_first(search, fullest) if fullest is not None else iter(())
    if search.cost <= _SOME_SHEETS:
        yield from so_many(_by_turns((recreating, 1), (listing, 4)), _FOUND_FIRST)
    proving = _prove_at_length(search, table, seen)
    beside = _RUINED_BESIDE * search.cost
    yield from _by_turns((proving, 1), (recreating, beside), (listing, _LISTED_BESIDE))


def _prove_quickly(search: Search, relaxation: Relaxation, table: SheetTable) -> Pauses:
    """Bounds, and the plans that come with them, as far as they take little time."""
    uses = yield from _generated(search, relaxation, table)
    yield from _repack(search, uses)
    yield from enumerate_and_solve(search, table, LITTLE)


def _prove_at_length(search: Search, table: SheetTable, seen: PatternArchive) -> Pauses:
    """Stronger bounds, and the plans that come with them, until there is nothing more to try."""
    yield from price_proper_columns(search, table, seen)
    yield from enumerate_and_solve(search, table, MUCH)


def _by_turns(*parts: tuple[Pauses, int]) -> Pauses:
    """So many steps of each part, again and again, until all of them have ended."""
    steps = 1
    while steps:
        steps = 0
        for part, turns in parts:
            for pause in so_many(part, turns):
                steps += 1
                yield pause


def _generated(
    search: Search, relaxation: Relaxation, table: SheetTable
) -> Generator[Pause, None, list[float]]:
    """Generate columns and choose among them; how often the relaxation uses each.

    Layouts beyond the demand are hardly ever a plan together where there are few of each kind:
    there, none is chosen if ruin and recreate looks for one all the time.
    """
    uses: list[float] = []
    for latest in generate_columns(search, relaxation, table):
        uses = latest
        yield STEP
    repack_rest(search, uses)
    yield STEP
    if not (_few_of_each(search.problem) and _few_blanks(search.problem)):
        choose(search, nodes=200)
        yield STEP
    return uses


def _repack(search: Search, uses: list[float]) -> Pauses:
    for _ in range(4):
        repack_rest(search, uses)
        yield STEP


def _one_by_one(search: Search, table: SheetTable) -> Pauses:
    """Circles in blanks of their own: quick, and mostly no group saves a sheet.

    The plan is one of this problem, too, but the bound is not: groups may beat it. So the values
    that it was found with are proven again where the sheet's table knows of groups, after each
    ``_ROUNDS_ALONE`` rounds. Nothing where there are no groups.
    """
    if not search.problem.has_groups:
        return
    alone = Search(without_groups(search.problem), search.seed, search.best)
    steps = improve(alone)
    while not alone.proven:
        for pause in so_many(steps, _ROUNDS_ALONE):
            if alone.cost < search.cost:
                search.offer(search.taken(alone.best))
            yield pause
        if alone.values_bound is not None:
            values = [alone.values_bound.values[kind.piece] for kind in search.problem.kinds]
            search.offer_bound(bound_by(search.problem, table, values))
        yield STEP


def _few_of_each(problem: Problem) -> bool:
    """Whether there are so few of each kind that layouts beyond the demand are of little use."""
    return sum(problem.demand) <= _FEW * len(problem.kinds)


def _few_blanks(problem: Problem) -> bool:
    """Whether the trees of all sheets are worth most of the time."""
    most = _MOST_BLANKS if _few_of_each(problem) else _FEW_BLANKS
    return _may_rebuild(problem) and sum(problem.demand) <= most


def _may_rebuild(problem: Problem) -> bool:
    """Whether ruin and recreate knows all the rules: equal sheets, cuts of any length, no groups."""
    return problem.counts_sheets and problem.longest is None and not problem.has_groups


def _bound_by_lengths(search: Search, table: SheetTable) -> None:
    """The bound by dual feasible functions, which is seldom better than column generation's."""
    by_lengths = length_values_bound(search.problem, table)
    if by_lengths is not None:
        search.offer_bound(by_lengths)


def _ruin_and_recreate_for_ever(
    search: Search, seen: PatternArchive, fullest: FullestFirst | None
) -> Pauses:
    """Ruin and recreate again and again, and choose among all sheets seen now and then.

    Attempts grow longer, as the short ones were in vain.
    """
    attempt, used = 0, list[tuple[Column, float]]()
    while True:
        cost = search.cost
        turns = _RUIN_TURNS * (1 + attempt // 2)
        start = dive(search, used, cost - 1) if used else []
        yield from _ruin_and_recreate(
            search, [], attempt, turns=turns, seen=seen, start=start, fullest=fullest
        )
        attempt = 0 if search.cost < cost else attempt + 1
        if attempt and attempt % _ARCHIVE_EACH == 0:
            used = yield from choose_from_archive(search, seen)


def _ruin_and_recreate(
    search: Search,
    uses: list[float],
    attempt: int,
    *,
    turns: int = _RUIN_TURNS,
    seen: PatternArchive | None = None,
    start: Sequence[Pattern] = (),
    fullest: FullestFirst | None = None,
) -> Pauses:
    """Ruin and recreate with one sheet fewer than the best plan has.

    Where the blanks are few, all sheets of the best plan, or some of those to ``start`` from while
    the others stay as they are; else those that are left when the relaxation is rounded down.
    """
    problem = search.problem
    kept, rest, filled = _to_recreate(search, uses, start)
    patterns = [
        used.column.pattern
        for used in without_overproduction(filled, rest)
        for _ in range(used.count)
    ]
    if any(leaf.shape.holds > 1 for pattern in patterns for leaf in leaves(pattern)):
        return
    patterns.sort(key=blank_area, reverse=True)
    sheets = search.cost - 1 - sum(used.count for used in kept)
    if sheets < 1 or sheets > len(patterns):
        return
    heat, most = _TEMPERS[attempt % len(_TEMPERS)]
    part = replace(
        problem,
        kinds=tuple(replace(kind, demand=n) for kind, n in zip(problem.kinds, rest, strict=True)),
    )
    if seen is None:
        seen = PatternArchive(part, search.rng, most=0)
    else:
        seen.aim(search.cost - 1)
    ruin = RuinAndRecreate(part, patterns[:sheets], search.rng, seen)
    for turn in range(turns):
        cooled = heat * (1 - turn / turns)
        ruin.run(cooled, most)
        yield STEP
        if not ruin.open:
            lying: list[Pattern] | None = ruin.patterns()
        elif fullest is not None and turn % _LAID_ANEW == _LAID_ANEW - 1:
            lying = yield from fullest.lay_with_open(ruin.patterns(), rest, sheets, search.rng)
        else:
            continue
        if lying is not None:
            search.offer((*kept, *search.taken(cut_once(lying, len(rest)))))
            return
    for pattern in ruin.patterns():
        search.pool.add(0, pattern)


def _to_recreate(
    search: Search, uses: list[float], start: Sequence[Pattern]
) -> tuple[tuple[Used, ...], tuple[int, ...], Sequence[Used]]:
    """The sheets that stay as they are, the demand left, and sheets for it to begin with, if any."""
    problem = search.problem
    if not problem.counts_sheets or problem.longest is not None:
        return (), problem.demand, []
    if sum(problem.demand) <= _MOST_BLANKS:
        if start:
            return set_aside(search, start)
        return (), problem.demand, search.best
    kept, rest = rounded_down(search, uses, 6)
    if sum(rest) > _MOST_BLANKS:
        return kept, rest, []
    return kept, rest, fill_sheets(problem, rest, search.rng, LATER_TRIES) or []


def _refill_for_ever(search: Search) -> Pauses:
    """Without the dynamic programme: fill from scratch with other weights, again and again."""
    while True:
        filled = fill_sheets(search.problem, search.problem.demand, search.rng, LATER_TRIES)
        if filled is not None:
            search.offer(search.taken(filled))
        yield STEP
