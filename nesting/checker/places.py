"""Where the layers of a card lie, worked out again from what they say."""

from typing import NamedTuple

from nesting.batch import ENVELOPE, ON_CARD, Card, Layer
from nesting.checker.asked import ground_sizes, layer_sizes


class Shape(NamedTuple):
    """A layer on the card: its rectangle, or the disc in it, in nm."""

    x: int
    y: int
    width: int
    height: int
    is_round: bool


def shapes_of(card: Card) -> dict[str, Shape]:
    """The card itself, its envelope and its layers by name, from bottom to top."""
    shapes = {name: Shape(0, 0, *size, is_round=False) for name, size in ground_sizes(card).items()}
    for layer, (is_round, width, height) in zip(card.layers, layer_sizes(card), strict=True):
        under = shapes[layer.over or ON_CARD]
        x, y = _place(layer, under, shapes[ground_under(layer)], width, height)
        shapes[layer.name] = Shape(x, y, width, height, is_round)
    return shapes


def ground_under(layer: Layer) -> str:
    """The name of what is below all layers where this one lies."""
    return ENVELOPE if layer.where == "envelope" else ON_CARD


def _place(layer: Layer, under: Shape, ground: Shape, width: int, height: int) -> tuple[int, int]:
    """Where a layer's lower left corner lies: as it says, else in the middle of what is below."""
    if layer.reveal is not None:
        return under.x + layer.reveal.left, under.y + layer.reveal.bottom
    x, y = under.x + (under.width - width) // 2, under.y + (under.height - height) // 2
    at = layer.at
    if at is None:
        return x, y
    if at.centre is not None:
        return at.centre[0] - width // 2, at.centre[1] - height // 2
    if at.left is not None:
        x = at.left
    elif at.right is not None:
        x = ground.width - at.right - width
    if at.bottom is not None:
        y = at.bottom
    elif at.top is not None:
        y = ground.height - at.top - height
    return x, y


def lies_within(shape: Shape, under: Shape) -> bool:
    """Whether nothing of it reaches beyond what lies below."""
    right, top = shape.x + shape.width, shape.y + shape.height
    if not under.is_round:
        return (
            under.x <= shape.x
            and under.y <= shape.y
            and right <= under.x + under.width
            and top <= under.y + under.height
        )
    # All lengths doubled, so that the middles are whole.
    middle_x, middle_y = 2 * under.x + under.width, 2 * under.y + under.width
    if shape.is_round:
        off = (shape.x + right - middle_x) ** 2 + (shape.y + top - middle_y) ** 2
        return shape.width <= under.width and off <= (under.width - shape.width) ** 2
    far_x = max(abs(2 * shape.x - middle_x), abs(2 * right - middle_x))
    far_y = max(abs(2 * shape.y - middle_y), abs(2 * top - middle_y))
    return far_x**2 + far_y**2 <= under.width**2


def inner_of(shape: Shape, by: int) -> Shape | None:
    """What lies so far inside a shape."""
    width, height = shape.width - 2 * by, shape.height - 2 * by
    if width <= 0 or height <= 0:
        return None
    return Shape(shape.x + by, shape.y + by, width, height, shape.is_round)


def is_beside(window: Shape, shape: Shape) -> bool:
    """Whether a window has nothing of the inside of a shape."""
    right, top = window.x + window.width, window.y + window.height
    if not shape.is_round:
        return (
            right <= shape.x
            or shape.x + shape.width <= window.x
            or top <= shape.y
            or shape.y + shape.height <= window.y
        )
    middle_x, middle_y = 2 * shape.x + shape.width, 2 * shape.y + shape.width
    off_x = max(2 * window.x - middle_x, middle_x - 2 * right, 0)
    off_y = max(2 * window.y - middle_y, middle_y - 2 * top, 0)
    return off_x**2 + off_y**2 >= shape.width**2
