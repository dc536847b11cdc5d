"""The summary: papers and what is proven, pieces, cards, what stays uncut."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from nesting.draw.lettering import (
    BODY,
    HEADING,
    LEADING,
    SMALLEST,
    TIE,
    TITLE,
    isolated,
    text_width,
    wrap,
)
from nesting.draw.palette import INK, QUIET, Colour
from nesting.draw.surface import LETTER_PAGE, Page, Surface, house_style
from nesting.draw.words import (
    answer_words,
    bound_words,
    keep_words,
    piece_size,
    share_words,
    source_words,
    unmade_words,
    use_words,
    whole_cards_words,
)
from nesting.plan import PaperFigures, Plan

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_TABLE = 9.5
_TABLE_LEADING = 1.25
_GUTTER = 12.0
#: A cell with more lines than this ends in an ellipsis.
_MOST_LINES = 3
_ENDED = {
    "proven": "",
    "limit": "The search ended at its limit.",
    "interrupted": "The search was interrupted: a better plan may exist.",
}


@dataclass(frozen=True, slots=True)
class _Text:
    """A line of text in a row: ``down`` points below the row's top, ``x`` from the left."""

    x: float
    down: float
    text: str
    size: float
    bold: bool = False
    align: Literal["left", "right"] = "left"
    colour: Colour = INK


@dataclass(frozen=True, slots=True)
class _Row:
    """What stays together on a page; ``head`` is repeated where a page begins with the row."""

    height: float
    texts: tuple[_Text, ...]
    rule: bool = False
    head: "_Row | None" = None
    follows: float = 0.0  # height that must fit below, so that no heading ends a page


@dataclass(frozen=True, slots=True)
class _Column:
    """A column of a table."""

    head: str
    align: Literal["left", "right"] = "left"
    bold: bool = False


_PAPERS = (
    _Column("paper", bold=True),
    _Column("needed", "right"),
    _Column("at hand", "right"),
    _Column("to buy", "right", bold=True),
    _Column("cuts", "right"),
    _Column("ruler settings", "right"),
)
_PIECES = (
    _Column("", bold=True),
    _Column("piece"),
    _Column("size"),
    _Column("paper"),
    _Column("count", "right"),
    _Column("for"),
)
_CARDS = (
    _Column("card"),
    _Column("asked", "right"),
    _Column("complete", "right", bold=True),
    _Column("not cut"),
)


def summary_figures(plan: Plan, page: Page = LETTER_PAGE) -> "Iterator[Figure]":
    """Draw the summary of a plan, on as many pages as it needs.

    Yields
    ------
    matplotlib.figure.Figure
        One figure for each page.
    """
    with house_style():
        surface = Surface(page)
        area = surface.print_area
        y = area.top
        for row in _rows(plan, area.width):
            if y - row.height - row.follows < area.y and y < area.top:
                yield surface.figure
                surface, y = Surface(page), area.top
                for head in (_continued(plan, area.width), row.head):
                    if head is not None:
                        y = _draw_row(surface, head, y)
            y = _draw_row(surface, row, y)
        yield surface.figure


def _draw_row(surface: Surface, row: _Row, y: float) -> float:
    """Draw a row with its top at ``y``; where the next one goes."""
    area = surface.print_area
    for text in row.texts:
        surface.text(
            area.x + text.x,
            y - text.down,
            text.text,
            text.size,
            bold=text.bold,
            align=text.align,
            colour=text.colour,
        )
    if row.rule:
        surface.line(
            [(area.x, y - row.height + 2), (area.right, y - row.height + 2)], 0.5, colour=QUIET
        )
    return y - row.height


def _rows(plan: Plan, width: float) -> Iterator[_Row]:
    """Everything on the summary, from the top."""
    yield _paragraph(plan.asked.name, width, TITLE, bold=True, most=3)
    yield _paragraph(_lead_words(plan), width, BODY)
    yield from _titled("Papers", _paper_rows(plan, width))
    rule = _paragraph(keep_words(plan.asked), width, SMALLEST)
    yield replace(rule, texts=tuple(replace(text, down=text.down + 3) for text in rule.texts))
    unit = {"in": "inches"}.get(plan.asked.unit, plan.asked.unit)
    yield from _titled(f"Pieces, width x height in {unit}", _piece_rows(plan, width))
    if plan.cards:
        yield from _titled("Cards", _card_rows(plan, width))
    loose = list(_loose_uncut(plan))
    if loose:
        yield from _titled("Loose pieces not cut", (_paragraph(t, width, BODY) for t in loose))
    if plan.warnings:
        yield from _titled("To watch", (_paragraph(t, width, BODY) for t in plan.warnings))


def _lead_words(plan: Plan) -> str:
    """Whether everything is cut, where to look on, how the search ended."""
    count = len(plan.layouts)
    pages = "1 layout, on the next page." if count == 1 else f"{count} layouts, a page for each."
    return " ".join(filter(None, (answer_words(plan), pages, _ENDED[plan.ended])))


def _continued(plan: Plan, width: float) -> _Row:
    """The head of a further page."""
    return _paragraph(
        f"{isolated(plan.asked.name)}, summary continued", width, BODY, colour=QUIET, most=1
    )


