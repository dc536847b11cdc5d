"""Changes written into a batch file: comments, order and spaces stay; the result is what was asked."""

from pathlib import Path

import pytest
from project import SAMPLES

from nesting.advice.small_changes import change_families
from nesting.advice.variants import Change, with_changes
from nesting.batch import Batch
from nesting.cards.resolving import resolve
from nesting.files import InputError, read_batch, read_draft, read_text, with_changes_written
from nesting.papers import Edges
from nesting.typed_lengths import parse_length, parse_size

SUPPER = """\
# For the supper in the orchard.
batch:   Orchard supper      # its name
unit: in
papers:
  pear toss:
    sheets:
      - size: 12 x 12   # whole
        have: 3
    front: one-way
    back: four-way
cards:
  windfall:
    size: 4 1/4 x 5 1/2
    make: 8             # eight guests
    layers:
      - name: mat
        paper: pear toss
        face: "front"
        reveal:
          left: 1/8     # narrow
          top: 1/4
      - paper: pear toss
        face: back
        width: 2
        height: 1 1/2

# the end
"""


def applied(path: Path, *changes: Change) -> str:
    """The text with the changes, which gives the changed batch."""
    return written(path, changes, with_changes(read_batch(path), changes))


def written(path: Path, changes: tuple[Change, ...], after: Batch) -> str:
    """The text with the changes, which has to give a batch."""
    draft = read_draft(read_text(path, "a batch file"), path.name)
    return with_changes_written(draft, changes, after).text


def inches(*texts: str) -> list[int]:
    """Lengths in inches, in nm."""
    return [parse_length(text, "in") for text in texts]


@pytest.mark.parametrize(("sample", "every"), [("orchard-short", 4), ("cider", 2)])
def test_small_changes_of_a_sample_touch_only_their_lines(sample: str, every: int) -> None:
    """The new file gives the changed batch, and all other lines are the same, byte for byte.

    Middles are a line more, which has a test of its own.
    """
    path = SAMPLES / f"{sample}.yaml"
    batch, old = read_batch(path), path.read_text().splitlines()
    tried = 0
    families = [one for one in change_families(resolve(batch)) if one.kind != "middles"]
    for family in families[::every]:
        for step in family.steps[:1]:
            after = with_changes(batch, step.changes)
            if resolve(after).faults:
                continue
            new = written(path, step.changes, after).splitlines()
            assert len(new) == len(old)
            different = sum(one != other for one, other in zip(old, new, strict=True))
            assert 1 <= different <= len(step.changes)
            tried += 1
    assert tried > 10


@pytest.mark.parametrize(
    ("change", "old", "new"),
    [
        (Change(("cards", "windfall", "make"), 7), "make: 8  ", "make: 7  "),
        (Change(("cards", "windfall", "size"), parse_size("4 x 5 1/2", "in")), "4 1/4 x 5 1/2", "4 x 5 1/2"),
        (Change(("cards", "windfall", "layers", 1, "turn"), "must"), "height: 1 1/2\n", "height: 1 1/2\n        turn: must\n"),
        (Change(("cards", "windfall", "layers", 1, "size"), parse_size("1 7/8 x 1", "in")), "width: 2\n        height: 1 1/2", "width: 1 7/8\n        height: 1"),
        (Change(("cards", "windfall", "layers", 0, "turn"), "may"), "top: 1/4\n", "top: 1/4\n        turn: may\n"),
        (Change(("papers", "pear toss", "sheet"), parse_size("210 x 297 mm", "in")), "size: 12 x 12", "size: 210 x 297 mm"),
        (Change(("papers", "pear toss", "have"), 0), "have: 3", "have: 0"),
    ],
)  # fmt: skip
def test_a_value_is_replaced_where_it_stands(
    tmp_path: Path, change: Change, old: str, new: str
) -> None:
    """In block style, in quotes, in a list of sheets; a key that is not there comes last."""
    path = tmp_path / "supper.yaml"
    path.write_text(SUPPER)
    assert applied(path, change) == SUPPER.replace(old, new, 1)


def test_a_reveal_for_each_edge(tmp_path: Path) -> None:
    """Edges are changed where they are written; those that were not are added."""
    path = tmp_path / "supper.yaml"
    path.write_text(SUPPER)
    left, right, top, bottom = inches("3/16", "1/16", "5/16", "1/16")
    text = applied(path, Change(("cards", "windfall", "layers", 0, "reveal"), Edges(left, right, top, bottom)))  # fmt: skip
    for line in ("left: 3/16     # narrow\n", "right: 1/16\n", "top: 5/16\n", "bottom: 1/16\n"):
        assert line in text


def test_windows_line_ends_stay(tmp_path: Path) -> None:
    """A file with carriage returns keeps them, added lines included."""
    path = tmp_path / "supper.yaml"
    path.write_bytes(SUPPER.replace("\n", "\r\n").encode())
    text = applied(path, Change(("cards", "windfall", "layers", 0, "turn"), "may"))
    assert text.count("\r\n") == text.count("\n") == SUPPER.count("\n") + 1


def test_a_value_that_several_places_share_is_not_changed(tmp_path: Path) -> None:
    """Behind an alias the change would reach further than was said: refused. The alias itself goes alone."""
    path = tmp_path / "supper.yaml"
    path.write_text(SUPPER.replace("have: 3", "have: &few 3").replace("make: 8", "make: *few"))
    with pytest.raises(InputError, match="aliases"):
        applied(path, Change(("papers", "pear toss", "have"), 5))
    assert "make: 5   " in applied(path, Change(("cards", "windfall", "make"), 5))


def test_the_other_face_in_quotes_and_its_turn(tmp_path: Path) -> None:
    """Quotes go with the value they were round; the turn that the print of the other face allows is added."""
    path = tmp_path / "supper.yaml"
    path.write_text(SUPPER)
    layer = ("cards", "windfall", "layers", 0)
    text = applied(path, Change((*layer, "face"), "back"), Change((*layer, "turn"), "may"))
    assert text == SUPPER.replace('face: "front"', "face: back").replace(
        "top: 1/4\n", "top: 1/4\n        turn: may\n"
    )


@pytest.mark.parametrize("unit", ["mm", "cm"])
def test_a_length_that_the_unit_cannot_write_briefly(tmp_path: Path, unit: str) -> None:
    """A side of 3 1/8 in in a metric file stays exact when the other side is changed."""
    path = tmp_path / "tags.yaml"
    path.write_text(f"""\
batch: Tags
unit: {unit}
papers: {{oat: {{sheet: 210 x 297 mm, have: 3}}}}
cards: {{tag: {{make: 2, size: 3 1/8 x 5 in, base: {{paper: oat}}}}}}
""")
    width = parse_length("3 1/8", "in")
    text = applied(path, Change(("cards", "tag", "size"), (width, 126_000_000)))
    assert "size: 79.375" in text


def test_saving_middles_is_a_line_of_the_file(tmp_path: Path) -> None:
    """Where nothing is said of middles, a key of the file says it; what was said is changed."""
    text = (SAMPLES / "orchard.yaml").read_text(encoding="utf-8")
    path = tmp_path / "orchard.yaml"
    change = Change(("save middles",), value=True)
    for said in ("", "save middles: false\n"):
        path.write_text(text + said, encoding="utf-8")
        assert "save middles: true\n" in applied(path, change)
