"""Variants of a batch file: what is changed is written with the keys of the batch file itself."""

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple
from unicodedata import normalize

from nesting.batch import Batch, Fault, KeyPath
from nesting.files.at_hand import AtHand
from nesting.files.batch_models import BatchKeys, CardKeys
from nesting.files.batch_yaml import find_batch_faults, parse_batch, read_batch
from nesting.files.faults import (
    MOST_BY_HAND,
    InputError,
    KeyFault,
    is_one_line,
    known_key,
    nearest_key,
    read_text,
    said,
    said_at,
)
from nesting.files.variants_merging import EVERY, NAMED, Merging, places_of
from nesting.files.yaml_source import FileText, parse_yaml
from nesting.nearest import Nearest

_WHAT = "a variants file"
_FILE = "file"
_EXAMPLE = "thin mats: {cards: {windfall: {layers: {mat: {reveal: 1/16}}}}}"


class VariantRead(NamedTuple):
    """A variant as it was read: its name, its batch, and the batch file that this is of."""

    name: str
    batch: Batch
    file: Path


@dataclass(slots=True)
class _Asked:
    """A variant as it was written: ``place`` says where, ``source`` has the places in a file."""

    name: str
    place: str
    changes: object
    source: FileText | None = None
    faults: list[Fault] = field(default_factory=list)

    def said(self, fault: Fault) -> str:
        """A fault of what was written, by its path in the variant."""
        if self.source is None:
            return said(self.place, fault.read, fault.expected)
        path = ("variants", self.name, *fault.path)
        place = self.source.place_of(type(fault)(path, "", ""))
        return said_at(self.source.name, place, fault.read, fault.expected)

    def said_of_batch(self, fault: Fault, origins: dict[KeyPath, KeyPath], data: object) -> str:
        """A fault of the changed batch: at what was changed, or else at the variant's name."""
        here = fault.path in origins
        ends = range(len(fault.path), 0, -1)
        written = next((origins[fault.path[:e]] for e in ends if fault.path[:e] in origins), ())
        kind = type(fault) if here else Fault
        read = f"{_place_words(fault.path, data)}: {fault.read}"
        return self.said(
            kind(written, fault.read if here and self.source else read, fault.expected)
        )


def _place_words(path: KeyPath, data: Any) -> str:
    """A place in a batch file in words: layers and pieces by their names."""
    words: list[str] = []
    for part in path:
        data = data[part] if isinstance(part, int) or part in data else {}
        named = isinstance(part, int) and isinstance(data, dict) and "name" in data
        words.append(str(data["name"] if named else part))
    return " / ".join(words)


def read_variants(
    path: str | Path, batch: str | Path, at_hand: AtHand | None = None
) -> tuple[VariantRead, ...]:
    """Read a file of variants of a batch file.

    ``variants`` has their names, and below each what is changed, in the keys of a batch file;
    layers and loose pieces go by their names, and ``every`` stands for all of them. ``file``
    takes another batch file in place of this one.

    Returns
    -------
    tuple
        The variants, in the order of the file.

    Raises
    ------
    InputError
        One of the files cannot be used; its messages name every fault.
    """
    base = _sound(batch, at_hand)
    source = parse_yaml(read_text(path, _WHAT, MOST_BY_HAND), str(path))
    data = source.data if isinstance(source.data, dict) else {}
    named, nearest = data.get("variants"), Nearest()
    for key in (key for key in data if key != "variants"):
        near = nearest_key(key, ["variants"], nearest)
        if near or "variants" in data:  # else it is another kind of file, which is told once
            fault = KeyFault((key,), f"unknown key {key!r}", known_key(near, ["variants"]))
            source.faults.append(fault)
    if (not isinstance(named, dict) or not named) and not source.faults:
        source.faults.append(Fault((), "no variants", f"variants: with {_EXAMPLE}"))
    if source.faults:
        raise source.error(source.faults)
    asked = [_Asked(name, str(path), changes, source) for name, changes in named.items()]  # type: ignore[union-attr] # a mapping, or there are faults
    for one in asked:
        if not one.name.strip() or not is_one_line(one.name):
            one.faults.append(Fault((), repr(one.name), "a name: text on one line"))
    return _read_all(asked, base, Path(path).parent, at_hand)


def read_vary(
    texts: tuple[str, ...], batch: str | Path, at_hand: AtHand | None = None
) -> tuple[VariantRead, ...]:
    """Read variants in one line each: ``thin mats: windfall / mat / reveal = 1/16; spares = 1``.

    A name and a colon may stand before the changes; a batch file may stand in place of them.

    Raises
    ------
    InputError
        The batch file or a text cannot be used.
    """
    base = _sound(batch, at_hand)
    asked = [_asked(text, base.data) for text in texts]
    names: set[str] = set()
    for one in asked:
        if one.name in names:
            read = f"{one.name}: the name of two variants"
            one.faults.append(Fault((), read, "a name of its own for each"))
        names.add(one.name)
    return _read_all(asked, base, Path(), at_hand)


def _sound(batch: str | Path, at_hand: AtHand | None) -> FileText:
    """The texts of a batch file that can be used by itself."""
    read_batch(batch, at_hand)
    return parse_batch(batch)


