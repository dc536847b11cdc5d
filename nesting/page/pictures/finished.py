"""The pictures of a finished card of a plan, for the screen: the same as on its recipe page."""

from nesting.batch import Card
from nesting.draw.canvas.surface import Box
from nesting.draw.card.card_picture import LIFE, draw_side, side_extent
from nesting.draw.card.sides import Side, card_sides
from nesting.page.pictures.card_svg import SIDES
from nesting.page.pictures.screen import ScreenSurface
from nesting.plan import Plan
from nesting.units import size_words

_MOST, _WHITE = 260.0, 6.0


def finished_pictures(plan: Plan, card: Card) -> dict[str, str]:
    """Draw each side of a card that has layers, as SVG, with the letters of its pieces."""
    return {SIDES[side.where]: _picture(plan, side) for side in card_sides(plan, card)}


def _picture(plan: Plan, side: Side) -> str:
    _, _, width, height = side_extent(side)
    scale = min(LIFE, _MOST / max(width, height))
    surface = ScreenSurface(width * scale + 2 * _WHITE, height * scale + 2 * _WHITE)
    area = Box(0, 0, surface.width, surface.height).inset(_WHITE)
    draw_side(surface, plan, side, area)
    unit, card = plan.asked.unit, side.card
    size = size_words(card.width, card.height, unit)
    pieces = ", ".join(f"{one.letters} {one.placed.layer.name}" for one in side.layers)
    return surface.svg(f"{card.name}, {size}, {SIDES[side.where]}: {pieces or 'no layers'}")
