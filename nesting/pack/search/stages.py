"""The stages of one paper's search, each a generator that yields after every step.

A stage continues where its last turn ended; ``schedule`` decides when each has its turns.
"""

from functools import cached_property
from itertools import count

from nesting.pack.lp.master import Relaxation
from nesting.pack.model.columns import Column, Used
from nesting.pack.model.pauses import GIVE_UP, STEP, Pauses
from nesting.pack.model.problem import Problem
from nesting.pack.one_sheet.full_sheets import may_be_full
from nesting.pack.one_sheet.greedy import fill_sheets
from nesting.pack.one_sheet.near_full import may_fill
from nesting.pack.one_sheet.pattern_enumeration import LITTLE, MUCH, may_list
from nesting.pack.one_sheet.raster_points import cut_points, may_tabulate
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.pack.search.attempts import (
    MANY_KINDS,
    MOST_BLANKS,
    TURNS,
    Start,
    attempt,
    from_all_sheets,
    from_rounding,
    may_recreate,
)
from nesting.pack.search.column_generation import (
    LATER_TRIES,
    choose,
    fill_at_corrected_values,
    fill_without_some,
    generate_columns,
    price_noisily,
    repack_rest,
    solve_master,
)
from nesting.pack.search.diving import Diving
from nesting.pack.search.exact_enumeration import enumerate_and_solve
from nesting.pack.search.full_sheets_first import cover_by_full_sheets
from nesting.pack.search.incumbent import Search
from nesting.pack.search.near_full_first import (
    FullestFirst,
    lay_fullest_first,
    would_be_nearly_full,
)
from nesting.pack.search.pattern_archive import PatternArchive
from nesting.pack.search.proper_columns import ProperColumns, price_proper_columns
from nesting.pack.search.set_covering import choose_from_archive, pick_sheets

#: From this many steps of the dynamic programme on, pricing is slow.
_SLOW = 4_000_000
#: From so many steps on, pricing within the demand would take seconds each time.
_TOO_SLOW = 20_000_000
#: Up to this mean demand per kind, patterns beyond the demand are of little use.
_FEW = 3
#: Up to this many blanks, ruin and recreate on all sheets gets most of the time.
_FEW_BLANKS = 150
#: Up to this many sheets, laying two or three of them anew is worth its time.
_SOME_SHEETS = 12
#: How often the residual problem is solved greedily after column generation.
_REPACKED = 4
#: The archive is chosen from after each so many attempts in vain.
_ARCHIVE_EACH = 4


def stops(search: Search) -> bool:
    """Whether cuts may end inside the sheet."""
    return search.problem.stopped


def no_table(search: Search) -> bool:
    """Whether the dynamic programme's table would be too large to be worth it."""
    return not may_tabulate(search.problem)


def few_of_each(search: Search) -> bool:
    """Whether demands are so small that patterns beyond the demand are of little use."""
    return _few_of_each(search.problem) and few_blanks(search)


def slow_pricing(search: Search) -> bool:
    """Whether there are few of each, and pricing them would take longer than finding a plan."""
    return few_of_each(search) and _steps(search.problem) > _SLOW


def few_blanks(search: Search) -> bool:
    """Whether ruin and recreate on all sheets gets most of the time.

    It has to be able to obey all the rules: equal sheets, no longest cut, no groups of circles.
    """
    problem = search.problem
    most = MOST_BLANKS if _few_of_each(problem) else _FEW_BLANKS
    return may_recreate(problem) and not problem.has_groups and sum(problem.demand) <= most


def many_blanks(search: Search) -> bool:
    """Whether there are more blanks, or rules that ruin and recreate does not know."""
    return not few_blanks(search)


def few_sheets(search: Search) -> bool:
    """Whether there are few blanks on few sheets: then plans are looked for before long proofs."""
    return few_blanks(search) and search.cost <= _SOME_SHEETS


def few_kinds(search: Search) -> bool:
    """Whether a sheet holds so few kinds that good sheets can be listed."""
    return len(search.problem.kinds) <= MANY_KINDS * (search.cost - 1)


def many_kinds(search: Search) -> bool:
    """Whether a sheet holds so many kinds that ruin and recreate alone finds plans, and bounds hardly rise."""
    return few_blanks(search) and not few_kinds(search)


def may_dive(search: Search) -> bool:
    """Whether dives are worth their time: nearly full sheets are found sooner in other ways."""
    return few_kinds(search) and not would_be_nearly_full(search)


def nothing_over(search: Search) -> bool:
    """Whether a plan as good as the bound has no waste at all."""
    return may_be_full(search.problem, search.bound.value)


def _few_of_each(problem: Problem) -> bool:
    return sum(problem.demand) <= _FEW * len(problem.kinds)


def _steps(problem: Problem) -> int:
    """How many steps the dynamic programme takes, some four times as many as cuts."""
    across, along = cut_points(problem)
    return len(across) * len(along) * (len(across) + len(along))


