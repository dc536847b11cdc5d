"""The checker works envelopes out by itself, and finds each thing that can be wrong with one."""

from dataclasses import replace

import pytest
from check_cases import rules
from envelope_cases import LINER, MAT, PAPERS, batch, card, edged, size_of, solved
from hypothesis import given, settings
from hypothesis import strategies as st
from plans import inches

from nesting.batch import At, Base, Batch, Card, Envelope, Layer
from nesting.cards.resolving import resolve
from nesting.checker import check
from nesting.checker.asked.enclosed import find_unenclosed, with_envelopes
from nesting.checker.asked.wanted import with_defaults
from nesting.papers import Edges
from nesting.pieces import Score
from nesting.plan import Plan

MADE = batch(card("4 1/4 x 5 1/2", MAT, LINER, envelope=Envelope(paper="kraft")))


def with_envelope(plan: Plan, **changes: object) -> Plan:
    """The plan that says something else of its card's envelope."""
    (one,) = plan.asked.cards
    assert one.envelope is not None
    sent_in = replace(one.envelope, **changes)  # type: ignore[arg-type]
    return replace(plan, asked=replace(plan.asked, cards=(replace(one, envelope=sent_in),)))


def test_plans_with_envelopes_pass() -> None:
    """Bought or made, lined, tight, of a size of its own: what was planned is right."""
    tight = batch(card(envelope=Envelope(*size_of("5 9/16 x 4 3/8"))))
    for asked in (MADE, batch(card()), tight, solved(MADE).asked):
        assert check(asked, solved(asked)) == ()


@pytest.mark.parametrize(
    "changes",
    [
        {"width": inches("6")},
        {"paper": None},
        {"folds": Edges(inches("1/2"), inches("1/2"), inches("2 3/16"), inches("3 1/4"))},
        {"smallest": False},
    ],
)
def test_another_envelope_than_the_batch_asks_for_is_found(changes: dict[str, object]) -> None:
    """Size, paper and folds are worked out again from the batch."""
    assert rules(MADE, with_envelope(solved(MADE), **changes)) == {"asked"}


def test_a_score_line_in_another_place_is_found() -> None:
    """The four score lines make the piece."""
    plan = solved(MADE)
    pieces = tuple(
        replace(one, scores=(Score("x", inches("1")), *one.scores[1:])) if one.scores else one
        for one in plan.pieces
    )
    assert "piece" in rules(MADE, replace(plan, pieces=pieces))


def test_an_envelope_that_is_not_cut_is_missed() -> None:
    """A plan of a bought envelope is none of the batch with a made one."""
    bought = solved(batch(card("4 1/4 x 5 1/2", MAT, LINER)))
    assert {"asked", "piece"} <= rules(MADE, bought)


def test_a_warning_of_a_tight_envelope_is_demanded_and_no_other() -> None:
    """It has to name the room that is usual."""
    tight = batch(card(envelope=Envelope(*size_of("5 9/16 x 4 3/8"))))
    plan = solved(tight)
    assert rules(tight, replace(plan, warnings=())) == {"warnings"}
    roomy = batch(card())
    assert rules(roomy, replace(solved(roomy), warnings=plan.warnings)) == {"warnings"}


@pytest.mark.parametrize(
    "unsound",
    [
        card("9 x 11"),
        card(envelope=Envelope(*size_of("5 x 4"))),
        card(envelope=Envelope(paper="no such paper")),
        card("4 1/4 x 5 1/2", MAT, LINER, envelope=None),
        card("4 1/4 x 5 1/2", replace(MAT, name="envelope")),
    ],
)
def test_a_batch_whose_envelopes_cannot_be_is_named(unsound: Card) -> None:
    """No plan can be held against it."""
    assert rules(batch(unsound), solved(MADE)) == {"batch"}


def short_of_kraft(make: int | None) -> Batch:
    """Cards whose envelopes are cut from three sheets that cannot be bought again, one from each."""
    kraft, cream = PAPERS
    kraft = replace(kraft, sheets=(replace(kraft.sheets[0], have=3),), buy=False)
    own = replace(card(envelope=Envelope(paper="kraft")), make=make)
    return replace(batch(own), papers=(kraft, cream))


@pytest.mark.parametrize("make", [5, None])
def test_a_card_without_its_envelope_is_not_complete(make: int | None) -> None:
    """An envelope that is cut counts like any layer, where a number is asked for and where none is."""
    asked = short_of_kraft(make)
    plan = solved(asked)
    assert [count.complete for count in plan.cards] == [3]
    assert check(asked, plan) == ()


def test_cards_said_to_be_complete_without_their_envelopes_are_found() -> None:
    """Everything else is cut for all five, and envelopes for three."""
    asked = short_of_kraft(5)
    short, full = solved(asked), solved(replace(asked, papers=PAPERS))
    forged = replace(
        full,
        asked=short.asked,
        ended="limit",
        layouts=(*short.layouts_of("kraft"), *full.layouts_of("cream")),
        uncut=tuple(one for one in short.uncut if short.piece(one.piece).paper == "kraft"),
        papers=(short.papers[0], full.papers[1]),
    )
    assert rules(asked, forged) == {"cards"}


LENGTHS = st.integers(1, 96).map(lambda sixteenths: sixteenths * inches("1/16"))


@st.composite
def layers(draw: st.DrawFn) -> tuple[Layer, ...]:
    """Some layers, anywhere on the card and on any of its sides."""
    found: list[Layer] = []
    for number in range(draw(st.integers(0, 8))):
        where = draw(st.sampled_from(("outside", "outside", "inside", "behind")))
        on_card = draw(st.booleans())
        at = draw(st.sampled_from((None, At(left=draw(LENGTHS), top=draw(LENGTHS)))))
        shape = draw(
            st.sampled_from((
                {"circle": draw(LENGTHS)},
                {"width": draw(LENGTHS), "height": draw(LENGTHS)},
                {"width": draw(LENGTHS)},
            ))
        )  # fmt: skip
        over = "card" if on_card else None
        found.append(Layer(f"layer {number}", "cream", over=over, where=where, at=at, **shape))  # type: ignore[arg-type]
    return tuple(found)


@settings(deadline=None, max_examples=150)
@given(layers(), LENGTHS, LENGTHS, st.sampled_from(("left", "none", None)), st.booleans())
def test_both_ways_to_work_an_envelope_out_agree(
    some: tuple[Layer, ...], width: int, height: int, fold: str | None, made: bool
) -> None:
    """On random cards: which envelope, how it folds, and whether there is one."""
    base = None if fold is None else Base("cream", fold=fold)  # type: ignore[arg-type]
    paper = "kraft" if made else None
    mat = replace(MAT, over="card", reveal=edged("0"))
    sent_in = Envelope(paper=paper)
    asked = batch(Card("any", 1, width, height, base=base, layers=(*some, mat), envelope=sent_in))
    found, again = resolve(asked).batch.cards[0], with_envelopes(with_defaults(asked)).cards[0]
    assert again.envelope == found.envelope
    unenclosed = list(find_unenclosed(with_defaults(asked)))
    assert len(unenclosed) == (found.envelope is not None and found.envelope.width is None)
