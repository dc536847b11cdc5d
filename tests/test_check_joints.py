"""Forged plans of layers cut as two ends: every way to cheat is named."""

from dataclasses import replace
from functools import cache

import pytest
from pack_cases import MM, solved

from nesting.batch import At, Batch, Card, Layer, Trimmer
from nesting.checker import check
from nesting.files.plan_json import plan_from_data, plan_to_data
from nesting.papers import Face, Paper, Sheet
from nesting.pieces import Piece, Use
from nesting.plan import Bound, HeldValue, Plan, SheetValue, Uncut


def cellar_batch(make: int = 6, **paper: object) -> Batch:
    """Bands of 16 x 4 mm from sheets of 30 x 4: one whole to a sheet, and one as ends of 6 and 8 mm."""
    pear = Paper(
        "pear toss", **{"sheets": (Sheet(30 * MM, 4 * MM),), "front": Face("one-way")} | paper  # type: ignore[arg-type]
    )  # fmt: skip
    oat = Paper("oat cardstock", (Sheet(40 * MM, 40 * MM),))
    layers = (
        Layer("band", "pear toss", over="card", height=4 * MM, join="may"),
        Layer(
            "seal", "oat cardstock", over="card", width=4 * MM, height=6 * MM, at=At(left=5 * MM)
        ),
    )
    cards = (Card("windfall", make, 16 * MM, 20 * MM, layers=layers),)
    trimmer = Trimmer(marks=MM)
    return Batch("Cellar market", "mm", (pear, oat), cards, trimmer=trimmer, lap=MM)


@cache
def good_plan(make: int = 6) -> Plan:
    """A plan with whole bands and with ends, sound and proven."""
    plan = solved(cellar_batch(make))
    assert plan.ended == "proven"
    return plan


def rules(plan: Plan) -> set[str]:
    """The rules that a plan breaks."""
    return {fault.rule for fault in check(cellar_batch(plan.cards[0].asked), plan)}


def end_of(plan: Plan, end: str) -> Piece:
    """The piece of one end."""
    (piece,) = (one for one in plan.pieces if any(use.end == end for use in one.uses))
    return piece


def with_piece(plan: Plan, piece: Piece, **changes: object) -> Plan:
    """The plan with one piece changed."""
    changed = replace(piece, **changes)  # type: ignore[arg-type]
    return replace(plan, pieces=tuple(changed if one == piece else one for one in plan.pieces))


def test_the_plan_to_be_forged_has_whole_bands_and_ends() -> None:
    """Some in one piece, some as two ends of 6 mm and 8 mm, and a proof that holds for every number."""
    plan = good_plan()
    uses = {
        (use.end, use.count) for piece in plan.pieces for use in piece.uses if use.layer == "band"
    }
    assert {end for end, _ in uses} == {None, "left", "right"}
    assert end_of(plan, "left").width == 6 * MM
    assert end_of(plan, "right").width == 8 * MM
    assert rules(plan) == set()
    assert plan_from_data(plan_to_data(plan), "plan") == plan


@pytest.mark.parametrize("end", ["left", "right"])
def test_an_end_too_short_to_reach_under_the_cover_is_named(end: str) -> None:
    """A millimetre less would leave the joint to be seen, or the lap too narrow."""
    plan = good_plan()
    piece = end_of(plan, end)
    assert "piece" in rules(with_piece(plan, piece, width=piece.width - MM))


def test_an_end_longer_than_it_has_to_be_is_named() -> None:
    """What is asked for is the shortest ends, so a longer one is another piece."""
    plan = good_plan()
    piece = end_of(plan, "left")
    assert "piece" in rules(with_piece(plan, piece, width=piece.width + MM))


def test_ends_at_the_wrong_edge_are_named() -> None:
    """The shorter end belongs at the left: the other way round the joint would be seen."""
    plan = good_plan()
    swapped = {"left": "right", "right": "left"}
    pieces = tuple(
        replace(
            piece,
            uses=tuple(
                replace(use, end=swapped[use.end]) if use.end else use for use in piece.uses  # type: ignore[arg-type]
            ),
        )
        for piece in plan.pieces
    )  # fmt: skip
    assert rules(replace(plan, pieces=pieces)) == {"piece"}


