"""As many as possible in files: how it is written, faults with their places, plans on disk."""

from pathlib import Path

import jsonschema
import pytest
from pack_cases import solved
from ruamel.yaml import YAML

from nesting.advice.variants import Change, with_changes
from nesting.batch import Batch
from nesting.files import (
    InputError,
    batch_schema,
    read_batch,
    read_draft,
    read_plan,
    with_changes_written,
    write_plan,
)
from nesting.files.plan_json import plan_to_data

BATCH = """\
batch: Orchard market
unit: in
aim: even
spares: 1
papers:
  pear toss: {sheet: 12 x 12, have: 1, front: four-way}
  cream: {sheet: letter, have: plenty}
cards:
  windfall:
    make: as many as possible
    at least: 2
    at most: 5
    size: 4 x 5
    layers: [{paper: pear toss, reveal: 1/8}]
  cider:
    make: 1
    size: 4 x 5
    layers: [{paper: pear toss, reveal: 1/8}]
  blossom:
    make: As many  as possible
    size: 4 x 5
    layers: [{paper: pear toss, reveal: 1/8}]
"""
OPEN = "make: As many  as possible\n    size: 4 x 5\n    layers: [{paper: pear toss, reveal: 1/8}]"


def read(folder: Path, text: str = BATCH) -> Batch:
    """The batch of a file with that text."""
    path = folder / "market.yaml"
    path.write_text(text)
    return read_batch(path)


def test_it_is_read(tmp_path: Path) -> None:
    """Words in place of a number, limits beside them; spares of the file are for numbered designs."""
    batch = read(tmp_path)
    assert [(c.make, c.at_least, c.at_most, c.spares) for c in batch.cards] == [
        (None, 2, 5, 0),
        (1, 0, None, 1),
        (None, 0, None, 0),
    ]
    assert batch.aim == "even"


def test_editors_know_it() -> None:
    """The schema takes it, and no other words."""
    batch = YAML(typ="safe").load(BATCH.replace("As many  as", "as many as"))
    jsonschema.validate(batch, batch_schema())
    batch["cards"]["blossom"]["make"] = "as many as you like"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(batch, batch_schema())


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "as many as possible\n    at l",
            "as many as you like\n    at l",
            ":10:11: make: 'as many as you like'; expected a whole number, 1 or more, or 'as many as possible'",
        ),
        (
            "at least: 2",
            "at lest: 2",
            ":11:5: unknown key 'at lest'; expected 'at least', the nearest",
        ),
        (
            "at least: 2",
            "at least: 6",
            ":11:15: at least 6 and at most 5; expected at most 6 or more",
        ),
        ("at most: 5", "at most: 0", ":12:14: at most: '0'; expected a whole number, 1 or more"),
        (
            "make: 1",
            "make: 1\n    at most: 3",
            ":17:14: at most 3 beside a number; expected as many as possible in place of that",
        ),
        (
            "at least: 2",
            "spares: 2",
            ":11:13: spares of windfall, made as many as possible; expected no spares",
        ),
        (
            "aim: even",
            "aim: evn",
            ":3:6: aim: 'evn'; expected most cards or even; the nearest is 'even'",
        ),
        (
            OPEN,
            OPEN.replace("pear toss", "cream"),
            ":20:11: as many as possible of 'blossom', and no paper limits the number; expected at most: N",
        ),
    ],
)
def test_faults_have_their_place(tmp_path: Path, old: str, new: str, said: str) -> None:
    """What was read and what was expected, once each."""
    with pytest.raises(InputError) as caught:
        read(tmp_path, BATCH.replace(old, new, 1))
    (message,) = caught.value.messages
    assert said in message


def test_plans_on_disk(tmp_path: Path) -> None:
    """What is written is read again; of a batch that asks for numbers only, nothing new is written."""
    plan = solved(read(tmp_path))
    assert plan.one_more
    write_plan(plan, tmp_path / "plan.json")
    assert read_plan(tmp_path / "plan.json") == plan
    text = BATCH.replace("as many as possible", "2").replace("As many  as possible", "1")
    text = text.replace("aim: even\n", "").replace("    at least: 2\n    at most: 5\n", "")
    data = plan_to_data(solved(read(tmp_path, text)))
    assert "one_more" not in data
    assert "aim" not in data["asked"]
    assert not {"at_most", "at_least"} & data["asked"]["cards"][0].keys()


def test_a_change_is_written_in_words(tmp_path: Path) -> None:
    """A number changed to as many as possible is written as the file has it."""
    text = BATCH.replace("spares: 1\n", "")
    changes = (Change(("cards", "cider", "make"), None),)
    after = with_changes(read(tmp_path, text), changes)
    draft = with_changes_written(read_draft(text, "market.yaml"), changes, after)
    assert "  cider:\n    make: as many as possible\n" in draft.text
