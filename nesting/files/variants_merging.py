"""What a variant changes, put over the texts of its batch file; names that are not in that."""

from copy import deepcopy
from typing import Any

from nesting.batch import Fault, KeyPath
from nesting.files.faults import KeyFault
from nesting.nearest import Nearest

#: In place of a name: all things of a section.
EVERY = "every"
#: The sections of things with names, and what one of them is.
NAMED = {"papers": "paper", "cards": "card", "layers": "layer", "pieces": "piece"}
#: Keys that take each other's place.
_CHOICES: dict[str, tuple[tuple[str, ...], ...]] = {
    "layers": (("reveal",), ("size",), ("width", "height"), ("circle",)),
    "pieces": (("size",), ("circle",)),
    "papers": (("sheet",), ("sheets",)),
}
#: What a change of one looks like.
_KEYS = {
    "paper": "have: 3",
    "card": "make: 7",
    "layer": "reveal: 1/16",
    "piece": "count: 10",
}


class Merging:
    """Puts changes over the texts of a batch file, and finds names that are not in it.

    ``origins`` leads from the place of each changed value in the batch file to where the variant
    has it; ``faults`` have their paths in the variant.
    """

    def __init__(self, nearest: Nearest) -> None:
        self.nearest = nearest
        self.faults: list[Fault] = []
        self.origins: dict[KeyPath, KeyPath] = {}

    def mapping(self, base: Any, changes: Any, place: KeyPath, path: KeyPath) -> dict[str, Any]:
        """The mapping at a place with what is changed at a path of the variant.

        Keys that a change takes the place of go.
        """
        merged: dict[str, Any] = deepcopy(base)
        for key in _displaced(merged, changes, place):
            del merged[key]
        for key, change in changes.items():
            at, here = (*place, key), (*path, key)
            self.origins[at] = here
            if key in NAMED and len(at) == (3 if key == "layers" else 1):
                merged[key] = self._named(merged.get(key), change, at, here)
            elif isinstance(change, dict) and isinstance(merged.get(key), dict) and key != "at":
                merged[key] = self.mapping(merged[key], change, at, here)
            else:
                merged[key] = change
        return merged

    def _named(self, base: Any, changes: Any, place: KeyPath, path: KeyPath) -> Any:
        """A section of things with names, each changed by its name."""
        kind = NAMED[str(path[-1])]
        if not isinstance(changes, dict):
            expected = f"the name of a {kind} and what is changed of it"
            self.faults.append(Fault(path, f"{path[-1]}: no names", expected))
            return base
        merged = deepcopy(base)
        places = places_of(base, kind)
        for name, change in changes.items():
            here = (*path, name)
            if not isinstance(change, dict):
                expected = f"what is changed of the {kind}, such as {{{_KEYS[kind]}}}"
                self.faults.append(Fault(here, f"{name}: no keys", expected))
            elif name in places:
                at = places[name]
                self.origins[*place, at] = here
                merged[at] = self.mapping(merged[at], change, (*place, at), here)
            elif name == EVERY and places:
                self._every(merged, change, place, here)
            else:
                expected = f"one of the {path[-1]}; {self.nearest.words(name, places)}"
                fault = KeyFault(here, f"{kind} {name!r}", expected)
                self.faults.append(fault)
        return merged

    def _every(self, merged: Any, change: dict[str, Any], place: KeyPath, path: KeyPath) -> None:
        """The same change of all that have what is changed; a fault where none has."""
        lacking: list[Fault] = []
        found = False
        for at in list(merged) if isinstance(merged, dict) else range(len(merged)):
            trial = Merging(self.nearest)
            result = trial.mapping(merged[at], change, (*place, at), path)
            if trial.faults:
                lacking = lacking or trial.faults
            else:
                merged[at], found = result, True
                self.origins |= trial.origins
        if not found:
            self.faults += lacking


def places_of(base: Any, kind: str) -> dict[str, str | int]:
    """Where each named thing of a section is; what has no name goes by its number from 1."""
    if isinstance(base, dict):
        return {name: name for name in base}
    return {
        entry.get("name", f"{kind} {number + 1}"): number
        for number, entry in enumerate(base if isinstance(base, list) else [])
        if isinstance(entry, dict)
    }


def _displaced(base: dict[str, Any], changes: dict[str, Any], place: KeyPath) -> list[str]:
    """Keys of the batch file that what is changed takes the place of."""
    gone: list[str] = []
    section = str(place[-2]) if len(place) > 1 else ""
    choices = _CHOICES.get(section, ())
    if any(key in changes for choice in choices for key in choice):
        for choice in choices:
            if not any(key in changes for key in choice):
                gone += [key for key in choice if key in base]
    if section == "layers" and "reveal" in changes and "at" not in changes and "at" in base:
        gone.append("at")
    return gone
