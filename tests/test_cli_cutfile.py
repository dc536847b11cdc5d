"""``nesting cutfile``, in one process: files, messages, exit codes."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from cutfile_cases import base_batch, circle, plan_of_batch, plum_batch, read_exactly, rectangle
from plans import inches

from nesting.batch import Batch
from nesting.cli import main
from nesting.files import plan_to_json
from nesting.papers import Paper, Sheet

Run = Callable[..., Result]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run the command on the plan of a batch, in an empty folder."""
    monkeypatch.chdir(tmp_path)
    # The page, which takes longest, has tests of its own.
    monkeypatch.setattr("nesting.cutfile.written_files.page_pdf", lambda *_: b"%PDF-1.4")

    def invoke(batch: Batch, *words: str) -> Result:
        Path("plan").mkdir(exist_ok=True)
        Path("plan/plan.json").write_text(plan_to_json(plan_of_batch(batch)), "utf-8")
        return CliRunner().invoke(
            main, ["cutfile", "plan/plan.json", *words], catch_exceptions=False
        )

    return invoke


def names_in(folder: str) -> list[str]:
    """What lies in a folder."""
    return sorted(path.name for path in Path(folder).iterdir())


def test_one_file_for_each_layout_the_squares_and_the_page(run: Run) -> None:
    """Beside the plan by default, named like its diagrams; a second run needs --force."""
    result = run(base_batch())
    assert result.exit_code == 0, result.output
    layouts = plan_of_batch(base_batch()).layouts
    names = names_in("plan/cut-files")
    assert len(names) == len(layouts) + 2
    assert {"test-squares.svg", "cut-files.pdf", "01-pear-toss.svg"} <= set(names)
    assert f"{len(layouts)} cut files, test-squares.svg, cut-files.pdf" in result.output
    again = run(base_batch())
    assert again.exit_code == 2
    assert "--force" in again.output
    assert run(base_batch(), "--force").exit_code == 0


def test_files_of_an_earlier_plan_do_not_stay(run: Run) -> None:
    """With --force, cut files that the new plan does not have go; other people's files stay."""
    run(base_batch(), "--out", "cut")
    Path("cut/mine.svg").write_text("<svg/>")
    assert run(plum_batch(rectangle("3 x 4", 2)), "--out", "cut", "--force").exit_code == 0
    assert names_in("cut") == ["01-plum-dots.svg", "cut-files.pdf", "mine.svg", "test-squares.svg"]


def test_a_gap_closes_every_outline(run: Run) -> None:
    """The gap is read as lengths are written everywhere."""
    result = run(plum_batch(rectangle("3 x 4", 3), circle("1", 2)), "--out", "cut", "--gap", "1/8")
    assert result.exit_code == 0, result.output
    read = read_exactly(Path("cut/01-plum-dots.svg").read_bytes())
    assert len(read.closed["outlines"]) == 3
    assert not read.open_


def test_what_cannot_be_cut_is_said_and_nothing_is_written(run: Run) -> None:
    """No room for the gap, a carrier too small, the usual edge out of reach: exit 2, no folder."""
    batch = plum_batch(rectangle("6 x 6", 4))
    for words, said in (
        (("--gap", "1/8"), "expected a smaller gap"),
        (("--carrier", "8 x 8"), "expected a larger carrier"),
        (("--carrier", "12 x 12"), "with an edge of 1/4 in"),
        (
            ("--carrier", "12 x 12", "--no-straight-cuts", "--edge", "3 1/4"),
            "A 6 x 6 on the 5 1/2 x 5 1/2 in",
        ),
        (("--carrier", "12 x 12", "--no-straight-cuts", "--edge", "6"), "smaller edge"),
    ):
        result = run(batch, "--out", "cut", *words)
        assert result.exit_code == 2
        assert said in result.output
        assert not Path("cut").exists()


def test_all_wrong_lengths_are_said_in_one_go(run: Run) -> None:
    """Each with its option, what was read and what would do."""
    result = run(
        plum_batch(rectangle("3 x 4", 1)), "--gap", "wide", "--edge", "1/3", "--carrier", "12"
    )
    assert result.exit_code == 2
    for said in (
        "--gap 'wide'; expected a length",
        "--edge '1/3'",
        "--carrier '12'; expected a size",
    ):
        assert said in result.output


def test_no_straight_cuts_says_what_is_saved(run: Run) -> None:
    """The sheets, the saving and the bound, on the terminal."""
    result = run(
        plum_batch(circle("2", 36), circle("3/4", 25)), "--out", "cut", "--no-straight-cuts"
    )
    assert result.exit_code == 0, result.output
    assert "1 whole sheet where straight cuts take 2: 1 saved. Proven by area" in result.output
    assert len(read_exactly(Path("cut/01-plum-dots.svg").read_bytes()).rings["outlines"]) == 61


def test_back_up_and_lettering(run: Run) -> None:
    """Mirrored, with a group of letters."""
    batch = plum_batch(rectangle("3 x 4", 1))
    run(batch, "--out", "front")
    run(batch, "--out", "back", "--face-down", "--lettering")
    front, back = (
        read_exactly(Path(side, "01-plum-dots.svg").read_bytes()) for side in ("front", "back")
    )
    assert "lettering" in back.open_
    width = inches("12")
    mirrored = {tuple(sorted((width - x, y) for x, y in way)) for way in back.open_["outlines"]}
    assert mirrored == {tuple(sorted(way)) for way in front.open_["outlines"]}


def test_a_plan_with_faults_is_refused(run: Run) -> None:
    """The plan goes through the check first: exit 1, nothing written."""
    run(plum_batch(rectangle("3 x 4", 2)), "--out", "cut")
    path = Path("plan/plan.json")
    path.write_text(path.read_text("utf-8").replace('"demand": 2', '"demand": 3'), "utf-8")
    result = CliRunner().invoke(main, ["cutfile", "plan/plan.json", "--out", "other"])
    assert result.exit_code == 1
    assert "nothing was written" in result.output
    assert not Path("other").exists()


def test_an_arrangement_that_fails_its_check_is_not_written(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A mistake of the tool's own is told from one of the plan: exit 1, nothing written."""
    monkeypatch.setattr(
        "nesting.cutfile.arrangement.find_misplaced", lambda *_: ["sheet 1: A is torn."]
    )
    result = run(plum_batch(circle("1", 9)), "--out", "cut", "--no-straight-cuts")
    assert result.exit_code == 1
    assert "sheet 1: A is torn." in result.output
    assert "failed its own check; nothing was written" in result.output
    assert not Path("cut").exists()


def test_a_plan_without_layouts_is_refused(run: Run) -> None:
    """Nothing could be cut, so there is nothing to cut by machine, and nothing is written."""
    paper = Paper("plum dots", (Sheet(inches("12"), inches("12"), have=0),), buy=False)
    batch = replace(plum_batch(rectangle("3 x 4", 2)), papers=(paper,))
    for words in ((), ("--no-straight-cuts",)):
        result = run(batch, "--out", "cut", *words)
        assert (result.exit_code, result.output) == (
            2,
            "the plan cuts nothing; expected one with a layout\n",
        )
        assert not Path("cut").exists()
