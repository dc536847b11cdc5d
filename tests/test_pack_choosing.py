"""As many cards as possible: never beaten by brute force, evenly where asked, and proven."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from random import Random
from typing import Literal

import pytest
from pack_cases import solved
from pack_exact import Tries
from plans import inches
from test_pack_whole_cards import made_by, possible_cards, tiny_batch

from nesting.batch import Aim, Batch, Card, Layer, LoosePiece, PaperChoice, PaperOption
from nesting.cards.resolving import resolve
from nesting.files import read_batch
from nesting.pack import Seconds
from nesting.papers import Face, Paper, Print, Sheet, Turn
from nesting.plan import OneMore

HERE = Path(__file__).parent
AIMS: tuple[Aim, ...] = ("most cards", "even")
SEEDS = range(24)


def open_batch(seed: int, aim: Aim) -> Batch:
    """A tiny batch of two papers in which one design has a number at most; some have limits."""
    rng = Random(f"as many as possible {seed}")
    batch = tiny_batch(seed, mixed=True)
    numbered = rng.randint(0, len(batch.cards) - 1) if rng.random() < 0.4 else None
    cards = []
    for number, card in enumerate(batch.cards):
        if number == numbered:
            cards.append(replace(card, make=1))
            continue
        at_least = rng.choice((0, 0, 0, 1, 2))
        at_most = at_least + rng.randint(1, 3) if rng.random() < 0.3 else None
        cards.append(replace(card, make=None, at_least=at_least, at_most=at_most))
    return replace(batch, cards=tuple(cards), aim=aim)


def every_number(batch: Batch) -> set[tuple[int, ...]]:
    """Every number of each design that can be made, by trying them all."""
    most = resolve(batch).most
    counted = tuple(
        replace(card, make=max(1, most.get(card.name, card.make or 0)), at_least=0, at_most=None)
        for card in batch.cards
    )
    return possible_cards(replace(batch, cards=counted))


def worth(batch: Batch, made: Sequence[int]) -> tuple[object, ...]:
    """How good some numbers are: what is asked at least first, then the number or the evenness."""
    counts = [n for card, n in zip(batch.cards, made, strict=True) if card.make is None]
    least = [card.at_least for card in batch.cards if card.make is None]
    there = [min(n, wanted) for n, wanted in zip(counts, least, strict=True)]
    shares = sorted(Fraction(n, w) for n, w in zip(there, least, strict=True) if w)
    if batch.aim == "even":
        return sum(there), shares, sorted(counts)
    return sum(there), shares, sum(counts), sorted(counts)


@pytest.mark.parametrize("aim", AIMS)
@pytest.mark.parametrize("seed", SEEDS)
def test_brute_force_makes_no_more(seed: int, aim: Aim) -> None:
    """Of all numbers that can be made beside those with a number, the plan has the best."""
    batch = open_batch(seed, aim)
    plan = solved(batch)
    made = made_by(plan)
    known = [(n, card.make) for n, card in enumerate(batch.cards)]
    possible = [
        numbers
        for numbers in every_number(batch)
        if all(make is None or numbers[n] == made[n] for n, make in known)
        and all(
            c.at_most is None or n <= c.at_most for n, c in zip(numbers, batch.cards, strict=True)
        )
    ]
    assert made in possible
    assert worth(batch, made) == max(worth(batch, numbers) for numbers in possible)
    assert all(entry.proven for entry in plan.whole_cards)


@pytest.mark.parametrize("turn", ["may", "never"])
def test_one_sheet_gives_what_every_cut_at_every_quarter_inch_finds(turn: Turn) -> None:
    """3 1/2 x 4 3/4 in from 12 x 12 in: seven that may be turned, six that may not."""
    ways = {(14, 19), (19, 14)} if turn == "may" else {(14, 19)}
    most = Tries((frozenset(ways),), cut_width=0, longest=None).most_value((1,), (48, 48))
    panel = Layer("panel", "pear toss", width=inches("3 1/2"), height=inches("4 3/4"), turn=turn)
    paper = Paper("pear toss", (Sheet(inches("12"), inches("12"), have=1),))
    card = Card("windfall", None, inches("4 1/4"), inches("5 1/2"), layers=(panel,))
    plan = solved(Batch("Last sheet", "in", (paper,), (card,)))
    assert made_by(plan) == (most,)
    assert plan.all_cut
    (entry,) = plan.whole_cards
    assert (entry.asked, entry.made, entry.most) == (None, most, most)
    (more,) = plan.one_more
    assert (more.paper, more.made, more.better) == ("pear toss", {"windfall": 2 * most}, True)


@pytest.mark.parametrize("numbered", [True, False])
def test_an_even_aim_leaves_no_design_out(numbered: bool) -> None:
    """One sheet of each paper: nine of one design and none of the other, or some of both."""
    batch = read_batch(HERE / "found" / "useup.yaml")
    if not numbered:
        batch = replace(batch, cards=tuple(replace(card, make=None) for card in batch.cards))
    plan = solved(replace(batch, aim="even"))
    (entry,) = plan.whole_cards
    assert min(made_by(plan)) > 0
    assert (entry.of, entry.made, entry.proven) == ("each", min(made_by(plan)), True)


def sheets(name: str, have: int | None, face: Print = "four-way", *, buy: bool = False) -> Paper:
    """A paper of 12 x 12 in."""
    sheet = Sheet(inches("12"), inches("12"), have=have)
    return Paper(name, (sheet,), buy=buy, front=Face(face))


def panel_of(*papers: str, alike: Literal["all", "each"] = "all") -> Layer:
    """A panel of 3 1/2 x 4 3/4 in from one of some papers."""
    options = tuple(PaperOption(paper) for paper in papers)
    choice = PaperChoice(options, alike) if len(papers) > 1 else None
    size = {"width": inches("3 1/2"), "height": inches("4 3/4")}
    return Layer("panel", papers[0], choice=choice, **size)


def market(*papers: Paper, layer: Layer | None = None, **card: object) -> Batch:
    """As many windfall cards as possible of one panel each."""
    size = inches("4 1/4"), inches("5 1/2")
    windfall = Card("windfall", None, *size, layers=(layer or panel_of("pear toss"),))
    windfall = replace(windfall, **card)  # type: ignore[arg-type]
    return Batch("Orchard market", "in", papers, (windfall,))


@pytest.mark.parametrize(("alike", "most"), [("all", 7), ("each", 13)])
def test_papers_to_choose_from_count_together(alike: Literal["all", "each"], most: int) -> None:
    """A sheet that gives seven and one that gives six: both where each card may choose."""
    papers = sheets("pear toss", 1), sheets("bee stripe", 1, "one-way")
    plan = solved(market(*papers, layer=panel_of("pear toss", "bee stripe", alike=alike)))
    assert made_by(plan) == (most,)
    assert [entry.most for entry in plan.whole_cards] == [most]


def test_without_any_paper_to_choose_there_is_no_card() -> None:
    """Two papers to choose from, and not a sheet of either."""
    papers = sheets("pear toss", 0), sheets("bee stripe", 0)
    plan = solved(market(*papers, layer=panel_of("pear toss", "bee stripe")))
    assert made_by(plan) == (0,)
    assert [more.made for more in plan.one_more] == [{"windfall": 7}, {"windfall": 7}]


def test_a_proof_speaks_of_what_is_cut_alone() -> None:
    """A paper that no card takes in the end has a bound for what else is cut of it."""
    papers = sheets("pear toss", 2), sheets("bee stripe", 2, "one-way")
    batch = market(*papers, layer=panel_of("pear toss", "bee stripe"))
    square = Layer("square", "bee stripe", width=inches("7"), height=inches("7"))
    other = replace(batch.cards[0], name="cider", make=2, layers=(square,))
    plan = solved(replace(batch, cards=(*batch.cards, other)))
    assert {piece.paper for piece in plan.pieces if piece.name == "panel"} == {"pear toss"}
    bound = {figures.paper: figures.bound for figures in plan.papers}["bee stripe"]
    assert (bound.by, bound.value, list(bound.values)) == ("values", 2, ["cider/square"])


def test_a_paper_to_buy_holds_nothing_of_an_option_that_is_not_taken() -> None:
    """Tags go on the paper at hand; of the one to buy, sheets may have had some in the programme."""
    papers = sheets("pear toss", 0, buy=True), sheets("bee stripe", 1)
    mat, panel = (
        Layer(name, paper, width=inches(width), height=inches("6"))
        for name, paper, width in (("mat", "bee stripe", "5"), ("panel", "pear toss", "6"))
    )
    either = PaperChoice((PaperOption("bee stripe"), PaperOption("pear toss")), "all")
    tag = Layer("tag", "bee stripe", width=inches("1"), height=inches("1"), choice=either)
    cider = Card("cider", 9, inches("6"), inches("6"), layers=(mat, tag, panel))
    batch = market(*papers, layer=panel_of("bee stripe"), at_most=4)
    plan = solved(replace(batch, cards=(*batch.cards, cider)))
    assert [count.complete for count in plan.cards] == [0, 4]
    assert {piece.paper for piece in plan.pieces if piece.name == "tag"} == {"bee stripe"}


def test_sheets_cost_what_the_pieces_that_are_cut_make_them_cost() -> None:
    """What one to buy costs beside plenty rests on the number of pieces: not on all there might be."""
    small = Sheet(inches("3"), inches("3"))
    large = Sheet(inches("12"), inches("6"), have=0)
    papers = Paper("pear toss", (small, large), buy=False), sheets("bee stripe", 1)
    batch = market(*papers, layer=panel_of("pear toss", "bee stripe", alike="each"), at_most=9)
    tag = LoosePiece("tag", "pear toss", 2, inches("2"), inches("2"))
    band = LoosePiece("band", "pear toss", 1, inches("10"), inches("2"))
    plan = solved(replace(batch, pieces=(tag, band)))
    assert made_by(plan) == (7,)
    assert {piece.paper for piece in plan.pieces if piece.name == "panel"} == {"bee stripe"}


def test_plenty_that_is_too_small_does_not_suffice() -> None:
    """Beside as many as possible, too: what fits only the size of which there is none is not cut."""
    small = Sheet(inches("4"), inches("4"))
    large = Sheet(inches("8"), inches("4"), have=0)
    toss = Paper("pear toss", (small, large), buy=False)
    batch = market(sheets("bee stripe", 1), toss, layer=panel_of("bee stripe"), at_most=2)
    band = Layer("band", "pear toss", width=inches("6"), height=inches("2"))
    cider = Card("cider", 2, inches("6"), inches("2"), layers=(band,))
    tag = LoosePiece("tag", "pear toss", 3, inches("2"), inches("2"))
    plan = solved(replace(batch, cards=(*batch.cards, cider), pieces=(tag,)))
    assert [(one.piece, one.count) for one in plan.uncut] == [("cider/band", 2)]
    assert [count.complete for count in plan.cards] == [2, 0]


def test_nothing_is_bought() -> None:
    """Of a paper that could be bought, only what is at hand counts."""
    plan = solved(market(sheets("pear toss", 1, buy=True)))
    assert made_by(plan) == (7,)
    assert [figures.to_buy for figures in plan.papers] == [0]


def test_a_spare_set_takes_what_papers_that_suffice_give_of_it() -> None:
    """Of a spare set that one paper lacks, what another has enough of is cut all the same."""
    own, other = sheets("pear toss", 1, buy=True), sheets("bee stripe", 1)
    own = replace(own, sheets=(Sheet(inches("6"), inches("6"), have=1),))
    open_card = Card(
        "windfall", None, inches("2"), inches("2"), layers=(
            Layer("tag", "pear toss", width=inches("1"), height=inches("3")),
        ),
    )  # fmt: skip
    spared = Card(
        "cider", 2, inches("3"), inches("3"), spares=1, layers=(
            Layer("panel", "pear toss", width=inches("3"), height=inches("5")),
            Layer("square", "bee stripe", width=inches("4"), height=inches("4")),
        ),
    )  # fmt: skip
    plan = solved(Batch("Orchard market", "in", (own, other), (open_card, spared)))
    assert [count.complete for count in plan.cards] == [2, 2]
    assert [plan.piece(one.piece).name for one in plan.uncut] == ["panel"]


def test_it_is_said_where_no_time_was_left_for_one_more_sheet(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Else its absence would read as if no paper limited the cards."""
    monkeypatch.setattr("nesting.pack.shortage.one_more.is_late", lambda: True)
    plan = solved(market(sheets("pear toss", 1)))
    assert plan.one_more == ()
    words = "What one more sheet would give was not worked out: there was no time left for it."
    assert list(plan.notes) == [words]


