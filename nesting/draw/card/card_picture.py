"""The picture of a finished card, drawn from its layers in true proportions."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from nesting.batch import Card
from nesting.cards.aslant import Point, Slant, band, box_round
from nesting.draw.canvas.lettering import (
    ASCENT,
    BODY,
    HEADING,
    LEADING,
    LETTER,
    SIZE,
    isolated,
    shorten,
    wrap,
)
from nesting.draw.canvas.lines import set_lines, write_lines
from nesting.draw.canvas.palette import QUIET, WHITE
from nesting.draw.canvas.surface import (
    EDGE,
    POINTS_PER_INCH,
    AnySurface,
    Box,
    Dash,
    Page,
    Surface,
    box_at,
    house_style,
)
from nesting.draw.canvas.writing import picture_file
from nesting.draw.card.recipe_words import SIDE_NAMES, papers_words
from nesting.draw.card.sides import CardLayer, Side, card_sides, print_tops
from nesting.draw.sheet.labels import Arrow, Block, Word, WordRow, draw_block, extent, find_spot
from nesting.draw.sheet.picture import paper_tint
from nesting.draw.sheet.view import View
from nesting.pieces import Piece
from nesting.plan import Plan
from nesting.units import NANOMETRES, size_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.figure import Figure

_OUTLINE = 1.6
_DRAWN = 0.9
#: How far the back leaf of a folded card peeks out where it opens, in points.
_LEAF = 3.0
GHOST: Dash = (3.0, 3.0)
_SCORE: Dash = (14.0, 5.0)
#: A card alone in a picture is life-size, or at most this long, in points.
_LONGEST = 6 * POINTS_PER_INCH
#: Points per nm of a life-size picture.
LIFE = POINTS_PER_INCH / NANOMETRES["in"]
_WHITE = 24.0
#: Places tried for a letter from the middle of an aslant layer to either end; rows it is taken as.
_STEPS = 16
#: White between a letter and the layers above its own, where there is room for it.
_CLEAR = 3.0


def draw_card(
    plan: Plan,
    name: str,
    format: Literal["png", "svg"] = "png",  # noqa: A002 - the word for it
) -> bytes:
    """Draw a finished card as a picture file: the same plan gives the same bytes.

    Its front, and its inside and back where layers lie there; as large as life unless the card is
    longer than 6 in.

    Parameters
    ----------
    plan
        The plan.
    name
        The name of one of ``plan.asked.cards``.
    format
        ``png`` (150 dots to the inch) or ``svg`` (names stay text).

    Raises
    ------
    KeyError
        No card of the plan has that name.

    Examples
    --------
    In a notebook, ``IPython.display.Image(draw_card(plan, "windfall supper"))`` shows it.

    >>> import nesting
    >>> plan = nesting.solve(nesting.read_batch("samples/cider.yaml"))
    >>> draw_card(plan, "tasting ticket")[1:4]
    b'PNG'
    """
    for card in plan.asked.cards:
        if card.name == name:
            return picture_file(card_figure(plan, card), plan.tool, format)
    raise KeyError(name)


def card_figure(plan: Plan, card: Card) -> "Figure":
    """Draw the sides of a card in a row, on a page just large enough."""
    sides = card_sides(plan, card)
    scale = min(LIFE, _LONGEST / max(card.width, card.height))
    sizes = [(width * scale, height * scale) for _, _, width, height in map(side_extent, sides)]
    title = f"{isolated(card.name)}, {size_words(card.width, card.height, plan.asked.unit)}"
    named = len(sides) > 1
    width = max(sum(w for w, _ in sizes) + _WHITE * (len(sides) - 1), 3 * POINTS_PER_INCH)
    tallest = max(height for _, height in sizes)
    head = HEADING * LEADING + (BODY * LEADING if named else 0) + 6
    key = [(paper, wrap(words, width - _WHITE, BODY)) for paper, words in papers_words(plan, sides)]
    foot = 8 + BODY * LEADING * sum(len(lines) for _, lines in key)
    nm = NANOMETRES["in"] / POINTS_PER_INCH
    height = tallest + head + foot + 2 * EDGE
    page = Page("card", round((width + 2 * EDGE) * nm), round(height * nm))
    with house_style():
        surface = Surface(page)
        area = surface.print_area
        surface.box(Box(0, 0, area.right + EDGE, area.top + EDGE), fill=WHITE)
        surface.text(
            area.x,
            area.top - HEADING,
            shorten(title, area.width, HEADING, bold=True),
            HEADING,
            bold=True,
        )
        x = area.x
        for side, (side_width, side_height) in zip(sides, sizes, strict=True):
            if named:
                down = area.top - HEADING * LEADING - BODY
                surface.text(x, down, SIDE_NAMES[side.where], BODY, colour=QUIET)
            box = Box(x, area.y + foot + tallest - side_height, side_width, side_height)
            draw_side(surface, plan, side, box)
            x += side_width + _WHITE
        _draw_key(surface, plan, key, Box(area.x, area.y, width, foot - 8))
    return surface.figure


def _draw_key(
    surface: Surface, plan: Plan, key: "Sequence[tuple[str, list[str]]]", box: Box
) -> None:
    """Draw the key: the tint of each paper, and what of the card is made of it."""
    down = 0.0
    for paper, words in key:
        swatch = Box(box.x, box.top - down - BODY * ASCENT, _WHITE - 8, BODY * ASCENT)
        surface.box(swatch, fill=paper_tint(plan, paper), weight=_DRAWN)
        lines, down = set_lines(words, BODY, down=down, right=_WHITE)
        write_lines(surface, lines, box)


def side_extent(side: Side) -> tuple[int, int, int, int]:
    """All that is drawn of a side: its lower left corner, width and height, in nm.

    Layers may stick out; beside the inside lies the other half of the open card.
    """
    boxes = [
        (one.placed.x, one.placed.y, one.placed.width, one.placed.height) for one in side.drawn
    ]
    boxes += [(0, 0, side.card.width, side.card.height), *_other_half(side)]
    left, low = min(x for x, _, _, _ in boxes), min(y for _, y, _, _ in boxes)
    right, high = max(x + w for x, _, w, _ in boxes), max(y + h for _, y, _, h in boxes)
    return left, low, right - left, high - low


def _other_half(side: Side) -> list[tuple[int, int, int, int]]:
    """The half of the open card that the inside's layers do not lie on."""
    width, height = side.card.width, side.card.height
    if side.where != "inside" or side.base is None or side.base.score is None:
        return []
    if side.base.score.axis == "x":
        return [(-width, 0, width, height)]
    return [(0, height, width, height)]


