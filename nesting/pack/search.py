"""The search for one paper's plan: a quick one first, then better plans and bounds by turns."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import count
from random import Random

from nesting.pack.bounds import area_bound, length_values_bound, values_bound, whole_values
from nesting.pack.columns import Column, Pool
from nesting.pack.exhaust import LITTLE, MUCH, Exhaustion, Patience, TooManyError
from nesting.pack.fill import Filled, fill_sheets, fullest
from nesting.pack.limits import State
from nesting.pack.master import Choice, Relaxation, choose_columns, choose_tidy
from nesting.pack.points import cut_points
from nesting.pack.problem import Problem, along_grain
from nesting.pack.rebuild import Rebuild, blank_area
from nesting.pack.surplus import without_surplus
from nesting.pack.values import SheetTable
from nesting.plan import Bound

#: Cells of the dynamic programme's table beyond which it would be too slow to be worth it.
_MOST_CELLS = 4_000_000
#: How often each sheet is filled in the quick plan, and in the later search.
_QUICK_TRIES, _LATER_TRIES = 8, 24
#: Cells beyond which layouts are not listed.
_MOST_LISTED_CELLS = 20_000
#: How many rounds of column generation at most: its bound holds at whatever round it ends.
_MOST_PRICINGS = 400
#: How many blanks at most are laid anew all together.
_MOST_BLANKS = 600
#: With so few of each kind, layouts beyond the demand are of little use: the trees come first.
_FEW = 3
#: How many attempts go without ruin and recreate first: they are cheap, and often enough.
_CHEAP_ATTEMPTS = 2
#: How many turns an attempt of ruin and recreate takes, and its heat and size of ruin by turns.
_REBUILD_TURNS = 200
_TEMPERS = ((1.0, 8), (0.5, 5), (2.0, 12), (0.3, 8))
#: How many nodes HiGHS may look at where the columns are complete and its answer is final.
_EXACT_NODES = 20_000
#: How many columns the choice of a tidy plan may have.
_MOST_TIDIED = 300
#: How many rounds the search for a plan along the grain may take.
_GRAIN_ROUNDS = 40


@dataclass(frozen=True, slots=True)
class Used:
    """A column and how many sheets are cut by it."""

    column: Column
    count: int


class Search:
    """The state of one paper's search; ``improve`` makes it better step by step.

    ``best`` is always a plan that meets the demand and the supplies.
    """

    def __init__(self, problem: Problem, seed: str) -> None:
        self.problem = problem
        self.seed = seed
        self.pool = Pool(problem)
        self.rounds = self.since_gain = 0
        self.bound: Bound = area_bound(problem)
        self._values_bound: Bound | None = None
        self._rng = Random(seed)
        quick = fill_sheets(problem, problem.demand, self._rng, _QUICK_TRIES)
        best = None if quick is None else self._on_cheapest(self._taken(quick))
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
            have = problem.supplies[0].sheet.have
            return have is not None and self.cost > have
        return any(problem.supplies[used.column.supply].bought for used in self.best)

    @property
    def surely_short(self) -> bool:
        """Whether the bound already says so of every plan."""
        problem = self.problem
        if problem.paper.buy:
            return False
        if problem.counts_sheets:
            have = problem.supplies[0].sheet.have
            return have is not None and self.bound.value > have
        at_hand = [supply for supply in problem.supplies if not supply.bought]
        if any(supply.count is None for supply in at_hand):
            return False
        return self.bound.value > sum(s.cost * (s.count or 0) for s in at_hand)

    def improve(self) -> Iterator[None]:
        """Make the plan and the bound better, a step at a time, until they meet."""
        for _ in self._stages():
            self.rounds += 1
            self.since_gain += 1
            yield
            if self.proven:
                return

    def _stages(self) -> Iterator[None]:
        """The stages in order; an endless one comes last."""
        yield
        across, along = cut_points(self.problem)
        if len(across) * len(along) > _MOST_CELLS:
            yield from self._refill_for_ever()
        relaxation, table = Relaxation(self.problem), SheetTable(self.problem)
        by_lengths = length_values_bound(self.problem, table)
        if by_lengths is not None:
            self._offer_bound(by_lengths)
        yield
        if self._few:
            yield from self._rebuild([], 0)
        uses: list[float] = []
        for latest in self._generate(relaxation, table):
            uses = latest
            yield
        self._choose(nodes=200)
        yield
        for _ in range(4):
            self._repack_rest(uses)
            yield
        yield from self._exhaust(table, LITTLE)
        if self._few:
            yield from self._rebuild_for_ever(uses, table)
        for attempt in count(-_CHEAP_ATTEMPTS):
            if attempt >= 0:
                yield from self._rebuild(uses, attempt)
            self._repack_rest(uses)
            yield
            self._price_noisily(relaxation, table)
            found = self._solve(relaxation)
            uses = found[1] if found else uses
            self._choose(nodes=400)
            yield
            if attempt == 0:
                yield from self._exhaust(table, MUCH)

    @property
    def _few(self) -> bool:
        """Whether there are so few of each kind that layouts beyond the demand are of little use."""
        return sum(self.problem.demand) <= _FEW * len(self.problem.kinds)

    def _rebuild_for_ever(self, uses: list[float], table: SheetTable) -> Iterator[None]:
        """Ruin and recreate again and again, and choose among all sheets seen now and then.

        The set covering of sheets seen by a search is what Cui, Yao and Zhang (2018) and others
        end with; attempts grow longer, as the short ones were in vain.
        """
        for attempt in count(1):
            yield from self._rebuild(uses, attempt, turns=_REBUILD_TURNS * (1 + attempt // 2))
            if attempt % 4 == 0:
                self._choose(nodes=50)
                yield
            if attempt == 4:
                yield from self._exhaust(table, MUCH)

    def _generate(self, relaxation: Relaxation, table: SheetTable) -> Iterator[list[float]]:
        """Column generation (Gilmore and Gomory 1965): price a sheet at the duals, add it, repeat."""
        self._add_uniform()
        for _ in range(_MOST_PRICINGS):
            found = self._solve(relaxation)
            if found is None:
                return
            _, uses, duals = found
            latest = values_bound(self.problem, table, duals)
            if self._values_bound is None or latest.value >= self._values_bound.value:
                self._values_bound = latest
            self._offer_bound(latest)
            known = len(self.pool.columns)
            self._add_priced(table)
            yield uses
            if len(self.pool.columns) == known:
                return

    def _solve(self, relaxation: Relaxation) -> tuple[float, list[float], list[float]] | None:
        relaxation.extend(self.pool.columns)
        return relaxation.solve()

    def _add_uniform(self) -> None:
        """First columns: on each size each kind alone, as many as a greedy filling holds."""
        for number, size in enumerate(self.problem.sizes):
            for kind, demand in enumerate(self.problem.demand):
                only = [demand if k == kind else 0 for k in range(len(self.problem.kinds))]
                found = fullest(self.problem, size.supplies[0], only, self._rng, 1)
                if found is not None:
                    self.pool.add_to_size(number, found[1].content)

    def _add_priced(self, table: SheetTable) -> None:
        """The best layout of each size at the values the table was filled with."""
        for number, size in enumerate(self.problem.sizes):
            content = table.content(size.width, size.height)
            if content is not None:
                self.pool.add_to_size(number, content)

    def _price_noisily(self, relaxation: Relaxation, table: SheetTable) -> None:
        """More columns, from duals that are off by up to a tenth."""
        found = self._solve(relaxation)
        if found is None:
            return
        for _ in range(6):
            duals = [dual * self._rng.uniform(0.9, 1.1) for dual in found[2]]
            table.fill(whole_values(self.problem, duals))
            self._add_priced(table)

    def _choose(self, nodes: int) -> None:
        """The integer programme over all columns found so far."""
        chosen = choose_columns(self.problem, self.pool.columns, self.bound.value, nodes=nodes)
        self._offer_choice(self.pool, chosen)

    def _exhaust(self, table: SheetTable, patience: Patience) -> Iterator[None]:
        """List every layout that a plan of ``bound`` sheets could have: it is found, or ruled out."""
        if not self.problem.counts_sheets or self.problem.longest is not None:
            return
        if table.cells.size > _MOST_LISTED_CELLS:
            return
        while not self.proven:
            sheets = self.bound.value
            pool = self._listed(table, sheets, patience)
            yield
            if pool is None:
                return
            chosen = choose_columns(
                self.problem, pool.columns, sheets, most=sheets, nodes=_EXACT_NODES
            )
            if chosen.impossible:
                self._offer_bound(Bound(sheets + 1, "sheets", "search"))
            elif not self._offer_choice(pool, chosen):
                return
            yield

    def _listed(self, table: SheetTable, sheets: int, patience: Patience) -> Pool | None:
        """All layouts that a plan of so many sheets can contain; None where they are too many."""
        if self._values_bound is None:
            return None
        values = [self._values_bound.values[kind.piece] for kind in self.problem.kinds]
        table.fill(values)
        most = table.best(self.problem.sizes[0].width, self.problem.sizes[0].height)
        total = sum(v * kind.demand for v, kind in zip(values, self.problem.kinds, strict=True))
        pool = Pool(self.problem)
        try:
            least = total - (sheets - 1) * most
            for content in Exhaustion(self.problem, table, values, least, patience).contents():
                pool.add(0, content)
        except TooManyError:
            return None
        return pool

    def _repack_rest(self, uses: list[float]) -> None:
        """Round the relaxation down, free a few sheets more, and fill what is left anew."""
        kept, rest = self._rounded_down(uses, self._rng.randint(0, 4))
        filled = fill_sheets(self.problem, rest, self._rng, _LATER_TRIES)
        if filled is not None:
            self._offer((*kept, *self._taken(filled)))

    def _rounded_down(
        self, uses: list[float], free: int
    ) -> tuple[tuple[Used, ...], tuple[int, ...]]:
        """The relaxation's columns in whole numbers, ``free`` sheets fewer, and the demand left."""
        kept: dict[int, int] = {c: int(use + 1e-9) for c, use in enumerate(uses) if use >= 1 - 1e-9}
        for _ in range(min(free, sum(kept.values()))):
            column = self._rng.choice([c for c, n in kept.items() if n])
            kept[column] -= 1
        rest = list(self.problem.demand)
        for column, number in kept.items():
            for kind, n in enumerate(self.pool.columns[column].counts):
                rest[kind] = max(0, rest[kind] - n * number)
        used = tuple(Used(self.pool.columns[c], n) for c, n in kept.items() if n)
        return used, tuple(rest)

    def _rebuild(
        self, uses: list[float], attempt: int, turns: int = _REBUILD_TURNS
    ) -> Iterator[None]:
        """Ruin and recreate with one sheet fewer than the best plan has.

        All sheets where the blanks are few, else those that are left when the relaxation is
        rounded down.
        """
        problem = self.problem
        if not problem.counts_sheets or problem.longest is not None:
            return
        kept: tuple[Used, ...] = ()
        rest = problem.demand
        filled = [Filled(0, used.column.content, used.count) for used in self.best]
        if sum(rest) > _MOST_BLANKS:
            kept, rest = self._rounded_down(uses, 6)
            refilled = fill_sheets(problem, rest, self._rng, _LATER_TRIES)
            if sum(rest) > _MOST_BLANKS or refilled is None:
                return
            filled = refilled
        contents = [one.content for one in without_surplus(filled, rest) for _ in range(one.alike)]
        contents.sort(key=blank_area, reverse=True)
        sheets = self.cost - 1 - sum(used.count for used in kept)
        if sheets < 1 or sheets > len(contents):
            return
        heat, most = _TEMPERS[attempt % len(_TEMPERS)]
        part = replace(
            problem,
            kinds=tuple(
                replace(kind, demand=n) for kind, n in zip(problem.kinds, rest, strict=True)
            ),
        )
        rebuild = Rebuild(part, contents[:sheets], self._rng)
        for turn in range(turns):
            cooled = heat * (1 - turn / turns)
            rebuild.run(cooled, most)
            yield
            if not rebuild.open:
                found = [Filled(0, content, 1) for content in rebuild.contents()]
                self._offer((*kept, *self._taken(found)))
                return
        for content in rebuild.contents():
            self.pool.add(0, content)

    def _refill_for_ever(self) -> Iterator[None]:
        """Without the dynamic programme: fill from scratch with other weights, again and again."""
        while True:
            filled = fill_sheets(self.problem, self.problem.demand, self._rng, _LATER_TRIES)
            if filled is not None:
                self._offer(self._taken(filled))
            yield

    def with_bound_of(self, other: "Search") -> "Search":
        """Itself, with the better bound of two searches for the same demand."""
        self._offer_bound(other.bound)
        return self

    def bettered_by(self, other: "Search") -> "Search":
        """The search with the cheaper plan of two for the same demand, with the better bound."""
        if other.cost < self.cost:
            return other.with_bound_of(self)
        return self.with_bound_of(other)

    def state(self, elapsed: float) -> State:
        """How far it has come, for a limit to look at."""
        return State(elapsed, self.rounds, self.since_gain, self.cost, self.bound.value)

    def tidy(self) -> None:
        """Of plans of equal cost, take one with few folds across the grain and few layouts.

        Looked for among the columns of the search and, where folds run across, of a search that
        lets none do so.
        """
        if len(self.best) == 1 and not self.across_grain:
            return
        wish = along_grain(self.problem) if self.across_grain else None
        if wish is not None:
            other = Search(wish, "grain")
            for _ in other.improve():
                if other.cost <= self.cost or other.rounds >= _GRAIN_ROUNDS:
                    break
            for used in other.best:
                self.pool.add(used.column.supply, used.column.content)
        if len(self.pool.columns) > _MOST_TIDIED:
            return
        chosen = choose_tidy(self.problem, self.pool.columns, self.bound.value, self.cost)
        if chosen.counts is not None:
            plan = tuple(Used(self.pool.columns[c], n) for c, n in chosen.counts.items())
            if self._untidiness(plan) < self._untidiness(self.best):
                self.best = plan

    def _untidiness(self, plan: tuple[Used, ...]) -> tuple[int, int]:
        """Folds across the grain, and layouts once nothing is cut beyond the demand."""
        filled = [Filled(used.column.supply, used.column.content, used.count) for used in plan]
        layouts = {
            (one.supply, one.content) for one in without_surplus(filled, self.problem.demand)
        }
        return sum(used.column.across_grain * used.count for used in plan), len(layouts)

    def _taken(self, filled: list[Filled]) -> tuple[Used, ...]:
        """Filled sheets as columns of the pool."""
        return tuple(
            Used(self.pool.columns[self.pool.add(one.supply, one.content)], one.alike)
            for one in filled
        )

    def _offer_choice(self, pool: Pool, chosen: Choice) -> bool:
        """Take the choice of a pool's columns if it is better; whether there was one at all."""
        if chosen.counts is None:
            return False
        self._offer(tuple(Used(pool.columns[c], n) for c, n in chosen.counts.items()))
        return True

    def _offer(self, plan: tuple[Used, ...]) -> None:
        """Take a plan if the supplies suffice for it and it is cheaper."""
        moved = self._on_cheapest(plan)
        if moved is not None and self._cost_of(moved) < self.cost:
            self.best, self.since_gain = moved, 0

    def _on_cheapest(self, plan: tuple[Used, ...]) -> tuple[Used, ...] | None:
        """The same contents on the cheapest sheets of their size; None where there are too few."""
        supplies = self.problem.supplies
        moved: list[Filled] = []
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
                        moved.append(Filled(supply, used.column.content, alike))
                        left[supply] = None if have is None else have - alike
                        todo -= alike
                if todo:
                    return None
        return self._taken(moved)

    def _offer_bound(self, bound: Bound) -> None:
        if bound.value > self.bound.value:
            self.bound, self.since_gain = bound, 0
