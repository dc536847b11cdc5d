"""The stash's file: nothing is lost, whatever ends the process or the room on the disk."""

import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from nesting.papers import Paper, Sheet
from nesting.stash import Stash, StashError, StashOffcut, database

ENDS = Path(__file__).with_name("stash_ends.py")


@pytest.mark.skipif(sys.platform == "win32", reason="processes are forked and killed as POSIX does")
@pytest.mark.parametrize("what", ["kills", "at_once", "full"])
def test_nothing_is_lost(what: str, tmp_path: Path) -> None:
    """Writers killed 300 times, four at once, and one without room leave all that was said to be in."""
    run = subprocess.run(
        [sys.executable, ENDS, what, tmp_path], capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stderr


def test_a_later_step_backs_the_file_up_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file of an earlier version is copied as it was, then brought up to date."""
    path, version = tmp_path / "s.sqlite", len(database.MIGRATIONS)
    with Stash(path) as stash:
        stash.put_paper(Paper("plum dots", (Sheet(300, 300, 5),)), "a paper")
    assert not list(tmp_path.glob("*.version-*"))  # of an empty one there is nothing to keep
    step = "ALTER TABLE offcuts ADD COLUMN shelf TEXT; UPDATE sheets SET count = 6"
    monkeypatch.setattr(database, "MIGRATIONS", (*database.MIGRATIONS, step))
    with Stash(path) as stash:
        assert stash.paper("plum dots").sheets[0].have == 6
        assert stash.connection.execute("PRAGMA user_version").fetchone()[0] == version + 1
    monkeypatch.undo()
    with Stash(tmp_path / f"s.sqlite.version-{version}") as before:
        assert before.paper("plum dots").sheets[0].have == 5


def test_a_step_that_fails_changes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a step to the next version fails half-way, the file is of the version it was."""
    path = tmp_path / "s.sqlite"
    with Stash(path) as stash:
        stash.put_paper(Paper("plum dots", (Sheet(300, 300, 5),)), "a paper")
    step = "UPDATE sheets SET count = 6; UPDATE apples SET count = 7"
    with monkeypatch.context() as patch:
        patch.setattr(database, "MIGRATIONS", (*database.MIGRATIONS, step))
        with pytest.raises(StashError, match=r"s\.sqlite: no such table"):
            Stash(path)
    with Stash(path) as stash:
        assert stash.paper("plum dots").sheets[0].have == 5


def test_a_file_of_another_kind_is_refused_as_it_is(tmp_path: Path) -> None:
    """Text, another programme's database, and a stash of a later version are left alone."""
    text, other, later = (tmp_path / name for name in ("text", "other", "later"))
    text.write_text("apples\n" * 500)
    with sqlite3.connect(other) as connection:
        connection.execute("CREATE TABLE apples (kind TEXT)")
    connection.close()
    with Stash(later) as stash:
        stash.connection.execute("PRAGMA user_version = 99")
    for path, words in ((text, "no stash"), (other, "no stash"), (later, "version 99")):
        before = path.read_bytes()
        with pytest.raises(StashError, match=words):
            Stash(path)
        assert path.read_bytes() == before


def test_what_is_refused_half_way_changes_nothing(tmp_path: Path) -> None:
    """Of offcuts of which one is not there, none is taken."""
    with Stash(tmp_path / "s.sqlite") as stash:
        stash.put_paper(Paper("plum dots", (Sheet(300, 300, 5),)), "a paper")
        (number,) = stash.add_offcuts(StashOffcut(0, "plum dots", 50, 70))
        with pytest.raises(StashError, match="no offcut 9"):
            stash.take_offcuts((number, 9))
        assert [offcut.number for offcut in stash.offcuts()] == [number]
        assert len(stash.history()) == 2


def test_the_first_version_is_brought_up_to_date(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A stash from before there were records of steps keeps all that is in it, its history too."""
    path = tmp_path / "s.sqlite"
    with monkeypatch.context() as patch:
        patch.setattr(database, "MIGRATIONS", database.MIGRATIONS[:1])
        with Stash(path) as stash:
            stash.put_paper(Paper("plum dots", (Sheet(300, 300, 5),)), "a paper")
            stash.take_sheets("plum dots", (300, 300), 2)
    with Stash(path) as stash:
        assert stash.paper("plum dots").sheets[0].have == 3
        stash.undo()
        assert stash.paper("plum dots").sheets[0].have == 5
