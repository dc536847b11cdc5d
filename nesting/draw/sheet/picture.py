"""The picture of a layout: the sheet with its blanks, offcuts, cuts and texts."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from nesting.batch import Piece
from nesting.draw.canvas.lettering import BODY, SIZE, SMALLEST
from nesting.draw.canvas.palette import HATCH, SHADE, tint
from nesting.draw.canvas.surface import Box, Dash, Surface, box_at
from nesting.draw.sheet.bearings import has_directions, score_line
from nesting.draw.sheet.labels import (
    PAD,
    Block,
    Spot,
    Word,
    draw_block,
    find_spot,
    piece_blocks,
)
from nesting.draw.sheet.leaders import LEADERS_ROOM, Leader, draw_leader, place_leaders
from nesting.draw.sheet.marks import ARROWS_ROOM, draw_directions, draw_start
from nesting.draw.sheet.numbers import Number, draw_number, place_numbers
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.view import FAR_ROOM, NUMBERS_ROOM, Line, View, place_sheet
from nesting.plan import Blank, Cut, EdgeTrim, Layout, Offcut, Placed, Plan, Strip
from nesting.units import format_length, format_size

#: Line weights in points: the sheet, a cut, a circle or score line, what lies inside.
_OUTLINE = 2.6
_CUT = 1.6
_DRAWN = 1.0
_FINE = 0.6
#: White round two rows of words: with less, one row looks calmer.
_WHITE = 6.0
_KEEP: Dash = (5.0, 3.0)
_SCORE: Dash = (14.0, 5.0)
_DOTTED: Dash = (1.5, 2.5)


def draw_picture(
    surface: Surface, subject: Subject, area: Box, *, since: int = 1
) -> tuple[View, float]:
    """Draw the sheet of a layout as large as the area allows; where it went, and its lower end.

    The arrows stand below the sheet or beside it, whichever leaves it larger. Strokes have their
    numbers from ``since`` on.
    """
    layout = subject.layout
    right = subject.corner[0] == "left"
    view, below = _place(subject, area, since)
    sheet = _sheet_box(layout, view)
    under = sheet.y - 8 - (NUMBERS_ROOM if subject.corner[1] == "bottom" else 0)
    at = Box(sheet.x, area.y, 0, under - area.y) if below else Box(
        sheet.right + 10 if right else sheet.x - ARROWS_ROOM, sheet.y, 0, sheet.height)  # fmt: skip
    arrows = draw_directions(surface, subject, at, below=below)
    texts = _compose(subject, view, arrows, since, right=right)
    for placed in leaves(layout):
        draw_leaf(surface, subject.plan, placed, view)
    for part in subject.whole.finished():
        if len(part.leaves) > 1:
            surface.line(_between(*map(view.box, part.leaves)), _CUT, dash=_DOTTED)
    for stroke in subject.strokes:
        surface.line(view.stroke_line(stroke), _CUT)
    surface.box(sheet, weight=_OUTLINE)
    draw_start(surface, sheet, subject.corner, texts.taken)
    for leader in texts.leaders:
        draw_leader(surface, leader)
    for number in texts.numbers:
        draw_number(surface, number)
    for spot, on_white in texts.spots:
        draw_block(surface, spot, on_white=on_white)
    return view, min([sheet.y, *(box.y for box in arrows)])


def _place(subject: Subject, area: Box, since: int) -> tuple[View, bool]:
    """Where the sheet goes, and whether the arrows stand below it."""
    if not has_directions(subject.plan, subject.layout):
        view = place_sheet(subject, area, FAR_ROOM)
        if _has_leaders(subject, view, since):
            return place_sheet(subject, area, LEADERS_ROOM), True
        return view, True
    above = Box(area.x, area.y + ARROWS_ROOM, area.width, area.height - ARROWS_ROOM)
    below = place_sheet(subject, above, FAR_ROOM)
    if _has_leaders(subject, below, since):
        below = place_sheet(subject, above, LEADERS_ROOM)
    beside = place_sheet(subject, area, ARROWS_ROOM)
    return (below, True) if below.scale >= beside.scale else (beside, False)


def _has_leaders(subject: Subject, view: View, since: int) -> bool:
    """Whether some blanks are too small for their letter."""
    return bool(_compose(subject, view, [], since, right=True).leaders)


def _between(first: Box, second: Box) -> Line:
    """The line between two boxes that lie beside or on one another."""
    low, high = sorted((first, second), key=lambda box: (box.x, box.y))
    if low.right <= high.x + 0.01:
        return (high.x, high.y), (high.x, high.top)
    return (high.x, high.y), (high.right, high.y)


def _sheet_box(layout: Layout, view: View) -> Box:
    """The whole sheet on the page."""
    return view.box(Placed(layout.tree, 0, 0, layout.width, layout.height))


def leaves(layout: Layout) -> list[Placed]:
    """What the sheet ends up as, without leaves of no size."""
    return [p for p in layout.walk() if not isinstance(p.node, Cut) and p.width and p.height]


def draw_leaf(surface: Surface, plan: Plan, placed: Placed, view: View) -> None:
    """Draw a leaf of the tree without its text."""
    box = view.box(placed)
    match placed.node:
        case Blank(piece=piece_id):
            piece = plan.piece(piece_id)
            surface.box(box, fill=tint(plan.pieces.index(piece)), weight=_FINE)
            _draw_in_blank(surface, piece, placed, view)
        case Offcut(keep=True):
            surface.box(_inside(box), weight=_DRAWN, dash=_KEEP)
        case Offcut():
            surface.box(box, hatch=HATCH)
        case Strip() | EdgeTrim():
            surface.box(box, fill=SHADE)
        case _:
            pass


def _inside(box: Box) -> Box:
    """Where a kept offcut's dashes run: clear of the cuts round it."""
    return box.inset(min(4.0, box.width / 10, box.height / 10))


