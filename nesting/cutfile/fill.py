"""One sheet filled for a blade that needs no straight cuts, in many ways, the best of them kept."""

import math
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice, product
from typing import TYPE_CHECKING

from nesting.cutfile.carrier import Area
from nesting.cutfile.gaps import circles_in_gaps
from nesting.cutfile.rows import best_rows
from nesting.cutfile.shapes import PlacedPiece, count_pieces, shape_size
from nesting.papers import Axis
from nesting.pieces import Piece

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
#: How many rectangles rectpack places in all, as its time grows with the third power of their number.
_PATIENCE = 250_000
#: Equal pieces are also given as blocks, by how many across and along; and how many random orders there are.
_BLOCKS = tuple(product((1, 2, 3), (1, 2, 3)))
_BY_CHANCE = 60
#: How many of the best ways have their gaps searched for room for more circles.
_SEARCHED = 3


@dataclass(frozen=True, slots=True)
class Want:
    """A piece, how many are still to be cut, what one is worth on a sheet, which turns will do."""

    piece: Piece
    count: int
    worth: int
    turns: tuple[bool, ...]

    @property
    def sizes(self) -> tuple[tuple[int, int], ...]:
        """Its width and height in each way it may lie."""
        return tuple(shape_size(self.piece, turned=turned) for turned in self.turns)


def area_of(piece: Piece) -> int:
    """The area of a piece's shape in nm², a circle's disc, rounded down."""
    width, height = shape_size(piece, turned=False)
    return int(width * height * math.pi / 4) if piece.shape == "circle" else width * height


def wants_of(
    pieces: Sequence[tuple[Piece, int]], grain: Axis | None, rooms: Sequence[Area]
) -> list[Want]:
    """So many of each piece, worth its area, in the turns that the grain and the rooms let it have."""
    return [
        Want(piece, count, area_of(piece), _turns_along(piece, grain, rooms))
        for piece, count in pieces
    ]


def _turns_along(piece: Piece, grain: Axis | None, rooms: Sequence[Area]) -> tuple[bool, ...]:
    """The turns that keep a fold along the grain, if the piece fits one of the rooms that way."""

    def fits(*, turned: bool) -> bool:
        width, height = shape_size(piece, turned=turned)
        return any(width <= room.width and height <= room.height for room in rooms)

    along = tuple(
        turned
        for turned in piece.turns
        if not piece.folds_across(grain, turned=turned) and fits(turned=turned)
    )
    return along or piece.turns


