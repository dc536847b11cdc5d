"""Lengths, sizes and places as people type them: read into nanometres, written so that they read the same."""

import re
import unicodedata
from fractions import Fraction
from functools import lru_cache

from nesting.errors import NestingError
from nesting.units import (
    NAMED_SIZES,
    NANOMETRES,
    Unit,
    format_decimal,
    format_length,
    format_size,
    size_words,
    with_unit,
)

_SPELLINGS: dict[str, Unit] = {
    "in": "in", "inch": "in", "inches": "in", '"': "in", "″": "in", "”": "in", "''": "in", "’’": "in",
    "mm": "mm", "cm": "cm",
}  # fmt: skip

#: Names that cards and envelopes have in the trade, where they are sold by the inch, and that
#: ISO 216 gives to other sizes: the trade's first, upright, width and height in nm.
TWO_SIZES: dict[str, tuple[tuple[int, int], tuple[int, int]]] = {
    "A1": ((88_900_000, 123_825_000), (594_000_000, 841_000_000)),
    "A2": ((107_950_000, 139_700_000), (420_000_000, 594_000_000)),
    "A6": ((114_300_000, 158_750_000), (105_000_000, 148_000_000)),
    "A7": ((127_000_000, 177_800_000), (74_000_000, 105_000_000)),
    "A8": ((133_350_000, 200_025_000), (52_000_000, 74_000_000)),
    "A9": ((139_700_000, 215_900_000), (37_000_000, 52_000_000)),
}

_LENGTH = re.compile(
    r"""
    (?P<minus>[-−]\s*)?
    (?:
        (?:(?P<whole>\d+)(?:\s*[-‑–]\s*|\s+))?(?P<top>\d+)\s*/\s*(?P<bottom>\d+)
        | (?P<decimal>\d+(?:[.,]\d+)?|[.,]\d+)
    )
    """,
    re.VERBOSE,
)
_UNIT = re.compile(r"(?P<unit>inches|inch|in|mm|cm|''|’’|[\"″”])\.?$", re.IGNORECASE)
_FEET = re.compile(r"[\d.,/ ]+(?:'|′|’|ft\b|foot\b|feet\b)")
#: Beyond these it is no measure of paper, and a text of thousands of digits takes its time.
_MOST_CHARACTERS = 40
_MOST_NANOMETRES = 100_000_000_000
#: The finest marks a ruler has, to suggest a length by: in nm, and in words.
_FINEST: dict[Unit, tuple[int, str]] = {
    "in": (396_875, "64th"), "mm": (10_000, "0.01 mm"), "cm": (10_000, "0.01 mm"),
}  # fmt: skip
_EXPECTED = "a length such as 4 1/4, 4-1/4, 4.25, 17/4, 4¼, 108 mm or 10.8 cm"


class LengthError(NestingError, ValueError):
    """A text that is not a length: ``read`` is what was read, ``expected`` what would do."""

    def __init__(self, read: str, expected: str = _EXPECTED) -> None:
        shown = read if len(read) <= 60 else f"{read[:57]}…"
        super().__init__(f"{shown!r}; expected {expected}")
        self.read = read
        self.expected = expected


def _plain_fractions(text: str) -> str:
    """Spell vulgar fraction characters out: ``4¼`` is ``4 1/4``, never ``41/4``.

    Others stay as they are: the plain form of ``4²`` would be 42.
    """
    out = []
    for character in text:
        plain = unicodedata.normalize("NFKC", character)
        out.append(f" {plain} " if "\N{FRACTION SLASH}" in plain else character)
    return "".join(out).replace("\N{FRACTION SLASH}", "/").strip()


def _split_unit(text: str) -> tuple[str, Unit | None]:
    """The number part of a length text, and the unit it carries, if any."""
    match = _UNIT.search(text)
    if match is None:
        return text, None
    return text[: match.start()].strip(), _SPELLINGS[match["unit"].lower()]


