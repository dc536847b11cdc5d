"""Going on where covered middles are cut from: those of pieces in the bags are kept, and checked."""

from dataclasses import replace
from random import Random

import pytest
from pack_cases import MM, solved
from test_going_on import record_of
from test_middles import mat_batch, tiny_batch

from nesting import go_on
from nesting.batch import Batch, Begun, LoosePiece
from nesting.checker import check
from nesting.files.plan_json import plan_from_data, plan_to_data
from nesting.pack import Rounds
from nesting.plan import Plan
from nesting.record import read_record
from nesting.sources import middles_taken

FEW = Rounds(30)


def begun_of(plan: Plan) -> Begun:
    """What is begun of what a plan was asked."""
    assert plan.asked.begun is not None
    return plan.asked.begun


def after(batch: Batch, plan: Plan, done: str) -> Plan:
    """The rest after so much of a plan, which the checker finds nothing wrong with."""
    rest = go_on(batch, plan, read_record(done), FEW)
    assert check(batch, rest, plan) == ()
    assert plan_from_data(plan_to_data(rest), "rest.json") == rest
    return rest


def pear_sheets(plan: Plan) -> list[tuple[str, int]]:
    """The layouts of the mats' paper: what they are cut from, and how many."""
    return [(layout.source.kind, layout.alike) for layout in plan.layouts_of("pear toss")]


def test_middles_of_mats_that_are_cut_are_still_there() -> None:
    """All mats lie in the bags, and the tags still come out of them: no new sheet."""
    batch = mat_batch()
    plan = solved(batch)
    assert pear_sheets(plan) == [("sheet", 1), ("middle", 4)]
    rest = after(batch, plan, "1")
    assert [one.count for one in begun_of(rest).middles] == [4]
    assert pear_sheets(rest) == [("middle", 4)]
    (taken,) = middles_taken(rest).values()
    assert [(window.card, count) for window, count in taken] == [("windfall", 4)]


def test_a_middle_that_is_cut_is_gone() -> None:
    """Three of four are left after one, and none after all of them."""
    batch = mat_batch()
    rest = after(batch, after(batch, solved(batch), "1"), "1: 1 sheet")
    assert [one.count for one in begun_of(rest).middles] == [3]
    assert pear_sheets(rest) == [("middle", 3)]
    last = after(batch, rest, "1")
    assert begun_of(last).middles == ()
    assert pear_sheets(last) == []


def test_middles_of_mats_to_come_are_not_counted_twice() -> None:
    """Of two sheets of mats one is cut: four middles are there, and four come with the other sheet."""
    (card,) = mat_batch().cards
    batch = mat_batch(cards=(replace(card, make=8),))
    plan = solved(batch)
    assert pear_sheets(plan) == [("sheet", 2), ("middle", 8)]
    rest = after(batch, plan, "1: 1 sheet")
    assert sum(one.count for one in begun_of(rest).middles) == 4
    assert [one.count for one in rest.middles] == [8]
    assert pear_sheets(rest) == [("sheet", 1), ("middle", 8)]


def test_what_mats_to_come_can_give_is_not_kept_for() -> None:
    """Four middles of eight are wanted, and four mats are to come: those in the bags may be glued."""
    (card,) = mat_batch().cards
    tag = LoosePiece("tag", "pear toss", 4, 40 * MM, 60 * MM, turn="may")
    cards = (replace(card, make=8, layers=card.layers[:2]),)
    batch = mat_batch(cards=cards, pieces=(tag,))
    plan = solved(batch)
    assert pear_sheets(plan) == [("sheet", 2), ("middle", 4)]
    rest = after(batch, plan, "1: 1 sheet")
    assert begun_of(rest).middles == ()
    assert [one.count for one in rest.middles] == [4]


def test_mats_whose_middle_no_plan_takes_may_be_glued() -> None:
    """Where a plan cuts no middles, those of mats in the bags are none of the next plan's."""
    batch = mat_batch()
    roomy = replace(batch.papers[0], sheets=(replace(batch.papers[0].sheets[0], have=1),))
    batch = replace(batch, papers=(roomy, batch.papers[1]))
    mat, cover, tag = batch.cards[0].layers
    plain = replace(batch, cards=(replace(batch.cards[0], layers=(mat, cover)),))
    plan = solved(plain)
    more = replace(batch, cards=(replace(batch.cards[0], layers=(mat, cover, tag)),))
    rest = after(more, plan, "1")
    assert begun_of(rest).middles == ()
    assert rest.middles == ()


def test_middles_of_mats_beyond_those_in_the_bags_make_cards_where_paper_is_short() -> None:
    """Four cards are cut; of the last sheet come four mats, and out of these the tags of four more."""
    (card,) = mat_batch().cards
    pear, plum = mat_batch().papers
    scarce = replace(pear, sheets=(replace(pear.sheets[0], have=2),), buy=False)
    batch = mat_batch(papers=(scarce, plum))
    plan = solved(batch)
    assert pear_sheets(plan) == [("sheet", 1), ("middle", 4)]
    rest = after(replace(batch, cards=(replace(card, make=9),)), plan, "1-3")
    (entry,) = rest.whole_cards
    assert (entry.made, entry.most, entry.asked) == (8, 8, 9)


def test_middles_that_a_plan_is_not_cut_from_are_not_kept_where_nothing_is_done() -> None:
    """Tags that would come out of mats in the bags are given up; the plan after that is gone on from."""
    batch = mat_batch()
    (card,) = batch.cards
    given_up = replace(batch, cards=(replace(card, layers=card.layers[:2]),))
    rest = after(given_up, after(batch, solved(batch), "1"), "")
    assert begun_of(after(given_up, rest, "")).middles == ()


@pytest.mark.parametrize("change", [-1, 1])
def test_a_forged_number_of_middles_is_refused(change: int) -> None:
    """One more or one fewer than the record gives: the checker works it out by itself."""
    batch = mat_batch()
    plan = solved(batch)
    rest = after(batch, plan, "1")
    (kept,) = begun_of(rest).middles
    forged = replace(kept, count=kept.count + change)
    stated = f"{4 + change} middles are said to be still there; by the record it is 4."
    for middles, said in (((forged,), stated), ((kept, kept), "those of one size stand twice.")):
        asked = replace(rest.asked, begun=replace(begun_of(rest), middles=middles))
        faults = check(batch, replace(rest, asked=asked), plan)
        assert [fault.said for fault in faults] == [said]


@pytest.mark.parametrize("buy", [True, False])
@pytest.mark.parametrize("seed", range(16))
def test_any_record_of_a_plan_with_middles_can_be_gone_on_from(seed: int, buy: bool) -> None:
    """Twice over, whatever was done and spoilt, packer and checker count the same middles."""
    batch, rng = tiny_batch(seed, buy=buy), Random(seed)
    plan = solved(batch)
    for _ in range(2):
        rest = go_on(batch, plan, record_of(rng, plan), FEW)
        assert check(batch, rest, plan) == ()
        plan = rest
