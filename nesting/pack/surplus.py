"""Nothing is cut beyond the demand: blanks that nobody asked for are taken out again."""

from dataclasses import replace

from nesting.pack.content import counts, without_one
from nesting.pack.fill import Filled


def without_surplus(filled: list[Filled], demand: tuple[int, ...]) -> list[Filled]:
    """Take out the blanks beyond the demand, so that what they took becomes offcuts.

    Where it can be, the same blanks go from all sheets of a layout, so that they stay alike.
    """
    filled = list(filled)
    for kind, needed in enumerate(demand):
        surplus = -needed
        for one in filled:
            surplus += counts(one.content, len(demand))[kind] * one.alike
        while surplus > 0:
            number = _thin_first(filled, kind, surplus, len(demand))
            one = filled.pop(number)
            alike = min(one.alike, surplus)
            if alike < one.alike:
                filled.append(replace(one, alike=one.alike - alike))
            content = without_one(one.content, kind)
            if content is not None:
                filled.append(replace(one, content=content, alike=alike))
            surplus -= alike
    return filled


def _thin_first(filled: list[Filled], kind: int, surplus: int, kinds: int) -> int:
    """Which layout loses a blank: one that stays whole if it can be, else the one that has fewest."""
    holding = [n for n, one in enumerate(filled) if counts(one.content, kinds)[kind]]

    def order(number: int) -> tuple[bool, int, int]:
        one = filled[number]
        return one.alike > surplus, sum(counts(one.content, kinds)), -one.alike

    return min(holding, key=order)
