"""Papers, whole sheets and offcuts as rows of the stash."""

import sqlite3
from collections.abc import Iterable, Iterator
from dataclasses import asdict

from nesting.nearest import capitals_fault
from nesting.papers import BarcodeStrip, Edges, Face, Paper, Sheet
from nesting.stash.journal import Writer
from nesting.stash.offcuts import StashOffcut


def write_paper(writer: Writer, paper: Paper) -> None:
    """Write what is said of a paper, its sheets apart."""
    strip, trim = paper.barcode_strip, paper.edge_trim
    writer.put(
        "papers",
        {
            "name": paper.name,
            "buy": int(paper.buy),
            "front": paper.front.print,
            "front_up": paper.front.up,
            "back": paper.back.print,
            "back_up": paper.back.up,
            "grain": paper.grain,
            "strip_edge": strip.edge if strip else None,
            "strip_width": strip.width if strip else None,
            "strip_beyond": int(strip.beyond_the_sheet) if strip else None,
            "strip_back_usable": int(strip.back_usable) if strip else None,
            "trim_left": trim.left,
            "trim_right": trim.right,
            "trim_top": trim.top,
            "trim_bottom": trim.bottom,
        },
    )


def find_capitals(writer: Writer, name: str, was: str | None = None) -> Iterator[tuple[str, str]]:
    """Find papers whose names differ from a new one in capitals alone: no batch can have both.

    A paper that ``was`` called otherwise may have its own name in other capitals.
    """
    names = [str(row[0]) for row in writer.connection.execute("SELECT name FROM papers")]
    for other in names if name not in names else ():
        if other != was and other.casefold() == name.casefold():
            yield capitals_fault("paper", name, other)


def write_sheet(writer: Writer, paper: str, sheet: Sheet) -> None:
    """Write how many whole sheets of a size there are."""
    writer.put(
        "sheets",
        {
            "paper": paper,
            "width": sheet.width,
            "height": sheet.height,
            "count": sheet.have,
            "price": sheet.price,
        },
    )


def add_offcut(writer: Writer, offcut: StashOffcut) -> int:
    """Write a new offcut; its number."""
    row = asdict(offcut)
    del row["number"]
    return writer.add_offcut(row)


def read_paper(row: sqlite3.Row, sheets: Iterable[sqlite3.Row]) -> Paper:
    """A paper from its row, with its whole sheets from theirs."""
    strip = None
    if row["strip_edge"] is not None:
        beyond, usable = bool(row["strip_beyond"]), bool(row["strip_back_usable"])
        strip = BarcodeStrip(row["strip_edge"], row["strip_width"], beyond, usable)
    return Paper(
        row["name"],
        tuple(Sheet(one["width"], one["height"], one["count"], one["price"]) for one in sheets),
        bool(row["buy"]),
        Face(row["front"], row["front_up"]),
        Face(row["back"], row["back_up"]),
        row["grain"],
        strip,
        Edges(row["trim_left"], row["trim_right"], row["trim_top"], row["trim_bottom"]),
    )
