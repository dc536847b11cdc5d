"""The list on a recipe: a row for the base, with its flat shape, and one for each layer."""

from collections.abc import Callable
from dataclasses import dataclass

from nesting.batch import ENVELOPE, Card
from nesting.cards.aslant import box_round
from nesting.cards.enclosing import called
from nesting.draw.canvas.lettering import (
    ASCENT,
    BODY,
    LEADING,
    LETTER,
    MIDDLE,
    SIZE,
    SMALLEST,
    text_width,
    wrap,
)
from nesting.draw.canvas.lines import Line, set_lines, write_lines
from nesting.draw.canvas.palette import QUIET
from nesting.draw.canvas.surface import Box, Dash, Surface
from nesting.draw.card.card_picture import GHOST, letter_row
from nesting.draw.card.laying_words import flap_words, place_words
from nesting.draw.card.recipe_words import (
    base_words,
    bought_words,
    each_words,
    envelope_words,
    fold_words,
    folds_across,
    layer_words,
    paper_words,
    print_words,
    thick_words,
)
from nesting.draw.card.sides import CardLayer, Side
from nesting.draw.sheet.labels import WordRow, draw_row
from nesting.draw.sheet.middle_words import host_words
from nesting.draw.sheet.orientation import GRAIN_LENGTH, draw_grain
from nesting.draw.sheet.picture import paper_tint
from nesting.draw.sheet.words import piece_size
from nesting.needs import complete_sets
from nesting.pieces import Piece, Score
from nesting.plan import Plan
from nesting.units import Unit, format_size

_SCORE: Dash = (8.0, 4.0)
_FOLD: Dash = (4.0, 2.0)
_DRAWN, _FINE = 0.9, 0.5
#: Where the columns of a row begin, as parts of the width or in points.
_LETTER_AT, _WORDS_AT = 18.0, 76.0
_MADE_OF_AT = 0.65
_GUTTER = 14.0
#: The base laid flat: room for it at the right of its row.
_FLAT_WIDTH, _FLAT_HEIGHT = 60.0, 48.0
#: The same height for an envelope, which is higher than wide.
_OPEN_HEIGHT = 90.0
_BETWEEN = 7.0
#: White above the words of a row.
_WHITE = 5.0


@dataclass(frozen=True, slots=True)
class RecipeBlock:
    """What stays together on a page: its height, and how to draw it at the top of a box."""

    height: float
    draw: Callable[[Surface, Box], None]


def base_row(plan: Plan, side: Side, width: float) -> RecipeBlock:
    """The base: its size and score, its paper, and its flat shape with score line and grain."""
    base, unit = side.base, plan.asked.unit
    if base is None:
        named = ("base", format_size(side.card.width, side.card.height, unit))
        return _row(1, (), named, [], bought_words(plan, side.card), width)
    block = _row(
        1,
        letter_row(plan, base),
        ("base", piece_size(base, unit)),
        [fold_words(plan, side.card, base)],
        list(base_words(plan, side.card, base)),
        width,
        beside=_FLAT_WIDTH + _BETWEEN,
    )
    return _with_flat(block, plan, base, (base.score,) if base.score is not None else ())


def envelope_row(plan: Plan, card: Card, number: int, width: float) -> RecipeBlock:
    """The envelope: its size, and how it is made, or how many are to be bought."""
    unit, sent_in = plan.asked.unit, card.envelope
    size = called(sent_in.width or 0, sent_in.height or 0, unit) if sent_in is not None else ""
    own = card.name, ENVELOPE
    pieces = (p for p in plan.pieces if any((use.card, use.layer) == own for use in p.uses))
    piece = next(pieces, None)
    if piece is None:
        needed = ["bought", f"1 for each card; {complete_sets(plan, card)} needed"]
        return _row(number, (), ("envelope", size), list(thick_words(card, unit)), needed, width)
    of = (paper_words(plan, piece), print_words(plan, piece))
    block = _row(
        number,
        letter_row(plan, piece),
        ("envelope", piece_size(piece, unit)),
        [f"makes {size}", *thick_words(card, unit), *envelope_words(plan, card, piece)],
        [*filter(None, of), each_words(plan, card, ENVELOPE)],
        width,
        beside=_FLAT_WIDTH + _BETWEEN,
    )

    def draw(surface: Surface, box: Box) -> None:
        block.draw(surface, box)
        low = box.top - _WHITE - _OPEN_HEIGHT
        flat = Box(box.right - _FLAT_WIDTH, low, _FLAT_WIDTH, _OPEN_HEIGHT)
        _draw_open(surface, plan, piece, flat)

    return RecipeBlock(max(block.height, _OPEN_HEIGHT + _BETWEEN), draw)


def layer_row(plan: Plan, card: Card, layer: CardLayer, number: int, width: float) -> RecipeBlock:
    """One layer: letter, name and size, where it goes, what it is made of."""
    unit = plan.asked.unit
    block = _row(
        number,
        letter_row(plan, *layer.ways[0].pieces),
        (layer.placed.layer.name, _size_words(layer, unit)),
        [
            *place_words(plan, card, layer),
            *flap_words(card, layer, unit),
            *host_words(plan, card.name, layer.placed.layer.name),
        ],
        list(layer_words(plan, card, layer)),
        width,
        beside=_FLAT_WIDTH + _BETWEEN if layer.folds else 0.0,
    )
    return _with_flat(block, plan, layer.piece, layer.folds) if layer.folds else block


def _size_words(layer: CardLayer, unit: Unit) -> str:
    """The size of a layer's piece; of two ends, that of the whole."""
    if len(layer.ways[0].pieces) == 1:
        return piece_size(layer.piece, unit)
    _, _, width, height = box_round(layer.placed.whole)
    return f"{format_size(width, height, unit)} in all"


