"""The command line, in one process: exit codes, files, messages."""

import json
import os
import re
import shlex
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from project import ROOT, SAMPLES
from pypdf import PdfReader

from nesting.cli import main
from nesting.files import read_plan
from nesting.mark import mark_of
from nesting.pack import solve
from nesting.plan import Plan

SMALL = """\
batch: Small supper
unit: in
papers:
  pear toss: {sheet: 12 x 12, have: 1, buy: false, front: one-way}
  cream: {sheet: 8 1/2 x 11, have: 1}
cards:
  windfall:
    make: 6
    size: 4 1/4 x 5 1/2
    layers:
      - {name: mat, paper: cream, reveal: 1/8}
      - {name: panel, paper: pear toss, reveal: 1/4}
"""

Run = Callable[..., Result]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run a command in an empty folder that holds ``small.yaml``."""
    monkeypatch.chdir(tmp_path)
    Path("small.yaml").write_text(SMALL)

    def invoke(*words: str) -> Result:
        return CliRunner().invoke(main, [str(word) for word in words], catch_exceptions=False)

    return invoke


def files_below(folder: Path) -> set[str]:
    """Every file below a folder, by its path in it."""
    return {str(f.relative_to(folder)) for f in folder.rglob("*") if f.is_file()}


@pytest.mark.parametrize("command", [None, *main.commands])
def test_help_is_for_a_card_maker(run: Run, command: str | None) -> None:
    """Each command has its first sentence whole in the list, and no option names a library."""
    words = run(*filter(None, (command, "--help"))).stdout
    assert not re.search(r"rectpack|shapely|highs|numba|matplotlib", words, re.IGNORECASE)
    assert "..." not in words.partition("Commands:")[2]


def test_the_orchard_is_all_cut_and_proven(run: Run) -> None:
    """The sample batch: exit 0, every paper proven, every file written, no fault."""
    result = run("plan", str(SAMPLES / "orchard.yaml"), "--out", "plan", "--json")
    assert result.exit_code == 0, result.output
    figures = json.loads(result.stdout)
    assert figures["ended"] == "proven"
    assert [paper["proven"] for paper in figures["papers"]] == [True] * 4
    assert sum(card["complete"] for card in figures["cards"]) == 32
    written = files_below(Path("plan"))
    layouts = json.loads(Path("plan/plan.json").read_text())["layouts"]
    assert {"plan.json", "plan.pdf"} < written
    for ending in ("png", "svg"):
        first_pages = {f"layouts/{layout['id']:02d}" for layout in layouts}
        assert {name[:10] for name in written if name.endswith(ending)} == first_pages
    check = run("check", str(SAMPLES / "orchard.yaml"), "plan/plan.json")
    assert check.exit_code == 0
    assert "no fault found" in check.output


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["orchard-short.yaml"], 1, "windfall supper: 7 of 8 cards"),
        (["cider.yaml"], 0, "oat cardstock"),
        (["tags.csv", "--sheet", "12 x 12"], 0, "paper"),
    ],
)
def test_the_other_samples(run: Run, words: list[str], code: int, said: str) -> None:
    """Short paper is exit 1, metric and CSV are exit 0."""
    result = run("plan", str(SAMPLES / words[0]), *words[1:], "--format", "json")
    assert result.exit_code == code, result.output
    assert said in result.output


def test_all_samples_are_proven(run: Run) -> None:
    """Every bound of the samples is reached, and cards are counted truthfully."""
    for name in ("orchard-short.yaml", "cider.yaml"):
        figures = json.loads(
            run("plan", str(SAMPLES / name), "--out", name, "--format", "json", "--json").stdout
        )
        assert all(paper["proven"] for paper in figures["papers"])
    assert figures["all_cut"] is True


@pytest.mark.parametrize(("save", "needed"), [("true", 5), ("false", 8)])
def test_the_sample_with_middles_saves_three_sheets(run: Run, save: str, needed: int) -> None:
    """The fronts of small cards come out of mats: five sheets instead of eight, both proven."""
    text = (SAMPLES / "orchard-hidden.yaml").read_text(encoding="utf-8")
    Path("hidden.yaml").write_text(
        text.replace("save middles: true", f"save middles: {save}"), encoding="utf-8"
    )
    result = run("plan", "hidden.yaml", "--format", "json", "--json")
    brick = next(p for p in json.loads(result.stdout)["papers"] if p["paper"] == "brick cardstock")
    assert (brick["needed"], brick["to_buy"], brick["proven"]) == (needed, needed - 5, True)


@pytest.mark.parametrize(("join", "needed"), [("may", 1), ("never", 2)])
def test_the_sample_with_joints_saves_a_sheet(run: Run, join: str, needed: int) -> None:
    """Ribbons of two ends come out of the one sheet there is: whole ones take two, both proven."""
    text = (SAMPLES / "orchard-hidden.yaml").read_text(encoding="utf-8")
    Path("hidden.yaml").write_text(text.replace("join: may", f"join: {join}"), encoding="utf-8")
    result = run("plan", "hidden.yaml", "--format", "json", "--json")
    stripe = next(p for p in json.loads(result.stdout)["papers"] if p["paper"] == "bee stripe")
    assert (stripe["needed"], stripe["proven"]) == (needed, True)


def test_something_to_buy_is_exit_1(run: Run) -> None:
    """Six mats need two letter sheets, one is there: one to buy."""
    result = run("plan", "small.yaml", "--format", "json", "--json")
    assert result.exit_code == 1
    cream = json.loads(result.stdout)["papers"][1]
    assert (cream["needed"], cream["have"], cream["to_buy"]) == (2, 1, 1)


def test_bad_input_is_exit_2_and_writes_nothing(run: Run) -> None:
    """Every fault has its line; no folder is made."""
    Path("bad.yaml").write_text(SMALL.replace("reveal: 1/8", "reveal: 3").replace("make", "mak"))
    result = run("plan", "bad.yaml", "--out", "plan")
    assert result.exit_code == 2
    assert "bad.yaml:8:5: unknown key 'mak'" in result.stderr
    assert not Path("plan").exists()
    missing = run("plan", "nowhere.yaml")
    assert missing.exit_code == 2
    assert "nowhere.yaml: no such file" in missing.stderr


def test_what_is_there_is_not_overwritten(run: Run) -> None:
    """A second run refuses, --force overwrites, and no diagram of the first plan stays."""
    assert run("plan", "small.yaml", "--out", "plan", "--format", "svg").exit_code == 1
    before = files_below(Path("plan"))
    again = run("plan", "small.yaml", "--out", "plan")
    assert again.exit_code == 2
    assert "--force" in again.stderr
    Path("plan/notes.txt").write_text("mine")
    Path("plan/layouts/mine.svg").write_text("mine")
    Path("small.yaml").write_text(SMALL.replace("pear toss", "bee stripe"))
    assert run("plan", "small.yaml", "--out", "plan", "--format", "svg", "--force").exit_code == 1
    after = files_below(Path("plan"))
    assert {"notes.txt", "layouts/mine.svg"} < after
    assert not any("pear-toss" in name for name in after)
    assert any("pear-toss" in name for name in before)


@pytest.mark.parametrize(
    ("words", "place"),
    [
        ("plan small.yaml --out plan --format pdf --force", "plan/plan.pdf"),
        ("plan small.yaml --out plan --format svg --force", "plan/layouts/01-pear-toss.svg"),
        ("draw plan/plan.json --format pdf --force", "plan/plan.pdf"),
        ("draw plan/plan.json --cards --format svg --force", "plan/cards/01-windfall.svg"),
        ("cutfile plan/plan.json --out cut --force", "cut/01-pear-toss.svg"),
        ("enough small.yaml --out plan/buy.pdf --force", "plan/buy.pdf"),
        (
            "compare small.yaml --vary 'windfall / mat / reveal = 1/16' --csv plan/a.csv --picture plan/b.svg --force",
            "plan/b.svg",
        ),
    ],
)
def test_a_folder_in_the_place_of_a_file(run: Run, words: str, place: str) -> None:
    """Exit 2, the file named, and nothing else in any folder changed."""
    run("plan", "small.yaml", "--out", "plan", "--format", "json")
    Path(place).mkdir(parents=True)
    Path(place, "mine.txt").write_text("mine")
    before = {name: Path(name).read_bytes() for name in files_below(Path())}
    folders = {path for path in Path().rglob("*") if path.is_dir()}
    result = run(*shlex.split(words))
    assert result.exit_code == 2
    assert f"{place}: Is a directory" in result.stderr
    assert {name: Path(name).read_bytes() for name in files_below(Path())} == before
    assert {path for path in Path().rglob("*") if path.is_dir()} == folders


def test_a_folder_in_the_place_of_a_file_of_before(run: Run) -> None:
    """What is not written anew is not removed either, if it is a folder: all is done, exit 1 for what to buy."""
    run("plan", "small.yaml", "--out", "plan", "--format", "svg")
    for place in ("plan/plan.pdf", "plan/layouts/01-pear-toss.png"):
        Path(place).mkdir()
    result = run("plan", "small.yaml", "--out", "plan", "--format", "json", "--force")
    assert result.exit_code == 1, result.output
    assert Path("plan/plan.pdf").is_dir()
    assert not list(Path("plan").rglob("*.svg"))


def test_what_a_killed_run_left_is_no_earlier_plan(run: Run) -> None:
    """A folder of layouts in which nothing was put in place does not stop the next run."""
    Path("plan/layouts").mkdir(parents=True)
    assert run("plan", "small.yaml", "--out", "plan", "--format", "json").exit_code == 1
    Path("plan/plan.json").unlink()
    Path("plan/layouts/mine.svg").touch()
    assert run("plan", "small.yaml", "--out", "plan", "--format", "json").exit_code == 2


@pytest.mark.parametrize("later", [False, True])
def test_a_full_disk_is_named(run: Run, monkeypatch: pytest.MonkeyPatch, *, later: bool) -> None:
    """Exit 2, before the search or where it is full only after it, and nothing is left of any file."""

    def give_up(file: int) -> None:
        raise OSError(28, "No space left on device")

    def find(*asked: Any, **options: Any) -> Plan:
        monkeypatch.setattr("os.fsync", give_up)
        return solve(*asked, **options)

    monkeypatch.setattr("nesting.pack.solve", find if later else pytest.fail)
    if not later:
        monkeypatch.setattr("os.fsync", give_up)
    result = run("plan", "small.yaml", "--out", "plan", "--format", "json")
    assert result.exit_code == 2
    named = "plan/plan.json" if later else "plan"
    assert result.stderr.endswith(f"{named}: No space left on device\n")
    assert not Path("plan").exists()


def test_a_plan_may_have_nothing_to_cut(run: Run) -> None:
    """As many as possible from no sheet at hand: none, which is told, drawn, checked and taken shopping."""
    text = SMALL.replace("have: 1", "have: 0").replace("make: 6", "make: as many as possible")
    Path("small.yaml").write_text(text)
    result = run("plan", "small.yaml", "--out", "plan")
    assert result.exit_code == 0, result.output
    assert "As many as possible: 0 of windfall; proven" in result.output
    words = PdfReader("plan/plan.pdf").pages[0].extract_text()
    assert "Nothing is cut." in words
    assert not {"Papers", "Pieces, width x height in inches"} & {*words.splitlines()}
    assert "no fault found in 0 layouts" in run("check", "small.yaml", "plan/plan.json").output
    assert run("enough", "small.yaml", "--out", "shop.pdf").exit_code == 0
    assert "Papers" not in PdfReader("shop.pdf").pages[0].extract_text().splitlines()


def test_further_pages_are_named_and_layouts_counted(run: Run) -> None:
    """A layout of two pages is one layout; its second page says so, and goes with the plan."""
    names = ", ".join(
        f"{{name: tag {n}, size: 1 x {n / 8 + 1}, paper: pear toss, count: 1}}" for n in range(36)
    )
    Path("small.yaml").write_text(
        SMALL.split("cards:", maxsplit=1)[0].replace("have: 1", "have: 3") + f"pieces: [{names}]"
    )
    result = run("plan", "small.yaml", "--out", "plan", "--rounds", "1")
    assert len(json.loads(Path("plan/plan.json").read_text())["layouts"]) == 1
    assert "1 layout as PNG and SVG in layouts" in result.output
    pages = {name for name in files_below(Path("plan")) if "-page-" in name}
    assert {"layouts/01-pear-toss-page-2.png", "layouts/01-pear-toss-page-2.svg"} <= pages
    Path("plan/layouts/01-pear-toss-2.png").write_text("a page of an earlier version")
    Path("small.yaml").write_text(SMALL)
    run("plan", "small.yaml", "--out", "plan", "--force", "--format", "svg")
    after = files_below(Path("plan"))
    assert not pages & after
    assert "layouts/01-pear-toss-2.png" not in after


def test_long_and_foreign_names_are_printed_short(run: Run) -> None:
    """The terminal has at most sixty characters of a name, and says what the pages put instead."""
    long = SMALL.replace("pear toss", f"\u0378 {'pear ' * 150}end")
    long = long.replace("windfall", f"{'windfall ' * 100}end").replace("panel", "panel" * 200)
    Path("small.yaml").write_text(long, "utf-8")
    result = run("plan", "small.yaml", "--out", "plan", "--format", "json")
    assert max(map(len, result.output.splitlines())) < 300
    assert "On the pages, □ or words in [ ] stand for" in result.output
    needs = run("enough", "small.yaml")
    assert max(map(len, needs.output.splitlines())) < 300
    assert "pear " * 150 in Path("plan/plan.json").read_text("utf-8")


def test_a_file_where_the_folder_should_be(run: Run) -> None:
    """The answer is one sentence and exit 2."""
    Path("plan").write_text("mine")
    result = run("plan", "small.yaml", "--out", "plan")
    assert result.exit_code == 2
    assert "expected a folder" in result.stderr
    assert Path("plan").read_text() == "mine"


def test_check_names_every_fault_of_a_broken_plan(run: Run) -> None:
    """A plan with one sheet too many alike is refused with exit 1, and is not drawn."""
    run("plan", "small.yaml", "--out", "plan", "--format", "json")
    path = Path("plan/plan.json")
    data = json.loads(path.read_text())
    data["layouts"][0]["alike"] += 1
    path.write_text(json.dumps(data))
    result = run("check", "small.yaml", "plan/plan.json")
    assert result.exit_code == 1
    assert "faults" in result.output
    drawn = run("draw", "plan/plan.json", "--out", "pages")
    assert drawn.exit_code == 1
    assert not Path("pages").exists()


def test_what_matters_is_said_first(run: Run) -> None:
    """How many cards are complete, and which paper is lacking: in the table and on the first page."""
    Path("short.yaml").write_text(SMALL.replace("make: 6", "make: 8"))
    result = run("plan", "short.yaml", "--out", "plan", "--format", "pdf")
    assert result.exit_code == 1
    head, line = (
        next(line for line in result.stdout.splitlines() if line.startswith(start))
        for start in (" paper", " pear toss")
    )
    place = head.index("lacking")
    assert line[place : place + len("lacking")].split() == ["1"]
    said = "6 of 8 cards; pear toss lacks 1 sheet; to buy: 1 sheet of cream."
    assert said in result.stdout
    first = PdfReader("plan/plan.pdf").pages[0].extract_text()
    assert " ".join(first.split()).startswith(f"Small supper {said}")


@pytest.mark.parametrize("words", [(), ("--sheet", "12 x 12", "--papers", "small.yaml")])
def test_a_list_of_pieces_has_its_papers_from_one_place(run: Run, words: tuple[str, ...]) -> None:
    """With neither, or with both, one is asked for."""
    result = run("plan", str(SAMPLES / "tags.csv"), *words)
    assert result.exit_code == 2
    assert 'needs one of --sheet "W x H" and --papers FILE.' in " ".join(result.stderr.split())


def test_what_is_not_cut_is_told_once_of_a_design(run: Run) -> None:
    """Of its cards and of its spare sets the same pieces are not cut."""
    Path("small.yaml").write_text(SMALL.replace("make: 6", "make: 9\n    spares: 2"))
    said = run("plan", "small.yaml", "--format", "json").stdout
    assert "windfall, spare sets: 0 of 2\n" in said
    assert said.count("; not cut: ") == 1


def test_the_mark_stands_on_all_that_is_made_of_a_plan(run: Run) -> None:
    """Every page of the PDF, each label, each diagram and the terminal have the mark of plan.json."""
    said = run("plan", "small.yaml", "--out", "plan").stdout
    mark = mark_of(read_plan("plan/plan.json"))
    words = f"Mark of this plan: {mark}."
    assert words in said.splitlines()
    figures = run("plan", "small.yaml", "--out", "plan", "--force", "--json").stdout
    assert json.loads(figures)["mark"] == mark
    texts = [page.extract_text() for page in PdfReader("plan/plan.pdf").pages]
    assert all(words in text for text in texts)
    labels = next(text for text in texts if "Labels for the bags" in text)
    assert labels.count(f"mark {mark}") == 2
    diagrams = list(Path("plan/layouts").glob("*.svg"))
    assert len(diagrams) > 1
    assert all(words in file.read_text("utf-8") for file in diagrams)


def test_check_compares_the_lists_with_the_tree(run: Run) -> None:
    """A blank moved in the list only is a fault."""
    run("plan", "small.yaml", "--out", "plan", "--format", "json")
    path = Path("plan/plan.json")
    data = json.loads(path.read_text())
    data["layouts"][0]["blanks"][0]["x"] += 1
    path.write_text(json.dumps(data))
    result = run("check", "small.yaml", "plan/plan.json")
    assert result.exit_code == 1
    assert "layout 1" in result.output


def test_check_refuses_another_batch(run: Run) -> None:
    """A plan made for another batch is named as such."""
    run("plan", "small.yaml", "--out", "plan", "--format", "json")
    Path("other.yaml").write_text(SMALL.replace("make: 6", "make: 5"))
    assert run("check", "other.yaml", "plan/plan.json").exit_code == 1


def test_draw_gives_the_same_bytes(run: Run) -> None:
    """The pages drawn from plan.json are those that plan wrote."""
    run("plan", "small.yaml", "--out", "plan")
    result = run("draw", "plan/plan.json", "--out", "pages")
    assert result.exit_code == 0
    written = files_below(Path("pages"))
    assert written == files_below(Path("plan")) - {"plan.json"}
    for name in written:
        assert (Path("pages") / name).read_bytes() == (Path("plan") / name).read_bytes()
    assert run("draw", "plan/plan.json", "--out", "pages").exit_code == 2


def test_draw_cards_gives_pictures_of_the_cards(run: Run) -> None:
    """PNG and SVG of each card by number and name, and nothing else; --format takes one of them."""
    run("plan", "small.yaml", "--out", "plan", "--format", "json")
    result = run("draw", "plan/plan.json", "--cards", "--out", "pictures")
    assert result.exit_code == 0, result.output
    assert "1 card as PNG and SVG in cards" in result.output
    assert files_below(Path("pictures")) == {"cards/01-windfall.png", "cards/01-windfall.svg"}
    run("draw", "plan/plan.json", "--cards", "--out", "one", "--format", "svg")
    assert files_below(Path("one")) == {"cards/01-windfall.svg"}


def test_draw_face_down_shows_the_backs(run: Run) -> None:
    """The diagrams say that the back is up; the option's earlier name is refused, not passed over."""
    run("plan", "small.yaml", "--out", "plan", "--format", "json")
    options = ("draw", "plan/plan.json", "--format", "svg", "--out")
    assert run(*options, "backs", "--face-down").exit_code == 0
    run(*options, "fronts")
    backs, fronts = (
        Path(f"{side}/layouts/02-cream.svg").read_text() for side in ("backs", "fronts")
    )
    assert ("back up" in backs, "back up" in fronts) == (True, False)
    assert run(*options, "other", "--back-up").exit_code == 2


