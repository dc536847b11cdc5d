"""``plan --after``: what is said back, what is refused, where the next plan goes."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from nesting.batch import Moved
from nesting.cli import main
from nesting.files import plan_to_json, read_batch, read_plan
from nesting.going_on import go_on
from nesting.mark import mark_of
from nesting.record import read_record

MARKET = """\
batch: Orchard market
unit: in
papers:
  pear toss: {sheet: 12 x 12, have: 3, buy: false}
  cream: {sheet: 8 1/2 x 11, have: 1}
cards:
  windfall:
    make: 20
    size: 4 1/4 x 5 1/2
    layers:
      - {name: panel, paper: pear toss, reveal: 1/8}
pieces:
  - {name: tag, size: 2 x 3, paper: cream, count: 12}
"""

Run = Callable[..., Result]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run a command in a folder that holds ``market.yaml`` and its plan."""
    monkeypatch.chdir(tmp_path)
    Path("market.yaml").write_text(MARKET)

    def invoke(*words: str) -> Result:
        return CliRunner().invoke(main, list(words), catch_exceptions=False)

    invoke("plan", "market.yaml", "--format", "json")
    return invoke


def after(run: Run, *words: str) -> Result:
    """Go on from the plan of the market."""
    plan = ("plan", "market.yaml", "--after", "market-plan/plan.json", "--format", "json")
    return run(*plan, *words)


def test_the_rest_is_planned_into_a_folder_of_its_own(run: Run) -> None:
    """The bags are said, the plan names the one before, and both are sound."""
    first = read_plan("market-plan/plan.json")
    result = after(run, "--done", "1: 1 sheet")
    assert "Written to market-plan-2: plan.json." in result.stdout
    assert "In the bags: 6 A panel; to cut: 12 A panel, 12 B tag." in result.stdout
    assert f"it goes on from {mark_of(first)}." in result.stdout
    assert run("check", "market.yaml", "market-plan-2/plan.json").exit_code == 0
    data = json.loads(Path("market-plan-2/plan.json").read_text("utf-8"))
    assert data["after"][0]["done"] == "1: 1 sheet"
    assert data["after"][0]["mark"] == mark_of(first)
    again = run(
        "plan", "market.yaml", "--after", "market-plan-2/plan.json", "--format", "json",
        "--done", "1: 1 sheet",
    )  # fmt: skip
    assert "Written to market-plan-3: plan.json." in again.stdout
    assert "In the bags: 12 A panel" in again.stdout


def test_check_works_out_what_was_cut_before(run: Run) -> None:
    """With the earlier plan the check trusts nothing; without it, it says so; another plan is refused."""
    after(run, "--done", "1: 1 sheet")
    alone = run("check", "market.yaml", "market-plan-2/plan.json")
    mark = mark_of(read_plan("market-plan/plan.json"))
    assert f"What was cut of {mark} is taken on trust; --after checks it." in alone.stdout
    check = ("check", "market.yaml", "market-plan-2/plan.json", "--after")
    both = run(*check, "market-plan/plan.json")
    assert both.exit_code == 0
    assert "trust" not in both.stdout
    run("plan", "market.yaml", "--after", "market-plan-2/plan.json", "--format", "json")
    third = run(
        "check", "market.yaml", "market-plan-3/plan.json", "--after", "market-plan-2/plan.json"
    )
    said = f"What was cut of {mark} is taken on trust; check market-plan-2/plan.json with --after"
    assert said in third.stdout
    other = run(*check, "market-plan-2/plan.json")
    assert other.exit_code == 1
    assert f"it goes on from the plan {mark}; the earlier plan is" in other.stdout


def test_a_number_in_the_batch_knows_of_nothing_that_was_cut(run: Run) -> None:
    """A sheet that a plan calls on record in the stash is cut again only if the batch asks the stash."""
    plan, batch, record = (
        read_plan("market-plan/plan.json"),
        read_batch("market.yaml"),
        "1: 1 sheet",
    )
    begun = go_on(batch, plan, read_record(record)).asked.begun
    assert begun is not None
    forged = go_on(batch, plan, read_record(record), on_record=Moved(gone=begun.moved.gone))
    Path("forged.json").write_text(plan_to_json(forged), "utf-8")
    result = run("check", "market.yaml", "forged.json", "--after", "market-plan/plan.json")
    assert result.exit_code == 1
    assert "pear toss: some that was cut is said to be on record" in result.stdout


