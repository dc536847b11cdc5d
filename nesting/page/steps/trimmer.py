"""Step 1: my trimmer and my units."""

from typing import Any

from nesting.page.steps.showing import Showing
from nesting.typed_lengths import LengthError, parse_length
from nesting.units import Unit, length_words

UNITS: dict[Unit, str] = {"in": "inches", "mm": "millimetres", "cm": "centimetres"}
TRIMMER_KINDS = {
    "sliding": "a trimmer with a sliding blade",
    "rotary": "a rotary trimmer",
    "lever": "a lever or guillotine",
    "knife": "a knife and a ruler",
}
#: What a trimmer is where the file does not say, as ``nesting.files`` fills it in.
_MARKS: dict[Unit, str] = {"in": "1/16", "mm": "1", "cm": "0.1"}
_HOLD: dict[Unit, str] = {"in": "1/2", "mm": "12", "cm": "1.2"}
_USUAL_MARKS: dict[Unit, tuple[str, ...]] = {
    "in": ("1/8", "1/16", "1/32"), "mm": ("1", "0.5"), "cm": ("0.1", "0.05"),
}  # fmt: skip
_RARE = ("kind", "narrowest hold", "cut width", "stack", "can stop", "repeat")


def view(showing: Showing) -> dict[str, Any]:
    """What the step shows."""
    draft = showing.draft
    unit = draft.unit
    marks = draft.text_at("/trimmer/marks") or _MARKS[unit]
    longest = draft.text_at("/trimmer/longest cut")
    hand = draft.shown_at("/trimmer/hand")
    units = [one for one in UNITS if one != "cm" or unit == "cm"]
    length = f"cuts up to {_in_words(longest, unit)}" if longest else "cuts of any length"
    rare = {f"/trimmer/{key}" for key in _RARE}
    faults = [one for one in draft.faults if one.startswith(("/trimmer", "/unit"))]
    return {
        "units": {one: UNITS[one] for one in units},
        "marks": marks,
        "usual_marks": _USUAL_MARKS[unit],
        "hold": _HOLD[unit],
        "kinds": TRIMMER_KINDS,
        "rare_fault": any(fault in rare for fault in faults),
        "answer": f"{UNITS[unit]}, marks of {_in_words(marks, unit)}, {length}, {hand} hand",
        "done": not faults and bool(draft.keys("/papers")),
    }


def _in_words(text: str, unit: Unit) -> str:
    """A length as it was typed, with its unit written as elsewhere; what is none as it stands."""
    try:
        return length_words(parse_length(text, unit), unit)
    except LengthError:
        return text
