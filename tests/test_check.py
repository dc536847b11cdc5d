"""Valid plans have no fault; what the plan answers and its list of pieces are checked first."""

from dataclasses import replace
from typing import Any

import pytest
from check_cases import SOLVED, rules, solved, with_tree
from plans import (
    harvest_batch,
    harvest_plan,
    inches,
    moon_at,
    row,
    short_batch,
    short_plan,
    stopped_batch,
)

from nesting.batch import Batch, Card, Layer
from nesting.checker import check
from nesting.files.plan_json import plan_from_data, plan_to_data
from nesting.layouts import Offcut
from nesting.pack import Rounds, solve
from nesting.papers import Edges, Face, Paper, Sheet
from nesting.plan import Plan


@pytest.mark.parametrize(
    ("batch", "plan"), [(harvest_batch(), harvest_plan()), (short_batch(), short_plan())]
)
def test_plan_by_hand_has_no_fault(batch: Batch, plan: Plan) -> None:
    """A valid plan made by hand has no fault."""
    assert check(batch, plan) == ()


@pytest.mark.parametrize("trimmer", SOLVED)
def test_plan_from_the_packer_has_no_fault(trimmer: tuple[int, int | None]) -> None:
    """The packer's plans have no fault, whatever the trimmer, with pieces uncut or to buy."""
    batch, plan = solved(*trimmer)
    assert check(batch, plan) == ()
    assert plan.uncut
    assert {figures.bound.by for figures in plan.papers} >= {"values"}


def test_defaults_may_be_left_open_in_the_batch() -> None:
    """A batch as it was written and one with its defaults filled in are the same batch."""
    batch, plan = solved()
    assert batch != plan.asked
    assert check(plan.asked, plan) == ()


def test_faults_say_where() -> None:
    """A fault names the layout and the blank's letter, and ends as a sentence does."""
    plan = with_tree(harvest_plan(), 3, row("x", "2 1/4", moon_at("0", "0"), Offcut(keep=False)))
    faults = check(harvest_batch(), plan)
    blank = next(fault for fault in faults if fault.rule == "blank")
    assert blank.where == "layout 4, blank B"
    assert blank.said == "it is 2 1/4 x 3 in; its piece needs 2 1/4 x 2 1/4 in."
    assert all(fault.said.endswith(".") for fault in faults)


def test_another_batch() -> None:
    """A plan made for another batch is said to be that."""
    assert "asked" in rules(replace(harvest_batch(), name="Another supper"), harvest_plan())


def test_another_batch_with_other_pieces() -> None:
    """It is said before the pieces that nobody asks for."""
    first, *others = check(stopped_batch(), harvest_plan())
    assert first.rule == "asked"
    assert {fault.rule for fault in others} == {"piece"}


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"paper": "plum toss"}, "windfall, panel"),
        ({"over": "roof"}, "windfall, panel"),
        ({"reveal": Edges(left=inches("4"))}, "windfall, panel"),
        ({"face": None, "paper": "both"}, "windfall, panel"),
        ({"each": 0}, "windfall, panel"),
        ({"name": "moon"}, "windfall, moon"),
        ({"name": "base"}, "windfall, base"),
    ],
)
def test_unsound_batch_is_named(change: dict[str, Any], where: str) -> None:
    """A batch that no plan can be held against is one fault, not a traceback."""
    batch = harvest_batch()
    both = Paper("both", (Sheet(1, 1),), front=Face("two-way"), back=Face("one-way"))
    card = batch.cards[0]
    layers = (replace(card.layers[0], **change), *card.layers[1:])
    batch = replace(
        batch, papers=(*batch.papers, both), cards=(replace(card, layers=layers),), pieces=()
    )
    faults = check(batch, harvest_plan())
    assert {fault.rule for fault in faults} == {"batch"}
    assert where in {fault.where for fault in faults}


@pytest.mark.parametrize("section", ["papers", "cards"])
def test_batch_with_a_name_twice_is_unsound(section: str) -> None:
    """Of two papers or cards of one name nobody can tell which a plan means."""
    batch = harvest_batch()
    first = getattr(batch, section)[0]
    batch = replace(batch, **{section: (*getattr(batch, section), first)})
    faults = check(batch, replace(harvest_plan(), asked=batch))
    assert {fault.where for fault in faults} == {first.name}
    assert {fault.rule for fault in faults} == {"batch"}


@pytest.mark.parametrize("second", ["windfall", "roof"])
def test_designs_put_first_are_there_and_stand_once(second: str) -> None:
    """A design put first twice, or one that the batch does not have."""
    batch = replace(harvest_batch(), first=("windfall", second))
    (fault,) = check(batch, harvest_plan())
    assert (fault.rule, fault.where) == ("batch", second)


