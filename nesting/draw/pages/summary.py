"""The summary: what is complete and lacking, papers and what is proven, pieces, what stays uncut."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from nesting.draw.canvas.lettering import (
    BODY,
    HEADING,
    SMALLEST,
    TIE,
    TITLE,
    isolated,
)
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
from nesting.draw.canvas.surface import LETTER_PAGE, Page, Surface
from nesting.draw.canvas.typefaces import SUBSTITUTES, is_drawable
from nesting.draw.pages.answer_words import answer_line, made_name
from nesting.draw.pages.plan_words import (
    bound_words,
    choice_words,
    envelopes_words,
    keep_words,
    source_words,
    unmade_words,
    use_words,
    whole_cards_words,
)
from nesting.draw.sheet.begun_words import finish_words, left_over_words
from nesting.draw.sheet.names import brief_names, names_of
from nesting.draw.sheet.words import kept_words, mark_words, piece_size, share_words
from nesting.needs import Made, made_of, paper_needs
from nesting.plan import PaperFigures, Plan
from nesting.units import counted, or_plenty

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_ENDED = {
    "proven": "",
    "limit": "The search ended at its limit: a better plan may exist.",
    "interrupted": "The search was interrupted: a better plan may exist.",
}


_PAPERS = (
    TableColumn("paper", bold=True),
    TableColumn("needed", "right"),
    TableColumn("at hand", "right"),
    TableColumn("to buy", "right", bold=True),
    TableColumn("strokes", "right"),
    TableColumn("ruler settings", "right"),
)
_PIECES = (
    TableColumn("", bold=True),
    TableColumn("piece"),
    TableColumn("size"),
    TableColumn("paper"),
    TableColumn("count", "right"),
    TableColumn("for"),
)
_PIECES_BEGUN = (
    *_PIECES[:5],
    TableColumn("in the bags", "right"),
    TableColumn("to cut", "right", bold=True),
    *_PIECES[5:],
)
_CARDS = (
    TableColumn("card"),
    TableColumn("asked", "right"),
    TableColumn("complete", "right", bold=True),
    TableColumn("not cut"),
)


def summary_figures(plan: Plan, page: Page = LETTER_PAGE) -> "Iterator[Figure]":
    """Draw the summary of a plan, on as many pages as it needs.

    Yields
    ------
    matplotlib.figure.Figure
        One figure for each page.
    """
    width = Surface(page).print_area.width
    head = continued(plan.asked.name, "summary", width)
    yield from row_pages(_rows(plan, width), head, page, mark_words(plan))


def _rows(plan: Plan, width: float) -> Iterator[PageRow]:
    """Everything on the summary, from the top."""
    yield paragraph(plan.asked.name, width, TITLE, bold=True, most=3)
    yield paragraph(answer_line(plan), width, HEADING, bold=True)
    yield paragraph(_lead_words(plan), width, BODY)
    made = [card for card in plan.cards if card.complete]
    if made and not _unfinished(plan):
        cards_made = (f"{isolated(card.card)}{TIE}{card.complete}" for card in made)
        yield paragraph(f"Cards, all complete: {', '.join(cards_made)}.", width, BODY)
    for words in envelopes_words(plan):
        yield paragraph(f"To buy: {words}.", width, BODY)
    yield from titled("Cards", _card_rows(plan, width))
    loose = (paragraph(words, width, BODY) for words in _loose_uncut(plan))
    yield from titled("Loose pieces not cut", loose)
    yield from titled("Papers", _paper_rows(plan, width))
    if plan.layouts:
        yield note(keep_words(plan.asked), width)
    for words in brief_names(plan.asked, plan.notes):
        yield paragraph(words, width, SMALLEST)
    if not is_drawable(*names_of(plan.asked)):
        yield paragraph(SUBSTITUTES, width, SMALLEST)
    unit = {"in": "inches"}.get(plan.asked.unit, plan.asked.unit)
    yield from titled(f"Pieces, width x height in {unit}", _piece_rows(plan, width))
    for words in left_over_words(plan):
        yield paragraph(words, width, BODY)
    warnings = brief_names(plan.asked, plan.warnings)
    yield from titled("Warnings", (paragraph(words, width, BODY) for words in warnings))


def _lead_words(plan: Plan) -> str:
    """Where to look on, how the search ended."""
    count = len(plan.layouts)
    pages = "1 layout, on the next page." if count == 1 else f"{count} layouts, a page for each."
    if not count:
        pages = "Nothing is cut."
    return " ".join(filter(None, (pages, _ENDED[plan.ended])))


def _paper_rows(plan: Plan, width: float) -> Iterator[PageRow]:
    body = []
    for figures, need in zip(plan.papers, paper_needs(plan), strict=True):
        effort = figures.strokes, figures.ruler_settings
        numbers = figures.needed, or_plenty(figures.have), figures.to_buy, *effort
        words = " ".join(_paper_words(plan, figures, need.lacking))
        body.append(((figures.paper, *map(str, numbers)), words))
    yield from table_rows(_PAPERS, body, width)


def _paper_words(plan: Plan, figures: PaperFigures, lacking: int) -> Iterator[str]:
    """What is proven, what is short, what to buy, the shares, what to put back."""
    yield bound_words(figures, plan.asked.trimmer)
    less = figures.needed - figures.used
    if lacking:
        again = "" if plan.asked.paper(figures.paper).buy else ", and it cannot be bought again"
        yield f"{counted(lacking, 'more sheet')} would be needed to cut everything{again}."
    elif less > 0:
        are = "is" if less == 1 else "are"
        yield f"{counted(less, 'sheet')} fewer {are} used, as not all is made."
    yield from source_words(plan, figures.paper)
    layouts = plan.layouts_of(figures.paper)
    if layouts:
        yield share_words(figures)
    kept = kept_words(layouts, plan.asked.paper(figures.paper), plan.asked.unit)
    if kept:
        yield kept


def _piece_rows(plan: Plan, width: float) -> Iterator[PageRow]:
    body = []
    begun = plan.asked.begun is not None
    for piece in plan.pieces:
        if not piece.demand:
            continue
        paper = f"{isolated(piece.paper)}, back" if piece.face == "back" else piece.paper
        size = piece_size(piece, plan.asked.unit)
        bags = piece.in_bags, plan.as_cut(piece).to_cut
        numbers = map(str, (piece.demand, *bags) if begun else (piece.demand,))
        body.append(((piece.letter, piece.name, size, paper, *numbers, use_words(piece)), ""))
    yield from table_rows(_PIECES_BEGUN if begun else _PIECES, body, width)


def _unfinished(plan: Plan) -> list[Made]:
    """The cards and spare sets that are asked for and not all complete, by design."""
    made = (one for one in made_of(plan) if one.kind != "loose piece")
    return [one for one in made if one.complete < one.asked]


def _card_rows(plan: Plan, width: float) -> Iterator[PageRow]:
    for words in choice_words(plan):
        yield paragraph(words, width, BODY)
    for words in whole_cards_words(plan):
        yield paragraph(words, width, BODY)
    lacking = _unfinished(plan)
    if not lacking:
        return
    for words in finish_words(plan):
        yield paragraph(words, width, BODY)
    told: set[str] = set()  # of cards and of spare sets of a design the same is not cut
    body = []
    for made in made_of(plan):
        if made.kind == "loose piece":
            continue
        tells = made in lacking and made.name not in told
        words = unmade_words(plan, made.name) if tells else ""
        told |= {made.name} if tells else set()
        body.append(((made_name(made), str(made.asked), str(made.complete), words), ""))
    yield from table_rows(_CARDS, body, width)


def _loose_uncut(plan: Plan) -> Iterator[str]:
    for uncut in plan.uncut:
        for use in uncut.uses:
            if use.card is None and use.count:
                yield f"{use.count} of {plan.piece(uncut.piece).letter} {isolated(use.layer)}"
