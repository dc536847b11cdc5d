"""Plans forged with care: each was once accepted, or a right one refused, by the checker."""

from dataclasses import replace

import pytest
from check_cases import rules, with_tree
from pack_cases import MM, SIXTY_ROUNDS, solved
from plans import inches

from nesting.batch import Batch, Card, Layer, LoosePiece, PaperChoice, PaperOption
from nesting.checker import check
from nesting.layouts import Blank, Cut, Layout, Offcut, Source
from nesting.pack import solve
from nesting.papers import BarcodeStrip, Paper, Sheet
from nesting.pieces import Use
from nesting.plan import PaperCost
from nesting.shares import shares


def moons(count: int) -> Batch:
    """Cards with one circle of 1 1/2 in each, from one sheet that cannot be bought again."""
    paper = Paper("pear toss", (Sheet(inches("12"), inches("12"), have=1),), buy=False)
    moon = Layer("moon", "pear toss", circle=inches("1 1/2"))
    card = Card("windfall", count, inches("2"), inches("2"), layers=(moon,))
    return Batch("Orchard market", "in", (paper,), (card,))


def test_areas_prove_no_more_cards_than_groups_of_circles_give() -> None:
    """One by one 64 circles fit; in a group 68 do, so areas cannot prove that 64 are the most."""
    batch, few = moons(80), solved(moons(64))
    plan = solved(batch)
    assert plan.cards[0].complete > 64
    entry = replace(plan.whole_cards[0], made=64, most=64, by="area", held=(), values={})
    forged = replace(
        plan,
        layouts=few.layouts,
        ended="proven",
        uncut=(replace(plan.uncut[0], count=16, uses=(Use("windfall", "moon", 16),)),),
        cards=(replace(plan.cards[0], complete=64),),
        whole_cards=(entry,),
        papers=(
            replace(
                few.papers[0], needed=2, bound=plan.papers[0].bound, proven=plan.papers[0].proven
            ),
        ),
    )
    assert rules(batch, forged) == {"whole cards"}


def test_a_plan_short_of_cards_is_not_proven_without_saying_how_many_there_can_be() -> None:
    """Leaving the entries of whole cards out proves nothing."""
    batch = moons(80)
    assert rules(batch, replace(solved(batch), whole_cards=(), ended="proven")) == {"ended"}


def choosing(alike: str, *names: str) -> Batch:
    """Twelve cards with a panel of one paper or the other, neither to be bought again."""
    papers = tuple(
        Paper(name, (Sheet(inches("12"), inches("12"), have=have),), buy=False)
        for name, have in (("pear toss", 1), ("plum dots", 3))
    )
    choice = PaperChoice(tuple(map(PaperOption, names)), alike) if len(names) > 1 else None  # type: ignore[arg-type]
    panel = Layer("panel", names[0], width=inches("4"), height=inches("6"), choice=choice)
    card = Card("windfall", 12, inches("4"), inches("6"), layers=(panel,))
    return Batch("Orchard market", "in", papers, (card,))


@pytest.mark.parametrize("alike", ["all", "each"])
def test_a_paper_that_was_not_chosen_proves_nothing_of_the_others(alike: str) -> None:
    """Six cards from the short paper are not the most where the other one gives twelve."""
    batch = choosing(alike, "pear toss", "plum dots")
    good, poor = solved(batch), solved(choosing(alike, "pear toss"))
    assert (good.cards[0].complete, poor.cards[0].complete) == (12, 6)
    forged = replace(poor, asked=good.asked, chosen=PaperCost("sheets", 0, 0))
    assert "whole cards" in rules(batch, forged)


def test_a_choice_without_its_bound_is_not_proven() -> None:
    """What was chosen may be dear: without a bound nothing says that it is not."""
    batch = choosing("all", "pear toss", "plum dots")
    plan = solved(batch)
    assert plan.ended == "proven"
    assert rules(batch, replace(plan, chosen=None)) == {"ended"}


def test_a_sheet_of_a_paper_that_nobody_asked_for_is_named() -> None:
    """Cutting and buying paper that no piece is of is a fault, whatever the figures say."""
    papers = tuple(
        Paper(name, (Sheet(inches("12"), inches("12"), have=1),)) for name in ("pear", "plum")
    )
    tag = LoosePiece("tag", "pear", 2, inches("6"), inches("3"))
    batch = Batch("Orchard market", "in", papers, (), (tag,))
    plan = solved(batch)
    sheet = Source("sheet", "12 x 12 in")
    idle = Layout(99, "plum", sheet, inches("12"), inches("12"), 8, 7, 0, Offcut(keep=True))
    assert "figures" in rules(batch, replace(plan, layouts=(*plan.layouts, idle)))


