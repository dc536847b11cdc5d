"""Where a layer can be dragged to: the ruler's marks, and what is written for each."""

from collections.abc import Collection
from functools import lru_cache
from typing import Literal

from nesting.batch import Card
from nesting.cards.placing import PlacedLayer
from nesting.page.pictures.card_svg import Marks, Moves
from nesting.papers import Axis
from nesting.typed_lengths import typed_length
from nesting.units import Unit

#: From which of the card's edges, or to which point of the layer, a place is measured.
_From = Literal["low", "high", "centre"]
_MOST_MARKS = 2_000

_typed = lru_cache(maxsize=5_000)(typed_length)  # the same marks again with every change


def moves_of(
    placed: PlacedLayer, card: Card, pointer: str, keys: Collection[str], marks: int, unit: Unit
) -> Moves | None:
    """Where a layer can be moved on its card; None where its place is not free.

    Parameters
    ----------
    pointer, keys
        Of the layer's ``at`` in the file, and what stands in that: the edges it is measured from.
    marks
        From one of the ruler's marks to the next, in nm.
    """
    if placed.layer.reveal is not None:
        return None

    def along(axis: Axis, low: str, high: str) -> Marks:
        measured: _From = "high" if high in keys else "low"
        key = high if high in keys else low
        if "centre" in keys or placed.slant:
            measured, key = "centre", "centre"
        return _marks(f"{pointer}/{key}", axis, measured, placed, card, marks, unit)

    return Moves(along("x", "left", "right"), along("y", "bottom", "top"))


def _marks(
    pointer: str,
    axis: Axis,
    measured: _From,
    placed: PlacedLayer,
    card: Card,
    apart: int,
    unit: Unit,
) -> Marks:
    """The marks along one axis, from the card's low edge to its high one."""
    size = placed.width if axis == "x" else placed.height
    whole = card.width if axis == "x" else card.height
    here = placed.x if axis == "x" else placed.y
    if placed.slant:  # it is put by its centre, which alone moves as it is dragged
        size, here = 0, placed.slant.centre[0 if axis == "x" else 1]
    apart *= max(1, -(-whole // (apart * _MOST_MARKS)))
    if measured == "centre":
        low, high = size // 2, max(size // 2, whole - size // 2)
    else:
        low, high = 0, max(0, whole - size)
    values = list(range(-(-low // apart) * apart, high + 1, apart)) or [low]
    if measured == "high":
        values.reverse()
    first = values[0] - size // 2 if measured == "centre" else values[0]
    if measured == "high":
        first = whole - size - values[0]
    return Marks(pointer, first - here, apart, [_typed(value, unit) for value in values])