@pytest.mark.parametrize("have", [1, None])
def test_no_more_than_are_asked_at_most(have: int | None) -> None:
    """Where paper would do for more, or is there in plenty, the number said is made."""
    plan = solved(market(sheets("pear toss", have), at_most=5))
    assert made_by(plan) == (5,)
    assert plan.ended == "proven"
    assert plan.one_more == ()


def test_what_others_leave_behind_is_even_by_itself() -> None:
    """Two of one at most: the other two share the rest evenly, which has a proof of its own."""
    batch = market(sheets("pear toss", 2), sheets("bee stripe", 0), at_most=2)
    cards = tuple(
        replace(batch.cards[0], name=name, at_most=most, layers=(panel_of(paper),))
        for name, most, paper in (
            ("windfall", 2, "pear toss"),
            ("cider", None, "pear toss"),
            ("plum", None, "pear toss"),
            ("quince", None, "bee stripe"),
        )
    )
    plan = solved(replace(batch, cards=cards, aim="even"))
    assert made_by(plan) == (2, 6, 6, 0)
    assert [(entry.cards, entry.made, entry.most) for entry in plan.whole_cards] == [
        (("windfall", "cider", "plum", "quince"), 0, 0),
        (("windfall", "cider", "plum"), 2, 2),
        (("cider", "plum"), 6, 6),
    ]


