"""What is made, from few sheets, and with few layers cut as two ends."""

from contextlib import suppress

from nesting.pack.model.deadline import TimeIsUpError, is_late
from nesting.pack.shortage.allocation import Allocation
from nesting.pack.shortage.card_bounds import card_values
from nesting.pack.shortage.goals import Wish
from nesting.pack.shortage.short_papers import Shortage
from nesting.pack.shortage.solve_cards import (
    fewest_sheets,
    fewest_target,
    search_for,
    values_of_few,
)

#: The most rounds of column generation.
_PRICINGS = 200


def few_sheets_and_joints(
    shortage: Shortage, made: dict[Wish, int], price: int, seed: str
) -> Allocation | None:
    """What is made, from few sheets within a price, and of these with few joints.

    None where no layer may be joined, or nothing was found.
    """
    if not shortage.joints:
        return None
    _generate(shortage, made, price, None)
    few = fewest_sheets(shortage, made, price)
    if few is None or not any(few.cut[use] for way in shortage.joints for use in way):
        return few
    sheets = sum(used.count for own in few.sheets.values() for used in own)
    _generate(shortage, made, price, sheets)
    few = fewest_sheets(shortage, made, price, sheets) or few
    target = None if is_late() else fewest_target(shortage, made, price, sheets)
    if target is None or target.cut == few.cut:
        return few
    search_for(shortage, target, f"{seed}/joints")
    return fewest_sheets(shortage, made, price, sheets) or few


def _generate(shortage: Shortage, made: dict[Wish, int], price: int, sheets: int | None) -> None:
    """Column generation for ``fewest_sheets``: it takes other patterns than to make most, or at least cost."""
    with suppress(TimeIsUpError):
        for _ in range(_PRICINGS):
            duals = None if is_late() else values_of_few(shortage, made, price, sheets)
            if duals is None:
                return
            shortage.fill_tables(card_values(duals))
            if not shortage.take_priced(shortage.tables):
                return
