"""Files that a command reads are never written over, and others only with ``--force``."""

import os
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from nesting.cli import main
from nesting.plan import Plan

TAGS = """\
batch: Market tags
unit: in
papers:
  cream: {sheet: 12 x 12, have: 2}
pieces:
  - {name: tag, size: 2 x 3, paper: cream, count: 12}
"""
FEWER = "variants: {fewer: {pieces: {tag: {count: 6}}}, other: {file: other.pdf}}"

Run = Callable[[str], Result]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run a command in a folder where what is read has the names of what could be written."""
    import platformdirs

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(platformdirs, "user_data_path", lambda *_, **__: tmp_path / "kept")

    def invoke(words: str) -> Result:
        return CliRunner().invoke(main, shlex.split(words), catch_exceptions=False)

    for name in ("tags.pdf", "other.pdf", "tags/plan.pdf"):
        Path(name).parent.mkdir(exist_ok=True)
        Path(name).write_text(TAGS)
    Path("tags.csv").write_text("name,size,paper,count\ntag,2 x 3,cream,12\n")
    Path("fewer.png").write_text(FEWER)
    assert invoke("stash add cream '12 x 12'").exit_code == 0
    assert invoke("stash add cream '5 x 7' --offcut").exit_code == 0
    assert invoke("plan tags.pdf --out before --format json").exit_code == 0
    Path("kept/other.pdf").symlink_to(Path("tags.pdf").resolve())
    return invoke


@pytest.mark.parametrize(
    ("words", "place"),
    [
        ("enough tags.pdf --out tags.pdf", "tags.pdf"),
        ("enough tags.pdf --out kept/../tags.pdf", "kept/../tags.pdf"),
        ("enough tags.pdf --out kept/other.pdf", "kept/other.pdf"),
        ("enough tags.csv --papers other.pdf --out other.pdf", "other.pdf"),
        ("compare tags.pdf --vary 'tag / count = 6' --csv tags.pdf", "tags.pdf"),
        ("compare tags.pdf --variants fewer.png --picture fewer.png", "fewer.png"),
        ("compare tags.pdf --variants fewer.png --csv other.pdf", "other.pdf"),
        ("compare tags.pdf --vary 'tag / count = 6' --csv kept/stash.sqlite", "kept/stash.sqlite"),
        ("compare tags.pdf --vary 'tag / count = 6' --csv my.sqlite --stash my.sqlite", "my.sqlite"),
        ("plan tags/plan.pdf --out tags", "tags/plan.pdf"),
        ("plan tags.pdf --after before/plan.json --done 1 --out before", "before/plan.json"),
        ("stash labels kept/stash.sqlite", "kept/stash.sqlite"),
        ("stash export kept/stash.sqlite", "kept/stash.sqlite"),
        ("bench many-fixed --data tags.csv --csv tags.csv", "tags.csv"),
        ("bench growth --picture tags.pdf --published tags.pdf", "tags.pdf"),
    ],
)  # fmt: skip
def test_what_is_read_is_not_written_over(run: Run, words: str, place: str) -> None:
    """Not even with ``--force``: exit 2, one message, and every file as it was."""
    Path("my.sqlite").touch()
    before = {path: path.read_bytes() for path in Path().rglob("*") if path.is_file()}
    result = run(f"{words} --force")
    assert result.exit_code == 2, result.output
    assert result.stderr == f"{place}: this command reads it; expected another place to write to\n"
    after = {path: path.read_bytes() for path in Path().rglob("*") if path.is_file()}
    assert after == before


@pytest.mark.parametrize(
    "words",
    [
        "enough tags.pdf --out other.pdf",
        "compare tags.pdf --vary 'tag / count = 6' --csv other.pdf",
        "plan tags.pdf --out tags",
        "draw before/plan.json --format pdf --out tags",
        "stash labels other.pdf",
        "stash export other.pdf",
        "bench strokes --csv other.pdf",
    ],
)
def test_what_is_there_stays_without_force(run: Run, words: str) -> None:
    """Exit 2 and the way to overwrite it."""
    result = run(words)
    assert result.exit_code == 2
    assert (
        ".pdf: is there already; expected another place, or --force to overwrite" in result.stderr
    )
    assert Path("other.pdf").read_text() == Path("tags/plan.pdf").read_text() == TAGS


def test_two_files_of_one_name_and_a_file_in_place_of_a_folder(run: Run) -> None:
    """Before anything is planned."""
    twice = run("compare tags.pdf --vary 'tag / count = 6' --csv a.svg --picture ./a.svg")
    assert (twice.exit_code, twice.stderr) == (
        2,
        "a.svg: named twice; expected a name for each file\n",
    )
    below = run("plan tags.pdf --out tags.csv/plan --force")
    assert below.exit_code == 2
    assert below.stderr == "tags.csv: a file; expected a folder to write to\n"


def test_a_plan_written_by_another_run_meanwhile_stays(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A search takes up to a minute: what is in the folder then is looked at once more."""
    import nesting.pack

    solve = nesting.pack.solve

    def solve_slowly(*args: Any, **kwargs: Any) -> Plan:
        monkeypatch.setattr(nesting.pack, "solve", solve)
        assert run("plan other.pdf --out new --seed 1 --format json").exit_code == 0
        return solve(*args, **kwargs)

    monkeypatch.setattr(nesting.pack, "solve", solve_slowly)
    result = run("plan tags.pdf --out new")
    assert result.exit_code == 2
    assert "new/plan.json: is there already; expected another place" in result.stderr
    assert [path.name for path in Path("new").iterdir()] == ["plan.json"]
    assert '"seed": 1' in Path("new/plan.json").read_text()


