"""Step 4: how many of each, and what holds for the whole batch."""

from typing import Any

from nesting.page.draft import pointer_of
from nesting.page.showing import Showing
from nesting.units import Unit

PREFER = {
    "easy-cutting": "the one that is easiest to cut",
    "big-offcut": "the one that leaves the largest offcut",
}
#: What holds where the file does not say, as ``nesting.files`` fills it in.
_LAP: dict[Unit, str] = {"in": "1/4", "mm": "6", "cm": "0.6"}
_KEEP_FROM: dict[Unit, str] = {
    "in": "1/2 x 4 and 2 x 2", "mm": "12 x 100 and 50 x 50", "cm": "1.2 x 10 and 5 x 5",
}  # fmt: skip
_SHOWN_ELSEWHERE = ("batch", "unit", "trimmer", "papers", "cards", "pieces")


def view(showing: Showing) -> dict[str, Any]:
    """What the step shows."""
    draft = showing.draft
    cards = [(name, pointer_of(("cards", name))) for name in draft.keys("/cards")]
    numbers = [draft.text_at(f"{at}/make") for _, at in cards]
    keys = [key for key in draft.file.data if key not in _SHOWN_ELSEWHERE]
    elsewhere = ("/cards", "/pieces", "/papers", "/trimmer", "/unit")
    faults = [
        one for one in draft.faults
        if one.endswith(("/make", "/at most", "/at least")) or not one.startswith(elsewhere)
    ]  # fmt: skip
    return {
        "cards": cards,
        "lap": _LAP[draft.unit],
        "keep_from": _KEEP_FROM[draft.unit],
        "keep_list": isinstance(draft.value("/keep from"), list),
        "preferences": PREFER,
        "sections": [pointer_of((key,)) for key in keys],
        "rare_fault": any(
            one.startswith(("/lap", "/keep from", "/prefer", "/spares")) for one in faults
        ),
        "answer": _answer(numbers, len(draft.keys("/pieces"))),
        "done": bool(cards or draft.keys("/pieces")) and not faults,
    }


def _answer(numbers: list[str], pieces: int) -> str:
    """The step in one line."""
    counted = sum(int(number) for number in numbers if number.isdecimal())
    words = [f"{counted} card{'' if counted == 1 else 's'}"] if numbers else ["no cards yet"]
    if pieces:
        words.append(f"{pieces} loose piece{'' if pieces == 1 else 's'}")
    return ", ".join(words)
