"""``nesting stash`` and the commands that read it, run in this process."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from pypdf import PdfReader

from nesting.cli import main

BATCH = """
batch: Cider market
unit: in
papers:
  plum dots: stash
  cream: {sheet: letter, have: stash}
cards:
  cider:
    make: 4
    size: 4 1/4 x 5 1/2
    base: {paper: cream}
    layers: [{name: panel, paper: plum dots, reveal: 1/8}]
"""


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):  # type: ignore[no-untyped-def]
    """Run a command in a folder with a small stash in the usual place."""
    import platformdirs

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(platformdirs, "user_data_path", lambda *_, **__: tmp_path / "kept")

    def command(*words: str) -> Result:
        return CliRunner().invoke(main, words, env={"COLUMNS": "200"})

    for words in (
        ["plum dots", "12 x 12", "--count", "2", "--front", "one-way", "--front-up", "left"],
        ["plum dots", "5 x 7", "--offcut", "--top", "top", "--count", "2"],
        ["cream", "letter", "--count", "plenty", "--grain", "long"],
    ):
        assert command("stash", "add", *words).exit_code == 0
    (tmp_path / "b.yaml").write_text(BATCH)
    (tmp_path / "capitals.csv").write_text("what,paper\npaper,CREAM\n")
    (tmp_path / "s.csv").write_text(
        "what,paper,size,count,number,strip,strip width,beyond the sheet\n"
        "paper,russet,,,,left,12,no\nsheet,russet,12 x 12,1\n"
        "offcut,russet,12 x 3,,7,top\noffcut,plum dots,5 x 7,,8,top\n"
    )
    return command


def test_from_the_drawer_to_the_plan_and_back(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """The plan is made of what the stash has, checks without it, and is taken out of it once."""
    planned = run("plan", "b.yaml", "--out", "p", "--format", "pdf")
    assert planned.exit_code == 0, planned.output
    text = " ".join(page.extract_text() for page in PdfReader(tmp_path / "p/plan.pdf").pages)
    assert "Offcuts 1 and 2 from the stash" in " ".join(text.split())
    used = run("stash", "use", "p/plan.json", "--why", "the market")
    assert used.exit_code == 0, used.output
    assert "Taken: offcuts 1, 2." in used.output
    again = run("stash", "use", "p/plan.json")
    assert again.exit_code == 2
    assert "on record already" in again.output
    assert "(the market)" in run("stash", "history").output
    assert run("check", "b.yaml", "p/plan.json").exit_code == 0
    assert "Undone: cut from the plan Cider market" in run("stash", "undo").output
    assert [
        one["number"] for one in json.loads(run("stash", "list", "--json").output)["offcuts"]
    ] == [1, 2]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--done", "x"], "--done: 'x'; the nearest that reads is '1'"),
        (["--spoilt", "step 3"], "--spoilt: 'step 3'; the nearest that reads is '3'"),
        (["--done", "9"], "p/plan.json: '9'; the plan has layouts 1-3"),
        (["--done", "1: 9 sheets"], "p/plan.json: '1: 9 sheets'; layout 1 has 2 sheets"),
        (["--spoilt", "1: step 99"], "p/plan.json: '1: step 99'; layout 1 has"),
    ],
)
def test_a_record_of_no_such_plan_is_refused(run, words: list[str], said: str) -> None:  # type: ignore[no-untyped-def]
    """In one sentence, with exit code 2, and the stash stays as it was."""
    run("plan", "b.yaml", "--out", "p", "--format", "json")
    before = run("stash", "export").output
    refused = run("stash", "use", "p/plan.json", *words)
    assert refused.exit_code == 2
    assert refused.output.startswith(said)
    assert refused.output.count("\n") == 1
    assert run("stash", "export").output == before


@pytest.mark.parametrize(
    "command",
    [
        ["enough", "b.yaml"],
        ["suggest", "b.yaml"],
        ["compare", "b.yaml", "--vary", "five: cider / make = 5"],
    ],
)
def test_other_commands_read_the_stash(run, command: list[str]) -> None:  # type: ignore[no-untyped-def]
    """What the batch leaves to the stash is known wherever a batch is read; without one it is told."""
    done = run(*command, "--rounds", "0", "--workers", "1")
    assert done.exit_code == 0, done.output
    missing = run(*command, "--stash", "nowhere.sqlite")
    assert missing.exit_code == 2
    assert "nowhere.sqlite: no stash yet" in missing.output
    assert not Path("nowhere.sqlite").exists()


def test_what_holds_a_piece(run) -> None:  # type: ignore[no-untyped-def]
    """A list by size has what the print allows; by paper, what is of it."""
    held = json.loads(run("stash", "list", "--holds", "5 x 7", "--json").output)
    assert [one["number"] for one in held["offcuts"]] == [1, 2]
    turned = json.loads(run("stash", "list", "--holds", "7 x 5", "--json").output)
    assert (turned["offcuts"], len(turned["papers"])) == ([], 2)
    table = run("stash", "list", "--paper", "plum dots").output
    assert "5 x 7 in" in table
    assert "cream" not in table


def test_put_in_taken_changed(run) -> None:  # type: ignore[no-untyped-def]
    """Offcuts and sheets are changed and taken; each command says what it did."""
    for told in ("Put in: russet, a new paper, 2 of A4.\n", "Put in: russet, 2 of A4.\n"):
        assert run("stash", "add", "russet", "A4", "--count", "2").output == told
    assert run("stash", "change", "4 x 7", "--offcut", "2", "--note", "torn").exit_code == 0
    assert (
        run("stash", "change", "plum dots", "12 x 12", "--count", "1", "--price", "0.95").exit_code
        == 0
    )
    assert run("stash", "change", "plum dots", "--no-buy").exit_code == 0
    assert run("stash", "take", "--offcut", "1").exit_code == 0
    assert run("stash", "take", "plum dots", "12 x 12").exit_code == 0
    told = json.loads(run("stash", "list", "--json").output)
    plum = next(paper for paper in told["papers"] if paper["name"] == "plum dots")
    assert (plum["buy"], plum["sheets"][0]["have"], plum["sheets"][0]["price"]) == (False, 0, 95)
    assert plum["front"] == {"print": "one-way", "up": "left"}
    assert [(one["number"], one["width"], one["note"]) for one in told["offcuts"]] == [
        (2, 4 * 25_400_000, "torn")
    ]
    assert run("stash", "take", "plum dots", "--all").exit_code == 2
    assert run("stash", "take", "--offcut", "2").exit_code == 0
    assert run("stash", "take", "plum dots", "--all").exit_code == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["add", "plum dot", "5 x 7", "--offcut"], "the nearest is 'plum dots'"),
        (["add", "plum dots", "12 x", "--count", "1"], "12 x"),
        (["add", "plum dots", "12 x 12", "--count", "some"], "--count some"),
        (["add", "plum dots", "12 x 12", "--price", "²"], "--price ²"),
        (["add", "plum dots", "12 x 12", "--front", "plain"], "nesting stash change"),
        (["add", "russet", "12 x 12", "--price", "-1"], "--price -1"),
        (["add", "russet", "5 x 7", "--offcut", "--strip", "top", "--buy"], "has no barcode strip"),
        (["add", "plum dots", "12 x 12", "--top", "left"], "go with --offcut"),
        (["add", "plum dots", "5 x 7", "--offcut", "--strip", "top"], "has no barcode strip"),
        (
            ["add", "plum dots", "13 x 5", "--offcut"],
            "13 x 5 in, top of the print at the left: larger than a sheet of it; expected at most 12 x 12 in, or",
        ),
        (
            ["add", "cream", "11 x 9", "--offcut"],
            "an offcut of cream, 11 x 9 in: larger than a sheet",
        ),
        (["change", "13 x 5", "--offcut", "1"], "13 x 5 in, top of the print at the top: larger"),
        (["add", "Plum dots", "12 x 12"], "'Plum dots' beside 'plum dots'; expected a name that"),
        (["change", "cream", "--name", "Plum Dots"], "differs in more than capitals"),
        (["import", "capitals.csv"], "capitals.csv:2: paper 'CREAM' beside 'cream'; expected"),
        (["import", "s.csv"], "s.csv:3: the sheet 12 x 12 in of russet with barcode strip"),
        (["import", "s.csv"], "s.csv:4: an offcut of russet as narrow as its barcode"),
        (["import", "s.csv"], "s.csv:5: a strip on an offcut of plum dots; expected none"),
        (
            ["add", "russet", "12 x 12", "--inside", "--barcode-strip", "left", "13"],
            "as wide as the sheet; expected a strip and trims that leave something",
        ),
        (["change", "plum dots", "--edge-trim", "7"], "as wide as the sheet; expected"),
        (["take", "--offcut", "9"], "no offcut 9"),
        (["take", "plum dots", "12 x 12", "--count", "3"], "the stash has 2"),
        (["change", "plum dots"], "Give PAPER"),
        (["import", "b.yaml"], "b.yaml:1: column"),
        (["labels", "b.yaml"], "is there already"),
        (["labels", "l.pdf", "--paper", "plum dot"], "the nearest is 'plum dots'"),
        (["labels", "l.pdf", "--paper", "cream"], "the stash has no offcut to label"),
        (["export", "b.yaml"], "is there already"),
        (["undo", "99"], "no entry 99"),
        (["list", "--holds", "5"], "5"),
    ],
)
def test_what_cannot_be_done_changes_nothing(run, words: list[str], said: str) -> None:  # type: ignore[no-untyped-def]
    """One message, exit code 2, and the stash as it was."""
    before = run("stash", "history").output
    done = run("stash", *words)
    assert done.exit_code == 2, done.output
    assert said in done.output
    assert run("stash", "history").output == before


def test_a_size_in_another_unit_is_asked_about(run) -> None:  # type: ignore[no-untyped-def]
    """A sheet of 304 in is none; capitals of a paper's own name may be changed."""
    added = run("stash", "add", "russet", "304 x 304")
    assert added.exit_code == 0
    assert "russet: a sheet of 304 x 304 in; did you mean mm?" in added.output
    assert run("stash", "undo").exit_code == 0
    assert run("stash", "change", "russet", "--name", "Russet").exit_code == 0


