"""What ``bench`` prints and writes: tables of measured rows (rich, loaded when used)."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.table import Table

    from nesting.bench.run import Result
    from nesting.bench.stroke_counts import StrokesRow


def rows_table(title: str, rows: "list[Result]", published: dict[str, int]) -> "Table":
    """Make a table of measured rows: a line for each cell of several, totals last.

    ``published`` has totals by cell for cells of all ten instances.
    """
    from rich.table import Table

    table = Table(title=title, title_justify="left", box=None, pad_edge=False)
    table.add_column("cell")
    for name in (
        "pieces", "result", "bound", "known", "published", "packing library", "proven", "faults", "processor",
        "seconds",
    ):  # fmt: skip
        table.add_column(name, justify="right")
    cells: dict[str, list[Result]] = {}
    for row in rows:
        cells.setdefault(row.cell, []).append(row)
    for cell, own in cells.items():
        _add_rows(table, cell, own, published.get(cell) if len(own) == 10 else None)
    table.add_section()
    _add_rows(table, "all", rows, None)
    return table


def _add_rows(table: "Table", name: str, rows: "list[Result]", published: int | None) -> None:
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
        f"{sums.processor:.1f}",
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


def rows_csv(rows: "Sequence[Result | StrokesRow]") -> str:
    """Write measured rows as CSV."""
    import csv
    from dataclasses import asdict
    from io import StringIO

    out = StringIO()
    writer = csv.DictWriter(out, list(asdict(rows[0])))
    writer.writeheader()
    writer.writerows(asdict(row) for row in rows)
    return out.getvalue()