class Stages:
    """The stages of one search, and what they share."""

    def __init__(self, search: Search) -> None:
        self.search = search
        self._uses: list[float] = []
        self._unfilled: tuple[Used, ...] = ()
        self._lists_nearly_full = few_sheets(search) and not search.problem.stopped

    @cached_property
    def table(self) -> SheetTable:
        """The dynamic programme's table."""
        return SheetTable(self.search.problem)

    @cached_property
    def _columns(self) -> ProperColumns:
        """Proper columns, for their own bound and for dives."""
        return ProperColumns(self.search.pool, self.table)

    @cached_property
    def _relaxation(self) -> Relaxation:
        return Relaxation(self.search.problem)

    @cached_property
    def _archive(self) -> PatternArchive:
        return PatternArchive(self.search.problem, self.search.rng)

    @cached_property
    def _fullest(self) -> FullestFirst | None:
        """For a search that began with few sheets; made when it is needed, as it loads loops."""
        problem = self.search.problem
        return (
            FullestFirst(problem, self.search.rng)
            if self._lists_nearly_full and may_fill(problem)
            else None
        )

    def greedy_fillings(self) -> Pauses:
        """Fill all sheets from scratch with other random weights, again and again."""
        search = self.search
        while True:
            filled = fill_sheets(search.problem, search.problem.demand, search.rng, LATER_TRIES)
            if filled is not None:
                search.offer(search.taken(filled))
            fill_without_some(search)
            yield STEP

    def column_generation(self) -> Pauses:
        """Generate columns, solve the residual problem greedily, and choose among the columns.

        Where demands are small only the bound counts: patterns beyond the demand hardly ever make a
        plan, and ruin and recreate looks for one all the time.
        """
        search = self.search
        few = few_of_each(search)
        for uses in generate_columns(search, self._relaxation, self.table, for_bound=few):
            self._uses = uses
            yield STEP
        repack_rest(search, self._uses)
        yield STEP
        if not few:
            choose(search, self._relaxation, nodes=200)
            yield STEP

    def residual_repacking(self) -> Pauses:
        """Round the relaxation down, free some sheets and solve the residual problem, a few times."""
        for _ in range(_REPACKED):
            repack_rest(self.search, self._uses)
            yield STEP

    def short_enumeration(self) -> Pauses:
        """List every pattern that a plan of ``bound`` sheets can contain, if they are few, and solve."""
        self._unfilled = yield from enumerate_and_solve(self.search, self.table, LITTLE)

    def perturbed_columns(self) -> Pauses:
        """Repack the residual problem, price at perturbed dual values, and choose; without end."""
        search = self.search
        while True:
            repack_rest(search, self._uses)
            yield STEP
            price_noisily(search, self._relaxation, self.table)
            found = solve_master(search, self._relaxation)
            self._uses = found.uses if found else self._uses
            choose(search, self._relaxation, nodes=400)
            yield STEP

    def corrected_values(self) -> Pauses:
        """Fill sheet after sheet at values that are corrected where a pattern has more than is left."""
        while True:
            fill_at_corrected_values(self.search, self.table)
            yield STEP

    def residual_recreation(self) -> Pauses:
        """Ruin and recreate on the residual problem, one attempt a turn."""
        search = self.search
        for number in count():
            start = self._to_fill() or from_rounding(search, self._uses)
            yield from attempt(search, start, number)
            yield GIVE_UP

    def tree_recreation(self) -> Pauses:
        """Ruin and recreate on the trees of all sheets, and now and then a choice from the archive.

        Attempts grow longer as long as they are in vain.
        """
        search = self.search
        vain, used = 0, list[tuple[Column, float]]()
        while True:
            cost = search.cost
            patterns = pick_sheets(search, used, cost - 1) if used else []
            yield from attempt(
                search,
                self._to_fill() or from_all_sheets(search, patterns),
                vain,
                turns=TURNS * (1 + vain // 2),
                archive=self._archive,
                fullest=self._fullest,
            )
            vain = 0 if search.cost < cost else vain + 1
            if vain and vain % _ARCHIVE_EACH == 0:
                used = yield from choose_from_archive(search, self._archive)

    def _to_fill(self) -> Start | None:
        """The sheets that lack only what is worth nothing, for one attempt after each enumeration."""
        sheets, self._unfilled = self._unfilled, ()
        demand = self.search.problem.demand
        return Start((), demand, sheets) if sheets and sum(demand) <= MOST_BLANKS else None

    def near_full_first(self) -> Pauses:
        """Lay nearly full sheets, the fullest first."""
        if self._fullest is not None:
            yield from lay_fullest_first(self.search, self._fullest)

    def full_sheets_first(self) -> Pauses:
        """Lay full sheets only, where nothing may be left over."""
        yield from cover_by_full_sheets(self.search)

    def proper_columns(self) -> Pauses:
        """Generate proper columns: a stronger bound, and guides for the enumeration."""
        problem = self.search.problem
        if _steps(problem) > _TOO_SLOW or not may_list(problem, self.table):
            return
        archive = self._archive if few_blanks(self.search) else None
        yield from price_proper_columns(self.search, self.table, self._columns, archive)

    def dives(self) -> Pauses:
        """Dive for a plan with one sheet fewer, and repair it by ruin and recreate; without end."""
        search = self.search
        if not may_list(search.problem, self.table):
            return
        diving = Diving(search, self.table, self._columns, self._archive)
        for number in count():
            patterns = yield from diving.dive(search.cost - 1)
            start = from_all_sheets(search, patterns)
            yield from attempt(search, start, number, archive=self._archive)

    def long_enumeration(self) -> Pauses:
        """The same as ``short_enumeration``, with more patience."""
        self._unfilled = yield from enumerate_and_solve(self.search, self.table, MUCH)
