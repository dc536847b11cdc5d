"""Every change of the stash on record, each row as it was before and after, so that it can be undone."""

import json
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import NamedTuple

from nesting.stash.database import StashError

Value = str | int | None
Row = Mapping[str, Value]

#: The columns that tell the rows of each table apart.
KEYS: dict[str, tuple[str, ...]] = {
    "papers": ("name",),
    "sheets": ("paper", "width", "height"),
    "offcuts": ("number",),
    "cut": ("plan", "layout"),
    "records": ("plan", "layout"),
    "in_hand": ("number",),
}


class RowChange(NamedTuple):
    """A row before and after; None where there is none."""

    table: str
    before: Row | None
    after: Row | None

    @property
    def row(self) -> Row:
        """The row as it was; a new one as it is."""
        return self.before or self.after or {}


@dataclass(frozen=True, slots=True)
class JournalEntry:
    """One change: when, what, why, and which entry it undoes; ``undone`` where another undid it."""

    entry: int
    time: str
    what: str
    why: str
    undoes: int | None
    undone: bool


@dataclass(slots=True)
class Writer:
    """Writes rows inside a transaction and notes what became of them."""

    connection: sqlite3.Connection
    changes: list[RowChange] = field(default_factory=list)

    def row(self, table: str, key: tuple[Value, ...]) -> Row | None:
        """The row of that key as it is now."""
        row = self.connection.execute(
            f"SELECT * FROM {table} WHERE {_key_of(table)}",  # noqa: S608 - our own names
            key,
        ).fetchone()
        return None if row is None else dict(row)

    def put(self, table: str, row: Row) -> None:
        """Write a row, in place of the one of its key."""
        key = tuple(row[column] for column in KEYS[table])
        before = self.row(table, key)
        if before == row:
            return
        if before is not None:
            others = [column for column in row if column not in KEYS[table]]
            sets = ", ".join(f"{column} = ?" for column in others)
            values = (*(row[column] for column in others), *key)
            self.connection.execute(f"UPDATE {table} SET {sets} WHERE {_key_of(table)}", values)  # noqa: S608
        else:
            self._insert(table, row)
        self.changes.append(RowChange(table, before, dict(row)))

    def add_offcut(self, row: Row) -> int:
        """Write a new offcut and give it its number, one that no offcut ever had."""
        number = self._insert("offcuts", row)
        self.changes.append(RowChange("offcuts", None, {"number": number, **row}))
        return number

    def remove(self, table: str, key: tuple[Value, ...]) -> None:
        """Take a row out; one that is not there is left so."""
        before = self.row(table, key)
        if before is not None:
            self.connection.execute(f"DELETE FROM {table} WHERE {_key_of(table)}", key)  # noqa: S608
            self.changes.append(RowChange(table, before, None))

    def enter(self, what: str, why: str, undoes: int | None = None) -> int:
        """Put what was written on record; its number."""
        now = datetime.now(UTC).strftime("%Y-%m-%d %H:%M:%S")
        changes = json.dumps(self.changes, ensure_ascii=False)
        row = {"time": now, "what": what, "why": why, "undoes": undoes, "changes": changes}
        return self._insert("journal", row)

    def _insert(self, table: str, row: Row) -> int:
        """Write a new row; its number."""
        columns, marks = ", ".join(row), ", ".join("?" * len(row))
        cursor = self.connection.execute(
            f"INSERT INTO {table} ({columns}) VALUES ({marks})",  # noqa: S608
            tuple(row.values()),
        )
        return cursor.lastrowid or 0


def _key_of(table: str) -> str:
    """The condition that picks a table's row by its key."""
    return " AND ".join(f"{column} = ?" for column in KEYS[table])


def entries(connection: sqlite3.Connection) -> tuple[JournalEntry, ...]:
    """Every entry of the journal, the first one first."""
    rows = connection.execute(
        "SELECT entry, time, what, why, undoes FROM journal ORDER BY entry"
    ).fetchall()
    standing = _standing({row["entry"]: row["undoes"] for row in rows})
    return tuple(
        JournalEntry(
            row["entry"],
            row["time"],
            row["what"],
            row["why"],
            row["undoes"],
            undone=row["entry"] not in standing,
        )
        for row in rows
    )


def _standing(undoes: Mapping[int, int | None]) -> set[int]:
    """The entries that no other undid, or one that was undone itself."""
    undone: set[int] = set()
    for entry in sorted(undoes, reverse=True):
        undone_by_it = undoes[entry]
        if entry not in undone and undone_by_it is not None:
            undone.add(undone_by_it)
    return set(undoes) - undone


def take_back(connection: sqlite3.Connection, entry: int | None, why: str) -> JournalEntry:
    """Take a change back, the latest unless one is named; the entry that says what was undone.

    Raises
    ------
    StashError
        There is no such change, it is undone already, or something has changed since.
    """
    known = {one.entry: one for one in entries(connection)}
    latest = [one for one in known.values() if not one.undone and one.undoes is None]
    if entry is None and not latest:
        raise StashError("nothing to undo in the stash")
    found = latest[-1] if entry is None else known.get(entry)
    if found is None:
        raise StashError(f"no entry {entry} in the history of the stash")
    if found.undone:
        raise StashError(f"entry {found.entry} ({found.what}) is undone already")
    row = connection.execute(
        "SELECT changes FROM journal WHERE entry = ?", (found.entry,)
    ).fetchone()
    changes = [RowChange(*one) for one in json.loads(row["changes"])]
    writer = Writer(connection)
    try:
        _put_back(writer, changes, found)
    except sqlite3.IntegrityError:
        raise _changed_since(found) from None
    what = f"Undone: {found.what}"
    number = writer.enter(what, why, undoes=found.entry)
    return JournalEntry(number, "", what, why, found.entry, undone=False)


def _put_back(writer: Writer, changes: list[RowChange], entry: JournalEntry) -> None:
    """Write every row as it was, from the last to the first."""
    for change in reversed(changes):
        key = tuple(change.row[column] for column in KEYS[change.table])
        if writer.row(change.table, key) != change.after:
            raise _changed_since(entry)
        if change.before is None:
            writer.remove(change.table, key)
        else:
            writer.put(change.table, change.before)


def _changed_since(entry: JournalEntry) -> StashError:
    said = f"entry {entry.entry} ({entry.what}) cannot be undone: what it changed has changed since"
    return StashError(f"{said}; undo the later entries first")
