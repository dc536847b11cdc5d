"""One paper's packing problem in small whole numbers.

Lengths are counted in their common divisor, so that the dynamic programme runs over short
ranges of integers. The cut width is added to every blank and to every sheet: blanks then fit side
by side exactly when they do with the cuts between them (the last cut is clipped at the edge).
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import gcd

from nesting.batch import Axis, Paper, Piece, Supply, Trimmer, supplies, usable_size


@dataclass(frozen=True, slots=True)
class Shape:
    """One way a blank may lie: width and height in units, cut width added."""

    width: int
    height: int
    turned: bool
    across_grain: bool = False


@dataclass(frozen=True, slots=True)
class Kind:
    """A piece as the packer sees it: how often it is needed and how its blank may lie.

    ``area`` is of the blank, in nm².
    """

    piece: str
    demand: int
    area: int
    shapes: tuple[Shape, ...]


@dataclass(frozen=True, slots=True)
class Size:
    """A usable rectangle in units, cut width added, and the supplies that have it."""

    width: int
    height: int
    supplies: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Problem:
    """What to cut from one paper.

    ``unit`` is in nm; ``longest`` is the longest cut in units, cut width added. ``usable`` has
    each supply's usable width and height in nm.
    """

    paper: Paper
    trimmer: Trimmer
    kinds: tuple[Kind, ...]
    supplies: tuple[Supply, ...]
    sizes: tuple[Size, ...]
    usable: tuple[tuple[int, int], ...]
    unit: int
    longest: int | None

    @property
    def counts_sheets(self) -> bool:
        """Whether the cost is simply the number of sheets."""
        return len(self.supplies) == 1 and self.supplies[0].cost == 1

    @property
    def demand(self) -> tuple[int, ...]:
        """How often each kind is needed."""
        return tuple(kind.demand for kind in self.kinds)

    def fits_longest(self, length: int) -> bool:
        """Whether the trimmer makes a cut of this length in units."""
        return self.longest is None or length <= self.longest


def make_problem(paper: Paper, pieces: Iterable[Piece], trimmer: Trimmer) -> Problem:
    """Set up the problem of the pieces that are cut from one paper.

    Pieces of no demand are left out.
    """
    wanted = [piece for piece in pieces if piece.paper == paper.name and piece.demand]
    cut_width = trimmer.cut_width
    blanks = {
        piece.id: [piece.on_sheet(turned=turned) for turned in piece.turns] for piece in wanted
    }
    grain = paper.grain_axis
    stock = supplies(paper)
    usable = tuple(usable_size(paper, supply.sheet, cut_width) for supply in stock)
    measures = [side for sizes in blanks.values() for size in sizes for side in size]
    if trimmer.longest_cut is not None:  # the least that is over takes a cut that may be too long
        measures += [side for size in usable for side in size]
    unit = gcd(cut_width, *measures)
    kinds = []
    for piece in wanted:
        shapes: dict[tuple[int, int], Shape] = {}
        for turned, (width, height) in zip(piece.turns, blanks[piece.id], strict=True):
            shape = Shape(
                (width + cut_width) // unit,
                (height + cut_width) // unit,
                turned,
                across_grain=piece.folds_across(grain, turned=turned),
            )
            shapes.setdefault((width, height), shape)  # a square lies one way only
        width, height = blanks[piece.id][0]
        kinds.append(Kind(piece.id, piece.demand, width * height, tuple(shapes.values())))
    grouped: dict[tuple[int, int], list[int]] = {}
    for number, (width, height) in enumerate(usable):
        key = ((width + cut_width) // unit, (height + cut_width) // unit)
        grouped.setdefault(key, []).append(number)
    longest = None if trimmer.longest_cut is None else (trimmer.longest_cut + cut_width) // unit
    return Problem(
        paper=paper,
        trimmer=trimmer,
        kinds=tuple(kinds),
        supplies=stock,
        sizes=tuple(Size(*key, tuple(numbers)) for key, numbers in grouped.items()),
        usable=usable,
        unit=unit,
        longest=longest,
    )


def with_demand(problem: Problem, demand: dict[str, int]) -> Problem:
    """Set up the same problem for so many of each piece (by id; none where it is not named).

    Kinds keep their numbers, so that contents of one problem are contents of the other.
    """
    kinds = tuple(replace(kind, demand=demand.get(kind.piece, 0)) for kind in problem.kinds)
    return replace(problem, kinds=kinds)


def at_hand(problem: Problem) -> tuple[int | None, ...]:
    """How many sheets of each supply are at hand; None is plenty."""
    if problem.counts_sheets:
        return (problem.supplies[0].sheet.have,)
    return tuple(0 if supply.bought else supply.count for supply in problem.supplies)


def row_axes(problem: Problem, shape: Shape, width: int, height: int) -> list[Axis]:
    """Along which axes a row of a blank can run in a rectangle, with cuts short enough for the trimmer.

    A row along x is first cut off by a cut across the whole width, then its blanks by cuts as
    long as they are high; along y the other way round. What fits exactly needs no cut.
    """
    if shape.width > width or shape.height > height:
        return []
    axes: list[Axis] = []
    low = problem.fits_longest(width) or shape.height == height
    upright = problem.fits_longest(shape.height) or shape.width == width
    if low and upright:
        axes.append("x")
    narrow = problem.fits_longest(height) or shape.width == width
    level = problem.fits_longest(shape.width) or shape.height == height
    if narrow and level:
        axes.append("y")
    return axes


def along_grain(problem: Problem) -> Problem | None:
    """Set up the same problem with folds along the grain only; None where that changes nothing.

    A kind that fits no sheet without limit that way keeps its shapes.
    """
    endless = [
        size
        for size in problem.sizes
        if any(problem.supplies[number].count is None for number in size.supplies)
    ]
    kinds = []
    for kind in problem.kinds:
        fitting = tuple(
            shape
            for shape in kind.shapes
            if not shape.across_grain
            and any(row_axes(problem, shape, size.width, size.height) for size in endless)
        )
        kinds.append(replace(kind, shapes=fitting or kind.shapes))
    changed = replace(problem, kinds=tuple(kinds))
    return None if changed == problem else changed
