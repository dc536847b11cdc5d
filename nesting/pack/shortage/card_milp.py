"""The integer programme of whole cards, or a relaxation of it: its columns and rows."""

from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import replace
from math import ceil, floor, inf

from nesting.cards.merging import Way
from nesting.pack.lp.programme import Outcome, Programme
from nesting.pack.model.columns import Used
from nesting.pack.shortage.allocation import Allocation, Level
from nesting.pack.shortage.goals import Component, Counts, Goal, Wish, counts_fewest, sets_of
from nesting.pack.shortage.short_papers import Shortage

#: Stands for no limit.
_PLENTY = 10**6


class CardModel:
    """The programme for one goal, with what is made of the goals before it."""

    def __init__(
        self,
        shortage: Shortage,
        goal: Goal,
        made: dict[Wish, int],
        *,
        even: bool = False,
        whole_counts: bool = True,
        whole_sheets: bool = True,
    ) -> None:
        self._shortage, self._goal, self._whole = shortage, goal, whole_counts
        self.programme = Programme()
        self._unit = 1.0 / (1 + sum(w.most for w in goal)) if counts_fewest(goal) else 1.0
        self.wish_columns: dict[Wish, int] = {}
        for wish in shortage.wishes:
            low, high = (0, wish.most) if wish in goal else (made.get(wish, 0),) * 2
            cost = -self._unit if wish in goal else 0.0
            self.wish_columns[wish] = self.programme.column(cost, low, high, whole=whole_counts)
        if even:
            self._favour_even()
        self._fewest = self._add_fewest() if counts_fewest(goal) else None
        self.way_columns: dict[Way, tuple[int, int]] = {}  # in sets, and how many make one
        for component in shortage.components:
            self._add_ways(component, whole=whole_counts)
        self.sheet_columns: dict[str, list[int]] = {}
        self._prices: dict[int, float] = {}  # of sheets that are not free, by their column
        self.kind_rows: dict[str, int] = {}
        for paper in shortage.problems:
            self._add_patterns(paper, whole=whole_sheets)

    def _add_fewest(self) -> int:
        """A column for the fewest made of any wish, which outweighs their sum."""
        fewest = self.programme.column(-1.0)
        for wish in self._goal:
            entries = {self.wish_columns[wish]: 1.0, fewest: -1.0}
            self.programme.row(entries, low=float(-wish.before))
        return fewest

    def reach(self, least: float, most: float) -> None:
        """Limit what is reached of the goal, which is the fewest made or the sum."""
        if self._fewest is not None:
            self.programme.row({self._fewest: 1.0}, least, most)
        else:
            before = sum(wish.before for wish in self._goal)
            entries = {self.wish_columns[wish]: 1.0 for wish in self._goal}
            self.programme.row(entries, least - before, most - before)

    def _favour_even(self) -> None:
        """Let each further set of a wish count a little less, so that ties come out nearly even.

        The k-th of m costs (2k - 1) / m: convex, so that the least sum is even in proportion; ``hold``
        does the rest. All these costs together are less than one set counts.
        """
        share = self._unit * 0.5 / (1 + sum(wish.most for wish in self._goal))
        for wish in self._goal:
            steps = [
                self.programme.column(share * (2 * k - 1) / wish.whole, high=1.0)
                for k in range(wish.before + 1, wish.before + wish.most + 1)
            ]
            entries = dict.fromkeys(steps, 1.0) | {self.wish_columns[wish]: -1.0}
            self.programme.row(entries, low=0.0)

    def hold(self, level: Level) -> None:
        """Limit how many wishes are made below the share of a level, and how many up to it."""
        shares = [(wish, level.share * wish.whole) for wish in self._goal]
        self._at_most(level.below, {wish: ceil(share) for wish, share in shares})
        self._at_most(level.up_to, {wish: floor(share) + 1 for wish, share in shares})

    def _at_most(self, number: int, enough: Mapping[Wish, int]) -> None:
        """Let at most this number of wishes have less than enough made of them."""
        lacking = []
        for wish, count in enough.items():
            further = float(max(0, count - wish.before))
            lacking.append(self.programme.column(high=1.0, whole=True))
            entries = {self.wish_columns[wish]: 1.0, lacking[-1]: further}
            self.programme.row(entries, low=further)
        self.programme.row(dict.fromkeys(lacking, 1.0), high=float(number))

    def _add_ways(self, component: Component, *, whole: bool) -> None:
        """Columns for the ways of a component; a row for the wishes that take it."""
        sets = [self._sets(way, component.each) for way in component.ways]
        columns = [
            self.programme.column(high=0.0 if way in self._shortage.barred else most, whole=whole)
            for way, most in zip(component.ways, sets, strict=True)
        ]
        entries = dict.fromkeys(columns, 1.0)
        for wish, column in self.wish_columns.items():
            if component in wish.components:
                entries[column] = -1.0
        self.programme.row(entries, low=0.0)
        if component.papers:
            papers = sorted(set(component.papers))
            chosen = [self.programme.column(high=1.0, whole=whole) for _ in papers]
            self.programme.row(dict.fromkeys(chosen, 1.0), high=1.0)
            for column, paper, most in zip(columns, component.papers, sets, strict=True):
                self.programme.row({column: 1.0, chosen[paper]: -float(most)}, high=0.0)
        for way, column in zip(component.ways, columns, strict=True):
            self.way_columns[way] = column, component.each

    def _sets(self, way: Way, each: int) -> int:
        """How many sets a way can supply at most."""
        return min(map(self._shortage.count, way)) // each

    def _add_patterns(self, paper: str, *, whole: bool) -> None:
        """Columns for the patterns of a paper; rows for its pieces and its sheets."""
        problem, pool = self._shortage.problems[paper], self._shortage.pools[paper]
        supplies = self._shortage.terms[paper]
        sheets = [
            self.programme.column(high=_or_plenty(supplies[column.supply].most), whole=whole)
            for column in pool.columns
        ]
        self.sheet_columns[paper] = sheets
        for number, kind in enumerate(problem.kinds):
            entries = {
                sheet: float(column.counts[number])
                for sheet, column in zip(sheets, pool.columns, strict=True)
                if column.counts[number]
            }
            for way, (taken, each) in self.way_columns.items():
                if number_taken := sum(piece == kind.piece for piece, _ in way):
                    entries[taken] = -float(number_taken * each)
            bags = self._shortage.bags[kind.piece]
            self.kind_rows[kind.piece] = self.programme.row(entries, low=0.0 - bags)
        for supply, terms in enumerate(supplies):
            sheet = problem.supplies[supply].sheet
            own = [s for s, c in zip(sheets, pool.columns, strict=True) if c.supply == supply]
            entries = dict.fromkeys(own, 1.0)
            if terms.price:
                price = terms.price / self._shortage.least_price  # HiGHS likes small numbers
                more = self.programme.column(price, high=inf if terms.more is None else terms.more)
                self._prices[more] = price
                entries[more] = -1.0
            self.programme.row(entries, high=_or_plenty(terms.free))
            if sheet.windows:
                hosts = self._hosts(
                    {(window.card, window.layer) for window in sheet.windows}, whole=whole
                )
                middle = paper, replace(sheet, have=None)
                there = self._shortage.middles_there.get(middle, 0)
                self.programme.row(dict.fromkeys(own, 1.0) | hosts, high=float(there))

    def _hosts(self, layers: Collection[tuple[str, str]], *, whole: bool) -> dict[int, float]:
        """Entries that allow as many covered middles as hosts are cut anew.

        A host in the bags may be glued already: its middle is there only if ``middles_there`` says so.
        """
        entries: Counter[int] = Counter()
        hosts: dict[Component, dict[int, int]] = {}
        most: Counter[Component] = Counter()
        for wish, column in self.wish_columns.items():
            for component in wish.components:
                if (wish.card, component.name) in layers:
                    hosts.setdefault(component, {})[column] = -component.each
                    most[component] += component.each * wish.most
        for component, made in hosts.items():
            bags = sum(self._shortage.bags.get(piece, 0) for piece, _ in component.uses)
            if not bags:
                entries.update(made)
                continue
            beyond, given = self.programme.column(high=1.0, whole=whole), self.programme.column()
            self.programme.row({given: 1.0, beyond: -float(most[component])}, high=0.0)
            self.programme.row({given: 1.0, beyond: float(bags)} | made, high=0.0)
            entries[given] = -1
        return {column: float(each) for column, each in entries.items()}

    def take_few(self, price: int, sheets: int | None) -> None:
        """Minimise sheets, unless so many may be taken, then joints, then ways taken, within a price."""
        self.programme.row(self._prices, high=price / self._shortage.least_price)
        self.programme.costs = [0.0] * len(self.programme.costs)
        columns = [column for own in self.sheet_columns.values() for column in own]
        if sheets is None:
            for column in columns:
                self.programme.costs[column] = 1.0
        else:
            self.programme.row(dict.fromkeys(columns, 1.0), high=float(sheets))
        several = (own.ways for own in self._shortage.components if len(own.ways) > 1)
        ways = [way for own in several for way in own]
        sets = {way: self._sets(way, self.way_columns[way][1]) for way in ways}
        as_ends = sum(sets[way] for way in ways if len(way) > 1)
        for way in ways:
            column, _ = self.way_columns[way]
            if len(way) > 1:
                self.programme.costs[column] = 0.5 / (1 + as_ends)
            worth = 0.5 / len(ways) / (1 + as_ends)
            taken = self.programme.column(worth, high=1.0, whole=self._whole)
            self.programme.row({column: 1.0, taken: -float(sets[way])}, high=0.0)

    def allocation(self, outcome: Outcome) -> Allocation | None:
        """What an outcome says, in integers, without what is cut beyond what is made."""
        values = outcome.values
        if values is None:
            return None
        made = {wish: round(values[column]) for wish, column in self.wish_columns.items()}
        cut: Counts = {}
        for component in self._shortage.components:
            left = sets_of(component, made)
            for way in component.ways:
                sets = min(left, round(values[self.way_columns[way][0]]))
                cut |= dict.fromkeys(way, sets * component.each)
                left -= sets
        sheets = {
            paper: tuple(
                Used(column, round(values[sheet]))
                for sheet, column in zip(columns, self._shortage.pools[paper].columns, strict=True)
                if round(values[sheet]) > 0
            )
            for paper, columns in self.sheet_columns.items()
        }
        return Allocation(made, cut, sheets)


def _or_plenty(number: int | None) -> int:
    """A number of sheets, or what stands for no limit."""
    return _PLENTY if number is None else number
