"""The stroke table: for each step how the part lies, the ruler setting, and what drops off."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, pi, sin

from nesting.cutting.steps import Step
from nesting.cutting.strokes import effort
from nesting.draw.canvas.lettering import (
    ASCENT,
    BODY,
    HEADING,
    LEADING,
    MIDDLE,
    NUMBER,
    SMALLEST,
    TITLE,
    text_width,
    wrap,
)
from nesting.draw.canvas.palette import QUIET
from nesting.draw.canvas.surface import Box, Surface
from nesting.draw.sheet.step_words import (
    at_once_words,
    number_words,
    setting_words,
    step_lines,
)
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.tick_boxes import MOST_BOXES, SIDE, boxes_height, boxes_width, draw_boxes
from nesting.draw.sheet.turns import PICTURE, draw_turn

_GAP = 8.0
_SAME = "same"
#: Of the ring round the numbers of a step's strokes: half its height, and the points of either end.
_RING = 8.5
_ROUND = 12
#: From a step's upper rule to its ruler setting's baseline, and to the first line below.
_SETTING_DOWN = 20.0
_WORDS_DOWN = 25.0


@dataclass(frozen=True, slots=True)
class _Setting:
    """How the steps are set: type size, line pitch, white below each step."""

    size: float
    pitch: float
    white: float


_USUAL = _Setting(9.5, 11.6, 6.0)
#: Where that brings the last steps onto the page.
_TIGHT = _Setting(SMALLEST, 10.2, 3.5)


@dataclass(frozen=True, slots=True)
class _Row:
    """A step of the table, set: its lines with their weight, and its height in points.

    ``boxes`` are below the lines, or beside the ruler setting where this is None.
    """

    number: int
    lines: tuple[tuple[str, bool], ...]
    height: float
    boxes_down: float | None


def draw_table(surface: Surface, subject: Subject, columns: Sequence[Box], first: int) -> int:
    """Draw the steps from ``first`` on into columns; return the first one without room."""
    if first and first == len(subject.steps):
        return first
    head = _draw_head(surface, subject, columns[0], continued=first > 0)
    columns = [Box(columns[0].x, columns[0].y, columns[0].width, head - columns[0].y), *columns[1:]]
    rows, setting = _set_rows(subject, first, columns, _USUAL), _USUAL
    if sum(map(len, rows)) < len(subject.steps) - first:
        tight = _set_rows(subject, first, columns, _TIGHT)
        if sum(map(len, tight)) == len(subject.steps) - first:
            rows, setting = tight, _TIGHT
    for column, inside in zip(columns, rows, strict=True):
        y = column.top
        for row in inside:
            at = Box(column.x, y, column.width, 0)
            _draw_row(surface, subject, row, at, setting, begins=row is inside[0])
            y -= row.height
    return first + sum(map(len, rows))


def _set_rows(
    subject: Subject, first: int, columns: Sequence[Box], setting: _Setting
) -> list[list[_Row]]:
    """The steps that each column has room for; the very first is always set."""
    rows: list[list[_Row]] = []
    number = first
    for column in columns:
        y, inside = column.top, list[_Row]()
        while number < len(subject.steps):
            afresh = number == first > 0
            row = _set_row(subject, number, column.width, setting, afresh=afresh)
            if y - row.height < column.y and number > first:
                break
            inside.append(row)
            y -= row.height
            number += 1
        rows.append(inside)
    return rows


def _draw_head(surface: Surface, subject: Subject, column: Box, *, continued: bool) -> float:
    """The table's title, and once what a stroke is and what the small pictures show."""
    y = column.top
    title = "Strokes, continued" if continued else "Strokes"
    surface.text(column.x, y - HEADING * ASCENT, title, HEADING, bold=True)
    y -= HEADING * LEADING
    if continued:
        return y - 4
    for words in _head_words(subject):
        for line in wrap(words, column.width, SMALLEST):
            surface.text(column.x, y - SMALLEST * ASCENT, line, SMALLEST)
            y -= SMALLEST * 1.25
    return y - 5


def _head_words(subject: Subject) -> Sequence[str]:
    if not subject.steps:
        return ("No stroke: the sheet is used whole.",)
    alike, trimmer = subject.layout.alike, subject.plan.asked.trimmer
    count = effort((subject.layout,), subject.plan.asked)
    sheets = "both sheets" if alike == 2 else f"all {alike} sheets"
    settings = f"{count.ruler_settings} ruler setting{'s' if count.ruler_settings > 1 else ''}"
    heavy = "length to measure" if trimmer.kind == "knife" else "ruler setting"
    here = f"for {sheets}" if alike > 1 else "here"
    stroke = f"A stroke is one pass of the blade: {count.strokes} {here}, {settings}."
    words = [
        f"{stroke} Hold the larger part.",
        f"Pictures: grey drops off, heavy line = {heavy}, black triangle = top of the drawing.",
    ]
    if alike > 1:
        stacked = f", {at_once_words(alike, trimmer.stack)}," if trimmer.stack > 1 else ""
        boxed = trimmer.stack == 1 and alike <= MOST_BOXES
        a_box = ": a box for each sheet" if boxed else ""
        words.append(f"Make each step on {sheets}{stacked} before the next{a_box}.")
    return words


