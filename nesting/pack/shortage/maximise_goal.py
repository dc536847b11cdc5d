"""The most that short papers yield of one goal, found and bounded until both meet."""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import partial

from nesting.pack.bounds.dual_bounds import most_held
from nesting.pack.model.columns import Pool
from nesting.pack.model.deadline import TimeIsUpError, is_late, stop_if_late
from nesting.pack.model.otherwise import only_size, with_demand
from nesting.pack.model.problem import sheets_at_hand
from nesting.pack.one_sheet.pattern_enumeration import (
    LITTLE,
    Enumeration,
    TooManyError,
    ValueTarget,
)
from nesting.pack.one_sheet.raster_points import cells_of
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.pack.shortage.allocation import Allocation, Fairness, Level, most_even
from nesting.pack.shortage.card_bounds import (
    card_values,
    cards_by_area,
    cards_by_values,
    most_allowed,
    value_made,
    value_needed,
)
from nesting.pack.shortage.goals import Goal, counts_fewest
from nesting.pack.shortage.short_papers import Shortage
from nesting.pack.shortage.solve_cards import (
    NODES,
    find_target,
    most_of_goal,
    relaxed_values,
    search_for,
)
from nesting.plan import WholeCards

#: The most rounds of column generation, and targets that are searched for.
_PRICINGS, _TARGETS = 200, 6
#: The node limit for HiGHS where all patterns that matter are listed.
_EXACT_NODES = 20_000
#: The most cells of the dynamic programme's table for which patterns are listed.
_MOST_LISTED_CELLS = 20_000


@dataclass(frozen=True, slots=True)
class GoalAnswer:
    """What is made of a goal and of those before it, and its entry in the plan."""

    goal: Goal
    allocation: Allocation
    entry: WholeCards


def reach_goals(shortage: Shortage, goals: list[Goal], seed: int) -> list[GoalAnswer]:
    """Reach one goal after the other, each with what was made before it.

    Where a goal is to be even and some of its designs are complete with the fewest made, the others
    are a goal of their own after it.
    """
    allocation = Allocation({}, {}, dict.fromkeys(shortage.problems, ()))
    known: Allocation | None = None
    todo, answers = list(goals), []
    while todo:
        goal = todo.pop(0)
        made = {wish: n for wish, n in allocation.made.items() if wish not in goal}
        goal = shortage.after(goal, made)
        answer = _reach_goal(shortage, goal, replace(allocation, made=made), seed, known)
        allocation = answer.allocation
        answers.append(answer)
        known = None
        rest = tuple(wish for wish in goal if wish.before + wish.most > answer.entry.made)
        if counts_fewest(goal) and 0 < len(rest) < len(goal):
            todo.insert(0, rest)
            known = allocation
    return answers


def _reach_goal(
    shortage: Shortage, goal: Goal, before: Allocation, seed: int, known: Allocation | None
) -> GoalAnswer:
    """Find the most of a goal, keeping what was made before it, and a bound.

    ``known`` is a choice found already. Where it is late, the best choice of the known patterns.
    """
    search = _GoalSearch(shortage, goal, before, seed, known)
    with suppress(TimeIsUpError):
        search.generate(even=False)
    search.choose()
    with suppress(TimeIsUpError):
        search.generate(even=True)
        search.choose()
        search.try_targets()
        search.list_all()
        search.even_out()
    return GoalAnswer(goal, search.best, replace(search.bound, made=search.reached))


