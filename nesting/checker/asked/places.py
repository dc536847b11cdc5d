"""Where the layers of a card lie, worked out again, and how far an aslant strip reaches."""

from cmath import exp, pi
from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import floor, sqrt
from typing import NamedTuple

from nesting.batch import ENVELOPE, ON_CARD, Card, Layer


class Shape(NamedTuple):
    """A layer on the card: its rectangle, or the disc in it, in nm.

    What lies aslant has the upright rectangle round its ``corners``, and its ``middle``. An aslant
    strip has the rectangle of what it lies on, and its ``reach``: how long it has to be to cover that.
    """

    x: int
    y: int
    width: int
    height: int
    is_round: bool = False
    corners: tuple[tuple[int, int], ...] = ()
    reach: int = 0
    middle: tuple[int, int] | None = None

    @property
    def is_aslant(self) -> bool:
        """Whether it has an angle."""
        return self.middle is not None


def shapes_of(card: Card) -> dict[str, Shape]:
    """The card itself, its envelope and its layers by name, from bottom to top."""
    shapes = {name: Shape(0, 0, *size) for name, size in ground_sizes(card).items()}
    for layer in card.layers:
        under = shapes[layer.over or ON_CARD]
        if layer.angle:
            shape = _aslant(layer, under)
        else:
            is_round, width, height = _size(layer, under)
            x, y = _place(layer, under, shapes[ground_under(layer)], width, height)
            shape = Shape(x, y, width, height, is_round)
        shapes[layer.name] = shape
    return shapes


def ground_sizes(card: Card) -> dict[str, tuple[int, int]]:
    """What layers lie on in the end: the card, and its envelope with the flap up, once it has a size."""
    sizes = {ON_CARD: (card.width, card.height)}
    one = card.envelope
    if one is not None and one.width is not None and one.height is not None and one.folds:
        sizes[ENVELOPE] = one.width, one.height + one.folds.top
    return sizes


def ground_under(layer: Layer) -> str:
    """The name of what is below all layers where this one lies."""
    return ENVELOPE if layer.where == "envelope" else ON_CARD


def _size(layer: Layer, under: Shape) -> tuple[bool, int, int]:
    """Whether a layer is round, and the width and height that it shows."""
    is_round, width, height = under.is_round, under.width, under.height
    if layer.reveal is not None:
        width -= layer.reveal.left + layer.reveal.right
        height -= layer.reveal.top + layer.reveal.bottom
        return is_round, width, height
    if layer.circle is not None:
        return True, layer.circle, layer.circle
    width = width if layer.width is None else layer.width
    height = height if layer.height is None else layer.height
    return False, width, height


def _place(layer: Layer, under: Shape, ground: Shape, width: int, height: int) -> tuple[int, int]:
    """Where a layer's lower left corner lies: as it says, else in the middle of what is below."""
    if layer.reveal is not None:
        return under.x + layer.reveal.left, under.y + layer.reveal.bottom
    x, y = under.x + (under.width - width) // 2, under.y + (under.height - height) // 2
    if under.middle is not None:
        x, y = (2 * under.middle[0] - width) // 2, (2 * under.middle[1] - height) // 2
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


def _aslant(layer: Layer, under: Shape) -> Shape:
    """A layer that has an angle, looked at with the card turned back by as much."""
    middle = complex(under.x + under.width / 2, under.y + under.height / 2)
    if under.middle is not None:
        middle = complex(*under.middle)
    if layer.at is not None and layer.at.centre is not None:
        middle = complex(*layer.at.centre)
    back = exp(1j * pi * layer.angle / 180_000)
    if layer.width is not None and layer.height is not None:
        half = complex(layer.width, layer.height) / 2
        corners = [middle + corner / back for corner in (half, half.conjugate())]
        corners += [2 * middle - corner for corner in corners]
        points = tuple((round(corner.real), round(corner.imag)) for corner in corners)
        left, low = (min(point[axis] for point in points) for axis in (0, 1))
        right, top = (max(point[axis] for point in points) for axis in (0, 1))
        own = round(middle.real), round(middle.imag)
        return Shape(left, low, right - left, top - low, corners=points, middle=own)
    if layer.height is None:  # its length runs upwards: lay it down
        back *= -1j
    wide = layer.height or layer.width or 0
    low_end, high_end = _ends(under, middle, back, wide / 2)
    seen = middle + (low_end + high_end) / 2 / back
    reach = floor(high_end - low_end + 0.3)  # as the planner rounds: no sum ends in 7/10 of a nm
    own = round(seen.real), round(seen.imag)
    return Shape(under.x, under.y, under.width, under.height, reach=reach, middle=own)


def _ends(under: Shape, middle: complex, back: complex, half: float) -> tuple[float, float]:
    """From where to where, turned back, what is below a strip reaches along it from its middle."""
    if under.is_round:
        radius = under.width / 2
        disc = (complex(under.x + radius, under.y + radius) - middle) * back
        off = max(0.0, abs(disc.imag) - half)
        chord = sqrt(max(0.0, (radius - off) * (radius + off)))
        return disc.real - chord, disc.real + chord
    right, top = under.x + under.width, under.y + under.height
    corners = [
        (complex(x, y) - middle) * back
        for x, y in ((under.x, under.y), (right, under.y), (right, top), (under.x, top))
    ]
    along = list(_along_band(corners, half))
    return (min(along), max(along)) if along else (0.0, 0.0)


def _along_band(corners: Sequence[complex], half: float) -> Iterator[float]:
    """How far along each side of a shape begins and ends to lie within a band about the middle line."""
    for here, there in pairwise([*corners, corners[0]]):
        rise = there.imag - here.imag
        if rise:
            first, last = sorted((edge - here.imag) / rise for edge in (-half, half))
        else:
            first, last = (0.0, 1.0) if abs(here.imag) <= half else (1.0, 0.0)
        first, last = max(first, 0.0), min(last, 1.0)
        if first <= last:
            yield from ((here + part * (there - here)).real for part in (first, last))


def lies_within(shape: Shape, under: Shape) -> bool:
    """Whether nothing of it reaches beyond what lies below; on what lies aslant, nothing is sure to."""
    if under.is_aslant:
        return False
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
    corners = shape.corners or [(x, y) for x in (shape.x, right) for y in (shape.y, top)]
    return all(
        (2 * x - middle_x) ** 2 + (2 * y - middle_y) ** 2 <= under.width**2 for x, y in corners
    )


def inner_of(shape: Shape, by: int) -> Shape | None:
    """What lies so far inside a shape; of what lies aslant, nothing is taken to be hidden."""
    width, height = shape.width - 2 * by, shape.height - 2 * by
    if width <= 0 or height <= 0 or shape.is_aslant:
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
