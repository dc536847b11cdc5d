"""What the checker reports, and how it words lengths, sizes and uses."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from nesting.pieces import Use
from nesting.units import Unit, format_length, format_size, with_unit


@dataclass(frozen=True, slots=True)
class PlanFault:
    """One thing wrong in a plan.

    ``rule`` is a short stable name, ``where`` such as "layout 2, blank A", ``said`` one sentence.
    """

    rule: str
    where: str
    said: str


def named_use(use: Use) -> str:
    """What a piece is for: "windfall, mat", or the name of a loose piece."""
    return layer_name(use) if use.card is None else f"{use.card}, {layer_name(use)}"


def layer_name(use: Use) -> str:
    """The layer that a piece is for, and which end of it where it is one."""
    return use.layer if use.end is None else f"{use.layer}, {use.end} end"


def length_words(length: int, unit: Unit) -> str:
    """A length with its unit; with a sign if negative, as a plan may say anything."""
    sign = "-" if length < 0 else ""
    return sign + with_unit(format_length(abs(length), unit), unit)


def size_words(width: int, height: int, unit: Unit) -> str:
    """A size with its unit; with signs if negative."""
    if width < 0 or height < 0:
        return f"{length_words(width, unit)} x {length_words(height, unit)}"
    return with_unit(format_size(width, height, unit), unit)


def repeated(names: Iterable[str | int]) -> list[str | int]:
    """The names that occur more than once."""
    return [name for name, count in Counter(names).items() if count > 1]
