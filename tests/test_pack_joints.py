"""Layers that may be cut as two ends: as good as the best of all ways, counted one by one."""

from dataclasses import replace
from itertools import product
from random import Random

import pytest
from pack_cases import MM, solved
from test_going_on import record_of

from nesting import go_on
from nesting.batch import At, Batch, Card, Layer, LoosePiece, PaperChoice, PaperOption, Trimmer
from nesting.cards.resolving import resolve
from nesting.checker import check
from nesting.layouts import Blank
from nesting.pack import Rounds
from nesting.pack.search.runner import start_searches
from nesting.pack.shortage.choosing import settle_choices
from nesting.papers import Face, Paper, Sheet, Turn
from nesting.pieces import Piece
from nesting.plan import Plan
from nesting.record import Entry, Record

SEEDS = range(24)


def joined_batch(seed: int, *, make: int | None = None) -> Batch:
    """A band across a card under one or two seals, which can be cut in several ways."""
    rng = Random(f"joint {seed}")
    while True:
        batch = _drawn(rng, make)
        resolved = resolve(batch)
        if not resolved.faults and any(one.option for one in resolved.requests):
            return batch


def _drawn(rng: Random, make: int | None) -> Batch:
    length, height = rng.randint(12, 20), rng.randint(2, 5)
    sheet = Sheet(
        rng.randint(10, 22) * MM, rng.randint(10, 14) * MM, have=rng.choice((0, 1, 2, 3, None))
    )
    sheets = (sheet,)
    if rng.random() < 0.3:
        sheets = (sheet, Sheet(9 * MM, 9 * MM, have=rng.randint(1, 2), offcut=rng.random() < 0.6))
    front = Face(rng.choice(("plain", "one-way")))
    pear = Paper("pear toss", sheets, buy=rng.random() < 0.6, front=front)
    oat = Paper("oat cardstock", (Sheet(40 * MM, 40 * MM),))
    turn: Turn | None = rng.choice((None, "may"))
    width = rng.randint(4, 7)
    layers = [
        Layer("panel", "pear toss", width=5 * MM, height=4 * MM, at=At(left=0, bottom=0)),
        Layer(
            "band", "pear toss", over="card", height=height * MM, at=At(bottom=5 * MM), turn=turn,
            join="may",
        ),
        Layer("seal", oat.name, over="band", width=width * MM, height=8 * MM),
    ]  # fmt: skip
    if rng.random() < 0.4:
        at = At(left=2 * MM, bottom=4 * MM)
        layers.append(Layer("leaf", oat.name, over="card", width=4 * MM, height=8 * MM, at=at))
    cards = (
        Card("windfall", make or rng.randint(1, 4), length * MM, 24 * MM, layers=tuple(layers)),
    )
    return Batch("Orchard market", "mm", (pear, oat), cards, trimmer=Trimmer(marks=MM), lap=MM)


def ways(batch: Batch) -> list[tuple[Piece, ...]]:
    """What one band can be cut as."""
    found: dict[int, list[Piece]] = {}
    for one in resolve(batch).requests:
        if one.layer == "band":
            found.setdefault(one.option, []).append(one.piece)
    return [tuple(pieces) for pieces in found.values()]


def with_split(batch: Batch, numbers: tuple[int, ...]) -> Batch:
    """The batch with so many bands in each way, as loose pieces."""
    (card,) = batch.cards
    layers = tuple(layer for layer in card.layers if layer.name != "band")
    loose = tuple(
        LoosePiece(
            f"way {way}, {n}", piece.paper, count, piece.width, piece.height, face=piece.face, turn=piece.turn
        )
        for way, (pieces, count) in enumerate(zip(ways(batch), numbers, strict=True))
        for n, piece in enumerate(pieces)
        if count
    )  # fmt: skip
    papers = tuple(replace(paper, buy=True) for paper in batch.papers)
    layers = tuple(replace(layer, over="card") for layer in layers)
    return replace(batch, papers=papers, cards=(replace(card, layers=layers),), pieces=loose)


