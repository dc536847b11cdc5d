"""``have: stash`` in a batch file."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting import InputError, read_batch
from nesting.files import as_planned, read_vary
from nesting.papers import BarcodeStrip, Edges, Face, Paper, Sheet

INCH = 25_400_000
PAPER = Paper(
    "plum dots",
    (
        Sheet(12 * INCH, 12 * INCH, 3, 95),
        Sheet(300_000_000, 200_000_001, None),
        Sheet(5 * INCH, 7 * INCH, 2, offcut=True, strip="left", name="3, 7"),
    ),
    buy=False,
    front=Face("one-way", "top"),
    back=Face("four-way"),
    grain=None,
    barcode_strip=BarcodeStrip("bottom", INCH // 2, beyond_the_sheet=True),
    edge_trim=Edges(1, 2, 3, 4),
)
REST = "pieces: [{name: tag, size: 2 x 3, paper: plum dots, face: front, count: 4}]\n"


def batch_of(folder: Path, paper: str) -> Path:
    """Write a batch of one paper."""
    path = folder / "b.yaml"
    path.write_text(f"batch: b\nunit: in\npapers: {{plum dots: {paper}}}\n{REST}")
    return path


def at_hand(name: str) -> Paper | None:
    """A stash of one paper."""
    return PAPER if name == PAPER.name else None


def test_all_of_a_paper_comes_from_the_stash(tmp_path: Path) -> None:
    """A paper left to the stash is just what the stash has, lengths exact."""
    assert read_batch(batch_of(tmp_path, "stash"), at_hand).papers == (PAPER,)


def test_numbers_alone_come_from_the_stash(tmp_path: Path) -> None:
    """A size described in the file takes its number, and the offcuts lie as the file has the print."""
    text = "{sheet: 12 x 12, have: stash, front: {print: one-way, up: right}, barcode strip: "
    text += "{edge: top, width: 1/2, beyond the sheet: true}, back: plain}"
    batch = read_batch(batch_of(tmp_path, text), at_hand)
    assert batch.papers[0].sheets == (
        Sheet(12 * INCH, 12 * INCH, 3, 95),
        Sheet(7 * INCH, 5 * INCH, 2, offcut=True, strip="top", name="3, 7"),
    )
    again = batch_of(tmp_path, text.replace("have: stash", "have: stash, price: 2"))
    assert read_batch(again, at_hand).papers[0].sheets[0].price == 200


@pytest.mark.parametrize(
    ("paper", "words"),
    [
        (
            "{sheet: 9 x 9, have: stash}",
            "have: stash; expected a size that the stash has: 12 x 12 in",
        ),
        (
            "{sheets: [{size: 5 x 7, have: stash, offcut: true}]}",
            "a number; offcuts of the stash come with",
        ),
        ("stsh", "keys with their values"),
    ],
)
def test_what_the_stash_lacks_is_a_fault(tmp_path: Path, paper: str, words: str) -> None:
    """A size that the stash does not know, an offcut of it, another word: told with the place."""
    with pytest.raises(InputError) as caught:
        read_batch(batch_of(tmp_path, paper), at_hand)
    assert words in caught.value.messages[0]
    assert caught.value.messages[0].startswith(f"{tmp_path / 'b.yaml'}:3:")


def test_without_a_stash_it_is_a_fault(tmp_path: Path) -> None:
    """Nothing to read the stash from, or no such paper in it, is one message."""
    for given_, words in ((None, "no stash was given"), (lambda _: None, "not in it")):
        with pytest.raises(InputError) as caught:
            read_batch(batch_of(tmp_path, "stash"), given_)
        assert len(caught.value.messages) == 1
        assert words in caught.value.messages[0]


def test_a_variant_may_say_another_number(tmp_path: Path) -> None:
    """What is left to the stash can be changed like a number that is written."""
    text = "{sheet: 12 x 12, have: stash, front: one-way, back: four-way, barcode strip: "
    path = batch_of(tmp_path, text + "{edge: bottom, width: 1/2, beyond the sheet: true}}")
    (read,) = read_vary(("more: plum dots / have = 9",), path, at_hand)
    assert read.batch.papers[0].sheets == (Sheet(12 * INCH, 12 * INCH, 9),)


@given(st.sampled_from(["left", "right", "top", "bottom"]), st.integers(1, 10**9))
def test_any_length_is_read_back(edge: str, length: int) -> None:
    """What stands in place of the word reads as exactly what the stash has."""
    from tempfile import TemporaryDirectory

    sheet = Sheet(length, 12 * INCH, 1, offcut=True, name="4")
    paper = Paper(
        "plum dots", (Sheet(length + 10**9, 12 * INCH, 0), sheet), front=Face("one-way", edge)
    )  # type: ignore[arg-type]
    with TemporaryDirectory() as folder:
        path = batch_of(Path(folder), "stash")
        path.write_text(path.read_text().replace("2 x 3", "1 x 1 mm"))
        batch = read_batch(path, lambda _: paper)
    assert batch.papers == (paper,)


def test_what_was_planned_is_at_hand_for_the_check(tmp_path: Path) -> None:
    """The papers of a plan stand in for the stash."""
    from nesting import solve

    path = batch_of(tmp_path, "stash")
    batch = read_batch(path, at_hand)
    assert read_batch(path, as_planned(solve(batch))) == batch