def _draw_in_blank(surface: Surface, piece: Piece, placed: Placed, view: View) -> None:
    """Draw the discs in their blank, the piece within its die allowance, the score line."""
    for centre, radius in _discs(piece, placed, view):
        surface.disc(centre, radius, weight=_DRAWN)
    if piece.die_allowance and piece.shape == "rect":
        inner = view.box(placed).inset(piece.die_allowance * view.scale)
        surface.box(inner, weight=_FINE, dash=_DOTTED)
    score = _score_ends(piece, placed, view)
    if score is not None:
        surface.line(score, _DRAWN, dash=_SCORE)


def _discs(piece: Piece, placed: Placed, view: View) -> list[tuple[tuple[float, float], float]]:
    """Centre and radius of each disc of a blank; none where the piece is a rectangle."""
    if piece.shape != "circle" or not isinstance(placed.node, Blank):
        return []
    middle = placed.x + placed.width // 2, placed.y + placed.height // 2
    radius = piece.width * view.scale / 2
    return [(view.at(*centre), radius) for centre in placed.node.circles or (middle,)]


def _score_ends(piece: Piece, placed: Placed, view: View) -> Line | None:
    """Both ends of a score line on the page, the lower or left one first."""
    if not isinstance(placed.node, Blank):
        return None
    line = score_line(piece, placed, turned=placed.node.turned)
    if line is None:
        return None
    axis, at = line
    if axis == "x":
        return view.at(at, placed.y), view.at(at, placed.y + placed.height)
    return view.at(placed.x, at), view.at(placed.x + placed.width, at)


@dataclass(slots=True)
class _Texts:
    """All that is written in a picture: one text never covers another."""

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


def _compose(subject: Subject, view: View, arrows: list[Box], since: int, *, right: bool) -> _Texts:
    """Find the places of all numbers and texts: blanks first, what is left over last."""
    layout = subject.layout
    sheet = _sheet_box(layout, view)
    numbers = place_numbers(subject, view, sheet, since)
    texts = _Texts(numbers, [number.box for number in numbers])
    tiny = [blank for blank in layout.blanks if not _letter_blank(texts, subject, blank, view)]
    texts.leaders = place_leaders(
        subject.plan, tiny, view, sheet, texts.taken + arrows, right=right
    )
    texts.taken += [box for leader in texts.leaders for box in leader.boxes]
    for placed in leaves(layout):
        box = view.box(placed)
        match placed.node:
            case Offcut(keep=True):
                size = format_size(placed.width, placed.height, subject.unit)
                texts.add(_kept_blocks(size), _inside(box).inset(0.2 - PAD))
            case Offcut():
                texts.add(_both_ways("bin"), box.inset(2), on_white=True)
            case Strip():
                texts.add(_strip_blocks(), box.inset(1 - PAD))
            case _:
                pass
    return texts


def _both_ways(*rows: str, pad: float = PAD) -> Iterator[Block]:
    """Plain words, level and then upended."""
    words = tuple((Word(row, SIZE),) for row in rows)
    yield Block(words, pad=pad)
    yield Block(words, upended=True, pad=pad)


def _strip_blocks() -> Iterator[Block]:
    """What to write on the barcode strip: smaller on a narrow one, it is no size."""
    for size in (SIZE, BODY, SMALLEST):
        for upended in (False, True):
            yield Block(((Word("barcode strip", size),),), upended=upended)


def _kept_blocks(size: str) -> Iterator[Block]:
    """What to write in an offcut that is kept, the most readable first."""
    yield from _both_ways(size, "keep", pad=_WHITE)
    yield from _both_ways(f"{size} keep")
    yield from _both_ways(size, "keep")
    yield from _both_ways(size, pad=PAD + 1)
    yield from _both_ways("keep")


def _letter_blank(texts: _Texts, subject: Subject, placed: Placed, view: View) -> bool:
    """Place a blank's letter and size, and where its score line is; False where nothing fits."""
    if not isinstance(placed.node, Blank):
        return False
    piece, turned = subject.plan.piece(placed.node.piece), placed.node.turned
    discs = _discs(piece, placed, view)
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
    score = _score_ends(piece, placed, view)
    if piece.score is not None and score is not None:
        regions = _halves(regions[0], score)
        words = Word(f"score at {format_length(piece.score.at, subject.unit)}", SIZE)
        upended = score[0][0] == score[1][0]
        texts.add(iter([Block(((words,),), upended=upended)]), _beside(regions[1], upended=upended))
    return any(texts.add(piece_blocks(subject, piece, turned=turned), region) for region in regions)


def _halves(box: Box, score: Line) -> list[Box]:
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
