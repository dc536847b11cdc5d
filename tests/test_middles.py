"""Covered middles as sheets to cut from: as many as hosts are cut, against brute force on tiny batches."""

from dataclasses import replace
from functools import cache
from itertools import product
from random import Random

import pytest
from pack_cases import MM, problem_of, solved
from pack_exact import Counts, Rect, Tries, clipped, largest, tries_of

from nesting.batch import Batch, Card, Join, Layer, LoosePiece, Trimmer
from nesting.cards.middles import find_middles
from nesting.cards.resolving import resolve
from nesting.papers import Edges, Face, Paper, Sheet, SheetCount, Turn, Window
from nesting.pieces import Piece
from nesting.plan import Plan

SEEDS = range(30)


def middles_of(batch: Batch) -> tuple[SheetCount, ...]:
    """The covered middles of a batch."""
    asked = resolve(batch).sound()
    return find_middles(asked.batch, asked.placed, asked.pieces())


def tiny_batch(seed: int, *, buy: bool) -> Batch:
    """Two designs, each a mat under a cover, with tags of the paper of the mats; few small sheets."""
    rng = Random(f"middles {seed}")
    turn: Turn = rng.choice(("may", "never"))
    have = 20 if buy else rng.randint(1, 2)
    pear = Paper("pear toss", (Sheet(rng.randint(10, 13) * MM, 10 * MM, have=have),), buy=buy)
    plum = Paper("plum", (Sheet(40 * MM, 40 * MM),))
    cards = []
    for number in range(2):
        width, height = rng.randint(7, 10) * MM, rng.randint(7, 10) * MM
        mat = Layer("mat", "pear toss", width=width, height=height, turn=turn)
        cover = Layer("cover", "plum", reveal=Edges(MM, MM, MM, MM))
        layers = [mat, cover]
        for n in range(rng.randint(1, 2)):
            size = rng.randint(2, 4) * MM, rng.randint(2, 5) * MM
            tag = Layer(f"tag {n}", "pear toss", width=size[0], height=size[1], turn=turn)
            layers.append(replace(tag, where="inside"))
        make = rng.randint(1, 2 if buy else 3)
        cards.append(Card(f"card {number}", make, 20 * MM, 20 * MM, layers=tuple(layers)))
    trimmer = Trimmer(marks=MM, narrowest_hold=MM, cut_width=rng.choice((0, 0, 1)) * MM)
    return Batch(
        "Orchard market", "mm", (pear, plum), tuple(cards), trimmer=trimmer, lap=MM, frame=MM,
        save_middles=True,
    )  # fmt: skip


def tries_for(batch: Batch, pieces: list[Piece]) -> tuple[list[str], Tries]:
    """The pieces of the paper by id, and every way to cut them."""
    loose = tuple(
        LoosePiece(p.id, p.paper, p.demand, p.width, p.height, turn=p.turn) for p in pieces
    )
    problem = problem_of(replace(batch, papers=batch.papers[:1], cards=(), pieces=loose))
    return [kind.piece for kind in problem.kinds], tries_of(problem)


