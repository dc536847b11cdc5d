"""What a plan warns of is worked out again: nothing is missing, nothing is made up."""

import re
from collections.abc import Iterator
from dataclasses import replace

import pytest
from check_cases import rules
from plans import inches

from nesting.batch import At, Base, Batch, Card, Layer, LoosePiece, PaperChoice, PaperOption
from nesting.checker import check
from nesting.checker.cutting.cut_sheets import CutUp, Rect
from nesting.layouts import Blank
from nesting.pack import Rounds, solve
from nesting.papers import Edges, Face, Paper, Sheet
from nesting.plan import Plan


def careless_batch() -> Batch:
    """One batch with everything that is warned of."""
    pear = Paper(
        "pear toss",
        (Sheet(inches("12"), inches("12"), have=4),),
        front=Face("one-way"),
    )
    cream = Paper("cream cardstock", (Sheet(inches("8 1/2"), inches("11"), have=4),), grain="long")
    layers = (
        Layer("moon", "cream cardstock", circle=inches("2"), die_allowance=inches("1/64")),
        Layer(
            "star", "cream cardstock", over="moon", width=inches("1 1/2"), height=inches("1 1/2")
        ),
        Layer("pip", "cream cardstock", over="moon", circle=inches("1"), at=At(centre=(0, 0))),
        Layer("core", "cream cardstock", over="moon", circle=inches("1")),
        Layer("mat", "cream cardstock", over="card", reveal=Edges(*4 * [inches("9/16")])),
        Layer("plain", "pear toss", face="back", over="card", reveal=Edges(top=inches("1/8"))),
    )
    folded = Card(
        "windfall", 2, inches("4"), inches("5 1/2"), Base("pear toss", fold="top"), layers
    )
    # The grain runs along the long side, where the base fits only with its fold across.
    book = Card("russet", 2, inches("5"), inches("8"), Base("cream cardstock", fold="left"))
    tag = LoosePiece("tag", "pear toss", 3, inches("2"), inches("3 1/32"), face="front")
    return Batch("Harvest supper", "in", (pear, cream), (folded, book), (tag,))


def careless_plan() -> Plan:
    """Its plan."""
    return solve(careless_batch(), Rounds(5))


def test_all_that_is_warned_of_is_worked_out_again() -> None:
    """Layers that stick out, a print upside down, plain sides, sizes off the marks, folds."""
    plan = careless_plan()
    assert check(careless_batch(), plan) == ()
    said = "\n".join(plan.warnings)
    for words in (
        "star: sticks out",
        "pip: sticks out",
        "upside down",
        "plain",
        "marks",
        "grain",
        "mat: a reveal",
    ):
        assert words in said
    assert "core: sticks out" not in said


@pytest.mark.parametrize("number", range(len(careless_plan().warnings)))
def test_each_warning_is_missed_and_its_figure_is_read(number: int) -> None:
    """A warning left out, one said twice, and one of another piece or figure are all named."""
    plan = careless_plan()
    said = plan.warnings
    before, one, after = said[:number], said[number], said[number + 1 :]
    assert rules(careless_batch(), replace(plan, warnings=before + after)) == {"warnings"}
    assert rules(careless_batch(), replace(plan, warnings=(*said, one))) == {"warnings"}
    other = f"another {one}"
    assert rules(careless_batch(), replace(plan, warnings=(*before, other, *after))) == {"warnings"}


def test_the_figure_in_a_warning_is_read() -> None:
    """So many folds across the grain, and no other number."""
    plan = careless_plan()
    said = tuple(one.replace("2 of 2 the", "1 of 2 the") for one in plan.warnings)
    assert said != plan.warnings
    assert rules(careless_batch(), replace(plan, warnings=said)) == {"warnings"}


def test_every_figure_and_edge_in_a_warning_is_read() -> None:
    """One digit changed, or an edge: how far a layer sticks out and where, the nearest mark."""
    plan = careless_plan()
    other = {"left": "right", "right": "left", "bottom": "top"}
    forged = 0
    for number, warning in enumerate(plan.warnings):
        for found in re.finditer(r"\d|(?<=at the )(left|right|bottom)", warning):
            wrong = other.get(found[0]) or str((int(found[0]) + 1) % 10)
            said = f"{warning[: found.start()]}{wrong}{warning[found.end() :]}"
            warnings = (*plan.warnings[:number], said, *plan.warnings[number + 1 :])
            assert rules(careless_batch(), replace(plan, warnings=warnings)) == {"warnings"}, said
            forged += 1
    assert forged > 20


