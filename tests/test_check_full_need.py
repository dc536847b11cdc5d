"""Where pieces are uncut, what is said of the full need is held against what is cut and what is not."""

from dataclasses import replace
from functools import cache

from check_cases import rules, with_bound
from pack_cases import SIXTY_ROUNDS
from plans import inches, short_batch, short_plan

from nesting.batch import Batch, Card, Layer, LoosePiece
from nesting.checker import check
from nesting.layouts import Blank
from nesting.pack import Rounds, solve
from nesting.papers import Paper, Sheet
from nesting.plan import Plan


def two_sizes() -> Batch:
    """Nine tags, of which a small and a large sheet that cannot be bought again give some."""
    sheets = (Sheet(inches("4"), inches("6"), have=1), Sheet(inches("8"), inches("6"), have=1))
    tag = LoosePiece("tag", "pear toss", 9, inches("4"), inches("3"))
    return Batch("Market", "in", (Paper("pear toss", sheets, buy=False),), (), (tag,))


@cache
def plan_of_two_sizes() -> Plan:
    """Six tags are cut and three are not."""
    plan = solve(two_sizes(), Rounds(5))
    assert plan.uncut[0].count == 3
    assert check(two_sizes(), plan) == ()
    return plan


def test_a_bound_beyond_what_is_cut_and_a_sheet_for_each_piece_that_is_not() -> None:
    """A bound said to be found by search cannot be more than one way to cut all comes to."""
    plan = short_plan()
    pear = replace(plan.papers[0], needed=5)
    plan = with_bound(replace(plan, papers=(pear, plan.papers[1])), 0, value=5, by="search")
    assert rules(short_batch(), plan) == {"bound"}
    plan = plan_of_two_sizes()
    value = plan.papers[0].bound.value
    assert "bound" in rules(two_sizes(), with_bound(plan, 0, value=value * 9, by="search"))


def test_a_piece_as_large_as_its_sheet() -> None:
    """Two of three are cut, and a bound of three is just what these and one sheet more come to."""
    (paper,), (tag,) = two_sizes().papers, two_sizes().pieces
    paper = replace(paper, sheets=(Sheet(inches("4"), inches("3"), have=2),))
    batch = replace(two_sizes(), papers=(paper,), pieces=(replace(tag, count=3),))
    plan = solve(batch, Rounds(5))
    assert plan.papers[0].bound.value == 3
    assert check(batch, plan) == ()


def test_more_sheets_than_pieces() -> None:
    """No need takes more sheets than pieces, and a huge number is named like any other."""
    plan = short_plan()
    for needed in (9, 10**15):
        wrong = (replace(plan.papers[0], needed=needed, proven=False), plan.papers[1])
        assert rules(short_batch(), replace(plan, papers=wrong)) == {"figures"}


def test_sheets_that_cost_another_sum_than_is_proven() -> None:
    """So many sheets cost more than the bound, or less: neither is proven."""
    plan = plan_of_two_sizes()
    figures = plan.papers[0]
    assert figures.proven
    many = replace(figures, needed=9)
    assert rules(two_sizes(), replace(plan, papers=(many,))) == {"bound"}
    few = replace(figures, needed=1)
    assert rules(two_sizes(), replace(plan, papers=(few,))) == {"bound"}


def test_what_may_be_bought_is_not_short() -> None:
    """Sheets that are for sale are bought, and none of them is called lacking."""
    batch = replace(two_sizes(), papers=(replace(two_sizes().papers[0], buy=True),))
    plan = solve(batch, Rounds(5))
    assert check(batch, plan) == ()
    assert rules(batch, replace(plan, papers=(replace(plan.papers[0], short=True),))) == {"figures"}


def test_what_is_cut_in_full_is_not_short() -> None:
    """A paper that nobody sells, of which there is enough."""
    batch = replace(two_sizes(), pieces=(replace(two_sizes().pieces[0], count=6),))
    plan = solve(batch, Rounds(5))
    assert check(batch, plan) == ()
    assert rules(batch, replace(plan, papers=(replace(plan.papers[0], short=True),))) == {"figures"}


def test_what_is_left_uncut_for_want_of_another_paper_is_not_short() -> None:
    """Four cards of two layers: one paper gives two of them, and the other is there for all."""
    whole = [Sheet(inches("8"), inches("6"), have=have) for have in (1, 2)]
    pear, oak = (
        Paper(name, (sheet,), buy=False) for name, sheet in zip(("pear", "oak"), whole, strict=True)
    )
    layers = tuple(
        Layer(paper.name, paper.name, width=inches("4"), height=inches("6"))
        for paper in (pear, oak)
    )
    card = Card("windfall", 4, inches("4"), inches("6"), layers=layers)
    batch = Batch("Market", "in", (pear, oak), (card,))
    plan = solve(batch, Rounds(5))
    assert check(batch, plan) == ()
    assert [figures.short for figures in plan.papers] == [True, False]
    papers = (plan.papers[0], replace(plan.papers[1], short=True))
    assert rules(batch, replace(plan, papers=papers)) == {"figures"}


def test_a_blank_larger_than_its_rows_of_circles_need() -> None:
    """Two circles on a blank with room to spare beside them."""
    moon = LoosePiece("moon", "pear toss", 2, circle=inches("2"), die_allowance=inches("1/8"))
    paper = Paper("pear toss", (Sheet(inches("4 3/8"), inches("2 1/4"), have=1),))
    batch = Batch("Market", "in", (paper,), (), (moon,))
    plan = solve(batch, SIXTY_ROUNDS)
    (blank,) = plan.layouts[0].blanks
    assert isinstance(blank.node, Blank)
    assert len(blank.node.circles) == 2
    assert check(batch, plan) == ()
    larger = replace(paper, sheets=(Sheet(inches("4 3/8"), inches("3"), have=1),))
    layout = replace(plan.layouts[0], height=inches("3"), tree=blank.node)
    forged = replace(plan, asked=replace(plan.asked, papers=(larger,)), layouts=(layout,))
    assert "circle" in rules(replace(batch, papers=(larger,)), forged)
