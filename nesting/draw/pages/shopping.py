"""The page to take shopping: what to buy, what cannot be bought, and what that means for the cards."""

from collections.abc import Iterator

from nesting.draw.canvas.lettering import BODY, HEADING, TIE, TITLE, isolated
from nesting.draw.canvas.page_rows import (
    PageRow,
    TableColumn,
    continued,
    note,
    paragraph,
    row_pages,
    table_rows,
    titled,
)
from nesting.draw.canvas.surface import LETTER_PAGE, Page, Surface, house_style
from nesting.draw.canvas.writing import pdf_file
from nesting.draw.pages.answer_words import answer_line, made_name, offcuts_words
from nesting.draw.pages.plan_words import (
    bound_words,
    choice_words,
    envelopes_words,
    whole_cards_words,
)
from nesting.needs import Need, Needs, PaperNeed
from nesting.prices import format_price
from nesting.units import enumerated, or_plenty, size_words

#: A box to tick.
_BOX = "\N{BALLOT BOX}"
_TO_BUY = (
    TableColumn("", bold=True),
    TableColumn("paper", bold=True),
    TableColumn("sheet"),
    TableColumn("count", "right", bold=True),
    TableColumn("price each", "right"),
    TableColumn("price", "right"),
)
_PAPERS = (
    TableColumn("paper", bold=True),
    TableColumn("needed", "right"),
    TableColumn("at hand", "right"),
    TableColumn("offcuts used", "right"),
    TableColumn("to buy", "right", bold=True),
    TableColumn("lacking", "right", bold=True),
)
_COUNTS = (
    TableColumn("asked", "right"),
    TableColumn("complete", "right", bold=True),
    TableColumn("more from what is left", "right"),
    TableColumn("limited by"),
)


#: What the numbers are about where they do not add up by themselves.
LACKING = (
    "Needed is for all that is asked, to buy for what can be made of it. Lacking sheets are of papers "
    "that cannot be bought again, or that as many cards as possible are made of."
)
#: What a number of more cards or pieces is about.
MORE = "More from what is left: of that one alone, from unused sheets and kept offcuts."


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
    plan = needs.plan
    with house_style():
        width = Surface(page).print_area.width
        head = continued(plan.asked.name, "what to buy,", width)
        figures = row_pages(_rows(needs, width), head, page)
        return pdf_file(figures, f"{plan.asked.name}: what to buy", plan.tool)


def _rows(needs: Needs, width: float) -> Iterator[PageRow]:
    """Everything on the page, from the top."""
    yield paragraph(needs.plan.asked.name, width, TITLE, bold=True, most=3)
    yield paragraph(answer_line(needs.plan), width, HEADING, bold=True)
    buying = [row for paper in needs.papers for row in _to_buy(needs, paper)]
    if buying:
        yield from titled("To buy", table_rows(_TO_BUY, [(row, "") for row in buying], width))
        yield from (note(words, width, BODY) for words in total_words(needs))
    envelopes = [f"{_BOX} {words}" for words in envelopes_words(needs.plan)]
    if envelopes:
        yield from titled("Envelopes to buy", (paragraph(t, width, BODY) for t in envelopes))
    yield from titled("Papers", _paper_rows(needs, width))
    for title, kinds in (("Cards", ("card", "spare set")), ("Loose pieces", ("loose piece",))):
        made = [need for need in needs.made if need.made.kind in kinds]
        if made:
            yield from titled(title, _made_rows(needs, made, width))
    yield note(MORE, width)


def total_words(needs: Needs) -> Iterator[str]:
    """Say what everything to buy costs, and which prices are not given; nothing where none is."""
    buying = [paper for paper in needs.papers if paper.to_buy]
    known = sum(paper.price or 0 for paper in buying)
    without = [isolated(paper.paper) for paper in buying if paper.price is None]
    more = f" and the price of {enumerated(without)}, which is not given" if without else ""
    if buying and (known or not without):
        yield f"In all {format_price(known)}{more}."


def more_words(need: Need) -> str:
    """Say how many more what is left over gives; nothing of spare sets, which are cards then."""
    if need.made.kind == "spare set":
        return ""
    if need.more is None:
        return "as many as you like"
    if need.proven:
        return str(need.more)
    return f"{need.more}, at most {need.most_more}"


def _to_buy(needs: Needs, paper: PaperNeed) -> Iterator[tuple[str, ...]]:
    unit = needs.plan.asked.unit
    for size in paper.to_buy:
        prices = () if size.price is None else (size.price, size.price * size.count)
        yield (
            _BOX,
            paper.paper,
            size_words(size.width, size.height, unit),
            str(size.count),
            *(map(format_price, prices) if prices else ("", "")),
        )


def _paper_rows(needs: Needs, width: float) -> Iterator[PageRow]:
    body = []
    figures = {one.paper: one for one in needs.plan.papers}
    for paper in needs.papers:
        cells = (
            paper.paper,
            str(paper.needed),
            or_plenty(paper.have),
            offcuts_words(paper),
            str(paper.sheets_to_buy),
            str(paper.lacking),
        )
        body.append((cells, bound_words(figures[paper.paper], needs.plan.asked.trimmer)))
    yield from table_rows(_PAPERS, body, width)
    if any(paper.lacking for paper in needs.papers):
        yield note(LACKING, width)


def _made_rows(needs: Needs, made: list[Need], width: float) -> Iterator[PageRow]:
    kind = made[0].made.kind
    if kind == "card":
        for words in (*whole_cards_words(needs.plan), *choice_words(needs.plan)):
            yield paragraph(words, width, BODY)
    body = [
        (
            (
                made_name(need.made),
                str(need.made.asked),
                str(need.made.complete),
                more_words(need),
                ", ".join(name.replace(" ", TIE) for name in need.limited_by),
            ),
            "",
        )
        for need in made
    ]
    yield from table_rows((TableColumn(kind, bold=True), *_COUNTS), body, width)
