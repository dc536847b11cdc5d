"""Typefaces: matplotlib's own, others of the machine for what it lacks, and substitutes."""

import unicodedata
from functools import cache
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.font_manager import FontProperties

#: Stands for a character that no typeface at hand has.
SUBSTITUTE = "\N{WHITE SQUARE}"
#: Says so where that happens.
SUBSTITUTES = (
    f"{SUBSTITUTE} or words in [ ] stand for a character that no typeface on this machine has; "
    "plan.json has the name as it is written."
)
#: Ends a name written from the right, so that the words after it stay on its right.
FROM_LEFT = "\N{LEFT-TO-RIGHT MARK}"
#: They ask for another form of the character before them, such as a coloured one.
_VARIATIONS = frozenset(map(chr, range(0xFE00, 0xFE10)))
_FILES = {False: "DejaVuSans.ttf", True: "DejaVuSans-Bold.ttf"}


def _file(*, bold: bool) -> Path:
    """The font that comes with matplotlib: the same on every machine."""
    import matplotlib as mpl

    return Path(mpl.get_data_path(), "fonts", "ttf", _FILES[bold])


@cache
def typeface(size: float, *, bold: bool = False, file: str | None = None) -> "FontProperties":
    """The font at a size in points, or another of the machine's, by its file."""
    from matplotlib.font_manager import FontProperties

    return FontProperties(
        family=["DejaVu Sans", "sans-serif"],
        weight="bold" if bold else "normal",
        fname=file or str(_file(bold=bold)),
        size=size,
    )


@cache
def _glyphs() -> frozenset[int]:
    """The characters that both weights have."""
    from matplotlib.font_manager import get_font

    regular, bold = (set(get_font(str(_file(bold=b))).get_charmap()) for b in (False, True))
    return frozenset(regular & bold)


@cache
def _other_files() -> tuple[tuple[str, frozenset[int]], ...]:
    """The machine's other upright typefaces and the characters of each.

    TrueType comes first, as some readers of PDFs take no other outlines; then typefaces with the
    most characters, so that all of a script looks alike.
    """
    from matplotlib.font_manager import fontManager, get_font

    found = {}
    for entry in fontManager.ttflist:
        if entry.style != "normal" or entry.weight not in (400, "normal", "regular"):
            continue
        if "lastresort" in entry.name.lower().replace(" ", ""):  # has a box for every character
            continue
        try:
            found[entry.fname] = frozenset(get_font(entry.fname).get_charmap())
        except (OSError, RuntimeError):  # gone since the list was made, or damaged
            continue
    order = sorted(found, key=lambda file: (_is_cff(file), -len(found[file]), file))
    return tuple((file, found[file]) for file in order)


def _is_cff(file: str) -> bool:
    """Whether a font's outlines are not TrueType's; in a collection, those of its first font."""
    with Path(file).open("rb") as opened:
        head = opened.read(16)
        if head[:4] == b"ttcf":
            opened.seek(int.from_bytes(head[12:16], "big"))
            head = opened.read(4)
    return head[:4] == b"OTTO"


@cache
def _other_file(character: str) -> str | None:
    """The typeface of the machine for a character that ours lacks; None where there is none."""
    return next(
        (
            file
            for file, characters in _other_files()
            if ord(character) in characters and _has_outline(file, character)
        ),
        None,
    )


def _has_outline(file: str, character: str) -> bool:
    """Whether a font draws a character with outlines, not as a small colour picture."""
    from matplotlib.font_manager import get_font

    font = get_font(file)
    font.set_size(12, 72)
    font.load_char(ord(character))
    vertices, _ = font.get_path()
    return len(vertices) > 0


def _in_ours(character: str) -> bool:
    return ord(character) in _glyphs()


def _substitute(character: str) -> str:
    """What a symbol is called, in brackets; a square for a letter of a script."""
    name = unicodedata.name(character, "")
    return f"[{name.lower()}]" if name and unicodedata.category(character) == "So" else SUBSTITUTE


def _seen(text: str) -> str:
    """A text on one line without invisible characters, except the mark that we set ourselves."""
    line = " ".join(text.split())
    return "".join(
        c
        for c in line
        if c == FROM_LEFT or (unicodedata.category(c) != "Cf" and c not in _VARIATIONS)
    )


def is_drawable(*texts: str) -> bool:
    """Whether every character of some texts is in some typeface, so that nothing is substituted."""
    foreign = (text for text in texts if not text.isascii())
    return all(_in_ours(c) or _other_file(c) for text in foreign for c in _seen(text))


def drawable(text: str) -> str:
    r"""Make a text one line that the typefaces can draw, and that reads from the left.

    A symbol that none has becomes its name, another character a small square; invisible controls
    (joiners, overrides of the direction) are left out; line breaks and tabs become spaces.

    Examples
    --------
    >>> drawable("plum\n\tand \U000E0101pear & \N{HEAVY BLACK HEART}")
    'plum and □pear & ❤'
    """
    if text.isascii() and text.isprintable() and "  " not in text:
        return text.strip()
    seen = _seen(text)
    line = seen
    if not _glyphs().issuperset(map(ord, seen)):
        line = "".join(c if _in_ours(c) or _other_file(c) else _substitute(c) for c in seen)
    if not is_from_right(line):  # its name is on another line: the mark has nothing to do
        return line.replace(FROM_LEFT, "")
    return FROM_LEFT + line


def runs_of(line: str, size: float, *, bold: bool) -> "list[tuple[str, FontProperties]]":
    """Split what ``drawable`` gives into runs of one typeface each."""
    ours = typeface(size, bold=bold)
    if line.isascii() or _glyphs().issuperset(map(ord, line)):
        return [(line, ours)]
    runs = groupby(line, lambda c: None if _in_ours(c) else _other_file(c))
    return [("".join(run), typeface(size, file=file) if file else ours) for file, run in runs]


def is_from_right(text: str) -> bool:
    """Whether some of a text is written from the right."""
    return not text.isascii() and any(unicodedata.bidirectional(c) in ("R", "AL") for c in text)
