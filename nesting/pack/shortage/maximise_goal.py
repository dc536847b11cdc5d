"""The most that short papers yield of one goal, found and bounded until both meet."""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import partial

from nesting.pack.model.columns import Pool
from nesting.pack.model.deadline import TimeIsUpError, is_late, stop_if_late
from nesting.pack.model.problem import only_size, sheets_at_hand, with_demand
from nesting.pack.one_sheet.pattern_enumeration import (
    LITTLE,
    Enumeration,
    TooManyError,
    ValueTarget,
)
from nesting.pack.one_sheet.raster_points import cut_points
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.pack.shortage.allocation import Allocation, Fairness, Level, most_even
from nesting.pack.shortage.card_bounds import (
    card_values,
    cards_by_area,
    cards_by_values,
    least_worth,
    most_held,
    most_worth,
    worth_made,
)
from nesting.pack.shortage.goals import Goal, able, counts_fewest
from nesting.pack.shortage.short_papers import Shortage
from nesting.pack.shortage.solve_cards import (
    aim_at,
    choose_sheets,
    relaxed_values,
    search_for,
    solve_goal,
)
from nesting.plan import WholeCards

#: The most rounds of column generation, and of searches for a target.
_PRICINGS, _AIMS = 200, 6
#: The node limits for HiGHS, and for its last answer.
_NODES, _EXACT_NODES = 200, 20_000
#: The most cells of the dynamic programme's table for which patterns are listed.
_MOST_LISTED_CELLS = 20_000


@dataclass(frozen=True, slots=True)
class GoalAnswer:
    """What is made of a goal, after the goals before it, and its entry in the plan."""

    allocation: Allocation
    entry: WholeCards


def reach_goals(
    shortage: Shortage, goals: list[Goal], seed: int
) -> tuple[list[Goal], list[GoalAnswer]]:
    """Reach one goal after the other, each with what was made before it.

    Where a goal is to be even, designs that have no more than the fewest because there are no more to
    make leave the others behind: these are a goal of their own after it.

    Returns
    -------
    tuple
        The goals as they came to be, and for each the answer.
    """
    allocation = Allocation({}, {}, dict.fromkeys(shortage.problems, ()))
    known: Allocation | None = None
    todo, reached, answers = list(goals), [], []
    while todo:
        goal = todo.pop(0)
        made = {wish: n for wish, n in allocation.made.items() if wish not in goal}
        goal = shortage.after(able(goal, made), made)
        answer = _reach_goal(shortage, goal, replace(allocation, made=made), seed, known)
        allocation = answer.allocation
        reached.append(goal)
        answers.append(answer)
        known = None
        rest = tuple(wish for wish in goal if wish.before + wish.most > answer.entry.made)
        if counts_fewest(goal) and 0 < len(rest) < len(goal):
            todo.insert(0, rest)
            known = allocation
    return reached, answers


def _reach_goal(
    shortage: Shortage, goal: Goal, before: Allocation, seed: int, known: Allocation | None
) -> GoalAnswer:
    """Find the most of a goal, keeping what was made before it, and a bound.

    ``known`` is what was found of it already. Where it is late, the best choice of the known patterns.
    """
    search = _GoalSearch(shortage, goal, before, seed, known)
    with suppress(TimeIsUpError):
        search.generate(even=False)
    search.choose()
    with suppress(TimeIsUpError):
        search.generate(even=True)
        search.choose()
        search.aim()
        search.exhaust()
        search.even_out()
    return GoalAnswer(search.best, replace(search.bound, made=search.reached))