def _number(text: str, read: str, expected: str = _EXPECTED) -> Fraction:
    """The exact value of a number text in any of the accepted forms, below zero after a minus."""
    match = _LENGTH.fullmatch(text)
    if match is None and _FEET.match(text):
        raise LengthError(read, "inches, of which a foot has 12")
    if match is None or len(text) > _MOST_CHARACTERS:
        raise LengthError(read, expected)
    sign = -1 if match["minus"] else 1
    if match["decimal"] is not None:
        if re.fullmatch(r"[1-9]\d{0,2},\d{3}", text):
            raise LengthError(
                read,
                f"a decimal point ({text.replace(',', '.')}) "
                f"or no separator of thousands ({text.replace(',', '')})",
            )
        return sign * Fraction("0" + match["decimal"].replace(",", "."))
    if int(match["bottom"]) == 0:
        raise LengthError(read, "a fraction whose lower number is not zero")
    fraction = Fraction(int(match["top"]), int(match["bottom"]))
    if match["whole"] is None:
        _refuse_run_together(match["top"], match["bottom"], read)
        return sign * fraction
    if fraction >= 1:
        raise LengthError(read, "a fraction of less than one after a whole number")
    return sign * (int(match["whole"]) + fraction)


def _refuse_run_together(top: str, bottom: str, read: str) -> None:
    """Refuse what may lack the space after its whole number: ``51/2``, but not ``17/4``."""
    whole, rest = divmod(int(top), int(bottom))
    for digits in range(1, len(top)) if whole else ():
        if top[digits] != "0" and int(top[digits:]) < int(bottom):
            exact = f"{whole} {rest}/{bottom}" if rest else str(whole)
            raise LengthError(read, f"{exact}, or {top[:digits]} {top[digits:]}/{bottom}")


def _nanometres(number: Fraction, unit: Unit, read: str) -> int:
    """Whole nanometres, or an error: a rounded length could hide a misfit."""
    exact = number * NANOMETRES[unit]
    if exact > _MOST_NANOMETRES:
        raise LengthError(read, "a length of at most 100 metres")
    if exact.denominator != 1:
        step, name = _FINEST[unit]
        nearest = format_length(step * max(1, round(exact / step)), unit)
        raise LengthError(
            read,
            f"a length that a ruler shows exactly, such as {nearest} {unit} (the nearest {name})",
        )
    return int(exact)


def _refuse_less(number: Fraction, read: str, what: str, *, or_zero: bool) -> None:
    """Refuse what is below zero, and zero itself where there has to be some length."""
    if number < 0 or not (number or or_zero):
        raise LengthError(read, f"{what} of {'zero or more' if or_zero else 'more than zero'}")


def parse_length(text: str, unit: Unit, *, or_zero: bool = True) -> int:
    """Read a length.

    Parameters
    ----------
    text
        ``4 1/4``, ``4-1/4``, ``4.25``, ``4,25``, ``17/4``, ``4¼``, each with or without a unit
        (``in``, ``"``, ``mm``, ``cm``).
    unit
        The unit of a text that carries none.
    or_zero
        Whether zero will do.

    Returns
    -------
    int
        Nanometres, zero or more.

    Raises
    ------
    LengthError
        The text is no length, is not a whole number of nanometres, is below zero or beyond 100 m.

    Examples
    --------
    >>> parse_length("4 1/4", "in") == parse_length("107.95 mm", "in") == 107_950_000
    True
    """
    written, own = _split_unit(_plain_fractions(text))
    number = _number(written, text)
    _refuse_less(number, text, "a length", or_zero=or_zero)
    return _nanometres(number, own or unit, text)


@lru_cache(maxsize=1_000)  # a batch repeats its few sizes many times
def parse_size(text: str, unit: Unit) -> tuple[int, int]:
    """Read a size ``W x H`` (also ``W × H``, ``W by H``), width first, or the name of one (``NAMED_SIZES``).

    A unit after the second length only holds for both: ``105 x 148 mm``. Capitals in a name do
    not matter.

    Returns
    -------
    tuple[int, int]
        Width and height in nanometres, both more than zero.

    Raises
    ------
    LengthError
        The text is no name and not two lengths, or one of them is not more than zero.

    Examples
    --------
    >>> parse_size("105 x 148 mm", "in")
    (105000000, 148000000)
    >>> parse_size("A4", "in") == parse_size("210 x 297 mm", "in")
    True
    """
    for name, size in NAMED_SIZES.items():
        if text.strip().lower() == name.lower():
            return size
        if name not in TWO_SIZES and name.lower() in text.lower().split():
            lying = size_words(size[1], size[0], "mm" if name.startswith("A") else "in")
            raise LengthError(text, f"{name}, which stands upright, or {lying} for one that lies")
    expected = "a size, width first, such as 4 1/4 x 5 1/2, 105 x 148 mm, A4 or letter"
    return _parse_pair(text, unit, expected, or_zero=False)


