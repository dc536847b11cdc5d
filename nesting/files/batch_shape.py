"""What is wrong with the shape of a batch file, each fault with its path."""

import re
from collections.abc import Iterable, Iterator, Mapping
from copy import deepcopy
from typing import Any, TypeVar

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from nesting.batch import Fault, KeyPath
from nesting.files.batch_models import (
    AtKeys,
    BaseKeys,
    BeltKeys,
    CardKeys,
    ChoiceKeys,
    EdgesKeys,
    EnvelopeKeys,
    FaceKeys,
    Keys,
    LayerKeys,
    OptionKeys,
    PaperKeys,
    PieceKeys,
    SheetKeys,
    StripKeys,
    TrimmerKeys,
    keys_at,
)
from nesting.files.faults import KeyFault, cut_off, known_key, nearest_key, one_of
from nesting.files.values import ONE_OR_KEYS
from nesting.nearest import Nearest, capitals_fault
from nesting.units import NANOMETRES, Unit

_Kind = TypeVar("_Kind", bound=Keys)

#: What a key that must be there looks like.
_WRITE = {
    "batch": "batch: a name",
    "unit": "unit: in, mm or cm",
    "papers": "papers: with at least one paper",
    "sheet": "sheet: width x height",
    "have": "have: the number of sheets at hand, plenty, or stash",
    "size": "size: width x height",
    "make": "make: the number of cards, or as many as possible",
    "paper": "paper: the name of one of the papers",
    "one of": "one of: the names of papers",
    "count": "count: the number of pieces",
    "print": "print: plain, four-way, two-way or one-way",
    "thickness": "thickness: how thick the closed card is with its layers",
    "edge": "edge: left, right, top or bottom",
    "width": "width: a length",
    "beyond the sheet": "beyond the sheet: true (on top of the sheet's size) or false (part of it)",
}

#: What a mapping looks like, and what a mapping of names does.
EXAMPLES: dict[type[Keys], str] = {
    TrimmerKeys: "{kind: sliding, longest cut: 12 1/2}",
    PaperKeys: "{sheet: 12 x 12, have: 3}",
    SheetKeys: "{size: 12 x 12, have: 3}",
    FaceKeys: "{print: one-way, up: top}",
    StripKeys: "{edge: bottom, width: 1/2, beyond the sheet: true}",
    EdgesKeys: "{left: 1/8, top: 1/4}",
    CardKeys: "{make: 8, size: 4 1/4 x 5 1/2, base: {paper: cream}}",
    BaseKeys: "{paper: cream, fold: left}",
    BeltKeys: "{thickness: 1/16}",
    LayerKeys: "{name: mat, paper: cream, reveal: 1/8}",
    ChoiceKeys: "{one of: [pear toss/front, bee stripe/back], alike: all}",
    OptionKeys: "{paper: pear toss, face: front}",
    EnvelopeKeys: "{paper: cream}",
    AtKeys: "{left: 1, bottom: 1/2}",
    PieceKeys: "{name: tag, size: 2 x 3 1/2, paper: cream, count: 12}",
}
_NAMES = {"papers": "cream", "cards": "windfall"}


def unit_of(data: object) -> Unit | None:
    """The unit that a file names; None where it names none that is known."""
    text = data.get("unit") if isinstance(data, dict) else None
    for unit in NANOMETRES:
        if isinstance(text, str) and text.strip().lower() == unit:
            return unit
    return None


def read_keys(kind: type[_Kind], data: object, unit: Unit) -> _Kind:
    """Read a file's data, whose lengths are in ``unit`` unless they say otherwise.

    Raises
    ------
    pydantic.ValidationError
        The shape is wrong (``find_shape_faults`` says how).
    """
    return kind.model_validate(data, context={"unit": unit})


def find_shape_faults(kind: type[Keys], data: object, unit: Unit) -> Iterator[Fault]:
    """Find every fault of a file's shape: values first, then keys that do not go together."""
    try:
        read_keys(kind, data, unit)
    except ValidationError as error:
        errors = [_placed(details) for details in error.errors(include_url=False)]
        near = _nearest_keys([e["loc"] for e in errors if e["type"] == "extra_forbidden"])
        meant = _as_meant(data, near)
        for details in errors:
            if details["type"] != "missing" or _there(details["loc"], meant) != details["loc"]:
                yield _fault(details, data, near)
        moved = {(*path[:-1], other) for path, other in near.items() if other is not None}
        for fault in _key_faults(meant):  # inside a misspelt key nothing has been looked at yet
            if not any(fault.path[:end] in moved for end in range(1, len(fault.path))):
                yield fault
    else:
        yield from _key_faults(data)


