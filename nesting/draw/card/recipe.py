"""A page for each card design: the finished card, its layers pulled apart, how to assemble it.

A page is a column of blocks that are not split: what does not fit goes to a further page.
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from nesting.batch import Card
from nesting.draw.canvas.lettering import (
    ASCENT,
    BODY,
    HEADING,
    LEADING,
    SMALLEST,
    TITLE,
    isolated,
    text_width,
    wrap,
)
from nesting.draw.canvas.lines import set_lines, write_lines
from nesting.draw.canvas.surface import LETTER_PAGE, Box, Page, Surface, house_style
from nesting.draw.card.card_picture import LIFE, draw_side, side_extent
from nesting.draw.card.pulled_apart import LEVEL, draw_pulled_apart
from nesting.draw.card.recipe_rows import RecipeBlock, base_row, envelope_row, layer_row
from nesting.draw.card.recipe_words import (
    SIDE_NAMES,
    made_words,
    reading_words,
)
from nesting.draw.card.sides import CardLayer, Side, card_sides, gluing_order
from nesting.draw.sheet.view import MOST_OF_LIFE
from nesting.draw.sheet.words import mark_words
from nesting.needs import made_of
from nesting.pieces import Piece
from nesting.plan import Plan
from nesting.units import size_words

if TYPE_CHECKING:
    from matplotlib.figure import Figure

#: The least height of the pictures of a card's front, in points.
_LEAST_BAND = 150.0
#: The same where it is not the card's front.
_SMALL_BAND = 114.0
#: The part of the width that the picture of the card takes; a level's height at its ease.
_PICTURE, _EASY_LEVEL = 0.45, 40.0
#: The most layers pulled apart in one picture; more go into another.
_MOST_LEVELS = 24
_GUTTER = 14.0
_BETWEEN = 7.0
#: By how much a block may exceed its room: heights are sums of floats.
_SLIGHT = 0.01


def recipe_figures(plan: Plan, page: Page = LETTER_PAGE) -> "Iterator[Figure]":
    """Draw a recipe for each card design that a plan completes, on as many pages as it needs.

    Yields
    ------
    matplotlib.figure.Figure
        One figure for each page.
    """
    for card in _cards_made(plan):
        yield from _card_pages(plan, card, page)


def _card_pages(plan: Plan, card: Card, page: Page) -> "Iterator[Figure]":
    """The pages of one design: its blocks from the top, a short head on each further page."""
    foot = mark_words(plan)
    with house_style():
        surface = Surface(page, foot)
        area = surface.print_area
        y = area.top
        for block in _blocks(plan, card, area):
            if y - block.height < area.y - _SLIGHT and y < area.top:
                yield surface.figure
                surface, y = Surface(page, foot), area.top
                y = _put(surface, _continued(card, area.width), area, y)
            y = _put(surface, block, area, y)
        yield surface.figure


def _put(surface: Surface, block: RecipeBlock, area: Box, y: float) -> float:
    """Draw a block with its top at ``y``; return where the next one begins."""
    block.draw(surface, Box(area.x, y - block.height, area.width, block.height))
    return y - block.height


def _blocks(plan: Plan, card: Card, area: Box) -> list[RecipeBlock]:
    """Everything on a recipe: the head, then for each side its pictures and its layers.

    The pictures of the front take what room the others leave.
    """
    front, *others = card_sides(plan, card)
    rest = [block for side in others for block in _side_blocks(plan, side, area.width, _SMALL_BAND)]
    if card.envelope is not None and all(side.where != "envelope" for side in others):
        before = others[-1] if others else front
        number = len(before.layers) + (2 if before is front else 1)
        rest.append(envelope_row(plan, card, number, area.width))
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
    """The height beyond which the pictures of a side do not grow."""
    _, _, wide, high = side_extent(side)
    picture = min(width * _PICTURE / wide, MOST_OF_LIFE * LIFE) * high
    return max(picture, _EASY_LEVEL * len(side.layers) + 90.0) + HEADING * LEADING + 2 * _BETWEEN


def _cards_made(plan: Plan) -> list[Card]:
    """The designs with a complete card or spare set."""
    made = {one.name for one in made_of(plan) if one.complete and one.kind != "loose piece"}
    return [card for card in plan.asked.cards if card.name in made]


def _head(plan: Plan, card: Card, width: float) -> RecipeBlock:
    """Say which card this is, how large, how many, and how the page is read."""
    made = _cards_made(plan)
    number = f"recipe {made.index(card) + 1} of {len(made)}"
    beside = text_width(number, HEADING, bold=True) + 18
    unit = plan.asked.unit
    size = size_words(card.width, card.height, unit)
    reading = reading_words(plan, card_sides(plan, card))
    title = wrap(card.name, width - beside, TITLE, bold=True, most=2)
    lines, down = set_lines(title, TITLE, bold=True)
    said = wrap(f"{size}: {made_words(plan, card)}", width, HEADING, bold=True)
    more, down = set_lines(said, HEADING, bold=True, down=down)
    last, down = set_lines(wrap(reading, width, SMALLEST), SMALLEST, down=down)
    lines += more + last

    def draw(surface: Surface, box: Box) -> None:
        down = TITLE * ASCENT
        surface.text(box.right, box.top - down, number, HEADING, bold=True, align="right")
        write_lines(surface, lines, box)

    return RecipeBlock(down + _BETWEEN, draw)


def _continued(card: Card, width: float) -> RecipeBlock:
    """The head of a further page."""
    lines = wrap(f"{isolated(card.name)}, recipe continued", width, BODY, most=1)
    texts, down = set_lines(lines, BODY)
    return RecipeBlock(down + _BETWEEN, lambda surface, box: write_lines(surface, texts, box))


def _side_blocks(plan: Plan, side: Side, width: float, band: float) -> Iterator[RecipeBlock]:
    """The pictures of a side, then a row for each layer in the order of gluing."""
    layers = side.layers
    for first in range(0, max(1, len(layers)), _MOST_LEVELS):
        some = layers[first : first + _MOST_LEVELS]
        base = None if first else side.base
        yield _band(plan, side, some, base, max(band, _least_band(some)))
    if side.where == "outside":
        yield base_row(plan, side, width)
    if side.where == "envelope":
        card = next(one for one in plan.asked.cards if one.name == side.card.name)
        yield envelope_row(plan, card, 1, width)
    start = 2 if side.where in ("outside", "envelope") else 1
    for number, layer in enumerate(gluing_order(layers), start=start):
        yield layer_row(plan, side.card, layer, number, width)


def _least_band(layers: tuple[CardLayer, ...]) -> float:
    """The least height for a picture of this many levels."""
    return LEVEL * len(layers) + 70.0


def _band(
    plan: Plan, side: Side, layers: tuple[CardLayer, ...], base: Piece | None, height: float
) -> RecipeBlock:
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

    return RecipeBlock(height, draw)
