"""A page for each card design: the finished card, its layers pulled apart, how it is put together.

A page is blocks, one below the other, none of which is split: what does not fit runs on to a
further page.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nesting.batch import Card, Piece
from nesting.draw.card_picture import LIFE, draw_side, extent, fill_of, letter_row
from nesting.draw.labels import Row, draw_row
from nesting.draw.lettering import (
    ASCENT,
    BODY,
    HEADING,
    LEADING,
    LETTER,
    SIZE,
    SMALLEST,
    TITLE,
    isolated,
    text_width,
    wrap,
)
from nesting.draw.lines import Line, set_lines, write_lines
from nesting.draw.marks import GRAIN_LENGTH, draw_grain
from nesting.draw.palette import QUIET
from nesting.draw.pulled_apart import LEVEL, draw_pulled_apart
from nesting.draw.recipe_words import (
    SIDE_NAMES,
    base_words,
    fold_words,
    layer_words,
    made_words,
    place_words,
)
from nesting.draw.sides import CardLayer, Side, card_sides
from nesting.draw.surface import LETTER_PAGE, Box, Dash, Page, Surface, house_style
from nesting.draw.view import MOST_OF_LIFE
from nesting.draw.words import DRAWN_SMALLER, SIZES_IN, piece_size
from nesting.plan import Plan
from nesting.units import format_size, with_unit

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_SCORE: Dash = (8.0, 4.0)
_DRAWN = 0.9
#: The least height of the pictures of a card's front, in points.
_LEAST_BAND = 165.0
#: The same where it is not the card's front.
_SMALL_BAND = 114.0
#: The part of the width that the picture of the card takes; a level's height at its ease.
_PICTURE, _EASY_LEVEL = 0.45, 40.0
#: So many layers are pulled apart in one picture; more go into another.
_MOST_LEVELS = 24
#: Where the columns of a row begin, as parts of the width or in points.
_LETTER_AT, _WORDS_AT = 18.0, 76.0
_MADE_OF_AT = 0.65
_GUTTER = 14.0
#: The base laid flat: room for it at the right of its row.
_FLAT_WIDTH, _FLAT_HEIGHT = 68.0, 48.0
_BETWEEN = 7.0
#: A block may be so much higher than its room: heights are sums of floats.
_SLIGHT = 0.01
#: White above the words of a row.
_WHITE = 5.0


@dataclass(frozen=True, slots=True)
class _Block:
    """What stays together on a page: its height, and how to draw it at the top of a box."""

    height: float
    draw: Callable[[Surface, Box], None]


def recipe_figures(plan: Plan, page: Page = LETTER_PAGE) -> "Iterator[Figure]":
    """Draw a recipe for each card design of a plan, on as many pages as it needs.

    Yields
    ------
    matplotlib.figure.Figure
        One figure for each page.
    """
    for card in plan.asked.cards:
        yield from _card_pages(plan, card, page)


def _card_pages(plan: Plan, card: Card, page: Page) -> "Iterator[Figure]":
    """The pages of one design: its blocks from the top, a short head on each further page."""
    with house_style():
        surface = Surface(page)
        area = surface.print_area
        y = area.top
        for block in _blocks(plan, card, area):
            if y - block.height < area.y - _SLIGHT and y < area.top:
                yield surface.figure
                surface, y = Surface(page), area.top
                y = _put(surface, _continued(card, area.width), area, y)
            y = _put(surface, block, area, y)
        yield surface.figure


def _put(surface: Surface, block: _Block, area: Box, y: float) -> float:
    """Draw a block with its top at ``y``; where the next one goes."""
    block.draw(surface, Box(area.x, y - block.height, area.width, block.height))
    return y - block.height


def _blocks(plan: Plan, card: Card, area: Box) -> list[_Block]:
    """Everything on a recipe: the head, then for each side its pictures and its layers.

    The pictures of the front take what room the others leave.
    """
    front, *others = card_sides(plan, card)
    rest = [block for side in others for block in _side_blocks(plan, side, area.width, _SMALL_BAND)]
    head = _head(plan, card, area.width)
    band = min(_best_band(front, area.width), area.height - head.height)
    first = [head, *_side_blocks(plan, front, area.width, band)]
    for together in ([*first, *rest], first):  # on one page, or else the front on one
        spare = area.height - sum(block.height for block in together)
        if band + spare >= _LEAST_BAND:
            band = min(band, band + spare)
            break
    return [head, *_side_blocks(plan, front, area.width, band), *rest]


def _best_band(side: Side, width: float) -> float:
    """The height from which on the pictures of a side do not grow any more."""
    _, _, wide, high = extent(side)
    picture = min(width * _PICTURE / wide, MOST_OF_LIFE * LIFE) * high
    return max(picture, _EASY_LEVEL * len(side.layers) + 90.0) + HEADING * LEADING + 2 * _BETWEEN


def _head(plan: Plan, card: Card, width: float) -> _Block:
    """Say which card this is, how large, how many, and how the page is read."""
    number = f"recipe {plan.asked.cards.index(card) + 1} of {len(plan.asked.cards)}"
    beside = text_width(number, HEADING, bold=True) + 18
    unit = plan.asked.unit
    count = next(count for count in plan.cards if count.card == card.name)
    size = with_unit(format_size(card.width, card.height, unit), unit)
    reading = (
        f"{SIZES_IN[unit].capitalize()}; places from the card's left and bottom edges. "
        f"Small arrow: to the top of the print. {DRAWN_SMALLER.capitalize()}."
    )
    title = wrap(card.name, width - beside, TITLE, bold=True, most=2)
    lines, down = set_lines(title, TITLE, bold=True)
    said = wrap(f"{size}: {made_words(card, count)}", width, HEADING, bold=True)
    more, down = set_lines(said, HEADING, bold=True, down=down)
    last, down = set_lines(wrap(reading, width, SMALLEST), SMALLEST, down=down)
    lines += more + last

    def draw(surface: Surface, box: Box) -> None:
        down = TITLE * ASCENT
        surface.text(box.right, box.top - down, number, HEADING, bold=True, align="right")
        write_lines(surface, lines, box)

    return _Block(down + _BETWEEN, draw)


def _continued(card: Card, width: float) -> _Block:
    """The head of a further page."""
    lines = wrap(f"{isolated(card.name)}, recipe continued", width, BODY, most=1)
    texts, down = set_lines(lines, BODY)
    return _Block(down + _BETWEEN, lambda surface, box: write_lines(surface, texts, box))


def _side_blocks(plan: Plan, side: Side, width: float, band: float) -> Iterator[_Block]:
    """The pictures of a side, then a row for each layer from the base up."""
    layers = side.layers
    for first in range(0, max(1, len(layers)), _MOST_LEVELS):
        some = layers[first : first + _MOST_LEVELS]
        base = None if first else side.base
        yield _band(plan, side, some, base, max(band, _least_band(some)))
    if side.where == "outside":
        yield _base_row(plan, side, width)
    for number, layer in enumerate(layers, start=2 if side.where == "outside" else 1):
        yield _layer_row(plan, side.card, layer, number, width)


def _least_band(layers: tuple[CardLayer, ...]) -> float:
    """The height that so many levels need: less than a picture is no picture."""
    return LEVEL * len(layers) + 70.0


def _band(
    plan: Plan, side: Side, layers: tuple[CardLayer, ...], base: Piece | None, height: float
) -> _Block:
    """The picture of a side, and beside it some of its layers pulled apart."""
    name = SIDE_NAMES[side.where]

    def draw(surface: Surface, box: Box) -> None:
        middle = box.width * _PICTURE
        baseline = box.top - _BETWEEN - HEADING * ASCENT
        surface.text(box.x, baseline, name, HEADING, bold=True)
        surface.text(box.x + middle + _GUTTER, baseline, "Pulled apart", HEADING, bold=True)
        floor, ceiling = box.y + _BETWEEN, baseline - _BETWEEN
        room = ceiling - floor
        draw_side(surface, plan, side, Box(box.x, floor, middle, room), of_life=MOST_OF_LIFE)
        beside = Box(box.x + middle + _GUTTER, floor, box.width - middle - _GUTTER, room)
        draw_pulled_apart(surface, plan, side, layers, base, beside)

    return _Block(height, draw)


def _base_row(plan: Plan, side: Side, width: float) -> _Block:
    """The base: its size and score, its paper, and its flat shape with score line and grain."""
    base, unit = side.base, plan.asked.unit
    if base is None:
        words = format_size(side.card.width, side.card.height, unit)
        return _row(1, (), ("base", f"{words}, bought ready"), [], [], width)
    block = _row(
        1,
        letter_row(plan, base),
        ("base", piece_size(base, unit)),
        [fold_words(plan, side.card, base)],
        list(base_words(plan, side.card, base)),
        width,
        least=_FLAT_HEIGHT + _BETWEEN,
        beside=_FLAT_WIDTH + _BETWEEN,
    )

    def draw(surface: Surface, box: Box) -> None:
        block.draw(surface, box)
        low = box.top - _WHITE - _FLAT_HEIGHT
        flat = Box(box.right - _FLAT_WIDTH, low, _FLAT_WIDTH, _FLAT_HEIGHT)
        _draw_flat(surface, plan, base, flat)

    return _Block(block.height, draw)


def _layer_row(plan: Plan, card: Card, layer: CardLayer, number: int, width: float) -> _Block:
    """One layer: letter, name and size, where it goes, what it is made of."""
    unit = plan.asked.unit
    return _row(
        number,
        letter_row(plan, layer.piece),
        (layer.placed.layer.name, piece_size(layer.piece, unit)),
        list(place_words(layer, unit)),
        list(layer_words(plan, card, layer)),
        width,
    )


def _row(
    number: int,
    letter: Row,
    named: tuple[str, str],
    words: list[str],
    made_of: list[str],
    width: float,
    *,
    least: float = 0.0,
    beside: float = 0.0,
) -> _Block:
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

    return _Block(max(down, other, least, _WHITE + LETTER * LEADING) + 3.0, draw)


def _broken(texts: list[str], width: float) -> list[str]:
    """Texts broken into lines, each on a line of its own."""
    return [line for text in texts for line in wrap(text, width, BODY)]


def _draw_flat(surface: Surface, plan: Plan, base: Piece, area: Box) -> None:
    """The base laid flat, its outside up: the score line, which half is the front, the grain."""
    scale = min(area.width / base.width, area.height / base.height)
    width, height = base.width * scale, base.height * scale
    flat = Box(area.right - width, area.top - height, width, height)
    surface.box(flat, fill=fill_of(plan, base.paper), weight=_DRAWN)
    if base.score is None:
        return
    at = base.score.at * scale
    x, y = flat.centre
    if base.score.axis == "x":
        surface.line([(flat.x + at, flat.y), (flat.x + at, flat.top)], _DRAWN, dash=_SCORE)
        front, other, along = (flat.right - at / 2, y), (flat.x + at / 2, y), height
    else:
        surface.line([(flat.x, flat.y + at), (flat.right, flat.y + at)], _DRAWN, dash=_SCORE)
        front, other, along = (x, flat.y + at / 2), (x, flat.top - at / 2), width
    surface.text(front[0], front[1] - SMALLEST * 0.365, "front", SMALLEST, align="center")
    if base.grain is not None and along > GRAIN_LENGTH + 4:
        draw_grain(surface, other, upright=base.score.axis == "x")
