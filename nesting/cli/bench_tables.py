"""What ``bench`` prints and writes: tables of measured rows (rich, loaded when used)."""

from typing import TYPE_CHECKING

from nesting.units import format_share

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.table import Table

    from nesting.bench.growth import GrowthRow
    from nesting.bench.many_batches import ManyRow
    from nesting.bench.run import Result
    from nesting.bench.stroke_counts import StrokesRow


def rows_table(title: str, rows: "list[Result]", published: dict[str, int]) -> "Table":
    """Make a table of measured rows: a line for each cell of several, and each limit, totals last.

    ``published`` has totals by cell for cells of all ten instances. Of several seeds, the numbers are
    means.
    """
    seeds, limits = len({row.again for row in rows}), list(dict.fromkeys(r.allowed for r in rows))
    table = _table(
        title, "cell", *(("limit",) if len(limits) > 1 else ()), "pieces", "result",
        *(("worst seed",) if seeds > 1 else ()), "bound", "known", "published", "packing library",
        "proven", "faults", "processor", "seconds",
    )  # fmt: skip
    for cell in [*dict.fromkeys(row.cell for row in rows), ""]:
        if not cell:
            table.add_section()
        own = [row for row in rows if cell in (row.cell, "")]
        fewest = published.get(cell) if len(own) == 10 * seeds * len(limits) else None
        for allowed in limits:
            some = [row for row in own if row.allowed == allowed]
            words = _words(some, seeds, fewest)
            if seeds == 1:
                del words[2]
            table.add_row(cell or "all", *((f"{allowed:g} s",) if len(limits) > 1 else ()), *words)
    return table


def _words(rows: "list[Result]", seeds: int, published: int | None) -> list[str]:
    """Some rows as the words of one line."""
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
    return [
        _mean(sum(row.pieces for row in rows), seeds),
        f"{sums.result:.{int(seeds > 1)}f}",
        str(sums.worst),
        f"{sums.bound:.{int(seeds > 1)}f}",
        "" if None in known else _mean(sum(n or 0 for n in known), seeds),
        "" if published is None else str(published),
        ""
        if None in baseline
        else f"{_mean(sum(n or 0 for n in baseline), seeds)} ({sums.worse_than_baseline} better)",
        f"{sums.proven} of {sums.rows}",
        str(sums.faults),
        f"{sums.processor:.1f}",
        times,
    ]


def _mean(total: int, seeds: int) -> str:
    return f"{total / seeds:.0f}"


def growth_table(title: str, rows: "list[GrowthRow]") -> "Table":
    """Make a table of what grows: the plan beside its bound, time and memory."""
    table = _table(
        title, "what", "how many", "pieces", "result", "bound", "gap", "proven", "faults", "processor",
        "seconds", "MB",
    )  # fmt: skip
    for row in rows:
        table.add_row(
            row.what,
            f"{row.number:,}",
            f"{row.pieces:,}",
            f"{row.result:,}",
            f"{row.bound:,}",
            format_share(row.gap),
            f"{row.proven} of {row.papers}",
            str(row.faults),
            f"{row.processor:.1f}",
            f"{row.seconds:.2f}",
            f"{row.memory:.0f}",
        )
    return table


def many_batches_table(title: str, rows: "list[ManyRow]") -> "Table":
    """Make a table of many batches: how many a second, beside one after the other."""
    table = _table(
        title, "where", "batches", "result", "proven", "faults", "processor", "seconds",
        "batches a second", "times",
    )  # fmt: skip
    for row in rows:
        table.add_row(
            row.where,
            f"{row.batches:,}",
            f"{row.result:,}",
            f"{row.proven:,}",
            str(row.faults),
            f"{row.processor:.1f}",
            f"{row.seconds:.1f}",
            f"{row.a_second:.1f}",
            f"{row.a_second / rows[0].a_second:.2f}",
        )
    return table


def _table(title: str, first: str, *names: str) -> "Table":
    """A table whose first column has words, the others numbers."""
    from rich.table import Table

    table = Table(title=title, title_justify="left", box=None, pad_edge=False)
    table.add_column(first)
    for name in names:
        table.add_column(name, justify="right")
    return table


def strokes_table(title: str, rows: "list[StrokesRow]") -> "Table":
    """Make a table of strokes and ruler settings beside the fewest, by the number of blanks."""
    table = _table(
        title, "blanks", "layouts", "strokes", "fewest", "more", "ruler settings", "fewest", "more",
        "seconds a page", "faults",
    )  # fmt: skip
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
        format_share(strokes / fewest - 1),
        str(settings),
        str(least),
        format_share(settings / least - 1),
        f"{sum(row.seconds for row in rows) / len(rows):.2f}",
        str(sum(row.faults for row in rows)),
    )


def rows_csv(rows: "Sequence[Result | GrowthRow | ManyRow | StrokesRow]") -> str:
    """Write measured rows as CSV."""
    import csv
    from dataclasses import asdict
    from io import StringIO

    out = StringIO()
    writer = csv.DictWriter(out, list(asdict(rows[0])))
    writer.writeheader()
    writer.writerows(asdict(row) for row in rows)
    return out.getvalue()