def fill_sheet(
    wants: Sequence[Want],
    width: int,
    height: int,
    gap: int,
    known: Sequence[tuple[PlacedPiece, ...]] = (),
) -> tuple[PlacedPiece, ...]:
    """Fill a rectangle with as much worth as the ways tried bring onto it.

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
    tuple[PlacedPiece, ...]
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
    worth = {want.piece.id: want.worth for want in wants}

    def worth_of(shapes: Sequence[PlacedPiece]) -> tuple[int, int]:
        """What lies there, and how much is left over beside or above all of it."""
        right = max((shape.x + shape.width for shape in shapes), default=0)
        top = max((shape.y + shape.height for shape in shapes), default=0)
        over = max((width - right) * height, (height - top) * width)
        return sum(worth[shape.piece.id] for shape in shapes), over

    best = sorted(tried.values(), key=worth_of, reverse=True)[:_SEARCHED]
    done = [_with_gaps_filled(shapes, wants, width, height, gap) for shapes in best]
    fullest = max(done, key=worth_of, default=[])
    return tuple(fullest)


def _ways(wants: Sequence[Want], width: int, height: int, gap: int) -> Iterator[list[PlacedPiece]]:
    """Every way that is tried, the gaps still open."""
    round_ = [want for want in wants if want.piece.shape == "circle"]
    straight = [want for want in wants if want.piece.shape != "circle"]
    starts: list[tuple[list[PlacedPiece], list[Want]]] = [([], straight)]
    if round_:
        starts += [
            (_rows_below(round_, width, height, gap, upright=up), straight) for up in (False, True)
        ]
        if straight:
            starts.append(([], [*straight, *round_]))
    for first, rest in starts:
        if not rest:
            yield first
            continue
        yield from _rectangles(first, rest, width, height, gap)


def _only(wants: Sequence[Want], shapes: Sequence[PlacedPiece]) -> list[PlacedPiece]:
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
) -> list[PlacedPiece]:
    """Circles in rows along the bottom, or along the left, the largest first."""
    if upright:
        width, height = height, width
    shapes: list[PlacedPiece] = []
    taken = 0
    for want in sorted(wants, key=lambda want: -want.piece.width):
        side = want.sizes[0][0]
        points = best_rows(width, height - taken, side, gap, want.count)
        turned = want.turns[0]
        for x, y in points:
            corner = (y + taken, x) if upright else (x, y + taken)
            shapes.append(PlacedPiece(want.piece, turned, *corner, side, side))
        if points:
            taken += points[-1][1] + side + gap
    return shapes


def _rectangles(
    first: list[PlacedPiece], wants: Sequence[Want], width: int, height: int, gap: int
) -> Iterator[list[PlacedPiece]]:
    """Rectangles where rectpack puts them, beside or above the rows that lie there first."""
    left = low = 0
    if first:
        right, top = max(s.x + s.width for s in first), max(s.y + s.height for s in first)
        if width - right > height - top:
            left = right + gap
        else:
            low = top + gap
    room = width - left, height - low
    if min(room) <= 0:
        yield first
        return
    for items, heuristic in _tries(wants, *room):
        placed = _maxrects(items, *room, gap, heuristic)
        yield first + [shape.moved(left, low) for shape in placed]


@dataclass(frozen=True, slots=True)
class _Item:
    """Pieces given to rectpack as one rectangle: a block of them, so many across and along.

    ``turned`` None leaves the turn to rectpack.
    """

    want: Want
    turned: bool | None = None
    across: int = 1
    along: int = 1

    def size(self, gap: int) -> tuple[int, int]:
        """Width and height with the gap on the right and above."""
        width, height = shape_size(self.want.piece, turned=bool(self.turned))
        return self.across * (width + gap), self.along * (height + gap)


def _tries(wants: Sequence[Want], width: int, height: int) -> Iterator[tuple[list[_Item], str]]:
    """Orders to give the pieces in, with a heuristic: sorted, four blocks first, by chance.

    Chance starts from the same place every time.
    """
    counts = {want: min(want.count, _most(want, width, height)) for want in wants}
    singles = [item for want in wants for item in [_single(want)] * counts[want]]
    affordable = _PATIENCE // max(1, len(singles)) ** 3
    for order, heuristic in islice(product(_ORDERS, _HEURISTICS), max(4, affordable)):
        ordered = sorted(wants, key=lambda want: order(*want.sizes[0]), reverse=True)
        yield [item for want in ordered for item in [_single(want)] * counts[want]], heuristic
    if affordable:
        for four, heuristic in product(_fours(counts), _HEURISTICS):
            yield [*four, *singles], heuristic
    chance = random.Random(0)
    for _ in range(min(affordable, _BY_CHANCE)):
        items: list[_Item] = []
        for want in wants:
            block = chance.choice(_BLOCKS)
            items.extend(
                _block(want, block, turned=chance.choice(want.turns))
                for _ in range(counts[want] // (block[0] * block[1]))
            )
        chance.shuffle(items)
        yield [*items, *singles], chance.choice(_HEURISTICS)


def _fours(counts: dict[Want, int]) -> Iterator[list[_Item]]:
    """Four blocks of one piece, the middle two turned: they may lie round a middle."""
    for want, block in product(counts, _BLOCKS):
        if len(want.turns) > 1 and 4 * block[0] * block[1] <= counts[want]:
            yield [_block(want, block, turned=turned) for turned in (False, True, True, False)]


def _block(want: Want, block: tuple[int, int], *, turned: bool) -> _Item:
    """So many of a piece across and along it, turned as one."""
    return _Item(want, turned, *(block[::-1] if turned else block))


def _most(want: Want, width: int, height: int) -> int:
    """No more of a piece than its area lets on the sheet."""
    return width * height // (want.sizes[0][0] * want.sizes[0][1])


def _single(want: Want) -> _Item:
    turns = want.turns
    return _Item(want, None if len(turns) > 1 else turns[0])


def _maxrects(
    items: Sequence[_Item], width: int, height: int, gap: int, heuristic: str
) -> list[PlacedPiece]:
    """Place items one by one, no more pieces than are wanted.

    An item that finds no place is not tried again, as places only shrink. Each has the gap on its
    right and above it, and so has the sheet.
    """
    import rectpack

    sheet: MaxRects = getattr(rectpack, heuristic)(width + gap, height + gap, rot=False)
    shapes: list[PlacedPiece] = []
    left = {item.want.piece.id: item.want.count for item in items}
    hopeless: set[_Item] = set()
    for item in items:
        piece = item.want.piece
        if item in hopeless or item.across * item.along > left[piece.id]:
            continue
        size = item.size(gap)
        sheet.rot = item.turned is None
        rect = sheet.add_rect(*size)
        if rect is None:
            hopeless.add(item)
            continue
        left[piece.id] -= item.across * item.along
        turned = (rect.width, rect.height) != size if item.turned is None else item.turned
        across, along = shape_size(piece, turned=turned)
        shapes.extend(
            PlacedPiece(
                piece,
                turned,
                rect.x + a * (across + gap),
                rect.y + b * (along + gap),
                across,
                along,
            )
            for a in range(item.across)
            for b in range(item.along)
        )
    return shapes


def _with_gaps_filled(
    shapes: list[PlacedPiece], wants: Sequence[Want], width: int, height: int, gap: int
) -> list[PlacedPiece]:
    """The shapes and as many more circles as go between them, the largest first."""
    shapes = list(shapes)
    placed = count_pieces(shapes)
    for want in sorted(wants, key=lambda want: -want.piece.width):
        if want.piece.shape == "circle":
            side = want.sizes[0][0]
            most = want.count - placed[want.piece.id]
            for corner in circles_in_gaps(shapes, width, height, side, gap, most):
                shapes.append(PlacedPiece(want.piece, want.turns[0], *corner, side, side))
    return shapes
