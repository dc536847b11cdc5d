"""What is printed on the terminal: tables and sentences (rich, loaded when used)."""

from collections import Counter
from dataclasses import asdict
from typing import TYPE_CHECKING, Literal

from nesting.mark import mark_of
from nesting.needs import Need, Needs, PaperNeed, envelopes_to_buy, made_of, paper_needs
from nesting.plan import Plan
from nesting.units import format_share, or_plenty

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from rich.console import Console
    from rich.table import Table


def print_plan(plan: Plan, console: "Console") -> None:
    """Print a plan: a line for each paper, what is proven, what is uncut and what to look out for."""
    from nesting.draw.pages.answer_words import answer_line

    rows = []
    for need, figures in zip(paper_needs(plan), plan.papers, strict=True):
        effort = str(figures.strokes), str(figures.ruler_settings)
        rows.append((*_paper_cells(need), format_share(figures.waste), *effort))
    heads = (*_PAPERS, "waste", "strokes", "ruler\nsettings")
    console.print(_filled_table(f"{_text(plan.asked.name)}: sheets of each paper", heads, rows))
    print_lines([answer_line(plan), *_sentences(plan)], console)


#: What the tables of ``plan`` and ``enough`` say of each paper.
_PAPERS = ("paper", "needed", "at hand", "offcuts\nused", "to buy", "lacking")


def _paper_cells(need: PaperNeed) -> tuple[str, ...]:
    from nesting.draw.pages.answer_words import offcuts_words

    have, to_buy = or_plenty(need.have), str(need.sheets_to_buy)
    used, lacking = offcuts_words(need), str(need.lacking)
    return _text(need.paper), str(need.needed), have, used, to_buy, lacking


def print_lines(sentences: "Iterable[str]", console: "Console") -> None:
    """Print sentences as they are, a line each."""
    for sentence in sentences:
        console.print(sentence, markup=False, highlight=False, soft_wrap=True)


def _sentences(plan: Plan) -> list[str]:
    """What the table does not say, a sentence each."""
    from nesting.draw.canvas.lettering import brief
    from nesting.draw.canvas.typefaces import SUBSTITUTES, is_drawable
    from nesting.draw.pages.answer_words import made_name
    from nesting.draw.pages.plan_words import (
        choice_words,
        envelopes_words,
        proof_sentences,
        unmade_words,
        whole_cards_words,
    )
    from nesting.draw.sheet.begun_words import bags_words, finish_words, left_over_words
    from nesting.draw.sheet.names import brief_names, names_of
    from nesting.draw.sheet.words import mark_words

    said = [*proof_sentences(plan), *choice_words(plan)]
    said += [*whole_cards_words(plan), *finish_words(plan)]
    said += [*bags_words(plan), *left_over_words(plan)]
    told: set[str] = set()  # of cards and of spare sets of a design the same is not cut
    for made in made_of(plan):
        if made.complete < made.asked:
            cards = " cards" if made.kind == "card" else ""
            words = f"{made_name(made)}: {made.complete} of {made.asked}{cards}"
            if made.kind != "loose piece" and made.name not in told:
                words += f"; not cut: {unmade_words(plan, made.name)}"
                told.add(made.name)
            said.append(words)
    buy: Counter[str] = Counter()
    for layout in plan.layouts:
        buy[f"{brief(layout.paper)}, {layout.source.name}"] += layout.to_buy
    said += [f"to buy: {count} of {sheets}" for sheets, count in buy.items() if count]
    said += [f"to buy: {words}" for words in envelopes_words(plan)]
    said += brief_names(plan.asked, plan.notes)
    said += [f"warning: {warning}" for warning in brief_names(plan.asked, plan.warnings)]
    if not is_drawable(*names_of(plan.asked)):
        said.append(f"On the pages, {SUBSTITUTES}")
    if plan.ended == "interrupted":
        said.append("Interrupted: this is the best plan found so far.")
    said.append(mark_words(plan))
    return said


def print_needs(needs: Needs, console: "Console") -> None:
    """Print whether the paper suffices: papers, cards, loose pieces, what is proven, what it costs."""
    from nesting.draw.pages.answer_words import answer_line
    from nesting.draw.pages.plan_words import (
        choice_words,
        envelopes_words,
        proof_sentences,
        whole_cards_words,
    )
    from nesting.draw.pages.shopping import LACKING, MORE, total_words

    title = f"{_text(needs.plan.asked.name)}: have I enough?"
    total = list(total_words(needs))
    rows = [(*_paper_cells(paper), _price(paper) if total else "") for paper in needs.papers]
    console.print(_filled_table(title, (*_PAPERS, "price"), rows))
    for head, kinds in (("card", ("card", "spare set")), ("loose piece", ("loose piece",))):
        made = [_made_cells(need) for need in needs.made if need.made.kind in kinds]
        if made:
            heads = (head, "asked", "complete", "more from what is left", "limited by")
            console.print(_filled_table("", heads, made, last="left"))
    said = [
        answer_line(needs.plan),
        *whole_cards_words(needs.plan),
        *choice_words(needs.plan),
        *total,
    ]
    said += [f"To buy: {words}." for words in envelopes_words(needs.plan)]
    said += proof_sentences(needs.plan)
    if any(paper.lacking for paper in needs.papers):
        said.append(LACKING)
    print_lines([*said, MORE], console)


