"""Variants and suggestions as tables, sentences, CSV and JSON (rich, loaded when used)."""

import csv
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from io import StringIO
from typing import TYPE_CHECKING

from nesting.advice.comparison import Compared, Comparison, Measures
from nesting.advice.looks import EDGE_WORDS, LayerLook, edge_words, is_even, reveal_words
from nesting.advice.suggestions import Suggestion
from nesting.batch import Edges
from nesting.draw.canvas.lettering import brief
from nesting.draw.sheet.names import brief_names
from nesting.draw.sheet.words import bound_words
from nesting.plan import Plan
from nesting.prices import format_price
from nesting.units import Unit, format_size, with_unit

if TYPE_CHECKING:
    from rich.console import Console

#: A longer word in a name is broken.
_LONGEST_WORD = 14
_LEGEND = "* no other is better by this measure"
_BEATEN = "(in brackets) another is as good by every measure and better by at least one"


def print_comparison(comparison: Comparison, console: "Console") -> None:
    """Print variants side by side: a column for each, the best by each measure marked.

    Where the console is too narrow for all, the others follow below, beside the first again.
    """
    from rich.box import SIMPLE_HEAD
    from rich.markup import escape
    from rich.table import Table

    names = _shown_names(comparison)
    columns = _columns(comparison, names)
    label = max(len(_label(name)) for name in names)
    for some in _fitting(columns, console.width - label - 2):
        title = escape(brief(comparison.rows[0].plan.asked.name))
        table = Table(title=title, title_justify="left", box=SIMPLE_HEAD, pad_edge=False)
        table.add_column("", no_wrap=True)
        for column in some:
            style = "dim" if column.beaten else None
            table.add_column(
                escape(column.head),
                justify="right",
                min_width=column.width,
                max_width=column.width,
                overflow="fold",
                style=style,
                header_style=style or "bold",
            )
        for number, name in enumerate(names):
            table.add_row(escape(_label(name)), *(column.cells[number] for column in some))
        console.print(table)
    for sentence in _comparison_sentences(comparison):
        console.print(sentence, markup=False, highlight=False, soft_wrap=True)


@dataclass(frozen=True, slots=True)
class _Column:
    """A variant as it is printed: its name, and each measure."""

    head: str
    cells: tuple[str, ...]
    beaten: bool

    @property
    def width(self) -> int:
        """Room for the cells, and for a name of some words below one another."""
        words = max(len(word) for word in self.head.split())
        return max(min(words, _LONGEST_WORD), *(len(cell) for cell in self.cells))


def _columns(comparison: Comparison, names: Sequence[str]) -> list[_Column]:
    columns = []
    for row, best, beaten in zip(comparison.rows, comparison.best, comparison.beaten, strict=True):
        words = dict(_measured(row, comparison.papers))
        cells = tuple(f"{words[name]}{'*' if name in best else ' '}" for name in names)
        columns.append(
            _Column(f"({brief(row.name)})" if beaten else brief(row.name), cells, beaten)
        )
    return columns


def _fitting(columns: list[_Column], width: int) -> Iterator[list[_Column]]:
    """The columns in as many tables as it takes, each with the first."""
    first, *others = columns
    some = [first]
    for column in others:
        if len(some) > 1 and sum(one.width + 3 for one in [*some, column]) > width:
            yield some
            some = [first]
        some.append(column)
    yield some


def _shown_names(comparison: Comparison) -> list[str]:
    """The measures; cost only where there is a price, cards and loose pieces where any are asked for."""
    measured = [row.measures for row in comparison.rows]
    shown = {
        "cost": any(one.cost is not None for one in measured),
        "complete cards": any(one.asked for one in measured),
        "complete loose pieces": any(one.loose_asked for one in measured),
    }
    return [name for name in _measure_names(comparison.papers) if shown.get(name, True)]


def _label(name: str) -> str:
    """How a measure is called at the left."""
    if name.startswith("sheets of "):
        return f"{brief(name.removeprefix('sheets of '))}, sheets"
    return name


