"""The text in a rectangle of the picture: which form of it fits, and where.

A block is rows of words and arrows, set upright or along a narrow upright rectangle. Forms are
tried from the largest to the shortest; each is tried in the middle first, then around it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from math import cos, hypot, radians, sin

from nesting.draw.canvas.lettering import (
    ASCENT,
    DESCENT,
    LARGE_LETTER,
    LARGE_SIZE,
    LETTER,
    SIZE,
    text_width,
)
from nesting.draw.canvas.palette import WHITE
from nesting.draw.canvas.surface import AnySurface, Box, box_at
from nesting.draw.sheet.bearings import WAYS, has_arrow, top_edge
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.words import piece_size, underneath
from nesting.papers import Edge
from nesting.pieces import Piece

#: White between a block and the edges of its rectangle, in points; large type needs more to look
#: at home.
PAD = 2.5
_LARGE_PAD = 6.0
#: A single row lies well in a narrow blank: a band of 1/2 in has its letter and size.
_TIGHT_PAD = 1.1
_GAP = 5.0
_BETWEEN = 2.0
#: How far below the baseline, as a part of the size: most letters and digits, fractions, others.
_FLAT, _SLASH, _DEEP = 0.02, 0.095, DESCENT
_DESCENDING = frozenset("gjpqyJQ,;")
_PLACES = tuple(
    sorted(((i / 6, j / 6) for i in range(-6, 7) for j in range(-6, 7)), key=lambda at: hypot(*at))
)


@dataclass(frozen=True, slots=True)
class Word:
    """A word in a block; ``size`` in points."""

    text: str
    size: float
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Arrow:
    """A small arrow to the edge where a top is; ``both``: a two-way print runs along it.

    ``turn`` is by how many degrees it is turned from there, clockwise.
    """

    edge: Edge
    both: bool
    size: float
    turn: float = 0.0


WordRow = tuple[Word | Arrow, ...]


@dataclass(frozen=True, slots=True)
class Block:
    """Rows of words, from the top; ``upended`` is read from the right-hand side.

    ``pad`` is the white it needs all round, in points.
    """

    rows: tuple[WordRow, ...]
    upended: bool = False
    pad: float = PAD


@dataclass(frozen=True, slots=True)
class Spot:
    """A block in its place on the page."""

    block: Block
    centre: tuple[float, float]

    @property
    def box(self) -> Box:
        """The room it takes."""
        return box_at(self.centre, *extent(self.block))


def piece_blocks(subject: Subject, piece: Piece, *, turned: bool) -> Iterator[Block]:
    """Every form of a piece's text, the most readable first, its bare letter last."""
    size = piece_size(piece, subject.unit).removesuffix(" circle")
    word = "circle" if piece.shape == "circle" else ""
    words = [text for text in (word, underneath(piece, back_up=subject.back_up)) if text]
    for letter_size, type_size, pad in (
        (LARGE_LETTER, LARGE_SIZE, _LARGE_PAD),
        (LETTER, SIZE, PAD),
    ):
        letter = (
            Word(piece.letter, letter_size, bold=True),
            *_arrow(subject, piece, letter_size, turned=turned),
        )
        below = tuple((Word(text, type_size),) for text in words)
        in_row = Word(" ".join((size, *words)), type_size)
        beside = tuple(Word(text, type_size) for text in words)
        if word:
            yield Block((letter, (in_row,)), pad=pad)
        yield Block((letter, (Word(size, type_size),), *below), pad=pad)
        yield Block(((*letter, *beside), (Word(size, type_size),)), pad=pad)
        yield Block(((*letter, in_row),), pad=pad)
    if piece.shape == "rect":
        width, height = size.split(" x ")
        halves = ((Word(width, SIZE),), (Word(f"x {height}", SIZE),))
        yield Block((letter, *halves, *below))
    for rows in (((*letter, *beside), (Word(size, SIZE),)), ((*letter, in_row),)):
        yield Block(rows, upended=True)
    if word:  # the circle is drawn: in a small one its size matters more than the word
        back = beside[1:]
        yield Block(((*letter, *back), (Word(size, SIZE),)))
    for row in ((*letter, in_row), (*letter, *beside), letter, letter[:1]):
        yield Block((row,), pad=_TIGHT_PAD)
        yield Block((row,), upended=True, pad=_TIGHT_PAD)


def _arrow(subject: Subject, piece: Piece, size: float, *, turned: bool) -> WordRow:
    """The arrow beside a letter, where the piece has a top or does not lie as it is written."""
    if not has_arrow(piece, turned=turned):
        return ()
    edge = subject.seen(top_edge(piece, turned=turned))
    return (Arrow(edge, both=False, size=size * 0.8),)


def _width(item: Word | Arrow) -> float:
    return (
        item.size if isinstance(item, Arrow) else text_width(item.text, item.size, bold=item.bold)
    )


def _row_extent(row: WordRow) -> tuple[float, float]:
    return sum(map(_width, row)) + _GAP * (len(row) - 1), max(item.size for item in row)