def area(plan: Plan) -> tuple[int, int]:
    """The area of the whole sheets of pear toss that are bought, and of those at hand."""
    whole = [one for one in plan.layouts_of("pear toss") if one.source.kind == "sheet"]
    return (
        sum(one.to_buy * one.width * one.height for one in whole),
        sum((one.alike - one.to_buy) * one.width * one.height for one in whole),
    )


def joints(plan: Plan) -> int:
    """How many layers are cut as two ends: those that some card gets."""
    ends = [use for piece in plan.pieces for use in piece.uses if use.end]
    uncut = [use for one in plan.uncut for use in one.uses if use.end]
    return (sum(use.count for use in ends) - sum(use.count for use in uncut)) // 2


@pytest.mark.parametrize("seed", SEEDS)
def test_no_number_of_joints_takes_less_paper(seed: int) -> None:
    """Every number of bands in every way, planned by itself, buys no less and takes no fewer sheets.

    Nor does any with fewer joints take as little.
    """
    batch = joined_batch(seed)
    batch = replace(batch, papers=tuple(replace(paper, buy=True) for paper in batch.papers))
    plan = solved(batch)
    (card,) = batch.cards
    make = card.make or 0
    splits = [
        split for split in product(range(make + 1), repeat=len(ways(batch))) if sum(split) == make
    ]
    whole = [number for number, way in enumerate(ways(batch)) if len(way) == 1]
    least = min(
        (area(solved(with_split(batch, split))), make - sum(split[number] for number in whole))
        for split in splits
    )
    assert (area(plan), joints(plan)) == least
    (figures,) = (one for one in plan.papers if one.paper == "pear toss")
    assert figures.bound.by in ("area", "values")


def changed(seed: int) -> Batch:
    """A batch with joints that is short, has several designs, spare sets, or no number of cards."""
    rng = Random(f"changed {seed}")
    batch = joined_batch(seed, make=rng.randint(2, 6))
    (card,), (pear, oat) = batch.cards, batch.papers
    counted = replace(pear, sheets=tuple(replace(s, have=rng.randint(1, 3)) for s in pear.sheets))
    match seed % 5:
        case 0:
            return replace(batch, papers=(replace(counted, buy=False), oat))
        case 1:
            cider = replace(card, name="cider", make=2)
            papers = (replace(counted, buy=False), oat)
            return replace(batch, papers=papers, cards=(card, cider), first=("cider",))
        case 2:
            return replace(
                batch, papers=(counted, oat), cards=(replace(card, make=None, at_most=9),)
            )
        case 3:
            return replace(batch, cards=(replace(card, spares=2),))
        case _:
            plum = replace(counted, name="plum")
            options = (PaperOption("pear toss"), PaperOption("plum"))
            choice = PaperChoice(options, rng.choice(("all", "each")))
            layers = tuple(
                replace(layer, choice=choice) if layer.name == "band" else layer
                for layer in card.layers
            )
            papers = (pear, plum, oat)
            return replace(batch, papers=papers, cards=(replace(card, layers=layers),))


@pytest.mark.parametrize("seed", range(30))
def test_joints_go_with_everything_that_is_chosen(seed: int) -> None:
    """Short papers, several designs, spare sets, numbers left open, papers to choose: checked plans."""
    batch = changed(seed)
    if resolve(batch).faults:
        batch = replace(batch, cards=(replace(batch.cards[0], make=3, at_most=None),))
    plan = solved(batch)
    never = tuple(
        replace(card, layers=tuple(replace(layer, join="never") for layer in card.layers))
        for card in batch.cards
    )
    stiff = replace(batch, cards=never)
    if not resolve(stiff).faults:
        whole = solved(stiff)
        assert sum(c.complete for c in plan.cards) >= sum(c.complete for c in whole.cards)


