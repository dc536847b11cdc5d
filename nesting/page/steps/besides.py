"""What is found, or wanted besides, while a plan is cut: the batch with it."""

from collections.abc import Mapping

from nesting.files import STASH, InputError
from nesting.files.values import AS_MANY_AS_POSSIBLE
from nesting.page.folder.draft import Draft, pointer_of
from nesting.page.steps.showing import Said, Showing


def faults_of(draft: Draft) -> list[str]:
    """What is wrong, without the keys of the file."""
    said = Said(Showing("", 0, draft))
    return [words for pointer in draft.faults for words in said.at(pointer)]


def with_offcut(draft: Draft, fields: Mapping[str, str]) -> tuple[str, Draft]:
    """A draft with one more offcut of a paper, and what is said of it.

    Raises
    ------
    InputError
        There is no such paper.
    """
    paper, size = fields.get("paper", ""), fields.get("size", "").strip()
    pointer = pointer_of(("papers", paper))
    if draft.value(pointer) == STASH:  # this piece is not in it
        draft = draft.written_out(pointer)
    if not isinstance(draft.value(pointer), dict):
        raise InputError(f"{paper}; expected a paper of this batch")
    offcut = {"size": size, "have": "1", "offcut": "true"}
    return f"{paper}: {size} found", draft.with_entry(f"{pointer}/sheets", "", offcut)


def with_more(draft: Draft, fields: Mapping[str, str]) -> tuple[str, Draft]:
    """A draft with some more of a card, and what is said of it.

    Raises
    ------
    InputError
        That is no number, too large a one, or there is none to add to.
    """
    card, count = fields.get("card", ""), fields.get("count", "").strip()
    pointer = pointer_of(("cards", card, "make"))
    now = draft.value(pointer)
    if now == AS_MANY_AS_POSSIBLE:
        raise InputError(f"{card} is made as many as possible already")
    if not count.strip("0").isdecimal() or not str(now).isdecimal():
        raise InputError(f"{count or 'nothing'}; expected a number of cards")
    total = str(int(now) + int(count))
    changed = draft.with_field(pointer, total)
    if draft.batch is not None and changed.batch is None:
        raise InputError(*(f"{card} in all: {why}" for why in faults_of(changed)))
    return f"{count} more of {card}", changed
