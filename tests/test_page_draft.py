"""The draft: fields by pointer, whatever way the file has them written."""

import pytest

from nesting.files import InputError, read_draft
from nesting.page.folder.draft import Draft, new_batch, pointer_of

FILE = """\
batch: Supper
unit: in
papers:
  pear/toss: {sheet: 12 x 12, have: 3, front: four-way, buy: yes}
cards:
  windfall:
    make: 8
    size: 4 x 5
    layers:
      - {name: mat, paper: pear/toss, reveal: 1/8, at: {left: 1}}
"""
PAPER = "/papers/pear~1toss"
LAYER = "/cards/windfall/layers/0"


def draft() -> Draft:
    """A small batch."""
    return Draft(read_draft(FILE, "supper.yaml"))


@pytest.mark.parametrize(
    ("pointer", "text", "line"),
    [
        (f"{PAPER}/front/print", "one-way", "front: one-way"),
        (f"{PAPER}/front/up", "left", "front: {print: four-way, up: left}"),
        (f"{PAPER}/back/print", "two-way", "back: two-way"),
        (f"{PAPER}/back/up", "left", "back: {print: plain, up: left}"),
        (f"{PAPER}/barcode strip/edge", "left", "barcode strip: {edge: left, width: 1/2, beyond the sheet: true}"),
        (f"{LAYER}/reveal", "1/4", "reveal: 1/4"),
        (f"{LAYER}/reveal/top", "1/4", "reveal: {left: 1/8, right: 1/8, top: 1/4, bottom: 1/8}"),
        (f"{LAYER}/reveal/top", "", "reveal: {left: 1/8, right: 1/8, bottom: 1/8}"),
        (f"{LAYER}/die allowance", "1/8", "die allowance: 1/8"),
        ("/trimmer/hand", "left", "trimmer:\n  hand: left"),
        ("/lap", "1/2", "lap: 1/2"),
    ],
)  # fmt: skip
def test_a_field_is_written_as_a_user_would(pointer: str, text: str, line: str) -> None:
    """Short where a text does, spelled out where it no longer does, with what a mapping needs."""
    after = draft().with_field(pointer, text)
    assert line in after.text
    assert after.value(pointer) == (text or None)


@pytest.mark.parametrize(
    ("pointer", "gone"),
    [
        (f"{PAPER}/front/print", ", front: four-way"),
        (f"{PAPER}/sheet", "sheet: 12 x 12, "),
        (f"{LAYER}/at/left", ", at: {left: 1}"),
        (f"{LAYER}/reveal", ", reveal: 1/8"),
    ],
)
def test_an_empty_field_takes_its_key_away(pointer: str, gone: str) -> None:
    """And the mapping that is nothing without it, but no paper and no card."""
    assert draft().with_field(pointer, "").text == FILE.replace(gone, "")


def test_a_face_goes_with_its_paper() -> None:
    """It stays between two that are printed on both faces; of another paper none is named."""
    after = draft()
    for name, back in (("bee stripe", "two-way"), ("plum dots", "one-way")):
        paper = {"sheet": "A4", "have": "3", "front": "one-way", "back": back}
        after = after.with_entry("/papers", name, paper)
    faces = []
    for name in ("bee stripe", "plum dots", "pear/toss"):
        after = after.with_field(f"{LAYER}/paper", name)
        faces.append(after.value(f"{LAYER}/face"))
        after = after.with_field(f"{LAYER}/face", "back") if faces == ["front"] else after
    assert faces == ["front", "back", None]


def test_the_last_of_a_paper_leaves_the_paper() -> None:
    """Its name stays, with what is lacking said beside it."""
    after = draft()
    for key in ("sheet", "have", "front/print", "buy"):
        after = after.with_field(f"{PAPER}/{key}", "")
    assert "  pear/toss: {}\n" in after.text
    assert after.faults[f"{PAPER}/sheet"] == [
        "no 'sheet' in 'pear/toss'; expected sheet: width x height"
    ]
    assert f"{PAPER}/have" in after.faults


def test_another_size_of_a_paper_in_its_own_style() -> None:
    """The one size that it had becomes the first of a list, where and as the paper is written."""
    text = "papers:\n  oat:\n    sheet: 12 x 12\n    have: 3\n  rye: {sheet: 8 x 8, have: 1}\n"
    after = Draft(read_draft(text, "supper.yaml"))
    for paper in ("oat", "rye"):
        after = after.with_entry(f"/papers/{paper}/sheets", "", {"size": "3 x 4", "have": "1"})
    assert after.text == (
        "papers:\n  oat:\n    sheets:\n      - {size: 12 x 12, have: 3}\n      - {size: 3 x 4, have: 1}\n"
        "  rye: {sheets: [{size: 8 x 8, have: 1}, {size: 3 x 4, have: 1}]}\n"
    )


def test_layers_over_one_without_a_name_follow_the_one_it_is_given() -> None:
    """They go by its number until then."""
    band = "      - {name: band, paper: pear/toss, height: 1, over: layer 1}\n"
    before = Draft(read_draft(FILE.replace("name: mat, ", "") + band, "supper.yaml"))
    after = before.with_field(f"{LAYER}/name", "field")
    assert before.faults == after.faults
    assert after.value("/cards/windfall/layers/1/over") == "field"


@pytest.mark.parametrize(
    ("pointer", "text"),
    [
        (f"{PAPER}/buy", "true"),
        (f"{PAPER}/back/print", "plain"),
        (f"{PAPER}/front/up", "top"),
        (f"{PAPER}/barcode strip/edge", ""),
        ("/trimmer/can stop", "false"),
        ("/aim", "most cards"),
    ],
)
def test_what_a_choice_shows_is_not_written(pointer: str, text: str) -> None:
    """A form without script sends all that it shows; the file says it already, or need not."""
    assert draft().with_field(pointer, text).text == FILE


def test_a_pointer_is_that_of_the_standard() -> None:
    """RFC 6901, section 5: ~1 for /, ~0 for ~, and numbers in lists alone."""
    for path in (
        ("papers", "pear/toss", "have"),
        ("papers", "~1", "0"),
        ("cards", "windfall", "layers", 0),
    ):
        assert draft().path(pointer_of(path)) == path
    with pytest.raises(InputError):
        draft().path("papers")


def test_a_new_batch_is_a_draft_without_faults() -> None:
    """In either unit, under any name."""
    for unit in ("in", "mm", "cm"):
        new = Draft(read_draft(new_batch("kraft #2: yes", unit), "new.yaml"))
        assert (new.faults, new.value("/batch"), new.unit) == ({}, "kraft #2: yes", unit)
    with pytest.raises(InputError, match="expected a name"):
        new_batch("", "in")