@pytest.mark.parametrize("make", [20, None])
def test_joints_save_sheets_beside_a_paper_that_runs_short(make: int | None) -> None:
    """Of ribbons in one piece twelve come out of a sheet; there are mats for eighteen cards."""
    inch = 25_400_000
    sheet = Sheet(12 * inch, 12 * inch)
    plenty, oat = Paper("bee stripe", (sheet,)), Paper("oat cardstock", (sheet,))
    leaf = Paper("leaf", (replace(sheet, have=6),), buy=False)
    layers = (
        Layer("mat", leaf.name, width=19 * inch // 4, height=27 * inch // 4),
        Layer("ribbon", plenty.name, width=19 * inch // 4, height=15 * inch // 8, join="may"),
        Layer("label", oat.name, width=2 * inch, height=2 * inch),
    )
    card = Card("cider", make, 5 * inch, 7 * inch, layers=layers)
    plan = solved(Batch("", "in", (plenty, oat, leaf), cards=(card,)))
    assert not check(plan.asked, plan)
    assert [one.complete for one in plan.cards] == [18]
    figures = {one.paper: one for one in plan.papers}[plenty.name]
    assert (figures.needed, figures.proven) == (1, True)


def ribbons(make: int | None) -> Batch:
    """Cards with a ribbon under a patch: one sheet for the ribbons, and patches for 42 cards."""
    inch = 25_400_000
    stripe = Paper("bee stripe", (Sheet(12 * inch, 12 * inch, have=1),), buy=False)
    fern = Paper("fern", (Sheet(8 * inch, 8 * inch, have=2),), buy=False)
    layers = (
        Layer("ribbon", stripe.name, width=6 * inch, height=5 * inch // 8, join="may"),
        Layer("patch", fern.name, width=2 * inch, height=3 * inch // 2),
    )
    card = Card("hive", make, 6 * inch, 4 * inch, layers=layers)
    return Batch("", "in", (stripe, fern), cards=(card,))


@pytest.mark.parametrize("make", [50, None])
def test_few_joints_are_made_where_paper_is_short(make: int | None) -> None:
    """Nineteen rows of 5/8 in come out of the sheet.

    Eleven of two ribbons, and eight of five ends of 2 1/4 in, make all 42 cards with twenty joints.
    """
    plan = solved(ribbons(make))
    assert [one.complete for one in plan.cards] == [42]
    assert joints(plan) <= 20


def test_the_sheets_of_the_choice_are_not_lost_for_the_plan() -> None:
    """Where not all cards can be made, the plan's searches begin with the patterns that make most."""
    asked = resolve(ribbons(50)).sound()
    chosen = settle_choices(asked, 0, {})
    _, sheets = chosen.known["bee stripe"]
    (search, _) = start_searches(asked.batch, chosen.pieces, 0, chosen.known).values()
    assert sheets
    assert {one.column.pattern for one in sheets} <= {one.pattern for one in search.pool.columns}


@pytest.mark.parametrize("seed", range(12))
def test_going_on_keeps_ends_and_whole_bands_in_the_bags(seed: int) -> None:
    """Some sheets are cut: what they gave counts, the rest is chosen anew, and nothing is cut twice."""
    batch = joined_batch(seed, make=4)
    batch = replace(batch, papers=tuple(replace(paper, buy=True) for paper in batch.papers))
    plan = solved(batch)
    first = next(one for one in plan.layouts if one.paper == "pear toss")
    rest = go_on(batch, plan, Record((Entry(first.id, first.id, None, 1),), ()), Rounds(40))
    assert check(rest.asked, rest, plan) == ()
    cut = {placed.node.piece for placed in first.blanks if isinstance(placed.node, Blank)}
    bagged = {piece.name for piece in rest.pieces if piece.in_bags}
    assert bagged <= {piece.name for piece in plan.pieces if piece.id in cut}
    assert rest.cards[0].complete == 4


@pytest.mark.parametrize("seed", [6, 15, 30, 45])
def test_ends_in_the_bags_count_for_whole_cards(seed: int) -> None:
    """Where paper is short and some is cut, no more cards are said to be possible than are proven."""
    batch = changed(seed)
    rng = Random(f"bags {seed}")
    plan = solved(batch)
    for _ in range(4):
        done = record_of(rng, plan)
        rest = go_on(batch, plan, done, Rounds(30))
        assert check(rest.asked, rest, plan) == ()