def draw_side(
    surface: AnySurface, plan: Plan, side: Side, area: Box, *, of_life: float = 1.0
) -> None:
    """Draw a side of a card in the middle of an area, as large as it fits, at most ``of_life`` of life size."""
    left, low, width, height = side_extent(side)
    scale = min(area.width / width, area.height / height, of_life * LIFE)
    x = area.x + (area.width - width * scale) / 2 - left * scale
    y = area.y + (area.height - height * scale) / 2 - low * scale
    view = View(x, y, scale, side.card.width)
    _draw_ground(surface, plan, side, view)
    for layer in side.drawn:
        fill = paper_tint(plan, layer.piece.paper)
        if layer.round:
            surface.disc(
                view.at(*layer.centre), layer.placed.width * scale / 2, fill=fill, weight=_DRAWN
            )
        elif layer.placed.slant:
            corners = [view.at(*corner) for corner in layer.placed.corners]
            surface.shape(corners, fill=fill, weight=_DRAWN)
        else:
            surface.box(_box_round(view, layer.placed.corners), fill=fill, weight=_DRAWN)
    _write_letters(surface, plan, side, view)


def pieces_at(layer: CardLayer) -> list[tuple[Piece, tuple[Point, ...]]]:
    """What a layer is first cut as, and the corners of what is seen of it: of itself, or of its two ends."""
    placed, pieces = layer.placed, layer.ways[0].pieces
    if len(pieces) == 1:
        return [(layer.piece, placed.corners)]
    first, second = pieces
    behind, ground = placed.behind, placed.rectangle
    if placed.runs_across:
        low, high = first.width - behind.left, second.width - behind.right
        ends = (
            replace(ground, width=low),
            replace(ground, x=ground.x + ground.width - high, width=high),
        )
    else:
        low, high = first.height - behind.bottom, second.height - behind.top
        ends = (
            replace(ground, height=low),
            replace(ground, y=ground.y + ground.height - high, height=high),
        )
    return [(piece, end.corners) for piece, end in zip(pieces, ends, strict=True)]


def _box_round(view: View, corners: "Sequence[Point]") -> Box:
    """The upright box on the page round a shape on the card."""
    x, y, width, height = box_round(corners)
    return Box(*view.at(x, y), width * view.scale, height * view.scale)


def _ground_box(view: View, side: Side) -> Box:
    """The card itself on the page."""
    return Box(view.x, view.y, side.card.width * view.scale, side.card.height * view.scale)


