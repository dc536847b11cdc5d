"""``compare`` and ``suggest`` on the command line: tables, files, exit codes, messages."""

import csv
import json
import re
from collections.abc import Callable
from io import StringIO
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from nesting.cli import main
from nesting.files import read_batch

PANELS = """\
# Panels for the market.
batch: Market panels
unit: in
papers:
  pear toss: {sheet: 12 x 12, have: 6, price: 1.20}   # pears
pieces:
  - {name: panel, size: 4 1/4 x 5 1/2, paper: pear toss, count: 24}   # the lot
"""

Run = Callable[..., Result]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run a command in an empty folder that holds ``panels.yaml``."""
    monkeypatch.chdir(tmp_path)
    Path("panels.yaml").write_text(PANELS)

    def invoke(*words: str) -> Result:
        return CliRunner().invoke(main, [*words, "--workers", "1"], catch_exceptions=False)

    return invoke


NARROW = "narrow: panel / size = 4 x 5 1/2"


def test_a_comparison_is_a_table(run: Run) -> None:
    """A column for each variant, the fewest sheets marked."""
    result = run("compare", "panels.yaml", "--vary", NARROW)
    assert result.exit_code == 0
    lines = {line.split("  ")[0].strip(): line.split() for line in result.stdout.splitlines()}
    assert lines["pear toss, sheets"][-2:] == ["6", "4*"]
    assert lines["cost"][-2:] == ["7.20", "4.80*"]
    assert lines["waste"] == ["waste", "0", "%", "0", "%"]


def test_the_same_batch_shows_no_difference(run: Run) -> None:
    """A batch beside itself: nothing is marked, and it is said."""
    result = run("compare", "panels.yaml", "--vary", "again: panels.yaml")
    assert "no difference" in result.stdout
    assert "*" not in result.stdout


def test_csv_json_and_picture(run: Run) -> None:
    """The same figures as CSV and JSON; the picture is a PNG or an SVG by its name."""
    words = ("compare", "panels.yaml", "--vary", NARROW, "--csv", "table.csv", "--picture")
    result = run(*words, "side.png", "--json")
    rows = list(csv.DictReader(StringIO(Path("table.csv").read_text())))
    variants = json.loads(result.stdout)["variants"]
    assert [row["variant"] for row in rows] == [one["variant"] for one in variants]
    assert [row["sheets of pear toss"] for row in rows] == ["6", "4"]
    assert [one["papers"][0]["needed"] for one in variants] == [6, 4]
    assert [one["cost"] for one in variants] == [720, 480]
    assert [row["beaten"] == "yes" for row in rows] == [one["beaten"] for one in variants]
    assert Path("side.png").read_bytes().startswith(b"\x89PNG")
    assert run("compare", "panels.yaml", "--vary", NARROW, "--picture", "side.svg").exit_code == 0
    assert b"<svg" in Path("side.svg").read_bytes()


def test_files_that_are_there_are_not_overwritten(run: Run) -> None:
    """Without --force the command ends before it plans, with exit code 2."""
    Path("table.csv").write_text("mine")
    result = run("compare", "panels.yaml", "--vary", NARROW, "--csv", "table.csv")
    assert result.exit_code == 2
    assert "table.csv: is there already" in result.stderr
    assert Path("table.csv").read_text() == "mine"
    result = run("compare", "panels.yaml", "--vary", NARROW, "--csv", "table.csv", "--force")
    assert result.exit_code == 0
    assert Path("table.csv").read_text() != "mine"


def test_the_table_is_told_though_it_cannot_be_written(run: Run) -> None:
    """What took long is not lost to a folder in the place of the file."""
    Path("table.csv").mkdir()
    result = run("compare", "panels.yaml", "--vary", NARROW, "--csv", "table.csv", "--force")
    assert result.exit_code == 2
    assert "pear toss, sheets" in result.stdout
    assert "table.csv: Is a directory" in result.stderr
    assert "Written" not in result.output


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("compare", "panels.yaml"), "--vary or --variants"),
        (("compare", "panels.yaml", "--vary", NARROW, "--picture", "a.gif"), ".png or .svg"),
        (("compare", "panels.yaml", "--vary", "panl / count = 3"), "the nearest is 'panel'"),
        (("compare", "panels.yaml", "--variants", "none.yaml"), "none.yaml: no such file; expected a variants file"),
        (("compare", "none.yaml", "--vary", NARROW), "none.yaml: no such file; expected a batch file"),
        (("suggest", "none.yaml"), "none.yaml: no such file"),
        (("suggest", "panels.yaml", "--apply", "1"), "--out FILE"),
        (("suggest", "panels.yaml", "--apply", "99", "--out", "new.yaml"), "--apply 99: there are"),
        (("suggest", "panels.yaml", "--apply", "1", "--out", "panels.yaml"), "panels.yaml: this command reads it"),
    ],
)  # fmt: skip
def test_what_cannot_be_used_is_exit_2(run: Run, words: tuple[str, ...], said: str) -> None:
    """One message, and nothing is written."""
    before = {path: path.read_bytes() for path in Path().iterdir()}
    result = run(*words)
    assert result.exit_code == 2
    assert said in result.stderr
    assert {path: path.read_bytes() for path in Path().iterdir()} == before


def test_suggestions_are_numbered_and_change_nothing(run: Run) -> None:
    """Each says what it saves and how; the batch file is left alone."""
    result = run("suggest", "panels.yaml")
    assert result.exit_code == 0
    assert "panel: 4 x 5 1/2 in instead of 4 1/4 x 5 1/2 in" in result.stdout
    assert "pear toss: 4 sheets instead of 6, 33 % less paper" in result.stdout
    assert list(Path().iterdir()) == [Path("panels.yaml")]
    assert Path("panels.yaml").read_text() == PANELS


def test_applying_writes_a_new_file_that_keeps_the_promise(run: Run) -> None:
    """Comments and order stay, one size is another, and the plan of the new file needs 4 sheets."""
    found = json.loads(run("suggest", "panels.yaml", "--json").stdout)
    number = next(one["number"] for one in found if one["kind"] == "size")
    promised = found[number - 1]["savings"][0]["after"]
    result = run("suggest", "panels.yaml", "--apply", str(number), "--out", "new.yaml")
    assert result.exit_code == 0
    assert Path("new.yaml").read_text() == PANELS.replace("4 1/4 x 5 1/2", "4 x 5 1/2")
    assert Path("panels.yaml").read_text() == PANELS
    answer = json.loads(run("plan", "new.yaml", "--json", "--format", "json").stdout)
    assert answer["papers"][0]["needed"] == promised == 4


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"], ids=["without", "with"])
def test_a_byte_order_mark_is_left_as_it_is(run: Run, mark: bytes) -> None:
    """The new file is the same to the letter but for the change: with its mark, or without one."""
    Path("panels.yaml").write_bytes(mark + PANELS.replace("\n", "\r\n").encode())
    assert run("suggest", "panels.yaml", "--apply", "1", "--out", "new.yaml").exit_code == 0
    old, new = (Path(name).read_bytes().splitlines() for name in ("panels.yaml", "new.yaml"))
    assert new[:5] == old[:5]
    assert new[-1] != old[-1]


def test_every_suggestion_can_be_applied(run: Run) -> None:
    """Whatever is suggested can be written into the file and read back, and is shown by its number."""
    found = json.loads(run("suggest", "panels.yaml", "--json").stdout)
    assert len({one["kind"] for one in found}) >= 2
    for one in found:
        name = f"new-{one['number']}.yaml"
        result = run("suggest", "panels.yaml", "--apply", str(one["number"]), "--out", name)
        assert result.exit_code == 0
        assert re.findall(r"^ *(\d+)  ", result.stdout, re.MULTILINE) == [str(one["number"])]
        assert read_batch(name) != read_batch("panels.yaml")
