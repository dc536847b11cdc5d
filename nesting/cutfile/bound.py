"""The fewest sheets that any arrangement takes, whatever the blade can do."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, isqrt
from typing import Literal

from nesting.batch import Piece
from nesting.cutfile.shapes import shape_size

#: Just below and just above the circle's ratio: areas are rounded against the bound.
_PI = (Fraction(3_141_592_653_589_793, 10**15), Fraction(3_141_592_653_589_794, 10**15))


@dataclass(frozen=True, slots=True)
class LeastSheets:
    """A proven least number of whole sheets.

    ``by`` is the kind of proof. ``area``: each shape with half the gap round it takes its area
    (a circle its disc), and no point twice. ``large pieces``: no two of them go side by side or
    one above the other on a sheet.
    """

    value: int
    by: Literal["area", "large pieces"]


@dataclass(frozen=True, slots=True)
class Offer:
    """Sheets that pieces can be arranged on: the part of one that can be used, in nm, and how many.

    ``count`` None is without limit; ``free`` sheets (offcuts) are not counted.
    """

    width: int
    height: int
    count: int | None
    free: bool


def least_sheets(
    wanted: Sequence[tuple[Piece, int]], offers: Sequence[Offer], gap: int
) -> LeastSheets:
    """Prove how many whole sheets any arrangement needs, turned and nested in any way.

    Parameters
    ----------
    wanted
        The pieces and how many of each.
    offers
        What they can be cut from; every offcut counts as used to its last corner.
    gap
        Least distance between two shapes, in nm.

    Notes
    -----
    Shapes that are ``gap`` apart, each grown by half of it, share no area, and lie on the sheet
    grown by half of it. So the areas are those of the grown shapes (Steiner's formula:
    A + P g/2 + pi g²/4).
    """
    needed = sum((_grown_area(piece, gap) * count for piece, count in wanted), Fraction(0))
    room = [
        (offer.width * offer.height + (offer.width + offer.height) * gap + _PI[1] * gap**2 / 4)
        for offer in offers
    ]
    by_area = _fewest(needed, list(zip(offers, room, strict=True)))
    large = sum(count for piece, count in wanted if _is_large(piece, offers, gap))
    by_size = _fewest(Fraction(large), [(offer, Fraction(1)) for offer in offers])
    if by_size > by_area:
        return LeastSheets(by_size, "large pieces")
    return LeastSheets(by_area, "area")


def _fewest(needed: Fraction, offers: list[tuple[Offer, Fraction]]) -> int:
    """Free sheets first, then the roomiest: no choice among them holds more on fewer sheets."""
    sheets = 0
    for offer, room in sorted(offers, key=lambda one: (not one[0].free, -one[1])):
        if needed <= 0:
            break
        most = ceil(needed / room)
        used = most if offer.count is None else min(most, offer.count)
        needed -= used * room
        sheets += 0 if offer.free else used
    return sheets


def _grown_area(piece: Piece, gap: int) -> Fraction:
    """A shape's area with half the gap all round, in nm², never above the true one."""
    if piece.shape == "circle":
        return _PI[0] * (piece.width + gap) ** 2 / 4
    width, height = shape_size(piece, turned=False)
    return width * height + (width + height) * gap + _PI[0] * gap**2 / 4


def _is_large(piece: Piece, offers: Sequence[Offer], gap: int) -> bool:
    """Whether it takes more than half of every sheet both ways, however it lies.

    A circle counts as the largest square within it. Of two that are apart along both axes, one
    axis has at least the gap over the root of two between them.
    """
    apart = isqrt(gap**2 // 2)
    if piece.shape == "circle":
        sides = [(isqrt(piece.width**2 // 2),) * 2]
    else:
        sides = [shape_size(piece, turned=turned) for turned in piece.turns]
    return all(
        2 * width + apart > offer.width and 2 * height + apart > offer.height
        for width, height in sides
        for offer in offers
    )