@pytest.mark.parametrize(
    ("command", "out"),
    [
        ("enough tags.pdf --out {}", "shop.pdf"),
        ("compare tags.pdf --vary 'tag / count = 6' --csv {}", "both.csv"),
        ("suggest tags.pdf --apply 1 --out {}", "less.yaml"),
    ],
)
def test_a_file_written_meanwhile_stays(
    run: Run, monkeypatch: pytest.MonkeyPatch, command: str, out: str
) -> None:
    """What takes up to a minute may find a file then where there was none before."""
    from nesting.advice import comparison, sufficiency, suggestions

    def beside(work: Callable[..., Any]) -> Callable[..., Any]:
        def write_and_work(*args: Any, **kwargs: Any) -> Any:
            Path(out).write_text("apples")
            return work(*args, **kwargs)

        return write_and_work

    for module, name in (
        (comparison, "compare"),
        (suggestions, "suggest"),
        (sufficiency, "enough"),
    ):
        monkeypatch.setattr(module, name, beside(getattr(module, name)))
    result = run(command.format(out))
    assert result.exit_code == 2
    assert f"{out}: is there already; expected another place" in result.stderr
    assert Path(out).read_text() == "apples"


@pytest.mark.skipif(os.name != "posix", reason="the lock is one of POSIX systems")
def test_two_runs_do_not_mix_their_pages(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where both may overwrite, one waits until the other has written all of its plan."""
    import fcntl

    import nesting.cli.folder

    write = nesting.cli.folder.write_folder

    def write_alone(folder: Path, files: dict[str, bytes]) -> None:
        opened = os.open(folder, os.O_RDONLY)
        with pytest.raises(BlockingIOError):
            fcntl.flock(opened, fcntl.LOCK_EX | fcntl.LOCK_NB)
        write(folder, files)
        os.close(opened)

    monkeypatch.setattr(nesting.cli.folder, "write_folder", write_alone)
    for force in ("", "--force"):
        assert run(f"plan tags.pdf --out new --format json {force}").exit_code == 0
    opened = os.open("new", os.O_RDONLY)
    fcntl.flock(opened, fcntl.LOCK_EX | fcntl.LOCK_NB)
    os.close(opened)
