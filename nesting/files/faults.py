"""What is wrong with a file, said with its place."""

import re
import unicodedata
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from nesting.batch import Fault
from nesting.errors import NestingError
from nesting.nearest import Nearest

_MOST_BYTES = 50_000_000
#: What people write by hand is no larger.
MOST_BY_HAND = 1_000_000
_BYTE_ORDER_MARK = b"\xef\xbb\xbf"

#: What others call some of the keys, and some of the words that stand for a value.
_OTHER_WORDS = {
    "side": "face", "material": "paper", "border": "reveal", "diameter": "circle",
    "quantity": "count", "qty": "count", "rotate": "turn", "name": "batch",
    "stripe": "two-way", "stripes": "two-way", "striped": "two-way", "tossed": "four-way",
    "upright": "one-way", "solid": "plain", "no": "never", "false": "never", "yes": "may",
    "true": "may", "inch": "in", "inches": "in", "millimetres": "mm", "centimetres": "cm",
    "guillotine": "lever", "lengthwise": "long", "crosswise": "short",
}  # fmt: skip


class InputError(NestingError, ValueError):
    """A file cannot be used; ``messages`` has one sentence for each fault, in the file's order.

    Each reads ``file:line:column: what was read; expected what would do``.
    """

    def __init__(self, *messages: str) -> None:
        super().__init__("\n".join(messages))
        self.messages = messages


class TextPlace(NamedTuple):
    """A place in a text, counted from 1."""

    line: int
    column: int


@dataclass(frozen=True, slots=True)
class KeyFault(Fault):
    """A fault of a key itself, not of its value."""


def said(place: str, read: str, expected: str) -> str:
    """One fault as a sentence."""
    return f"{place}: {read}; expected {expected}"


def said_at(name: str, place: TextPlace, read: str, expected: str) -> str:
    """One fault of a text file as a sentence with line and column."""
    return said(located(name, place), read, expected)


def located(name: str, place: TextPlace) -> str:
    """A place in a file, as messages begin with it."""
    return f"{name}:{place.line}:{place.column}"


def one_of(names: Iterable[str]) -> str:
    """A choice in words.

    Examples
    --------
    >>> one_of(["in", "mm", "cm"])
    'in, mm or cm'
    """
    *most, last = names
    return f"{', '.join(most)} or {last}" if most else last


def nearest_key(key: str, known: Collection[str], nearest: Nearest) -> str | None:
    """The known key that an unknown one is most likely meant to be."""
    word = key.lower()
    other = _OTHER_WORDS.get(word)
    return other if other in known else nearest.to(word, known)


def known_key(near: str | None, known: Iterable[str]) -> str:
    """What to expect instead of an unknown key: the nearest known one, or any of them."""
    return f"{near!r}, the nearest of those known" if near else one_of(known)


def cut_off(text: str) -> str:
    """A text as it was read, in quotes, short enough for a message."""
    return repr(text if len(text) <= 60 else f"{text[:57]}…")


def is_one_line(text: str) -> bool:
    """Whether a text can stand on a printed line: no control characters, no line breaks."""
    return printable(text) == text


def printable(text: str) -> str:
    """A text with the sign of replacement for whatever cannot stand on a printed line."""
    unprintable = ("Cc", "Cs", "Zl", "Zp")
    return "".join("\ufffd" if unicodedata.category(c) in unprintable else c for c in text)


def half_character(text: str) -> str | None:
    """Name the first half of a pair that stands alone in a text: no file can be written with it."""
    found = re.search("[\ud800-\udfff]", text)
    return f"half a character (U+{ord(found[0]):04X})" if found is not None else None


def _read_bytes(path: str | Path, what: str, most: int) -> bytes:
    """Read a file of at most ``most`` bytes; ``what`` names the kind of file in messages.

    Raises
    ------
    InputError
        There is no such file, it cannot be read, or it is too large.
    """
    try:
        with Path(path).open("rb") as file:
            data = file.read(most + 1)
    except FileNotFoundError:
        raise InputError(said(str(path), "no such file", what)) from None
    except OSError as error:
        raise InputError(said(str(path), f"cannot be read ({error.strerror})", what)) from None
    except ValueError:  # a character that no name of a file can have
        raise InputError(said(repr(str(path)), "no name of a file", what)) from None
    if len(data) > most:
        size = f"{what} of at most {most // 1_000_000} million bytes"
        raise InputError(said(str(path), "a larger file", size))
    return data


def read_text(path: str | Path, what: str, most: int = _MOST_BYTES) -> str:
    """Read a UTF-8 file, without its byte order mark.

    Raises
    ------
    InputError
        It cannot be read, or is not UTF-8.
    """
    data = _read_bytes(path, what, most).removeprefix(_BYTE_ORDER_MARK)
    try:
        return data.decode()
    except UnicodeDecodeError as error:
        place = place_in(data[: error.start].decode(), error.start)
        byte = f"a byte that is not UTF-8 (0x{data[error.start]:02X})"
        saved = f"{what} saved as UTF-8 text"
        raise InputError(said_at(str(path), place, byte, saved)) from None


def encoded_like(path: Path, text: str) -> bytes:
    """A text as UTF-8, with a byte order mark where the file that it is made from has one."""
    marked = path.exists() and path.read_bytes().startswith(_BYTE_ORDER_MARK)
    return (_BYTE_ORDER_MARK if marked else b"") + text.encode()


def place_in(text: str, index: int) -> TextPlace:
    """The place of a character, by its number from 0."""
    before = text[:index]
    return TextPlace(before.count("\n") + 1, len(before) - before.rfind("\n"))
