"""Labels to cut out and put on bags: one for each piece.

Labels are set in rows of two, each row as high as the fuller one needs. Rows are whole steps high,
so that the cuts between them take few ruler settings.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

from nesting.draw.canvas.lettering import (
    ASCENT,
    BODY,
    LEADING,
    LETTER,
    SIZE,
    text_width,
    wrap,
)
from nesting.draw.canvas.lines import Line, set_lines, write_lines
from nesting.draw.canvas.palette import QUIET
from nesting.draw.canvas.surface import LETTER_PAGE, Box, Page, Surface, house_style
from nesting.draw.card.recipe_words import (
    cut_count,
    for_words,
    paper_words,
    print_words,
    score_words,
)
from nesting.draw.card.sides import print_tops
from nesting.draw.sheet.labels import Arrow, Word, WordRow, draw_row
from nesting.draw.sheet.middle_words import piece_words
from nesting.draw.sheet.words import die_words, mark_words, piece_size
from nesting.mark import mark_of
from nesting.pieces import Piece
from nesting.plan import Plan

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_ACROSS = 2
#: Steps on a page: a row of labels is three of them high, or as many more as it needs.
_STEPS, _LEAST = 15, 3
_LETTER = 40.0
_LARGE = 18.0
_PAD = 9.0
_ARROW = 26.0
#: White below the letter.
_BELOW = 3.0
#: Room for the letter and its arrow.
_LETTERS = 84.0
#: The lines between labels, at the edge of the page's print, in points.
_LINE = 10.0


@dataclass(frozen=True, slots=True)
class _Label:
    """What a label says: its letter, the lines beside and below; the height it needs, in points."""

    letter: WordRow
    lines: tuple[Line, ...]
    height: float


def label_figures(plan: Plan, page: Page = LETTER_PAGE) -> "Iterator[Figure]":
    """Draw a label for each piece that is cut, on as many pages as they need.

    Yields
    ------
    matplotlib.figure.Figure
        One figure for each page.
    """
    pieces = [piece for piece in plan.pieces if plan.as_cut(piece).demand]
    if not pieces:
        return
    with house_style():
        foot, mark = mark_words(plan), mark_of(plan)
        surface = Surface(page, foot)
        head = BODY * LEADING + _LINE
        area = surface.print_area
        area = Box(area.x, area.y + _LINE, area.width, area.height - head - _LINE)
        width, step = area.width / _ACROSS, area.height / _STEPS
        labels = [_label(plan, piece, mark, width - 2 * _PAD, area.height) for piece in pieces]
        rows = [labels[first : first + _ACROSS] for first in range(0, len(labels), _ACROSS)]
        y, lines = area.top, [area.top]
        for row in rows:
            height = step * _steps(row, step)
            if y - height < area.y - 0.1:
                yield _finished(surface, area, lines)
                surface, y, lines = Surface(page, foot), area.top, [area.top]
            y -= height
            lines.append(y)
            for number, label in enumerate(row):
                _draw_label(surface, label, Box(area.x + number * width, y, width, height))
        yield _finished(surface, area, lines)


def _steps(row: list[_Label], step: float) -> int:
    """The height of a row in steps: what its fuller label needs."""
    return min(_STEPS, max(_LEAST, ceil(max(label.height for label in row) / step)))


def _finished(surface: Surface, area: Box, lines: list[float]) -> "Figure":
    """Write what the page is for, and mark where it is cut apart."""
    words = "Labels for the bags, one for each piece: cut apart at the marks."
    top = surface.print_area.top
    surface.text(area.x, top - BODY * ASCENT, words, BODY, colour=QUIET)
    columns = [area.x + area.width * number / _ACROSS for number in range(_ACROSS + 1)]
    for x in columns:
        for start, end in ((lines[0], lines[0] + _LINE), (lines[-1], lines[-1] - _LINE)):
            surface.line([(x, start), (x, end)], 0.8)
    for y in lines:
        for start, end in ((area.x, area.x - _LINE), (area.right, area.right + _LINE)):
            surface.line([(start, y), (end, y)], 0.8)
        for x in columns[1:-1]:  # a small cross where four labels meet
            surface.line([(x - _LINE / 2, y), (x + _LINE / 2, y)], 0.8)
            surface.line([(x, y - _LINE / 2), (x, y + _LINE / 2)], 0.8)
    return surface.figure


def _label(plan: Plan, piece: Piece, mark: str, width: float, most: float) -> _Label:
    """What to write on the label of a piece: letter, size and count large, the rest below."""
    unit = plan.asked.unit
    x, room = _PAD + _LETTERS, width - _LETTERS
    size = wrap(piece_size(piece, unit), room, _LARGE, bold=True)
    lines, down = set_lines(size, _LARGE, bold=True, down=_PAD, right=x)
    count = f"{cut_count(plan, piece)} piece{'s' if piece.demand > 1 else ''}"
    more, down = set_lines([count], SIZE, down=down, right=x)
    lines += more
    name = wrap(piece.name, width, SIZE, bold=True, most=2)
    more, down = set_lines(
        name, SIZE, bold=True, down=max(down, _PAD + _LETTER) + _BELOW, right=_PAD
    )
    lines += more
    of_paper = f"{paper_words(plan, piece)}; mark {mark}"
    said = [of_paper, print_words(plan, piece), score_words(piece, unit), piece_words(plan, piece)]
    if piece.die_allowance:
        said.append(die_words(piece, plan.layouts, unit))
    broken = [line for words in said if words for line in wrap(words, width, BODY, most=2)]
    left = int((most - down - _PAD) / (BODY * LEADING)) - len(broken)
    broken += wrap(for_words(plan, piece), width, BODY, most=left)
    more, down = set_lines(broken, BODY, down=down, right=_PAD)
    return _Label(_letter(plan, piece), tuple(lines + more), down + _PAD)


def _letter(plan: Plan, piece: Piece) -> WordRow:
    """The letter, as large as possible, and an arrow to the top of the print."""
    tops = print_tops(plan, piece)
    arrow = Arrow(tops[0], both=piece.print == "two-way", size=_ARROW) if len(tops) == 1 else None
    room = _LETTERS - 8 - (_ARROW + 5 if arrow else 0)
    size = min(_LETTER, _LETTER * room / text_width(piece.letter, _LETTER, bold=True))
    letter = Word(piece.letter, max(LETTER, size), bold=True)
    return (letter, arrow) if arrow else (letter,)


def _draw_label(surface: Surface, label: _Label, box: Box) -> None:
    """Write a label from its upper left corner."""
    draw_row(surface, label.letter, (box.x + _PAD, box.top - _PAD - _LETTER * ASCENT))
    write_lines(surface, label.lines, box)
