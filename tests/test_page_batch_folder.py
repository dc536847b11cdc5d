"""The folder of the page: what is written when, by whom, and what a kill leaves."""

from pathlib import Path

import pytest

from nesting.files import InputError
from nesting.page.folder.batch_folder import BatchFolder
from nesting.papers import Paper, Sheet
from nesting.stash import Stash

SUPPER = "batch: Supper\nunit: in\npapers:\n  cream: {sheet: letter, have: 3}  # thick\n"


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """A batch file in a folder of its own."""
    path = tmp_path / "supper.yaml"
    path.write_text(SUPPER)
    return path


def change(folder: BatchFolder, have: str) -> None:
    """Change the number of sheets."""
    draft = folder.open("supper.yaml").draft.with_field("/papers/cream/have", have)
    folder.change("supper.yaml", f"have {have}", draft)


def test_what_another_program_writes_is_a_version(file: Path) -> None:
    """It is shown, and can be taken back as any change; what was undone before it is gone."""
    folder = BatchFolder(file.parent)
    change(folder, "4")
    folder.undo("supper.yaml")
    file.write_text(SUPPER.replace("thick", "thin"))
    opened = folder.open("supper.yaml")
    assert opened.draft.text == SUPPER.replace("thick", "thin")
    assert (opened.undo, opened.redo) == ("changed by another program", None)
    assert folder.undo("supper.yaml").draft.text == SUPPER == file.read_text()


def test_a_change_on_record_is_written_after_a_kill(
    file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Killed between the record and the file, the next one to open the folder writes the file."""

    def killed(*_: object) -> None:
        raise KeyboardInterrupt

    folder = BatchFolder(file.parent)
    change(folder, "4")
    with monkeypatch.context() as patch:
        patch.setattr("nesting.page.folder.batch_folder.write_whole", killed)
        with pytest.raises(KeyboardInterrupt):
            change(folder, "5")
    assert "have: 4" in file.read_text()
    again = BatchFolder(file.parent).open("supper.yaml")
    assert "have: 5" in again.draft.text
    assert "have: 5" in file.read_text()
    assert again.undo == "have 5"


def test_two_pages_on_one_folder_see_each_others_changes(file: Path) -> None:
    """Each reads the file and the journal anew."""
    one, other = BatchFolder(file.parent), BatchFolder(file.parent)
    change(one, "4")
    change(other, "5")
    assert "have: 5" in one.open("supper.yaml").draft.text
    assert "have: 4" in one.undo("supper.yaml").draft.text
    assert other.open("supper.yaml").redo == "have 5"


def test_a_byte_order_mark_and_line_ends_stay(file: Path) -> None:
    """Whatever another editor puts before the text and after its lines."""
    file.write_bytes(b"\xef\xbb\xbf" + SUPPER.replace("\n", "\r\n").encode())
    folder = BatchFolder(file.parent)
    change(folder, "4")
    data = SUPPER.replace("have: 3", "have: 4").replace("\n", "\r\n").encode()
    assert file.read_bytes() == b"\xef\xbb\xbf" + data
    folder.undo("supper.yaml")
    assert file.read_bytes().startswith(b"\xef\xbb\xbfbatch: Supper\r\n")


def test_a_file_that_is_gone_or_torn_leaves_the_others(file: Path) -> None:
    """It is said of each by itself."""
    folder = BatchFolder(file.parent)
    (file.parent / "torn.yaml").write_text("{")
    with pytest.raises(KeyError):
        folder.open("gone.yaml")
    with pytest.raises(InputError):
        folder.open("torn.yaml")
    assert folder.names() == ["supper.yaml", "torn.yaml"]
    assert folder.open("supper.yaml").draft.batch is not None


def test_a_file_mended_elsewhere_is_opened_again(file: Path) -> None:
    """A version that cannot be read is no dead end."""
    folder = BatchFolder(file.parent)
    folder.open("supper.yaml")
    file.write_text("batch: [")
    with pytest.raises(InputError):
        folder.open("supper.yaml")
    file.write_text(SUPPER)
    assert folder.open("supper.yaml").draft.text == SUPPER


def test_a_stash_that_cannot_be_read_is_said_where_it_is_needed(file: Path) -> None:
    """A batch that asks nothing of it is shown; one that does says what is wrong."""
    stash = file.parent / "stash.sqlite"
    stash.write_text("a shopping list, much longer than any header of a database would be")
    folder = BatchFolder(file.parent, stash)
    assert folder.stash_papers() == ()
    assert folder.open("supper.yaml").draft.batch is not None
    file.write_text(SUPPER.replace("{sheet: letter, have: 3}", "stash"))
    with pytest.raises(InputError, match="no stash"):
        folder.open("supper.yaml")


def test_what_is_put_into_the_stash_is_seen_at_once(file: Path) -> None:
    """A batch that leaves a paper to it is read again."""
    path = file.parent / "stash.sqlite"
    file.write_text(SUPPER.replace("{sheet: letter, have: 3}", "stash"))
    folder = BatchFolder(file.parent, path)
    assert folder.open("supper.yaml").draft.faults
    with Stash(path) as stash:
        for have in (2, 5):
            sheets = (Sheet(304_800_000, 304_800_000, have=have),)
            stash.put_paper(Paper("cream", sheets), "put in")
            batch = folder.open("supper.yaml").draft.batch
            assert batch is not None
            assert batch.papers[0].sheets[0].have == have
