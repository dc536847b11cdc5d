"""Batch files: YAML in, a ``Batch`` with every default filled in out."""

import re
from dataclasses import replace
from pathlib import Path

from pydantic import ValidationError

from nesting.batch import Batch, Card, Fault
from nesting.faults import find_order_faults
from nesting.files.batch_build import build_batch, find_faults_in_file
from nesting.files.batch_models import BatchKeys
from nesting.files.batch_shape import find_shape_faults, read_keys, unit_of
from nesting.files.faults import InputError, nearest_key, read_text, said
from nesting.files.plan_json import FORMAT
from nesting.files.yaml_source import Source, parse_yaml
from nesting.layers import fill_defaults
from nesting.nearest import Nearest

_WHAT = "a batch file"
_MOST_BYTES = 1_000_000
_ASKED = ("cards", "pieces")
_OF_CARDS = (*_ASKED, "first")


def read_batch(path: str | Path) -> Batch:
    """Read a batch file.

    Parameters
    ----------
    path
        Of the YAML file.

    Returns
    -------
    Batch
        Free of faults, every default filled in, lengths in nm.

    Raises
    ------
    InputError
        The file cannot be used; its messages name every fault with line and column.

    Examples
    --------
    >>> read_batch("samples/cider.yaml").name
    'Cider tasting cards'
    """
    return read_batch_with_warnings(path)[0]


def read_batch_with_warnings(path: str | Path) -> tuple[Batch, tuple[str, ...]]:
    """Read a batch file; also say what in it may not be meant, such as ``kraft #2`` unquoted.

    Raises
    ------
    InputError
        The file cannot be used.
    """
    source = parse_batch(path)
    return _read(source), tuple(text for _, text in source.warnings)


def parse_batch(path: str | Path) -> Source:
    """Parse a batch file that has something to cut, its texts still unread.

    Raises
    ------
    InputError
        The file is no YAML.
    """
    source = _parse(path)
    if isinstance(source.data, dict) and _asks_nothing(source.data):
        source.faults.append(Fault((), "neither cards nor pieces", "something to cut"))
    return source


def read_papers(path: str | Path) -> Batch:
    """Read the papers and the trimmer of a batch file; its cards and pieces are left out.

    Raises
    ------
    InputError
        What is left cannot be used.
    """
    source = _parse(path)
    if isinstance(source.data, dict):
        source.data = {key: value for key, value in source.data.items() if key not in _OF_CARDS}
    source.faults = [fault for fault in source.faults if fault.path[0] not in _OF_CARDS]
    return _read(source)


def _parse(path: str | Path) -> Source:
    """The file's texts; a plan in place of a batch is told before YAML finds fault with it."""
    text = read_text(path, _WHAT, _MOST_BYTES)
    if re.match(r"\s*\{", text) and re.search(rf'"format"\s*:\s*"{FORMAT}"', text):
        expected = f"{_WHAT} (where both are named, the batch comes first)"
        raise InputError(said(str(path), "a plan", expected))
    return parse_yaml(text, str(path))


def _asks_nothing(data: dict[str, object]) -> bool:
    """Whether there is nothing to cut, under a misspelt key neither."""
    if any(data.get(key, {}) not in ({}, []) for key in _ASKED):
        return False
    unknown = data.keys() - {field.alias for field in BatchKeys.model_fields.values()}
    nearest = Nearest()
    return all(nearest_key(key, _ASKED, nearest) is None for key in unknown)


def _read(source: Source) -> Batch:
    """The batch, or an error with every fault of its shape and of what it asks."""
    read = batch_or_faults(source)
    if isinstance(read, Batch):
        return read
    raise source.error(read)


def batch_or_faults(source: Source) -> Batch | list[Fault]:
    """Make the batch of a file's texts, or find every fault of its shape and of what it asks."""
    found = find_shape_faults(BatchKeys, source.data, unit_of(source.data) or "in")
    shape = [*source.faults, *(fault for fault in found if not source.is_silenced(fault))]
    keys = _sound_keys(source.data, shape)
    if keys is None:
        return shape
    lost = set(_names(source.data, "papers")) - keys.papers.keys()
    numbers = _kept_numbers(source.data, shape)
    whole = build_batch(keys, numbers)
    numbered = [
        (number, piece)
        for number, piece in zip(numbers, whole.pieces, strict=True)
        if piece.paper not in lost
    ]
    batch = replace(
        whole,
        first=(),  # may name any card of the file, one that is left out here, too
        cards=tuple(card for card in whole.cards if not _papers_of(card) & lost),
        pieces=tuple(piece for _, piece in numbered),
    )
    faults = [
        *shape,
        *find_order_faults(whole.first, _names(source.data, "cards")),
        *find_faults_in_file(batch, [number for number, _ in numbered]),
    ]
    return faults or fill_defaults(replace(batch, first=whole.first))


def _sound_keys(data: object, faults: list[Fault]) -> BatchKeys | None:
    """The file without whatever has a fault, so that no fault is told twice; None: nothing is left."""
    if not isinstance(data, dict):
        return None
    faulty = {fault.path[:2] for fault in faults}
    sections = {path[0] for path in faulty if path}
    sound: dict[str, object] = {}
    for section, value in data.items():
        match section, value:
            case (("papers" | "cards"), dict()):
                kept: object = {k: v for k, v in value.items() if (section, k) not in faulty}
            case "pieces", list():
                kept = [value[number] for number in _kept_numbers(data, faults)]
            case _:
                kept = value
                if section in sections:
                    continue
        if (section,) not in faulty:
            sound[section] = kept
    unit = unit_of(sound)
    try:
        return read_keys(BatchKeys, sound, unit) if unit is not None else None
    except ValidationError:
        return None


def _kept_numbers(data: object, faults: list[Fault]) -> list[int]:
    """The numbers of the loose pieces that have no fault."""
    faulty = {fault.path[:2] for fault in faults}
    pieces = data.get("pieces") if isinstance(data, dict) else None
    if not isinstance(pieces, list) or ("pieces",) in faulty:
        return []
    return [number for number in range(len(pieces)) if ("pieces", number) not in faulty]


def _names(data: object, section: str) -> list[str]:
    value = data.get(section) if isinstance(data, dict) else None
    return list(value) if isinstance(value, dict) else []


def _papers_of(card: Card) -> set[str]:
    """The names of the papers a card is made of."""
    papers = {option.paper for layer in card.layers for option in layer.options}
    return papers if card.base is None else papers | {card.base.paper}