def _set_row(
    subject: Subject, number: int, width: float, setting: _Setting, *, afresh: bool
) -> _Row:
    """Break the text of a step into lines."""
    room = width - PICTURE[0] - _GAP
    lines = tuple(
        (line, bold)
        for words, bold in step_lines(subject, number, afresh=afresh)
        for line in wrap(words, room, setting.size, bold=bold)
    )
    deep = max(_WORDS_DOWN + len(lines) * setting.pitch, PICTURE[1] + NUMBER + 8)
    boxes, down = _boxes_of(subject), None
    head = _head_width(subject, subject.steps[number])
    if head + _GAP + boxes_width(boxes) > room:
        down, deep = deep + 2, deep + 2 + boxes_height(boxes, room)
    return _Row(number, lines, deep + setting.white, down)


def _boxes_of(subject: Subject) -> int:
    """How many boxes a step has: one for each sheet where they are cut one by one."""
    return subject.layout.alike if subject.plan.asked.trimmer.stack == 1 else 1


def _head_width(subject: Subject, step: Step) -> float:
    """How wide the ruler setting of a step is, with the numbers of its strokes beside it."""
    setting = text_width(setting_words(subject, step), TITLE, bold=True)
    return setting + _GAP + _ring_width(number_words(step))


def _ring_width(numbers: str) -> float:
    return max(2 * _RING, text_width(numbers, NUMBER, bold=True) + _RING)


def _draw_ring(surface: Surface, numbers: str, left: float, middle: float) -> None:
    """Draw the numbers of a step's strokes as they stand on the lines: in a ring."""
    right = left + _ring_width(numbers) - _RING
    turns = [pi * (n / _ROUND - 0.5) for n in range(_ROUND + 1)]
    ends = [(right + _RING * cos(turn), middle + _RING * sin(turn)) for turn in turns]
    ends += [(left + _RING - _RING * cos(turn), middle - _RING * sin(turn)) for turn in turns]
    surface.shape(ends, fill=None, weight=1.0)
    wide = text_width(numbers, NUMBER, bold=True)
    x = (left + right + _RING - wide) / 2
    surface.text(x, middle - NUMBER * MIDDLE, numbers, NUMBER, bold=True)


def _draw_row(
    surface: Surface, subject: Subject, row: _Row, at: Box, setting: _Setting, *, begins: bool
) -> None:
    """Draw a step with its top at ``at``.

    A change of the ruler setting has a heavy rule above it; the same again is said to be the same.
    """
    step = subject.steps[row.number]
    same = row.number > 0 and subject.steps[row.number - 1].setting == step.setting
    y, right = at.y, at.right
    surface.line([(at.x, y), (right, y)], 0.6 if same else 2.2)
    surface.text(at.x, y - NUMBER - 2, f"step {row.number + 1}", BODY, bold=True)
    left = at.x + PICTURE[0] + _GAP
    draw_turn(surface, subject, step, Box(at.x, y - NUMBER - 6 - PICTURE[1], *PICTURE))
    surface.text(left, y - _SETTING_DOWN, setting_words(subject, step), TITLE, bold=True)
    end = left + _head_width(subject, step)
    numbers = number_words(step)
    _draw_ring(surface, numbers, end - _ring_width(numbers), y - _SETTING_DOWN + TITLE * MIDDLE)
    boxes = _boxes_of(subject)
    if row.boxes_down is not None:
        room = Box(left, y - row.height, right - left, row.height - row.boxes_down)
        draw_boxes(surface, boxes, room)
    else:
        right -= boxes_width(boxes)
        draw_boxes(surface, boxes, Box(right, y - _SETTING_DOWN - 0.5, at.right - right, SIDE))
    if same and not begins and end + _GAP + text_width(_SAME, BODY) <= right - 6:
        surface.text(right - 6, y - _SETTING_DOWN, _SAME, BODY, align="right", colour=QUIET)
    for number, (line, bold) in enumerate(row.lines):
        down = _WORDS_DOWN + number * setting.pitch + setting.size * ASCENT
        surface.text(left, y - down, line, setting.size, bold=bold)
