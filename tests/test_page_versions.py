"""The journal: every version of a file on record, before the file is written."""

from pathlib import Path

import pytest

from nesting.page.folder.versions import NAME, Journal, JournalError


def test_versions_are_kept_beside_each_other(tmp_path: Path) -> None:
    """Each file has versions of its own, and the one that it has now."""
    journal = Journal(tmp_path)
    assert journal.now("a.yaml") is None
    journal.add("a.yaml", "opened", "one", written=True)
    journal.add("a.yaml", "have", "two")
    journal.add("b.yaml", "opened", "other", written=True)
    now = journal.now("a.yaml")
    assert now == (2, "have", "two", False)
    journal.mark_written("a.yaml")
    again = Journal(tmp_path)
    assert again.now("a.yaml") == (2, "have", "two", True)
    assert again.now("b.yaml") == (1, "opened", "other", True)


def test_what_was_taken_back_goes_with_the_next_change(tmp_path: Path) -> None:
    """Versions after the one that a file has now can be come back to, until there is another."""
    journal = Journal(tmp_path)
    for text in ("one", "two", "three"):
        journal.add("a.yaml", text, text)
    assert journal.go("a.yaml", 1) == (1, "one", "one", False)
    assert journal.go("a.yaml", 4) is None
    assert journal.version("a.yaml", 3) is not None
    journal.add("a.yaml", "else", "else")
    assert journal.version("a.yaml", 3) is None
    assert journal.now("a.yaml") == (4, "else", "else", False)


def test_no_number_is_used_again(tmp_path: Path) -> None:
    """What comes in place of what was taken back is told from it by its number."""
    journal = Journal(tmp_path)
    for text in ("one", "two", "three"):
        journal.add("a.yaml", text, text)
    journal.go("a.yaml", 1)
    assert journal.add("a.yaml", "else", "else").number == 4
    assert journal.before("a.yaml", 4) == (1, "one", "one", True)
    assert journal.before("a.yaml", 1) is None
    journal.go("a.yaml", 1)
    assert Journal(tmp_path).add("a.yaml", "last", "last").number == 5


def test_another_file_is_no_journal(tmp_path: Path) -> None:
    """It is named, and left as it is."""
    (tmp_path / NAME).write_text("a shopping list, much longer than any header of a database")
    with pytest.raises(JournalError, match="expected the page's own journal"):
        Journal(tmp_path)
