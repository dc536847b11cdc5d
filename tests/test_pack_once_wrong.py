"""Small batches that once made the packer fail, each with what it should give."""

from dataclasses import replace

from pack_cases import MM, Case, figures_of, problem_of, sheet_batch, solved

from nesting.batch import Base, Batch, Card, Layer, LoosePiece, Trimmer
from nesting.pack import Rounds
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.papers import Face, Paper, Sheet, Turn

MAY: Turn = "may"


def test_a_blank_longer_than_the_longest_cut_is_cut_off_across() -> None:
    """13 x 9 from 20 x 9 with a longest cut of 12: one cut of length 9, one blank a sheet."""
    figures = figures_of(Case(((20, 9, None),), ((13, 9, 2, "never"),), longest=12).batch())
    assert (figures.needed, figures.strokes, figures.proven) == (2, 2, True)


def test_what_is_over_beside_a_long_blank_cannot_be_trimmed() -> None:
    """13 x 9 from 13 x 10 needs a cut of 13: with a longest cut of 12 that sheet holds none."""
    case = Case(((13, 10, None), (20, 9, None)), ((13, 9, 2, "never"),), longest=12)
    problem = problem_of(case.batch())
    table = SheetTable(problem)
    table.fill([1])
    assert [table.best(size.width, size.height) for size in problem.sizes] == [0, 1]
    assert {layout.source.name for layout in solved(case.batch()).layouts} == {"20 x 9 mm"}