def parse_card_size(text: str, unit: Unit) -> tuple[int, int]:
    """Read a size as ``parse_size`` does, but no name that has a second meaning for cards.

    Raises
    ------
    LengthError
        The text is one of ``TWO_SIZES``, or no size.

    Examples
    --------
    >>> parse_card_size("A5", "in")
    (148000000, 210000000)
    """
    both = TWO_SIZES.get(text.strip().upper())
    if both is None:
        return parse_size(text, unit)
    (trade, iso) = both
    inches = " x ".join(format_decimal(Fraction(side, NANOMETRES["in"])) for side in iso)
    raise LengthError(
        text,
        f"width x height in numbers, for two sizes have this name: {format_size(*trade, 'in')} in "
        f"({format_size(*trade, 'mm')} mm) where cards are sold by the inch, and "
        f"{format_size(*iso, 'mm')} mm ({inches} in) in ISO 216",
    )


def parse_point(text: str, unit: Unit) -> tuple[int, int]:
    """Read a place ``X x Y``, the one from the left first; either may be zero.

    Raises
    ------
    LengthError
        The text is not two lengths, or one of them is below zero.

    Examples
    --------
    >>> parse_point("0 x 12 mm", "in")
    (0, 12000000)
    """
    expected = "a place, from the left first, such as 2 1/8 x 3"
    return _parse_pair(text, unit, expected, or_zero=True)


def _parse_pair(text: str, unit: Unit, expected: str, *, or_zero: bool) -> tuple[int, int]:
    """Two lengths; a unit written after the second only holds for both."""
    parts = re.split(r"\s*(?:[xX×]|by)\s*", _plain_fractions(text))
    if len(parts) != 2:
        raise LengthError(text, expected)
    (first, first_unit), (second, second_unit) = map(_split_unit, parts)
    if not first or not second:
        raise LengthError(text, expected)
    if first_unit and not second_unit:
        raise LengthError(text, "the unit after the second length, for both, or after each")
    width, height = _number(first, text, expected), _number(second, text, expected)
    for number in (width, height):
        _refuse_less(number, text, "two lengths", or_zero=or_zero)
    return (
        _nanometres(width, first_unit or second_unit or unit, text),
        _nanometres(height, second_unit or unit, text),
    )


def typed_length(length: int, unit: Unit) -> str:
    """Write a length as it is typed where this unit is usual; in mm where the unit has no short way.

    Examples
    --------
    >>> typed_length(3_175_000, "in"), typed_length(3_175_000, "mm"), typed_length(1, "in")
    ('1/8', '3.175 mm', '0.000001 mm')
    """
    text = format_length(length, unit)
    if "≈" not in text:
        return text
    whole, rest = divmod(length, NANOMETRES["mm"])
    return f"{whole}.{rest:06d}".rstrip("0") + " mm"


def typed_size(width: int, height: int, unit: Unit) -> str:
    """Write a size as it is typed where this unit is usual.

    Examples
    --------
    >>> typed_size(304_800_000, 304_800_000, "in"), typed_size(105_000_000, 148_000_001, "in")
    ('12 x 12', '105 mm x 148.000001 mm')
    """
    text = format_size(width, height, unit)
    if "≈" not in text:
        return text
    return f"{exact_length(width, unit)} x {exact_length(height, unit)}"


def exact_length(length: int, unit: Unit = "in") -> str:
    """Write a length with its unit, so that it reads as it is."""
    return with_unit(typed_length(length, unit), unit)


def exact_size(width: int, height: int, unit: Unit = "in") -> str:
    """Write a size with its unit, so that it reads as it is."""
    return with_unit(typed_size(width, height, unit), unit)
