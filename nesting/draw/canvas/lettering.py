"""Type: one family in two weights, its sizes in points, and how much room a text takes."""

import re
import unicodedata
from bisect import bisect_left
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.backends.backend_agg import RendererAgg
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

#: Parts of the type size above and below the baseline, and from one line to the next.
ASCENT = 0.76
DESCENT = 0.24
LEADING = 1.35

#: Stands for a character that the typeface has no glyph for.
SUBSTITUTE = "\N{WHITE SQUARE}"
_FROM_LEFT = "\N{LEFT-TO-RIGHT MARK}"
#: After such a mark matplotlib 3.11 sets the next letter of a PDF too far left where it is of
#: another part of the font; this one is of the mark's own part, and hardly shows.
_HAIR = "\N{HAIR SPACE}"
#: Keeps what stands on both sides of it on one line.
TIE = "\N{NO-BREAK SPACE}"
#: The spaces within a length or a size: one that is broken is misread.
_WITHIN_SIZE = re.compile(
    r"(?<=\d) (?=\d+/\d|x \d|(?:in|mm|cm)\b|%)|(?<=\d x) (?=\d)|(?<=(?:in|mm|cm) x) (?=\d)"
    r"|(?<=\d (?:in|mm|cm)) (?=x \d)"
)
_ELLIPSIS = "\N{HORIZONTAL ELLIPSIS}"
_FILES = {False: "DejaVuSans.ttf", True: "DejaVuSans-Bold.ttf"}


def _file(*, bold: bool) -> Path:
    """The font that comes with matplotlib: the same on every machine."""
    import matplotlib as mpl

    return Path(mpl.get_data_path(), "fonts", "ttf", _FILES[bold])


@cache
def typeface(size: float, *, bold: bool = False) -> "FontProperties":
    """The font at a size in points."""
    from matplotlib.font_manager import FontProperties

    return FontProperties(
        family=["DejaVu Sans", "sans-serif"],
        weight="bold" if bold else "normal",
        fname=str(_file(bold=bold)),
        size=size,
    )


@cache
def _glyphs() -> frozenset[int]:
    """The characters that both weights have."""
    from matplotlib.font_manager import get_font

    regular, bold = (set(get_font(str(_file(bold=b))).get_charmap()) for b in (False, True))
    return frozenset(regular & bold)


def drawable(text: str) -> str:
    r"""Make a text one line that the typeface can draw, and that reads from the left.

    A character without a glyph becomes a small square; invisible controls (joiners, overrides of
    the direction) are left out; line breaks and tabs become spaces.

    Examples
    --------
    >>> drawable("plum\n\N{RED APPLE} & pear")
    'plum □ & pear'
    """
    seen = [c for c in " ".join(text.split()) if unicodedata.category(c) != "Cf" or c == _FROM_LEFT]
    line = "".join(c if ord(c) in _glyphs() else SUBSTITUTE for c in seen)
    if not _has_right_to_left(line):  # its name is on another line: the mark has nothing to do
        return line.replace(_FROM_LEFT, "")
    return (_FROM_LEFT + line).replace(_FROM_LEFT, _FROM_LEFT + _HAIR)


def isolated(name: str) -> str:
    """Keep a name written from the right from drawing the words after it to its other side."""
    return name + _FROM_LEFT if _has_right_to_left(name) else name


def _has_right_to_left(text: str) -> bool:
    return any(unicodedata.bidirectional(c) in ("R", "AL") for c in text)


@cache
def _ruler() -> "RendererAgg":
    """A renderer to measure with, ten dots to the point, so that hinting hardly shows."""
    from matplotlib.backends.backend_agg import RendererAgg

    return RendererAgg(1, 1, 720)  # type: ignore[no-untyped-call] # not annotated there


@cache
def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """The width of a line of text in points."""
    line = drawable(text)
    if not line:
        return 0.0
    measure = _ruler().get_text_width_height_descent
    width, _, _ = measure(line, typeface(size, bold=bold), ismath=False)  # type: ignore[no-untyped-call] # as above
    return float(width) / 10


def shorten(text: str, width: float, size: float, *, bold: bool = False) -> str:
    """Cut a text that is wider than ``width`` points short, with an ellipsis."""
    if text_width(text, size, bold=bold) <= width:
        return text
    keep = bisect_left(
        range(len(text)),
        True,
        key=lambda last: text_width(text[: last + 1] + _ELLIPSIS, size, bold=bold) > width,
    )
    return text[:keep].rstrip() + _ELLIPSIS


def wrap(
    text: str, width: float, size: float, *, bold: bool = False, most: int | None = None
) -> list[str]:
    """Break a text into lines of at most ``width`` points, and at most ``most`` lines.

    Never within a size or at a ``TIE``. A line is as wide as its words and the spaces between them:
    measured one by one, most words have been measured before.
    """
    lines: list[str] = []
    words = [word for word in _WITHIN_SIZE.sub(TIE, text).split(" ") if word]
    space = text_width("o o", size, bold=bold) - 2 * text_width("o", size, bold=bold)
    while words:
        if most is not None and len(lines) == most - 1:
            lines.append(shorten(" ".join(words), width, size, bold=bold))
            break
        taken, room = 1, width - text_width(words[0], size, bold=bold)
        for word in words[1:]:
            room -= space + text_width(word, size, bold=bold)
            if room < 0:
                break
            taken += 1
        line = " ".join(words[:taken])
        lines.append(shorten(line, width, size, bold=bold) if taken == 1 else line)
        words = words[taken:]
    return [line.replace(TIE, " ") for line in lines]