class _GoalSearch:
    """The state of one goal: the best allocation, the bound, and the values that prove it."""

    def __init__(
        self,
        shortage: Shortage,
        goal: Goal,
        before: Allocation,
        seed: int,
        known: Allocation | None,
    ) -> None:
        self.shortage, self.goal, self.made, self.seed = shortage, goal, before.made, seed
        self.bound = cards_by_area(shortage, goal, before.made)
        self.by_values: WholeCards | None = None
        fresh = {
            wish: 0 if any(map(shortage.concerns, wish.components)) else wish.most for wish in goal
        }
        self.best = known or replace(before, made=before.made | fresh)

    @property
    def reached(self) -> int:
        """What the best allocation reaches."""
        return self.best.reached(self.goal)

    @property
    def proven(self) -> bool:
        """Whether no allocation reaches more."""
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
            bound = cards_by_values(self.shortage, self.goal, self.made, values)
            if self.by_values is None or bound.most < self.by_values.most + (not even):
                self.by_values = bound
            if bound.most < self.bound.most:
                self.bound = bound
            if not self.shortage.take_priced(self.shortage.tables):
                return

    def choose(self) -> bool:
        """Take the best choice of the known patterns; whether it is better."""
        found, _ = most_of_goal(self.shortage, self.goal, self.made)
        if found is None or found.score(self.goal) <= self.best.score(self.goal):
            return False
        self.best = found
        return True

    def try_targets(self) -> None:
        """Search for whole sheets that yield what fractional ones promise."""
        most = self.bound.most
        for _ in range(_TARGETS):
            target = find_target(self.shortage, self.goal, self.made, most)
            if target is None or target.score(self.goal) <= self.best.score(self.goal):
                return
            search_for(self.shortage, target, str(self.seed))
            if self.choose():
                most = self.bound.most
            elif target.reached(self.goal) > self.reached + 1:
                most = self.reached + 1
            else:
                return

    def list_all(self) -> None:
        """List every pattern that could reach one more than the best: find such a choice or rule it out.

        Papers with too many patterns are left out, as if there were plenty: what is impossible then is
        impossible, but what is found proves nothing.
        """
        while not self.proven and self.by_values is not None:
            stop_if_late()
            listed = self._listed(self.by_values, self.reached + 1)
            if not listed:
                return
            found, impossible = most_of_goal(
                listed, self.goal, self.made, self.reached + 1, nodes=_EXACT_NODES
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
            if found is None or listed.problems.keys() != self.shortage.problems.keys():
                return
            for paper, pool in listed.pools.items():
                self.shortage.add(paper, pool.columns)
            self.best = found

    def even_out(self) -> None:
        """Make the allocation as even as possible, listing every pattern that may matter if need be."""
        self._take_most_even(self.shortage)
        bound = self.by_values
        if bound is None or self.best.score(self.goal) >= self._evenness_bound(bound):
            return
        listed = self._listed(bound, self.reached)
        if listed is not None:
            self._take_most_even(self.shortage.with_patterns(listed.pools), _EXACT_NODES)
            if listed.pools.keys() == self.shortage.pools.keys():
                return
        for _ in range(_TARGETS):
            target = self._more_even(
                partial(find_target, self.shortage, self.goal, self.made, self.reached)
            )
            if target is None:
                return
            search_for(self.shortage, target, str(self.seed))
            if not self._take_most_even(self.shortage):
                return

    def _take_most_even(self, shortage: Shortage, nodes: int = NODES) -> bool:
        """Take the most even choice of some patterns that reaches as much; whether it is more even."""

        def choose(levels: tuple[Level, ...]) -> Allocation | None:
            return most_of_goal(shortage, self.goal, self.made, self.reached, levels, nodes)[0]

        before = self.best
        while (found := self._more_even(choose)) is not None:
            self.best = found
        for paper, used in self.best.sheets.items():
            self.shortage.add(paper, [one.column for one in used])
        return self.best is not before

    def _more_even(
        self, choose: Callable[[tuple[Level, ...]], Allocation | None]
    ) -> Allocation | None:
        """A choice more even than the best, if there is one (Ogryczak and Sliwinski 2006).

        First with fewer wishes at the smallest share; where there is none, with as many of these and
        fewer at the next share, and so on.
        """
        limits: tuple[Level, ...] = ()
        for level in self.best.levels(self.goal):
            if is_late():
                break
            found = choose((*limits, replace(level, up_to=level.up_to - 1)))
            if found is not None and found.score(self.goal) > self.best.score(self.goal):
                return found
            limits = (*limits, level)
        return None

    def _evenness_bound(self, bound: WholeCards) -> Fairness:
        """The best score where each wish has as much as the values allow of it alone."""
        values = bound.values
        left = self._held_value(bound) - value_made(self.made, values)
        most = {wish: most_allowed((wish,), values, left) for wish in self.goal}
        return most_even(most, self.reached)

    def _held_value(self, bound: WholeCards) -> int:
        """The value that all sheets at hand hold, and the bags, by the values of a bound."""
        held = {(h.paper, h.width, h.height): h.value for h in bound.held}
        total = self.shortage.bagged_value(bound.values, self.shortage.tables)
        for paper in self.shortage.tables:
            problem = self.shortage.problems[paper]
            for supply, have in zip(problem.supplies, sheets_at_hand(problem), strict=True):
                size = paper, supply.sheet.width, supply.sheet.height
                total += held.get(size, 0) * (have or 0)
        return total

    def _listed(self, bound: WholeCards, number: int) -> Shortage | None:
        """The papers whose patterns that may reach this number can all be listed; None: no paper."""
        needed = value_made(self.made, bound.values)
        needed += value_needed(self.goal, bound.values, number)
        spare = self._held_value(bound) - needed
        pools = {}
        for paper in self.shortage.tables:
            pool = self._all_patterns(paper, bound.values, spare)
            if pool is not None:
                pools[paper] = pool
        return self.shortage.only(pools) if pools else None

    def _all_patterns(self, paper: str, by_piece: dict[str, int], spare: int) -> Pool | None:
        """Every pattern of a paper that leaves at most ``spare`` value unused; None: too many."""
        problem = self.shortage.problems[paper]
        values = [by_piece.get(kind.piece, 0) for kind in problem.kinds]
        wanted = [wish for wish, number in self.made.items() if number]
        most = self.shortage.most_demand(paper, (*wanted, *self.goal))
        pool = Pool(problem)
        for size in range(len(problem.sizes)):
            alone = with_demand(only_size(problem, size), most)
            too_many = cells_of(alone) > _MOST_LISTED_CELLS
            if alone.stopped or alone.longest is not None or too_many:
                return None
            table = SheetTable(alone)
            table.fill(values)
            least = ValueTarget(values, most_held(alone, table, 0) - spare)
            try:
                for pattern in Enumeration(alone, table, [least], LITTLE).patterns():
                    pool.add_to_size(size, pattern)
            except TooManyError:
                return None
        return pool
