"""What the sheet is drawn up from: the batch, and what is known beside it."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from nesting.page.folder.draft import Draft, is_in
from nesting.page.pictures.prints import Photos


@dataclass(frozen=True, slots=True)
class Refusal:
    """What was typed and could not be done, and why."""

    typed: str
    why: str


@dataclass(frozen=True, slots=True)
class Showing:
    """A batch file as it is shown.

    ``photos`` are the addresses of photos by paper and face, ``stash`` the names of its papers.
    ``unfolded`` is the step or the pointer of the entry that is open in any case, ``card`` the name
    of the card that is worked on. What could not be done is in ``refused``, by the field's name.
    """

    file: str
    version: int
    draft: Draft
    photos: Photos = field(default_factory=dict)
    stash: tuple[str, ...] = ()
    unfolded: str = ""
    card: str = ""
    refused: Mapping[str, Refusal] = field(default_factory=dict)


class Said:
    """Hands out what is wrong to the fields it belongs to, each once, and knows what is shown."""

    def __init__(self, showing: Showing) -> None:
        self.draft = showing.draft
        self.refused = showing.refused
        self.shown: set[str] = set()

    def at(self, name: str) -> list[str]:
        """What is wrong with a field, and what in it may not be meant; it counts as shown.

        The field has a label in place of the file's key.
        """
        key = name.rpartition("/")[2]
        missing = re.compile(f"^(no {re.escape(repr(key))}.*?|{re.escape(key)}: ''); ")
        told = [missing.sub("nothing; ", one) for one in self._told(name)]
        return [one.replace(f"{key}: ", "") for one in told]

    def _told(self, name: str) -> list[str]:
        self.shown.add(name)
        why = [self.refused[name].why] if name in self.refused else []
        return why + self.draft.faults.get(name, []) + self.draft.warnings.get(name, [])

    def below(self, pointer: str) -> list[str]:
        """What is wrong at a place and in it that no field has told."""
        others = {**self.draft.faults, **self.draft.warnings}
        inside = [one for one in others if one not in self.shown and is_in(one, pointer)]
        return [words for other in inside for words in self._told(other)]

    def typed(self, name: str) -> str:
        """What stands in a field: what was typed last, where that could not be done."""
        if name in self.refused:
            return self.refused[name].typed
        value = self.draft.value(name) if name.startswith("/") else None
        return value if isinstance(value, str) else ""

    def untouched(self, pointer: str) -> list[str]:
        """What is written at a place and in it that no field shows, in words."""
        around = self.draft.path(pointer)
        shown = {self.draft.place(name) for name in self.shown if is_in(name, pointer)}
        texts: dict[str, list[str]] = {}
        for place, text in self.draft.file.texts(around):
            if not any(place[:end] in shown for end in range(len(around), len(place) + 1)):
                names = [part for part in place[len(around) :] if isinstance(part, str)]
                texts.setdefault(" ".join(names) or str(around[-1]), []).append(text)
        return [f"{key}: {', '.join(found)}" for key, found in texts.items()]
