"""Envelopes that are sold: their names and sizes, and where these come from.

Lengths are in nm. An envelope lies with its longer side across, where its flap is.
"""

from typing import Literal, NamedTuple

from nesting.units import NANOMETRES, Unit

Source = Literal["ISO 269", "trade", "common practice, no source"]


class SoldEnvelope(NamedTuple):
    """An envelope of the shops; those without a name of their own go by their size."""

    name: str | None
    width: int
    height: int
    source: Source


def _table(step: int, *rows: tuple[str | None, int, int, Source]) -> tuple[SoldEnvelope, ...]:
    """Envelopes whose lengths are in steps of so many nm."""
    return tuple(SoldEnvelope(name, w * step, h * step, source) for name, w, h, source in rows)


#: In eighths of an inch. ``trade``: as pages on cards and envelopes agree on; no standard has them.
_INCHES = _table(
    NANOMETRES["in"] // 8,
    ("A1", 41, 29, "trade"),
    ("A2", 46, 35, "trade"),
    ("A6", 52, 38, "trade"),
    ("A7", 58, 42, "trade"),
    ("A8", 65, 44, "trade"),
    ("A9", 70, 46, "trade"),
    ("No. 6 3/4", 52, 29, "trade"),
    ("No. 9", 71, 31, "trade"),
    ("No. 10", 76, 33, "trade"),
    (None, 70, 30, "common practice, no source"),
    (None, 42, 42, "common practice, no source"),
    (None, 44, 44, "trade"),
    (None, 46, 46, "trade"),
    (None, 50, 50, "trade"),
    (None, 52, 52, "trade"),
)
#: In mm. ISO 269 is an older standard, whose sizes are those still sold.
_METRIC = _table(
    NANOMETRES["mm"],
    ("C7", 114, 81, "ISO 269"),
    ("C7/C6", 162, 81, "ISO 269"),
    ("C6", 162, 114, "ISO 269"),
    ("B6", 176, 125, "ISO 269"),
    ("C6/C5", 229, 114, "ISO 269"),
    ("DL", 220, 110, "ISO 269"),
    ("C5", 229, 162, "ISO 269"),
    ("B5", 250, 176, "ISO 269"),
    ("C4", 324, 229, "ISO 269"),
    (None, 184, 133, "trade"),
    (None, 155, 155, "common practice, no source"),
    (None, 160, 160, "common practice, no source"),
)


def envelopes_sold(unit: Unit) -> tuple[SoldEnvelope, ...]:
    """Every envelope of the table where lengths are in this unit."""
    return _INCHES if unit == "in" else _METRIC