def test_draw_cards_refuses_what_it_cannot_do(run: Run) -> None:
    """A PDF, a plan without cards, pictures that are there already: exit 2, nothing written."""
    run("plan", "small.yaml", "--out", "plan", "--format", "json")
    result = run("draw", "plan/plan.json", "--cards", "--format", "pdf")
    assert result.exit_code == 2
    assert "--cards draws PNG and SVG" in result.output
    result = run("draw", "plan/plan.json", "--cards", "--face-down")
    assert result.exit_code == 2
    assert "--face-down is about sheets" in result.output
    tags = str(SAMPLES / "tags.csv")
    run("plan", tags, "--sheet", "12 x 12", "--out", "tags", "--format", "json")
    result = run("draw", "tags/plan.json", "--cards")
    assert result.exit_code == 2
    assert "expected a plan of a batch with cards" in result.output
    assert files_below(Path("tags")) == {"plan.json"}
    run("draw", "plan/plan.json", "--cards")
    result = run("draw", "plan/plan.json", "--cards")
    assert result.exit_code == 2
    assert "is there already" in result.output
    assert run("draw", "plan/plan.json", "--cards", "--force").exit_code == 0


def test_a_new_plan_takes_the_pictures_of_earlier_cards_away(run: Run) -> None:
    """A picture that is left over would be of a card that may be another now; others stay."""
    run("plan", "small.yaml", "--out", "plan", "--format", "json")
    run("draw", "plan/plan.json", "--cards")
    Path("plan/cards/mine.png").write_text("mine")
    run("plan", "small.yaml", "--out", "plan", "--format", "json", "--force")
    assert files_below(Path("plan")) == {"plan.json", "cards/mine.png"}