def test_a_paper_with_a_grain_may_have_square_sheets(run) -> None:  # type: ignore[no-untyped-def]
    """It is sold in both, and a batch may take the oblong ones alone."""
    assert run("stash", "add", "cream", "12 x 12").exit_code == 0
    assert run("enough", "b.yaml").exit_code != 2


def test_there_and_back_and_labels(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """A table written and read into another stash gives the same table; each offcut has its label."""
    assert run("stash", "export", "t.csv").exit_code == 0
    assert run("stash", "import", "t.csv", "--stash", "other.sqlite").exit_code == 0
    assert run("stash", "export", "u.csv", "--stash", "other.sqlite").exit_code == 0
    assert (tmp_path / "t.csv").read_text() == (tmp_path / "u.csv").read_text()
    assert run("stash", "add", "plum dots", "3 x 4", "--offcut", "--count", "30").exit_code == 0
    assert run("stash", "labels", "l.pdf").exit_code == 0
    pages = PdfReader(tmp_path / "l.pdf").pages
    words = " ".join(" ".join(page.extract_text().split()) for page in pages)
    assert len(pages) == 2
    assert words.count("plum dots") == 32
    assert "5 x 7 in" in words


def test_an_offcut_is_no_larger_than_the_sheet_it_is_of(run) -> None:  # type: ignore[no-untyped-def]
    """A plain one may lie either way, a printed one as its top says; another size is put in before."""
    assert run("stash", "add", "cream", "11 x 8", "--offcut").exit_code == 0
    lily = ["stash", "add", "lily", "10 x 8", "--offcut"]
    run("stash", "add", "lily", "letter", "--front", "one-way")
    assert run(*lily).exit_code == 2
    assert run(*lily, "--top", "left").exit_code == 0
    assert run("stash", "add", "lily", "12 x 12", "--count", "0").exit_code == 0
    assert run(*lily).exit_code == 0


def test_letters_with_accents_are_one_however_they_are_typed(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """A paper is found whichever way its name is typed, by commands, tables and batches."""
    apart, whole = "pa\u0302te", "p\xe2te"
    assert run("stash", "add", apart, "12 x 12").exit_code == 0
    assert f"Put in: {whole}, 1 of letter." in run("stash", "add", whole, "letter").output
    assert run("stash", "take", apart, "letter").exit_code == 0
    assert run("stash", "change", apart, "--name", f"{apart} 2").exit_code == 0
    (tmp_path / "more.csv").write_text(f"what,paper,size,count\nsheet,{apart} 2,A4,3\n")
    assert run("stash", "import", "more.csv").exit_code == 0
    (tmp_path / "b.yaml").write_text(BATCH.replace("plum dots", f"{apart} 2"))
    assert run("enough", "b.yaml").exit_code != 2
    vary = f"{apart} 2 / buy = false"
    assert run("compare", "b.yaml", "--vary", vary).exit_code != 2
