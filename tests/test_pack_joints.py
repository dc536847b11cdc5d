"""Layers that may be cut as two ends: as good as the best of all ways, counted one by one."""

from dataclasses import replace
from itertools import product
from random import Random

import pytest
from pack_cases import MM, solved

from nesting.batch import (
    At,
    Batch,
    Card,
    Face,
    Layer,
    LoosePiece,
    Paper,
    Piece,
    Sheet,
    Turn,
)
from nesting.plan import Plan
from nesting.resolving import resolve

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
    return Batch("Orchard market", "mm", (pear, oat), cards, lap=MM)


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


@pytest.mark.parametrize("seed", SEEDS)
def test_no_number_of_joints_takes_less_paper(seed: int) -> None:
    """Every number of bands in every way, planned by itself, buys no less and takes no fewer sheets."""
    batch = joined_batch(seed)
    batch = replace(batch, papers=tuple(replace(paper, buy=True) for paper in batch.papers))
    plan = solved(batch)
    (card,) = batch.cards
    make = card.make or 0
    splits = [
        split for split in product(range(make + 1), repeat=len(ways(batch))) if sum(split) == make
    ]
    assert area(plan) == min(area(solved(with_split(batch, split))) for split in splits)
    (figures,) = (one for one in plan.papers if one.paper == "pear toss")
    assert figures.bound.by in ("area", "values")
