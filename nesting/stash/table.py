"""The stash as one table (CSV), there and back."""

import csv
from collections.abc import Iterator
from dataclasses import asdict
from io import StringIO
from typing import Any, get_args
from unicodedata import normalize

from nesting.papers import EDGES, BarcodeStrip, Edges, Face, Grain, Paper, Print, Sheet, StripEdge
from nesting.prices import format_price, parse_price
from nesting.sheets import find_used_up
from nesting.stash.database import StashError
from nesting.stash.drawer import Stash
from nesting.stash.offcuts import StashOffcut
from nesting.stash.rows import find_capitals, write_paper, write_sheet
from nesting.typed_lengths import LengthError, exact_length, exact_size, parse_length, parse_size
from nesting.units import Unit, or_plenty

_COLUMNS = (
    "what", "paper", "size", "count", "price", "number", "strip", "top", "note", "buy", "front",
    "front up", "back", "back up", "grain", "strip width", "beyond the sheet", "back usable",
    "trim left", "trim right", "trim top", "trim bottom",
)  # fmt: skip
_KINDS = ("paper", "sheet", "offcut")
_YES = {"yes": True, "no": False}
_Listed = Paper | Sheet | StashOffcut


def write_table(stash: Stash) -> str:
    """Write everything in the stash as CSV: a row for each paper, size of whole sheets and offcut."""
    out = StringIO()
    table = csv.DictWriter(out, _COLUMNS, restval="")
    table.writeheader()
    for paper in stash.papers():
        table.writerow(_paper_row(paper))
        for sheet in paper.sheets:
            row = {"what": "sheet", "paper": paper.name}
            row |= {"size": exact_size(sheet.width, sheet.height)}
            row |= {"count": or_plenty(sheet.have)}
            row |= {"price": "" if sheet.price is None else format_price(sheet.price)}
            table.writerow(row)
    for offcut in stash.offcuts():
        size = {"what": "offcut", "size": exact_size(offcut.width, offcut.height)}
        told = {k: v for k, v in asdict(offcut).items() if k not in ("width", "height")}
        table.writerow(size | told)
    return out.getvalue()


def _paper_row(paper: Paper) -> dict[str, str]:
    row = {
        "what": "paper",
        "paper": paper.name,
        "buy": "yes" if paper.buy else "no",
        "front": paper.front.print,
        "front up": paper.front.up,
        "back": paper.back.print,
        "back up": paper.back.up,
        "grain": paper.grain or "",
    }
    for edge in EDGES:
        trim = getattr(paper.edge_trim, edge)
        row[f"trim {edge}"] = exact_length(trim) if trim else ""
    strip = paper.barcode_strip
    if strip is not None:
        row |= {
            "strip": strip.edge,
            "strip width": exact_length(strip.width),
            "beyond the sheet": "yes" if strip.beyond_the_sheet else "no",
            "back usable": "yes" if strip.back_usable else "no",
        }
    return row


def read_table(
    stash: Stash, text: str, unit: Unit = "in", name: str = "the table", why: str = ""
) -> int:
    """Put everything that a CSV lists into the stash; how many rows were new.

    A row that is there already as it stands changes nothing. Lengths without a unit are in ``unit``.

    Raises
    ------
    StashError
        A row does not read, has a strip that it cannot have, or something else is there in its place;
        every such row is named, and nothing was put in.
    """
    reader = _Reader(unit, name)
    rows = reader.rows(normalize("NFC", text))
    with stash.writing() as writer:
        for line, kind, paper, one in rows:
            table, key = _table_and_key(paper, one)
            before = writer.row(table, key)
            count = len(writer.changes)
            if isinstance(one, Paper):
                faults = [*find_capitals(writer, paper)]
                write_paper(writer, one)
            elif writer.row("papers", (paper,)) is None:
                reader.fault(line, f"paper {paper!r}", "a paper of the stash or of a row")
                continue
            elif isinstance(one, StashOffcut):
                faults = [*one.find_strip_faults(stash.paper(paper))]
                writer.put("offcuts", asdict(one))
            else:
                told = exact_size(one.width, one.height)
                faults = [*find_used_up(stash.paper(paper), one, told)]
                write_sheet(writer, paper, one)
            for fault in faults:
                reader.fault(line, *fault)
            if before is not None and len(writer.changes) > count:
                words = " ".join(map(str, key[:1]))
                reader.fault(
                    line, f"{kind} {words}, which is in the stash otherwise", "something new"
                )
        if reader.faults:
            raise StashError(*reader.faults)
        new = len(writer.changes)
        if new:
            writer.enter(f"{new} rows read from {name}", why)
    return new


def _table_and_key(paper: str, one: _Listed) -> tuple[str, tuple[Any, ...]]:
    match one:
        case StashOffcut():
            return "offcuts", (one.number,)
        case Paper():
            return "papers", (paper,)
        case Sheet():
            return "sheets", (paper, one.width, one.height)


