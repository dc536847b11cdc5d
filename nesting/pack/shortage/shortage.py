"""One integer programme over all papers that are short: how many of what is wanted they give."""

from collections.abc import Iterable, Mapping
from contextlib import suppress
from copy import copy
from functools import cached_property
from math import prod

from nesting.batch import Piece
from nesting.pack.model.columns import Column, Pool
from nesting.pack.model.deadline import TimeIsUpError
from nesting.pack.model.problem import Problem, at_hand, with_demand
from nesting.pack.one_sheet.raster_points import cut_points
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.pack.search.incumbent import Search
from nesting.pack.search.schedule import improve
from nesting.pack.shortage.allocation import Given, Level
from nesting.pack.shortage.card_milp import CardModel
from nesting.pack.shortage.goals import Counts, Key, Part, Stage, Wish

#: How many rounds a search may take to fit what is aimed at on the sheets at hand.
_ROUNDS = 40
#: Cells beyond which the dynamic programme would be too slow.
_MOST_CELLS = 4_000_000


class Shortage:
    """Papers that are short, what is wanted of them, and layouts of their sheets at hand.

    ``prices`` has the price of a sheet to buy of each supply, for papers that can be bought all
    the same; 0 where there is none to buy. Uses that are ``barred`` give nothing.
    """

    def __init__(
        self,
        problems: Mapping[str, Problem],
        pieces: Iterable[Piece],
        stages: list[Stage],
        prices: Mapping[str, tuple[int, ...]] | None = None,
    ) -> None:
        self.problems = dict(problems)
        self.prices = prices or {}
        self.barred: set[Key] = set()
        self.pools = {name: Pool(problem) for name, problem in problems.items()}
        self.kinds: dict[str, tuple[str, int]] = {}
        for name, problem in problems.items():
            for number, kind in enumerate(problem.kinds):
                self.kinds[kind.piece] = name, number
        self.wishes = [wish for stage in stages for wish in stage]
        self.parts = list(
            dict.fromkeys(part for wish in self.wishes for part in wish.parts if self._felt(part))
        )
        self._counts: Counts = {
            (piece.id, n): use.count for piece in pieces for n, use in enumerate(piece.uses)
        }

    def _felt(self, part: Part) -> bool:
        """Whether a part takes any paper that is short."""
        return any(piece in self.kinds for piece, _ in part.uses)

    def felt(self, wish: Wish) -> bool:
        """Whether a wish takes any paper that is short."""
        return any(self._felt(part) for part in wish.parts)

    def price(self, paper: str, supply: int) -> int:
        """The price of a sheet to buy of a supply; 0 where there is none to buy."""
        return self.prices[paper][supply] if paper in self.prices else 0

    @property
    def least_price(self) -> int:
        """The least price of any sheet to buy."""
        return min((price for own in self.prices.values() for price in own if price), default=1)

    def price_of(self, given: Given) -> int:
        """What the sheets to buy cost."""
        total = 0
        for paper, used in given.sheets.items():
            for supply, have in enumerate(at_hand(self.problems[paper])):
                taken = sum(u.count for u in used if u.column.supply == supply)
                if have is not None:
                    total += max(0, taken - have) * self.price(paper, supply)
        return total

    def add(self, paper: str, columns: Iterable[Column]) -> None:
        """Take in layouts of a paper, for every supply that has sheets of their size."""
        for column in columns:
            for number, size in enumerate(self.problems[paper].sizes):
                if column.supply in size.supplies:
                    self.pools[paper].add_to_size(number, column.pattern)

    @cached_property
    def tables(self) -> dict[str, SheetTable]:
        """The dynamic programmes of the papers, without those that would be too slow.

        And without those that it was too late for.
        """
        found = {}
        with suppress(TimeIsUpError):
            for name, problem in self.problems.items():
                if prod(map(len, cut_points(problem))) <= _MOST_CELLS:
                    found[name] = SheetTable(problem)
        return found

    def take_priced(self, tables: Mapping[str, SheetTable]) -> bool:
        """Take in the layout of most value of each size of sheet; whether one of them is new."""
        before = sum(len(pool.columns) for pool in self.pools.values())
        for paper, table in tables.items():
            for number, size in enumerate(self.problems[paper].sizes):
                pattern = table.pattern(size.width, size.height)
                if pattern is not None:
                    self.pools[paper].add_to_size(number, pattern)
        return sum(len(pool.columns) for pool in self.pools.values()) > before

    def demand(self, cut: Counts) -> dict[str, dict[str, int]]:
        """By paper that is short, how many of each piece are to be cut."""
        wanted: dict[str, dict[str, int]] = {name: {} for name in self.problems}
        for (piece, _), count in cut.items():
            if piece in self.kinds:
                own = wanted[self.kinds[piece][0]]
                own[piece] = own.get(piece, 0) + count
        return wanted

    def most_demand(self, paper: str, wishes: Iterable[Wish]) -> dict[str, int]:
        """How many of each piece of a paper some wishes can take at most."""
        keys = {key for wish in wishes for part in wish.parts for key in part.uses}
        most: dict[str, int] = {}
        for piece, number in sorted(keys):
            if self.kinds.get(piece, ("",))[0] == paper:
                most[piece] = most.get(piece, 0) + self._counts[piece, number]
        return most

    def only(self, pools: dict[str, Pool]) -> "Shortage":
        """The shortage as far as it is one of these papers, with these layouts alone."""
        part = copy(self)
        part.problems = {name: self.problems[name] for name in pools}
        part.pools = pools
        part.kinds = {piece: at for piece, at in self.kinds.items() if at[0] in pools}
        part.parts = [one for one in self.parts if part._felt(one)]
        return part

    def with_layouts(self, pools: Mapping[str, Pool]) -> "Shortage":
        """The shortage with these layouts for some of its papers."""
        other = copy(self)
        other.pools = {**self.pools, **pools}
        return other

    def relaxed(
        self, stage: Stage, made: dict[Wish, int], *, even: bool
    ) -> dict[str, float] | None:
        """The values of the pieces where sheets can be cut in parts; None: HiGHS has no optimum."""
        model = CardModel(self, stage, made, even=even, whole_counts=False, whole_sheets=False)
        outcome = model.programme.solve()
        if not outcome.optimal:
            return None
        rows = model.kind_rows
        return {piece: max(0.0, outcome.duals[row]) for piece, row in rows.items()}

    def aim(
        self,
        stage: Stage,
        made: dict[Wish, int],
        nodes: int,
        most: int,
        levels: Iterable[Level] = (),
    ) -> Given | None:
        """Whole numbers of what is wanted, ``most`` in all, that sheets cut in parts would give."""
        model = CardModel(self, stage, made, even=True, whole_counts=True, whole_sheets=False)
        model.programme.row({model.wish_columns[wish]: 1.0 for wish in stage}, high=float(most))
        for level in levels:
            model.hold(stage, level)
        return model.given(model.programme.solve(nodes))

    def choose(
        self,
        stage: Stage,
        made: dict[Wish, int],
        nodes: int,
        least: int = 0,
        levels: Iterable[Level] = (),
    ) -> Given | None:
        """The most of a stage that whole sheets give, nearly even; None: nothing was found."""
        return self.outcome(stage, made, nodes, least, levels)[0]

    def outcome(
        self,
        stage: Stage,
        made: dict[Wish, int],
        nodes: int,
        least: int = 0,
        levels: Iterable[Level] = (),
    ) -> tuple[Given | None, bool]:
        """The most of a stage, at least ``least``; whether there are not so many for certain."""
        model = CardModel(self, stage, made, even=True, whole_counts=True, whole_sheets=True)
        model.programme.row({model.wish_columns[wish]: 1.0 for wish in stage}, float(least))
        for level in levels:
            model.hold(stage, level)
        outcome = model.programme.solve(nodes)
        given = model.given(outcome)
        return (given if given is not None and self._holds(given) else None), outcome.impossible

    def _holds(self, given: Given) -> bool:
        """Whether it holds in whole numbers; HiGHS works in floats."""
        for part in self.parts:
            taken = sum(n for wish, n in given.made.items() if part in wish.parts) * part.each
            if sum(given.cut.get(key, 0) for key in part.uses) < taken:
                return False
        for paper, wanted in self.demand(given.cut).items():
            problem, used = self.problems[paper], given.sheets[paper]
            for number, kind in enumerate(problem.kinds):
                if sum(u.column.counts[number] * u.count for u in used) < wanted.get(kind.piece, 0):
                    return False
            for supply, have in enumerate(at_hand(problem)):
                taken = sum(u.count for u in used if u.column.supply == supply)
                if have is not None and taken > have and not self.price(paper, supply):
                    return False
        return all(0 <= n <= self._counts[key] for key, n in given.cut.items())

    def cheapest(
        self, made: dict[Wish, int], nodes: int, *, whole_sheets: bool = True
    ) -> Given | None:
        """What is made, from sheets of which those to buy cost least; None: not found."""
        model = CardModel(self, (), made, even=False, whole_counts=True, whole_sheets=whole_sheets)
        given = model.given(model.programme.solve(nodes))
        if given is None or (whole_sheets and not self._holds(given)):
            return None
        return given

    def fewest(self, made: dict[Wish, int], nodes: int, price: int) -> Given | None:
        """What is made, from few sheets of which those to buy cost no more; None: not found."""
        model = CardModel(self, (), made, even=False, whole_counts=True, whole_sheets=True)
        model.take_few(price)
        given = model.given(model.programme.solve(nodes))
        if given is None or not self._holds(given) or self.price_of(given) > price:
            return None
        return given

    def search_for(self, mark: Given, seed: str) -> None:
        """Take in the layouts of a search for each paper's part of a mark."""
        for paper, demand in self.demand(mark.cut).items():
            problem = with_demand(self.problems[paper], demand)
            if not any(demand.values()):
                continue
            search = Search(problem, f"{seed}/{paper}/{sorted(demand.items())}")
            for _ in improve(search):
                if self._settles(search) or search.rounds > _ROUNDS:
                    break
            self.add(paper, search.pool.columns)

    def _settles(self, search: Search) -> bool:
        """Whether a search has shown what it is for: that the sheets at hand suffice, or do not."""
        return not self.prices and (not search.short or search.surely_short)

    def count(self, key: Key) -> int:
        """How many of a use are asked for."""
        return self._counts[key]
