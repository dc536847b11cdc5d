"""Batch files changed place by place: what is not changed stays, byte for byte."""

from difflib import unified_diff
from pathlib import Path
from typing import Any

import pytest
from project import SAMPLE_BATCHES

from nesting.files import BatchDraft, InputError, read_draft

NEW = "batch: Supper\nunit: in\n"


def difference(before: str, after: str) -> list[str]:
    """The lines that went, with ``-``, and those that came, with ``+``."""
    lines = unified_diff(before.splitlines(), after.splitlines(), n=0, lineterm="")
    return [line for line in lines if line[:1] in "-+" and line[:3] not in ("---", "+++")]


def texts(data: Any, path: tuple[str | int, ...] = ()) -> list[tuple[tuple[str | int, ...], str]]:
    """Every text of a file with its path."""
    if isinstance(data, str):
        return [(path, data)]
    pairs = data.items() if isinstance(data, dict) else enumerate(data)
    return [found for key, value in pairs for found in texts(value, (*path, key))]


@pytest.mark.parametrize("sample", SAMPLE_BATCHES, ids=lambda path: path.stem)
def test_any_value_of_a_sample_can_be_changed_alone(sample: Path) -> None:
    """Every value replaced by another leaves all the rest of the file as it was."""
    draft = read_draft(sample.read_text("utf-8"), sample.name)
    for path, old in texts(draft.data):
        changed = draft.write(path, "7/8, #")
        assert changed.value(path) == "7/8, #"
        assert changed.text.replace("'7/8, #'", old, 1) == draft.text or old not in draft.text
        assert len(difference(draft.text, changed.text)) == 2


@pytest.mark.parametrize("sample", SAMPLE_BATCHES, ids=lambda path: path.stem)
def test_a_sample_read_as_a_draft_is_the_batch(sample: Path) -> None:
    """A whole file has a batch and no faults."""
    draft = read_draft(sample.read_text("utf-8"), sample.name)
    assert draft.batch is not None
    assert draft.batch == draft.sound
    assert not draft.faults


def test_a_file_is_a_draft_before_there_is_anything_to_cut() -> None:
    """Neither papers nor cards is no fault yet; a paper without cards neither."""
    empty = read_draft(NEW, "supper.yaml")
    assert (empty.faults, empty.batch) == ((), None)
    papers = empty.write(("papers", "cream"), {"sheet": "12 x 12", "have": "3"})
    assert papers.faults == ()
    assert papers.batch is not None
    assert [paper.name for paper in papers.batch.papers] == ["cream"]
    assert papers.text == NEW + "papers:\n  cream:\n    sheet: 12 x 12\n    have: 3\n"


def test_what_is_sound_is_there_beside_faults() -> None:
    """A paper without a number has a fault at its place, and the rest of the batch is read."""
    draft = read_draft(f"{NEW}papers: {{cream: {{sheet: 12 x 12}}}}\n", "supper.yaml")
    assert [(fault.path, fault.read) for fault in draft.faults] == [
        (("papers", "cream", "have"), "no 'have' in 'cream'")
    ]
    assert draft.batch is None
    assert draft.sound is not None


def test_a_slip_is_asked_about_beside_what_it_leads_to() -> None:
    """Nothing fits a sheet of 12 x 12 mm: that sheet is asked about where the cards have the fault."""
    papers = "unit: mm\npapers: {cream: {sheet: 12 x 12, have: 3}}\n"
    cards = "cards: {supper: {make: 2, size: 105 x 148, base: {paper: cream, fold: left}}}\n"
    draft = read_draft(f"batch: Supper\n{papers}{cards}", "supper.yaml")
    assert [fault.path[:2] for fault in draft.faults] == [("cards", "supper")]
    asked = "cream: a sheet of 12 x 12 mm; did you mean inches?"
    assert draft.warnings == ((("papers", "cream", "sheet"), asked),)


def test_what_is_no_yaml_is_refused_with_its_place() -> None:
    """There is nothing to show of it."""
    with pytest.raises(InputError, match=r"supper\.yaml:2:"):
        read_draft("batch: Supper\n  unit: [in\n", "supper.yaml")


COMMENTED = """\
batch: Supper
unit: in
papers:
  # the good one
  pear toss: {sheet: 12 x 12, have: 3}   # from the fair
  cream:
    sheet: A4

    have: plenty  # always
cards:
  windfall:
    make: 8
    size: 4 x 5
    layers:
      # first
      - {paper: cream, reveal: 1/8}  # mat
      # then
      - paper: pear toss
        reveal: 1/8
# the end
"""


def commented() -> BatchDraft:
    """A file with comments in every kind of place."""
    return read_draft(COMMENTED, "supper.yaml")


