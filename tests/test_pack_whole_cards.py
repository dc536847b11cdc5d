"""Whole cards where paper is short: never beaten by brute force, bounds that hold, in order."""

from dataclasses import replace
from functools import cache
from itertools import product
from random import Random

import pytest
from pack_cases import MM, problem_of, solved
from pack_exact import Counts, clipped, largest, tries_of

from nesting.batch import Batch, Card, Layer, LoosePiece, Paper, Sheet, Trimmer
from nesting.layers import pieces_of
from nesting.plan import Plan
from nesting.units import parse_length

SEEDS = range(24)


def inches(text: str) -> int:
    """A length in nm."""
    return parse_length(text, "in")


def tiny_batch(seed: int) -> Batch:
    """Two or three designs from two papers that cannot be bought, one or two small sheets each."""
    rng = Random(f"whole cards {seed}")
    papers = tuple(
        Paper(
            name,
            (Sheet(rng.randint(8, 12) * MM, rng.randint(8, 12) * MM, have=rng.randint(1, 2)),),
            buy=False,
        )
        for name in ("pear toss", "bee stripe")
    )

    def layer(name: str, paper: str) -> Layer:
        size = rng.randint(3, 7) * MM, rng.randint(3, 7) * MM
        turn = rng.choice(("may", "never"))
        each = rng.choice((1, 1, 2))
        return Layer(name, paper, width=size[0], height=size[1], turn=turn, each=each)

    cards = tuple(
        Card(
            f"card {number}",
            rng.randint(1, 3),
            20 * MM,
            20 * MM,
            layers=tuple(
                layer(f"layer {n}", rng.choice(("pear toss", "bee stripe")))
                for n in range(rng.randint(1, 3))
            ),
        )
        for number in range(rng.randint(2, 3))
    )
    trimmer = Trimmer(cut_width=rng.choice((0, 0, 1)) * MM)
    used = {layer.paper for card in cards for layer in card.layers}
    return Batch(
        "Orchard market", "mm", tuple(p for p in papers if p.name in used), cards, trimmer=trimmer
    )


def given_by(batch: Batch, paper: str) -> tuple[list[str], frozenset[Counts]]:
    """The pieces of a paper, and every largest number of each that its sheets at hand give."""
    alone = replace(batch, papers=(batch.paper(paper),), cards=batch.cards)
    pieces = [piece for piece in pieces_of(batch) if piece.paper == paper]
    loose = tuple(LoosePiece(p.id, paper, p.demand, p.width, p.height, turn=p.turn) for p in pieces)
    problem = problem_of(replace(alone, cards=(), pieces=loose))
    names = [kind.piece for kind in problem.kinds]
    sheet = batch.paper(paper).sheets[0]
    one = tries_of(problem).contents(
        problem.demand, (sheet.width // 1_000_000, sheet.height // 1_000_000)
    )
    all_: frozenset[Counts] = frozenset({(0,) * len(names)})
    for _ in range(sheet.have or 0):
        both = (clipped(a, b, problem.demand) for a, b in product(all_, one))
        all_ = largest(set(both))
    return names, all_


def most_cards(batch: Batch) -> dict[tuple[int, ...], int]:
    """Every number of each design that can be made, by trying them all, and their sum."""
    given = {paper.name: given_by(batch, paper.name) for paper in batch.papers}
    pieces = pieces_of(batch)

    @cache
    def enough(paper: str, made: tuple[int, ...]) -> bool:
        names, choices = given[paper]
        number = {card.name: n for card, n in zip(batch.cards, made, strict=True)}
        need = {
            piece.id: sum(
                use.count // card.make * number[card.name]
                for use in piece.uses
                for card in batch.cards
                if use.card == card.name
            )
            for piece in pieces
        }
        wanted = [need[name] for name in names]
        return any(all(w <= n for w, n in zip(wanted, choice, strict=True)) for choice in choices)

    ranges = [range(card.make + 1) for card in batch.cards]
    return {made: sum(made) for made in product(*ranges) if all(enough(p, made) for p in given)}


def made_by(plan: Plan) -> tuple[int, ...]:
    """How many cards of each design are complete."""
    return tuple(count.complete for count in plan.cards)


@pytest.mark.parametrize("seed", SEEDS)
def test_no_choice_of_cards_makes_more(seed: int) -> None:
    """As many whole cards as brute force finds, proven, and as evenly; the bound is that number."""
    batch = tiny_batch(seed)
    possible = most_cards(batch)
    plan = solved(batch)
    made = made_by(plan)
    assert made in possible
    assert sum(made) == max(possible.values())
    for entry in plan.whole_cards:
        assert (entry.made, entry.most) == (sum(made), sum(made))