def test_the_least_that_is_over_takes_a_cut_too() -> None:
    """The same where half a millimetre is over, less than the blanks' common measure."""
    case = Case(((13, 10, None), (20, 9, None)), ((13, 9, 2, "never"),), longest=12)
    batch = case.batch()
    (paper,) = batch.papers
    sheets = (Sheet(13 * MM, 9 * MM + MM // 2), paper.sheets[1])
    plan = solved(replace(batch, papers=(replace(paper, sheets=sheets),)))
    assert {layout.source.name for layout in plan.layouts} == {"20 x 9 mm"}


def test_sizes_without_a_common_measure() -> None:
    """Lengths whose common measure is one nanometre: ten 5 x 7, hardly larger, take five sheets."""
    tag = LoosePiece("tag", "pear toss", 10, 127_000_001, 177_800_003)
    figures = figures_of(sheet_batch("12 x 12", tag), Rounds(5))
    assert figures.needed == figures.bound.value == 5


def test_a_sheet_listed_twice_is_there_twice() -> None:
    """Of three sheets needed and two listed one by one, one is to buy."""
    case = Case(((4, 4, 1), (4, 4, 1)), ((4, 4, 3, "never"),))
    assert figures_of(case.batch()).to_buy == 1


def test_nothing_is_bought_of_a_size_that_is_there() -> None:
    """The same size with plenty and with none at hand: all is cut from what is there."""
    case = Case(
        ((6, 6, None), (6, 6, 0)),
        ((3, 4, 4, "never"), (3, 3, 3, "may"), (3, 2, 1, "never")),
        longest=6,
    )
    assert figures_of(case.batch()).to_buy == 0


def test_a_tidy_plan_buys_no_more() -> None:
    """Of plans of equal cost none is taken that buys a size of which there is plenty."""
    case = Case(
        ((6, 6, None), (6, 6, 0)),
        ((6, 5, 2, "must"), (3, 2, 2, "may"), (1, 4, 2, "never")),
        cut_width=1,
    )
    assert figures_of(case.batch()).to_buy == 0


def test_no_sheet_is_counted_of_which_nothing_is_needed() -> None:
    """A sheet that gives only what others give beyond the demand is left out and not counted.

    With limits all along the search the plan is sound at every one of them.
    """
    sizes = [
        (48, 32),
        (13, 18),
        (11, 18),
        (10, 17),
        (20, 10),
        (17, 32),
        (17, 15),
        (12, 14),
        (14, 14),
    ]
    pieces = [(*size, 3, MAY) for size in sizes] + [(11, 10, 6, MAY), (16, 11, 6, MAY)]
    case = Case(((53, 38, None), (32, 48, 3)), tuple(pieces), cut_width=1)
    for rounds in range(10, 30, 4):
        figures_of(case.batch(), Rounds(rounds))


def test_no_wish_for_the_grain_on_offcuts_alone() -> None:
    """Bases that lie along the grain only on the one offcut are cut across it from whole sheets."""
    paper = Paper(
        "cream cardstock",
        (Sheet(62 * MM, 60 * MM), Sheet(20 * MM, 62 * MM, have=1, offcut=True)),
        grain="long",
    )
    card = Card("windfall", 2, 20 * MM, 31 * MM, Base(paper.name, fold="top"))
    plan = solved(Batch("Orchard supper", "mm", (paper,), (card,)))
    assert plan.all_cut
    assert any("across the grain" in warning for warning in plan.warnings)


def test_what_is_needed_is_what_is_cut() -> None:
    """Small sheets to buy cost less than one large at hand: nothing is bought that cannot be."""
    sheets = (Sheet(118 * MM, 107 * MM), Sheet(69 * MM, 60 * MM, have=0))
    paper = Paper("pear toss", sheets, buy=False)
    tag = LoosePiece("tag", paper.name, 2, 60 * MM, 50 * MM)
    figures = figures_of(Batch("Orchard market", "mm", (paper,), (), (tag,)))
    assert (figures.needed, figures.used, figures.to_buy) == (1, 1, 0)


def test_one_large_sheet_rather_than_a_small_one_too() -> None:
    """A small sheet at hand is left where a large one, of which there is plenty, holds everything."""
    case = Case(((12, 10, None), (6, 12, 1)), ((5, 4, 1, "must"), (5, 5, 2, "may")))
    plan = solved(case.batch())
    assert [(layout.source.name, layout.alike) for layout in plan.layouts] == [("12 x 10 mm", 1)]
    assert plan.papers[0].proven


def test_two_large_sheets_rather_than_small_ones_too() -> None:
    """Of two sizes, both in limited number, the one that comes first does not have to be cut."""
    case = Case(((6, 7, 2), (11, 12, 2)), ((5, 5, 6, "may"), (4, 6, 2, "never")))
    plan = solved(case.batch())
    assert {layout.source.name for layout in plan.layouts} == {"11 x 12 mm"}
    assert plan.papers[0].proven


def test_no_longest_cut_where_no_sheet_is_longer() -> None:
    """With a trimmer that cuts every sheet along either edge there is no longest cut to obey."""
    paper = Paper("pear toss", (Sheet(305 * MM, 305 * MM, have=3),))
    tags = tuple(
        LoosePiece(f"tag {number}", paper.name, 5, (60 + number) * MM, (41 + 7 * number) * MM)
        for number in range(5)
    )
    batch = Batch("Orchard market", "mm", (paper,), (), tags)
    free, bound = (
        problem_of(replace(batch, trimmer=Trimmer(longest_cut=longest)))
        for longest in (305 * MM, 304 * MM)
    )
    assert free == problem_of(replace(batch, trimmer=Trimmer()))
    assert bound != free


def test_cards_from_plenty_though_another_size_is_filled_better() -> None:
    """What a size that cannot be had would hold in one sheet is cut from sheets of which there is plenty.

    The many groups of circles, kept for the longest cut, leave only greedy filling.
    """
    sheets = (Sheet(200 * MM, 360 * MM), Sheet(305 * MM, 255 * MM, have=0))
    paper = Paper("bee stripe", sheets, buy=False, front=Face("two-way"))
    seal = Layer("seal", paper.name, "back", circle=15 * MM)
    card = Card("honey", 3, 85 * MM, 90 * MM, Base(paper.name, "front", "top"), (seal,))
    trimmer = Trimmer(longest_cut=355 * MM, cut_width=MM)
    batch = Batch("Orchard supper", "mm", (paper,), (card,), trimmer=trimmer)
    for rounds in (1, 25):
        assert solved(batch, Rounds(rounds)).all_cut
    dear = (replace(sheets[0], have=0, price=1), replace(sheets[1], price=9))
    to_buy = replace(batch, papers=(replace(paper, sheets=dear, buy=True),))
    bought = solved(to_buy, Rounds(25)).layouts
    assert {layout.source.name for layout in bought} == {"200 x 360 mm"}


def test_a_group_gives_its_circles_back_one_by_one() -> None:
    """Circles beyond the demand are taken out of a group until one is left, and it never grows.

    Not every number of circles has a group of its own.
    """
    seal = LoosePiece("seal", "pear toss", 11, circle=18 * MM, die_allowance=6 * MM)
    paper = Paper("pear toss", (Sheet(240 * MM, 258 * MM),))
    for trimmer in (Trimmer(), Trimmer(longest_cut=250 * MM)):
        batch = Batch("Orchard market", "mm", (paper,), (), (seal,), trimmer)
        for shape in problem_of(batch).kinds[0].shapes:
            number, fewer = shape.holds, shape.fewer
            while fewer is not None:
                number -= 1
                assert fewer.holds == number
                assert fewer.width <= shape.width
                assert fewer.height <= shape.height
                fewer = fewer.fewer
            assert number == 1


def test_sheets_given_away_go_before_one_with_a_price() -> None:
    """Four half sheets for nothing, or two sheets that cost something: no paid sheet is cut into."""
    case = Case(((12, 12, 3), (6, 12, 5)), ((6, 6, 8, "may"),))
    batch = case.batch()
    (paper,) = batch.papers
    dear, free = (replace(s, price=p) for s, p in zip(paper.sheets, (95, 0), strict=True))
    plan = solved(replace(batch, papers=(replace(paper, sheets=(dear, free)),)))
    assert [(one.source.name, one.alike) for one in plan.layouts] == [("6 x 12 mm", 4)]
