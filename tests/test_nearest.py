"""The nearest known name, and how much is compared to find it."""

from collections.abc import Collection
from pathlib import Path

import pytest

from nesting import nearest
from nesting.batch import Batch, Card, Layer
from nesting.cards.resolving import resolve
from nesting.files import InputError, read_batch
from nesting.nearest import Nearest, listed


def test_the_nearest_or_all_of_them() -> None:
    """A name that is near is named; where none is, all are, the first twenty where there are more."""
    assert Nearest().words("creem", ["cream", "kraft"]) == "the nearest is 'cream'"
    assert Nearest().words("xyz", ["cream", "kraft"]) == "there are: cream, kraft"
    assert listed([str(number) for number in range(1, 2021)]).endswith("19, 20 and 2,000 more")


@pytest.fixture
def compared(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many names each search compares."""
    numbers: list[int] = []
    search = nearest.get_close_matches

    def counting(name: str, known: Collection[str], most: int) -> list[str]:
        numbers.append(len(known))
        return search(name, list(known), most)

    monkeypatch.setattr(nearest, "get_close_matches", counting)
    return numbers


def test_thousands_of_unknown_papers(tmp_path: Path, compared: list[int]) -> None:
    """All are said, the nearest of the first: as many comparisons, however many there are."""
    papers = "".join(f"  cream {number}: {{sheet: 12 x 12, have: 1}}\n" for number in range(900))
    pieces = "".join(
        f"  - {{size: 2 x 3, paper: creme {number}, count: 1}}\n" for number in range(900)
    )
    file = tmp_path / "batch.yaml"
    file.write_text(f"batch: many\nunit: in\npapers:\n{papers}pieces:\n{pieces}")
    with pytest.raises(InputError) as caught:
        read_batch(file)
    assert len(caught.value.messages) == 900
    assert caught.value.messages[0].endswith("the nearest is 'cream 0'")
    assert 0 < sum(compared) <= 5_000


def test_thousands_of_layers_over_what_is_not_there(compared: list[int]) -> None:
    """Layers of many cards share what may be compared."""
    cards = tuple(
        Card(
            f"card {number}",
            1,
            100,
            100,
            layers=tuple(Layer(f"l{n}", "", over=f"m{n}", width=9, height=9) for n in range(60)),
        )
        for number in range(60)
    )
    faults = resolve(Batch("many", "in", (), cards)).faults
    assert sum(fault.path[-1] == "over" for fault in faults) == 3_600
    assert 0 < sum(compared) <= 5_000


def test_thousands_of_unknown_keys(tmp_path: Path, compared: list[int]) -> None:
    """Each key is compared once with those known, and the last ones no longer."""
    keys = "".join(f"piecez {number}: 1\n" for number in range(2_000))
    file = tmp_path / "batch.yaml"
    file.write_text(f"batch: many\nunit: in\n{keys}")
    with pytest.raises(InputError) as caught:
        read_batch(file)
    assert len(caught.value.messages) > 2_000
    assert 0 < sum(compared) <= 10_000
