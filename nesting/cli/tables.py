"""What is printed on the terminal: tables and sentences (rich, loaded when used)."""

from collections import Counter
from dataclasses import asdict
from typing import TYPE_CHECKING

from nesting.cutting.strokes import effort
from nesting.needs import Needs
from nesting.plan import Plan

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console
    from rich.table import Table

    from nesting.bench.run import Row
    from nesting.bench.strokes import StrokesRow


def print_plan(plan: Plan, console: "Console") -> None:
    """Print a plan: a line for each paper, what is proven, what is uncut and what to look out for."""
    table = _lined_table(
        f"{_text(plan.asked.name)}: sheets of each paper",
        ("paper", "needed", "at hand", "to buy", "waste", "strokes", "ruler settings"),
    )
    for figures in plan.papers:
        table.add_row(
            _text(figures.paper),
            str(figures.needed),
            "plenty" if figures.have is None else str(figures.have),
            str(figures.to_buy),
            f"{100 * figures.waste:.1f} %",
            str(strokes_of(plan, figures.paper)),
            str(figures.ruler_settings),
        )
    console.print(table)

    for sentence in _sentences(plan):
        console.print(sentence, markup=False, highlight=False, soft_wrap=True)


def strokes_of(plan: Plan, paper: str) -> int:
    """How often the blade is moved for all sheets of a paper."""
    return effort(plan.layouts_of(paper), plan.asked).strokes


def _sentences(plan: Plan) -> list[str]:
    """What the table does not say, a sentence each."""
    from nesting.draw.sheet.words import choice_words, unmade_words, whole_cards_words

    said = [*_proof_sentences(plan), *choice_words(plan)]
    said += whole_cards_words(plan)
    lacking = [card for card in plan.cards if card.complete < card.asked]
    said += [
        f"{card.card}: {card.complete} of {card.asked} cards; not cut: {unmade_words(plan, card)}"
        for card in lacking
    ]
    names = {card.card for card in lacking}
    for uncut in plan.uncut:
        piece = plan.piece(uncut.piece)
        uses = [use for use in uncut.uses if use.card not in names]
        words = ", ".join(f"{use.count} for {use.card or use.layer}" for use in uses)
        if uses:
            count = sum(use.count for use in uses)
            said.append(f"uncut: {count} of {piece.letter} {piece.name} ({piece.paper}): {words}")
    buy: Counter[str] = Counter()
    for layout in plan.layouts:
        buy[f"{layout.paper}, {layout.source.name}"] += layout.to_buy
    said += [f"to buy: {count} of {sheets}" for sheets, count in buy.items() if count]
    said += plan.notes
    said += [f"to watch: {warning}" for warning in plan.warnings]
    if plan.ended == "interrupted":
        said.append("Interrupted: this is the best plan found so far.")
    return said


def _proof_sentences(plan: Plan) -> list[str]:
    """What is proven of the papers' needs, those of which the same is said together."""
    from nesting.draw.sheet.words import bound_words

    proofs: dict[str, list[str]] = {}
    for figures in plan.papers:
        proofs.setdefault(bound_words(figures), []).append(figures.paper)
    return [f"{', '.join(papers)}: {words}" for words, papers in proofs.items()]


def print_needs(needs: Needs, console: "Console") -> None:
    """Print whether the paper suffices: papers, cards, what is proven, what it costs."""
    from nesting.draw.pages.shopping import MORE, more_words, needs_words, total_words
    from nesting.draw.sheet.words import choice_words, price_words, whole_cards_words

    papers = _lined_table(
        f"{_text(needs.plan.asked.name)}: have I enough?",
        ("paper", "needed", "at hand", "to buy", "price", "lacking"),
    )
    for paper in needs.papers:
        price = paper.price
        papers.add_row(
            _text(paper.paper),
            str(paper.needed),
            "plenty" if paper.have is None else str(paper.have),
            str(paper.sheets_to_buy),
            "" if not paper.to_buy else "not given" if price is None else price_words(price),
            str(paper.lacking),
        )
    console.print(papers)
    cards = _lined_table("cards", ("card", "asked", "complete", "more from what is left"))
    cards.add_column("limited by")
    for card in needs.cards:
        limits = _text(", ".join(card.limited_by))
        counts = str(card.asked), str(card.complete), more_words(card)
        cards.add_row(_text(card.card), *counts, limits)
    if needs.cards:
        console.print(cards)
    said = [needs_words(needs), *whole_cards_words(needs.plan), *choice_words(needs.plan)]
    if any(paper.to_buy for paper in needs.papers):
        said.append(total_words(needs))
    said += _proof_sentences(needs.plan)
    if needs.cards:
        said.append(MORE)
    for sentence in said:
        console.print(sentence, markup=False, highlight=False, soft_wrap=True)


def _lined_table(title: str, names: tuple[str, ...]) -> "Table":
    """Make a table with its first column to the left and figures to the right."""
    from rich.box import SIMPLE_HEAD
    from rich.table import Table

    table = Table(title=title, title_justify="left", box=SIMPLE_HEAD, pad_edge=False)
    table.add_column(names[0])
    for name in names[1:]:
        table.add_column(name, justify="right")
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
                "to_buy": [
                    {"width": s.width, "height": s.height, "count": s.count, "price": s.price}
                    for s in p.to_buy
                ],
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
        "cards": [
            {
                "card": c.card,
                "asked": c.asked,
                "complete": c.complete,
                "limited_by": list(c.limited_by),
                "more": c.more,
                "most_more": c.most_more,
            }
            for c in needs.cards
        ],
        "whole_cards": _whole_cards_json(needs.plan),
    }


