"""A choice of papers is checked: every card has its paper, and what is bought is told truly."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from check_cases import rules
from pack_cases import solved
from project import SAMPLES

from nesting.batch import Batch, PaperChoice
from nesting.cards.resolving import resolve
from nesting.checker import check
from nesting.draw.pages.plan_words import choice_words
from nesting.files import InputError, read_batch
from nesting.files.plan_json import plan_from_data, plan_to_data
from nesting.plan import PaperCost, Plan, Uncut


@cache
def asked() -> Batch:
    """The sample with one sheet of bee stripe fewer, so that one has to be bought."""
    batch = read_batch(SAMPLES / "orchard-choice.yaml")
    papers = tuple(
        replace(paper, sheets=(replace(paper.sheets[0], have=0),))
        if paper.name == "plum dots"
        else paper
        for paper in batch.papers
    )
    return replace(batch, papers=papers)


@cache
def plan() -> Plan:
    """Its plan."""
    return solved(asked())


def test_the_sample_needs_nothing_bought() -> None:
    """Of three papers the tool takes those that are there, and says which card gets which."""
    whole = solved(read_batch(SAMPLES / "orchard-choice.yaml"))
    assert whole.all_cut
    assert (whole.ended, whole.chosen is not None and whole.chosen.value) == ("proven", 0)
    assert list(choice_words(whole)) == [
        "blossom, panel: 8 of bee stripe, 6 of plum dots.",
        "honey market, panel: 8 of pear toss (back).",
    ]


def test_of_a_card_that_is_not_made_no_paper_is_said(tmp_path: Path) -> None:
    """Two tags come of the card that one label would take."""
    file = tmp_path / "drawer.yaml"
    file.write_text(
        """\
batch: Last of the drawer
unit: in
papers:
  frost: {sheet: 4 x 4, have: 2, buy: false, front: four-way}
  bell: {sheet: 2 x 4, have: 1, buy: false}
cards:
  label:
    make: as many as possible
    size: 2 x 4
    base: {paper: bell, fold: none}
    layers: [{name: panel, paper: {one of: [frost, bell]}, reveal: 0}]
  tag: {make: as many as possible, size: 2 x 2, base: {paper: bell, fold: none}}
