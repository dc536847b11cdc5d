"""One sheet filled for a blade that needs no straight cuts, in many ways, the best of them kept."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

from nesting.batch import Piece
from nesting.cutfile.gaps import circles_in_gaps
from nesting.cutfile.rows import best_rows
from nesting.cutfile.shapes import Shape, counted, shape_size

if TYPE_CHECKING:
    from rectpack.maxrects import MaxRects

_HEURISTICS = ("MaxRectsBssf", "MaxRectsBlsf", "MaxRectsBaf", "MaxRectsBl")
#: The orders that rectangles are given in: larger values of these first.
_ORDERS = (
    lambda width, height: (width * height, max(width, height)),
    lambda width, height: (max(width, height), min(width, height)),
    lambda width, height: (min(width, height), max(width, height)),
    lambda width, height: (width + height, width),
    lambda width, height: (height, width),
    lambda width, height: (width, height),
)  # fmt: skip
#: rectpack's time grows with the third power of the rectangles; so many of them are placed in all.
_PATIENCE = 250_000
#: Of the ways tried, so many of the fullest have their gaps searched for room for more circles.
_SEARCHED = 3


@dataclass(frozen=True, slots=True)
class Want:
    """A piece and how many of it are still to be cut."""

    piece: Piece
    count: int

    @property
    def sizes(self) -> tuple[tuple[int, int], ...]:
        """Its width and height in each way it may lie."""
        return tuple(shape_size(self.piece, turned=turned) for turned in self.piece.turns)


def value_of(shape: Shape) -> int:
    """What a shape is worth on a sheet: its area, a circle's to the nearest 355/113 of a part."""
    area = shape.width * shape.height
    return area * 355 // (113 * 4) if shape.is_round else area


def fill_sheet(
    wants: Sequence[Want],
    width: int,
    height: int,
    gap: int,
    known: Sequence[tuple[Shape, ...]] = (),
) -> tuple[Shape, ...]:
    """Fill a rectangle with as much of what is wanted as the ways tried bring onto it.

    Parameters
    ----------
    wants
        The pieces that may lie on it.
    width, height
        Of the rectangle, in nm.
    gap
        Least distance between two shapes, in nm.
    known
        Ways that are known to fit, but may hold more than is wanted.

    Returns
    -------
    tuple[Shape, ...]
        The shapes from the rectangle's lower left corner, at least ``gap`` apart.

    Notes
    -----
    Rectangles go where the maximal rectangles heuristics of rectpack put them, each in the turns
    its direction allows. Circles lie in rows of their own along the bottom or the left, or as
    squares among the rectangles, or only in the gaps; what gaps are left is filled with circles.

    References
    ----------
    Jylänki, J. (2010). "A thousand ways to pack the bin: a practical approach to two-dimensional
    rectangle bin packing", section 2.3.
    """
    tried = {
        tuple(sorted((s.x, s.y, s.piece.id, s.turned) for s in shapes)): shapes
        for shapes in (*_ways(wants, width, height, gap), *(_only(wants, way) for way in known))
    }
    fullest = sorted(tried.values(), key=lambda shapes: -sum(map(value_of, shapes)))[:_SEARCHED]
    done = [_with_gaps_filled(shapes, wants, width, height, gap) for shapes in fullest]
    return tuple(max(done, key=lambda shapes: sum(map(value_of, shapes)), default=()))


def _ways(wants: Sequence[Want], width: int, height: int, gap: int) -> Iterator[list[Shape]]:
    """Every way that is tried, the gaps still open."""
    round_ = [want for want in wants if want.piece.shape == "circle"]
    straight = [want for want in wants if want.piece.shape != "circle"]
    starts: list[tuple[list[Shape], list[Want]]] = [([], straight)]
    if round_:
        starts += [(_rows_below(round_, width, height, gap, upright=up), straight) for up in (False, True)]
        if straight:
            starts.append(([], [*straight, *round_]))
    for first, rest in starts:
        if not rest:
            yield first
            continue
        yield from _rectangles(first, rest, width, height, gap)