def test_without_a_sheet_there_is_no_card() -> None:
    """Nothing at hand gives nothing, which is proven; one sheet more would give seven."""
    plan = solved(market(sheets("pear toss", 0)))
    assert made_by(plan) == (0,)
    assert plan.layouts == ()
    assert plan.ended == "proven"
    assert [more.made for more in plan.one_more] == [{"windfall": 7}]


def test_less_than_is_asked_at_least_is_uncut() -> None:
    """Nine at least from a sheet of seven: two are told to be lacking."""
    plan = solved(market(sheets("pear toss", 1), at_least=9))
    assert [(count.asked, count.complete) for count in plan.cards] == [(9, 7)]
    assert [uncut.count for uncut in plan.uncut] == [2]
    assert not plan.all_cut


def test_what_has_a_number_comes_first() -> None:
    """Three tags and a numbered design are cut before as many as possible of another."""
    batch = market(sheets("pear toss", 1))
    other = replace(batch.cards[0], name="cider", make=2, spares=1)
    tag = LoosePiece("tag", "pear toss", 3, inches("3 1/2"), inches("4 3/4"))
    plan = solved(replace(batch, cards=(*batch.cards, other), pieces=(tag,)))
    assert made_by(plan) == (1, 2)
    assert plan.uncut == ()


