"""Papers to choose from: never worse than the best fixed choice, enumerated; said per card."""

from dataclasses import replace
from itertools import product
from random import Random

import pytest
from pack_cases import MM, solved

from nesting.batch import Batch, Card, Layer, PaperChoice, PaperOption
from nesting.pack.shortage.paper_choice import cost_to_buy
from nesting.papers import Face, Paper, Sheet, Turn
from nesting.plan import Plan

SEEDS = range(16)


def choosing_batch(seed: int, alike: str) -> Batch:
    """Two designs, each with a layer of two or three papers to choose from, and maybe another."""
    rng = Random(f"choice {seed}")
    price = rng.choice((None, 1))
    papers = tuple(
        Paper(
            name,
            (
                Sheet(
                    rng.randint(9, 14) * MM,
                    rng.randint(9, 14) * MM,
                    have=rng.randint(0, 2),
                    price=price and rng.randint(20, 90),
                ),
            ),
            buy=rng.random() < 0.5,
            back=Face(rng.choice(("plain", "one-way"))),
        )
        for name in ("pear toss", "bee stripe", "brick cardstock")
    )
    faces = [PaperOption(paper.name, face) for paper in papers for face in ("front", "back")]

    def layer(name: str, *, choice: bool) -> Layer:
        size = rng.randint(3, 8) * MM, rng.randint(3, 8) * MM
        turn: Turn | None = rng.choice((None, "may"))
        options = tuple(rng.sample(faces, rng.randint(2, 3)))
        plain = Layer(
            name, options[0].paper, options[0].face, width=size[0], height=size[1], turn=turn,
            each=rng.choice((1, 1, 2)),
        )  # fmt: skip
        return replace(plain, choice=PaperChoice(options, alike)) if choice else plain  # type: ignore[arg-type]

    cards = tuple(
        Card(
            f"card {number}",
            rng.randint(1, 4),
            20 * MM,
            20 * MM,
            layers=(
                layer("panel", choice=True),
                *([layer("band", choice=False)] if rng.random() < 0.4 else []),
            ),
        )
        for number in range(2)
    )
    return Batch("Orchard market", "mm", papers, cards)


def fixed(batch: Batch) -> list[Batch]:
    """The batch with every paper chosen, in every way that is alike for all cards of a design."""
    choices = [layer.options for card in batch.cards for layer in card.layers]
    made = []
    for options in product(*choices):
        left = iter(options)
        cards = tuple(
            replace(
                card,
                layers=tuple(
                    replace(layer, paper=o.paper, face=o.face, choice=None)
                    for layer, o in ((layer, next(left)) for layer in card.layers)
                ),
            )
            for card in batch.cards
        )
        made.append(replace(batch, cards=cards))
    return made


def outcome(plan: Plan, batch: Batch) -> tuple[int, int]:
    """How many cards are complete, and, less being better, what has to be bought to choose from."""
    return sum(c.complete for c in plan.cards), -cost_to_buy(replace(plan, asked=batch)).value


@pytest.mark.parametrize("seed", SEEDS)
def test_a_choice_is_as_good_as_the_best_fixed_one(seed: int) -> None:
    """Alike for all cards: exactly the best of all fixed choices, and proven where it says so."""
    batch = choosing_batch(seed, "all")
    plan = solved(batch)
    best = max(outcome(solved(other), batch) for other in fixed(batch))
    assert outcome(plan, batch) == best
    assert plan.chosen is not None
    assert plan.chosen.value == -best[1]
    assert plan.chosen.least <= plan.chosen.value


@pytest.mark.parametrize("seed", SEEDS)
def test_card_by_card_is_never_worse_than_alike(seed: int) -> None:
    """Each card its own paper: as many cards for as little, or better."""
    alike = solved(choosing_batch(seed, "all"))
    batch = choosing_batch(seed, "each")
    assert outcome(solved(batch), batch) >= outcome(alike, batch)