def _with_flat(row: RecipeBlock, plan: Plan, piece: Piece, folds: tuple[Score, ...]) -> RecipeBlock:
    """A row with its piece laid flat at its right end, a dashed line where it is folded."""

    def draw(surface: Surface, box: Box) -> None:
        row.draw(surface, box)
        low = box.top - _WHITE - _FLAT_HEIGHT
        flat = Box(box.right - _FLAT_WIDTH, low, _FLAT_WIDTH, _FLAT_HEIGHT)
        _draw_flat(surface, plan, piece, folds, flat)

    return RecipeBlock(max(row.height, _FLAT_HEIGHT + _BETWEEN), draw)


def _row(
    number: int,
    letter: WordRow,
    named: tuple[str, str],
    words: list[str],
    made_of: list[str],
    width: float,
    *,
    beside: float = 0.0,
) -> RecipeBlock:
    """A row of the list: its number, letter, name and size, two columns of words, a line above.

    ``beside`` is room kept free at the right.
    """
    left = width * _MADE_OF_AT - _WORDS_AT - _GUTTER
    name, size = named
    lines, down = set_lines(
        wrap(name, left, SIZE, bold=True, most=2), SIZE, bold=True, down=_WHITE, right=_WORDS_AT
    )
    after = text_width(lines[-1].text, SIZE, bold=True) + 10
    if after + text_width(size, SIZE) <= left:
        lines.append(Line(_WORDS_AT + after, lines[-1].down, size, SIZE))
    else:
        more, down = set_lines([size], SIZE, down=down, right=_WORDS_AT)
        lines += more
    more, down = set_lines(_broken(words, left), BODY, down=down, right=_WORDS_AT)
    lines += more
    x = width * _MADE_OF_AT
    more, other = set_lines(_broken(made_of, width - x - beside), BODY, down=_WHITE, right=x)
    lines += more
    first = _WHITE + SIZE * ASCENT

    def draw(surface: Surface, box: Box) -> None:
        surface.line([(box.x, box.top), (box.right, box.top)], 0.5, colour=QUIET)
        surface.text(box.x, box.top - first, str(number), BODY, colour=QUIET)
        draw_row(surface, letter, (box.x + _LETTER_AT, box.top - first - 2))
        write_lines(surface, lines, box)

    return RecipeBlock(max(down, other, _WHITE + LETTER * LEADING) + 3.0, draw)


def _broken(texts: list[str], width: float) -> list[str]:
    """Texts broken into lines, each on a line of its own."""
    return [line for text in texts for line in wrap(text, width, BODY)]


def _draw_flat(
    surface: Surface, plan: Plan, piece: Piece, folds: tuple[Score, ...], area: Box
) -> None:
    """A piece laid flat, its outside up: where it is folded; of a base, its front and the grain."""
    scale = min(area.width / piece.width, area.height / piece.height)
    width, height = piece.width * scale, piece.height * scale
    flat = Box(area.right - width, area.top - height, width, height)
    surface.box(flat, fill=paper_tint(plan, piece.paper), weight=_DRAWN)
    for fold in folds:
        at = fold.at * scale
        if fold.axis == "x":
            ends = [(flat.x + at, flat.y), (flat.x + at, flat.top)]
        else:
            ends = [(flat.x, flat.y + at), (flat.right, flat.y + at)]
        surface.line(ends, _DRAWN, dash=GHOST if piece.score is None else _SCORE)
    if piece.score is not None:
        _name_front(surface, piece.score, flat, scale, grain=folds_across(plan, piece) == {False})


def _name_front(surface: Surface, score: Score, flat: Box, scale: float, *, grain: bool) -> None:
    """Say which half of a base is its front, and that the grain runs along, where there is room."""
    at = score.at * scale
    x, y = flat.centre
    if score.axis == "x":
        front, other, along = (flat.right - at / 2, y), (flat.x + at / 2, y), flat.height
    else:
        front, other, along = (x, flat.y + at / 2), (x, flat.top - at / 2), flat.width
    if text_width("front", SMALLEST) < (at if score.axis == "x" else flat.width):
        surface.text(front[0], front[1] - SMALLEST * MIDDLE, "front", SMALLEST, align="center")
    if grain and along > GRAIN_LENGTH + 4:
        draw_grain(surface, other, upright=score.axis == "x")


def _draw_open(surface: Surface, plan: Plan, piece: Piece, area: Box) -> None:
    """An envelope laid flat, its outside up: its parts, the folds between them, no corners."""
    scale = min(area.width / piece.width, area.height / piece.height)
    left, right = (one.at * scale for one in piece.scores if one.axis == "x")
    low, high = (one.at * scale for one in piece.scores if one.axis == "y")
    width, height = piece.width * scale, piece.height * scale
    corner = area.right - width, area.top - height

    def part(x: float, y: float, beyond: float, top: float) -> Box:
        return Box(corner[0] + x, corner[1] + y, beyond - x, top - y)

    surface.box(part(0, 0, width, height), weight=_FINE, dash=_FOLD, colour=QUIET)
    fill = paper_tint(plan, piece.paper)
    names = {
        "back": part(left, 0, right, low),
        "front": part(left, low, right, high),
        "flap": part(left, high, right, height),
    }
    for box in (part(0, low, left, high), part(right, low, width, high), *names.values()):
        surface.box(box, fill=fill, weight=_FINE)
    for name, box in names.items():
        x, y = box.centre
        surface.text(x, y - SMALLEST * MIDDLE, name, SMALLEST, align="center")
