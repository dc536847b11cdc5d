"""Bounds are proven by what they say, and not beyond the plan."""

from dataclasses import replace
from typing import Any

import pytest
from check_cases import rules, solved, with_bound
from plans import harvest_batch, harvest_plan, inches, short_batch, short_plan

from nesting.batch import Batch, LoosePiece, Trimmer
from nesting.checker import check, most_value
from nesting.pack import Rounds, solve
from nesting.papers import Paper, Sheet
from nesting.plan import SheetValue


@pytest.mark.parametrize(
    "changes",
    [
        {"values": {"windfall/panel": 22, "tag": 6}},
        {"values": {"windfall/panel": 21, "tag": 7}},
        {"values": {"windfall/panel": 0, "tag": 0}},
        {"values": {"windfall/panel": 21, "tag": 6, "windfall/moon": 1}},
        {"values": {"windfall/panel": 21, "tag": 6, "pip": 0}},
        {"values": {"windfall/panel": 21, "tag": -6}},
        {"values": {"windfall/panel": 21.0, "tag": 6}},
        {"sheet_values": ()},
        {"sheet_values": (SheetValue(inches("12"), inches("12"), 143),)},
        {"sheet_values": (SheetValue(inches("12"), inches("12 1/2"), 144),)},
        {"sheet_values": (SheetValue(inches("12"), inches("12"), 144),) * 2},
        {"value": 2},
    ],
)
def test_false_proof_by_values(changes: dict[str, Any]) -> None:
    """A proof by values that claims too much of sheet, piece or demand is refused."""
    assert "bound" in rules(harvest_batch(), with_bound(harvest_plan(), 0, **changes))


@pytest.mark.parametrize(
    "changes",
    [
        {"values": {"windfall/moon": 2}},
        {"values": {"windfall/moon": 0}},
        {"sheet_values": (SheetValue(inches("5"), inches("5"), 4),)},
        {"by": "area"},
        {"of": "sheets"},
    ],
)
def test_false_proof_of_cost(changes: dict[str, Any]) -> None:
    """With sheets of several costs each has its own part in the proof."""
    assert "bound" in rules(harvest_batch(), with_bound(harvest_plan(), 1, **changes))


@pytest.mark.parametrize("number", [0, 1])
def test_inflated_bound_by_area(number: int) -> None:
    """A bound beyond the areas is refused, even where the sheets needed are claimed to match."""
    plan = with_bound(short_plan(), number, value=short_plan().papers[number].bound.value + 1)
    papers = tuple(replace(f, needed=f.bound.value) for f in plan.papers)
    assert "bound" in rules(short_batch(), replace(plan, papers=papers))


def test_bound_by_search_is_held_against_the_plan_only() -> None:
    """An exhausted search cannot be verified, but it cannot exceed the plan either."""
    plan = harvest_plan()
    assert rules(harvest_batch(), with_bound(plan, 1, by="search")) == set()
    for false in ({"value": 3}, {"cuts": "stopped"}):
        assert rules(harvest_batch(), with_bound(plan, 1, by="search", **false)) == {"bound"}


def test_weaker_bound_is_valid_but_proves_nothing() -> None:
    """A bound below the plan is true; only calling it proven is not."""
    plan = with_bound(short_plan(), 1, value=3)
    assert rules(short_batch(), plan) == {"proven"}
    papers = (plan.papers[0], replace(plan.papers[1], proven=False))
    plan = replace(plan, papers=papers, whole_cards=())
    assert rules(short_batch(), plan) == set()
    assert rules(short_batch(), replace(plan, ended="proven")) == {"ended"}


def test_bound_of_nothing_needs_no_proof() -> None:
    """Where a free offcut may hold all value, only that nothing costs less than 0 holds."""
    sizes = SheetValue(inches("5"), inches("5"), 5), SheetValue(inches("3"), inches("3"), 40)
    plan = harvest_plan()
    papers = (plan.papers[0], replace(plan.papers[1], proven=False))
    plan = replace(plan, ended="limit", papers=papers)
    plan = with_bound(plan, 1, sheet_values=sizes)
    assert rules(harvest_batch(), with_bound(plan, 1, value=0)) == set()
    assert rules(harvest_batch(), with_bound(plan, 1, value=1)) == {"bound"}


def test_values_from_the_packer_cannot_be_raised() -> None:
    """In the packer's proofs no sheet's value may be lowered and the bound not be raised."""
    batch, plan = solved()
    tried = 0
    for number, figures in enumerate(plan.papers):
        bound = figures.bound
        assert "bound" in rules(batch, with_bound(plan, number, value=bound.value * 2 + 1))
        for entry in bound.sheet_values:
            lower = replace(entry, value=entry.value - 1)
            entries = tuple(lower if e == entry else e for e in bound.sheet_values)
            assert "bound" in rules(batch, with_bound(plan, number, sheet_values=entries))
            tried += 1
    assert tried


def test_a_proof_for_stopped_cuts_counts_pinwheels() -> None:
    """Of 5 x 7 a sheet gives three edge to edge, and four round a centre."""
    tag = LoosePiece("tag", "pear toss", 3, 5, 7)
    batch = Batch("Tiny", "mm", (Paper("pear toss", (Sheet(12, 12),)),), (), (tag,))
    proof = {"by": "values", "values": {"tag": 1}, "sheet_values": (SheetValue(12, 12, 3),)}
    plan = with_bound(solve(batch, Rounds(5)), 0, **proof)
    assert rules(batch, plan) == set()
    assert rules(batch, with_bound(plan, 0, cuts="stopped")) == {"bound"}


def test_too_fine_a_table_is_refused() -> None:
    """A proof whose table would take hours is not verified, and that is a fault."""
    values = {(1_000 + n, 1_000 + n * n % 997): 1 for n in range(0, 400, 7)}
    assert most_value(30_000, 30_000, values) is None
    pieces = tuple(LoosePiece(f"tag {w}", "pear toss", 1, w, h, turn="never") for w, h in values)
    paper = Paper("pear toss", (Sheet(30_000, 30_000),))
    batch = Batch("Tiny", "mm", (paper,), (), pieces)
    plan = solve(batch, Rounds(1))
    worth = {piece.id: 1 for piece in plan.pieces}
    bound = {"by": "values", "values": worth, "sheet_values": (SheetValue(30_000, 30_000, 0),)}
    said = {fault.said for fault in check(batch, with_bound(plan, 0, value=0, **bound))}
    assert any("too many and too fine to verify" in words for words in said)


def test_a_circle_that_is_asked_for_once_makes_no_table_finer() -> None:
    """No rows of circles hold a single one, so a proof for stopped cuts need not look at their sides."""
    sheets = (
        Sheet(inches("8 1/2"), inches("12"), 3),
        Sheet(inches("4 3/4"), inches("4 1/2"), 1, offcut=True),
    )
    tag = LoosePiece("tag", "bee stripe", 1, inches("3 3/4"), inches("4"))
    moon = LoosePiece("moon", "bee stripe", 1, circle=inches("2"))
    trimmer = Trimmer("knife", marks=inches("1/32"))
    batch = Batch("Once", "in", (Paper("bee stripe", sheets),), (), (tag, moon), trimmer)
    plan = solve(batch, Rounds(60))
    bound = plan.papers[0].bound
    assert (bound.by, bound.cuts) == ("values", "stopped")
    assert check(batch, plan) == ()
