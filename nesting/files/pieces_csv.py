"""Lists of pieces: a CSV from a spreadsheet, papers from elsewhere."""

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple
from unicodedata import normalize

from nesting.batch import Batch, Fault, KeyPath
from nesting.files.batch_build import build_pieces, empty_batch, resolve_in_file
from nesting.files.batch_models import PieceListKeys
from nesting.files.batch_shape import find_shape_faults, read_keys
from nesting.files.faults import (
    MOST_BY_HAND,
    InputError,
    TextPlace,
    cut_off,
    known_key,
    nearest_key,
    printable,
    read_text,
    said,
    said_at,
)
from nesting.files.yaml_source import FileText
from nesting.nearest import Nearest
from nesting.papers import Paper, Sheet
from nesting.typed_lengths import LengthError, parse_size
from nesting.units import Unit

COLUMNS = ("name", "size", "circle", "paper", "face", "turn", "count")

_WHAT = "a list of pieces"
_MOST_ROWS = 10_000
_MOST_COLUMNS = 50  # few enough to be said, with how many more there are
_SEPARATORS = ",;\t"


def batch_of_sheet(text: str, unit: Unit) -> Batch:
    """Make a batch of one paper named ``paper``, plenty of it, in sheets of the size ``text``.

    Raises
    ------
    InputError
        The text is no size.

    Examples
    --------
    >>> batch_of_sheet("12 x 12", "in").papers[0].sheets[0].width
    304800000
    """
    try:
        width, height = parse_size(text, unit)
    except LengthError as error:
        raise InputError(said("--sheet", repr(error.read), error.expected)) from None
    return replace(empty_batch("paper", unit), papers=(Paper("paper", (Sheet(width, height),)),))


def read_pieces_csv(path: str | Path, papers: Batch) -> Batch:
    """Read a list of pieces with the columns ``name,size,circle,paper,face,turn,count``.

    Cells are parted by commas, semicolons or tabs. Where there is only one paper, the column
    ``paper`` may be empty or left out.

    Parameters
    ----------
    papers
        A batch whose papers, trimmer and unit to use (``read_papers``, ``batch_of_sheet``); its
        cards and pieces are left out.

    Returns
    -------
    Batch
        Free of faults, every default filled in, named like the file.

    Raises
    ------
    InputError
        The list cannot be used; its messages name every fault with line and column.
    """
    source = FileText(str(path))
    rows = _read_rows(read_text(path, _WHAT, MOST_BY_HAND), source)
    if len(papers.papers) == 1:
        rows = [{"paper": papers.papers[0].name} | row for row in rows]
    found = find_shape_faults(PieceListKeys, {"pieces": rows}, papers.unit)
    shape = source.with_its_own(found)
    faulty = {fault.path[:2] for fault in shape}
    sound = [number for number in range(len(rows)) if ("pieces", number) not in faulty]
    keys = read_keys(PieceListKeys, {"pieces": [rows[number] for number in sound]}, papers.unit)
    batch = replace(
        papers, name=printable(Path(path).stem), cards=(), pieces=build_pieces(keys.pieces, sound)
    )
    batch, sense = resolve_in_file(batch, sound)
    if shape or sense:
        raise source.error(shape + sense)
    return batch


class _Cell(NamedTuple):
    """A cell's text and the place of its first letter."""

    place: TextPlace
    text: str