def _read_all(
    asked: list[_Asked], base: FileText, folder: Path, at_hand: AtHand | None
) -> tuple[VariantRead, ...]:
    """Every variant, or one error with the faults of all."""
    read: list[VariantRead] = []
    messages: dict[str, None] = {}
    nearest = Nearest()
    for one in asked:
        try:
            read.append(_read_one(one, base, folder, nearest, at_hand))
        except InputError as error:
            messages |= dict.fromkeys(error.messages)
    if messages:
        raise InputError(*messages)
    return tuple(read)


def _read_one(
    asked: _Asked, base: FileText, folder: Path, nearest: Nearest, at_hand: AtHand | None
) -> VariantRead:
    """A variant, or an error with its faults."""
    changes = asked.changes
    if not asked.faults and not isinstance(changes, dict):
        asked.faults.append(Fault((), f"{asked.name}: no changes", f"changes, such as {_EXAMPLE}"))
    elif isinstance(changes, dict) and isinstance(changes.get(_FILE), str):
        if len(changes) > 1:
            asked.faults.append(KeyFault((_FILE,), "'file' beside changes", "one of them"))
        elif not asked.faults:
            file = folder / changes[_FILE]
            return VariantRead(asked.name, read_batch(file, at_hand), file)
    if asked.faults:
        raise InputError(*(asked.said(fault) for fault in asked.faults))
    merging = Merging(nearest)
    data = merging.mapping(base.data, changes, (), ())
    if merging.faults:
        raise InputError(*(asked.said(fault) for fault in merging.faults))
    batch, faults = find_batch_faults(FileText(base.name, data), at_hand)
    if batch is None or faults:
        raise InputError(*(asked.said_of_batch(fault, merging.origins, data) for fault in faults))
    return VariantRead(asked.name, batch, Path(base.name))


def _asked(text: str, base: Any) -> _Asked:
    """A variant of one line."""
    text = normalize("NFC", text)
    head, colon, rest = text.partition(": ")
    named = bool(colon) and "=" not in head
    body = (rest if named else text).strip()
    asked = _Asked((named and head.strip()) or body, f"--vary {text!r}", {})
    if not is_one_line(text):
        asked.faults.append(Fault((), "several lines, or half a character", "a text on one line"))
        return asked
    if "=" not in body and body.lower().endswith((".yaml", ".yml")):
        asked.changes = {_FILE: body}
        return asked
    changes: dict[str, Any] = {}
    for part in body.split(";"):
        where, sign, value = part.partition("=")
        if not sign or not where.strip() or not value.strip():
            expected = "changes such as windfall / mat / reveal = 1/16, or a batch file"
            asked.faults.append(Fault((), repr(part.strip()), expected))
            continue
        path = _full_path([step.strip() for step in where.split(" / ")], base)
        if isinstance(path, Fault):
            asked.faults.append(path)
            continue
        if not _put(changes, path, _value(value.strip(), asked.place)):
            read, expected = f"{' / '.join(path)} beside another change of it", "one of them"
            asked.faults.append(Fault((), read, expected))
    asked.changes = changes
    return asked


def _put(changes: dict[str, Any], path: list[str], value: object) -> bool:
    """Put a value at its place unless a change of it, or of what is round it, is there already."""
    inside: Any = changes
    for step in path[:-1]:
        inside = inside.setdefault(step, {})
        if not isinstance(inside, dict):
            return False
    if path[-1] in inside:
        return False
    inside[path[-1]] = value
    return True


def _value(text: str, place: str) -> object:
    """A value: text, or what braces and brackets hold."""
    if not text.startswith(("{", "[")):
        return text
    source = parse_yaml(f"value: {text}", place)
    if source.faults:
        raise source.error(source.faults)
    return source.data["value"]  # type: ignore[index] # as written above


def _full_path(steps: list[str], base: Any) -> list[str] | Fault:
    """The keys that lead to a value, the sections filled in that were left out."""
    known = [str(one.alias) for one in BatchKeys.model_fields.values()]
    first = steps[0]
    sections = {
        name: section
        for section in ("pieces", "papers", "cards")
        for name in (*places_of(base.get(section), NAMED[section]), f"{EVERY} {NAMED[section]}")
    }
    if first in sections and first not in known:
        name = EVERY if first == f"{EVERY} {NAMED[sections[first]]}" else first
        steps = [sections[first], name, *steps[1:]]
    elif first not in known:
        near = Nearest().to(first, [*sections, *known])
        hint = f"; the nearest is {near!r}" if near else ""
        if "/" in first:
            hint = ", and spaces round each /"
        expected = f"a card, paper, piece or key of the batch file{hint}"
        return Fault((), repr(first), expected)
    keys_of_card = [str(one.alias) for one in CardKeys.model_fields.values()]
    if steps[0] == "cards" and len(steps) > 3 and steps[2] not in keys_of_card:
        steps.insert(2, "layers")
    if len(steps) == 2 and steps[0] in NAMED:
        return Fault((), " / ".join(steps), "the key that is changed, too, such as make or size")
    return steps
