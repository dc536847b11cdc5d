"""The stash's file: opened, brought up to date with a backup, and written in whole transactions.

The journal of SQLite is a write-ahead log that is flushed with every transaction: whatever ends the
process, what was said to be done is in the file, and nothing is half there.
"""

import os
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from nesting.errors import NestingError

#: Marks the file as a stash: "nstg" as a number.
_APPLICATION = 0x6E737467
#: How long to wait for another process that writes, in seconds.
_PATIENCE = 20.0

#: What brings the file from each version to the next; the last one is the version now.
MIGRATIONS: tuple[str, ...] = (
    """
    CREATE TABLE papers (
        name TEXT PRIMARY KEY NOT NULL,
        buy INTEGER NOT NULL,
        front TEXT NOT NULL, front_up TEXT NOT NULL,
        back TEXT NOT NULL, back_up TEXT NOT NULL,
        grain TEXT,
        strip_edge TEXT, strip_width INTEGER, strip_beyond INTEGER, strip_back_usable INTEGER,
        trim_left INTEGER NOT NULL, trim_right INTEGER NOT NULL,
        trim_top INTEGER NOT NULL, trim_bottom INTEGER NOT NULL
    ) STRICT;
    CREATE TABLE sheets (
        paper TEXT NOT NULL REFERENCES papers (name),
        width INTEGER NOT NULL CHECK (width > 0), height INTEGER NOT NULL CHECK (height > 0),
        count INTEGER CHECK (count >= 0),
        price INTEGER CHECK (price >= 0),
        PRIMARY KEY (paper, width, height)
    ) STRICT;
    CREATE TABLE offcuts (
        number INTEGER PRIMARY KEY AUTOINCREMENT,
        paper TEXT NOT NULL REFERENCES papers (name),
        width INTEGER NOT NULL CHECK (width > 0), height INTEGER NOT NULL CHECK (height > 0),
        strip TEXT NOT NULL, top TEXT NOT NULL, note TEXT NOT NULL
    ) STRICT;
    CREATE INDEX offcuts_of_paper ON offcuts (paper);
    CREATE TABLE cut (
        plan TEXT NOT NULL, layout INTEGER NOT NULL, sheets INTEGER NOT NULL CHECK (sheets > 0),
        PRIMARY KEY (plan, layout)
    ) STRICT;
    CREATE TABLE journal (
        entry INTEGER PRIMARY KEY AUTOINCREMENT,
        time TEXT NOT NULL, what TEXT NOT NULL, why TEXT NOT NULL,
        undoes INTEGER REFERENCES journal (entry),
        changes TEXT NOT NULL
    ) STRICT;
    """,
    # The records of a plan by layout, in the words of a record; whole sheets alone were in ``cut``. Parts in
    # hand, by their numbers as offcuts: from which layout, and where on its sheet.
    """
    CREATE TABLE records (
        plan TEXT NOT NULL, layout INTEGER NOT NULL, done TEXT NOT NULL, spoilt TEXT NOT NULL,
        PRIMARY KEY (plan, layout)
    ) STRICT;
    CREATE TABLE in_hand (
        number INTEGER PRIMARY KEY NOT NULL,
        plan TEXT NOT NULL, layout INTEGER NOT NULL,
        x INTEGER NOT NULL, y INTEGER NOT NULL, width INTEGER NOT NULL, height INTEGER NOT NULL
    ) STRICT;
    CREATE INDEX in_hand_of_plan ON in_hand (plan, layout)
    """,
)


class StashError(NestingError, ValueError):
    """The stash cannot do what was asked; ``messages`` has one sentence for each reason."""

    def __init__(self, *messages: str) -> None:
        super().__init__("\n".join(messages))
        self.messages = messages


def usual_place() -> Path:
    """Where the stash is unless another file is named: the platform's folder for a user's data."""
    from platformdirs import user_data_path

    return user_data_path("nesting", appauthor=False) / "stash.sqlite"


