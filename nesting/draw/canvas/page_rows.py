"""Pages of rows: titles, paragraphs and tables, broken between rows where a page is full."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from nesting.draw.canvas.lettering import (
    ASCENT,
    BODY,
    HEADING,
    SMALLEST,
    isolated,
    text_width,
    wrap,
)
from nesting.draw.canvas.lines import Line, set_lines, write_lines
from nesting.draw.canvas.palette import INK, QUIET, Colour
from nesting.draw.canvas.surface import LETTER_PAGE, Box, Page, Surface, house_style

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_TABLE = 9.5
_TABLE_LEADING = 1.25
_GUTTER = 12.0
#: A cell with more lines than this ends in an ellipsis.
_MOST_LINES = 3
#: By so much each row may move closer to the next one, in points: the least that saves a page.
_CLOSER = (0.0, 0.5, 1.0, 1.5)


@dataclass(frozen=True, slots=True)
class PageRow:
    """What stays together on a page; ``head`` is repeated where a page begins with the row.

    ``boxes`` to tick have the place of their lower left corner, as a text has, and their side.
    """

    height: float
    texts: tuple[Line, ...]
    rule: bool = False
    head: "PageRow | None" = None
    follows: float = 0.0  # height that must fit below, so that no heading ends a page
    boxes: tuple[tuple[float, float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class TableColumn:
    """A column of a table."""

    head: str
    align: Literal["left", "right"] = "left"
    bold: bool = False


def row_pages(
    rows: Iterable[PageRow], head: PageRow, page: Page = LETTER_PAGE, foot: str = ""
) -> "Iterator[Figure]":
    """Draw rows from the top, on as many pages as they need; ``head`` begins each further one.

    ``foot`` stands below each.
    """
    rows = list(rows)
    with house_style():
        room = Surface(page).print_area.height
        closer = ([replace(row, height=row.height - by) for row in rows] for by in _CLOSER)
        for on_page in min((_broken(own, head, room) for own in closer), key=len):
            surface = Surface(page, foot)
            y = surface.print_area.top
            for row in on_page:
                y = _draw_row(surface, row, y)
            yield surface.figure


def _broken(rows: Sequence[PageRow], head: PageRow, room: float) -> list[list[PageRow]]:
    """The rows of each page, with what is repeated at its top."""
    pages: list[list[PageRow]] = [[]]
    left = room
    for row in rows:
        if pages[-1] and row.height + row.follows > left:
            pages.append([again for again in (head, row.head) if again is not None])
            left = room - sum(again.height for again in pages[-1])
        pages[-1].append(row)
        left -= row.height
    return pages


def _draw_row(surface: Surface, row: PageRow, y: float) -> float:
    """Draw a row with its top at ``y``; return where the next one begins."""
    area = surface.print_area
    write_lines(surface, row.texts, Box(area.x, y, area.width, 0))
    for x, down, side in row.boxes:
        surface.box(Box(area.x + x, y - down, side, side), weight=1.0)
    if row.rule:
        surface.line(
            [(area.x, y - row.height + 2), (area.right, y - row.height + 2)], 0.5, colour=QUIET
        )
    return y - row.height


def titled(title: str, rows: Iterable[PageRow]) -> Iterator[PageRow]:
    """A section: white, its title, its rows; nothing where there are none."""
    rows = list(rows)
    if not rows:
        return
    texts, _ = set_lines([title], HEADING, bold=True, down=12)
    yield PageRow(12 + HEADING * 1.3, tuple(texts), follows=60)
    yield from rows


def paragraph(
    text: str,
    width: float,
    size: float,
    *,
    bold: bool = False,
    most: int | None = None,
    colour: Colour = INK,
) -> PageRow:
    """Text over the whole width."""
    lines, down = set_lines(wrap(text, width, size, bold=bold, most=most), size, bold=bold)
    return PageRow(down + 3, tuple(replace(line, colour=colour) for line in lines))


def continued(name: str, what: str, width: float) -> PageRow:
    """The head of a further page."""
    words = f"{isolated(name)}, {what} continued"
    return paragraph(words, width, BODY, colour=QUIET, most=1)


def note(text: str, width: float, size: float = SMALLEST) -> PageRow:
    """Text below a table, clear of its last rule."""
    row = paragraph(text, width, size)
    texts = tuple(replace(line, down=line.down + 3) for line in row.texts)
    return replace(row, texts=texts, height=row.height + 3)


def table_rows(
    columns: Sequence[TableColumn], body: Sequence[tuple[Sequence[str], str]], width: float
) -> Iterator[PageRow]:
    """A table: its head, then for each row its cells and any words below them.

    Empty columns are left out, and a table without rows.
    """
    if not body:
        return
    used = [n for n in range(len(columns)) if any(cells[n] for cells, _ in body)]
    columns = [columns[n] for n in used]
    body = [([cells[n] for n in used], words) for cells, words in body]
    heads = [column.head for column in columns]
    widths = _column_widths(columns, [heads, *(cells for cells, _ in body)], width)
    plain = [replace(column, bold=False) for column in columns]
    head = _table_row(plain, heads, widths, colour=QUIET)
    yield head
    for cells, words in body:
        row = _table_row(columns, cells, widths)
        below = paragraph(words, width, SMALLEST) if words else PageRow(0, ())
        texts = tuple(replace(text, down=text.down + row.height - 1) for text in below.texts)
        yield PageRow(row.height + below.height, row.texts + texts, rule=True, head=head)


def _column_widths(
    columns: Sequence[TableColumn], rows: Sequence[Sequence[str]], width: float
) -> list[float]:
    """The width each column needs; spare width is shared, missing width taken from the widest."""
    needs = [
        max(text_width(row[number], _TABLE, bold=column.bold) for row in rows) + 0.1
        for number, column in enumerate(columns)
    ]
    left = width - _GUTTER * (len(columns) - 1)
    spare = max(0.0, left - sum(needs)) / len(columns)
    most = left
    for number, need in enumerate(sorted(needs)):
        most = left / (len(needs) - number)
        left -= min(need, most)
    return [min(need + spare, max(most, need if spare else 0.0) + spare) for need in needs]


def _table_row(
    columns: Sequence[TableColumn],
    cells: Sequence[str],
    widths: Sequence[float],
    *,
    colour: Colour = INK,
) -> PageRow:
    """A row of a table: each cell broken within its column."""
    texts: list[Line] = []
    x, deepest = 0.0, 1
    for column, cell, room in zip(columns, cells, widths, strict=True):
        lines = wrap(cell, room, _TABLE, bold=column.bold, most=_MOST_LINES)
        at = x if column.align == "left" else x + room
        for number, line in enumerate(lines):
            down = 3 + _TABLE * (ASCENT + number * _TABLE_LEADING)
            texts.append(Line(at, down, line, _TABLE, column.bold, column.align, colour))
        deepest = max(deepest, len(lines))
        x += room + _GUTTER
    return PageRow(deepest * _TABLE * _TABLE_LEADING + 5, tuple(texts), rule=True)
