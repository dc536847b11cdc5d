"""Step 1: my trimmer and my units."""

from typing import Any

from nesting.files.batch_build import empty_batch
from nesting.page.steps.showing import Showing
from nesting.typed_lengths import LengthError, parse_length, typed_length
from nesting.units import Unit, length_words

UNITS: dict[Unit, str] = {"in": "inches", "mm": "millimetres", "cm": "centimetres"}
TRIMMER_KINDS = {
    "sliding": "a trimmer with a sliding blade",
    "rotary": "a rotary trimmer",
    "lever": "a lever or guillotine",
    "knife": "a knife and a ruler",
}
_USUAL_MARKS: dict[Unit, tuple[str, ...]] = {
    "in": ("1/8", "1/16", "1/32"), "mm": ("1", "0.5"), "cm": ("0.1", "0.05"),
}  # fmt: skip
_RARE = tuple(
    f"/trimmer/{key}"
    for key in ("kind", "narrowest hold", "cut width", "stack", "can stop", "repeat")
)


def view(showing: Showing) -> dict[str, Any]:
    """What the step shows."""
    draft = showing.draft
    unit = draft.unit
    usual = empty_batch("", unit).trimmer  # what it is where the file does not say
    marks = draft.text_at("/trimmer/marks") or typed_length(usual.marks, unit)
    longest = draft.text_at("/trimmer/longest cut")
    hand = draft.shown_at("/trimmer/hand")
    units = [one for one in UNITS if one != "cm" or unit == "cm"]
    length = f"cuts up to {_in_words(longest, unit)}" if longest else "cuts of any length"
    return {
        "units": {one: UNITS[one] for one in units},
        "marks": marks,
        "usual_marks": _USUAL_MARKS[unit],
        "hold": typed_length(usual.narrowest_hold, unit),
        "kinds": TRIMMER_KINDS,
        "rare_fault": draft.has_fault(*_RARE),
        "answer": f"{UNITS[unit]}, marks of {_in_words(marks, unit)}, {length}, {hand} hand",
        "done": bool(draft.keys("/papers")) and not draft.has_fault("/trimmer", "/unit"),
    }


def _in_words(text: str, unit: Unit) -> str:
    """A length as it was typed, with its unit written as elsewhere; what is none as it stands."""
    try:
        return length_words(parse_length(text, unit), unit)
    except LengthError:
        return text
