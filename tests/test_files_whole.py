"""Files written whole or not at all."""

import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from nesting.files import is_empty_folder, try_folder, write_whole


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


def test_a_folder_is_tried(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing stays of a trial, nor the folder where there was none; a full disk is named by the folder."""
    folder = tmp_path / "plans" / "supper"
    try_folder(folder)
    assert not list(tmp_path.iterdir())

    def give_up(file: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", give_up)
    with pytest.raises(OSError, match="No space") as caught:
        try_folder(folder)
    assert caught.value.filename == str(folder)
    assert not list(tmp_path.iterdir())


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


@pytest.mark.parametrize("at", [0, 1, 2])
def test_a_folder_where_a_file_should_be(tmp_path: Path, at: int) -> None:
    """Whichever of the files it is: the error names it, and no file has changed, no folder been made."""
    paths = [tmp_path / name for name in ("plan.json", "plan.pdf", "layouts/01.png")]
    for number, path in enumerate(paths):
        if number == at:
            path.mkdir(parents=True)
        elif path.parent == tmp_path:
            path.write_text("old")
    before = sorted(tmp_path.rglob("*"))
    with pytest.raises(IsADirectoryError) as caught:
        write_whole(dict.fromkeys(paths, "new"))
    assert caught.value.filename == str(paths[at])
    assert sorted(tmp_path.rglob("*")) == before
    assert all(path.read_text() == "old" for path in before if path.is_file())


def test_a_full_disk_names_the_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second file has no room: it is named, by the name that was asked for."""
    synced: list[int] = []

    def give_up(file: int) -> None:
        synced.append(file)
        if len(synced) == 2:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", give_up)
    with pytest.raises(OSError, match="No space left on device") as caught:
        write_whole({tmp_path / "plan.json": "new", tmp_path / "layouts" / "01.png": b"new"})
    assert caught.value.filename == str(tmp_path / "layouts" / "01.png")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("write", [lambda path: write_whole({path: "new"}), try_folder])
def test_what_cannot_be_written_to_names_what_was_asked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, write: Callable[[Path], None]
) -> None:
    """On a disk that can only be read even taking away a file that is not there fails, in its own name."""

    def refuse(path: Path, *_: object, **__: object) -> None:
        raise OSError(30, "Read-only file system", str(path))

    monkeypatch.setattr(Path, "open", refuse)
    monkeypatch.setattr(Path, "unlink", refuse)
    with pytest.raises(OSError, match="Read-only file system") as caught:
        write(tmp_path / "plan")
    assert caught.value.filename == str(tmp_path / "plan")


#: A run that stands still as it writes, and says so.
STANDS_STILL = """
import os, pathlib, sys, time
from nesting.files import write_whole

def stand_still(file):
    print("writing", flush=True)
    time.sleep(3000)

os.fsync = stand_still
write_whole({pathlib.Path(sys.argv[1]): "other"})
"""


def test_what_a_killed_run_left_is_removed(tmp_path: Path) -> None:
    """Another run's file stays as long as that run is alive, and goes with the next run after that."""
    path = tmp_path / "layouts" / "plan.json"
    command = [sys.executable, "-c", STANDS_STILL, str(path)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "writing\n"
        (part,) = path.parent.iterdir()
        assert not is_empty_folder(path.parent)
        write_whole({path: "new"})
        assert sorted(path.parent.iterdir()) == sorted([part, path])
        path.unlink()
        other.kill()
        other.wait()
    assert is_empty_folder(path.parent)
    write_whole({path: "new"})
    assert list(path.parent.iterdir()) == [path]


def test_only_our_own_leftovers_are_removed(tmp_path: Path) -> None:
    """A part of another machine's run, this run's own, and hidden files of others stay."""
    killed = subprocess.Popen([sys.executable, "-c", ""])
    killed.wait()
    write_whole({tmp_path / "plan.json": "new"})
    kept = [
        f".nesting-{'0' * 8}-{killed.pid}-{'a' * 16}.part",
        f".nesting-{machine()}-{os.getpid()}-{'a' * 16}.part",
        f".nesting-{machine()}-{killed.pid}-notes.part",
        f".{'a' * 16}.part",
    ]
    gone = f".nesting-{machine()}-{killed.pid}-{'a' * 16}.part"
    for name in (*kept, gone):
        (tmp_path / name).touch()
    write_whole({tmp_path / "plan.json": "newer"})
    assert {path.name for path in tmp_path.iterdir()} == {"plan.json", *kept}


def machine() -> str:
    """How this machine is named in the name of a part."""
    from nesting.files.whole import _MACHINE

    assert re.fullmatch("[0-9a-f]{8}", _MACHINE)
    return _MACHINE
