"""What the checker reports, and how it words lengths, sizes and uses."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from nesting.pieces import Use


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


def repeated(names: Iterable[str | int]) -> list[str | int]:
    """The names that occur more than once."""
    return [name for name, count in Counter(names).items() if count > 1]