def test_pictures_of_earlier_cards_go_after_a_killed_run_too(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Until all pages are in place, the plan before lies in the folder and tells which are its own."""
    run("plan", "small.yaml", "--out", "plan", "--format", "json")
    run("draw", "plan/plan.json", "--cards")
    tags = ("plan", str(SAMPLES / "tags.csv"), "--sheet", "12 x 12", "--out", "plan", "--force")
    replace, placed = Path.replace, []

    def killed(part: Path, target: Path) -> None:
        if placed:
            raise KeyboardInterrupt
        placed.append(replace(part, target))

    with monkeypatch.context() as patch:
        patch.setattr(Path, "replace", killed)
        assert CliRunner().invoke(main, (*tags, "--format", "svg")).exit_code == 1
    run(*tags, "--format", "json")
    assert not list(Path("plan/cards").glob("*"))


def test_the_same_rounds_give_the_same_plan(run: Run) -> None:
    """Byte for byte, also with another seed where the plan is proven at once."""
    run("plan", "small.yaml", "--out", "one", "--format", "json", "--rounds", "5")
    run("plan", "small.yaml", "--out", "two", "--format", "json", "--rounds", "5")
    assert Path("one/plan.json").read_bytes() == Path("two/plan.json").read_bytes()


def test_ctrl_c_writes_the_best_plan_so_far(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """The plan says that it was interrupted, passes the check and is written."""
    from nesting.pack.model.pauses import Pauses
    from nesting.pack.search.incumbent import Search
    from nesting.pack.search.schedule import improve

    presses = [KeyboardInterrupt]  # a second one would end all

    def interrupted(search: Search) -> Pauses:
        if presses:
            raise presses.pop()
        return improve(search)

    monkeypatch.setattr("nesting.pack.search.runner.improve", interrupted)
    result = run("plan", "small.yaml", "--out", "plan", "--format", "json")
    assert result.exit_code == 1
    assert json.loads(Path("plan/plan.json").read_text())["ended"] == "interrupted"
    assert "best plan found so far" in result.output


def test_a_plan_that_fails_its_check_is_not_written(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fault of the packer is said, with exit 1 and nothing written."""
    from nesting.checker import PlanFault

    monkeypatch.setattr(
        "nesting.checker.check", lambda *_, **__: (PlanFault("demand", "layout 1", "too few."),)
    )
    result = run("plan", "small.yaml", "--out", "plan")
    assert result.exit_code == 1
    assert "nothing was written" in result.stderr
    assert not Path("plan").exists()


def test_schema_is_json(run: Run) -> None:
    """The schema names the keys of a batch file."""
    schema = json.loads(run("schema").stdout)
    assert "papers" in schema["properties"]


def test_prefer_overrides_the_file(run: Run) -> None:
    """``--prefer`` plans for one big offcut, says what it costs, and the check does not mind."""
    batch = str(SAMPLES / "orchard.yaml")
    easy = run("plan", batch, "--out", "easy", "--format", "json", "--json")
    big = run("plan", batch, "--out", "big", "--format", "json", "--json", "--prefer", "big-offcut")
    assert (easy.exit_code, big.exit_code) == (0, 0), big.output
    figures = [json.loads(result.stdout) for result in (easy, big)]
    assert [f["needed"] for f in figures[0]["papers"]] == [
        f["needed"] for f in figures[1]["papers"]
    ]
    assert any("laid out for easy cutting" in note for note in figures[0]["notes"])
    assert any("laid out for one big offcut" in note for note in figures[1]["notes"])
    assert not any("laid out for easy cutting" in note for note in figures[1]["notes"])
    assert json.loads(Path("big/plan.json").read_text())["asked"]["prefer"] == "big-offcut"
    assert run("check", batch, "big/plan.json").exit_code == 0


def test_bench_strokes_prints_what_is_more(run: Run) -> None:
    """A small run of the set: its table, exit 0 as no plan has a fault."""
    result = run("bench", "strokes", "--count", "2", "--rounds", "20", "--seed", "30")
    assert result.exit_code == 0, result.output
    assert "ruler settings" in result.stdout


def test_bench_prints_totals(run: Run) -> None:
    """A small bench has no faults and never more sheets than rectpack."""
    result = run("bench", "cards", "--count", "1", "--seed", "2", "--baseline")
    assert result.exit_code == 0, result.output
    assert "(0 better)" in result.output


def test_a_stage_that_there_is_not_is_refused(run: Run) -> None:
    """With the nearest one, before anything is measured."""
    result = run("bench", "few", "--without", "tree_creation")
    assert result.exit_code == 2
    assert "no stage is called 'tree_creation', the nearest is 'tree_recreation'" in result.output
    result = run("bench", "few", "--count", "1", "--rounds", "5", "--without", "tree_recreation")
    assert result.exit_code == 0, result.output


def test_standard_output_holds_nothing_but_the_figures(tmp_path: Path) -> None:
    """In a process of its own, so that what HiGHS prints would be seen, too."""
    words = ["plan", str(SAMPLES / "orchard.yaml"), "--format", "json", "--json", "--out", "plan"]
    done = subprocess.run(
        [sys.executable, "-m", "nesting.cli", *words],
        cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert json.loads(done.stdout)["all_cut"] is True
    assert not done.stderr


@pytest.mark.parametrize("words", [["schema"], ["--help"], ["enough", "--help"]])
def test_an_answer_that_has_no_room_on_the_disk_is_one_line(words: list[str]) -> None:
    """Standard output led into a file on a full disk; nothing of where the program stood is told."""
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        done = subprocess.run(
            [sys.executable, "-m", "nesting.cli", *words],
            env=os.environ | {"PYTHONPATH": str(ROOT)},
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.returncode == 1
    assert done.stderr == "the answer: No space left on device\n"


@pytest.mark.parametrize("name", ["", " ", "a\0b", "round", "round/x", "x" * 300])
@pytest.mark.parametrize("words", [["plan", "{}"], ["plan", "small.yaml", "--out", "{}"]])
def test_a_name_that_no_file_can_have_is_refused(run: Run, words: list[str], name: str) -> None:
    """An empty name, a NUL, links in a circle: exit 2, said in one line, before anything is done."""
    Path("round").symlink_to("round")
    before = files_below(Path())
    result = run(*(word.format(name) for word in words))
    assert result.exit_code == 2, result.output
    assert "Error: Invalid value" in result.output
    assert files_below(Path()) == before


def test_a_list_may_have_a_name_that_is_no_text(run: Run) -> None:
    """A byte that is not UTF-8 in the name of a CSV is replaced where the name is printed."""
    name = os.fsdecode(b"tags\xff.csv")
    Path(name).write_text("size,count\n2 x 3,4\n")
    result = run("plan", name, "--sheet", "12 x 12", "--format", "json", "--out", "plan")
    assert result.exit_code == 0, result.output
    assert json.loads(Path("plan/plan.json").read_bytes())["batch"] == "tags\ufffd"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--seconds", "nan"], "'nan'; expected a number, 0 or more."),
        (["--seconds", "soon"], "'soon'; expected a number, 0 or more."),
        (["--rounds", "1.5"], "'1.5'; expected a whole number, 0 or more."),
        (["--workers", "99999999999"], "expected a whole number, 1 to 256."),
    ],
)
def test_what_is_no_number_for_an_option_is_refused(run: Run, words: list[str], said: str) -> None:
    """What no machine has, no clock reaches or nobody counts is a slip: exit 2, in plain words."""
    result = run("plan", "small.yaml", *words)
    assert result.exit_code == 2
    assert said in result.output


def test_only_the_first_hundred_faults_are_said(run: Run) -> None:
    """Of thousands of faults, the first hundred, and how many more there are."""
    Path("many.yaml").write_text(SMALL + "".join(f"keey {n}: 1\n" for n in range(7_000)))
    result = run("plan", "many.yaml")
    assert result.exit_code == 2
    lines = result.stderr.splitlines()
    assert len(lines) == 101
    assert lines[99].startswith("many.yaml:112:1: unknown key 'keey 99'")
    assert lines[100] == "and 6,900 more"


@pytest.mark.parametrize(
    ("words", "meant"),
    [
        (["small.yaml"], "nesting plan small.yaml"),
        (["my supper.yaml", "--out", "p"], "nesting plan 'my supper.yaml' --out p"),
        (["tags.csv"], "nesting plan tags.csv"),
        (["plan/plan.json"], "nesting draw plan/plan.json"),
    ],
)
def test_a_file_without_a_command(run: Run, words: list[str], meant: str) -> None:
    """It is told what to type, with all that was typed."""
    result = run(*words)
    assert result.exit_code == 2
    assert f"{words[0]}: no command before the file. Type: {meant}\n" in result.stderr
    assert "No such command 'plna'" in run("plna", "small.yaml").stderr


def test_the_page_is_opened_on_a_folder(run: Run) -> None:
    """A batch file in place of its folder is told what to type."""
    result = run("page", "small.yaml")
    assert result.exit_code == 2
    assert result.stderr == "small.yaml: a file; expected its folder: nesting page .\n"


def test_help_begins_with_what_is_needed_first(run: Run) -> None:
    """Commands stand in the order of their use, and limits of numbers are no formulas."""
    commands = run("--help").stdout.partition("Commands:")[2].split("\n  ")[1:]
    assert [line.split()[0] for line in commands][:3] == ["plan", "enough", "check"]
    assert "x>=" not in run("plan", "--help").stdout


def test_a_list_in_another_unit_is_asked_about(run: Run, tmp_path: Path) -> None:
    """A sheet and a piece as small as a stamp are said, with the name of the list."""
    (tmp_path / "tags.csv").write_text("name,size,count\ntag,2 x 3 1/2,4\n")
    result = run("enough", "tags.csv", "--sheet", "12 x 12", "--unit", "mm")
    assert result.stderr.splitlines() == [
        "tags.csv: paper: a sheet of 12 x 12 mm; did you mean inches?",
        "tags.csv: tag: a piece of 2 x 3.5 mm; did you mean inches?",
    ]