def test_new_keys_come_last_in_the_style_of_their_place() -> None:
    """In brackets between them, else on a line of their own, before the blank lines that follow."""
    one = commented().write(("papers", "pear toss", "buy"), "false")
    assert "  pear toss: {sheet: 12 x 12, have: 3, buy: false}   # from the fair\n" in one.text
    other = commented().write(("papers", "cream", "grain"), "long")
    assert "    have: plenty  # always\n    grain: long\ncards:" in other.text
    face = commented().write(("cards", "windfall", "layers", 1, "face"), "back")
    assert "        reveal: 1/8\n        face: back\n# the end\n" in face.text


def test_entries_change_places_with_their_comments() -> None:
    """What stands above an entry and behind it goes with it."""
    swapped = commented().swap(("cards", "windfall", "layers"), 0, 1)
    assert swapped.text.endswith(
        "    layers:\n"
        "      # then\n      - paper: pear toss\n        reveal: 1/8\n"
        "      # first\n      - {paper: cream, reveal: 1/8}  # mat\n"
        "# the end\n"
    )


def test_entries_are_taken_out_and_added() -> None:
    """The last of a list goes as the first does; the others keep their lines."""
    draft = commented()
    for number, left in ((0, "pear toss"), (1, "cream")):
        removed = draft.remove(("cards", "windfall", "layers", number))
        assert [layer["paper"] for layer in removed.value(("cards", "windfall", "layers"))] == [
            left
        ]
    added = draft.append(("cards", "windfall", "layers"), {"paper": "cream", "circle": "2"})
    assert "        reveal: 1/8\n      - {paper: cream, circle: 2}\n# the end\n" in added.text


def test_a_copy_is_word_for_word() -> None:
    """Comments and order are those of what is copied."""
    copied = commented().copy(("cards", "windfall"), "windfall, again")
    body = COMMENTED.partition("  windfall:\n")[2].removesuffix("# the end\n")
    assert copied.text == COMMENTED.replace("# the end", f"  windfall, again:\n{body}# the end")


def test_windows_line_ends_and_a_missing_last_one_stay() -> None:
    """New lines end as the others do, and the last line is not run into."""
    text = "batch: Supper\r\nunit: in\r\npapers:\r\n  cream: {sheet: A4, have: 3}"
    draft = read_draft(text, "supper.yaml").write(("papers", "kraft #2"), {"sheet": "A4"})
    assert draft.text == f"{text}\r\n  'kraft #2':\r\n    sheet: A4"


@pytest.mark.parametrize("name", ["2024", "kraft #2", "a: b", "[x", "it's", '"', "- a", "yes", "é☃", "*a", "!b", "{", "a, b"])  # fmt: skip
def test_any_name_is_written_so_that_it_reads_as_it_is(name: str) -> None:
    """In brackets and on lines, as a key and as a value."""
    draft = commented()
    for path in (("papers", name), ("papers", "cream", "barcode strip", name)):
        assert draft.write(path, {"sheet": name}).value(path) == {"sheet": name}
    assert draft.write(("cards", "windfall", "layers", 0, "paper"), name).text != draft.text


def test_letters_with_accents_are_one_however_they_are_typed() -> None:
    """A paper named in two ways is found, and the file keeps each way where nothing is changed."""
    apart, whole = "pa\u0302te", "p\xe2te"
    text = (
        f"batch: Supper\nunit: in\npapers:\n  {apart}: {{sheet: A4, have: 3}}\n"
        f"pieces:\n  - {{name: tag, size: 2 x 3, paper: {whole}, count: 1}}\n"
    )
    draft = read_draft(text, "supper.yaml")
    assert not draft.faults
    changed = draft.write(("papers", whole, "have"), "4")
    assert changed.text == text.replace("have: 3", "have: 4")


def test_a_shared_value_is_not_changed_for_all() -> None:
    """Where an alias would carry the change further, nothing is changed."""
    text = COMMENTED.replace("{sheet: 12 x 12, have: 3}", "&one {sheet: 12 x 12, have: 3}")
    draft = read_draft(
        text.replace("# the end", "").replace("cards:", "  kraft: *one\ncards:"), "s"
    )
    with pytest.raises(InputError, match="aliases"):
        draft.write(("papers", "kraft", "have"), "4")
    assert draft.write(("papers", "kraft"), "stash").value(("papers", "kraft")) == "stash"


def test_a_key_that_stands_twice_is_told_until_one_of_them_goes() -> None:
    """The first is what is read, and changed."""
    draft = read_draft(f"{NEW}papers:\n  cream: {{have: 1, have: 2, sheet: A4}}\n", "s")
    for one in (draft, draft.write(("papers", "cream", "have"), "3")):
        assert [fault.read for fault in one.faults] == ["key 'have' a second time, after line 4"]
        with pytest.raises(InputError):
            one.remove(("papers", "cream", "have"))