def test_an_offcut_is_not_cut_up_for_nothing() -> None:
    """Offcuts are free, so that no bound speaks of one that goes to the bin."""
    sheets = (
        Sheet(inches("12"), inches("12"), have=1),
        Sheet(inches("3"), inches("1"), 1, offcut=True),
    )
    tag = LoosePiece("tag", "pear", 6, inches("4"), inches("5"))
    batch = Batch("Orchard market", "in", (Paper("pear", sheets),), (), (tag,))
    plan = solved(batch)
    offcut, size = Source("offcut", "3 x 1 in"), (inches("3"), inches("1"))
    idle = Layout(2, "pear", offcut, *size, 1, 0, 0, Offcut(keep=False))
    layouts = (*plan.layouts, idle)
    own = shares(layouts, {piece.id: piece for piece in plan.pieces}, plan.asked.papers[0])
    figures = replace(plan.papers[0], in_pieces=own.in_pieces, kept=own.kept, waste=own.waste)
    assert rules(batch, replace(plan, layouts=layouts, papers=(figures,))) == {"blank"}


def test_plenty_of_a_size_too_small_is_no_paper_for_a_piece() -> None:
    """A piece that only fits the size of which there is none is rightly left uncut."""
    sheets = Sheet(100 * MM, 200 * MM, have=0), Sheet(90 * MM, 90 * MM)
    tag = LoosePiece("tag", "pear", 3, 100 * MM, 150 * MM, turn="never")
    batch = Batch("Orchard market", "mm", (Paper("pear", sheets, buy=False),), (), (tag,))
    plan = solved(batch)
    assert [missing.count for missing in plan.uncut] == [3]


@pytest.mark.parametrize("seed", range(12))
def test_an_offcut_as_large_as_a_whole_sheet_has_its_value(seed: int) -> None:
    """The whole sheet carries its strip within; both have one size, and what is proven of it holds."""
    sheets = (
        Sheet((70 + seed) * MM, (100 + 2 * seed) * MM, have=1),
        Sheet((77 + seed) * MM, (70 + 2 * seed) * MM, have=1),
        Sheet((70 + seed) * MM, (100 + 2 * seed) * MM, have=1, offcut=True),
    )
    strip = BarcodeStrip("bottom", 12 * MM, beyond_the_sheet=False)
    pieces = (
        LoosePiece("tag", "pear", 3 + seed, (20 + 3 * seed) * MM, 31 * MM),
        LoosePiece("bookmark", "pear", 5, 23 * MM, (30 + 2 * seed) * MM),
    )
    batch = Batch("Orchard market", "mm", (Paper("pear", sheets, barcode_strip=strip),), (), pieces)
    plan = solve(batch, SIXTY_ROUNDS)
    assert check(batch, plan) == ()


def test_words_and_numbers_that_no_plan_has() -> None:
    """Unknown kinds of proof and of ending, a bound below nothing, layouts numbered at random."""
    batch = moons(40)
    plan = solved(batch)
    assert rules(batch, plan) == set()
    (figures,) = plan.papers
    below = replace(figures, bound=replace(figures.bound, value=-1), proven=False)
    faith = replace(figures, bound=replace(figures.bound, by="faith"))  # type: ignore[arg-type]
    for wrong, named in (
        (replace(plan, ended="limit", papers=(below,)), "bound"),
        (replace(plan, papers=(faith,)), "bound"),
        (replace(plan, ended="soon"), "ended"),  # type: ignore[arg-type]
        (replace(plan, layouts=(replace(plan.layouts[0], id=0),)), "layout"),
    ):
        assert rules(batch, wrong) == {named}


@pytest.mark.parametrize("across", [0, 1, -1, -inches("1 1/2")])
@pytest.mark.parametrize("where", ["pieces", "unchosen"])
def test_a_circle_of_hardly_any_size_is_named_at_once(across: int, where: str) -> None:
    """Rows of such circles over a sheet came to no end, or to an error of the program."""
    batch = moons(40)
    plan = solved(batch)
    (moon,) = plan.pieces
    forged = replace(moon, width=across, height=across)
    rule = "piece" if where == "pieces" else "unchosen"
    assert rules(batch, replace(plan, **{where: (forged,)})) == {rule}


def test_a_circle_out_of_its_row_is_named() -> None:
    """The pages say where the first centres of two rows are, and the steps: all others follow."""
    batch = moons(80)
    plan = solved(batch)
    tree = plan.layouts[0].tree
    assert isinstance(tree, Cut)
    assert isinstance(tree.low, Blank)
    circles, lone = tree.low.circles, 0
    for number, (x, y) in enumerate(circles):
        for moved in ((x + 5000, y), (x - 5000, y), (x, y + 5000), (x, y - 5000)):
            forged = replace(tree.low, circles=(*circles[:number], moved, *circles[number + 1 :]))
            faults = check(batch, with_tree(plan, 0, replace(tree, low=forged)))
            said = {fault.said for fault in faults}
            assert "its centres are not in rows, by whose first ones all are marked." in said
            lone += len(said) == 1
    assert lone > 20
