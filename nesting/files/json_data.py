"""Frozen dataclasses to plain JSON data and back, by their type hints.

A field is a key of the same name unless ``spell`` says otherwise. Nothing is converted on the way
back: a length that is no whole number, or ``true`` where a number belongs, is refused.
"""

import types
from collections.abc import Callable, Mapping
from dataclasses import Field, fields, is_dataclass
from typing import Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

from nesting.files.faults import InputError, cut_off, is_one_line, one_of, said

_Kind = TypeVar("_Kind")
#: A number of this size is no length or count of anything: a million kilometres in nm.
_LARGEST = 10**18
#: Keys that had another name in older files.
_ONCE = {"strokes": "cuts"}

Spell = Callable[[str], str]


def to_data(value: object, spell: Spell = str) -> Any:
    """Write a dataclass, or whatever its fields may hold, as JSON data."""
    if is_dataclass(value):
        return {
            spell(field.name): to_data(getattr(value, field.name), spell)
            for field in fields(value)
            if not _goes_without_saying(field, getattr(value, field.name))
        }
    if isinstance(value, tuple):
        return [to_data(item, spell) for item in value]
    return value


def _goes_without_saying(field: Field[Any], value: object) -> bool:
    return bool(field.metadata.get("only where said")) and value == field.default


def from_data(
    kind: type[_Kind], data: object, place: str, spell: Spell = str, **given: Any
) -> _Kind:
    """Read a dataclass; unknown keys are ignored, ``given`` fields are not read.

    A key may have spaces for underscores, or the name that older files have for it. A field whose
    metadata say that it came ``later`` may be missing, as it is from those; one ``of any size`` may
    have whole numbers however large.

    Parameters
    ----------
    place
        Where ``data`` stands, for messages: ``plan.json: layouts[0]``.

    Raises
    ------
    InputError
        A key is missing, or holds what its field cannot.
    """
    mapping = as_mapping(data, place)
    hints = get_type_hints(kind)
    keys = {
        field.name: _key_in(mapping, spell(field.name))
        for field in fields(kind)  # type: ignore[arg-type]
        if field.name not in given
    }
    said_of = {field.name: field.metadata for field in fields(kind)}  # type: ignore[arg-type]
    for name, key in keys.items():
        if key not in mapping and not said_of[name].get("later"):
            raise InputError(said(place, f"no {key!r}", "every key of the plan format"))
    read = {}
    for name, key in keys.items():
        if key in mapping:
            read[name] = _read(hints[name], mapping[key], f"{place}.{key}", spell)
            if not said_of[name].get("of any size"):
                _refuse_beyond_sense(read[name], f"{place}.{key}")
    return kind(**read, **given)


def _key_in(mapping: Mapping[str, object], key: str) -> str:
    """The key as the data have it: with underscores, with spaces, or by its older name."""
    others = (key.replace("_", " "), _ONCE.get(key, key))
    return next((other for other in (key, *others) if other in mapping), key)


def as_mapping(data: object, place: str) -> Mapping[str, object]:
    """The data, which must be a JSON object.

    Raises
    ------
    InputError
        It is none.
    """
    if not isinstance(data, dict):
        raise InputError(said(place, described(data), "an object"))
    return data


def as_list(data: object, place: str) -> list[object]:
    """The data, which must be a JSON list.

    Raises
    ------
    InputError
        It is none.
    """
    if not isinstance(data, list):
        raise InputError(said(place, described(data), "a list"))
    return data


def described(data: object) -> str:
    """JSON data in a word or two, for a message."""
    match data:
        case None | True | False:
            return {None: "null", True: "true", False: "false"}[data]
        case str():
            return cut_off(data)
        case dict():
            return "an object"
        case list():
            return "a list"
        case int() if abs(data) > 10**30:
            return "a number of more than 30 digits"
        case _:
            return str(data)


def _read(hint: Any, data: object, place: str, spell: Spell) -> Any:
    """Read the value of one field."""
    origin, choices = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        inner = [choice for choice in choices if choice is not types.NoneType]
        kind = next((one for one in inner if is_dataclass(one) == isinstance(data, dict)), inner[0])
        return (
            None if data is None and len(inner) < len(choices) else _read(kind, data, place, spell)
        )
    if origin is Literal:
        if data not in choices:
            raise InputError(said(place, described(data), one_of(choices)))
        return data
    if origin is tuple:
        return _read_tuple(choices, as_list(data, place), place, spell)
    if origin is dict:
        values = as_mapping(data, place)
        return {key: _read(choices[1], one, f"{place}.{key}", spell) for key, one in values.items()}
    if is_dataclass(hint):
        return from_data(hint, data, place, spell)  # type: ignore[arg-type]
    return _read_plain(hint, data, place)


def _read_tuple(kinds: tuple[Any, ...], data: list[object], place: str, spell: Spell) -> Any:
    """Read a list of any length, or of one entry for each kind."""
    if kinds[-1] is Ellipsis:
        kinds = kinds[:1] * len(data)
    if len(kinds) != len(data):
        raise InputError(said(place, f"a list of {len(data)}", f"a list of {len(kinds)}"))
    return tuple(
        _read(kind, item, f"{place}[{number}]", spell)
        for number, (kind, item) in enumerate(zip(kinds, data, strict=True))
    )


def _refuse_beyond_sense(value: object, place: str) -> None:
    """No length or count, and none of a list of them, is larger than any can be."""
    if isinstance(value, int) and not -_LARGEST < value < _LARGEST:
        raise InputError(said(place, "a number beyond all sense", f"one of less than {_LARGEST}"))
    for number, one in enumerate(value if isinstance(value, tuple) else ()):
        _refuse_beyond_sense(one, f"{place}[{number}]")


def _is_share(data: object) -> bool:
    """Whether a number can be a float."""
    return type(data) in (int, float) and abs(data) < _LARGEST  # type: ignore[arg-type]


def _read_plain(kind: type, data: object, place: str) -> Any:
    """Read a text, a whole number, a share, or yes and no, just as it stands."""
    if kind is float and _is_share(data):
        return float(data)  # type: ignore[arg-type]
    if type(data) is not kind:
        expected = {int: "a whole number", float: "a number", str: "a text", bool: "true or false"}
        raise InputError(said(place, described(data), expected[kind]))
    if isinstance(data, str) and not is_one_line(data):
        raise InputError(said(place, described(data), "a text on one line"))
    return data