def _read_rows(text: str, source: FileText) -> list[dict[str, str]]:
    """What is in each row by column; the places and what is wrong go to the source."""
    text = normalize("NFC", text).replace("\r\n", "\n").replace("\r", "\n")
    head = next((line for line in text.split("\n") if line.strip()), "")
    separator = max(_SEPARATORS, key=head.count)
    rows = (row for row in _cells(text, separator, source.name) if any(cell.text for cell in row))
    columns = _columns(next(rows, []), source.name)
    found = []
    for number, row in enumerate(rows):
        path: KeyPath = ("pieces", number)
        if number == _MOST_ROWS:
            source.values[path] = row[0].place
            source.faults.append(Fault(path, f"more than {_MOST_ROWS:,} rows", "fewer pieces"))
            break
        source.values[path] = row[0].place
        source.values.update({(*path, c): cell.place for c, cell in zip(columns, row)})  # noqa: B905 - short rows lack their last cells
        for cell in row[len(columns) :]:
            if cell.text:
                here = (*path, "beyond the columns")
                source.values[here] = cell.place
                source.silenced.add(path)
                expected = f"{len(columns)} cells, with quotes around one that holds {separator!r}"
                source.faults.append(Fault(here, f"{cell.text!r} beyond the last column", expected))
                break
        found.append({c: cell.text for c, cell in zip(columns, row) if cell.text})  # noqa: B905
    if not found:
        raise InputError(said_at(source.name, TextPlace(1, 1), "no pieces", "a row for each"))
    return found


def _cells(text: str, separator: str, name: str) -> Iterator[list[_Cell]]:
    """The rows of a CSV text; a cell in quotes may hold anything, a quote in it doubled."""
    end = rf"[{re.escape(separator)}\n]"
    cell = re.compile(rf'[ ]*(?:"((?:[^"]|"")*)"[ ]*(?={end}|\Z)|([^{re.escape(separator)}\n]*))')
    row: list[_Cell] = []
    line, line_start, at = 1, 0, 0
    while at <= len(text):
        match = cell.match(text, at)
        assert match is not None  # noqa: S101 - it matches nothing at all, too
        quoted = match[1]
        place = TextPlace(line, match.start(2 if quoted is None else 1) - line_start + 1)
        if quoted is None and match[2].startswith('"'):
            expected = "quotes around the whole cell, and a quote inside them written twice"
            raise InputError(
                said_at(name, place, "a quote that does not end with its cell", expected)
            )
        row.append(
            _Cell(place, (match[2] if quoted is None else quoted.replace('""', '"')).strip())
        )
        if quoted is not None and "\n" in quoted:
            line += quoted.count("\n")
            line_start = match.start(1) + quoted.rindex("\n") + 1
        at = match.end() + 1
        if text[at - 1 : at] != separator:
            yield row
            row, line, line_start = [], line + 1, at


def _columns(row: list[_Cell], name: str) -> list[str]:
    """The names in the first row, or an error with everything that is wrong with them."""
    place = row[0].place if row else TextPlace(1, 1)
    named = [number for number, cell in enumerate(row, 1) if cell.text]
    row = row[: max(named, default=0)]  # spreadsheets add empty columns
    columns = [cell.text.lower() for cell in row]
    if not set(columns) & set(COLUMNS):
        whole = ",".join(COLUMNS)
        raise InputError(said_at(name, place, "no names of columns", f"a first row of {whole}"))
    nearest = Nearest()
    unknown = {
        cell: nearest_key(cell.text, COLUMNS, nearest)
        for cell, column in zip(row[:_MOST_COLUMNS], columns, strict=False)
        if column and column not in COLUMNS
    }
    faults = [
        (cell.place, f"unknown column {cut_off(cell.text)}", known_key(near, COLUMNS))
        for cell, near in unknown.items()
    ]
    first = {column: number for number, column in reversed([*enumerate(columns)])}
    faults.extend(
        (row[number].place, f"column {cut_off(column)} a second time", "each column once")
        for number, column in enumerate(columns[:_MOST_COLUMNS])
        if column and first[column] < number
    )
    if len(row) > _MOST_COLUMNS:
        over = len(row) - _MOST_COLUMNS
        expected = f"at most the {len(COLUMNS)} that there are"
        faults.append((row[_MOST_COLUMNS].place, f"{over:,} columns more", expected))
    meant = {*columns, *unknown.values()}
    if "count" not in meant:
        faults.append((place, "no column 'count'", "one with the number of pieces"))
    if not {"size", "circle"} & meant:
        faults.append((place, "no column 'size' or 'circle'", "one of them"))
    if faults:
        raise InputError(*(said_at(name, *fault) for fault in sorted(faults)))
    return columns