def _price(paper: PaperNeed) -> str:
    from nesting.prices import format_price

    if not paper.to_buy:
        return ""
    return "not given" if paper.price is None else format_price(paper.price)


def _made_cells(need: Need) -> tuple[str, ...]:
    from rich.markup import escape

    from nesting.draw.pages.answer_words import made_name
    from nesting.draw.pages.shopping import more_words

    made = need.made
    limits = ", ".join(map(_text, need.limited_by))
    return escape(made_name(made)), str(made.asked), str(made.complete), more_words(need), limits


def _filled_table(
    title: str,
    heads: "Sequence[str]",
    rows: "Sequence[Sequence[str]]",
    last: "Literal['left', 'right']" = "right",
) -> "Table":
    """Make a table of names and figures; a column with nothing in it is left out."""
    from rich.box import SIMPLE_HEAD
    from rich.table import Table

    table = Table(
        title=title or None,
        title_justify="left",
        box=SIMPLE_HEAD,
        pad_edge=False,
        collapse_padding=True,
    )
    used = [n for n in range(len(heads)) if any(row[n] for row in rows)]
    for n in used:
        side = "left" if n == 0 else last if n == len(heads) - 1 else "right"
        longest = max(map(len, heads[n].split()))  # a heading is broken between words only
        table.add_column(heads[n], justify=side, min_width=longest)
    for row in rows:
        table.add_row(*(row[n] for n in used))
    return table


def needs_json(needs: Needs) -> dict[str, object]:
    """Give the answer for a program to read; prices in hundredths, sizes in nm."""
    return {
        "batch": needs.plan.asked.name,
        "proven": needs.proven,
        "price": needs.price,
        "papers": [
            {
                "paper": p.paper,
                "needed": p.needed,
                "have": p.have,
                "offcuts": p.offcuts,
                "offcuts_used": p.offcuts_used,
                "to_buy": [asdict(size) for size in p.to_buy],
                "price": p.price,
                "lacking": p.lacking,
                "short": p.short,
                "bound": p.bound.value,
                "bound_of": p.bound.of,
                "bound_by": p.bound.by,
                "proven": p.proven,
            }
            for p in needs.papers
        ],
        "cards": [_made_json("card", n) for n in needs.made if n.made.kind == "card"],
        "spares": [_made_json("card", n) for n in needs.made if n.made.kind == "spare set"],
        "pieces": [_made_json("piece", n) for n in needs.made if n.made.kind == "loose piece"],
        "envelopes": [asdict(one) for one in envelopes_to_buy(needs.plan)],
        "whole_cards": _whole_cards_json(needs.plan),
    }


def _made_json(name: str, need: Need) -> dict[str, object]:
    letter = {"letter": need.made.letter} if need.made.letter else {}
    data: dict[str, object] = {
        name: need.made.name,
        **letter,
        "asked": need.made.asked,
        "complete": need.made.complete,
        "limited_by": list(need.limited_by),
    }
    if need.made.kind == "spare set":
        return data
    return data | {"more": need.more, "most_more": need.most_more}


def _whole_cards_json(plan: Plan) -> list[dict[str, object]]:
    return [
        {
            "cards": list(e.cards),
            "of": e.of,
            "asked": e.asked,
            "made": e.made,
            "most": e.most,
            "by": e.by,
        }
        for e in plan.whole_cards
    ]


def figures_json(plan: Plan) -> dict[str, object]:
    """Give the figures of a plan for a program to read."""
    return {
        "batch": plan.asked.name,
        "mark": mark_of(plan),
        "ended": plan.ended,
        "all_cut": plan.all_cut,
        "papers": [
            {
                "paper": f.paper,
                "needed": f.needed,
                "have": f.have,
                "used": f.used,
                "to_buy": f.to_buy,
                "lacking": need.lacking,
                "bound": f.bound.value,
                "bound_of": f.bound.of,
                "bound_by": f.bound.by,
                "proven": f.proven,
                "in_pieces": f.in_pieces,
                "kept": f.kept,
                "waste": f.waste,
                "strokes": f.strokes,
                "ruler_settings": f.ruler_settings,
            }
            for f, need in zip(plan.papers, paper_needs(plan), strict=True)
        ],
        "cards": [asdict(count) for count in plan.cards],
        "whole_cards": _whole_cards_json(plan),
        "chosen": None if plan.chosen is None else asdict(plan.chosen),
        "one_more": [asdict(more) for more in plan.one_more],
        "envelopes": [asdict(one) for one in envelopes_to_buy(plan)],
        "uncut": [{"piece": u.piece, "count": u.count} for u in plan.uncut],
        "in_bags": [{"piece": p.id, "count": p.in_bags} for p in plan.pieces if p.in_bags],
        "warnings": list(plan.warnings),
        "notes": list(plan.notes),
    }


def _text(name: str) -> str:
    """A name of the user's, cut short where it is very long, and not to be read as markup."""
    from rich.markup import escape

    from nesting.draw.canvas.lettering import brief

    return escape(brief(name))
