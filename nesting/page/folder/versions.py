"""Every version of the batch files of a folder, in one SQLite file beside them: undo and redo."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

from nesting.errors import NestingError

#: The journal's name in the folder.
NAME = ".nesting-page.sqlite"
_PATIENCE = 10.0
#: An evening has some hundred changes.
_MOST_VERSIONS = 2_000

_TABLES = """
CREATE TABLE IF NOT EXISTS versions (
    file TEXT NOT NULL, number INTEGER NOT NULL, what TEXT NOT NULL, text TEXT NOT NULL,
    PRIMARY KEY (file, number)
) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS now (
    file TEXT PRIMARY KEY, number INTEGER NOT NULL, written INTEGER NOT NULL
) WITHOUT ROWID;
"""
_NOW = (
    "SELECT number, what, text, written FROM now JOIN versions USING (file, number) WHERE file = ?"
)
_FIND = "SELECT number, what, text FROM versions WHERE file = ? AND number = ?"
_BEFORE = (
    "SELECT number, what, text FROM versions WHERE file = ? AND number < ? "
    "ORDER BY number DESC LIMIT 1"
)
_AFTER = (
    "SELECT number, what, text FROM versions WHERE file = ? AND number > ? ORDER BY number LIMIT 1"
)


class JournalError(NestingError, ValueError):
    """The journal of a folder cannot be used."""


class Version(NamedTuple):
    """A text that a file had, what was changed to make it, and whether the file has been written."""

    number: int
    what: str
    text: str
    written: bool = True


class Journal:
    """The versions of each file, and which of them it has now.

    A version is on record before the file is written, and marked when it is: whoever opens the
    journal after a kill writes the file that was not.
    """

    def __init__(self, folder: Path) -> None:
        self.path = folder / NAME
        with self._naming():
            # One thread at a time uses it, though not the one that opens it.
            self.connection = sqlite3.connect(
                self.path, timeout=_PATIENCE, isolation_level=None, check_same_thread=False
            )
            self.connection.execute("PRAGMA journal_mode = WAL")
            self.connection.execute("PRAGMA synchronous = FULL")
            self.connection.executescript(_TABLES)

    def close(self) -> None:
        """Let go of the file."""
        self.connection.close()

    def now(self, file: str) -> Version | None:
        """The version that a file has now; None of one that is not on record."""
        return self._found(_NOW, file)

    def version(self, file: str, number: int) -> Version | None:
        """An earlier or later version of a file; None where there is none."""
        return self._found(_FIND, file, number)

    def before(self, file: str, number: int) -> Version | None:
        """The version of a file before another one; None of the oldest."""
        return self._found(_BEFORE, file, number)

    def after(self, file: str, number: int) -> Version | None:
        """The version of a file after another one; None of the latest."""
        return self._found(_AFTER, file, number)

    def _found(self, statement: str, *values: object) -> Version | None:
        with self._naming():
            row = self.connection.execute(statement, values).fetchone()
        return None if row is None else Version(*row)

    def add(self, file: str, what: str, text: str, *, written: bool = False) -> Version:
        """Record a new version in place of all that were taken back, under a number of its own.

        No number is used again: a page that still shows what was taken back cannot be taken for
        one that shows what came in its place.
        """
        with self._transaction():
            before = self.now(file)
            now = before.number if before else 0
            last = self.connection.execute(
                "SELECT max(number) FROM versions WHERE file = ?", (file,)
            ).fetchone()[0]
            number = (last or 0) + 1
            self._execute("DELETE FROM versions WHERE file = ? AND number > ?", file, now)
            oldest = number - _MOST_VERSIONS
            self._execute("DELETE FROM versions WHERE file = ? AND number <= ?", file, oldest)
            self._execute("INSERT INTO versions VALUES (?, ?, ?, ?)", file, number, what, text)
            self._go(file, number, written=written)
        return Version(number, what, text, written)

    def go(self, file: str, number: int) -> Version | None:
        """Have a file be at another of its versions; None where there is none."""
        with self._transaction():
            found = self.version(file, number)
            if found is not None:
                self._go(file, number, written=False)
        return found and found._replace(written=False)

    def mark_written(self, file: str) -> None:
        """Note that the file has the version on record."""
        with self._naming():
            self._execute("UPDATE now SET written = 1 WHERE file = ?", file)

    def _go(self, file: str, number: int, *, written: bool) -> None:
        self._execute("INSERT OR REPLACE INTO now VALUES (?, ?, ?)", file, number, int(written))

    def _execute(self, statement: str, *values: object) -> None:
        self.connection.execute(statement, values)

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        with self._naming():
            self.connection.execute("BEGIN IMMEDIATE")
            try:
                yield
                self.connection.execute("COMMIT")
            except BaseException:
                self.connection.execute("ROLLBACK")
                raise

    @contextmanager
    def _naming(self) -> Iterator[None]:
        try:
            yield
        except sqlite3.Error as error:
            raise JournalError(f"{self.path}: {error}; expected the page's own journal") from None
