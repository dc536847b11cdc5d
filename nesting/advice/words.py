"""What is said of variants side by side and of small changes: measures, signs, savings, looks."""

from collections.abc import Iterable, Iterator

from nesting.advice.comparison import Compared, Comparison, Measures
from nesting.advice.looks import EDGE_WORDS, LayerLook, edge_words, reveal_words
from nesting.advice.suggestions import Suggestion
from nesting.draw.canvas.lettering import brief
from nesting.draw.pages.plan_words import bound_words
from nesting.prices import format_price
from nesting.units import Unit, format_share, size_words

_LEGEND = "* no other is better by this measure"
_BEATEN = "(in brackets) another is as good by every measure and better by at least one"


def comparison_table(comparison: Comparison) -> tuple[list[str], list[tuple[str, ...]]]:
    """The heads of the columns, and a row for each measure: what it is called, then its cells.

    Heads of what another is better than are in brackets, the best by a measure has a star.
    """
    rows = zip(comparison.rows, comparison.best, comparison.beaten, strict=True)
    names = _shown_measures(comparison)
    heads: list[str] = []
    columns: list[list[str]] = []
    for row, best, beaten in rows:
        words = dict(measured_words(row, comparison.papers))
        heads.append(f"({brief(row.name)})" if beaten else brief(row.name))
        columns.append([f"{words[name]}{'*' if name in best else ' '}" for name in names])
    cells = zip(*columns, strict=True)
    return heads, [(measure_label(name), *row) for name, row in zip(names, cells, strict=True)]


def _shown_measures(comparison: Comparison) -> list[str]:
    """The measures; cost only where there is a price, what is complete where any of it is asked for."""
    measures = [row.measures for row in comparison.rows]
    asked = {kind for one in measures for kind, (_, asked) in one.complete.items() if asked}
    shown = {f"complete {kind}s": kind in asked for kind in measures[0].complete}
    shown["cost"] = any(one.cost is not None for one in measures)
    names = dict(measured_words(comparison.rows[0], comparison.papers))
    return [name for name in names if shown.get(name, True)]


def measure_label(name: str) -> str:
    """How a measure is called at the left."""
    if name.startswith("sheets of "):
        return f"{brief(name.removeprefix('sheets of '))}, sheets"
    return name


def comparison_sentences(comparison: Comparison) -> Iterator[str]:
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
                said = bound_words(figures, row.plan.asked.trimmer)
                yield f"{brief(row.name)}, {brief(figures.paper)}: {said}"


def measured_words(row: Compared, papers: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Every measure of a variant in words, in the order in which they are shown."""
    measures = row.measures
    for paper in papers:
        yield f"sheets of {paper}", str(measures.sheets.get(paper, 0))
    yield "cost", "" if measures.cost is None else format_price(measures.cost)
    yield "waste", format_share(measures.waste)
    yield "strokes", str(measures.strokes)
    yield "ruler settings", str(measures.ruler_settings)
    yield "largest offcut", _offcut_words(measures, row.plan.asked.unit)
    for kind, (complete, asked) in measures.complete.items():
        yield f"complete {kind}s", f"{complete} of {asked}"


def _offcut_words(measures: Measures, unit: Unit) -> str:
    size = measures.largest_offcut
    return "none" if size is None else size_words(*size, unit)


def suggestion_lines(suggestion: Suggestion) -> Iterator[str]:
    """What a suggestion saves and what it does to the cards, a line each."""
    for saving in suggestion.savings:
        sheets = "sheet" if saving.after == 1 else "sheets"
        found = "" if saving.proven else " (found; fewer are not ruled out)"
        yield (
            f"{brief(saving.paper)}: {saving.after} {sheets} instead of {saving.before}{found}, "
            f"{100 * abs(saving.share):.0f} % {'less' if saving.share > 0 else 'more'} paper"
        )
    for kind, (before, after) in suggestion.complete.items():
        if before != after:
            yield f"complete {kind}s: {after} instead of {before}"
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
    >>> from nesting import Edges
    >>> even = lambda length: Edges(*4 * [length])
    >>> size, smaller = (101_600_000, 133_350_000), (95_250_000, 127_000_000)
    >>> look_words(LayerLook("", "", size, smaller, even(3_175_000), even(6_350_000)), "in")
    '3 3/4 x 5 in (was 4 x 5 1/4 in), reveal 1/4 in (was 1/8 in)'
    """
    parts = []
    if look.after != look.before:
        after, before = (size_words(*size, unit) for size in (look.after, look.before))
        parts.append(f"{after} (was {before})")
    then, now = look.reveal_after, look.reveal_before
    if then.even and now.even:
        was = "as before" if then == now else f"(was {reveal_words(now, unit)})"
        parts.append(f"reveal {reveal_words(then, unit)} {was}")
    elif then != now:
        edges = [edge for edge in EDGE_WORDS if getattr(then, edge) != getattr(now, edge)]
        parts.append(f"reveal {edge_words(then, edges, unit)} (was {edge_words(now, edges, unit)})")
    return ", ".join(parts)