def test_one_end_more_than_the_other_is_named() -> None:
    """Of two ends that belong together there are as many."""
    plan = good_plan()
    piece = end_of(plan, "left")
    (use,) = piece.uses
    forged = with_piece(
        plan, piece, demand=piece.demand + 1, uses=(replace(use, count=use.count + 1),)
    )
    assert {"choice", "demand"} <= rules(forged)


def test_fewer_bands_in_all_are_named() -> None:
    """Whole ones and joined ones are together as many as the cards."""
    plan = good_plan()
    (whole,) = (
        one
        for one in plan.pieces
        if any(use == Use("windfall", "band", use.count) for use in one.uses)
    )
    (use,) = whole.uses
    forged = with_piece(
        plan, whole, demand=whole.demand - 1, uses=(replace(use, count=use.count - 1),)
    )
    assert {"choice", "demand"} <= rules(forged)


def test_an_end_laid_on_its_side_is_named() -> None:
    """A one-way print keeps its direction in both ends."""
    plan = good_plan()
    assert "piece" in rules(with_piece(plan, end_of(plan, "right"), turn="may"))


def test_an_end_left_uncut_is_a_card_that_is_not_complete() -> None:
    """A card with one end alone is no card, and is not counted twice for lacking both."""
    plan = good_plan()
    left, right = end_of(plan, "left"), end_of(plan, "right")
    for pieces, lacking in (((left,), 1), ((left, right), 1)):
        uncut = tuple(Uncut(piece.id, 1, (replace(piece.uses[0], count=1),)) for piece in pieces)
        said = [f for f in check(cellar_batch(), replace(plan, uncut=uncut)) if f.rule == "cards"]
        assert [fault.said for fault in said] == [
            f"the plan says 6 are complete; the pieces cut give {6 - lacking}."
        ]


def test_a_bound_beyond_what_joints_allow_is_named() -> None:
    """The proof for whole bands alone is none: as two ends they take less."""
    whole = cellar_batch()
    card = whole.cards[0]
    layers = tuple(replace(layer, join="never") for layer in card.layers)
    stiff = solved(replace(whole, cards=(replace(card, layers=layers),)))
    plan = good_plan()
    (pear,) = (figures for figures in stiff.papers if figures.paper == "pear toss")
    (own,) = (figures for figures in plan.papers if figures.paper == "pear toss")
    assert pear.needed > own.needed
    raised = replace(own, needed=pear.needed, bound=replace(own.bound, value=pear.bound.value))
    papers = tuple(raised if one == own else one for one in plan.papers)
    said = [
        f.said for f in check(cellar_batch(), replace(plan, papers=papers)) if f.rule == "bound"
    ]
    assert any("do not prove so much" in one for one in said)


def test_values_of_ways_not_taken_belong_to_the_proof() -> None:
    """Without them a bound over all ways is none, and neither is it with the whole's value alone."""
    plan = good_plan(1)
    assert [piece.name for piece in plan.unchosen] == ["band, left end", "band, right end"]
    (own,) = (figures for figures in plan.papers if figures.paper == "pear toss")
    (whole,) = (piece for piece in plan.pieces if piece.name == "band")
    left, right = plan.unchosen
    sheets = (SheetValue(30 * MM, 4 * MM, 30),)
    values = {whole.id: 14, left.id: 6, right.id: 8}
    for taken, sound in ((values, True), ({**values, right.id: 7}, True), ({whole.id: 14}, False)):
        bound = Bound(1, "sheets", "values", sheets, taken)
        papers = tuple(replace(one, bound=bound) if one == own else one for one in plan.papers)
        assert ("bound" in rules(replace(plan, papers=papers))) is not sound
    bound = Bound(1, "sheets", "values", sheets, values)
    papers = tuple(replace(one, bound=bound) if one == own else one for one in plan.papers)
    assert "bound" in rules(replace(plan, papers=papers, unchosen=()))


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"width": 7 * MM}, "no way that is not taken asks for it."),
        ({"letter": "Z"}, "it has a letter, or is asked for."),
        ({"demand": 1}, "it has a letter, or is asked for."),
        ({"id": "windfall/band"}, "another piece has this id."),
        ({"id": "windfall/band''"}, "another piece has this id."),
    ],
)
def test_pieces_of_ways_not_taken_are_what_they_say(changes: dict[str, object], said: str) -> None:
    """They are ways of this batch, without letter or demand."""
    plan = good_plan(1)
    first, *others = plan.unchosen
    forged = replace(plan, unchosen=(replace(first, **changes), *others))  # type: ignore[arg-type]
    assert said in [fault.said for fault in check(cellar_batch(1), forged)]


