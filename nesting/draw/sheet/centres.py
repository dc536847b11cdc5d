"""Where to mark the centres of circles that share a blank: in words, and in a small picture.

The picture shows the first centres from the blank's lower left corner. Its lines of measure end in
ticks: heads of arrows mean directions on these pages.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from nesting.draw.canvas.lettering import ASCENT, BODY, SMALLEST, text_width, wrap
from nesting.draw.canvas.lines import Line, set_lines, write_lines
from nesting.draw.canvas.palette import QUIET
from nesting.draw.canvas.surface import Box, Surface
from nesting.draw.sheet.picture import paper_tint
from nesting.draw.sheet.subject import Subject
from nesting.layouts import Blank
from nesting.units import Unit, format_length, format_size

#: The height of the picture, and the room for two rows of lengths on each side of it, in points.
_HEIGHT = 190.0
_LENGTHS = 27.0
_PITCH = 12.0
_TICK = 3.0
_CROSS = 4.0
_DRAWN = 1.0
_FINE = 0.5
_EDGE = 1.8
#: White above a group, and between its words and its picture.
_WHITE = 10.0

Centre = tuple[int, int]


@dataclass(frozen=True, slots=True)
class CentreGroup:
    """The circles of one blank, seen as the sheet lies; lengths in nm from its lower left corner.

    A row is centres that are level, or above one another where ``upright``.
    """

    letter: str
    paper: str
    diameter: int
    width: int
    height: int
    rows: tuple[tuple[Centre, ...], ...]
    upright: bool

    @property
    def staggered(self) -> bool:
        """Whether every second row begins elsewhere than the first."""
        return len(self.rows) > 1 and self.along(self.rows[1][0]) != self.along(self.rows[0][0])

    @property
    def in_row(self) -> int | None:
        """From one centre to the next in a row; None where each is alone in its row."""
        row = max(self.rows[:2], key=len)
        return self.along(row[1]) - self.along(row[0]) if len(row) > 1 else None

    @property
    def between_rows(self) -> int | None:
        """From one row to the next; None where there is one row."""
        first = self.rows[0][0]
        if len(self.rows) < 2:
            return None
        return self.rows[1][0][not self.upright] - first[not self.upright]

    def along(self, centre: Centre) -> int:
        """How far along its row a centre lies."""
        return centre[self.upright]


def groups_of(subject: Subject) -> list[CentreGroup]:
    """The groups of circles on a layout, equal ones once."""
    found: dict[CentreGroup, None] = {}
    for placed in subject.layout.blanks:
        if not isinstance(placed.node, Blank) or len(placed.node.circles) < 2:
            continue
        piece = subject.plan.piece(placed.node.piece)
        right = placed.x + placed.width
        centres = [
            (right - x if subject.back_up else x - placed.x, y - placed.y)
            for x, y in placed.node.circles
        ]
        upright = len({x for x, _ in centres}) < len({y for _, y in centres})
        rows = tuple(
            tuple(sorted(centre for centre in centres if centre[not upright] == at))
            for at in sorted({centre[not upright] for centre in centres})
        )
        size = placed.width, placed.height
        found[CentreGroup(piece.letter, piece.paper, piece.width, *size, rows, upright)] = None
    return list(found)


def centre_words(group: CentreGroup, unit: Unit) -> Iterator[str]:
    """Say where the centres of a group are, so that they can be measured and marked."""

    def said(length: int) -> str:
        return format_length(length, unit)

    x, y = group.rows[0][0]
    yield f"First centre: {said(x)} from the left edge, {said(y)} from the bottom edge."
    if group.in_row is not None:
        yield f"In a row, from one centre to the next: {said(group.in_row)}."
    if group.between_rows is not None:
        where = "to the right" if group.upright else "up"
        yield f"From row to row, {where}: {said(group.between_rows)}."
    if group.staggered:
        edge = "bottom" if group.upright else "left"
        start = said(group.along(group.rows[1][0]))
        yield f"Every second row begins {start} from the {edge} edge."


def draw_groups(
    surface: Surface, subject: Subject, groups: Sequence[CentreGroup], column: Box, least: float
) -> tuple[Sequence[CentreGroup], Box]:
    """Draw groups at the foot of a column; return those left over, and the rest of the column.

    At least ``least`` points of the column's height stay free.
    """
    while groups:
        lines, words = _set_words(groups[0], subject.unit, column.width)
        height = words + 2 * _WHITE + _HEIGHT
        if column.height - height < least:
            break
        box = Box(column.x, column.y, column.width, height - _WHITE)
        write_lines(surface, lines, box)
        _draw_group(surface, subject, groups[0], Box(box.x, box.y, box.width, _HEIGHT))
        column = Box(column.x, column.y + height, column.width, column.height - height)
        groups = groups[1:]
    return groups, column


def _set_words(group: CentreGroup, unit: Unit, width: float) -> tuple[list[Line], float]:
    """The title of a group and what is said of it, and how far down they reach."""
    count = sum(map(len, group.rows))
    size = format_size(group.width, group.height, unit)
    title, down = set_lines([f"Centres of {count} {group.letter} in {size}"], BODY, bold=True)
    broken = [line for words in centre_words(group, unit) for line in wrap(words, width, SMALLEST)]
    lines, down = set_lines(broken, SMALLEST, down=down)
    return title + lines, down


def _draw_group(surface: Surface, subject: Subject, group: CentreGroup, box: Box) -> None:
    """The first two centres of the first two rows, with the lengths to mark them by."""
    shown = [centre for row in group.rows[:2] for centre in row[:2]]
    radius = group.diameter / 2
    right = min(group.width, max(x for x, _ in shown) + 1.2 * radius)
    top = min(group.height, max(y for _, y in shown) + 1.2 * radius)
    room = box.inset(_LENGTHS)
    scale = min(room.width / right, room.height / top)
    blank = Box(room.centre[0] - right * scale / 2, room.y, right * scale, top * scale)
    surface.box(blank, fill=paper_tint(subject.plan, group.paper))
    surface.line([(blank.x, blank.top), (blank.x, blank.y), (blank.right, blank.y)], _EDGE)
    for x, y in shown:
        centre = blank.x + x * scale, blank.y + y * scale
        surface.disc(centre, radius * scale, weight=_DRAWN)
        for across, up in ((_CROSS, 0), (0, _CROSS)):
            ends = [(centre[0] + way * across, centre[1] + way * up) for way in (-1, 1)]
            surface.line(ends, _FINE)
    (x, y), along = group.rows[0][0], group.in_row or 0
    between = group.between_rows or 0
    steps = (between, along) if group.upright else (along, between)
    measure = _Measures(surface, subject.unit, blank, scale)
    measure.level(0, x, steps[0])
    measure.upright(0, y, steps[1])
    if group.staggered:
        start = group.along(group.rows[1][0])
        (measure.upright if group.upright else measure.level)(1, start, 0)


@dataclass(frozen=True, slots=True)
class _Measures:
    """Lines of measure round the shown part of a blank, on its near or its far side."""

    surface: Surface
    unit: Unit
    blank: Box
    scale: float

    def level(self, far: int, first: int, step: int) -> None:
        """Measure across, from the left edge to a centre and from there to the next."""
        y = self.blank.top + 6 if far else self.blank.y - 6
        out = 1 if far else -1
        for number, (start, length) in enumerate(_spans(first, step)):
            left, right = (self.blank.x + at * self.scale for at in (start, start + length))
            self._line([(left, y), (right, y)], (0, _TICK))
            down = y + 3 if far else y - 2 - SMALLEST * ASCENT
            down += out * self._aside(number, first, step)
            words = format_length(length, self.unit)
            self.surface.text((left + right) / 2, down, words, SMALLEST, align="center")

    def upright(self, far: int, first: int, step: int) -> None:
        """Measure up, from the bottom edge to a centre and from there to the next."""
        x = self.blank.right + 6 if far else self.blank.x - 6
        out = 1 if far else -1
        for number, (start, length) in enumerate(_spans(first, step)):
            low, high = (self.blank.y + at * self.scale for at in (start, start + length))
            self._line([(x, low), (x, high)], (_TICK, 0))
            at = x + 2 + SMALLEST * ASCENT if far else x - 3
            at += out * self._aside(number, first, step)
            words, middle = format_length(length, self.unit), (low + high) / 2
            self.surface.text(at, middle, words, SMALLEST, align="center", rotation=90)

    def _aside(self, number: int, first: int, step: int) -> float:
        """How far the second length is moved out of the way of the first where one is too wide."""
        fits = all(
            text_width(format_length(length, self.unit), SMALLEST) + 3 <= length * self.scale
            for _, length in _spans(first, step)
        )
        return 0.0 if fits else number * _PITCH * 0.85

    def _line(self, ends: list[tuple[float, float]], tick: tuple[float, float]) -> None:
        self.surface.line(ends, _FINE, colour=QUIET)
        for x, y in ends:
            self.surface.line(
                [(x - tick[0], y - tick[1]), (x + tick[0], y + tick[1])], _FINE, colour=QUIET
            )


def _spans(first: int, step: int) -> list[tuple[int, int]]:
    """Where each length starts, and how long it is."""
    return [(0, first), (first, step)] if step else [(0, first)]