def _titled(title: str, rows: Iterable[_Row]) -> Iterator[_Row]:
    """A section: white, its title, its rows."""
    text = _Text(0, 12 + HEADING * 0.76, title, HEADING, bold=True)
    yield _Row(12 + HEADING * 1.3, (text,), follows=60)
    yield from rows


def _paragraph(
    text: str,
    width: float,
    size: float,
    *,
    bold: bool = False,
    most: int | None = None,
    colour: Colour = INK,
) -> _Row:
    """Text over the whole width."""
    pitch = size * LEADING
    lines = wrap(text, width, size, bold=bold, most=most)
    texts = tuple(
        _Text(0, number * pitch + size * 0.76, line, size, bold, "left", colour)
        for number, line in enumerate(lines)
    )
    return _Row(len(lines) * pitch + 3, texts)


def _table(
    columns: Sequence[_Column], body: Sequence[tuple[Sequence[str], str]], width: float
) -> Iterator[_Row]:
    """A table: its head, then for each row its cells and the words below them, if any."""
    heads = [column.head for column in columns]
    widths = _column_widths(columns, [heads, *(cells for cells, _ in body)], width)
    plain = [replace(column, bold=False) for column in columns]
    head = _table_row(plain, heads, widths, colour=QUIET)
    yield head
    for cells, words in body:
        row = _table_row(columns, cells, widths)
        below = _paragraph(words, width, SMALLEST) if words else _Row(0, ())
        texts = tuple(replace(text, down=text.down + row.height - 1) for text in below.texts)
        yield _Row(row.height + below.height, row.texts + texts, rule=True, head=head)


def _column_widths(
    columns: Sequence[_Column], rows: Sequence[Sequence[str]], width: float
) -> list[float]:
    """As wide as each column needs; spare width is shared, lacking width taken from the widest."""
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
    columns: Sequence[_Column],
    cells: Sequence[str],
    widths: Sequence[float],
    *,
    colour: Colour = INK,
) -> _Row:
    """A row of a table: each cell broken within its column."""
    texts: list[_Text] = []
    x, deepest = 0.0, 1
    for column, cell, room in zip(columns, cells, widths, strict=True):
        lines = wrap(cell, room, _TABLE, bold=column.bold, most=_MOST_LINES)
        at = x if column.align == "left" else x + room
        for number, line in enumerate(lines):
            down = 3 + _TABLE * (0.76 + number * _TABLE_LEADING)
            texts.append(_Text(at, down, line, _TABLE, column.bold, column.align, colour))
        deepest = max(deepest, len(lines))
        x += room + _GUTTER
    return _Row(deepest * _TABLE * _TABLE_LEADING + 5, tuple(texts), rule=True)


def _paper_rows(plan: Plan, width: float) -> Iterator[_Row]:
    body = []
    for figures in plan.papers:
        have = "plenty" if figures.have is None else str(figures.have)
        numbers = (figures.needed, have, figures.to_buy, figures.cuts, figures.ruler_settings)
        body.append(((figures.paper, *map(str, numbers)), " ".join(_paper_words(plan, figures))))
    yield from _table(_PAPERS, body, width)


def _paper_words(plan: Plan, figures: PaperFigures) -> Iterator[str]:
    """What is proven, what is short, what to buy, the shares."""
    yield bound_words(figures)
    less = figures.needed - figures.used
    sheets = "1 sheet" if less == 1 else f"{less} sheets"
    if less > 0 and figures.have is not None and figures.needed > figures.have:
        again = "" if plan.asked.paper(figures.paper).buy else ", and it cannot be bought again"
        yield f"{sheets.replace(' ', ' more ', 1)} would be needed to cut everything{again}."
    elif less > 0:
        yield f"{sheets} less {'is' if less == 1 else 'are'} used, for the cards that are not made."
    yield from source_words(plan, figures.paper)
    yield share_words(figures)


def _piece_rows(plan: Plan, width: float) -> Iterator[_Row]:
    body = []
    for piece in plan.pieces:
        paper = f"{isolated(piece.paper)}, back" if piece.face == "back" else piece.paper
        size = piece_size(piece, plan.asked.unit)
        cells = (piece.letter, piece.name, size, paper, str(piece.demand), use_words(piece))
        body.append((cells, ""))
    yield from _table(_PIECES, body, width)


def _card_rows(plan: Plan, width: float) -> Iterator[_Row]:
    if all(card.complete == card.asked for card in plan.cards):
        cards = ", ".join(f"{isolated(card.card)}{TIE}{card.complete}" for card in plan.cards)
        yield _paragraph(f"All complete: {cards}.", width, BODY)
        return
    for words in whole_cards_words(plan):
        yield _paragraph(words, width, BODY)
    body = [
        ((card.card, str(card.asked), str(card.complete), unmade_words(plan, card)), "")
        for card in plan.cards
    ]
    yield from _table(_CARDS, body, width)


def _loose_uncut(plan: Plan) -> Iterator[str]:
    for uncut in plan.uncut:
        for use in uncut.uses:
            if use.card is None and use.count:
                yield f"{use.count} of {plan.piece(uncut.piece).letter} {isolated(use.layer)}"