def test_a_numbered_design_may_take_all() -> None:
    """Nine of seven possible: as many as possible of another is none, and nothing is bought."""
    batch = market(sheets("pear toss", 1, buy=True))
    other = replace(batch.cards[0], name="cider", make=9)
    plan = solved(replace(batch, cards=(*batch.cards, other)))
    assert [(count.asked, count.complete) for count in plan.cards] == [(0, 0), (9, 7)]
    assert [(entry.cards, entry.made, entry.most) for entry in plan.whole_cards] == [
        (("cider",), 7, 7),
        (("windfall",), 0, 0),
    ]


def test_the_first_of_several_comes_before_the_others() -> None:
    """One design after the other takes what there is."""
    batch = market(sheets("pear toss", 1), at_most=5)
    cards = tuple(replace(batch.cards[0], name=name) for name in ("cider", "windfall"))
    assert made_by(solved(replace(batch, cards=cards, first=("windfall",)))) == (2, 5)
    assert sum(made_by(solved(replace(batch, cards=cards)))) == 7


@pytest.mark.parametrize("seed", SEEDS[:8])
def test_one_sheet_more_gives_what_is_said(seed: int) -> None:
    """The batch with that sheet has a plan for as many cards, and of all others for no more."""
    batch = open_batch(seed, "most cards")
    plan = solved(batch)
    for more in plan.one_more:
        papers = tuple(
            replace(paper, sheets=tuple(_with_one(sheet, more) for sheet in paper.sheets))
            if paper.name == more.paper
            else paper
            for paper in batch.papers
        )
        after = solved(replace(batch, papers=papers))
        assert sum(made_by(after)) == sum(more.made.values())
        assert more.better == (worth(batch, made_by(after))[:3] > worth(batch, made_by(plan))[:3])


