"""Whole cards where paper is short: never beaten by brute force, bounds that hold, in order."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cache
from itertools import product
from pathlib import Path
from random import Random

import pytest
from pack_cases import MM, problem_of, solved
from pack_exact import Counts, clipped, largest, tries_of
from plans import inches

from nesting.batch import Batch, Card, Layer, LoosePiece, Trimmer
from nesting.cards.resolving import resolve
from nesting.files import read_batch
from nesting.papers import Edges, Paper, Sheet
from nesting.plan import Plan

SEEDS = range(24)
#: Batches that give one card of each design at least.
SPARE_SEEDS = range(5, 21)


def tiny_sheets(rng: Random, *, mixed: bool) -> tuple[Sheet, ...]:
    """One or two sheets of one size; ``mixed``: maybe one of another size, and an offcut, beside."""

    def sheet(least: int, most: int, have: int, *, offcut: bool = False) -> Sheet:
        size = rng.randint(least, most) * MM, rng.randint(least, most) * MM
        return Sheet(*size, have=have, offcut=offcut)

    sheets = [sheet(8, 12, rng.randint(1, 2))]
    if mixed and rng.random() < 0.6:
        sheets.append(sheet(7, 10, 1))
    if mixed and rng.random() < 0.4:
        sheets.append(sheet(4, 8, 1, offcut=True))
    return tuple(sheets)


def tiny_batch(seed: int, *, mixed: bool = False) -> Batch:
    """Two or three designs from two papers that cannot be bought, a few small sheets each."""
    rng = Random(f"whole cards {seed}")
    papers = tuple(
        Paper(name, tiny_sheets(rng, mixed=mixed), buy=False)
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
            rng.randint(1, 4 if mixed else 3),
            20 * MM,
            20 * MM,
            layers=tuple(
                layer(f"layer {n}", rng.choice(("pear toss", "bee stripe")))
                for n in range(rng.randint(1, 2 if mixed else 3))
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
    pieces = [piece for piece in resolve(batch).pieces() if piece.paper == paper]
    loose = tuple(LoosePiece(p.id, paper, p.demand, p.width, p.height, turn=p.turn) for p in pieces)
    papers = (batch.paper(paper),)
    problem = problem_of(replace(batch, papers=papers, cards=(), pieces=loose))
    names = [kind.piece for kind in problem.kinds]
    all_: frozenset[Counts] = frozenset({(0,) * len(names)})
    for sheet in batch.paper(paper).sheets:
        size = sheet.width // MM, sheet.height // MM
        one = tries_of(problem).patterns(problem.demand, size)
        for _ in range(sheet.have or 0):
            both = (clipped(a, b, problem.demand) for a, b in product(all_, one))
            all_ = largest(set(both))
    return names, all_


def possible_cards(batch: Batch) -> set[tuple[int, ...]]:
    """Every number of each design that can be made, by trying them all."""
    allocation = {paper.name: given_by(batch, paper.name) for paper in batch.papers}
    pieces = resolve(batch).pieces()

    @cache
    def enough(paper: str, made: tuple[int, ...]) -> bool:
        names, choices = allocation[paper]
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
    return {made for made in product(*ranges) if all(enough(p, made) for p in allocation)}


def made_by(plan: Plan) -> tuple[int, ...]:
    """How many cards of each design are complete."""
    return tuple(count.complete for count in plan.cards)


def spares_by(plan: Plan) -> tuple[int, ...]:
    """How many spare sets of each design, all of whose cards are complete, are cut."""
    uncut = {(use.card, use.layer): use.count for one in plan.uncut for use in one.uses}
    return tuple(
        min(card.spares - -(-uncut.get((card.name, la.name), 0) // la.each) for la in card.layers)
        for card in plan.asked.cards
    )


def evenness(made: Sequence[int], asked: Sequence[int]) -> list[Fraction]:
    """The shares made of what is asked, the smallest first: the larger list is the more even."""
    return sorted(Fraction(number, most) for number, most in zip(made, asked, strict=True))


@pytest.mark.parametrize("mixed", [False, True])
@pytest.mark.parametrize("seed", SEEDS)
def test_no_choice_of_cards_makes_more(seed: int, mixed: bool) -> None:
    """As many whole cards as brute force finds, as evenly, and proven."""
    batch = tiny_batch(seed, mixed=mixed)
    possible = possible_cards(batch)
    plan = solved(batch)
    made, most = made_by(plan), max(map(sum, possible))
    assert made in possible
    assert sum(made) == most
    asked = [card.make for card in batch.cards]
    best = max(evenness(other, asked) for other in possible if sum(other) == most)
    assert evenness(made, asked) == best
    for entry in plan.whole_cards:
        assert (entry.made, entry.most) == (most, most)


def test_the_smallest_shares_alike_the_next_one_is_as_large_as_can_be() -> None:
    """Of three cards, one design has none in any case and another a third: the last two thirds, not two fifths."""

    def panel(name: str, width: int, height: int) -> Layer:
        return Layer(name, "pear toss", width=width * MM, height=height * MM, turn="may")

    designs = (
        (3, (panel("panel", 60, 55),)),
        (5, (panel("mat", 40, 55), panel("band", 25, 30))),
        (3, (replace(panel("panel", 55, 30), turn="never"),)),
    )
    paper = Paper("pear toss", (Sheet(110 * MM, 80 * MM, have=1),), buy=False)
    cards = tuple(
        Card(f"card {number}", make, 60 * MM, 60 * MM, layers=layers)
        for number, (make, layers) in enumerate(designs)
    )
    plan = solved(Batch("Orchard market", "mm", (paper,), cards))
    assert [count.complete for count in plan.cards] == [1, 0, 2]


def test_one_of_each_rather_than_two_of_one() -> None:
    """Two cards in all: a third of three and the one of one, not two thirds and none."""
    path = Path(__file__).parent / "batches" / "one-of-each.yaml"
    assert made_by(solved(read_batch(path))) == (1, 1)


def test_stopped_cuts_make_more_than_the_fewest() -> None:
    """An even aim makes one card of each at least, which edge-to-edge cuts prove; a knife makes three of one."""
    batch = read_batch(Path(__file__).parent / "batches" / "even-by-knife.yaml")
    assert made_by(solved(batch)) == (3, 1, 1)


@pytest.mark.parametrize("seed", SEEDS[:12])
def test_the_first_designs_come_before_all_others(seed: int) -> None:
    """Design after design as many as can be, then the others, evenly: brute force has the same."""
    batch = tiny_batch(seed, mixed=True)
    first = [len(batch.cards) - 1]
    others = range(len(batch.cards) - 1)

    def worth(made: Sequence[int]) -> tuple[list[int], int, list[Fraction]]:
        asked = [batch.cards[n].make for n in others]
        return [made[n] for n in first], sum(made), evenness([made[n] for n in others], asked)

    plan = solved(replace(batch, first=tuple(batch.cards[n].name for n in first)))
    assert worth(made_by(plan)) == max(map(worth, possible_cards(batch)))
    assert all(entry.proven for entry in plan.whole_cards)


@pytest.mark.parametrize("seed", SPARE_SEEDS)
def test_spare_sets_are_as_many_and_as_even_as_can_be(seed: int) -> None:
    """One card of each design, and brute force has no more spare sets, and none more evenly."""
    batch = tiny_batch(seed, mixed=True)
    spares = [card.make for card in batch.cards]
    every = tuple(replace(card, make=1 + card.make) for card in batch.cards)
    sets = possible_cards(replace(batch, cards=every))
    possible = [tuple(n - 1 for n in made) for made in sets if min(made)]
    cards = tuple(replace(card, make=1, spares=card.make) for card in batch.cards)
    found = spares_by(solved(replace(batch, cards=cards)))
    best = max((sum(made), evenness(made, spares)) for made in possible)
    assert (sum(found), evenness(found, spares)) == best


@pytest.mark.parametrize("seed", SEEDS[:12])
def test_loose_pieces_are_as_many_and_as_even_as_can_be(seed: int) -> None:
    """Brute force has no more loose pieces, and none more evenly."""
    rng = Random(f"loose {seed}")
    paper = Paper("pear toss", tiny_sheets(rng, mixed=True), buy=False)
    loose = tuple(
        LoosePiece(f"tag {n}", paper.name, rng.randint(2, 9), n * MM, rng.randint(3, 6) * MM)
        for n in (2, 3, 4)
    )
    batch = Batch("Orchard market", "mm", (paper,), (), loose)
    names, choices = given_by(batch, paper.name)
    asked = {piece.id: piece.demand for piece in resolve(batch).pieces()}
    plan = solved(batch)
    uncut = {one.piece: one.count for one in plan.uncut}
    found = [asked[name] - uncut.get(name, 0) for name in names]
    every = {made for most in choices for made in product(*(range(n + 1) for n in most))}
    best = max((sum(made), evenness(made, [asked[name] for name in names])) for made in every)
    assert (sum(found), evenness(found, [asked[name] for name in names])) == best


@pytest.mark.parametrize("seed", SEEDS[:12])
def test_more_paper_never_gives_fewer_cards(seed: int) -> None:
    """A sheet more of one paper, and proven answers do not fall."""
    batch = tiny_batch(seed)
    before = solved(batch)
    for number, paper in enumerate(batch.papers):
        (sheet,) = paper.sheets
        more = replace(paper, sheets=(replace(sheet, have=(sheet.have or 0) + 1),))
        papers = (*batch.papers[:number], more, *batch.papers[number + 1 :])
        after = solved(replace(batch, papers=papers))
        assert all(entry.proven for entry in after.whole_cards)
        assert sum(made_by(after)) >= sum(made_by(before))


def market_batch(have: int) -> Batch:
    """Panels of 4 x 5 1/4 from a paper that gives six a sheet, mats of it from one to buy."""
    pear = Paper("pear toss", (Sheet(inches("12"), inches("12"), have=have),), buy=False)
    brick = Paper("brick cardstock", (Sheet(inches("8 1/2"), inches("11"), have=0),))
    mat = Layer("mat", "brick cardstock", reveal=Edges())
    panel = Layer("panel", "pear toss", reveal=Edges())
    card = Card("windfall", 12, inches("4"), inches("5 1/4"), layers=(mat, panel), spares=3)
    loose = LoosePiece("tag", "pear toss", 9, inches("4"), inches("1 1/2"))
    return Batch("Orchard market", "in", (pear, brick), (card,), (loose,))


@pytest.mark.parametrize(
    ("have", "complete", "uncut", "to_buy"),
    [
        # six panels and three tags a sheet; of the paper to buy four mats a sheet
        (1, 6, {"mat": 9, "panel": 9, "tag": 6}, 2),
        (2, 12, {"panel": 3, "tag": 3}, 4),
        (3, 12, {}, 4),
    ],
)
def test_cards_then_spares_then_loose_pieces(
    have: int, complete: int, uncut: dict[str, int], to_buy: int
) -> None:
    """What a sheet gives goes to cards, then to spare sets; tags come from what is left over."""
    plan = solved(market_batch(have))
    assert made_by(plan) == (complete,)
    assert {plan.piece(one.piece).name: one.count for one in plan.uncut} == uncut
    bought = {figures.paper: figures.to_buy for figures in plan.papers}
    assert bought == {"pear toss": 0, "brick cardstock": to_buy}


def test_nothing_is_bought_for_cards_that_are_not_made() -> None:
    """Without a sheet of the paper that is gone no mats are bought; their need is still told."""
    plan = solved(market_batch(0))
    figures = {one.paper: one for one in plan.papers}["brick cardstock"]
    assert (figures.needed, figures.used, figures.to_buy) == (4, 0, 0)
    assert made_by(plan) == (0,)
    assert plan.ended == "proven"


def test_interrupted_while_it_settles(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C while whole cards are looked for: there is a plan that can be cut, all the same."""

    def interrupt(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("nesting.pack.shortage.maximise_goal.relaxed_values", interrupt)
    plan = solved(market_batch(1))
    assert 0 < made_by(plan)[0] <= 6