@pytest.mark.parametrize(
    ("changes", "seal", "said"),
    [
        ({"join": "must"}, 3 * MM, "it must have a joint, which nothing would hide."),
        ({"angle": 10_000}, 6 * MM, "it cannot be cut as two ends."),
        ({"die_allowance": MM}, 6 * MM, "it cannot be cut as two ends."),
    ],
)
def test_a_batch_whose_joint_cannot_be_is_no_batch(
    changes: dict[str, object], seal: int, said: str
) -> None:
    """A layer that must have a joint that no layer hides; a die, or a slope, where there is a joint."""
    batch = cellar_batch()
    card = batch.cards[0]
    (band, cover) = card.layers
    layers = (replace(band, **changes), replace(cover, height=seal))  # type: ignore[arg-type]
    forged = replace(batch, cards=(replace(card, layers=layers),))
    assert [fault.said for fault in check(forged, good_plan())] == [said]


def test_nothing_is_cut_for_a_band_that_will_not_be_whole() -> None:
    """Paper that is short: whole cards alone, as many as no other number of joints exceeds."""
    batch = cellar_batch(3, sheets=(Sheet(30 * MM, 4 * MM, have=1),), buy=False)
    plan = solved(batch)
    (entry,) = plan.whole_cards
    assert entry.by in ("area", "values")
    assert plan.cards[0].complete == entry.made == entry.most
    assert any(use.end for piece in plan.pieces for use in piece.uses)
    raised = replace(entry, most=entry.most - 1, made=entry.made)
    assert {f.rule for f in check(batch, replace(plan, whole_cards=(raised,)))} == {"whole cards"}
    assert sum(one.alike for one in plan.layouts_of("pear toss")) == 1
    # Whole ones alone are worth 22, two ends 11: of three such pairs the values prove nothing.
    values = dict(
        zip(("windfall/band", "windfall/band'", "windfall/band''"), (22, 5, 6), strict=True)
    )
    held = (HeldValue("pear toss", 30 * MM, 4 * MM, 33),)
    dear = replace(entry, by="values", values=values, held=held)
    (fault,) = check(batch, replace(plan, whole_cards=(dear,)))
    assert fault.said == "no more than 2 are said to be possible; the proof is of 3."


def test_no_card_is_proven_by_the_values_of_ends_that_nobody_cuts() -> None:
    """As many as possible: an offcut has the area of both ends and room for one, so there is none."""
    none = (Sheet(30 * MM, 4 * MM, have=0), Sheet(8 * MM, 7 * MM, have=0))
    sheets = (*none, Sheet(8 * MM, 7 * MM, have=1, offcut=True))
    batch = cellar_batch(1, sheets=sheets, buy=False)
    (card,) = batch.cards
    plan = solved(replace(batch, cards=(replace(card, make=None, at_most=9),)))
    (entry,) = plan.whole_cards
    assert (entry.made, entry.most, entry.by) == (0, 0, "values")
    assert entry.values.keys() & {piece.id for piece in plan.unchosen}
