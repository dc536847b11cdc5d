"""What a new entry of the batch starts from: sensible values, each there to be changed."""

from collections.abc import Mapping
from typing import Any

from nesting.page.folder.draft import Draft
from nesting.page.steps.layer_kinds import new_card, new_layer, new_piece, next_option
from nesting.units import Unit

_SHEET: dict[Unit, str] = {"in": "12 x 12", "mm": "A4", "cm": "A4"}


def new_paper(unit: Unit) -> dict[str, str]:
    """A paper as it is added."""
    return {"sheet": _SHEET[unit], "have": "1"}


def start_of(draft: Draft, fields: Mapping[str, str]) -> Any:
    """The starting value of what a form adds to the list or mapping at its ``pointer``.

    Raises
    ------
    LookupError
        Nothing can be added there.
    """
    path = draft.path(fields["pointer"])
    match path:
        case ("papers",):
            known = draft.file.at_hand and draft.file.at_hand(fields["name"].strip())
            return "stash" if known else new_paper(draft.unit)
        case ("papers", _, "sheets"):
            return {"size": _SHEET[draft.unit], "have": "0"}  # none is counted before it is said
        case ("cards",):
            return new_card(draft, fields["size"], lying=bool(fields.get("lies")))
        case ("cards", _, "layers"):
            return new_layer(draft, fields["pointer"], fields["kind"])
        case ("cards", _, "layers", int(), "paper", "one of"):
            return next_option(draft, fields["pointer"])
        case ("pieces",):
            return new_piece(draft)
    raise LookupError(fields["pointer"])
