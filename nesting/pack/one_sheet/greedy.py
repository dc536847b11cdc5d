"""Greedy filling: sheet after sheet, with random weights, never beyond the demand."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from operator import mul, sub
from random import Random
from typing import NamedTuple

from nesting.pack.model.columns import Used, column_of
from nesting.pack.model.deadline import is_late
from nesting.pack.model.pattern import Leaf, Pattern, beside_one_another
from nesting.pack.model.problem import Problem, Shape, SheetSize, row_axes
from nesting.papers import Axis


def fill_sheets(
    problem: Problem,
    demand: tuple[int, ...],
    rng: Random,
    tries: int,
    without: frozenset[int] = frozenset(),
) -> list[Used] | None:
    """Cut the demand from as few sheets as a greedy search finds, free and cheap ones first.

    No sheet is taken from the supplies ``without``.

    Each sheet is filled ``tries`` times with random weights (the first time without), or once where
    it is late. The fullest filling is kept, and repeated as often as the demand allows. None where
    the sheets that the problem allows do not suffice.
    """
    left = list(demand)
    stock = [0 if s in without else supply.count for s, supply in enumerate(problem.supplies)]
    order = sorted(range(len(stock)), key=lambda s: _worth(problem, s))
    filled: list[Used] = []
    blanks = _blanks(problem, demand)
    while any(left):
        blanks = [blank for blank in blanks if left[blank.kind]]
        best: tuple[float, Used] | None = None
        for supply in order:
            if stock[supply] == 0:
                continue
            found = _fullest(problem, supply, left, blanks, rng, tries)
            if found is not None and (best is None or found[0] > best[0]):
                best = found
            if found is not None and stock[supply] is not None:
                break  # what is at hand, or free, goes first
        if best is None:
            return None
        column, alike = best[1].column, best[1].count
        have = stock[column.supply]
        if have is not None:
            alike = min(alike, have)
            stock[column.supply] = have - alike
        for kind, count in enumerate(column.counts):
            left[kind] -= count * alike
        filled.append(Used(column, alike))
    return filled


def _worth(problem: Problem, supply: int) -> tuple[bool, float]:
    """The order of supplies: limited ones first, then by cost per area."""
    width, height = problem.usable[supply]
    stock = problem.supplies[supply]
    return stock.count is None, stock.cost / (width * height)


def fullest(
    problem: Problem, supply: int, left: list[int], rng: Random, tries: int
) -> tuple[float, Used] | None:
    """Fill one sheet of a supply several times; return the fullest filling and its worth."""
    return _fullest(problem, supply, left, _blanks(problem, left), rng, tries)


def _fullest(
    problem: Problem,
    supply: int,
    left: list[int],
    blanks: "list[_Blank]",
    rng: Random,
    tries: int,
) -> tuple[float, Used] | None:
    size = problem.size_of(supply)
    width, height = problem.usable[supply]
    # Large blanks are hard to place later, so a filling that takes them is worth more.
    worths = [
        kind.area * (1 + 0.1 * (kind.area / (width * height)) ** 0.5) for kind in problem.kinds
    ]
    best: tuple[float, list[int], _Node] | None = None
    for filling, node in _attempts(problem, size, left, blanks, rng, tries):
        used = list(map(sub, left, filling.left))
        worth = sum(map(mul, used, worths))
        if best is None or worth > best[0]:
            best = worth, used, node
        if not any(filling.left):
            break
    if best is None:
        return None
    worth, used, node = best
    alike = min(have // n for have, n in zip(left, used, strict=True) if n)
    return worth, Used(column_of(supply, _pattern(node), len(left)), alike)


def fillings(
    problem: Problem,
    size: SheetSize,
    left: list[int],
    rng: Random,
    tries: int,
    favour: list[float],
) -> Iterator[Pattern]:
    """Fill a sheet of a size several times, the first time without noise in the weights.

    ``favour`` weighs the area of each kind.
    """
    for _, node in _attempts(problem, size, left, _blanks(problem, left), rng, tries, favour):
        yield _pattern(node)


def _attempts(
    problem: Problem,
    size: SheetSize,
    left: list[int],
    blanks: "list[_Blank]",
    rng: Random,
    tries: int,
    favour: list[float] | None = None,
) -> "Iterator[tuple[_Filling, _Node]]":
    """The attempts that placed anything, each with what it placed."""
    if not blanks:
        return
    least = min(blank.width for blank in blanks), min(blank.height for blank in blanks)
    random = rng.random
    for attempt in range(tries):
        if attempt and is_late():
            return
        noise = 0.0 if attempt == 0 else rng.choice((0.1, 0.3, 0.6))
        weights = [(1.0 + noise * (2 * random() - 1)) * f for f in favour or [1.0] * len(left)]
        filling = _Filling(problem, list(left), weights, rng, noise, *least)
        node = filling.fill(size.width, size.height, blanks)
        if node is not None:
            yield filling, node


class _Blank(NamedTuple):
    """A blank as a leaf: its size and area in units, its kind, and how many it holds."""

    leaf: Leaf
    width: int
    height: int
    area: int
    kind: int
    holds: int


def _blanks(problem: Problem, left: Sequence[int]) -> list[_Blank]:
    """All ways to lie of the kinds that are left."""
    return [
        _Blank(Leaf(number, s), s.width, s.height, s.width * s.height, number, s.holds)
        for number, kind in enumerate(problem.kinds)
        if left[number]
        for s in kind.shapes
    ]


#: A row of equal blanks along an axis, and what fills the rest beside and beyond it: a plain tuple,
#: as there are thousands.
_Node = tuple[Axis, Leaf, int, "_Node | None", "_Node | None"]


def _pattern(node: _Node) -> Pattern:
    """What was placed, as a pattern; needed for the fullest filling only."""
    axis, leaf, number, beside, beyond = node
    row: list[Pattern] = [leaf] * number
    if beside is not None:
        row.append(_pattern(beside))
    along = beside_one_another(axis, row)
    if beyond is None:
        return along
    return beside_one_another("y" if axis == "x" else "x", [along, _pattern(beyond)])


@dataclass(slots=True)
class _Filling:
    """One attempt: the demand left, counted down on the way, and the weights of the kinds.

    No blank is narrower than ``least_width`` or lower than ``least_height``.
    """

    problem: Problem
    left: list[int]
    weights: list[float]
    rng: Random
    noise: float
    least_width: int
    least_height: int

    def fill(self, width: int, height: int, blanks: list[_Blank]) -> _Node | None:
        """Fill a rectangle: a row of the best blank along one edge, then the two rests of it.

        ``blanks`` are those that fit a rectangle around it.
        """
        left = self.left
        fitting = [
            blank
            for blank in blanks
            if blank[1] <= width and blank[2] <= height and blank[5] <= left[blank[4]]
        ]
        if self.problem.longest is not None:
            fitting = [b for b in fitting if row_axes(self.problem, b.leaf.shape, width, height)]
        if not fitting:
            return None
        blank = fitting[0] if len(fitting) == 1 else self._best(width, height, fitting)
        leaf, own_width, own_height, _, kind, holds = blank
        axis = self._row_axis(leaf.shape, width, height)
        extent, size = (width, own_width) if axis == "x" else (height, own_height)
        most = min(left[kind] // holds, extent // size)
        if self.noise and most > 1 and self.rng.random() < self.noise / 2:
            most = self.rng.randint(1, most)
        left[kind] -= most * holds
        over = extent - most * size
        # One side of each rest is at least as long as the blank's, so only the other is checked.
        beside = beyond = None
        if axis == "x":
            rest = height - own_height
            if over >= self.least_width:
                beside = self.fill(over, own_height, fitting)
            if rest >= self.least_height:
                beyond = self.fill(width, rest, fitting)
        else:
            rest = width - own_width
            if over >= self.least_height:
                beside = self.fill(own_width, over, fitting)
            if rest >= self.least_width:
                beyond = self.fill(rest, height, fitting)
        return axis, leaf, most, beside, beyond

    def _best(self, width: int, height: int, fitting: list[_Blank]) -> _Blank:
        """The blank with the largest weighted area; an exact fit counts for more."""
        best, most = fitting[0], -1.0
        weights, noise, random = self.weights, self.noise, self.rng.random
        for blank in fitting:
            _, w, h, area, kind, _ = blank
            worth = weights[kind] * area
            if w == width or h == height:
                worth *= 1 + 0.5 * ((w == width) + (h == height))
            worth *= 1 - 0.2 * (width % w) / width * (height % h) / height
            if noise:
                worth *= 1 + noise * (0.6 * random() - 0.3)
            if worth > most:
                best, most = blank, worth
        return best

    def _row_axis(self, shape: Shape, width: int, height: int) -> Axis:
        """The axis of the row: the one that leaves the larger rest in one piece."""
        if self.problem.longest is not None:
            axes = row_axes(self.problem, shape, width, height)
            if len(axes) == 1:
                return axes[0]
        if self.noise and self.rng.random() < self.noise / 2:
            return "x" if self.rng.random() < 0.5 else "y"
        return "x" if width * (height - shape.height) >= height * (width - shape.width) else "y"