class _Reader:
    """Reads rows, and notes what is wrong with each."""

    def __init__(self, unit: Unit, name: str) -> None:
        self.unit = unit
        self.name = name
        self.faults: list[str] = []

    def fault(self, line: int, read: str, expected: str) -> None:
        """Note what is wrong in a line."""
        self.faults.append(f"{self.name}:{line}: {read}; expected {expected}")

    def rows(self, text: str) -> list[tuple[int, str, str, _Listed]]:
        """Every row, with its line, what it is, and its paper: papers first, which the others need."""
        table = csv.DictReader(StringIO(text, newline=""), restval="", restkey="more")
        columns = [column.strip().lower() for column in table.fieldnames or ()]
        unknown = [column for column in columns if column not in _COLUMNS]
        if unknown or "what" not in columns or len(set(columns)) < len(columns):
            read = f"column {unknown[0]!r}" if unknown else "columns " + ", ".join(columns)
            self.fault(1, read, f"each once of {', '.join(_COLUMNS)}")
            return []
        table.fieldnames = columns
        read_rows = list(self._read(table))
        return sorted(read_rows, key=lambda row: _KINDS.index(row[1]))

    def _read(self, table: "csv.DictReader[str]") -> Iterator[tuple[int, str, str, _Listed]]:
        try:
            for row in table:
                line = table.line_num
                if "more" in row:
                    self.fault(line, "more cells than columns", "a cell for each column")
                    continue
                cells = {key: value.strip() for key, value in row.items()}
                if not any(cells.values()):
                    continue
                try:
                    kind = self._word(cells, "what", _KINDS)
                    yield line, kind, cells.get("paper", ""), self._listed(kind, cells)
                except _Unread as unread:
                    self.fault(line, unread.read, unread.expected)
        except csv.Error as error:
            self.fault(table.line_num, f"text that is no table ({error})", "CSV")

    def _listed(self, kind: str, cells: dict[str, str]) -> _Listed:
        name = cells.get("paper", "")
        if not name or not name.isprintable():
            raise _Unread(f"paper: {name!r}", "the name of a paper")
        if kind == "paper":
            return self._paper(cells)
        return self._sheet(cells) if kind == "sheet" else self._offcut(cells)

    def _paper(self, cells: dict[str, str]) -> Paper:
        strip = None
        if cells.get("strip"):
            strip = BarcodeStrip(
                self._word(cells, "strip", EDGES),
                self._length(cells, "strip width"),
                self._yes(cells, "beyond the sheet", default=True),
                self._yes(cells, "back usable", default=False),
            )
        edges = (self._length(cells, f"trim {edge}", 0) for edge in EDGES)
        grain = self._word(cells, "grain", get_args(Grain)) if cells.get("grain") else None
        prints = get_args(Print)
        return Paper(
            cells["paper"],
            (),
            self._yes(cells, "buy", default=True),
            Face(
                self._word(cells, "front", prints, "plain"),
                self._word(cells, "front up", EDGES, "top"),
            ),
            Face(
                self._word(cells, "back", prints, "plain"),
                self._word(cells, "back up", EDGES, "top"),
            ),
            grain,
            strip,
            Edges(*edges),
        )

    def _sheet(self, cells: dict[str, str]) -> Sheet:
        count = cells.get("count", "")
        have = None if count.lower() == "plenty" else self._number(cells, "count", 0)
        price = self._price(cells) if cells.get("price") else None
        return Sheet(*self._size(cells), have, price)

    def _offcut(self, cells: dict[str, str]) -> StashOffcut:
        note = cells.get("note", "")
        if not note.isprintable():
            raise _Unread(f"note: {note!r}", "a text on one line")
        return StashOffcut(
            self._number(cells, "number", 1),
            cells["paper"],
            *self._size(cells),
            self._word(cells, "strip", get_args(StripEdge), "none"),
            self._word(cells, "top", EDGES, "top"),
            note,
        )

    def _word(
        self, cells: dict[str, str], column: str, known: tuple[str, ...], default: str = ""
    ) -> Any:
        word = cells.get(column, "").lower() or default
        if word not in known:
            raise _Unread(f"{column}: {cells.get(column, '')!r}", " or ".join(known))
        return word

    def _yes(self, cells: dict[str, str], column: str, *, default: bool) -> bool:
        word = cells.get(column, "").lower()
        if word and word not in _YES:
            raise _Unread(f"{column}: {cells[column]!r}", "yes or no")
        return _YES.get(word, default)

    def _number(self, cells: dict[str, str], column: str, least: int) -> int:
        text = cells.get(column, "")
        if not (text.isascii() and text.isdigit()) or len(text) > 6 or int(text) < least:
            raise _Unread(f"{column}: {text!r}", f"a whole number, {least} or more")
        return int(text)

    def _price(self, cells: dict[str, str]) -> int:
        price = parse_price(cells["price"])
        if price is None:
            raise _Unread(f"price: {cells['price']!r}", "a price such as 0.95")
        return price

    def _length(self, cells: dict[str, str], column: str, default: int | None = None) -> int:
        text = cells.get(column, "")
        if not text and default is not None:
            return default
        try:
            return parse_length(text, self.unit)
        except LengthError as error:
            raise _Unread(f"{column}: {text!r}", error.expected) from None

    def _size(self, cells: dict[str, str]) -> tuple[int, int]:
        text = cells.get("size", "")
        try:
            return parse_size(text, self.unit)
        except LengthError as error:
            raise _Unread(f"size: {text!r}", error.expected) from None


class _Unread(Exception):  # noqa: N818 - it never leaves this module
    """A cell that does not read."""

    def __init__(self, read: str, expected: str) -> None:
        super().__init__(read)
        self.read = read
        self.expected = expected
