"""Which way the parts of a line read: names may be written from the right."""

import re
import unicodedata
from itertools import groupby
from typing import Literal

from nesting.draw.canvas.typefaces import FROM_LEFT

Way = Literal["ltr", "rtl"]

#: A letter for each class of direction that matters here; all others are neutral.
_LETTERS = {
    "L": "L",
    "R": "R",
    "AL": "A",
    "EN": "E",
    "AN": "N",
    "NSM": "M",
    "ES": "+",
    "CS": ",",
    "ET": "%",
}
_NEUTRAL = "o"
#: Brackets and what is in them, without further ones.
_IN_BRACKETS = re.compile(r"\([^()]*\)|\[[^\[\]]*\]|\{[^{}]*\}")


def directed(text: str) -> list[tuple[str, Way]]:
    """Split a line that reads from the left into parts of one direction, as they stand side by side.

    Examples
    --------
    >>> directed("plum")
    [('plum', 'ltr')]
    """
    if text.isascii():
        return [(text, "ltr")] if text else []
    placed = zip(text, _levels(text), strict=True)
    told = [one for one in placed if one[0] != FROM_LEFT]  # which has done its work then
    parts = [
        ("".join(c for c, _ in part), level) for level, part in groupby(told, lambda one: one[1])
    ]
    seen: list[tuple[str, Way]] = []
    for from_right, some in groupby(parts, lambda part: part[1] != "L"):
        row: list[tuple[str, Way]] = [
            (part, "rtl" if level == "R" else "ltr") for part, level in some
        ]
        seen += reversed(row) if from_right else row
    return seen


def _levels(text: str) -> str:
    """For each character L where it reads from the left, R from the right, E or N in a number there.

    References
    ----------
    Unicode Standard Annex 9, Unicode Bidirectional Algorithm: rules W1 to W7 and N0 to N2 of a
    paragraph at level 0 without explicit marks, which are taken out of every name.
    """
    found = "".join(_LETTERS.get(unicodedata.bidirectional(c), _NEUTRAL) for c in text)
    found = re.sub("^M+", lambda m: "L" * len(m[0]), found)  # W1
    found = re.sub("(.)(M+)", lambda m: m[1] * (1 + len(m[2])), found)
    found = re.sub("A[^LRA]*", lambda m: m[0].replace("E", "N"), found)  # W2
    found = found.replace("A", "R")  # W3
    found = re.sub("(?<=E)[+,](?=E)", "E", found)  # W4
    found = re.sub("(?<=N),(?=N)", "N", found)
    found = re.sub("%+(?=E)|(?<=E)%+", lambda m: "E" * len(m[0]), found)  # W5
    found = re.sub("[+,%]", _NEUTRAL, found)  # W6
    found = re.sub("(?:^|L)[^LR]*", lambda m: m[0].replace("E", "L"), found)  # W7
    for pair in _IN_BRACKETS.finditer(text):  # N0
        found = _bracketed(found, pair.start(), pair.end() - 1)
    found = re.sub("(?<=[REN])o+(?=[REN])", lambda m: "R" * len(m[0]), found)  # N1
    return found.replace(_NEUTRAL, "L")  # N2


def _bracketed(found: str, first: int, last: int) -> str:
    """The same with a pair of brackets that reads as what is in it, from the right only after such."""
    inside, before = found[first + 1 : last], found[:first].replace(_NEUTRAL, "")
    if not inside.strip(_NEUTRAL):
        return found
    way = "L" if "L" in inside or before[-1:] in ("", "L") else "R"
    return found[:first] + way + inside + way + found[last + 1 :]
