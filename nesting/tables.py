"""What is printed on the terminal: tables and sentences (rich, loaded when used)."""

from typing import TYPE_CHECKING

from nesting.plan import PaperFigures, Plan

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from nesting.bench.run import Row


def bound_words(figures: PaperFigures) -> str:
    """Say what is proven of a paper's sheets, with the rules it is proven under."""
    bound = figures.bound
    how = "found by search" if bound.by == "search" else f"proven by {bound.by}"
    if bound.of == "cost":
        if figures.proven:
            return f"no plan of edge-to-edge cuts costs less ({how})"
        return f"a cheaper plan is not ruled out ({how} up to a part of the cost)"
    if figures.proven:
        return f"no plan of edge-to-edge cuts needs fewer ({how})"
    return f"at least {bound.value} ({how})"


def print_plan(plan: Plan, console: "Console") -> None:
    """Print a plan: a line for each paper, then what is uncut and what to look out for."""
    from rich.table import Table

    table = Table(title=f"{plan.asked.name}: what each paper needs", title_justify="left")
    table.add_column("paper")
    for name in ("needed", "at hand", "to buy", "waste %", "cuts", "ruler settings"):
        table.add_column(name, justify="right")
    table.add_column("bound")
    for figures in plan.papers:
        table.add_row(
            _text(figures.paper),
            str(figures.needed),
            "plenty" if figures.have is None else str(figures.have),
            str(figures.to_buy),
            f"{100 * figures.waste:.1f}",
            str(figures.cuts),
            str(figures.ruler_settings),
            bound_words(figures),
        )
    console.print(table)
    for card in plan.cards:
        if card.complete < card.asked:
            console.print(f"{card.card}: {card.complete} of {card.asked} cards", markup=False)
    for uncut in plan.uncut:
        piece = plan.piece(uncut.piece)
        uses = ", ".join(f"{use.count} for {use.card or use.layer}" for use in uncut.uses)
        console.print(
            f"uncut: {uncut.count} of {piece.letter} {piece.name} ({piece.paper}): {uses}",
            markup=False,
        )
    for warning in plan.warnings:
        console.print(f"look out: {warning}", markup=False)
    if plan.ended == "interrupted":
        console.print("Interrupted: this is the best plan found so far.")


def rows_table(title: str, rows: "list[Row]") -> "Table":
    """Make a table of measured batches, totals last."""
    from rich.table import Table

    from nesting.bench.run import totals

    table = Table(title=title, title_justify="left")
    table.add_column("batch")
    for name in ("pieces", "sheets", "bound", "rectpack", "proven", "faults", "seconds"):
        table.add_column(name, justify="right")
    for row in rows:
        table.add_row(
            row.name,
            str(row.pieces),
            str(row.sheets),
            str(row.bound),
            "" if row.baseline is None else str(row.baseline),
            f"{row.proven} of {row.papers}",
            str(row.faults),
            f"{row.seconds:.3f}",
        )
    sums = totals(rows)
    table.add_section()
    table.add_row(
        f"{sums.batches} batches",
        str(sum(row.pieces for row in rows)),
        str(sums.sheets),
        str(sums.bound),
        f"{sums.worse_than_baseline} worse" if rows[0].baseline is not None else "",
        f"{100 * sums.proven / sums.batches:.1f} %",
        str(sums.faults),
        f"median {sums.median_seconds:.3f}, 95 % {sums.high_seconds:.3f}, "
        f"worst {sums.worst_seconds:.3f}",
    )
    return table


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
                "ruler_settings": f.ruler_settings,
            }
            for f in plan.papers
        ],
        "cards": [{"card": c.card, "asked": c.asked, "complete": c.complete} for c in plan.cards],
        "uncut": [{"piece": u.piece, "count": u.count} for u in plan.uncut],
        "warnings": list(plan.warnings),
    }


def _text(name: str) -> str:
    """A name of the user's, not to be read as markup."""
    from rich.markup import escape

    return escape(name)