def test_paper_of_offcuts_only_is_unsound() -> None:
    """A paper without whole sheets has no full need, so nothing can be proven of it."""
    batch = harvest_batch()
    offcuts = Paper("offcuts", (Sheet(1, 1, have=1, offcut=True),))
    batch = replace(batch, papers=(*batch.papers, offcuts))
    assert rules(batch, harvest_plan()) == {"batch"}


def test_names_that_stand_twice() -> None:
    """Ids of pieces and layouts, and letters, are each given once."""
    plan = harvest_plan()
    first, second, third = plan.pieces
    for other in (replace(second, id=first.id), replace(second, letter=first.letter)):
        assert "piece" in rules(harvest_batch(), replace(plan, pieces=(first, other, third)))
    layouts = (*plan.layouts[:3], replace(plan.layouts[3], id=1))
    assert rules(harvest_batch(), replace(plan, layouts=layouts)) == {"layout"}


def test_piece_that_nobody_asked_for() -> None:
    """A piece too many is named, and so is one that stands twice under two letters."""
    plan = harvest_plan()
    again = replace(plan.pieces[2], id="tag again", letter="D")
    for extra in (again, replace(again, width=inches("3"))):
        assert rules(harvest_batch(), replace(plan, pieces=(*plan.pieces, extra))) == {"piece"}


def test_what_goes_round_the_edge_is_worked_out_again() -> None:
    """Lengths by edge and a belt are in the sizes of pieces; a band or belt too short is named."""
    paper = Paper("brick", (Sheet(inches("12"), inches("12"), have=9),))
    layers = (
        Layer(
            "ribbon", "brick", height=inches("1"), wrap=Edges(left=inches("2"), right=inches("1"))
        ),
        Layer("belt", "brick", height=inches("1 1/2"), belt=inches("1/8")),
        Layer("seal", "brick", circle=inches("2")),
    )
    card = Card("windfall", 4, inches("4 1/4"), inches("5 1/2"), layers=layers)
    batch = Batch("Market", "in", (paper,), (card,))
    plan = solve(batch, Rounds(20))
    assert check(batch, plan) == ()
    assert plan_from_data(plan_to_data(plan), "plan.json") == plan
    for number, length in ((0, "7 1/4"), (1, "9")):
        assert plan.pieces[number].width == inches(length)
        short = replace(plan.pieces[number], width=plan.pieces[number].width - inches("1/16"))
        pieces = (*plan.pieces[:number], short, *plan.pieces[number + 1 :])
        assert "piece" in rules(batch, replace(plan, pieces=pieces))


def test_what_lies_aslant_is_worked_out_again() -> None:
    """Strips on a mat, a disc and the card, a tag that sticks out; a strip too short is named."""
    paper = Paper("brick", (Sheet(inches("12"), inches("12"), have=9),))
    eighth = inches("1/8")
    layers = (
        Layer("mat", "brick", reveal=Edges(eighth, eighth, eighth, eighth)),
        Layer("sash", "brick", height=inches("1"), angle=30_000),
        Layer("tag", "brick", width=inches("3"), height=inches("1"), angle=-20_000),
        Layer("moon", "brick", over="mat", circle=inches("2")),
        Layer("ray", "brick", width=inches("1/2"), angle=77_500, wrap=eighth),
        Layer("slip", "brick", over="moon", width=inches("1.9"), height=inches("1"), angle=45),
        Layer("far", "brick", over="card", width=inches("4"), height=inches("1"), angle=45_000),
        Layer("seal", "brick", over="sash", circle=inches("1")),
    )
    card = Card("windfall", 4, inches("4 1/4"), inches("5 1/2"), layers=layers)
    batch = Batch("Market", "in", (paper,), (card,))
    plan = solve(batch, Rounds(20))
    assert check(batch, plan) == ()
    assert plan_from_data(plan_to_data(plan), "plan.json") == plan
    # on the disc, half the diagonal of 1.9 x 1 in is 1.07; on the card, 5 x cos 45 / 2 is 1.77
    assert [said.split(":")[0] for said in plan.warnings if "out" in said] == ["windfall, slip"]
    sash = next(piece for piece in plan.pieces if piece.name == "sash")
    assert (sash.width, sash.height) == (inches("5 3/4"), inches("1"))
    pieces = tuple(
        replace(piece, width=inches("5 11/16")) if piece is sash else piece for piece in plan.pieces
    )
    assert "piece" in rules(batch, replace(plan, pieces=pieces))
    assert "warnings" in rules(batch, replace(plan, warnings=()))