def test_of_folds_across_the_grain_only_what_is_cut_is_counted() -> None:
    """Five books are asked for, and the paper is there for four of them."""
    asked = careless_batch()
    cream = replace(asked.papers[1], buy=False)
    books = replace(asked, papers=(cream,), cards=(replace(asked.cards[1], make=5),), pieces=())
    plan = solve(books, Rounds(5))
    assert check(books, plan) == ()
    assert plan.warnings == (
        "A base: on 4 of 4 the fold runs across the grain of cream cardstock; it may be ragged or crack",
    )
    older = "A base: 4 of 5 have their fold across the grain"  # plans that are half cut say so
    assert check(books, replace(plan, warnings=(older,))) == ()


def test_warnings_are_of_the_papers_chosen() -> None:
    """Where a layer chooses its paper, what is said is of the paper that it takes."""
    plain = Paper("kraft", (Sheet(inches("12"), inches("12"), have=0),), buy=False)
    plum = Paper(
        "plum dots",
        (Sheet(inches("12"), inches("12"), have=3),),
        buy=False,
        front=Face("four-way"),
    )
    choice = PaperChoice((PaperOption("kraft"), PaperOption("plum dots", "back")))
    panel = Layer("panel", "kraft", width=inches("4"), height=inches("5"), choice=choice)
    card = Card("windfall", 4, inches("4"), inches("5"), layers=(panel,))
    batch = Batch("Harvest supper", "in", (plain, plum), (card,))
    plan = solve(batch, Rounds(5))
    assert [one for one in plan.warnings if "plum dots" in one]
    assert check(batch, plan) == ()


def test_names_are_those_of_the_batch() -> None:
    """A piece, and a sheet that layouts are cut from, are called by their own names."""
    batch, plan = careless_batch(), careless_plan()
    first, *rest = plan.pieces
    for wrong in (replace(first, name=rest[0].name), replace(first, letter="")):
        assert "piece" in rules(batch, replace(plan, pieces=(wrong, *rest)))
    layout, *others = plan.layouts
    wrong_source = replace(layout.source, name="3 x 3 in")
    wrong_layouts = (replace(layout, source=wrong_source), *others)
    assert rules(batch, replace(plan, layouts=wrong_layouts)) == {"source"}


@pytest.mark.parametrize(("upper", "asked"), [("5/16", False), ("10/32", True)])
def test_a_reveal_ten_times_its_neighbour_is_worked_out_again(upper: str, asked: bool) -> None:
    """The check finds the same reveals wide as the plan's warnings, without its help."""
    below = inches("1/32") + (not asked)
    cream = Paper("cream", (Sheet(inches("12"), inches("12"), have=4),))
    layers = (
        Layer("mat", "cream", reveal=Edges(*4 * [below])),
        Layer("panel", "cream", reveal=Edges(*4 * [inches(upper)])),
    )
    card = Card("windfall", 1, inches("4"), inches("5"), layers=layers)
    batch = Batch("Harvest supper", "in", (cream,), (card,))
    plan = solve(batch, Rounds(1))
    assert any("panel: a reveal" in said for said in plan.warnings) == asked
    assert check(batch, plan) == ()


def test_what_a_warning_does_not_name_is_not_asked_of_it() -> None:
    """A reveal of whole millimetres in a file of inches, and a join that a lap of 0 would hide."""
    cream = Paper("cream", (Sheet(inches("12"), inches("12"), have=4),))
    layers = (
        Layer("panel", "cream", reveal=Edges(*4 * [35_000_000])),
        Layer("band", "cream", over="card", width=inches("8"), height=inches("1"), join="may"),
    )
    card = Card("windfall", 1, inches("8"), inches("10"), layers=layers)
    batch = Batch("Harvest supper", "in", (cream,), (card,), lap=0)
    plan = solve(batch, Rounds(1))
    said = "\n".join(plan.warnings)
    assert "35 mm" in said
    assert "its full width, away from its ends;" in said
    assert check(batch, plan) == ()


def test_sheets_are_gone_through_as_often_however_many_pieces_there_are(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Of four times as many pieces, folds are still counted in one walk over the blanks."""
    walked: list[CutUp] = []
    blanks = CutUp.blanks.fget
    assert blanks is not None

    def counting(one: CutUp) -> Iterator[tuple[Blank, Rect]]:
        walked.append(one)
        return blanks(one)

    monkeypatch.setattr(CutUp, "blanks", property(counting))
    walks = []
    for number in (4, 16):
        tags = (
            LoosePiece(f"tag {n}", "pear toss", 1, inches("2"), inches("2") + n * inches("1/16"))
            for n in range(number)
        )
        paper = Paper("pear toss", (Sheet(inches("12"), inches("12")),))
        plan = solve(Batch("Tags", "in", (paper,), pieces=tuple(tags)), Rounds(5))
        walked.clear()
        assert check(plan.asked, plan) == ()
        walks.append(len(walked) / len(plan.layouts))
    assert walks[0] == walks[1]
