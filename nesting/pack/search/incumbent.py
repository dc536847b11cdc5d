"""The search for one paper's plan: its state, and how it accepts what the stages find."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from random import Random

from nesting.pack.bounds.dual_bounds import area_bound
from nesting.pack.lp.master import choose_few
from nesting.pack.model.columns import Column, Pool, Used, surplus
from nesting.pack.model.limits import State
from nesting.pack.model.otherwise import without_groups
from nesting.pack.model.problem import Problem, sheets_at_hand
from nesting.pack.one_sheet.constrained_pricing import Guide
from nesting.pack.one_sheet.greedy import fill_sheets
from nesting.pack.one_sheet.raster_points import may_verify
from nesting.plan import Bound

#: How often each sheet is filled in the quick plan.
_QUICK_TRIES = 8


class Search:
    """The state of one paper's search; ``schedule.improve`` improves it step by step.

    ``best`` is always a plan that meets the demand and the supplies: at first a quick one, or
    ``known`` where that is given.
    """

    def __init__(self, problem: Problem, seed: str, known: tuple[Used, ...] | None = None) -> None:
        self.problem = problem
        self.seed = seed
        self.pool = Pool(problem)
        self.rounds = self.since_gain = 0
        self.bound: Bound = area_bound(problem)
        self.values_bound: Bound | None = None
        self.guides: list[Guide] = []
        self.rng = Random(seed)
        quick = known or fill_sheets(
            without_groups(problem), problem.demand, self.rng, _QUICK_TRIES
        )
        best = None if quick is None else self.on_cheapest(self.taken(quick))
        if best is None:
            raise ValueError(f"no plan for {problem.paper.name}: sheets to buy are without limit")
        self.best = best

    @property
    def cost(self) -> int:
        """The cost of the best plan."""
        return self._cost_of(self.best)

    def _cost_of(self, plan: tuple[Used, ...]) -> int:
        return sum(self.problem.supplies[u.column.supply].cost * u.count for u in plan)

    @property
    def across_grain(self) -> int:
        """How many blanks of the best plan have their fold across the grain."""
        return sum(used.column.across_grain * used.count for used in self.best)

    @property
    def proven(self) -> bool:
        """Whether the bound reaches the cost."""
        return self.bound.value >= self.cost

    @property
    def whole_sheets(self) -> int:
        """How many whole sheets the best plan takes."""
        return sum(
            used.count
            for used in self.best
            if not self.problem.supplies[used.column.supply].sheet.offcut
        )

    @property
    def short(self) -> bool:
        """Whether the best plan takes sheets that can neither be found nor bought."""
        problem = self.problem
        if problem.paper.buy:
            return False
        if problem.counts_sheets:
            (have,) = sheets_at_hand(problem)
            return have is not None and self.cost > have
        return any(problem.supplies[used.column.supply].bought for used in self.best)

    @property
    def surely_short(self) -> bool:
        """Whether the bound proves that of every plan."""
        haves = sheets_at_hand(self.problem)
        if self.problem.paper.buy or None in haves:
            return False
        costs = (supply.cost for supply in self.problem.supplies)
        return self.bound.value > sum(c * (n or 0) for c, n in zip(costs, haves, strict=True))

    def count_step(self) -> None:
        """Count a step, for limits."""
        self.rounds += 1
        self.since_gain += 1

    def with_bound_of(self, other: "Search") -> "Search":
        """Take the better bound of two searches for the same demand; returns itself."""
        self.offer_bound(other.bound)
        return self

    def bettered_by(self, other: "Search") -> "Search":
        """The one of two searches for the same demand with the cheaper plan, with the better bound."""
        if other.cost < self.cost:
            return other.with_bound_of(self)
        return self.with_bound_of(other)

    def state(self, elapsed: float) -> State:
        """How far it has come, for limits."""
        return State(
            elapsed, self.rounds, self.since_gain, self.cost, self.bound.value, self.whole_sheets
        )

    def taken(self, plan: Iterable[Used]) -> tuple[Used, ...]:
        """The same plan with its columns added to the pool."""
        take, columns = self.pool.take, self.pool.columns
        return tuple(Used(columns[take(used.column)], used.count) for used in plan)

    def offer(self, plan: tuple[Used, ...], *, or_equal: bool = False) -> None:
        """Accept a plan if it is cheaper, or just as cheap, and the supplies suffice."""
        moved = self.on_cheapest(plan)
        if moved is not None and self._cost_of(moved) < self.cost + or_equal:
            self.best, self.since_gain = moved, 0

    def replace_equal(self, plan: tuple[Used, ...]) -> None:
        """Accept another plan of the same cost if the supplies suffice."""
        self.best = self.on_cheapest(plan) or self.best

    def take_few(self, unwanted: Callable[[Column], int]) -> None:
        """Take a plan of the same cost with less of what is unwanted in its columns, if there is one."""
        columns = self.pool.columns
        each = list(map(unwanted, columns))
        chosen = choose_few(self.problem, columns, each, self.bound.value, self.cost)
        plan = None if chosen.plan is None else self.on_cheapest(chosen.plan)
        if plan is not None and _total(unwanted, plan) < _total(unwanted, self.best):
            self.replace_equal(plan)

    def on_cheapest(self, plan: tuple[Used, ...]) -> tuple[Used, ...] | None:
        """The same patterns on the cheapest sheets of their size; None where there are too few."""
        supplies = self.problem.supplies
        moved: list[Used] = []
        for size in self.problem.sizes:
            left = {
                s: supplies[s].count for s in sorted(size.supplies, key=lambda s: supplies[s].cost)
            }
            for used in plan:
                if used.column.supply not in left:
                    continue
                todo = used.count
                for supply, have in left.items():
                    alike = todo if have is None else min(todo, have)
                    if alike:
                        moved.append(Used(replace(used.column, supply=supply), alike))
                        left[supply] = None if have is None else have - alike
                        todo -= alike
                if todo:
                    return None
        return self._without_idle(self.taken(moved))

    def _without_idle(self, plan: tuple[Used, ...]) -> tuple[Used, ...]:
        """Drop the sheets that the demand does not need, the most expensive first."""
        left = surplus(plan, self.problem.demand)
        needed: list[Used] = []
        for used in sorted(plan, key=lambda u: -self.problem.supplies[u.column.supply].cost):
            counts = used.column.counts
            idle = min(more // n for more, n in zip(left, counts, strict=True) if n)
            idle = min(idle, used.count)
            left = [more - n * idle for more, n in zip(left, counts, strict=True)]
            if idle < used.count:
                needed.append(Used(used.column, used.count - idle))
        return tuple(needed)

    def offer_bound(self, bound: Bound) -> None:
        """Accept a bound if it is larger, and can be verified."""
        if bound.value > self.bound.value and (bound.cuts != "stopped" or may_verify(self.problem)):
            self.bound, self.since_gain = bound, 0

    def note_values(self, bound: Bound) -> None:
        """Accept a bound by values if it is larger, and keep the values of the latest of the best."""
        if self.values_bound is None or bound.value >= self.values_bound.value:
            self.values_bound = bound
        self.offer_bound(bound)


def _total(unwanted: Callable[[Column], int], plan: Iterable[Used]) -> int:
    return sum(unwanted(used.column) * used.count for used in plan)
