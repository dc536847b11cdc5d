"""Units, and how lengths, sizes and other numbers are said.

Lengths are whole nanometres everywhere inside: 1/64 in is 396 875 nm and 0.01 mm is 10 000 nm,
so an exact fit is exact, equality is ``==`` and nothing needs a tolerance. What is said here may be
rounded, and then says so; ``typed_lengths`` reads lengths, and writes them so that they read the same.
"""

from collections.abc import Sequence
from fractions import Fraction
from typing import Literal

Unit = Literal["in", "mm", "cm"]

#: Nanometres in one of each unit; 1 in = 25.4 mm exactly (international inch of 1959).
NANOMETRES: dict[Unit, int] = {"in": 25_400_000, "mm": 1_000_000, "cm": 10_000_000}

#: Sizes of paper that go by a name, upright, width and height in nm: ISO 216, and size A of
#: ANSI/ASME Y14.1.
NAMED_SIZES: dict[str, tuple[int, int]] = {
    "A3": (297_000_000, 420_000_000),
    "A4": (210_000_000, 297_000_000),
    "A5": (148_000_000, 210_000_000),
    "A6": (105_000_000, 148_000_000),
    "A7": (74_000_000, 105_000_000),
    "letter": (215_900_000, 279_400_000),
}


def format_length(length: int, unit: Unit) -> str:
    """Write a length without its unit, the way the trade writes it.

    Inches are reduced fractions where a ruler could have them, else decimals as far as 0.01 in.
    What is neither (105 mm in inches is 4 17/127) is written in mm, unit and all. Decimals of mm go
    as far as 0.01 mm; ``≈`` stands before a length that needs more.

    Examples
    --------
    >>> format_length(133_350_000, "in"), format_length(133_350_000, "mm")
    ('5 1/4', '133.35')
    >>> format_length(105_000_000, "in"), format_length(3_175_000, "mm")
    ('105 mm', '≈3.18')
    """
    value = Fraction(length, NANOMETRES[unit])
    if unit == "in" and value.denominator in (1, 2, 4, 8, 16, 32, 64, 128):
        whole, rest = divmod(value, 1)
        if not rest:
            return str(whole)
        return f"{whole} {rest}" if whole else str(rest)
    if unit == "in" and 100 % value.denominator:
        return f"{format_decimal(Fraction(length, NANOMETRES['mm']))} mm"
    return format_decimal(value, 3 if unit == "cm" else 2)


def format_decimal(value: Fraction, places: int = 2) -> str:
    """At most so many decimals, with a sign before a value that has more."""
    whole, rest = divmod(round(value * 10**places), 10**places)
    text = f"{whole}.{rest:0{places}d}".rstrip("0").rstrip(".")
    return text if Fraction(text) == value else f"≈{text}"


def format_size(width: int, height: int, unit: Unit) -> str:
    """Write a size ``W x H`` without its unit, width first.

    Where a length has to be in mm, both have a unit, or share it.

    Examples
    --------
    >>> format_size(107_950_000, 139_700_000, "in")
    '4 1/4 x 5 1/2'
    >>> format_size(105_000_000, 148_000_000, "in"), format_size(105_000_000, 127_000_000, "in")
    ('105 x 148 mm', '105 mm x 5 in')
    """
    first, second = format_length(width, unit), format_length(height, unit)
    if first.endswith(" mm") and second.endswith(" mm"):
        first = first.removesuffix(" mm")
    elif first.endswith(" mm") or second.endswith(" mm"):
        first, second = with_unit(first, unit), with_unit(second, unit)
    return f"{first} x {second}"


def format_area(area: Fraction, unit: Unit) -> str:
    """Write an area in nm² with its unit, in square inches or square centimetres.

    Examples
    --------
    >>> format_area(Fraction(49 * 25_400_000**2), "in"), format_area(Fraction(21 * 10**13), "mm")
    ('49 sq in', '2.1 sq cm')
    """
    side = NANOMETRES["in" if unit == "in" else "cm"]
    return f"{format_decimal(area / side**2, 1)} sq {'in' if unit == 'in' else 'cm'}"


def format_share(share: float) -> str:
    """Write a share of 1 in percent, to a tenth where it is not whole.

    Examples
    --------
    >>> format_share(0.875), format_share(0.0004)
    ('87.5 %', '0 %')
    """
    return f"{100 * share:z.1f}".removesuffix(".0") + " %"


def format_angle(angle: int) -> str:
    """Write an angle in thousandths of a degree, the way it turns in words.

    Examples
    --------
    >>> format_angle(30_000), format_angle(-22_500)
    ('30° clockwise', '22.5° anticlockwise')
    """
    way = "anticlockwise" if angle < 0 else "clockwise"
    return f"{format_decimal(Fraction(abs(angle), 1000), 3)}° {way}"


def counted(count: int, thing: str) -> str:
    """Say a number of things: ``1 sheet``, ``2 sheets``."""
    return f"{count} {thing}" if count == 1 else f"{count} {thing}s"


def or_plenty(count: int | None) -> str:
    """Say a number of sheets; None is plenty."""
    return "plenty" if count is None else str(count)


def enumerated(items: Sequence[str]) -> str:
    """Say several things in a row.

    Examples
    --------
    >>> enumerated(["left", "right"]), enumerated(["left", "right", "top"])
    ('left and right', 'left, right and top')
    """
    return " and ".join(filter(None, (", ".join(items[:-1]), items[-1])))


def with_unit(text: str, unit: Unit) -> str:
    """Add the unit to a length or size as written by this module, unless it carries its own."""
    return text if text.endswith((" mm", " in", " cm")) else f"{text} {unit}"


def length_words(length: int, unit: Unit) -> str:
    """Write a length with its unit, and with a sign where it is below zero.

    Examples
    --------
    >>> length_words(133_350_000, "in"), length_words(-3_175_000, "in")
    ('5 1/4 in', '-1/8 in')
    """
    sign = "-" if length < 0 else ""
    return sign + with_unit(format_length(abs(length), unit), unit)


def size_words(width: int, height: int, unit: Unit) -> str:
    """Write a size with its unit, and with signs where a length is below zero.

    Examples
    --------
    >>> size_words(107_950_000, 139_700_000, "in"), size_words(105_000_000, 148_000_000, "in")
    ('4 1/4 x 5 1/2 in', '105 x 148 mm')
    """
    if width < 0 or height < 0:
        return f"{length_words(width, unit)} x {length_words(height, unit)}"
    return with_unit(format_size(width, height, unit), unit)


def neighbouring_marks(length: int, marks: int) -> tuple[int, int]:
    """The ruler marks at or below and at or above a length; equal where it is on a mark.

    Examples
    --------
    >>> neighbouring_marks(148_500_000, 1_000_000)
    (148000000, 149000000)
    """
    below = length - length % marks
    return below, below if below == length else below + marks