def fewest_sheets(batch: Batch, made: tuple[int, ...], most: int) -> int | None:
    """The fewest sheets that so many cards of each design take, by trying; None beyond the most."""
    number = {card.name: n for card, n in zip(batch.cards, made, strict=True)}
    make = {card.name: card.make or 0 for card in batch.cards}
    pieces = [piece for piece in resolve(batch).pieces() if piece.paper == "pear toss"]
    names, tries = tries_for(batch, pieces)
    wanted = {p.id: sum(u.count * number[u.card] // make[u.card] for u in p.uses) for p in pieces}
    demand = tuple(wanted[name] for name in names)
    held = cache(lambda rect: tries.patterns(demand, rect))

    def with_one(so_far: frozenset[Counts], rect: Rect) -> frozenset[Counts]:
        return largest({clipped(a, b, demand) for a, b in product(so_far, held(rect))})

    found: frozenset[Counts] = frozenset({(0,) * len(demand)})
    for middle in middles_of(batch):
        size = middle.sheet.width // MM, middle.sheet.height // MM
        for _ in range(sum(number[window.card] for window in middle.sheet.windows)):
            found = with_one(found, size)
    sheet = batch.papers[0].sheets[0]
    for sheets in range(most + 1):
        if demand in found:
            return sheets
        found = with_one(found, (sheet.width // MM, sheet.height // MM))
    return None


@pytest.mark.parametrize("seed", SEEDS)
def test_no_plan_with_middles_takes_fewer_sheets(seed: int) -> None:
    """Where all cards are made, the plan takes as few sheets as brute force, and proves it."""
    batch = tiny_batch(seed, buy=True)
    plan = solved(batch)
    figures = next(figures for figures in plan.papers if figures.paper == "pear toss")
    made = tuple(card.make or 0 for card in batch.cards)
    assert figures.needed == fewest_sheets(batch, made, 20)
    assert figures.proven


@pytest.mark.parametrize("seed", SEEDS)
def test_no_choice_of_cards_makes_more_with_middles(seed: int) -> None:
    """Where paper is short, as many cards as brute force makes, no middle of one that is not made."""
    batch = tiny_batch(seed, buy=False)
    plan = solved(batch)
    have = batch.papers[0].sheets[0].have or 0
    ranges = [range((card.make or 0) + 1) for card in batch.cards]
    possible = [made for made in product(*ranges) if fewest_sheets(batch, made, have) is not None]
    made = tuple(count.complete for count in plan.cards)
    assert made in possible
    assert sum(made) == max(map(sum, possible))
    assert all(entry.most >= sum(made) for entry in plan.whole_cards)


def test_middles_make_a_difference_to_both() -> None:
    """Among these batches some are cut from middles, in full and where paper is short."""
    for buy in (True, False):
        plans = [solved(tiny_batch(seed, buy=buy)) for seed in SEEDS]
        assert sum(any(used_of(plan)) for plan in plans) >= 3


def used_of(plan: Plan) -> list[int]:
    """How many middles each layout that is cut from some takes."""
    return [layout.alike for layout in plan.layouts if layout.source.kind == "middle"]


def mat_batch(*layers: Layer, **changes: object) -> Batch:
    """Four cards in mm: a mat of 60 x 80 under a cover of 56 x 76, and tags of 40 x 60 inside."""
    pear = Paper("pear toss", (Sheet(120 * MM, 160 * MM, have=9),))
    own = (
        Layer("mat", "pear toss", width=60 * MM, height=80 * MM),
        Layer("cover", "plum", reveal=Edges(*[2 * MM] * 4)),
        Layer("tag", "pear toss", width=40 * MM, height=60 * MM, where="inside"),
    )
    batch = Batch(
        "Orchard market",
        "mm",
        (pear, Paper("plum", (Sheet(200 * MM, 200 * MM),))),
        (Card("windfall", 4, 60 * MM, 80 * MM, layers=layers or own),),
        trimmer=Trimmer(marks=MM),
        lap=6 * MM,
        save_middles=True,
    )
    return replace(batch, **changes)  # type: ignore[arg-type]


def test_a_middle_lies_as_its_host() -> None:
    """A print that lies on its side has middles that lie on their side, and so has a turned mat."""
    window = Window("windfall", "mat", 8 * MM, 8 * MM, 44 * MM, 64 * MM)
    (found,) = middles_of(mat_batch())
    assert found == SheetCount(
        "pear toss", Sheet(44 * MM, 64 * MM, offcut=True, windows=(window,)), 4
    )
    batch = mat_batch()
    sideways = replace(batch.papers[0], front=Face("one-way", "left"))
    (found,) = middles_of(replace(batch, papers=(sideways, batch.papers[1])))
    assert (found.sheet.width, found.sheet.height) == (64 * MM, 44 * MM)
    assert found.sheet.windows == (window,)


def test_a_mat_that_may_be_turned_gives_no_middle_to_what_may_not() -> None:
    """Nobody knows beforehand which way such a mat lies, so only what may be turned is cut from it."""
    mat, cover, tag = mat_batch().cards[0].layers
    assert middles_of(mat_batch(replace(mat, turn="may"), cover, replace(tag, turn="may")))
    assert not middles_of(mat_batch(replace(mat, turn="may"), cover, replace(tag, turn="never")))
    assert middles_of(mat_batch(replace(mat, turn="never"), cover, replace(tag, turn="never")))


def test_a_layer_says_of_its_middle_what_the_batch_does_not() -> None:
    """``middle: keep`` keeps one that the batch saves, ``middle: save`` saves one that it does not."""
    mat, *rest = mat_batch().cards[0].layers
    assert not middles_of(mat_batch(replace(mat, middle="keep"), *rest))
    saved = mat_batch(replace(mat, middle="save"), *rest, save_middles=False)
    assert middles_of(saved) == middles_of(mat_batch())
    assert not middles_of(mat_batch(save_middles=False))


def test_a_wider_frame_leaves_a_smaller_middle() -> None:
    """A frame of 10 all round leaves 40 x 60 of a mat of 60 x 80; one of 11 gives no tag any more."""
    (found,) = middles_of(mat_batch(frame=10 * MM))
    assert (found.sheet.width, found.sheet.height) == (40 * MM, 60 * MM)
    assert not middles_of(mat_batch(frame=11 * MM))


def test_equal_mats_with_different_middles_are_told_apart() -> None:
    """Two designs ask for one mat; the one with less on it has a middle of its own, or none."""
    batch = mat_batch()
    (card,) = batch.cards
    mat, cover, tag = card.layers
    smaller = replace(
        card, name="cider", make=3, layers=(mat, replace(cover, reveal=Edges(*[4 * MM] * 4)), tag)
    )
    bare = replace(card, name="pruning", make=2, layers=(mat, tag))
    found = middles_of(replace(batch, cards=(card, smaller, bare)))
    assert [(one.sheet.windows[0].card, one.count) for one in found] == [
        ("windfall", 4),
        ("cider", 3),
    ]
    (pieces,) = {
        p.demand
        for p in resolve(replace(batch, cards=(card, smaller, bare))).pieces()
        if p.name == "mat"
    }
    assert pieces == 9


def test_a_window_counts_the_wrapped_ends() -> None:
    """Where a mat is wrapped, its piece is longer, and the window lies further from its edge."""
    _, cover, tag = mat_batch().cards[0].layers
    wrapped = Layer("mat", "pear toss", height=80 * MM, wrap=5 * MM, turn="never")
    (found,) = middles_of(mat_batch(wrapped, cover, tag))
    assert found.sheet.windows == (Window("windfall", "mat", 13 * MM, 8 * MM, 44 * MM, 64 * MM),)


def test_a_window_counts_what_is_wrapped_at_its_own_edge() -> None:
    """Where only the right end is folded behind, the window lies no further from the left."""
    _, cover, tag = mat_batch().cards[0].layers
    wrapped = Layer("mat", "pear toss", height=80 * MM, wrap=Edges(right=9 * MM, bottom=3 * MM))
    found = middles_of(mat_batch(replace(wrapped, turn="never"), cover, tag))
    assert [one.sheet.windows for one in found] == [
        (Window("windfall", "mat", 8 * MM, 11 * MM, 44 * MM, 64 * MM),)
    ]


def test_a_belt_gives_no_middle_and_takes_none() -> None:
    """A belt goes round the card and can be moved: it hides nothing for sure, and needs no hold."""
    mat, cover, tag = mat_batch().cards[0].layers
    belt = Layer("belt", "plum", height=20 * MM, belt=0, middle="save", over="card")
    assert middles_of(mat_batch(mat, cover, tag, belt)) == middles_of(mat_batch())
    assert not middles_of(mat_batch(mat, belt, tag))


def test_a_middle_is_cut_from_only_where_that_saves_a_sheet() -> None:
    """Four mats fill a sheet, and their middles give all tags; on larger sheets there is room beside."""
    plan = solved(mat_batch())
    assert used_of(plan) == [4]
    assert [figures.needed for figures in plan.papers] == [1, 1]
    batch = mat_batch()
    roomy = replace(batch.papers[0], sheets=(Sheet(200 * MM, 160 * MM, have=9),))
    assert used_of(solved(replace(batch, papers=(roomy, batch.papers[1])))) == []


def test_a_middle_counts_as_what_is_cut_from_it() -> None:
    """The sheet is full of mats: what is cut of their middles adds nothing, what is lost there is waste."""
    figures = solved(mat_batch()).papers[0]
    lost = 4 * (44 * 64 - 40 * 60) / (120 * 160)
    assert figures.in_pieces == pytest.approx(1 - lost, abs=1e-6)
    assert figures.waste + figures.kept == pytest.approx(lost, abs=1e-6)


def test_no_choice_is_made_with_middles() -> None:
    """Of papers to choose from, and of those that limit as many as possible, no middle is listed."""
    batch = mat_batch()
    many = replace(batch.cards[0], make=None)
    assert not middles_of(replace(batch, cards=(many,)))


@pytest.mark.parametrize("join", ["may", "must"])
def test_where_joints_are_chosen_no_limited_paper_has_middles(join: Join) -> None:
    """How many cards there are is proven before joints are chosen, without any middle."""
    batch = mat_batch()
    mat, cover, tag = batch.cards[0].layers
    band = Layer("band", "plum", over="cover", height=30 * MM, join=join)
    seal = Layer("seal", "plum", over="band", width=40 * MM, height=40 * MM)
    scarce = Paper("pear toss", (Sheet(120 * MM, 160 * MM, have=1),), buy=False)
    cards = (replace(batch.cards[0], layers=(mat, cover, band, seal, tag)),)
    plan = solved(replace(batch, cards=cards, papers=(scarce, batch.papers[1])))
    assert plan.middles == ()
    assert "pear toss: no covered middles are used, as" in plan.notes[-1]
    plenty = replace(batch, cards=cards)
    whole = solved(plenty)
    assert [one.count for one in whole.middles] == [4]
    assert not any(note.startswith("pear toss: no covered") for note in whole.notes)