def _comparison_sentences(comparison: Comparison) -> Iterator[str]:
    """What the signs mean, what is not proven, what the costs leave out."""
    if any(comparison.best):
        yield _LEGEND
    if any(comparison.beaten):
        yield _BEATEN
    if len(comparison.rows) > 1 and not any(comparison.best):
        yield "no difference"
    unpriced = dict.fromkeys(p for row in comparison.rows for p in row.measures.unpriced)
    if unpriced and any(row.measures.cost is not None for row in comparison.rows):
        yield f"cost without {', '.join(map(brief, unpriced))}: no price"
    for row in comparison.rows:
        for figures in row.plan.papers:
            if not figures.proven:
                yield f"{brief(row.name)}, {brief(figures.paper)}: {bound_words(figures)}"


def _measure_names(papers: Iterable[str]) -> list[str]:
    sheets = [f"sheets of {paper}" for paper in papers]
    return [
        *sheets,
        "cost",
        "waste",
        "strokes",
        "ruler settings",
        "largest offcut",
        "complete cards",
        "complete loose pieces",
    ]


def _measured(row: Compared, papers: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Every measure of a variant in words."""
    measures = row.measures
    for paper in papers:
        yield f"sheets of {paper}", str(measures.sheets.get(paper, 0))
    yield (
        "cost",
        "" if measures.cost is None else format_price(measures.cost),
    )
    yield "waste", f"{100 * measures.waste:.1f} %"
    yield "strokes", str(measures.strokes)
    yield "ruler settings", str(measures.ruler_settings)
    yield "largest offcut", _offcut_words(measures, row.plan.asked.unit)
    yield "complete cards", f"{measures.complete} of {measures.asked}"
    yield "complete loose pieces", f"{measures.loose_complete} of {measures.loose_asked}"


def _offcut_words(measures: Measures, unit: Unit) -> str:
    size = measures.largest_offcut
    return "none" if size is None else with_unit(format_size(*size, unit), unit)


def comparison_csv(comparison: Comparison) -> str:
    """Write a comparison as CSV: a line for each variant, ``best`` and ``beaten`` last."""
    out = StringIO()
    writer = csv.writer(out)
    names = _measure_names(comparison.papers)
    writer.writerow(["variant", *names, "best by", "beaten"])
    for row, best, beaten in zip(comparison.rows, comparison.best, comparison.beaten, strict=True):
        words = dict(_measured(row, comparison.papers))
        marks = "; ".join(name for name in names if name in best)
        writer.writerow(
            [row.name, *(words[name] for name in names), marks, "yes" if beaten else "no"]
        )
    return out.getvalue()


def comparison_json(comparison: Comparison) -> dict[str, object]:
    """Give a comparison for a program to read; lengths in nm, cost in hundredths, shares of 1."""
    return {
        "batch": comparison.rows[0].plan.asked.name,
        "variants": [
            {
                "variant": row.name,
                "papers": _papers_json(row.plan),
                "cost": row.measures.cost,
                "unpriced": list(row.measures.unpriced),
                "waste": row.measures.waste,
                "strokes": row.measures.strokes,
                "ruler_settings": row.measures.ruler_settings,
                "largest_offcut": _size_json(row.measures.largest_offcut),
                "complete": row.measures.complete,
                "asked": row.measures.asked,
                "loose_complete": row.measures.loose_complete,
                "loose_asked": row.measures.loose_asked,
                "best_by": sorted(best),
                "beaten": beaten,
            }
            for row, best, beaten in zip(
                comparison.rows, comparison.best, comparison.beaten, strict=True
            )
        ],
    }


def _papers_json(plan: Plan) -> list[dict[str, object]]:
    return [
        {
            "paper": figures.paper,
            "needed": figures.needed,
            "to_buy": figures.to_buy,
            "bound": figures.bound.value,
            "bound_of": figures.bound.of,
            "proven": figures.proven,
            "waste": figures.waste,
        }
        for figures in plan.papers
    ]


def _size_json(size: tuple[int, int] | None) -> dict[str, int] | None:
    return None if size is None else {"width": size[0], "height": size[1]}


def print_suggestions(suggestions: Sequence[Suggestion], console: "Console") -> None:
    """Print the small changes that save, numbered, the papers they save most of above them."""
    if not suggestions:
        console.print("No single small change was found that saves a sheet.")
    paper = None
    for number, one in enumerate(suggestions, 1):
        if one.paper != paper:
            paper = one.paper
            console.print(f"\n{brief(paper)}", markup=False, highlight=False, style="bold")
        (words,) = brief_names(one.batch, [one.words])
        lines = [f"{number:3}  {words}", *(f"     {line}" for line in suggestion_lines(one))]
        for line in lines:
            console.print(line, markup=False, highlight=False, soft_wrap=True)


def suggestion_lines(suggestion: Suggestion) -> Iterator[str]:
    """What a suggestion saves and what it does to the cards, a line each."""
    for saving in suggestion.savings:
        sheets = "sheet" if saving.after == 1 else "sheets"
        found = "" if saving.proven else " (found; fewer are not ruled out)"
        yield (
            f"{brief(saving.paper)}: {saving.after} {sheets} instead of {saving.before}{found}, "
            f"{100 * saving.share:.0f} % less paper"
        )
    before, after = suggestion.complete
    if before != after:
        yield f"complete cards: {after} instead of {before}"
    unit = suggestion.batch.unit
    alike: dict[tuple[str, str], list[str]] = {}
    for look in suggestion.looks:
        alike.setdefault((look.layer, look_words(look, unit)), []).append(look.card)
    for (layer, words), cards in alike.items():
        yield f"{', '.join(map(brief, cards))}, {brief(layer)}: {words}"
    if suggestion.note:
        yield suggestion.note


def look_words(look: LayerLook, unit: Unit) -> str:
    """How a layer looks after a change, and how it looked before: what is another than it was.

    Examples
    --------
    >>> even = lambda length: Edges(*4 * [length])
    >>> size, smaller = (101_600_000, 133_350_000), (95_250_000, 127_000_000)
    >>> look_words(LayerLook("", "", size, smaller, even(3_175_000), even(6_350_000)), "in")
    '3 3/4 x 5 in (was 4 x 5 1/4 in), reveal 1/4 in (was 1/8 in)'
    """
    parts = []
    if look.after != look.before:
        after, before = (
            with_unit(format_size(*size, unit), unit) for size in (look.after, look.before)
        )
        parts.append(f"{after} (was {before})")
    then, now = look.reveal_after, look.reveal_before
    if is_even(then) and is_even(now):
        was = "as before" if then == now else f"(was {reveal_words(now, unit)})"
        parts.append(f"reveal {reveal_words(then, unit)} {was}")
    elif then != now:
        edges = [edge for edge in EDGE_WORDS if getattr(then, edge) != getattr(now, edge)]
        parts.append(f"reveal {edge_words(then, edges, unit)} (was {edge_words(now, edges, unit)})")
    return ", ".join(parts)


def suggestions_json(suggestions: Sequence[Suggestion]) -> list[dict[str, object]]:
    """Give suggestions for a program to read; lengths in nm, shares of 1."""
    return [
        {
            "number": number,
            "paper": one.paper,
            "change": one.words,
            "kind": one.kind,
            "savings": [
                {
                    "paper": saving.paper,
                    "before": saving.before,
                    "after": saving.after,
                    "share": saving.share,
                    "proven": saving.proven,
                }
                for saving in one.savings
            ],
            "looks": [
                {
                    "card": look.card,
                    "layer": look.layer,
                    "before": {
                        **(_size_json(look.before) or {}),
                        "reveal": _edges_json(look.reveal_before),
                    },
                    "after": {
                        **(_size_json(look.after) or {}),
                        "reveal": _edges_json(look.reveal_after),
                    },
                }
                for look in one.looks
            ],
            "note": one.note,
            "complete": {"before": one.complete[0], "after": one.complete[1]},
        }
        for number, one in enumerate(suggestions, 1)
    ]


def _edges_json(edges: Edges) -> dict[str, int]:
    return {"left": edges.left, "right": edges.right, "top": edges.top, "bottom": edges.bottom}