def _only(wants: Sequence[Want], shapes: Sequence[Shape]) -> list[Shape]:
    """The shapes that are wanted, no more of each than that."""
    left = {want.piece.id: want.count for want in wants}
    kept = []
    for shape in shapes:
        if left.get(shape.piece.id, 0):
            left[shape.piece.id] -= 1
            kept.append(shape)
    return kept


def _rows_below(
    wants: Sequence[Want], width: int, height: int, gap: int, *, upright: bool
) -> list[Shape]:
    """Circles in rows along the bottom, or along the left, the largest first."""
    if upright:
        width, height = height, width
    shapes: list[Shape] = []
    taken = 0
    for want in sorted(wants, key=lambda want: -want.piece.width):
        side = want.sizes[0][0]
        points = best_rows(width, height - taken, side, gap, want.count)
        turned = want.piece.turns[0]
        for x, y in points:
            corner = (y + taken, x) if upright else (x, y + taken)
            shapes.append(Shape(want.piece, turned, *corner, side, side))
        if points:
            taken += points[-1][1] + side + gap
    return shapes


def _rectangles(
    first: list[Shape], wants: Sequence[Want], width: int, height: int, gap: int
) -> Iterator[list[Shape]]:
    """Rectangles where rectpack puts them, beside or above the rows that lie there first."""
    left = low = 0
    if first:
        right, top = (max(s.x + s.width for s in first), max(s.y + s.height for s in first))
        if width - right > height - top:
            left = right + gap
        else:
            low = top + gap
    room = width - left, height - low
    if min(room) <= 0:
        yield first
        return
    most = sum(
        min(want.count, room[0] * room[1] // (want.sizes[0][0] * want.sizes[0][1]))
        for want in wants
    )
    tries = list(product(_ORDERS, _HEURISTICS))
    affordable = max(2, _PATIENCE // max(1, most) ** 3) if most else 0
    for order, heuristic in tries[:: max(1, -(-len(tries) // max(1, affordable)))]:
        ordered = sorted(wants, key=lambda want: order(*want.sizes[0]), reverse=True)
        placed = _maxrects(ordered, *room, gap, heuristic)
        yield first + [shape.moved(left, low) for shape in placed]


def _maxrects(
    wants: Sequence[Want], width: int, height: int, gap: int, heuristic: str
) -> list[Shape]:
    """Place pieces one by one; a piece that finds no place is given up, as places only shrink.

    Each is given the gap on its right and above it, and so is the sheet.
    """
    import rectpack

    sheet: MaxRects = getattr(rectpack, heuristic)(width + gap, height + gap, rot=False)
    shapes: list[Shape] = []
    for want in wants:
        across, along = want.sizes[0]
        sheet.rot = len(want.sizes) > 1
        for _ in range(want.count):
            rect = sheet.add_rect(across + gap, along + gap)
            if rect is None:
                break
            as_first = (rect.width, rect.height) == (across + gap, along + gap)
            turned = want.piece.turns[0 if as_first else 1]
            size = rect.width - gap, rect.height - gap
            shapes.append(Shape(want.piece, turned, rect.x, rect.y, *size))
    return shapes


def _with_gaps_filled(
    shapes: list[Shape], wants: Sequence[Want], width: int, height: int, gap: int
) -> list[Shape]:
    """The shapes and as many more circles as go between them, the largest first."""
    shapes = list(shapes)
    placed = counted(shapes)
    for want in sorted(wants, key=lambda want: -want.piece.width):
        if want.piece.shape == "circle":
            side = want.sizes[0][0]
            most = want.count - placed[want.piece.id]
            for corner in circles_in_gaps(shapes, width, height, side, gap, most):
                shapes.append(Shape(want.piece, want.piece.turns[0], *corner, side, side))
    return shapes
