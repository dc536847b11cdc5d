"""A seeded constructive search: fill sheet after sheet without cutting more than is needed."""

from collections.abc import Iterator
from dataclasses import dataclass
from random import Random
from typing import NamedTuple

from nesting.batch import Axis
from nesting.pack.content import Content, Leaf, counts, group
from nesting.pack.problem import Problem, Shape, Size, row_axes


@dataclass(frozen=True, slots=True)
class Filled:
    """One sheet's content from one supply, and how many are cut alike."""

    supply: int
    content: Content
    alike: int


def fill_sheets(
    problem: Problem, demand: tuple[int, ...], rng: Random, tries: int
) -> list[Filled] | None:
    """Cut the demand from as few sheets as a greedy search finds, free and cheap ones first.

    Each sheet is filled ``tries`` times with weights drawn by ``rng`` (the first time with none),
    and the fullest filling is kept and repeated as often as the demand has it. None where the
    sheets that the problem allows do not suffice.
    """
    left = list(demand)
    stock = [supply.count for supply in problem.supplies]
    order = sorted(range(len(stock)), key=lambda s: _worth(problem, s))
    filled: list[Filled] = []
    while any(left):
        best: tuple[float, Filled] | None = None
        for supply in order:
            if stock[supply] == 0:
                continue
            found = fullest(problem, supply, left, rng, tries)
            if found is not None and (best is None or found[0] > best[0]):
                best = found
            if found is not None and stock[supply] is not None:
                break  # what is at hand, or free, goes first
        if best is None:
            return None
        one = best[1]
        have = stock[one.supply]
        alike = one.alike if have is None else min(one.alike, have)
        if have is not None:
            stock[one.supply] = have - alike
        for kind, count in enumerate(counts(one.content, len(left))):
            left[kind] -= count * alike
        filled.append(Filled(one.supply, one.content, alike))
    return filled


def _worth(problem: Problem, supply: int) -> tuple[bool, float]:
    """Order of supplies: what is there in limited number first, then the least cost for its area."""
    width, height = problem.usable[supply]
    stock = problem.supplies[supply]
    return stock.count is None, stock.cost / (width * height)


def fullest(
    problem: Problem, supply: int, left: list[int], rng: Random, tries: int
) -> tuple[float, Filled] | None:
    """Fill one sheet of a supply some times over: how much the fullest filling is worth, and it."""
    size = next(size for size in problem.sizes if supply in size.supplies)
    width, height = problem.usable[supply]
    # Large blanks are the hard ones to place later: a filling that takes them is worth more.
    worths = [
        kind.area * (1 + 0.1 * (kind.area / (width * height)) ** 0.5) for kind in problem.kinds
    ]
    best: tuple[float, Filled] | None = None
    for content in fillings(problem, size, left, rng, tries):
        used = counts(content, len(left))
        worth = sum(n * w for n, w in zip(used, worths, strict=True))
        if best is None or worth > best[0]:
            alike = min(have // n for have, n in zip(left, used, strict=True) if n)
            best = worth, Filled(supply, content, alike)
        if used == tuple(left):
            break
    return best


def fillings(
    problem: Problem,
    size: Size,
    left: list[int],
    rng: Random,
    tries: int,
    favour: list[float] | None = None,
) -> Iterator[Content]:
    """Fill a sheet of a size some times over, at first with no noise in the weights.

    ``favour`` says how much the area of each kind counts; all the same by default.
    """
    blanks = [
        _Blank(Leaf(number, s), s.width, s.height, s.width * s.height, number, s.holds)
        for number, kind in enumerate(problem.kinds)
        if left[number]
        for s in kind.shapes
    ]
    for attempt in range(tries):
        noise = 0.0 if attempt == 0 else rng.choice((0.1, 0.3, 0.6))
        weights = [(1.0 + noise * rng.uniform(-1, 1)) * f for f in favour or [1.0] * len(left)]
        filling = _Filling(problem, list(left), weights, rng, noise)
        content = filling.fill(size.width, size.height, blanks)
        if content is not None:
            yield content


class _Blank(NamedTuple):
    """A blank as a leaf: its size and area in units, its kind, and how many it holds."""

    leaf: Leaf
    width: int
    height: int
    area: int
    kind: int
    holds: int


@dataclass(frozen=True, slots=True)
class _Filling:
    """One attempt: what is left (counted down as it goes) and how kinds are weighed."""

    problem: Problem
    left: list[int]
    weights: list[float]
    rng: Random
    noise: float

    def fill(self, width: int, height: int, blanks: list[_Blank]) -> Content | None:
        """Fill a rectangle: a row of the best blank along one edge, then what is beside and beyond.

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
        axis = self._row_axis(blank.leaf.shape, width, height)
        extent, size = (width, blank.width) if axis == "x" else (height, blank.height)
        most = min(left[blank.kind] // blank.holds, extent // size)
        if self.noise and most > 1 and self.rng.random() < self.noise / 2:
            most = self.rng.randint(1, most)
        left[blank.kind] -= most * blank.holds
        row: list[Content | None] = [blank.leaf] * most
        if axis == "x":
            row.append(self.fill(width - most * size, blank.height, fitting))
            beyond = self.fill(width, height - blank.height, fitting)
            return group("y", [group("x", row), beyond])
        row.append(self.fill(blank.width, height - most * size, fitting))
        beyond = self.fill(width - blank.width, height, fitting)
        return group("x", [group("y", row), beyond])

    def _best(self, width: int, height: int, fitting: list[_Blank]) -> _Blank:
        """The blank of most weighted area, an exact fit counting for more."""
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
        """Along which axis the row runs: the way that leaves the larger rectangle in one piece."""
        if self.problem.longest is not None:
            axes = row_axes(self.problem, shape, width, height)
            if len(axes) == 1:
                return axes[0]
        if self.noise and self.rng.random() < self.noise / 2:
            return "x" if self.rng.random() < 0.5 else "y"
        return "x" if width * (height - shape.height) >= height * (width - shape.width) else "y"
