"""Step 4: how many of each, and what holds for the whole batch."""

from typing import Any

from nesting.files.values import AS_MANY_AS_POSSIBLE
from nesting.page.folder.draft import Draft, pointer_of
from nesting.page.steps.showing import Showing
from nesting.units import Unit, counted

PREFER = {
    "easy-cutting": "easy cutting",
    "big-offcut": "one big offcut",
}
AIMS = {
    "most cards": "as many cards as I can get",
    "even": "as many of each as of the others",
}
MIDDLES = {
    "false": "stays in",
    "true": "may be cut out and used, where that saves a sheet",
}
#: What holds where the file does not say, as ``nesting.files`` fills it in.
_LAP: dict[Unit, str] = {"in": "1/4", "mm": "6", "cm": "0.6"}
_FRAME: dict[Unit, str] = {"in": "1/4", "mm": "6", "cm": "0.6"}
_KEEP_FROM: dict[Unit, str] = {
    "in": "1/2 x 4 and 2 x 2", "mm": "12 x 100 and 50 x 50", "cm": "1.2 x 10 and 5 x 5",
}  # fmt: skip
_RARE = ("lap", "keep from", "prefer", "spares", "first", "save middles", "frame")
_SHOWN_ELSEWHERE = ("batch", "unit", "trimmer", "papers", "cards", "pieces")


def view(showing: Showing) -> dict[str, Any]:
    """What the step shows."""
    draft = showing.draft
    names = draft.keys("/cards")
    cards = [_card(draft, name) for name in names]
    keys = [key for key in draft.file.data if key not in _SHOWN_ELSEWHERE]
    elsewhere = ("/cards", "/pieces", "/papers", "/trimmer", "/unit")
    faults = [
        one for one in draft.faults
        if one.endswith(("/make", "/at most", "/at least")) or not one.startswith(elsewhere)
    ]  # fmt: skip
    return {
        "cards": cards,
        "card_names": names,
        "possible": AS_MANY_AS_POSSIBLE,
        "limited": any(card["possible"] for card in cards) or draft.value("/aim") is not None,
        "aims": AIMS,
        "first_list": isinstance(draft.value("/first"), list),
        "lap": _LAP[draft.unit],
        "middles": MIDDLES,
        "frame": _FRAME[draft.unit],
        "keep_from": _KEEP_FROM[draft.unit],
        "keep_list": isinstance(draft.value("/keep from"), list),
        "preferences": PREFER,
        "sections": [pointer_of((key,)) for key in keys],
        "rare_fault": any(one.startswith(tuple(f"/{key}" for key in _RARE)) for one in faults),
        "answer": _answer(cards),
        "done": bool(cards or draft.keys("/pieces")) and not faults,
    }


def _card(draft: Draft, name: str) -> dict[str, Any]:
    """What is shown of a card."""
    here = pointer_of(("cards", name))
    make = draft.text_at(f"{here}/make")
    possible = make.strip().lower() == AS_MANY_AS_POSSIBLE
    limits = (draft.value(f"{here}/{key}") for key in ("at least", "at most"))
    return {
        "name": name,
        "at": here,
        "make": make,
        "possible": possible,
        "open": possible or any(limit is not None for limit in limits),
    }


def _answer(cards: list[dict[str, Any]]) -> str:
    """The step in one line."""
    number = sum(int(card["make"]) for card in cards if card["make"].isdecimal())
    possible = [card["name"] for card in cards if card["possible"]]
    words = [counted(number, "card")] if number or not possible else []
    words += [f"as many {name} as possible" for name in possible]
    return ", ".join(words) if cards else "no cards yet"
