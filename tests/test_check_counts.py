"""Demand, what is uncut, whole cards, sheets at hand and to buy; the figures."""

from dataclasses import replace
from typing import Any

import pytest
from check_cases import rules
from pack_cases import MM, solved
from plans import harvest_batch, harvest_plan, short_batch, short_plan

from nesting.batch import Batch, LoosePiece
from nesting.checker import check
from nesting.papers import Paper, Sheet
from nesting.pieces import Use
from nesting.plan import Bound, Plan, Uncut


def test_more_than_is_asked_for_is_a_fault() -> None:
    """Cutting one more than is needed is as wrong as one less."""
    plan = harvest_plan()
    layouts = (*plan.layouts, replace(plan.layouts[3], id=5))
    found = rules(harvest_batch(), replace(plan, layouts=layouts))
    assert {"demand", "at hand"} <= found


def short_of(plan: Plan, **changes: Any) -> Plan:
    """The plan with another list of what is uncut."""
    return replace(plan, uncut=(replace(plan.uncut[0], **changes), *plan.uncut[1:]))


@pytest.mark.parametrize(
    "changes",
    [
        {"piece": "pip"},
        {"uses": (Use("orchard", "panel", 2), Use("orchard", "roof", 1))},
        {"uses": (Use("orchard", "panel", 4), Use("orchard", "panel", -1))},
        {"count": 9, "uses": (Use("orchard", "panel", 9),)},
        {"count": 0, "uses": ()},
    ],
)
def test_uncut_that_does_not_add_up(changes: dict[str, Any]) -> None:
    """What is listed as uncut must be asked for and add up."""
    assert "uncut" in rules(short_batch(), short_of(short_plan(), **changes))


def test_uncut_twice() -> None:
    """A piece is listed as uncut once, even where two entries add up."""
    plan = short_plan()
    parts = tuple(Uncut("panel", n, (Use("orchard", "panel", n),)) for n in (1, 2))
    assert rules(short_batch(), replace(plan, uncut=(*parts, plan.uncut[1]))) == {"uncut"}


@pytest.mark.parametrize("to_buy", [-1, 5])
def test_more_to_buy_than_are_cut(to_buy: int) -> None:
    """Of two sheets cut alike none to two can be to buy."""
    plan = short_plan()
    layouts = (plan.layouts[0], replace(plan.layouts[1], to_buy=to_buy), plan.layouts[2])
    faults = check(short_batch(), replace(plan, layouts=layouts))
    assert f"{to_buy} of 2 sheets are to buy." in {fault.said for fault in faults}


def test_uncut_of_a_paper_that_can_be_bought() -> None:
    """Nothing is left uncut for want of a paper that the shop has."""
    batch, plan = short_batch(), short_plan()
    batch = replace(batch, papers=(replace(batch.papers[0], buy=True), batch.papers[1]))
    assert rules(batch, replace(plan, asked=batch)) == {"uncut"}


@pytest.mark.parametrize("complete", [4, 6])
def test_complete_cards_are_told_truly(complete: int) -> None:
    """Of eight sets three lack a panel: five cards are complete, no more and no fewer."""
    plan = short_plan()
    cards = (replace(plan.cards[0], complete=complete),)
    found = rules(short_batch(), replace(plan, cards=cards, whole_cards=()))
    assert "cards" in found


def test_buying_what_cannot_be_bought() -> None:
    """A sheet to buy of a paper that nobody sells any more is named."""
    batch, plan = short_batch(), short_plan()
    papers = (batch.papers[0], replace(batch.papers[1], buy=False))
    batch = replace(batch, papers=papers)
    assert rules(batch, replace(plan, asked=batch)) == {"to buy"}


def test_buying_what_is_there_in_plenty() -> None:
    """Nothing is bought of a paper that never ends."""
    batch, plan = short_batch(), short_plan()
    cream = replace(batch.papers[1], sheets=(replace(batch.papers[1].sheets[0], have=None),))
    batch = replace(batch, papers=(batch.papers[0], cream))
    papers = (plan.papers[0], replace(plan.papers[1], have=None))
    assert rules(batch, replace(plan, asked=batch, papers=papers)) == {"to buy"}