@contextmanager
def naming(path: Path) -> Iterator[None]:
    """Have every error name the file.

    Raises
    ------
    StashError
        The file cannot be read or written, or the disk is full; nothing of it has changed.
    """
    try:
        yield
    except (sqlite3.DatabaseError, OSError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise StashError(f"{path}: {reason}; nothing in the stash has changed") from error


def connect(path: Path) -> sqlite3.Connection:
    """Open a stash, made if it is not there, and bring it up to date.

    Raises
    ------
    StashError
        The file is no stash, is of a later version, or cannot be used.
    """
    with naming(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        connection = sqlite3.connect(path, timeout=_PATIENCE, isolation_level=None)
        try:
            connection.row_factory = sqlite3.Row
            _refuse_others(connection, path)
            _write_ahead(connection)
            connection.execute("PRAGMA synchronous = FULL")
            connection.execute("PRAGMA foreign_keys = ON")
            if _version(connection) < len(MIGRATIONS):
                _bring_up_to_date(connection, path)
        except BaseException:
            connection.close()
            raise
    return connection


@contextmanager
def transaction(connection: sqlite3.Connection, path: Path) -> Iterator[None]:
    """All of what is written inside, or nothing; another process that writes is waited for.

    One inside another is part of it.

    Raises
    ------
    StashError
        It cannot be written, and nothing is.
    """
    if connection.in_transaction:
        yield
        return
    with naming(path):
        connection.execute("BEGIN IMMEDIATE")
        try:
            yield
            connection.execute("COMMIT")
        except BaseException:
            with suppress(sqlite3.Error):  # a full disk may have rolled it back already
                connection.execute("ROLLBACK")
            raise


def _version(connection: sqlite3.Connection) -> int:
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def _refuse_others(connection: sqlite3.Connection, path: Path) -> None:
    """Let an empty file pass, or a stash of a version that this tool knows."""
    try:
        connection.execute("BEGIN")  # both at one moment: another process may be making the file
        tables = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
        application = connection.execute("PRAGMA application_id").fetchone()[0]
        connection.execute("COMMIT")
    except sqlite3.DatabaseError as error:
        if getattr(error, "sqlite_errorcode", None) != sqlite3.SQLITE_NOTADB:
            raise
        raise StashError(f"{path}: no stash; expected a file that nesting stash made") from None
    if application != _APPLICATION and tables:
        raise StashError(f"{path}: no stash; expected a file that nesting stash made")
    if _version(connection) > len(MIGRATIONS):
        read = f"version {_version(connection)} of the stash"
        expected = f"version {len(MIGRATIONS)} or earlier, which this tool reads"
        raise StashError(f"{path}: {read}; expected {expected}")


def _write_ahead(connection: sqlite3.Connection) -> None:
    """Set the write-ahead log; while another process does so, SQLite refuses without waiting."""
    end = time.monotonic() + _PATIENCE
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
        except sqlite3.OperationalError as error:
            busy = getattr(error, "sqlite_errorcode", 0) & 0xFF == sqlite3.SQLITE_BUSY
            if not busy or time.monotonic() > end:
                raise
            time.sleep(0.01)
        else:
            return


def _bring_up_to_date(connection: sqlite3.Connection, path: Path) -> None:
    """Take the file to the version now, each step with a backup before it and whole or not at all.

    Of a file that is only being made there is nothing to keep.
    """
    is_new = False
    while True:
        with transaction(connection, path):
            version = _version(connection)  # another process may have been first
            if version >= len(MIGRATIONS):
                return
            if not version:
                is_new = True
                connection.execute(f"PRAGMA application_id = {_APPLICATION}")
            elif not is_new:
                _back_up(connection, path.with_name(f"{path.name}.version-{version}"))
            for statement in MIGRATIONS[version].split(";"):
                connection.execute(statement)
            connection.execute(f"PRAGMA user_version = {version + 1}")


def _back_up(connection: sqlite3.Connection, copy: Path) -> None:
    """Copy the stash as it is, whole or not at all."""
    part = copy.with_name(f"{copy.name}.{os.getpid()}.part")
    part.unlink(missing_ok=True)
    try:
        # Read by a connection of its own: one that writes does not let itself be copied.
        path = connection.execute("PRAGMA database_list").fetchone()["file"]
        reader, target = sqlite3.connect(path), sqlite3.connect(part)
        try:
            reader.backup(target)
        finally:
            reader.close()
            target.close()
        with part.open("rb+") as file:
            os.fsync(file.fileno())
        part.replace(copy)
    finally:
        part.unlink(missing_ok=True)