"""
    )
    made = solved(read_batch(file))
    assert {count.card: count.complete for count in made.cards} == {"label": 0, "tag": 2}
    assert list(choice_words(made)) == []


def test_least_is_bought_by_price() -> None:
    """One sheet has to be bought: of those that would do, the one at 0.95, as proven."""
    assert plan().chosen is not None
    assert (plan().chosen.of, plan().chosen.value, plan().chosen.least) == ("price", 95, 95)  # type: ignore[union-attr]
    assert [f.paper for f in plan().papers if f.to_buy] == ["plum dots"]
    said = "To buy of the papers to choose from: sheets for 0.95. Found by search: no choice needs less."
    assert said in list(choice_words(plan()))


def test_without_prices_the_least_area_is_bought() -> None:
    """Of a sheet of 12 x 12 and one of 7 x 7 in, the small one, whichever stands first."""
    for name in ("large-or-small", "small-or-large"):
        batch = read_batch(Path(__file__).parent / "batches" / f"{name}.yaml")
        small = solved(batch)
        assert small.chosen == PaperCost("area", 49, 49)
        assert [(layout.width, layout.height) for layout in small.layouts] == [(177_800_000,) * 2]
        said = "To buy of the papers to choose from: 49 sq in of sheets. Found by search: no choice needs less."
        assert said in list(choice_words(small))
        for forged in (PaperCost("sheets", 1, 1), PaperCost("area", 1, 1)):
            assert rules(batch, replace(small, chosen=forged)) == {"chosen"}


def test_sheets_alike_are_counted() -> None:
    """Without prices, and with sheets of one size, what is bought is a number of sheets."""
    papers = tuple(
        replace(paper, sheets=(replace(paper.sheets[0], price=None),)) for paper in asked().papers
    )
    batch = replace(asked(), papers=papers)
    bought = solved(batch)
    assert bought.chosen == PaperCost("sheets", 1, 1)
    assert rules(batch, replace(bought, chosen=PaperCost("area", 1, 1))) == {"chosen"}


def with_alike(alike: str) -> Batch:
    """The batch with the blossom cards alike, or not."""
    card = asked().cards[0]
    layer = card.layers[0]
    choice = replace(layer.choice, alike=alike)  # type: ignore[type-var]
    card = replace(card, layers=(replace(layer, choice=choice),))
    return replace(asked(), cards=(card, *asked().cards[1:]))


def test_different_papers_where_all_are_alike() -> None:
    """Two papers for one design are a fault where it asks for one."""
    batch = with_alike("all")
    faults = check(batch, replace(plan(), asked=batch))
    assert "different papers are chosen; one is asked for." in {fault.said for fault in faults}


def test_a_card_without_its_paper() -> None:
    """A piece fewer than there are cards is a fault."""
    pieces = list(plan().pieces)
    number = next(n for n, piece in enumerate(pieces) if piece.name == "panel")
    piece = pieces[number]
    uses = (replace(piece.uses[0], count=piece.uses[0].count - 1),)
    pieces[number] = replace(piece, demand=piece.demand - 1, uses=uses)
    assert "choice" in rules(asked(), replace(plan(), pieces=tuple(pieces)))


def test_a_card_of_two_papers() -> None:
    """Where a card takes two alike, both come from one paper."""
    card = asked().cards[0]
    twice = replace(card, layers=(replace(card.layers[0], each=2),), make=card.make - 1, spares=1)  # type: ignore[operator]
    batch = replace(asked(), cards=(twice, *asked().cards[1:]))
    good = solved(batch)
    counts = [use.count for p in good.pieces for use in p.uses if use.layer == "panel"]
    assert all(count % 2 == 0 for count in counts)
    own = [n for n, p in enumerate(good.pieces) if p.uses[0].card == "blossom" and not p.score]
    pieces = list(good.pieces)
    uncut = tuple(Uncut(pieces[n].id, 1, (replace(pieces[n].uses[0], count=1),)) for n in own)
    for n, more in zip(own, (1, -1), strict=False):
        use = pieces[n].uses[0]
        pieces[n] = replace(
            pieces[n], demand=pieces[n].demand + more, uses=(replace(use, count=use.count + more),)
        )
    for forged in (replace(good, pieces=tuple(pieces)), replace(good, uncut=uncut)):
        said = {fault.said for fault in check(batch, forged)}
        assert "the pieces of one card are from different papers." in said


@pytest.mark.parametrize("changes", [{"value": 96}, {"least": 96}, {"of": "sheets"}])
def test_what_is_bought_is_told_truly(changes: dict[str, object]) -> None:
    """Neither less nor more than the sheets to buy cost, and not below what is said to be least."""
    chosen = replace(plan().chosen, **changes)  # type: ignore[type-var]
    assert "chosen" in rules(asked(), replace(plan(), chosen=chosen))


def test_a_choice_that_is_not_proven() -> None:
    """A plan is not proven where another choice may need less."""
    chosen = replace(plan().chosen, least=1)  # type: ignore[type-var]
    other = replace(plan(), chosen=chosen, ended="proven")
    assert rules(asked(), other) == {"ended"}


def test_a_choice_of_no_paper_is_refused_in_words() -> None:
    """A plan, or a batch from Python, whose layer has none to choose from broke both sides down."""
    (first, *others), sound = asked().cards, plan()
    panel = replace(first.layers[0], choice=PaperChoice(()))
    batch = replace(asked(), cards=(replace(first, layers=(panel,)), *others))
    (fault,) = check(batch, sound)
    assert (fault.rule, fault.where) == ("batch", "blossom, panel")
    (unreadable,) = resolve(batch).faults
    assert unreadable.read == "no paper to choose from"
    with pytest.raises(InputError, match="no paper to choose from"):
        plan_from_data(plan_to_data(replace(sound, asked=batch)), "plan.json")
