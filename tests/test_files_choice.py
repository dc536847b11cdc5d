"""Papers to choose from in files: names, faces, slashes, faults with their places, plans on disk."""

from pathlib import Path

import jsonschema
import pytest
from project import SAMPLES

from nesting.batch import PaperChoice, PaperOption
from nesting.cards.resolving import resolve
from nesting.checker import check
from nesting.files import InputError, batch_schema, read_batch, read_plan, write_plan
from nesting.pack import solve

BATCH = """\
batch: Orchard market
unit: in
papers:
  pear toss: {{sheet: 12 x 12, have: 1, front: four-way, back: one-way}}
  plum: {{sheet: 12 x 12, have: 1}}
  plum/front: {{sheet: 12 x 12, have: 1}}
cards:
  windfall:
    make: 2
    size: 4 x 5
    layers:
      - {{name: panel, paper: {paper}, reveal: 1/8}}
"""


def choice_of(folder: Path, paper: str) -> PaperChoice | None:
    """What a layer's ``paper`` is read as."""
    path = folder / "market.yaml"
    path.write_text(BATCH.format(paper=paper))
    return read_batch(path).cards[0].layers[0].choice


def test_papers_to_choose_are_read(tmp_path: Path) -> None:
    """A name with a face, a name that has a slash itself, and keys for whatever is left."""
    written = (
        "{one of: [pear toss/back, plum/front, plum/back, {paper: plum, face: front}], alike: each}"
    )
    assert choice_of(tmp_path, written) == PaperChoice(
        (
            PaperOption("pear toss", "back"),
            PaperOption("plum/front", "front"),  # a paper's whole name comes first
            PaperOption("plum", "back"),
            PaperOption("plum", "front"),
        ),
        "each",
    )
    assert choice_of(tmp_path, "{one of: [pear toss/back]}") is None
    assert choice_of(tmp_path, "plum") is None


@pytest.mark.parametrize(
    ("paper", "said"),
    [
        (
            "{one of: [plum, plumm]}",
            "12:46: paper 'plumm'; expected one of the papers; the nearest",
        ),
        ("{one of: [plum, pear toss]}", "12:46: no face, and 'pear toss' is printed on both"),
        ("{one of: [plum, {paper: plum, face: front}]}", "12:46: 'plum' twice"),
        ("{one of: [plum, {paper: plum, fac: front}]}", "12:60: unknown key 'fac'"),
        ("{one of: []}", "12:31: one of: an empty list; expected at least one entry"),
        ("{alike: all}", "12:23: no 'one of' in 'paper'; expected one of: the names of papers"),
        ("{one of: [plum], alike: some}", "12:54: alike: 'some'; expected all or each"),
        ("[plum]", "12:23: paper: a list; expected a name"),
        ("{one of: [plum, plum/front]}, face: front", "'face' beside papers to choose from"),
    ],
)
def test_faults_have_their_places(tmp_path: Path, paper: str, said: str) -> None:
    """One message with line and column, what was read and what was expected."""
    with pytest.raises(InputError) as error:
        choice_of(tmp_path, paper)
    (message,) = error.value.messages
    assert said in message


def test_a_plan_with_a_choice_comes_back_equal(tmp_path: Path) -> None:
    """What was chosen is in the plan on disk, which the checker accepts."""
    batch = read_batch(SAMPLES / "orchard-choice.yaml")
    plan = solve(batch)
    write_plan(plan, tmp_path / "plan.json")
    again = read_plan(tmp_path / "plan.json")
    assert again == plan
    assert check(batch, again) == ()
    assert resolve(batch).batch == batch == again.asked


def test_the_schema_knows_the_choice() -> None:
    """An editor accepts what the reader accepts, and not another key."""
    batch = {
        "batch": "Orchard market",
        "unit": "in",
        "first": "windfall",
        "papers": {"plum": {"sheet": "12 x 12", "have": 1}},
        "cards": {"windfall": {"make": 1, "size": "4 x 5", "layers": [{"reveal": "1/8"}]}},
    }
    layer = batch["cards"]["windfall"]["layers"][0]  # type: ignore[index]
    for paper, valid in (
        ("plum", True),
        ({"one of": ["plum", {"paper": "plum", "face": "back"}], "alike": "each"}, True),
        ({"one of": ["plum"], "alik": "each"}, False),
        ({"alike": "all"}, False),
    ):
        layer["paper"] = paper
        validator = jsonschema.Draft202012Validator(batch_schema())
        assert validator.is_valid(batch) is valid, paper