def test_what_was_read_is_said_back(run: Run) -> None:
    """A line for each layout that is begun, with every one of its sheets; what it gave and left."""
    result = after(run, "--done", "1: step 1 of 1 sheet, 2", "--spoilt", "1: step 2 of 1 sheet")
    assert result.stderr.splitlines() == [
        "layout 1, pear toss: 1 sheet cut up to step 1, 1 sheet lost at step 2, 1 not begun",
        "layout 2, cream: 1 sheet cut",
        "cut by this record: 12 B tag",
        "left to cut from, pear toss, in inches: 12 x 1 1/2 (2 of them); 12 x 5 1/4 (2 of them)",
        "left to cut from, cream, in inches: 8 1/2 x 2; 1/2 x 9",
    ]


def test_nothing_done_says_so(run: Run) -> None:
    """Without a record nothing is cut, and the layouts stay."""
    result = after(run)
    assert result.stderr == "nothing is cut yet\n"
    assert (
        read_plan("market-plan-2/plan.json").layouts == read_plan("market-plan/plan.json").layouts
    )


def test_only_some_cards_can_be_finished(run: Run) -> None:
    """Of twenty cards the paper gives eighteen, of which six need nothing more."""
    result = after(run, "--done", "1: 1 sheet")
    words = (
        "Of windfall, 18 of 20 can be finished; first 6, for which all is in the bags; "
        "the others take layout 1."
    )
    assert words in result.stdout


def test_what_is_left_over_is_listed(run: Run) -> None:
    """After an edit of the tag its twelve are in no card's way, and not forgotten."""
    Path("market.yaml").write_text(MARKET.replace("2 x 3,", "2 x 3 1/2,"))
    result = after(run, "--done", "2")
    assert (
        "Left over in the bags, as this plan has no need of them: 12 B tag, 2 x 3 in of cream."
        in (result.stdout)
    )
    assert "12 C tag" in result.stdout
    assert run("check", "market.yaml", "market-plan-2/plan.json").exit_code == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--done", "1 1 sheet"), "--done: '1 1 sheet'; the nearest that reads is '1: 1 sheet'"),
        (("--spoilt", "one"), "--spoilt: 'one'; the nearest that reads is '1'"),
        (("--done", "9"), "market-plan/plan.json: '9'; the plan has layouts 1-2"),
        (
            ("--done", "7, x", "--spoilt", "y"),
            "--done: 'x'; the nearest that reads is '1'\n--spoilt: 'y'; the nearest that reads is '1'\n",
        ),
        (
            ("--done", "7", "--spoilt", "9"),
            "market-plan/plan.json: '7'; the plan has layouts 1-2\nmarket-plan/plan.json: '9'; ",
        ),
    ],
)
def test_what_does_not_read_is_refused(run: Run, words: tuple[str, ...], said: str) -> None:
    """A message each with the nearest that reads, or with what the plan has; nothing is written."""
    before = sorted(Path().rglob("*"))
    result = after(run, *words)
    assert result.exit_code == 2
    assert said in result.stderr
    assert sorted(Path().rglob("*")) == before


def test_a_record_tells_of_a_plan(run: Run) -> None:
    """Without the plan it is refused."""
    result = run("plan", "market.yaml", "--done", "1")
    assert result.exit_code == 2
    assert "--done and --spoilt go with --after PLAN" in result.stderr


def test_a_plan_that_was_changed_is_not_gone_on_from(run: Run) -> None:
    """What is in the bags is worked out from it, so it has to be sound."""
    path = Path("market-plan/plan.json")
    path.write_text(path.read_text("utf-8").replace('"demand": 12', '"demand": 13'))
    result = after(run, "--done", "2")
    assert result.exit_code == 1
    assert "market-plan/plan.json has faults; nothing was planned after it." in result.stderr
    assert not Path("market-plan-2").exists()


