"""The page to take shopping: what to buy, what cannot be bought, and what that means for the cards."""

from collections.abc import Iterator
from io import BytesIO

from nesting.draw.canvas.lettering import BODY, TIE, TITLE, isolated
from nesting.draw.canvas.page_rows import Column, Row, note, paragraph, row_pages, table, titled
from nesting.draw.canvas.palette import QUIET
from nesting.draw.canvas.surface import LETTER_PAGE, Page, Surface, house_style
from nesting.draw.sheet.words import (
    bound_words,
    choice_words,
    price_words,
    sheets_words,
    whole_cards_words,
)
from nesting.needs import CardNeed, Needs, PaperNeed
from nesting.units import format_size, with_unit

#: A box to tick.
_BOX = "\N{BALLOT BOX}"
_TO_BUY = (
    Column("", bold=True),
    Column("paper", bold=True),
    Column("sheet"),
    Column("count", "right", bold=True),
    Column("price each", "right"),
    Column("price", "right"),
)
_PAPERS = (
    Column("paper", bold=True),
    Column("needed", "right"),
    Column("at hand", "right"),
    Column("to buy", "right", bold=True),
    Column("lacking", "right", bold=True),
)
_CARDS = (
    Column("card", bold=True),
    Column("asked", "right"),
    Column("complete", "right", bold=True),
    Column("more from what is left", "right"),
    Column("limited by"),
)


#: What a number of more cards is about.
MORE = (
    "More from what is left: of that design alone, from sheets that stay unused and offcuts that "
    "are kept."
)


def draw_shopping(needs: Needs, page: Page = LETTER_PAGE) -> bytes:
    """Draw the page to take shopping as a PDF: the same answer gives the same bytes.

    Parameters
    ----------
    needs
        The answer of ``nesting.enough``.
    page
        ``LETTER_PAGE`` or ``A4_PAGE``.

    Returns
    -------
    bytes
        The file, fonts embedded.

    Examples
    --------
    >>> import nesting
    >>> needs = nesting.enough(nesting.read_batch("samples/cider.yaml"))
    >>> draw_shopping(needs)[:5]
    b'%PDF-'
    """
    from matplotlib.backends.backend_pdf import PdfPages

    out = BytesIO()
    plan = needs.plan
    metadata = {
        "Title": f"{plan.asked.name}: what to buy",
        "Creator": plan.tool,
        "Producer": plan.tool,
        "CreationDate": None,
    }
    with house_style(), PdfPages(out, metadata=metadata) as pdf:
        width = Surface(page).print_area.width
        words = f"{isolated(plan.asked.name)}, what to buy, continued"
        head = paragraph(words, width, BODY, colour=QUIET, most=1)
        for figure in row_pages(_rows(needs, width), head, page):
            pdf.savefig(figure)
    return out.getvalue()


def _rows(needs: Needs, width: float) -> Iterator[Row]:
    """Everything on the page, from the top."""
    yield paragraph(needs.plan.asked.name, width, TITLE, bold=True, most=3)
    yield paragraph(needs_words(needs), width, BODY)
    buying = [row for paper in needs.papers for row in _to_buy(needs, paper)]
    if buying:
        yield from titled("To buy", table(_TO_BUY, [(row, "") for row in buying], width))
        yield note(total_words(needs), width, BODY)
    yield from titled("Papers", _paper_rows(needs, width))
    if needs.cards:
        yield from titled("Cards", _card_rows(needs, width))


def needs_words(needs: Needs) -> str:
    """Say whether the paper suffices."""
    lacking = [paper for paper in needs.papers if paper.short]
    count = sum(paper.sheets_to_buy for paper in needs.papers)
    said = []
    if not count and not lacking:
        said.append("Enough: everything asked for can be cut from what is at hand.")
    if count:
        said.append(f"Not enough at hand: {sheets_words(count)} to buy.")
    for paper in lacking:
        sheets = f", {sheets_words(paper.lacking)} lacking" if paper.lacking else ""
        said.append(f"Short of {isolated(paper.paper)}{sheets}, which cannot be bought again.")
    return " ".join(said)


def total_words(needs: Needs) -> str:
    """Say what everything to buy costs, or which prices are not given."""
    price = needs.price
    if price is not None:
        return f"In all {price_words(price)}."
    without = [isolated(paper.paper) for paper in needs.papers if paper.price is None]
    known = sum(paper.price or 0 for paper in needs.papers)
    told = f"{price_words(known)} and " if known else ""
    return f"In all {told}the price of {' and '.join(without)}, which is not given."


def more_words(card: CardNeed) -> str:
    """Say how many more of a card what is left over gives."""
    if card.more is None:
        return "as many as you like"
    if card.proven:
        return str(card.more)
    return f"{card.more}, at most {card.most_more}"


def _to_buy(needs: Needs, paper: PaperNeed) -> Iterator[tuple[str, ...]]:
    unit = needs.plan.asked.unit
    for size in paper.to_buy:
        prices = () if size.price is None else (size.price, size.price * size.count)
        yield (
            _BOX,
            paper.paper,
            with_unit(format_size(size.width, size.height, unit), unit),
            str(size.count),
            *(map(price_words, prices) if prices else ("", "")),
        )


def _paper_rows(needs: Needs, width: float) -> Iterator[Row]:
    body = []
    figures = {one.paper: one for one in needs.plan.papers}
    for paper in needs.papers:
        have = "plenty" if paper.have is None else str(paper.have)
        numbers = paper.needed, have, paper.sheets_to_buy, paper.lacking
        body.append(((paper.paper, *map(str, numbers)), bound_words(figures[paper.paper])))
    yield from table(_PAPERS, body, width)


def _card_rows(needs: Needs, width: float) -> Iterator[Row]:
    for words in (*whole_cards_words(needs.plan), *choice_words(needs.plan)):
        yield paragraph(words, width, BODY)
    body = [
        (
            (
                card.card,
                str(card.asked),
                str(card.complete),
                more_words(card),
                ", ".join(name.replace(" ", TIE) for name in card.limited_by),
            ),
            "",
        )
        for card in needs.cards
    ]
    yield from table(_CARDS, body, width)
    yield note(MORE, width)