def _depth(item: Word | Arrow) -> float:
    """The points below the baseline that a word or an arrow reaches."""
    if isinstance(item, Arrow):
        return item.size * 0.06
    deep = _DEEP if _DESCENDING & set(item.text) else _SLASH if "/" in item.text else _FLAT
    return item.size * deep


@cache
def extent(block: Block) -> tuple[float, float]:
    """Width and height a block takes on the page, in points."""
    sizes = [_row_extent(row) for row in block.rows]
    width, height = max(width for width, _ in sizes), sum(height for _, height in sizes)
    height += _BETWEEN * (len(sizes) - 1) - DESCENT * sizes[-1][1]
    height += max(map(_depth, block.rows[-1]))
    return (height, width) if block.upended else (width, height)


def find_spot(
    blocks: Iterator[Block],
    region: Box,
    taken: Sequence[Box],
    disc: tuple[tuple[float, float], float] | None,
) -> Spot | None:
    """The first block that fits in a region clear of what is taken, and where it goes.

    Parameters
    ----------
    blocks
        In order of preference.
    region
        Where the block must lie, its ``pad`` from the edges.
    taken
        Boxes it must not touch.
    disc
        Centre and radius of a circle that the block must lie in, too.

    Returns
    -------
    Spot or None
        None where no block fits.
    """
    near = [box for box in taken if box.meets(region)]
    for block in blocks:
        inner = region.inset(block.pad)
        width, height = extent(block)
        spare_x, spare_y = inner.width - width, inner.height - height
        if spare_x < 0 or spare_y < 0:
            continue
        x, y = inner.centre
        for right, up in _PLACES:
            spot = Spot(block, (x + right * spare_x / 2, y + up * spare_y / 2))
            own = spot.box
            if not any(map(own.meets, near)) and _in_disc(own, disc, block.pad):
                return spot
    return None


def _in_disc(box: Box, disc: tuple[tuple[float, float], float] | None, pad: float) -> bool:
    """Whether a box's corners lie in a disc, ``pad`` points from its edge."""
    if disc is None:
        return True
    (x, y), radius = disc
    reach_x = max(x - box.x, box.right - x)
    reach_y = max(y - box.y, box.top - y)
    return hypot(reach_x, reach_y) <= radius - pad


def draw_block(surface: AnySurface, spot: Spot, *, on_white: bool = False) -> None:
    """Write a block in its place; ``on_white`` clears what is behind it."""
    if on_white:
        surface.box(box_at(spot.centre, spot.box.width + 4, spot.box.height + 2), fill=WHITE)
    block, (x, y) = spot.block, spot.centre
    width, height = spot.box.width, spot.box.height
    top = (width if block.upended else height) / 2
    for row in block.rows:
        row_width, row_height = _row_extent(row)
        baseline = top - row_height * ASCENT
        left = -row_width / 2
        start = (x - baseline, y + left) if block.upended else (x + left, y + baseline)
        draw_row(surface, row, start, upended=block.upended)
        top -= row_height + _BETWEEN


def draw_row(
    surface: AnySurface, row: WordRow, start: tuple[float, float], *, upended: bool = False
) -> None:
    """Write a row from a point on its baseline onwards."""
    (x, y), along = start, 0.0
    for item in row:
        middle = along + _width(item) / 2
        _draw_item(surface, item, (x, y + middle) if upended else (x + middle, y), upended=upended)
        along += _width(item) + _GAP


def _draw_item(
    surface: AnySurface, item: Word | Arrow, at: tuple[float, float], *, upended: bool
) -> None:
    if isinstance(item, Word):
        surface.text(
            *at,
            item.text,
            item.size,
            bold=item.bold,
            align="center",
            rotation=90 if upended else 0,
        )
        return
    rise = item.size * 0.45  # the arrow stands on the baseline like its letter
    centre = (at[0] - rise, at[1]) if upended else (at[0], at[1] + rise)
    draw_small_arrow(surface, centre, item)


def draw_small_arrow(surface: AnySurface, centre: tuple[float, float], arrow: Arrow) -> None:
    """Draw a thin arrow with a filled head; two heads along a two-way print."""
    (x, y), turn = WAYS[arrow.edge], radians(arrow.turn)
    way_x, way_y = x * cos(turn) + y * sin(turn), y * cos(turn) - x * sin(turn)
    half, head = arrow.size / 2, arrow.size * (0.34 if arrow.both else 0.42)

    def point(along: float, aside: float) -> tuple[float, float]:
        return (
            centre[0] + way_x * along - way_y * aside,
            centre[1] + way_y * along + way_x * aside,
        )

    back = head - half if arrow.both else -half
    surface.line([point(back, 0), point(half - head, 0)], 1.6)
    for end in (1, -1) if arrow.both else (1,):
        base = end * (half - head)
        surface.shape(
            [point(end * half, 0), point(base, head * 0.6), point(base, -head * 0.6)],
            fill=(0.0, 0.0, 0.0),
        )