def test_fewer_sheets_than_are_cut_are_refused(run: Run) -> None:
    """The batch file goes on saying what there was at first."""
    Path("market.yaml").write_text(MARKET.replace("have: 3", "have: 1"))
    result = after(run, "--done", "1: 2 sheets")
    assert result.exit_code == 2
    assert "market.yaml:4:3: have: 1; expected the number at first" in result.stderr


def test_what_was_bought_is_asked_for(run: Run) -> None:
    """Where more is cut than the batch has, its number has to be raised."""
    Path("market.yaml").write_text(MARKET.replace("have: 1", "have: 0"))
    result = after(run, "--done", "2")
    assert (
        "cream: the batch has 0 of 8 1/2 x 11 in, and more are cut: 1; add what was bought to its have"
        in (result.stderr)
    )


def test_a_size_of_sheets_that_is_there_no_more_is_told(run: Run) -> None:
    """What was cut of it cannot be taken off another size."""
    Path("market.yaml").write_text(MARKET.replace("sheet: 12 x 12,", "sheet: 11 x 14,"))
    result = after(run, "--done", "1: 2 sheets")
    assert (
        "pear toss: 2 of 12 x 12 in are cut; the batch has no sheets of this size" in result.stderr
    )
    assert read_plan("market-plan-2/plan.json").papers[0].have == 3


def test_a_paper_of_another_name_is_told(run: Run) -> None:
    """What was cut under the old name cannot be taken off the new one, which has as many as ever."""
    Path("market.yaml").write_text(MARKET.replace("pear toss", "blue pears"))
    for sheets, are in (("1 sheet", "1 of 12 x 12 in is"), ("2 sheets", "2 of 12 x 12 in are")):
        result = after(run, "--done", f"1: {sheets}", "--force")
        words = f"pear toss: {are} cut; the batch has no paper of this name, and no other has fewer"
        assert words in result.stderr
    assert read_plan("market-plan-2/plan.json").papers[0].have == 3


def test_the_seed_is_that_of_the_plan(run: Run) -> None:
    """Unless another one is given."""
    run("plan", "market.yaml", "--seed", "7", "--out", "seven", "--format", "json")
    words = ("plan", "market.yaml", "--after", "seven/plan.json", "--done", "2", "--format", "json")
    run(*words, "--out", "own")
    run(*words, "--out", "other", "--seed", "0")
    seeds = [read_plan(f"{folder}/plan.json").seed for folder in ("own", "other")]
    assert seeds == [7, 0]


def test_papers_of_the_stash_are_taken_off_once(
    run: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Whether the stash knows of the record or not; what it knows need not be said again."""
    import platformdirs

    monkeypatch.setattr(platformdirs, "user_data_path", lambda *_, **__: tmp_path / "kept")
    run("stash", "add", "pear toss", "12 x 12", "--count", "3", "--no-buy")
    asked = MARKET.replace("{sheet: 12 x 12, have: 3, buy: false}", "stash")
    Path("market.yaml").write_text(asked)
    run("plan", "market.yaml", "--out", "first", "--format", "json")
    words = ("plan", "market.yaml", "--after", "first/plan.json", "--format", "json")
    run(*words, "--done", "1: 1 sheet", "--out", "unknown")
    assert run("stash", "use", "first/plan.json", "--done", "1: 1 sheet").exit_code == 0
    run(*words, "--done", "1: 1 sheet", "--out", "known")
    result = run(*words, "--out", "unsaid")
    assert "layout 1, pear toss: 1 sheet cut, 2 not begun" in result.stderr
    for folder in ("unknown", "known", "unsaid"):
        plan = read_plan(f"{folder}/plan.json")
        assert (plan.papers[0].have, plan.pieces[0].in_bags) == (2, 6)
        assert run("check", "market.yaml", f"{folder}/plan.json").exit_code == 0
    mixed = "{sheets: [{size: 12 x 12, have: 3}, {size: 6 x 6, have: stash}], buy: false}"
    run("stash", "add", "pear toss", "6 x 6", "--count", "1")
    Path("market.yaml").write_text(asked.replace("stash", mixed))
    run(*words, "--out", "mixed")
    assert read_plan("mixed/plan.json").papers[0].have == 3
