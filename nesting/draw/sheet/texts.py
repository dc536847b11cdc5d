"""All text in a picture, placed so that no text covers another."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from nesting.cutting.parallel_cuts import kept_offcut
from nesting.draw.canvas.lettering import BODY, LETTER, SIZE, SMALLEST
from nesting.draw.canvas.surface import Box, box_at
from nesting.draw.sheet.labels import PAD, Block, Spot, Word, find_spot, piece_blocks
from nesting.draw.sheet.leaders import Leader, Pointed, apart, place_leaders
from nesting.draw.sheet.numbers import Number, place_numbers
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.view import (
    Segment,
    View,
    discs_of,
    envelope_front,
    inside_of,
    score_ends,
    sheet_box,
    sheet_leaves,
)
from nesting.layouts import Blank, Offcut, Placed, Strip
from nesting.papers import Sheet
from nesting.sources import strip_on
from nesting.units import format_length, format_size

#: White round two rows of words: with less, one row looks calmer.
_WHITE = 6.0


@dataclass(slots=True)
class Texts:
    """All text in a picture; no text covers another."""

    numbers: list[Number]
    taken: list[Box]
    spots: list[tuple[Spot, bool]] = field(default_factory=list)
    leaders: list[Leader] = field(default_factory=list)

    def add(
        self,
        blocks: Iterator[Block],
        region: Box,
        disc: tuple[tuple[float, float], float] | None = None,
        *,
        on_white: bool = False,
    ) -> bool:
        """Find a place for the first block that fits; False where none does."""
        spot = find_spot(blocks, region, self.taken, disc)
        if spot is not None:
            self.spots.append((spot, on_white))
            self.taken.append(spot.box)
        return spot is not None


def compose(subject: Subject, view: View, arrows: list[Box], since: int, *, right: bool) -> Texts:
    """Find the places of all numbers and texts: blanks first, then what is kept, the bin last.

    What is too small for its letter or its size has a leader, on the ``right`` or the left.
    """
    layout = subject.layout
    sheet = sheet_box(layout, view)
    numbers = place_numbers(subject, view, sheet, since)
    texts = Texts(numbers, [number.box for number in numbers])

    def lead(tiny: list[Pointed]) -> None:
        leaders = place_leaders(tiny, view, sheet, texts.taken + arrows, right=right)
        texts.leaders += leaders
        texts.taken += [box for leader in leaders for box in leader.boxes]

    lead([
        ((Word(subject.plan.piece(placed.node.piece).letter, LETTER, bold=True),), placed)
        for placed in layout.blanks
        if isinstance(placed.node, Blank) and not _letter_blank(texts, subject, placed, view)
    ])  # fmt: skip
    lead([
        (_in_two_rows(offcut, subject), placed)
        for placed, offcut in _kept_offcuts(subject)
        if not texts.add(_kept_blocks(offcut, subject), inside_of(view.box(placed)).inset(0.6 - PAD))
    ])  # fmt: skip
    high = min([sheet.top, *(box.y for box in arrows if box.y > sheet.y)])  # below those beside it
    texts.leaders = apart(texts.leaders, sheet.y, high, right=right)
    for placed in sheet_leaves(layout):
        box = view.box(placed)
        if placed.node == Offcut(keep=False):
            texts.add(_both_ways("bin"), box.inset(2), on_white=True)
        elif isinstance(placed.node, Strip):
            texts.add(_strip_blocks(), box.inset(1 - PAD))
    return texts


def _kept_offcuts(subject: Subject) -> Iterator[tuple[Placed, Sheet]]:
    """Each offcut that is kept, and how it goes back to the stash: with its barcode strip or without."""
    strip = strip_on(subject.layout, subject.paper)
    for part in subject.whole.finished():
        sheet = kept_offcut(part, strip)
        if sheet is not None:
            yield from ((one, sheet) for one in part.leaves if one.node == Offcut(keep=True))


def _in_two_rows(sheet: Sheet, subject: Subject) -> tuple[Word, ...]:
    """The size of an offcut in two rows, to take as little width as possible."""
    width, height = format_size(sheet.width, sheet.height, subject.unit).split(" x ")
    return Word(f"{width} x", BODY), Word(height, BODY)


def _both_ways(*rows: str, size: float = SIZE, pad: float = PAD) -> Iterator[Block]:
    """Plain words, level first, then upended."""
    words = tuple((Word(row, size),) for row in rows)
    yield Block(words, pad=pad)
    yield Block(words, upended=True, pad=pad)


def _strip_blocks() -> Iterator[Block]:
    """What to write on the barcode strip: smaller on a narrow one, it is no size."""
    for size in (SIZE, BODY, SMALLEST):
        for upended in (False, True):
            yield Block(((Word("barcode strip", size),),), upended=upended)


def _kept_blocks(sheet: Sheet, subject: Subject) -> Iterator[Block]:
    """What to write in an offcut that is kept, the most readable first."""
    size = format_size(sheet.width, sheet.height, subject.unit)
    keep = "keep" if sheet.strip is None else "keep with strip"
    yield from _both_ways(size, keep, pad=_WHITE)
    yield from _both_ways(f"{size} {keep}")
    yield from _both_ways(size, keep)
    yield from _both_ways(size, pad=PAD + 1)
    for smaller in (BODY, SMALLEST):  # the dashes say that it is kept
        yield from _both_ways(f"{size} {keep}", size=smaller)
        yield from _both_ways(size, size=smaller)


def _letter_blank(texts: Texts, subject: Subject, placed: Placed, view: View) -> bool:
    """Place a blank's letter and size, and where its score line is; False where nothing fits."""
    if not isinstance(placed.node, Blank):
        return False
    piece, turned = subject.plan.piece(placed.node.piece), placed.node.turned
    discs = discs_of(piece, placed, view)
    if discs:
        fits = [
            texts.add(
                piece_blocks(subject, piece, turned=turned),
                box_at(centre, 2 * radius, 2 * radius),
                (centre, radius),
            )
            for centre, radius in discs
        ]
        return all(fits)
    regions = [view.box(placed).inset(piece.die_allowance * view.scale)]
    if piece.scores:
        regions = [envelope_front(piece, placed, view, turned=turned)]
    elif piece.score is not None:
        (score,) = score_ends(piece, placed, view)
        regions = _halves(regions[0], score)
        words = Word(f"score at {format_length(piece.score.at, subject.unit)}", SIZE)
        upended = score[0][0] == score[1][0]
        texts.add(iter([Block(((words,),), upended=upended)]), _beside(regions[1], upended=upended))
    return any(texts.add(piece_blocks(subject, piece, turned=turned), region) for region in regions)


def _halves(box: Box, score: Segment) -> list[Box]:
    """Both sides of a score line, the left or upper one first."""
    (x, y), (x_end, _) = score
    if x == x_end:
        return [Box(box.x, box.y, x - box.x, box.height), Box(x, box.y, box.right - x, box.height)]
    return [Box(box.x, y, box.width, box.top - y), Box(box.x, box.y, box.width, y - box.y)]


def _beside(half: Box, *, upended: bool) -> Box:
    """The band of one side of a score line that lies along it."""
    room = SIZE + 2 * PAD + 1
    if upended:
        return Box(half.x, half.y, min(room, half.width), half.height)
    height = min(room, half.height)
    return Box(half.x, half.top - height, half.width, height)