def _placed(details: ErrorDetails) -> ErrorDetails:
    """The details with the place as it is in the file."""
    loc = tuple(part for part in details["loc"] if part not in ONE_OR_KEYS)
    return {**details, "loc": loc}


def _nearest_keys(unknown: list[KeyPath]) -> dict[KeyPath, str | None]:
    """The nearest known key to each unknown one."""
    nearest = Nearest()
    return {path: nearest_key(str(path[-1]), _known_keys(path[:-1]), nearest) for path in unknown}


def _as_meant(data: object, nearest: dict[KeyPath, str | None]) -> object:
    """The data with its unknown keys under the nearest known names: what is misspelt is not missing."""
    meant: Any = deepcopy(data)
    for (*path, key), near in nearest.items():
        inside = meant
        for part in path:
            inside = inside[part]
        if near is not None:
            inside.setdefault(near, inside[key])
    return meant


def _known_keys(path: KeyPath) -> list[str]:
    return [field.alias or "" for field in keys_at(path).model_fields.values()]


def _fault(details: ErrorDetails, data: object, near: dict[KeyPath, str | None]) -> Fault:
    """Say in the words of the file what the model refused."""
    path = tuple(details["loc"])
    if path[-1:] == ("[key]",):
        return KeyFault(path[:-1], cut_off(str(path[-2])), _expected(details, path))
    if details["type"] == "missing":
        inside = f" in {path[-2]!r}" if len(path) > 1 and isinstance(path[-2], str) else ""
        return Fault(path, f"no {path[-1]!r}{inside}", _WRITE[str(path[-1])])
    if details["type"] == "extra_forbidden":
        expected = known_key(near[path], _known_keys(path[:-1]))
        return KeyFault(path, f"unknown key {str(path[-1])!r}", expected)
    path = _there(path, data)
    return Fault(path, _read(path, details["input"]), _expected(details, path))


def _known_word(details: ErrorDetails) -> str:
    """The words of a closed list, and which of them is meant."""
    words = re.findall("'(.*?)'", str(details.get("ctx", {})["expected"]))
    read = details["input"]
    near = nearest_key(read.strip(), words, Nearest()) if isinstance(read, str) else None
    return f"{one_of(words)}; the nearest is {near!r}" if near else one_of(words)


def _there(path: KeyPath, data: object) -> KeyPath:
    """As much of a path as the user wrote: a short form was spelled out before it was read."""
    for depth, part in enumerate(path):
        if isinstance(part, int):
            if not isinstance(data, list):
                return path[:depth]
            data = data[part]
        elif not isinstance(data, dict) or part not in data:
            return path[:depth]
        else:
            data = data[part]
    return path


def _read(path: KeyPath, value: object) -> str:
    """The key and what it was given."""
    key = next((part for part in reversed(path) if isinstance(part, str)), "the file")
    match value:
        case str():
            return f"{key}: {cut_off(value)}"
        case []:
            return f"{key}: an empty list"
        case list() | tuple():
            return f"{key}: a list"
        case {}:
            return f"{key}: several keys" if value else f"{key}: nothing"
        case _:
            return f"{key}: nothing"


def _expected(details: ErrorDetails, path: KeyPath) -> str:
    context: dict[str, Any] = details.get("ctx", {})
    match details["type"]:
        case "expected":
            return str(context["expected"])
        case "literal_error":
            return _known_word(details)
        case "tuple_type":
            return "a list: each entry on a line of its own after '- '"
        case _ if not path:
            return "keys with their values"
        case _:
            name = f"{_NAMES[str(path[0])]}: " if path in (("papers",), ("cards",)) else ""
            return f"keys with their values, such as {name}{EXAMPLES[keys_at(path)]}"