def _whole_cards_json(plan: Plan) -> list[dict[str, object]]:
    return [
        {"cards": list(e.cards), "asked": e.asked, "made": e.made, "most": e.most, "by": e.by}
        for e in plan.whole_cards
    ]


def rows_table(title: str, rows: "list[Row]", published: dict[str, int]) -> "Table":
    """Make a table of measured rows: a line for each cell of several, totals last.

    ``published`` has totals by cell for cells of all ten instances.
    """
    from rich.table import Table

    table = Table(title=title, title_justify="left", box=None, pad_edge=False)
    table.add_column("cell")
    for name in (
        "pieces", "result", "bound", "known", "published", "packing library", "proven", "faults", "seconds",
    ):  # fmt: skip
        table.add_column(name, justify="right")
    cells: dict[str, list[Row]] = {}
    for row in rows:
        cells.setdefault(row.cell, []).append(row)
    for cell, own in cells.items():
        _add_rows(table, cell, own, published.get(cell) if len(own) == 10 else None)
    table.add_section()
    _add_rows(table, "all", rows, None)
    return table


def _add_rows(table: "Table", name: str, rows: "list[Row]", published: int | None) -> None:
    """Add some rows as one line."""
    from nesting.bench.run import totals

    sums = totals(rows)
    known = [row.known for row in rows]
    baseline = [row.baseline for row in rows]
    times = f"{sums.worst_seconds:.3f}"
    if len(rows) > 1:
        times = (
            f"median {sums.median_seconds:.3f}, 95 % {sums.high_seconds:.3f}, "
            f"worst {sums.worst_seconds:.3f}"
        )
    table.add_row(
        name,
        str(sum(row.pieces for row in rows)),
        str(sums.result),
        str(sums.bound),
        "" if None in known else str(sum(n or 0 for n in known)),
        "" if published is None else str(published),
        ""
        if None in baseline
        else f"{sum(n or 0 for n in baseline)} ({sums.worse_than_baseline} better)",
        f"{sums.proven} of {sums.rows}",
        str(sums.faults),
        times,
    )


def strokes_table(title: str, rows: "list[StrokesRow]") -> "Table":
    """Make a table of strokes and ruler settings beside the fewest, by the number of blanks."""
    from rich.table import Table

    table = Table(title=title, title_justify="left", box=None, pad_edge=False)
    table.add_column("blanks")
    for name in (
        "layouts", "strokes", "fewest", "more", "ruler settings", "fewest", "more", "seconds a page", "faults",
    ):  # fmt: skip
        table.add_column(name, justify="right")
    for blanks in sorted({row.blanks for row in rows}):
        _add_strokes(table, str(blanks), [row for row in rows if row.blanks == blanks])
    table.add_section()
    _add_strokes(table, "all", rows)
    return table


def _add_strokes(table: "Table", name: str, rows: "list[StrokesRow]") -> None:
    strokes, fewest = (
        sum(n) for n in zip(*((r.strokes, r.fewest_strokes) for r in rows), strict=True)
    )
    settings, least = (
        sum(n) for n in zip(*((r.settings, r.fewest_settings) for r in rows), strict=True)
    )
    table.add_row(
        name,
        str(len(rows)),
        str(strokes),
        str(fewest),
        f"{100 * (strokes / fewest - 1):.1f} %",
        str(settings),
        str(least),
        f"{100 * (settings / least - 1):.1f} %",
        f"{sum(row.seconds for row in rows) / len(rows):.2f}",
        str(sum(row.faults for row in rows)),
    )


def rows_csv(rows: "Sequence[Row | StrokesRow]") -> str:
    """Write measured rows as CSV."""
    import csv
    from dataclasses import asdict
    from io import StringIO

    out = StringIO()
    writer = csv.DictWriter(out, list(asdict(rows[0])))
    writer.writeheader()
    writer.writerows(asdict(row) for row in rows)
    return out.getvalue()


def figures_json(plan: Plan) -> dict[str, object]:
    """Give the figures of a plan for a program to read."""
    return {
        "batch": plan.asked.name,
        "ended": plan.ended,
        "all_cut": plan.all_cut,
        "papers": [
            {
                "paper": f.paper,
                "needed": f.needed,
                "have": f.have,
                "used": f.used,
                "to_buy": f.to_buy,
                "bound": f.bound.value,
                "bound_of": f.bound.of,
                "bound_by": f.bound.by,
                "proven": f.proven,
                "in_pieces": f.in_pieces,
                "kept": f.kept,
                "waste": f.waste,
                "cuts": f.cuts,
                "strokes": strokes_of(plan, f.paper),
                "ruler_settings": f.ruler_settings,
            }
            for f in plan.papers
        ],
        "cards": [{"card": c.card, "asked": c.asked, "complete": c.complete} for c in plan.cards],
        "whole_cards": _whole_cards_json(plan),
        "chosen": None if plan.chosen is None else asdict(plan.chosen),
        "uncut": [{"piece": u.piece, "count": u.count} for u in plan.uncut],
        "warnings": list(plan.warnings),
        "notes": list(plan.notes),
    }


def _text(name: str) -> str:
    """A name of the user's, not to be read as markup."""
    from rich.markup import escape

    return escape(name)