def _draw_ground(surface: AnySurface, plan: Plan, side: Side, view: View) -> None:
    """Draw the card under its layers: folded, or open where its inside is seen."""
    ground = _ground_box(view, side)
    fill = WHITE if side.base is None else paper_tint(plan, side.base.paper)
    dash = GHOST if side.base is None else ()
    for x, y, width, height in _other_half(side):
        corner = view.at(x, y)
        other = Box(*corner, width * view.scale, height * view.scale)
        surface.box(other, weight=_DRAWN, dash=GHOST, colour=QUIET)
    if side.where != "inside" and side.base is not None and side.base.score is not None:
        opens_below = side.base.score.axis == "y"
        to_left = -_LEAF if side.where == "behind" else _LEAF
        out = (0.0, -_LEAF) if opens_below else (to_left, 0.0)
        leaf = Box(ground.x + out[0], ground.y + out[1], ground.width, ground.height)
        surface.box(leaf, fill=WHITE, weight=_DRAWN)
    surface.box(ground, fill=fill, weight=_OUTLINE, dash=dash)
    sent_in = side.card.envelope
    if side.where == "envelope" and sent_in is not None:
        folds_at = view.at(0, sent_in.height or 0)[1]
        surface.line([(ground.x, folds_at), (ground.right, folds_at)], _DRAWN, dash=_SCORE)


def _write_letters(surface: AnySurface, plan: Plan, side: Side, view: View) -> None:
    """Write each letter on the visible part of its layer, where there is room, topmost first."""
    seen: list[tuple[Piece, CardLayer | None, Box]] = []
    if side.base is not None:
        seen.append((side.base, None, _ground_box(view, side)))
    for one in side.drawn:
        seen += [(piece, one, _box_round(view, corners)) for piece, corners in pieces_at(one)]
    taken: list[Box] = []
    for piece, layer, whole in reversed(seen):
        disc = None
        if layer is not None and layer.round:
            disc = view.at(*layer.centre), layer.placed.width * view.scale / 2
        slant = layer.placed.slant if layer is not None else None
        angle = layer.placed.layer.angle if layer is not None else 0
        clear = [other.inset(-_CLEAR) for other in taken]
        spots = (
            find_spot(iter([block]), region, around, disc)
            for block in _letter_blocks(plan, piece, angle)
            for around in (clear, taken)
            for region in (_regions(view, slant, block) if slant else [whole.inset(1.0)])
        )
        spot = next(filter(None, spots), None)
        if spot is not None:
            draw_block(surface, spot)
        taken += _rows(view, slant) if slant else [whole]


def _regions(view: View, slant: Slant, block: Block) -> Iterator[Box]:
    """Upright boxes for a block on a layer that lies aslant, from its middle outwards."""
    width, height = extent(block)
    (x, y), corners = view.at(*slant.middle), [view.at(*corner) for corner in slant.outline]
    ends = [view.at(*end) for end in slant.ends]
    for step in range(_STEPS):
        for end_x, end_y in ends:
            part = step / _STEPS
            centre = x + part * (end_x - x), y + part * (end_y - y)
            box = box_at(centre, width + 2 * block.pad, height + 2 * block.pad)
            if _holds(corners, box):
                yield box


def _holds(corners: "Sequence[tuple[float, float]]", box: Box) -> bool:
    """Whether a convex shape holds a box."""
    sides = {
        (x - here[0]) * (there[1] - here[1]) > (y - here[1]) * (there[0] - here[0])
        for here, there in pairwise([*corners, corners[0]])
        for x in (box.x, box.right)
        for y in (box.y, box.top)
    }
    return len(sides) == 1


def _rows(view: View, slant: Slant) -> Iterator[Box]:
    """Boxes that together cover what is seen of a layer that lies aslant."""
    corners = [view.at(*corner) for corner in slant.outline]
    low, high = min(y for _, y in corners), max(y for _, y in corners)
    half = (high - low) / _STEPS / 2
    for step in range(_STEPS):
        middle = low + (2 * step + 1) * half
        across = [x for x, _ in band([(x, y - middle) for x, y in corners], half)]
        if across:
            left, right = min(across), max(across)
            yield Box(left, middle - half, right - left, 2 * half)


def letter_row(plan: Plan, *pieces: Piece, angle: int = 0) -> WordRow:
    """The letter of a piece or of two ends, and an arrow to the print's top where all have the same.

    ``angle`` is the layer's.
    """
    letters = dict.fromkeys(piece.letter for piece in pieces)
    letter = Word(" ".join(letters), LETTER, bold=True)
    tops = {top for piece in pieces for top in print_tops(plan, piece)}
    if len(tops) != 1:
        return (letter,)
    return letter, Arrow(tops.pop(), pieces[0].print == "two-way", LETTER * 0.8, angle / 1000)


def _letter_blocks(plan: Plan, piece: Piece, angle: int) -> "Iterator[Block]":
    """What to write on a layer, the most informative first."""
    row = letter_row(plan, piece, angle=angle)
    if piece.face == "back":
        back = Word("back", SIZE)
        yield Block((row, (back,)), pad=4.0)
        yield Block(((*row, back),), pad=2.0)
    yield Block((row,), pad=2.0)
    yield Block((row[:1],), pad=1.1)