def _key_faults(data: object) -> Iterator[Fault]:
    """Keys that do not go together, or that lack each other."""
    root = if_mapping(data)
    for named in ("papers", "cards"):
        yield from _alike_names(named, if_mapping(root.get(named)))
    for name, paper in if_mapping(root.get("papers")).items():
        if isinstance(paper, dict):
            yield from _paper_faults(("papers", name), paper)
    for name, card in if_mapping(root.get("cards")).items():
        if isinstance(card, dict) and not card.get("base") and not card.get("layers"):
            yield Fault(("cards", name), "neither base nor layers", "something to cut")
        envelope = if_mapping(if_mapping(card).get("envelope"))
        if "face" in envelope and "paper" not in envelope:
            here = ("cards", name, "envelope", "face")
            yield KeyFault(here, "'face' without 'paper'", "the paper that it is cut from")
        for number, layer in enumerate(if_list(if_mapping(card).get("layers"))):
            yield from _layer_faults(("cards", name, "layers", number), if_mapping(layer))
    for number, piece in enumerate(if_list(root.get("pieces"))):
        if isinstance(piece, dict):
            yield from _one(("pieces", number), piece, ["size"], ["circle"])


def _alike_names(named: str, names: Iterable[str]) -> Iterator[Fault]:
    """Papers or cards whose names differ in capitals alone."""
    alike: dict[str, str] = {}
    for name in names:
        other = alike.setdefault(name.casefold(), name)
        if other != name:
            yield KeyFault((named, name), *capitals_fault(named[:-1], name, other))


def if_mapping(value: object) -> dict[str, Any]:
    """The value if it is a mapping, else an empty one: that it is none, the model finds."""
    return value if isinstance(value, dict) else {}


def if_list(value: object) -> list[Any]:
    """The value if it is a list, else an empty one."""
    return value if isinstance(value, list) else []


def is_offcut(sheet: Mapping[str, object]) -> bool:
    """Whether the keys of a sheet say that it is an offcut."""
    return str(sheet.get("offcut")).lower() in ("true", "yes")


def _one(path: KeyPath, keys: Iterable[str], *choices: list[str]) -> Iterator[Fault]:
    """One way to say a size, and only one, must be there."""
    given = [[key for key in choice if key in keys] for choice in choices]
    chosen = [found for found in given if found]
    if not chosen:
        words = one_of(f"a {key}" for choice in choices for key in choice)
        yield Fault((*path, choices[0][0]), "nothing that says how large it is", words)
    elif len(chosen) > 1:
        here, words = (*path, chosen[1][0]), one_of("/".join(choice) for choice in choices)
        yield KeyFault(here, f"{chosen[1][0]!r} beside {chosen[0][0]!r}", f"only one of {words}")


def _paper_faults(path: KeyPath, paper: dict[str, object]) -> Iterator[Fault]:
    if "sheets" in paper:
        for key in ("sheet", "have", "price"):
            if key in paper:
                expected = f"{'size' if key == 'sheet' else key} inside each of the sheets"
                yield KeyFault((*path, key), f"{key!r} beside 'sheets'", expected)
    else:
        for key in ("sheet", "have"):
            if key not in paper:
                yield Fault((*path, key), f"no {key!r} in {path[-1]!r}", _WRITE[key])
    for number, sheet in enumerate(if_list(paper.get("sheets"))):
        keys = if_mapping(sheet)
        if "price" in keys and is_offcut(keys):
            here = (*path, "sheets", number, "price")
            yield KeyFault(here, "a price of an offcut", "no price: an offcut costs nothing")


def _layer_faults(path: KeyPath, layer: dict[str, object]) -> Iterator[Fault]:
    if not layer:
        return
    yield from _one(path, layer, ["reveal"], ["size"], ["width", "height"], ["circle"])
    if "face" in layer and isinstance(layer.get("paper"), dict):
        expected = "the face beside each paper to choose: pear toss/front"
        yield KeyFault((*path, "face"), "'face' beside papers to choose from", expected)
    if "at" in layer and "reveal" in layer:
        yield KeyFault(
            (*path, "at"), "'at' beside 'reveal'", "one of them: a reveal is a place, too"
        )
    at = if_mapping(layer.get("at"))
    for first, second in (("left", "right"), ("top", "bottom")):
        if first in at and second in at:
            here = (*path, "at", second)
            yield KeyFault(
                here, f"{second!r} beside {first!r}", "one of them: the layer has its size"
            )
    if "centre" in at and at.keys() & {"left", "right", "top", "bottom"}:
        yield KeyFault((*path, "at", "centre"), "'centre' beside an edge", "centre alone")
