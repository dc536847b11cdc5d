"""The notes below the picture: the key to its letters, and remarks on the layout."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import accumulate

from nesting.draw.canvas.lettering import BODY, LEADING, SMALLEST, text_width, wrap
from nesting.draw.canvas.lines import Line, set_lines, write_lines
from nesting.draw.canvas.surface import Box, Surface
from nesting.draw.sheet.cautions import find_cautions
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.words import (
    caution,
    count_words,
    kept_words,
    layout_shares,
    legend_words,
    share_words,
)

#: How high the notes may be, in points, before they are set smaller or run on to the next page.
_MOST_NOTES = 230


@dataclass(frozen=True, slots=True)
class Notes:
    """Lines below the picture, and the height that they take."""

    height: float
    lines: tuple[Line, ...]


#: A piece's letter, and the lines of what is said of it.
KeyEntry = tuple[str, tuple[str, ...]]


def set_notes(subject: Subject, width: float, *, leaders: bool) -> tuple[Notes, Sequence[KeyEntry]]:
    """Set what is said below the picture, smaller where there is much of it.

    The entries of the key that have no room there are for a further page. Where there are
    ``leaders`` in the picture, they are explained.
    """
    for size in (BODY, 9.75, SMALLEST):
        key = _set_key(subject, width, size)
        notes = _set_notes_at(subject, key, width, size, leaders=leaders)
        if notes.height < _MOST_NOTES:
            return notes, ()
    here = len(key)
    while here and notes.height >= _MOST_NOTES:
        here -= 1
        notes = _set_notes_at(subject, key[:here], width, size, leaders=leaders, more=True)
    return notes, key[here:]


def _set_key(subject: Subject, width: float, size: float) -> list[KeyEntry]:
    """What each letter in the picture stands for, and how many are cut."""
    counts = list(count_words(subject))
    indent = _indent(counts, size)
    return [(letter, tuple(wrap(words, width - indent, size))) for letter, words in counts]


def _indent(entries: Sequence[tuple[str, object]], size: float) -> float:
    """How far the words stand from the left: clear of the widest letter."""
    return 6 + max((text_width(letter, size, bold=True) for letter, _ in entries), default=0.0)


def _set_notes_at(
    subject: Subject,
    key: Sequence[KeyEntry],
    width: float,
    size: float,
    *,
    leaders: bool,
    more: bool = False,
) -> Notes:
    """The key, then one paragraph for each thing to know."""
    lines, down = _key_lines(key, size, _indent(key, size))
    down += size * 0.4
    paragraphs = [("The other letters are on the next page.", False)] if more else []
    paragraphs += [(text, True) for text in find_cautions(subject.plan, subject.layout)]
    paragraphs += [
        (kept_words([replace(subject.layout, alike=1)], subject.paper, subject.unit), False),
        (legend_words(subject, leaders=leaders), False),
        (share_words(layout_shares(subject)), False),
        (caution(subject.plan.asked.trimmer), False),
    ]
    for text, bold in paragraphs:
        said, down = set_lines(wrap(text, width, size, bold=bold), size, bold=bold, down=down)
        lines += said
    return Notes(down, tuple(lines))


def _key_lines(key: Sequence[KeyEntry], size: float, indent: float) -> tuple[list[Line], float]:
    """The entries of the key one below the other, and how far down they reach."""
    lines: list[Line] = []
    down = 0.0
    for letter, words in key:
        lines += set_lines([letter], size, bold=True, down=down)[0]
        said, down = set_lines(words, size, down=down, right=indent)
        lines += said
    return lines, down


def draw_key(
    surface: Surface, key: Sequence[KeyEntry], column: Box
) -> tuple[Sequence[KeyEntry], float]:
    """Write entries of the key from the top of a column; return the rest and the height taken."""
    ends = accumulate(len(words) * SMALLEST * LEADING for _, words in key)
    here = sum(end <= column.height for end in ends)
    lines, down = _key_lines(key[:here], SMALLEST, _indent(key, SMALLEST))
    write_lines(surface, lines, column)
    return key[here:], down
