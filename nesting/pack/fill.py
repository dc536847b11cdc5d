"""A seeded constructive search: fill sheet after sheet without cutting more than is needed."""

from collections.abc import Iterator
from dataclasses import dataclass
from random import Random

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
    for attempt in range(tries):
        noise = 0.0 if attempt == 0 else rng.choice((0.1, 0.3, 0.6))
        weights = [(1.0 + noise * rng.uniform(-1, 1)) * f for f in favour or [1.0] * len(left)]
        filling = _Filling(problem, list(left), weights, rng, noise)
        content = _fill(filling, size.width, size.height)
        if content is not None:
            yield content


@dataclass(frozen=True, slots=True)
class _Filling:
    """One attempt: what is left (counted down as it goes) and how kinds are weighed."""

    problem: Problem
    left: list[int]
    weights: list[float]
    rng: Random
    noise: float


def _fill(filling: _Filling, width: int, height: int) -> Content | None:
    """Fill a rectangle: a row of the best blank along one edge, then what is beside and beyond."""
    choice = _choose(filling, width, height)
    if choice is None:
        return None
    kind, shape = choice
    axis = _row_axis(filling, shape, width, height)
    extent, size = (width, shape.width) if axis == "x" else (height, shape.height)
    most = min(filling.left[kind] // shape.holds, extent // size)
    if filling.noise and most > 1 and filling.rng.random() < filling.noise / 2:
        most = filling.rng.randint(1, most)
    filling.left[kind] -= most * shape.holds
    row: list[Content | None] = [Leaf(kind, shape)] * most
    if axis == "x":
        row.append(_fill(filling, width - most * size, shape.height))
        return group("y", [group("x", row), _fill(filling, width, height - shape.height)])
    row.append(_fill(filling, shape.width, height - most * size))
    return group("x", [group("y", row), _fill(filling, width - shape.width, height)])


def _choose(filling: _Filling, width: int, height: int) -> tuple[int, Shape] | None:
    """The blank of most weighted area that fits, an exact fit counting for more."""
    best: tuple[float, int, Shape] | None = None
    for number, kind in enumerate(filling.problem.kinds):
        if not filling.left[number]:
            continue
        for shape in kind.shapes:
            if shape.holds > filling.left[number]:
                continue
            if not row_axes(filling.problem, shape, width, height):
                continue
            tight = (shape.width == width) + (shape.height == height)
            worth = filling.weights[number] * shape.width * shape.height * (1 + 0.5 * tight)
            worth *= 1 - 0.2 * (width % shape.width) / width * (height % shape.height) / height
            if filling.noise:
                worth *= 1 + filling.noise * filling.rng.uniform(-0.3, 0.3)
            if best is None or worth > best[0]:
                best = worth, number, shape
    return None if best is None else (best[1], best[2])


def _row_axis(filling: _Filling, shape: Shape, width: int, height: int) -> Axis:
    """Along which axis the row runs: the way that leaves the larger rectangle in one piece."""
    axes = row_axes(filling.problem, shape, width, height)
    if len(axes) == 1:
        return axes[0]
    if filling.noise and filling.rng.random() < filling.noise / 2:
        return "x" if filling.rng.random() < 0.5 else "y"
    return "x" if width * (height - shape.height) >= height * (width - shape.width) else "y"