def test_a_sheet_more_of_a_paper_that_only_a_number_needs_is_tried_too() -> None:
    """As many of one design as are asked for; another lacks a sheet of a paper that nobody sells any more."""
    size = inches("12"), inches("12")
    papers = tuple(
        Paper(name, (Sheet(*size, have=1),), buy=buy)
        for name, buy in (("plum", True), ("bee", False), ("moss", True), ("ash", False))
    )
    cards = (
        Card("open", None, *size, layers=(Layer("front", "plum", width=size[0]),), at_most=1),
        Card("fixed", 2, *size, layers=(Layer("front", "bee"), Layer("back", "moss"))),
    )
    plan = solved(Batch("Last sheets", "in", papers, cards))
    assert made_by(plan) == (1, 1)
    assert [(more.paper, more.made, more.better) for more in plan.one_more] == [
        ("plum", {"open": 1, "fixed": 1}, False),
        ("bee", {"open": 1, "fixed": 2}, True),
    ]


def _with_one(sheet: Sheet, more: OneMore) -> Sheet:
    same = (sheet.width, sheet.height) == (more.width, more.height) and not sheet.offcut
    return replace(sheet, have=(sheet.have or 0) + 1) if same else sheet


def test_late_there_is_a_plan() -> None:
    """Without any time the answer may be less, and is sound."""
    assert solved(market(sheets("pear toss", 2)), Seconds(0)).ended in ("proven", "limit")


def test_circles_in_rows_are_counted_for_more_than_are_made() -> None:
    """A blank may hold more circles than there are cards: the proof still stands."""
    moon = Layer("moon", "pear toss", circle=inches("2 1/2"))
    made = made_by(solved(market(sheets("pear toss", 1), layer=moon)))
    assert made == made_by(solved(market(sheets("pear toss", 1), layer=moon, make=30)))
    few = Layer("mat", "brick", width=inches("6"), height=inches("6"))
    batch = market(sheets("pear toss", 1), sheets("brick", 1), layer=moon)
    cards = (replace(batch.cards[0], layers=(moon, few)),)
    assert made_by(solved(replace(batch, cards=cards))) == (4,)
