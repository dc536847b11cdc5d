"""Files written whole or not at all."""

from pathlib import Path

import pytest

from nesting.files.whole import write_whole


def test_text_is_written_as_utf_8(tmp_path: Path) -> None:
    """A text arrives byte for byte, its line ends untouched."""
    path = tmp_path / "plan.json"
    write_whole({path: "4¼\n\r\n"})
    assert path.read_bytes() == "4¼\n\r\n".encode()


def test_bytes_replace_what_was_there(tmp_path: Path) -> None:
    """An earlier file is replaced, and nothing else stays in the folder."""
    path = tmp_path / "plan.pdf"
    path.write_bytes(b"old")
    write_whole({path: b"new"})
    assert path.read_bytes() == b"new"
    assert list(tmp_path.iterdir()) == [path]


def test_a_failure_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the disk gives up half-way, the old file is whole and no part is left behind."""

    def give_up(file: int) -> None:
        raise OSError(28, "No space left on device")

    path = tmp_path / "plan.json"
    path.write_text("old")
    monkeypatch.setattr("os.fsync", give_up)
    with pytest.raises(OSError, match="No space"):
        write_whole({path: "new"})
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    """Writing through a link changes the file it leads to."""
    target, link = tmp_path / "target", tmp_path / "link"
    target.write_text("old")
    link.symlink_to(target)
    write_whole({link: "new"})
    assert link.is_symlink()
    assert target.read_text() == "new"


def test_one_failure_leaves_every_file(tmp_path: Path) -> None:
    """Where one of several files cannot be written, none of them has changed."""
    path = tmp_path / "plan.json"
    path.write_text("old")
    (tmp_path / "layouts").write_text("a file where a folder should be")
    with pytest.raises(OSError, match="layouts"):
        write_whole({path: "new", tmp_path / "layouts" / "01.png": b"new"})
    assert path.read_text() == "old"
    assert sorted(found.name for found in tmp_path.iterdir()) == ["layouts", "plan.json"]


def test_folders_are_made(tmp_path: Path) -> None:
    """A file in a folder that is not there yet brings it along."""
    path = tmp_path / "plan" / "layouts" / "01.svg"
    write_whole({path: "new"})
    assert path.read_text() == "new"
