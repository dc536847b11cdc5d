"""The fewest sheets that an arrangement takes, whatever the blade can do."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, isqrt
from typing import Literal

import numpy as np

from nesting.arrays import Whole
from nesting.cutfile.shapes import shape_size
from nesting.pieces import Piece

#: Just below and just above the circle's ratio: areas are rounded against the bound.
_PI = (Fraction(3_141_592_653_589_793, 10**15), Fraction(3_141_592_653_589_794, 10**15))


@dataclass(frozen=True, slots=True)
class LeastSheets:
    """A proven least number of whole sheets.

    ``by`` is the kind of proof. ``area``: shapes, each with half the gap round it (of a circle the
    disc), share no area; this holds however they are turned, the others for quarter turns, the only
    ones here. ``large pieces``: no two of them go side by side or one above the other on a sheet.
    ``lengths``: as ``area``, with lengths weighted so that what fits beside each other still does
    (dual feasible functions).
    """

    value: int
    by: Literal["area", "large pieces", "lengths"]


@dataclass(frozen=True, slots=True)
class SheetOffer:
    """Sheets that pieces can be arranged on: the part of one that can be used, in nm, and how many.

    ``count`` None is without limit; ``free`` sheets (offcuts) are not counted.
    """

    width: int
    height: int
    count: int | None
    free: bool


def least_sheets(
    wanted: Sequence[tuple[Piece, int]], offers: Sequence[SheetOffer], gap: int
) -> LeastSheets:
    """Prove how many whole sheets an arrangement needs, nested in any way.

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

    References
    ----------
    Fekete, S. P. and Schepers, J. (2004). "A general framework for bounds for higher-dimensional
    orthogonal packing problems", Mathematical Methods of Operations Research 60, section 3.
    """
    needed = sum((_grown_area(piece, gap) * count for piece, count in wanted), Fraction(0))
    room = [
        (offer.width * offer.height + (offer.width + offer.height) * gap + _PI[1] * gap**2 / 4)
        for offer in offers
    ]
    by_area = _fewest(needed, list(zip(offers, room, strict=True)))
    large = sum(count for piece, count in wanted if _is_large(piece, offers, gap))
    by_size = _fewest(Fraction(large), [(offer, Fraction(1)) for offer in offers])
    by_lengths = _by_lengths(wanted, offers, gap)
    proofs = (
        LeastSheets(by_area, "area"),
        LeastSheets(by_size, "large pieces"),
        LeastSheets(by_lengths, "lengths"),
    )
    return max(proofs, key=lambda proof: proof.value)


def _fewest(needed: Fraction, offers: list[tuple[SheetOffer, Fraction]]) -> int:
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


def _by_lengths(wanted: Sequence[tuple[Piece, int]], offers: Sequence[SheetOffer], gap: int) -> int:
    """The best bound by weighted lengths; 0 where sheets differ in size, or offcuts are there.

    A piece is worth the least of what it is in any way it may lie. Pieces apart along an axis have
    at least the gap over the root of two between them along one, so that much is added to each.
    """
    if len({(offer.width, offer.height) for offer in offers}) > 1 or any(o.free for o in offers):
        return 0
    apart = isqrt(gap**2 // 2)
    sizes = [_inner_sizes(piece) for piece, _ in wanted]
    ways = [[one[min(way, len(one) - 1)] for one in sizes] for way in (0, 1)]
    full = offers[0].width + apart, offers[0].height + apart
    across, along = (
        _length_functions(full[axis], [[size[axis] + apart for size in way] for way in ways])
        for axis in (0, 1)
    )
    demand = np.array([count for _, count in wanted], dtype=float)
    estimated, best = 0.0, 0
    for full_x, worth_x in across:
        for full_y, worth_y in along:
            products = (worth_x.astype(float) * worth_y).min(axis=0)
            estimate = float(products @ demand) / (float(full_x) * full_y)
            if estimate > estimated:  # only promising pairs are counted exactly
                estimated = estimate
                total = sum(
                    count * min(x * y for x, y in zip(xs, ys, strict=True))
                    for xs, ys, (_, count) in zip(
                        worth_x.T.tolist(), worth_y.T.tolist(), wanted, strict=True
                    )
                )
                best = max(best, -(-total // (full_x * full_y)))
    return best


def _inner_sizes(piece: Piece) -> list[tuple[int, int]]:
    """The rectangle within a shape in each way it may lie: all of it, or a circle's largest square."""
    if piece.shape == "circle":
        return [(isqrt(piece.width**2 // 2),) * 2]
    return [shape_size(piece, turned=turned) for turned in piece.turns]


def _is_large(piece: Piece, offers: Sequence[SheetOffer], gap: int) -> bool:
    """Whether it takes more than half of every sheet both ways, however it lies.

    A circle counts as the largest square within it. Of two that are apart along both axes, one
    axis has at least the gap over the root of two between them.
    """
    apart = isqrt(gap**2 // 2)
    return all(
        2 * width + apart > offer.width and 2 * height + apart > offer.height
        for width, height in _inner_sizes(piece)
        for offer in offers
    )


def _length_functions(full: int, lengths: list[list[int]]) -> list[tuple[int, Whole]]:
    """Dual feasible functions in integers: the value of the full length, and of each length.

    The identity; functions that let lengths beyond a threshold fill the row (Fekete and Schepers
    2004, section 3); functions that count multiples of a threshold, a half rounded up (Boschetti
    and Mingozzi 2003; Carlier, Clautiaux and Moukrim 2007).
    """
    each = np.array(lengths, dtype=np.int64)
    functions = [(full, each)]
    thresholds = np.unique(np.concatenate([each.ravel(), full - each.ravel() + 1]))
    for threshold in thresholds[(thresholds > 0) & (2 * thresholds <= full)]:
        step = int(threshold)
        filled = np.where(each > full - step, full, np.where(each < step, 0, each))
        functions.append((full, filled))
        counted = np.where(
            2 * each > full, 2 * (full // step - (full - each) // step), 2 * (each // step)
        )
        counted = np.where(2 * each == full, full // step, counted)
        functions.append((2 * (full // step), counted))
    kept: dict[bytes, tuple[int, Whole]] = {}
    for worth, values in functions:
        kept.setdefault(values.tobytes() + str(worth).encode(), (worth, values))
    return list(kept.values())
