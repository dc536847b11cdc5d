"""The summary: papers and what is proven, pieces, cards, what stays uncut."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from nesting.draw.lettering import BODY, HEADING, LEADING, TITLE, isolated, wrap
from nesting.draw.palette import INK, QUIET, Colour
from nesting.draw.surface import LETTER_PAGE, Page, Surface, house_style
from nesting.draw.words import (
    bound_words,
    keep_words,
    piece_size,
    share_words,
    use_words,
)
from nesting.plan import CardCount, PaperFigures, Plan

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_TABLE = 9.5
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
    """A column of a table; ``share`` of the width."""

    head: str
    share: float
    align: Literal["left", "right"] = "left"


_PAPERS = (
    _Column("paper", 0.36),
    _Column("needed", 0.12, "right"),
    _Column("at hand", 0.12, "right"),
    _Column("to buy", 0.12, "right"),
    _Column("cuts", 0.10, "right"),
    _Column("ruler settings", 0.18, "right"),
)
_PIECES = (
    _Column("", 0.06),
    _Column("piece", 0.24),
    _Column("size", 0.17),
    _Column("paper", 0.20),
    _Column("face", 0.08),
    _Column("count", 0.08, "right"),
    _Column("for", 0.17),
)
_CARDS = (
    _Column("card", 0.30),
    _Column("asked", 0.10, "right"),
    _Column("complete", 0.12, "right"),
    _Column("not cut", 0.48),
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
    lead = (
        "Everything asked for is cut from sheets at hand."
        if plan.all_cut
        else "Not everything asked for can be cut from sheets at hand."
    )
    count = len(plan.layouts)
    pages = "1 layout, on the next page." if count == 1 else f"{count} layouts, a page for each."
    yield _paragraph(" ".join(filter(None, (lead, pages, _ENDED[plan.ended]))), width, BODY)
    yield from _titled("Papers", _paper_rows(plan, width))
    unit = {"in": "inches"}.get(plan.asked.unit, plan.asked.unit)
    yield from _titled(f"Pieces, width x height in {unit}", _piece_rows(plan, width))
    if plan.cards:
        yield from _titled("Cards", _card_rows(plan, width))
    loose = list(_loose_uncut(plan))
    if loose:
        yield from _titled("Loose pieces not cut", (_paragraph(t, width, BODY) for t in loose))
    if plan.warnings:
        yield from _titled("To watch", (_paragraph(t, width, BODY) for t in plan.warnings))
    yield from _titled("Offcuts", iter([_paragraph(keep_words(plan.asked), width, BODY)]))


def _continued(plan: Plan, width: float) -> _Row:
    """The head of a further page."""
    return _paragraph(
        f"{isolated(plan.asked.name)}, summary continued", width, BODY, colour=QUIET, most=1
    )


def _titled(title: str, rows: Iterable[_Row]) -> Iterator[_Row]:
    """A section: white, its title, its rows."""
    text = _Text(0, 16 + HEADING * 0.76, title, HEADING, bold=True)
    yield _Row(16 + HEADING * 1.4, (text,), follows=60)
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


def _table_row(
    columns: Sequence[_Column],
    cells: Sequence[str],
    width: float,
    *,
    bold: Sequence[int] = (),
    head: _Row | None = None,
    rule: bool = True,
    colour: Colour = INK,
) -> _Row:
    """A row of a table: each cell broken within its column."""
    texts: list[_Text] = []
    x, deepest = 0.0, 1
    for number, (column, cell) in enumerate(zip(columns, cells, strict=True)):
        room = column.share * width - _GUTTER
        lines = wrap(cell, room, _TABLE, bold=number in bold, most=_MOST_LINES)
        at = x if column.align == "left" else x + room
        for line_number, line in enumerate(lines):
            down = 4 + _TABLE * (0.76 + line_number * LEADING)
            texts.append(_Text(at, down, line, _TABLE, number in bold, column.align, colour))
        deepest = max(deepest, len(lines))
        x += column.share * width
    return _Row(deepest * _TABLE * LEADING + 6, tuple(texts), rule=rule, head=head)


def _head(columns: Sequence[_Column], width: float) -> _Row:
    return _table_row(columns, [column.head for column in columns], width, colour=QUIET)


def _paper_rows(plan: Plan, width: float) -> Iterator[_Row]:
    head = _head(_PAPERS, width)
    yield head
    for figures in plan.papers:
        have = "plenty" if figures.have is None else str(figures.have)
        numbers = (figures.needed, have, figures.to_buy, figures.cuts, figures.ruler_settings)
        cells = [figures.paper, *map(str, numbers)]
        first = _table_row(_PAPERS, cells, width, bold=(0, 3), rule=False, head=head)
        yield _with_below(first, _paper_words(plan, figures), width, head)


def _paper_words(plan: Plan, figures: PaperFigures) -> Iterator[str]:
    """What is proven, what is short, the shares."""
    yield bound_words(figures)
    short = figures.needed - figures.used
    if short > 0:
        sheets = f"{short} more sheet{'s' if short > 1 else ''}"
        again = "" if plan.asked.paper(figures.paper).buy else ", and it cannot be bought again"
        yield f"{sheets} would be needed to cut everything{again}."
    yield share_words(figures)


def _with_below(first: _Row, words: Iterable[str], width: float, head: _Row) -> _Row:
    """A table row with sentences under it, kept on one page."""
    texts, height = list(first.texts), first.height
    for sentence in words:
        below = _paragraph(sentence, width, _TABLE)
        texts += [replace(text, down=text.down + height) for text in below.texts]
        height += below.height - 2
    return _Row(height + 6, tuple(texts), rule=True, head=head)


def _piece_rows(plan: Plan, width: float) -> Iterator[_Row]:
    head = _head(_PIECES, width)
    yield head
    for piece in plan.pieces:
        size = piece_size(piece, plan.asked.unit)
        cells = (
            piece.letter, piece.name, size, piece.paper, piece.face, str(piece.demand), use_words(piece),
        )  # fmt: skip
        yield _table_row(_PIECES, cells, width, bold=(0,), head=head)


def _card_rows(plan: Plan, width: float) -> Iterator[_Row]:
    head = _head(_CARDS, width)
    yield head
    for card in plan.cards:
        cells = (card.card, str(card.asked), str(card.complete), _uncut_words(plan, card))
        yield _table_row(_CARDS, cells, width, bold=(2,), head=head)


def _uncut_words(plan: Plan, card: CardCount) -> str:
    """What of a card is not cut."""
    missing = [
        f"{use.count} of {plan.piece(uncut.piece).letter} {isolated(use.layer)}"
        for uncut in plan.uncut
        for use in uncut.uses
        if use.card == card.card and use.count
    ]
    return ", ".join(missing)


def _loose_uncut(plan: Plan) -> Iterator[str]:
    for uncut in plan.uncut:
        for use in uncut.uses:
            if use.card is None and use.count:
                yield f"{use.count} of {plan.piece(uncut.piece).letter} {isolated(use.layer)}"
