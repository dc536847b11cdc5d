"""A second look at an arrangement before it is written, by shapely."""

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from nesting.cutfile.carrier import Area
from nesting.cutfile.shapes import PlacedPiece, Sheetful, count_pieces, shape_size

if TYPE_CHECKING:
    from shapely import Geometry

#: What shapely's floating point may be off by, in nm: far below what any ruler shows.
_SLACK = 0.001


def find_misplaced(
    sheetfuls: Sequence[tuple[Sheetful, Area]], wanted: Counter[str], gap: int
) -> Iterator[str]:
    """Say what is wrong with an arrangement.

    Parameters
    ----------
    sheetfuls
        The sheets, each with the part of it that can be used.
    wanted
        How many of each piece are to be cut.
    gap
        Least distance between two shapes, in nm.
    """
    found: Counter[str] = Counter()
    for number, (sheetful, usable) in enumerate(sheetfuls, 1):
        for shape in sheetful.shapes:
            yield from (f"sheet {number}: {said}" for said in _of_shape(shape, usable))
        for one, other in _too_close(sheetful.shapes, gap):
            letters = f"{one.piece.letter} and {other.piece.letter}"
            yield f"sheet {number}: {letters} are closer than the gap."
        for piece, count in count_pieces(sheetful.shapes).items():
            found[piece] += count * sheetful.alike
    for piece in sorted(found.keys() | wanted.keys()):
        if found[piece] != wanted[piece]:
            yield f"{piece}: {found[piece]} are arranged; {wanted[piece]} are to be cut."


def _of_shape(shape: PlacedPiece, usable: Area) -> Iterator[str]:
    if (shape.width, shape.height) != shape_size(shape.piece, turned=shape.turned):
        yield f"{shape.piece.letter} has the wrong size."
    if shape.turned not in shape.piece.turns:
        yield f"{shape.piece.letter} lies as it may not."
    if not usable.holds(shape):
        yield f"{shape.piece.letter} reaches beyond what can be used."


def _too_close(
    shapes: Sequence[PlacedPiece], gap: int
) -> Iterator[tuple[PlacedPiece, PlacedPiece]]:
    """Pairs of shapes that overlap, or lie closer than the gap."""
    from shapely import STRtree, distance

    # A circle is its middle with its radius around it: no polygon stands for it. The plan rounds
    # the middle of one with an odd diameter by half a nanometre, so that much is let pass.
    cores = [_core(shape) for shape in shapes]
    around = [shape.piece.width // 2 if shape.is_round else 0 for shape in shapes]
    widest = max(around, default=0)
    tree = STRtree(cores)
    for number, core in enumerate(cores):
        near = tree.query(core, predicate="dwithin", distance=around[number] + widest + gap)
        for other in (int(index) for index in near):
            if other <= number:
                continue
            least = around[number] + around[other] + gap
            apart = float(distance(core, cores[other]))
            if apart < least - _SLACK or (not least and _overlap(core, cores[other])):
                yield shapes[number], shapes[other]


def _overlap(one: "Geometry", other: "Geometry") -> bool:
    """Whether two rectangles share more than an edge: their distance is 0 either way."""
    return float(one.intersection(other).area) > 0


def _core(shape: PlacedPiece) -> "Geometry":
    from shapely import Point, box

    if shape.is_round:
        return Point(*shape.centre)
    return box(shape.x, shape.y, shape.x + shape.width, shape.y + shape.height)
