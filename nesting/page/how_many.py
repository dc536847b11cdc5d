"""Step 4: how many of each."""

from typing import Any

from nesting.page.draft import pointer_of
from nesting.page.showing import Showing


def view(showing: Showing) -> dict[str, Any]:
    """What the step shows."""
    draft = showing.draft
    cards = [
        {"name": name, "make": pointer_of(("cards", name, "make"))} for name in draft.keys("/cards")
    ]
    numbers = [draft.value(card["make"]) or "" for card in cards]
    total = sum(int(number) for number in numbers if number.isdecimal())
    faults = [card for card in cards if card["make"] in draft.faults]
    return {
        "cards": cards,
        "answer": f"{total} card{'' if total == 1 else 's'}" if cards else "no cards yet",
        "done": bool(cards) and not faults,
    }
