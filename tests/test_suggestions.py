"""Small changes that save paper: the trade's worked values, what is left out, what is promised."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from random import Random
from typing import Any

import pytest
from pack_cases import asked, sheet_batch
from project import SAMPLES

from nesting import Edges, read_batch
from nesting.advice.looks import layer_looks
from nesting.advice.small_changes import change_families
from nesting.advice.suggestions import Suggestion, suggest
from nesting.advice.variants import with_changes
from nesting.advice.words import suggestion_lines
from nesting.batch import (
    Base,
    Batch,
    Card,
    Envelope,
    Layer,
    LoosePiece,
    PaperChoice,
    PaperOption,
    Trimmer,
)
from nesting.cards.resolving import resolve
from nesting.checker import check
from nesting.needs import complete_of
from nesting.pack import Rounds, may_make_more, solve
from nesting.papers import Face, Paper, Sheet
from nesting.plan import Plan
from nesting.typed_lengths import parse_length, parse_size

QUICK = Rounds(30)


def even(text: str) -> Edges:
    """The same reveal all round, in inches."""
    return Edges(*4 * [parse_length(text, "in")])


def saved_by(suggestions: tuple[Suggestion, ...]) -> dict[str, tuple[int, int]]:
    """Sheets before and after of the first paper, by the words of the change."""
    return {s.words: (s.savings[0].before, s.savings[0].after) for s in suggestions}


def test_a_quarter_inch_narrower_saves_two_sheets_of_six() -> None:
    """24 of 4 1/4 x 5 1/2 from 12 x 12 in: four a sheet; of 4 x 5 1/2 six."""
    found = suggest(resolve(sheet_batch("12 x 12", asked("4 1/4 x 5 1/2", 24))).batch)
    name = "4 1/4 x 5 1/2 may"
    assert saved_by(found)[f"{name}: 4 x 5 1/2 in instead of 4 1/4 x 5 1/2 in"] == (6, 4)
    assert all(saving.proven for one in found for saving in one.savings)


def test_an_eighth_narrower_fits_the_metric_sheet() -> None:
    """Six of 4 x 5 1/4 on 300 x 300 mm take 2 sheets, of 3 7/8 x 5 1/4 one."""
    found = suggest(resolve(sheet_batch("300 x 300 mm", asked("4 x 5 1/4", 6))).batch)
    assert found[0].words == "4 x 5 1/4 may: 3 7/8 x 5 1/4 in instead of 4 x 5 1/4 in"
    assert saved_by(found)[found[0].words] == (2, 1)


def test_nothing_saves_where_nothing_can() -> None:
    """One small piece takes a sheet, whatever is done to it; a paper nobody sells stays its size."""
    assert suggest(resolve(sheet_batch("6 x 6", asked("2 x 3", 1), buy=False)).batch) == ()


def test_no_other_sheet_of_a_paper_that_cannot_be_bought() -> None:
    """Another size of sheet is to buy; where that is ruled out, it is not suggested."""
    batch = sheet_batch("12 x 12", asked("8 1/2 x 11", 3))
    kinds = {buy: {one.kind for one in suggest(replace(batch, papers=(
        replace(batch.papers[0], buy=buy),)))} for buy in (True, False)}  # fmt: skip
    assert "sheet" in kinds[True]
    assert "sheet" not in kinds[False]


def directed(count: int, size: str, front: Face, back: Face) -> Batch:
    """Pieces from the front of a paper of 6 x 12 in with two prints."""
    width, height = parse_size("6 x 12", "in")
    paper = Paper("pear toss", (Sheet(width, height, have=9),), buy=False, front=front, back=back)
    piece = LoosePiece("tag", "pear toss", count, *parse_size(size, "in"), face="front")
    return resolve(Batch("Orchard market", "in", (paper,), (), (piece,))).batch


def test_a_quarter_turn_and_the_other_face() -> None:
    """Upright 2 of 4 x 5 1/4 fit on 6 x 12 in, turned 3: turn, or take the tossed back."""
    batch = directed(6, "4 x 5 1/4", Face("one-way"), Face("four-way"))
    found = {one.kind: one for one in suggest(batch)}
    assert saved_by((found["turn"],)).popitem()[1] == (3, 2)
    assert "one-way" in found["turn"].note
    assert saved_by((found["face"],)).popitem()[1] == (3, 2)
    (piece,) = found["face"].batch.pieces
    assert (piece.face, piece.turn) == ("back", "may")


def test_one_card_fewer_says_how_many_are_left() -> None:
    """The thirteenth card takes a third sheet."""
    card = Card("windfall", 13, *parse_size("4 x 5 1/4", "in"), layers=(
        Layer("panel", "pear toss", width=parse_length("4", "in"), height=parse_length("5 1/4", "in")),))  # fmt: skip
    batch = resolve(replace(sheet_batch("12 x 12"), cards=(card,))).batch
    (fewer,) = [one for one in suggest(batch) if one.kind == "fewer"]
    assert saved_by((fewer,)) == {"windfall: 12 cards instead of 13": (3, 2)}
    assert fewer.complete["card"] == (13, 12)


def layered() -> Batch:
    """24 cards whose panel, on a mat, needs a sheet more than it would a little smaller."""
    size = parse_size("4 3/4 x 6", "in")
    papers = tuple(
        Paper(name, (Sheet(*parse_size(sheet, "in"), have=None),))
        for name, sheet in (("cream", "11 x 17"), ("brick", "11 x 17"), ("pear toss", "12 x 12"))
    )
    layers = (
        Layer("mat", "brick", reveal=even("1/8")),
        Layer("panel", "pear toss", reveal=even("1/8")),
    )
    card = Card("windfall", 24, *size, Base("cream"), layers)
    return resolve(Batch("Orchard supper", "in", papers, (card,))).batch


def test_the_reveals_after_a_change_are_those_of_the_new_layers() -> None:
    """Panels of 4 1/4 x 5 1/2 go four to a sheet; a smaller mat carries through to 4 in, six to a sheet."""
    batch = layered()
    mat, *_ = [
        one for one in suggest(batch) if one.kind == "reveal" and one.changes[0].path[3] == 0
    ]
    looked = {look.layer: look for look in mat.looks}
    assert looked["mat"].reveal_before == even("1/8")
    assert looked["mat"].reveal_after == even("1/4")
    assert looked["panel"].after == parse_size("4 x 5 1/4", "in")
    assert looked["panel"].reveal_after == looked["panel"].reveal_before == even("1/8")
    assert ("pear toss", 6, 4) in [(s.paper, s.before, s.after) for s in mat.savings]


def test_nothing_looks_otherwise_where_nothing_is_changed() -> None:
    """A batch beside itself, or with more cards, looks as before."""
    batch = layered()
    assert layer_looks(batch, batch) == ()
    assert layer_looks(batch, replace(batch, cards=(replace(batch.cards[0], make=3),))) == ()


def test_only_the_gentlest_of_changes_that_save_the_same() -> None:
    """Where narrower by 1/4 in does, narrower and lower by as much is not suggested."""
    words = saved_by(suggest(resolve(sheet_batch("12 x 12", asked("4 1/4 x 5 1/2", 24))).batch))
    assert [one.partition(": ")[2] for one in words if "may: " in one] == [
        "4 x 5 1/2 in instead of 4 1/4 x 5 1/2 in"
    ]


def test_every_size_lies_on_the_marks_and_is_little_smaller() -> None:
    """Sizes end on a ruler mark, within 1/4 in or 5 mm of what they are."""
    for sample, most in (("orchard", 6_350_000), ("cider", 5_000_000)):
        batch = read_batch(SAMPLES / f"{sample}.yaml")
        for family in change_families(resolve(batch)):
            amounts = [step.amount for step in family.steps]
            assert amounts == sorted(amounts)
            assert all(amount <= most for amount in amounts)
            for step in family.steps:
                for change in step.changes if family.kind == "size" else ():
                    sizes = change.value if isinstance(change.value, tuple) else (change.value,)
                    old = {p.width for p in batch.pieces} | {p.height for p in batch.pieces}
                    assert any(size % batch.trimmer.marks == 0 or size in old for size in sizes), (
                        step.words
                    )


def random_batch(seed: int) -> Batch:
    """A few pieces and a card from one or two papers, sizes on the sixteenths."""
    rng = Random(seed)
    mark = 1_587_500
    printed = rng.choice([Face("one-way"), Face("four-way")])
    papers = tuple(
        Paper(name, (Sheet(192 * mark, 192 * mark, have=rng.randint(0, 3)),), buy, printed, Face("two-way"))
        for name, buy in (("pear toss", True), ("bee stripe", bool(seed % 2)))
    )  # fmt: skip
    pieces = tuple(
        LoosePiece(f"tag {n}", rng.choice(papers).name, rng.randint(2, 14),
                   rng.randint(40, 90), rng.randint(40, 90), face=rng.choice(["front", "back"]))
        for n in range(2)
    )  # fmt: skip
    pieces = tuple(
        replace(p, width=(p.width or 0) * mark, height=(p.height or 0) * mark) for p in pieces
    )
    layers = (
        Layer("mat", "pear toss", face="front", reveal=Edges(*4 * [rng.randint(1, 4) * mark])),
        Layer("panel", "bee stripe", face="front", reveal=Edges(*4 * [rng.randint(1, 4) * mark])),
    )
    card = Card("windfall", rng.randint(3, 9), rng.randint(60, 80) * mark, 88 * mark, layers=layers)
    return resolve(Batch("Orchard market", "in", papers, (card,), pieces)).batch


@pytest.mark.parametrize("seed", range(6, 10))
def test_applying_a_suggestion_gives_what_it_promised(seed: int) -> None:
    """The changed batch has no faults, its plan passes the check, and needs the sheets that were said."""
    batch = random_batch(seed)
    found = suggest(batch, QUICK)
    assert found
    for one in found:
        after = with_changes(batch, one.changes)
        assert after == one.batch
        assert resolve(after).faults == ()
        plan = solve(after, QUICK)
        assert check(after, plan) == ()
        needed = {figures.paper: figures.needed for figures in plan.papers}
        before = {figures.paper: figures.needed for figures in solve(batch, QUICK).papers}
        assert not one.savings or one.savings[0].paper == one.paper
        for saving in one.savings:
            assert (before[saving.paper], needed[saving.paper]) == (saving.before, saving.after)
            assert one.kind == "sheet" or (saving.after < saving.before) == (saving.share > 0)
        assert one.complete["card"][1] == sum(card.complete for card in plan.cards)


def short_batch(seed: int) -> Batch:
    """Cards and a tag from one or two sheets that nobody sells any more, beside paper that suffices."""
    rng = Random(seed)
    mark = 3_175_000
    pear = Paper("pear toss", (Sheet(96 * mark, 96 * mark, have=rng.randint(1, 2)),), buy=False)
    bee = Paper("bee stripe", (Sheet(96 * mark, 96 * mark, have=9),))
    sizes = [(rng.randint(25, 34), rng.randint(36, 46)) for _ in range(2)]
    (wide, high), (width, height) = [(mark * one, mark * other) for one, other in sizes]
    layers = (
        Layer("mat", "bee stripe", reveal=Edges(*4 * [mark])),
        Layer("panel", "pear toss", reveal=Edges(*4 * [mark])),
    )
    card = Card("windfall", rng.randint(4, 9), wide, high, layers=layers)
    tag = LoosePiece("tag", "pear toss", rng.randint(3, 6), width, height)
    trimmer = Trimmer(marks=mark)
    batch = Batch("Orchard market", "in", (pear, bee), (card,), (tag,), trimmer=trimmer)
    return resolve(batch).batch


@pytest.mark.parametrize("seed", [1, 2, 3, 6])
def test_where_paper_is_short_what_completes_most_is_offered_and_nothing_else(seed: int) -> None:
    """Every change is planned: none that helps more is left out, and none that is offered does not help."""
    batch = short_batch(seed)
    plan = solve(batch, QUICK)
    assert not plan.all_cut
    found = [made_by(one.plan) for one in suggest(batch, QUICK)]
    steps = (step for family in change_families(resolve(batch)) for step in family.steps)
    changed = [with_changes(batch, step.changes) for step in steps]
    most = max(made_by(solve(one, QUICK)) for one in changed if not resolve(one).faults)
    assert all(made > made_by(plan) for made in found)
    assert max(found, default=made_by(plan)) == most


@pytest.mark.parametrize("seed", [3, 8])
def test_what_the_proof_rules_out_is_not_planned_and_would_not_help(
    monkeypatch: pytest.MonkeyPatch, seed: int
) -> None:
    """Where only cards lack: the same is offered as if every change were planned."""
    batch = replace(short_batch(seed), pieces=())
    ruled_out = []

    def looked(*args: Any) -> bool:
        may = may_make_more(*args)
        ruled_out.append(not may)
        return may

    monkeypatch.setattr("nesting.advice.quick_savings.may_make_more", looked)
    found = suggest(batch, QUICK)
    assert set(ruled_out) == {False, True}
    monkeypatch.setattr("nesting.advice.quick_savings.may_make_more", lambda *_: True)
    assert suggest(batch, QUICK) == found


def made_by(plan: Plan) -> list[int]:
    """How many cards and loose pieces a plan completes."""
    complete = complete_of(plan)
    return [complete[kind][0] for kind in ("card", "loose piece")]


def test_the_random_batches_have_suggestions() -> None:
    """The property above is about something."""
    assert sum(len(suggest(random_batch(seed), QUICK)) for seed in range(3)) > 3


def test_an_executor_finds_the_same() -> None:
    """Handed to threads or looked for here: the same suggestions, and progress is told."""
    batch = random_batch(1)
    told: list[int] = []
    with ThreadPoolExecutor(2) as executor:
        there = suggest(
            batch, QUICK, executor=executor, report=lambda _, n, of: told.append(of - n)
        )
    assert there == suggest(batch, QUICK)
    assert told.count(0) == 2


def test_a_join_is_offered_with_its_saving() -> None:
    """Ribbons as two ends under what lies on them: one sheet instead of two; offered where hidden."""
    joined = read_batch(SAMPLES / "orchard-hidden.yaml")
    cards = tuple(
        replace(card, layers=tuple(replace(layer, join="never") for layer in card.layers))
        for card in joined.cards
    )
    papers = tuple(
        replace(paper, buy=True) if paper.name == "bee stripe" else paper for paper in joined.papers
    )
    found = suggest(replace(joined, papers=papers, cards=cards), QUICK)
    mine = [s for s in found if s.kind == "join" and s.paper == "bee stripe"]
    words = "windfall supper, ribbon: two ends where that saves, the joint hidden by moon"
    assert saved_by(mine)[words] == (2, 1)
    assert all(suggestion.looks == () for suggestion in mine)
    assert not [s for s in suggest(joined, QUICK) if ", ribbon: two ends" in s.words]


def test_saved_middles_are_offered_with_their_saving() -> None:
    """Small cards out of the mats of larger ones: five sheets instead of eight, asked for or not."""
    saving = read_batch(SAMPLES / "orchard-hidden.yaml")
    batch = resolve(replace(saving, save_middles=False)).batch
    found = suggest(batch, QUICK)
    (one,) = [suggestion for suggestion in found if suggestion.kind == "middles"]
    assert one.paper == "brick cardstock"
    assert saved_by((one,))[one.words] == (8, 5)
    assert one.looks == ()
    assert one.batch == saving
    assert not [s for s in suggest(saving, QUICK) if s.kind == "middles"]


def test_a_paper_that_a_change_needs_more_of_is_told_too() -> None:
    """With a larger reveal seven panels come from a sheet; the middles are too small for the fronts then."""
    cards = (
        Card("windfall", 7, *parse_size("4 1/4 x 5 1/2", "in"), layers=(
            Layer("mat", "brick", reveal=even("1/8")), Layer("panel", "pear toss", reveal=even("1/8")))),
        Card("honey", 7, *parse_size("3 1/4 x 4 1/2", "in"), layers=(Layer("front", "brick", reveal=even("0")),)),
    )  # fmt: skip
    papers = tuple(
        Paper(name, (Sheet(*parse_size(size, "in"), have=None),))
        for name, size in (("brick", "8 1/2 x 11"), ("pear toss", "12 x 12"))
    )
    batch = Batch("Orchard supper", "in", papers, cards, save_middles=True)
    words = "windfall, panel: reveal 1/4 in instead of 1/8 in"
    (one,) = [one for one in suggest(batch, QUICK) if one.words == words]
    assert [(s.paper, s.before, s.after) for s in one.savings] == [
        ("pear toss", 2, 1),
        ("brick", 2, 3),
    ]
    lines = [*suggestion_lines(one)]
    assert lines[0] == "pear toss: 1 sheet instead of 2, 50 % less paper"
    assert lines[1].startswith("brick: 3 sheets instead of 2")
    assert lines[1].endswith("50 % more paper")


def test_of_sheets_of_several_sizes_the_area_counts() -> None:
    """A third of the paper is saved where of two sheets the smaller one is no longer needed."""
    sheets = tuple(Sheet(*parse_size(size, "in"), have=None) for size in ("12 x 12", "6 x 12"))
    batch = sheet_batch("12 x 12", asked("6 x 4 1/8", 6))
    papers = (replace(batch.papers[0], sheets=sheets),)
    found = suggest(resolve(replace(batch, papers=papers)).batch)
    (one,) = [one for one in found if one.words.endswith(": 6 x 4 in instead of 6 x 4 1/8 in")]
    (saving,) = one.savings
    assert (saving.before, saving.after, saving.share) == (2, 1, 0.333333)


def test_another_paper_that_is_chosen_after_a_change() -> None:
    """Panels a quarter inch narrower all come from what is at hand; before, another paper was bought."""
    bee = Paper("bee", (Sheet(*parse_size("12 x 12", "in"), have=0),))
    plum = Paper("plum", (Sheet(*parse_size("12 x 6 1/4", "in"), have=2),), buy=False)
    choice = PaperChoice((PaperOption("bee"), PaperOption("plum")))
    width, height = parse_size("6 1/4 x 6 1/4", "in")
    panel = Layer("panel", "bee", width=width, height=height, choice=choice)
    card = Card("windfall", 4, 2 * width, 2 * height, layers=(panel,))
    batch = Batch("Orchard supper", "in", (bee, plum), (card,))
    found = suggest(batch, QUICK)
    words = "windfall, panel: 6 x 6 1/4 in instead of 6 1/4 x 6 1/4 in"
    (one,) = [one for one in found if one.words == words]
    assert [(s.paper, s.before, s.after) for s in one.savings] == [("bee", 4, 0), ("plum", 0, 2)]


def test_another_envelope_is_told() -> None:
    """Two bases a sheet where the card is a quarter inch narrower, which then goes into a smaller envelope."""
    cream = Paper("cream", (Sheet(*parse_size("8 1/2 x 11", "in"), have=None),))
    size = parse_size("4 1/2 x 5 1/2", "in")
    card = Card("windfall", 6, *size, Base("cream"), envelope=Envelope())
    words = "windfall: the card 4 1/4 x 5 1/2 in instead of 4 1/2 x 5 1/2 in"
    found = suggest(Batch("Orchard supper", "in", (cream,), (card,)), QUICK)
    (one,) = [one for one in found if one.words == words]
    assert saved_by((one,)) == {words: (6, 3)}
    assert one.note == ("windfall: envelope A2, 5 3/4 x 4 3/8 in instead of A6, 6 1/2 x 4 3/4 in")


def test_spare_sets_that_a_change_completes_are_told() -> None:
    """Four panels fit on the one sheet, six where they are 2 mm narrower: two spare sets more."""
    mm = 1_000_000
    paper = Paper("pear toss", (Sheet(120 * mm, 100 * mm, have=1),), buy=False)
    panel = Layer("panel", "pear toss", width=42 * mm, height=50 * mm)
    card = Card("windfall", 4, 60 * mm, 80 * mm, layers=(panel,), spares=2)
    found = suggest(Batch("Orchard market", "mm", (paper,), (card,)))
    assert any("complete spare sets: 2 instead of 0" in suggestion_lines(one) for one in found)
