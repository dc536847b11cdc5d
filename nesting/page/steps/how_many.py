"""Step 4: how many of each, and what holds for the whole batch."""

from typing import Any

from nesting.cards.middles import frame_of
from nesting.files.batch_build import empty_batch
from nesting.files.values import AS_MANY_AS_POSSIBLE
from nesting.page.folder.draft import Draft, pointer_of
from nesting.page.steps.showing import Showing
from nesting.typed_lengths import typed_length, typed_size
from nesting.units import counted

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
_RARE = ("/lap", "/keep from", "/prefer", "/spares", "/first", "/save middles", "/frame")
#: The steps that show parts of the file; this one shows all others.
_SHOWN_IN = {
    "unit": "trimmer", "trimmer": "trimmer", "papers": "papers", "cards": "cards", "pieces": "cards",
}  # fmt: skip


def step_of(pointer: str) -> str:
    """The step that shows what is at a place of the file."""
    if pointer.endswith(("/make", "/at most", "/at least")):
        return "how_many"
    return _SHOWN_IN.get(f"{pointer}/".split("/")[1], "how_many")


def view(showing: Showing) -> dict[str, Any]:
    """What the step shows."""
    draft = showing.draft
    unit, names = draft.unit, draft.keys("/cards")
    usual = empty_batch("", unit)  # what holds where the file does not say
    cards = [_card(draft, name) for name in names]
    sections = [pointer_of((key,)) for key in draft.file.data]
    return {
        "cards": cards,
        "card_names": names,
        "possible": AS_MANY_AS_POSSIBLE,
        "limited": any(card["possible"] for card in cards) or draft.value("/aim") is not None,
        "aims": AIMS,
        "first_list": isinstance(draft.value("/first"), list),
        "lap": typed_length(usual.lap, unit),
        "middles": MIDDLES,
        "frame": typed_length(frame_of(usual), unit),
        "keep_from": " and ".join(typed_size(*size, unit) for size in usual.keep_from),
        "keep_list": isinstance(draft.value("/keep from"), list),
        "preferences": PREFER,
        "sections": [one for one in sections if step_of(one) == "how_many"],
        "rare_fault": draft.has_fault(*_RARE),
        "answer": _answer(cards),
        "done": bool(cards or draft.keys("/pieces"))
        and not any(step_of(fault) == "how_many" for fault in draft.faults),
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