class _GoalSearch:
    """The state of one goal: the best allocation, the bound, and the values that prove it."""

    def __init__(
        self,
        shortage: Shortage,
        goal: Goal,
        before: Allocation,
        seed: int,
        known: Allocation | None = None,
    ) -> None:
        self.shortage, self.goal, self.made, self.seed = shortage, goal, before.made, seed
        self.bound = cards_by_area(shortage, goal, before.made)
        self.by_values: WholeCards | None = None
        fresh = {wish: 0 if shortage.felt(wish) else wish.most for wish in goal}
        self.best = known or replace(before, made=before.made | fresh)
        self.tables = shortage.tables

    @property
    def reached(self) -> int:
        """What is reached: how many are made, or how many of each."""
        return self.best.reached(self.goal)

    @property
    def proven(self) -> bool:
        """Whether it is proven that no more can be made."""
        return self.reached >= self.bound.most

    def generate(self, *, even: bool) -> None:
        """Column generation (Gilmore and Gomory 1965), with a bound at the values of each round.

        ``even`` generates patterns that make the designs evenly; without it the bounds are
        stronger.
        """
        for _ in range(_PRICINGS):
            stop_if_late()
            duals = relaxed_values(self.shortage, self.goal, self.made, even=even)
            if duals is None:
                return
            values = card_values(duals)
            bound = cards_by_values(self.shortage, self.tables, self.goal, self.made, values)
            if self.by_values is None or bound.most < self.by_values.most + (not even):
                self.by_values = bound
            if bound.most < self.bound.most:
                self.bound = bound
            if not self.shortage.take_priced(self.tables):
                return

    def choose(self) -> bool:
        """Take the best choice of the known patterns; whether it is better."""
        found = choose_sheets(self.shortage, self.goal, self.made, _NODES)
        if found is None or found.score(self.goal) <= self.best.score(self.goal):
            return False
        self.best = found
        return True

    def aim(self) -> None:
        """Search for whole sheets that yield what the fractional relaxation promises."""
        most = self.bound.most
        for _ in range(_AIMS):
            mark = aim_at(self.shortage, self.goal, self.made, _NODES, most)
            if mark is None or mark.score(self.goal) <= self.best.score(self.goal):
                return
            search_for(self.shortage, mark, str(self.seed))
            if self.choose():
                most = self.bound.most
            elif mark.reached(self.goal) > self.reached + 1:
                most = self.reached + 1
            else:
                return

    def exhaust(self) -> None:
        """List every pattern that could reach one more than the best: find such a choice or rule it out.

        A paper with too many patterns is left out. If there is no choice even so, there is none; if
        there is one, it proves nothing.
        """
        while not self.proven and self.by_values is not None:
            stop_if_late()
            listed = self._listed(self.by_values, self.reached + 1)
            if not listed:
                return
            found, impossible = solve_goal(
                listed, self.goal, self.made, _EXACT_NODES, least=self.reached + 1
            )
            if impossible:
                self.bound = replace(
                    self.bound,
                    most=self.reached,
                    by="search",
                    held=(),
                    values={},
                    cuts="edge-to-edge",
                )
            if found is None or not self._take(listed, found):
                return

    def even_out(self) -> None:
        """Make the allocation as even as possible, listing every pattern that may matter if need be."""
        self._level(self.shortage, _NODES)
        bound = self.by_values
        if bound is None or self.best.score(self.goal) >= self._most_even(bound):
            return
        listed = self._listed(bound, self.reached)
        if listed is not None:
            self._level(self.shortage.with_layouts(listed.pools), _EXACT_NODES)
            if listed.pools.keys() == self.shortage.pools.keys():
                return
        for _ in range(_AIMS):
            mark = self._more_even(partial(self._aim_at, self.reached))
            if mark is None:
                return
            search_for(self.shortage, mark, str(self.seed))
            if not self._level(self.shortage, _NODES):
                return

    def _level(self, shortage: Shortage, nodes: int) -> bool:
        """Take the most even choice of some patterns that reaches as much; whether it is more even."""
        choose = partial(choose_sheets, shortage, self.goal, self.made, nodes, self.reached)
        before = self.best
        while (found := self._more_even(choose)) is not None:
            self.best = found
        for paper, used in self.best.sheets.items():
            self.shortage.add(paper, [one.column for one in used])
        return self.best is not before

    def _more_even(
        self, choose: Callable[[tuple[Level, ...]], Allocation | None]
    ) -> Allocation | None:
        """A choice more even than the best, if there is one: lexicographic maximin.

        First fewer wishes at the smallest share are asked for; where that is impossible, as many of
        these, none below it, and fewer at the next share, and so on (Ogryczak and Sliwinski 2006).
        """
        settled: tuple[Level, ...] = ()
        for level in self.best.levels(self.goal):
            if is_late():
                break
            found = choose((*settled, replace(level, up_to=level.up_to - 1)))
            if found is not None and found.score(self.goal) > self.best.score(self.goal):
                return found
            settled = (*settled, level)
        return None

    def _aim_at(self, total: int, levels: tuple[Level, ...]) -> Allocation | None:
        return aim_at(self.shortage, self.goal, self.made, _NODES, total, levels)

    def _most_even(self, bound: WholeCards) -> Fairness:
        """A bound on evenness: for each wish, no more than the values allow of it alone."""
        values = bound.values
        left = self._held_value(bound) - worth_made(self.made, values)
        most = {wish: most_worth((wish,), values, left) for wish in self.goal}
        return most_even(most, self.reached)

    def _take(self, listed: Shortage, found: Allocation) -> bool:
        """Take an allocation from listed patterns if they cover all papers; whether they do."""
        if listed.problems.keys() != self.shortage.problems.keys():
            return False
        for paper, pool in listed.pools.items():
            self.shortage.add(paper, pool.columns)
        self.best = found
        return True

    def _held_value(self, bound: WholeCards) -> int:
        """The value that all sheets at hand hold, and the bags, by the values of a bound."""
        held = {(h.paper, h.width, h.height): h.value for h in bound.held}
        total = self.shortage.bagged_value(bound.values, self.tables)
        for paper in self.tables:
            problem = self.shortage.problems[paper]
            for supply, have in zip(problem.supplies, sheets_at_hand(problem), strict=True):
                size = paper, supply.sheet.width, supply.sheet.height
                total += held.get(size, 0) * (have or 0)
        return total

    def _listed(self, bound: WholeCards, target: int) -> Shortage | None:
        """The papers whose patterns for ``target`` can all be listed, with these; None: no paper."""
        needed = worth_made(self.made, bound.values) + least_worth(self.goal, bound.values, target)
        spare = self._held_value(bound) - needed
        pools = {}
        for paper in self.tables:
            pool = self._all_layouts(paper, bound.values, spare)
            if pool is not None:
                pools[paper] = pool
        return self.shortage.only(pools) if pools else None

    def _all_layouts(self, paper: str, worth: dict[str, int], spare: int) -> Pool | None:
        """Every pattern of a paper that leaves no more than ``spare`` value unused; None: too many."""
        problem = self.shortage.problems[paper]
        values = [worth.get(kind.piece, 0) for kind in problem.kinds]
        wanted = [wish for wish, number in self.made.items() if number]
        most = self.shortage.most_demand(paper, (*wanted, *self.goal))
        pool = Pool(problem)
        for size in range(len(problem.sizes)):
            alone = with_demand(only_size(problem, size), most)
            across, along = cut_points(alone)
            if (
                alone.stopped
                or alone.longest is not None
                or len(across) * len(along) > _MOST_LISTED_CELLS
            ):
                return None
            table = SheetTable(alone)
            table.fill(values)
            aim = ValueTarget(values, most_held(alone, table, 0) - spare)
            try:
                for pattern in Enumeration(alone, table, [aim], LITTLE).patterns():
                    pool.add_to_size(size, pattern)
            except TooManyError:
                return None
        return pool
