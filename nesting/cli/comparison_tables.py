"""Variants and suggestions as tables, sentences, CSV and JSON (rich, loaded when used)."""

import csv
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from io import StringIO
from typing import TYPE_CHECKING

from nesting.advice.comparison import Comparison
from nesting.advice.suggestions import Suggestion
from nesting.advice.words import (
    comparison_sentences,
    comparison_table,
    measured_words,
    suggestion_lines,
)
from nesting.cli.tables import print_lines
from nesting.draw.canvas.lettering import brief
from nesting.draw.sheet.names import brief_names
from nesting.needs import MadeKind
from nesting.plan import Plan

if TYPE_CHECKING:
    from rich.console import Console

#: A longer word in a name is broken.
_LONGEST_WORD = 14
#: What stands before the keys of what is complete, by kind.
_BEFORE_KEYS: dict[MadeKind, str] = {"card": "", "spare set": "spares_", "loose piece": "loose_"}


def print_comparison(comparison: Comparison, console: "Console") -> None:
    """Print variants side by side: a column for each, the best by each measure marked.

    Where the console is too narrow for all, the others follow below, beside the first again.
    """
    from rich.box import SIMPLE_HEAD
    from rich.markup import escape
    from rich.table import Table

    labels, columns = _columns(comparison)
    label = max(map(len, labels))
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
        for number, name in enumerate(labels):
            table.add_row(escape(name), *(column.cells[number] for column in some))
        console.print(table)
    print_lines(comparison_sentences(comparison), console)


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


def _columns(comparison: Comparison) -> tuple[list[str], list[_Column]]:
    """What the measures are called, and a column for each variant."""
    heads, rows = comparison_table(comparison)
    labels, *cells = zip(*rows, strict=True)
    columns = zip(heads, cells, comparison.beaten, strict=True)
    return list(labels), [_Column(*column) for column in columns]


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


def comparison_csv(comparison: Comparison) -> str:
    """Write a comparison as CSV: a line for each variant, ``best`` and ``beaten`` last."""
    out = StringIO()
    writer = csv.writer(out)
    measured = [dict(measured_words(row, comparison.papers)) for row in comparison.rows]
    writer.writerow(["variant", *measured[0], "best by", "beaten"])
    for row, words, best, beaten in zip(
        comparison.rows, measured, comparison.best, comparison.beaten, strict=True
    ):
        marks = "; ".join(name for name in words if name in best)
        writer.writerow([row.name, *words.values(), marks, "yes" if beaten else "no"])
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
                **{
                    f"{before}{key}": number
                    for kind, before in _BEFORE_KEYS.items()
                    for key, number in zip(
                        ("complete", "asked"), row.measures.complete[kind], strict=True
                    )
                },
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


def print_suggestions(suggestions: Mapping[int, Suggestion], console: "Console") -> None:
    """Print the small changes that save, by their numbers, the papers they save most of above them."""
    if not suggestions:
        console.print("No single small change was found that helps.")
    paper = None
    for number, one in suggestions.items():
        if one.paper != paper:
            paper = one.paper
            console.print(f"\n{brief(paper)}", markup=False, highlight=False, style="bold")
        (words,) = brief_names(one.batch, [one.words])
        saved = (f"     {line}" for line in suggestion_lines(one))
        print_lines([f"{number:3}  {words}", *saved], console)


def suggestions_json(suggestions: Mapping[int, Suggestion]) -> list[dict[str, object]]:
    """Give suggestions for a program to read; lengths in nm, shares of 1."""
    return [
        {
            "number": number,
            "paper": one.paper,
            "change": one.words,
            "kind": one.kind,
            "savings": [asdict(saving) for saving in one.savings],
            "looks": [
                {
                    "card": look.card,
                    "layer": look.layer,
                    "before": {
                        **(_size_json(look.before) or {}),
                        "reveal": asdict(look.reveal_before),
                    },
                    "after": {
                        **(_size_json(look.after) or {}),
                        "reveal": asdict(look.reveal_after),
                    },
                }
                for look in one.looks
            ],
            "note": one.note,
            **{
                f"{before}complete": dict(zip(("before", "after"), one.complete[kind], strict=True))
                for kind, before in _BEFORE_KEYS.items()
            },
        }
        for number, one in suggestions.items()
    ]
