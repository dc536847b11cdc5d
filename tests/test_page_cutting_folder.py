"""What is cut is kept beside the batch file: plans, each with the words of its record."""

from dataclasses import replace
from functools import cache
from pathlib import Path

from project import SAMPLES

import nesting
from nesting.page.folder.cutting_folder import CuttingFolder
from nesting.record import read_record


@cache
def plan() -> nesting.Plan:
    """Some plan."""
    return nesting.solve(nesting.read_batch(SAMPLES / "cider.yaml"))


def test_what_was_kept_is_read_by_another_program(tmp_path: Path) -> None:
    """Plan, record and the digest of the batch are those that were kept last."""
    folder = CuttingFolder(tmp_path / "cider.yaml")
    assert folder.now() is None
    folder.begin(plan(), "0123")
    record = read_record("1-2, 3: step 1", "4: step 2 of 1 sheet")
    cutting = folder.now()
    assert cutting is not None
    folder.keep(replace(cutting, record=record, in_stash=(7, 12)))
    again = CuttingFolder(tmp_path / "cider.yaml").now()
    assert again is not None
    assert again == replace(cutting, record=record, in_stash=(7, 12))
    words = (tmp_path / "cider-cutting" / "record-1.txt").read_text()
    assert "done: 1-2, 3: step 1\nspoilt: 4: step 2 of 1 sheet\n" in words


def test_the_latest_plan_counts(tmp_path: Path) -> None:
    """A plan that goes on begins with nothing ticked; those before it stay with their records."""
    folder = CuttingFolder(tmp_path / "cider.yaml")
    folder.begin(plan(), "0123")
    first = folder.now()
    assert first is not None
    folder.keep(replace(first, record=read_record("1")))
    folder.begin(plan(), "4567")
    assert [(one.number, one.of, bool(one.record.done)) for one in folder.all()] == [
        (1, "0123", True),
        (2, "4567", False),
    ]


def test_a_plan_is_nothing_without_its_record(tmp_path: Path) -> None:
    """The record is written first: killed in between, the plan before it still counts."""
    folder = CuttingFolder(tmp_path / "cider.yaml")
    folder.begin(plan(), "0123")
    folder.begin(plan(), "4567")
    (tmp_path / "cider-cutting" / "plan-2.json").unlink()
    now = folder.now()
    assert now is not None
    assert now.number == 1


def test_what_is_put_away_stays_under_another_name(tmp_path: Path) -> None:
    """Twice the same plan, too."""
    folder = CuttingFolder(tmp_path / "cider.yaml")
    away = []
    for _ in range(2):
        folder.begin(plan(), "0123")
        away.append(folder.put_away())
        assert folder.now() is None
    assert len(set(away)) == 2
    assert all((path / "plan-1.json").exists() for path in away)
