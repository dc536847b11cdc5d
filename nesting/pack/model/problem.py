"""One paper's packing problem in small integers.

Lengths are counted in their greatest common divisor, which keeps the dynamic programme's ranges
short. The cut width is added to every blank and to every sheet: blanks then fit side by side
exactly when they do with the cuts between them (the last cut is clipped at the edge).
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from itertools import chain, groupby
from math import gcd, prod

import numpy as np

from nesting.arrays import Whole
from nesting.batch import Trimmer
from nesting.pack.model.circle_groups import CircleRows, groups
from nesting.papers import Axis, Paper, Supply
from nesting.pieces import Piece
from nesting.sheets import full_size, supplies, usable_size


@dataclass(frozen=True, slots=True)
class Shape:
    """One way a blank may lie: width and height in units, cut width added.

    ``holds`` is how many of its kind the blank holds: more than one where it is a group of circles
    in ``rows``. ``by_number`` then has the shapes of the kind by the number that they hold.
    """

    width: int
    height: int
    turned: bool
    across_grain: bool = False
    holds: int = 1
    rows: CircleRows | None = None
    by_number: Mapping[int, tuple["Shape", ...]] = field(
        default_factory=dict, compare=False, repr=False
    )

    def __hash__(self) -> int:
        """Hash what tells most shapes of a kind apart: patterns are looked up all the time."""
        return hash((self.width, self.height, self.holds))

    @property
    def fewer(self) -> "Shape | None":
        """The smallest shape within this one that holds one fewer; None where it holds one."""
        if self.holds == 1:
            return None
        within = (
            shape
            for shape in self.by_number.get(self.holds - 1, ())
            if shape.width <= self.width and shape.height <= self.height
        )
        return min(
            (*within, replace(self, holds=self.holds - 1)),
            key=lambda shape: shape.width * shape.height,
        )


@dataclass(frozen=True, slots=True)
class Kind:
    """A piece as the packer sees it: its demand, and how its blank may lie.

    ``area`` is that of the blank in nm²; for circles, the least that one takes in any group.
    """

    piece: str
    demand: int
    area: int
    shapes: tuple[Shape, ...]


@dataclass(frozen=True, slots=True)
class SheetSize:
    """A usable rectangle in units, cut width added, and the supplies of this size."""

    width: int
    height: int
    supplies: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Problem:
    """What to cut from one paper.

    ``unit`` is in nm; ``longest`` is the longest cut in units, cut width added. ``usable`` has
    each supply's usable width and height in nm. ``stopped`` says that cuts may end inside the sheet.
    """

    paper: Paper
    trimmer: Trimmer
    kinds: tuple[Kind, ...]
    supplies: tuple[Supply, ...]
    sizes: tuple[SheetSize, ...]
    usable: tuple[tuple[int, int], ...]
    unit: int
    longest: int | None
    stopped: bool = False

    @property
    def counts_sheets(self) -> bool:
        """Whether the cost is simply the number of sheets."""
        return len(self.supplies) == 1 and self.supplies[0].cost == 1

    @property
    def demand(self) -> tuple[int, ...]:
        """How often each kind is needed."""
        return tuple(kind.demand for kind in self.kinds)

    def asking(self, demand: Iterable[int]) -> "Problem":
        """The same with another demand, by kind."""
        kinds = zip(self.kinds, demand, strict=True)
        return replace(self, kinds=tuple(replace(kind, demand=n) for kind, n in kinds))

    @property
    def areas(self) -> list[int]:
        """The area of a single blank of each kind in units, cut width added."""
        return [kind.shapes[0].width * kind.shapes[0].height for kind in self.kinds]

    @property
    def area(self) -> int:
        """The area of all blanks that are asked for, in units, cut width added."""
        return sum(area * n for area, n in zip(self.areas, self.demand, strict=True))

    @property
    def least_gap(self) -> int:
        """The least distance between the lines of a pinwheel in units: its centre has some width."""
        return self.trimmer.cut_width // self.unit + 1

    @property
    def has_groups(self) -> bool:
        """Whether some blanks may hold several circles."""
        return any(shape.holds > 1 for kind in self.kinds for shape in kind.shapes)

    def size_of(self, supply: int) -> SheetSize:
        """The size of the sheets of a supply."""
        return next(size for size in self.sizes if supply in size.supplies)

    def fits_longest(self, length: int) -> bool:
        """Whether the trimmer makes a cut of this length in units."""
        return self.longest is None or length <= self.longest


def make_problem(paper: Paper, pieces: Iterable[Piece], trimmer: Trimmer) -> Problem:
    """Set up the problem of the pieces that are cut from one paper.

    Pieces that are not to be cut are left out.
    """
    wanted = [piece for piece in pieces if piece.paper == paper.name and piece.to_cut]
    cut_width = trimmer.cut_width
    stock = supplies(paper, sum(piece.to_cut for piece in wanted))
    trimmer = _binding(trimmer, paper, stock)
    stock = _worth_a_look(stock, wanted, paper, trimmer)
    usable = tuple(usable_size(paper, supply.sheet, cut_width) for supply in stock)
    in_rows = {piece.id: _groups(piece, usable, trimmer) for piece in wanted}
    sizes = [piece.on_sheet(turned=turned) for piece in wanted for turned in piece.turns]
    measures = [side for size in sizes for side in size]
    measures += [side for rows in in_rows.values() for g in rows for side in (g.width, g.height)]
    if trimmer.longest_cut is not None:  # trimming a remainder off takes a cut, too
        measures += [side for size in usable for side in size]
    unit = gcd(cut_width, *measures) or 1  # nothing may be left to cut
    grouped: dict[tuple[int, int], list[int]] = {}
    for number, (width, height) in enumerate(usable):
        key = ((width + cut_width) // unit, (height + cut_width) // unit)
        grouped.setdefault(key, []).append(number)
    longest = None if trimmer.longest_cut is None else (trimmer.longest_cut + cut_width) // unit
    return Problem(
        paper=paper,
        trimmer=trimmer,
        kinds=tuple(_kind(one, paper, in_rows[one.id], cut_width, unit) for one in wanted),
        supplies=stock,
        sizes=tuple(SheetSize(*key, tuple(numbers)) for key, numbers in grouped.items()),
        usable=usable,
        unit=unit,
        longest=longest,
    )


def _kind(piece: Piece, paper: Paper, rows: list[CircleRows], cut_width: int, unit: int) -> Kind:
    """A piece as the packer sees it, with every way a blank may lie, alone or with ``rows`` in it."""
    ways: dict[tuple[int, int], Shape] = {}
    for turned in piece.turns:
        width, height = size = piece.on_sheet(turned=turned)
        shape = Shape(
            (width + cut_width) // unit,
            (height + cut_width) // unit,
            turned,
            across_grain=piece.folds_across(paper.grain_axis, turned=turned),
        )
        ways.setdefault(size, shape)  # a square lies one way only
    area = prod(next(iter(ways)))
    shapes = tuple(ways.values())
    if rows:
        area = min(
            area, *(one.width * one.height // min(one.circles, piece.to_cut) for one in rows)
        )
        shapes = _with_groups(shapes[0], rows, piece.to_cut, cut_width, unit)
    return Kind(piece.id, piece.to_cut, area, shapes)


def _binding(trimmer: Trimmer, paper: Paper, stock: tuple[Supply, ...]) -> Trimmer:
    """The trimmer, without its longest cut where no sheet is longer: much is simpler without one."""
    longest = max((max(full_size(paper, supply.sheet)) for supply in stock), default=0)
    if trimmer.longest_cut is None or longest > trimmer.longest_cut:
        return trimmer
    return replace(trimmer, longest_cut=None)


def _groups(
    piece: Piece, usable: tuple[tuple[int, int], ...], trimmer: Trimmer
) -> list[CircleRows]:
    """The groups of a circle that may save paper; none for a rectangle."""
    if piece.shape == "rect":
        return []
    sizes = sorted(set(usable))
    allowance, cut_width, marks = piece.die_allowance, trimmer.cut_width, trimmer.marks
    every = trimmer.longest_cut is not None
    return groups(piece.width, allowance, cut_width, sizes, marks, piece.to_cut, every=every)


def _with_groups(
    single: Shape, found: list[CircleRows], most: int, cut_width: int, unit: int
) -> tuple[Shape, ...]:
    """The shapes of a circle: alone, and in groups that hold no more than are needed."""
    by_number: dict[int, tuple[Shape, ...]] = {1: (single,)}
    in_order = sorted(found, key=lambda rows: (rows.circles, rows.width * rows.height))
    for holds, some in groupby(in_order, lambda rows: min(rows.circles, most)):
        by_number[holds] = tuple(
            Shape(
                (rows.width + cut_width) // unit,
                (rows.height + cut_width) // unit,
                single.turned,
                holds=holds,
                rows=rows,
                by_number=by_number,
            )
            for rows in some
        )
    return tuple(chain.from_iterable(by_number.values()))


def _worth_a_look(
    stock: tuple[Supply, ...], pieces: list[Piece], paper: Paper, trimmer: Trimmer
) -> tuple[Supply, ...]:
    """The supplies, without those to buy where plentiful sheets at hand hold every piece.

    A plan that buys would then cost more than one that does not (``sheets.supplies``).
    """
    plenty = [
        usable_size(paper, supply.sheet, trimmer.cut_width)
        for supply in stock
        if supply.count is None and not supply.bought
    ]
    if trimmer.longest_cut is not None or not all(
        any(
            w <= width and h <= height
            for w, h in (piece.on_sheet(turned=turned) for turned in piece.turns)
            for width, height in plenty
        )
        for piece in pieces
    ):
        return stock
    return tuple(supply for supply in stock if not supply.bought)


def sheets_at_hand(problem: Problem) -> tuple[int | None, ...]:
    """How many sheets of each supply are at hand; None is plenty."""
    if problem.counts_sheets:
        return (problem.supplies[0].sheet.have,)
    return tuple(0 if supply.bought else supply.count for supply in problem.supplies)


def row_axes(problem: Problem, shape: Shape, width: int, height: int) -> list[Axis]:
    """The axes along which a row of a blank can be cut from a rectangle by this trimmer.

    A row along x is first cut off across the whole width, then divided by cuts as long as its
    blanks are high; along y the other way round. What fits exactly needs no cut.
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


def lying_sizes(problem: Problem) -> Whole:
    """Width and height in units of a single blank of each kind, for both ways it may lie.

    Indexed by kind, way and side; 0 where it may not lie that way.
    """
    sizes = np.zeros((len(problem.kinds), 2, 2), dtype=np.int64)
    for number, kind in enumerate(problem.kinds):
        for way, shape in enumerate(shape for shape in kind.shapes if shape.holds == 1):
            sizes[number, way] = shape.width, shape.height
    return sizes
