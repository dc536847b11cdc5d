"""Type: one family in two weights, its sizes in points, and how much room a text takes."""

import re
from bisect import bisect_left
from functools import cache
from math import inf
from typing import TYPE_CHECKING

from nesting.draw.canvas.shaping import shaped
from nesting.draw.canvas.typefaces import FROM_LEFT, drawable, is_from_right, runs_of

if TYPE_CHECKING:
    from matplotlib.font_manager import FontProperties

TITLE = 20.0
HEADING = 14.0
BODY = 10.5
SMALLEST = 9.0
#: In the picture: a piece's letter and its size are read at arm's length.
LETTER = 18.0
SIZE = 14.0
LARGE_LETTER = 26.0
LARGE_SIZE = 17.0
NUMBER = 11.0

#: Parts of the type size: above and below the baseline, from it to the middle of capitals and
#: digits, and from one line to the next.
ASCENT = 0.76
DESCENT = 0.24
MIDDLE = 0.365
LEADING = 1.35

_ELLIPSIS = "\N{HORIZONTAL ELLIPSIS}"
#: A name of more characters is cut short where it stands in a sentence.
_LONGEST_NAME = 60
#: Keeps what stands on both sides of it on one line.
TIE = "\N{NO-BREAK SPACE}"
#: The spaces within a length or a size: one that is broken is misread. Where a pattern begins with the
#: space itself, it is looked for ten times as quickly.
WITHIN_SIZE = re.compile(
    r" (?:(?<=\d )(?=\d+/\d|x \d|(?:in|mm|cm)\b|%)|(?<=\d x )(?=\d)|(?<=(?:in|mm|cm) x )(?=\d)"
    r"|(?<=\d (?:in|mm|cm) )(?=x \d))"
)
#: The characters of a line are on average wider than this part of the type size.
_NARROWEST = 0.1


def isolated(name: str) -> str:
    """Make a name fit to stand in a sentence: not too long, and without effect on the words after it.

    A name written from the right would otherwise draw them to its other side.
    """
    short = brief(name)
    return short + FROM_LEFT if is_from_right(short) else short


def brief(name: str) -> str:
    """Cut a very long name short, with an ellipsis."""
    if len(name) <= _LONGEST_NAME:
        return name
    return name[: _LONGEST_NAME - 1].rstrip() + _ELLIPSIS


@cache
def run_width(run: str, font: "FontProperties") -> float:
    """The width in points of a run of text in one typeface."""
    along = sum(glyph.advance for glyph in shaped(run, str(font.get_file())))
    return along * font.get_size_in_points() / 1000


@cache
def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """The width of a line of text in points."""
    return sum(run_width(run, font) for run, font in runs_of(drawable(text), size, bold=bold))


def _measured(text: str, width: float, size: float, *, bold: bool) -> float:
    """The width of a text; infinite where it has too many characters for ``width``.

    Measuring takes time, and a name of a million letters need not be measured to be too long.
    """
    if len(text) * size * _NARROWEST > width + size:
        return inf
    return text_width(text, size, bold=bold)


def shorten(text: str, width: float, size: float, *, bold: bool = False) -> str:
    """Cut a text that is wider than ``width`` points short, with an ellipsis."""
    if _measured(text, width, size, bold=bold) <= width:
        return text
    keep = bisect_left(
        range(len(text)),
        True,
        key=lambda last: _measured(text[: last + 1] + _ELLIPSIS, width, size, bold=bold) > width,
    )
    return text[:keep].rstrip() + _ELLIPSIS


def wrap(
    text: str, width: float, size: float, *, bold: bool = False, most: int | None = None
) -> list[str]:
    """Break a text into lines of at most ``width`` points, and at most ``most`` lines.

    Never at a ``TIE``, and within a size only where its two lengths have no room beside each other.
    Words are measured one by one, as most have been measured before; a line is as wide as its words
    and the spaces between them.
    """
    lines: list[str] = []
    words: list[str] = []
    for word in filter(None, WITHIN_SIZE.sub(TIE, text).split(" ")):
        halves = re.split(f"{TIE}(?=x{TIE})", word)
        fits = len(halves) == 1 or _measured(word, width, size, bold=bold) <= width
        words += (word,) if fits else halves
    space = text_width("o o", size, bold=bold) - 2 * text_width("o", size, bold=bold)
    first = 0
    while first < len(words):
        if most is not None and len(lines) == most - 1:
            lines.append(shorten(" ".join(words[first:]), width, size, bold=bold))
            break
        room = width - _measured(words[first], width, size, bold=bold)
        after = first + 1
        while after < len(words):
            room -= space + _measured(words[after], width, size, bold=bold)
            if room < 0:
                break
            after += 1
        line = " ".join(words[first:after])
        lines.append(shorten(line, width, size, bold=bold) if after == first + 1 else line)
        first = after
    return [line.replace(TIE, " ") for line in lines]