def test_buying_an_offcut() -> None:
    """An offcut cannot be bought."""
    plan = harvest_plan()
    layouts = (*plan.layouts[:3], replace(plan.layouts[3], to_buy=1))
    faults = check(harvest_batch(), replace(plan, layouts=layouts))
    assert "an offcut cannot be bought." in {fault.said for fault in faults}


def test_figures_of_a_paper_that_is_not_there() -> None:
    """Figures for a paper that nobody has are named, and not looked into."""
    plan = harvest_plan()
    papers = (plan.papers[0], replace(plan.papers[1], paper="plum toss"))
    faults = check(harvest_batch(), replace(plan, papers=papers))
    said = "its papers are not those needed: pear toss, brick cardstock."
    assert [fault.said for fault in faults] == [said]


def test_shares_that_add_up_and_are_wrong() -> None:
    """Paper kept may not be called waste, even where the shares add up to 1."""
    plan = harvest_plan()
    brick = replace(plan.papers[1], kept=0.315737, waste=0.364779)
    plan = replace(plan, papers=(plan.papers[0], brick))
    assert [fault.said for fault in check(harvest_batch(), plan)] == [
        "the share kept is 0.315737; it comes to 0.316737.",
        "the share waste is 0.364779; it comes to 0.363779.",
    ]


@pytest.mark.parametrize("have", [2, 3, None])
def test_nothing_is_uncut_where_the_sheets_suffice(have: int | None) -> None:
    """Where pieces are uncut, what is at hand cannot be all that is needed."""
    batch, plan = short_batch(), short_plan()
    pear = replace(batch.papers[0], sheets=(replace(batch.papers[0].sheets[0], have=have),))
    batch = replace(batch, papers=(pear, batch.papers[1]))
    papers = (replace(plan.papers[0], have=have), plan.papers[1])
    assert rules(batch, replace(plan, asked=batch, papers=papers)) == {"uncut"}


def test_uncut_pieces_need_more_sheets() -> None:
    """Where pieces are uncut, the sheets used cannot be all that are needed."""
    plan = short_plan()
    papers = (replace(plan.papers[0], needed=1, bound=Bound(1, "sheets", "area")), plan.papers[1])
    assert rules(short_batch(), replace(plan, papers=papers)) == {"uncut"}


def test_pieces_of_cards_that_are_not_made_stay_uncut() -> None:
    """Of a card that lacks its panel the base is not cut, however much of its paper there is."""
    plan = short_plan()
    layouts = (plan.layouts[0], replace(plan.layouts[1], alike=4, to_buy=3))
    other = replace(plan, layouts=layouts, uncut=plan.uncut[:1])
    assert "0 of base are left uncut; of the cards not made it is 3." in {
        fault.said for fault in check(short_batch(), other)
    }


def test_no_sheets_are_cut_beyond_those_needed() -> None:
    """The full need cannot take fewer sheets than a part of it."""
    plan = short_plan()
    papers = (plan.papers[0], replace(plan.papers[1], needed=2, bound=Bound(2, "sheets", "area")))
    assert rules(short_batch(), replace(plan, papers=papers)) == {"figures"}


def test_plenty_is_said_in_words() -> None:
    """A fault about a paper of which there is plenty has no None in it."""
    plan = harvest_plan()
    papers = (replace(plan.papers[0], have=None), plan.papers[1])
    faults = check(harvest_batch(), replace(plan, papers=papers))
    assert [fault.said for fault in faults] == ["have is plenty; it comes to 2."]


def test_more_small_sheets_may_be_cut_than_large_ones_are_needed() -> None:
    """One sheet that is not at hand would hold all; what there is gives four of five from two sheets."""
    sheets = Sheet(160 * MM, 130 * MM, have=0), Sheet(90 * MM, 90 * MM, have=2)
    paper = Paper("pear toss", sheets, buy=False)
    band = LoosePiece("band", "pear toss", 1, 130 * MM, 50 * MM)
    panel = LoosePiece("panel", "pear toss", 4, 50 * MM, 40 * MM)
    batch = Batch("Orchard market", "mm", (paper,), (), (band, panel))
    plan = solved(batch)
    (figures,) = plan.papers
    assert (figures.needed, figures.used) == (1, 2)
    assert check(batch, plan) == ()
    forged = replace(figures, needed=0)
    assert "bound" in rules(batch, replace(plan, papers=(forged,)))
