"""Centres of circles that share a blank: the words and the small picture suffice to mark them."""

from dataclasses import replace
from functools import cache

import pytest
from draw_plans import KEEP, layout, piece, plan_of
from matplotlib.patches import Circle
from plans import inches
from test_draw_pages import assert_well_set, texts_of

from nesting import solve
from nesting.batch import Batch, LoosePiece
from nesting.draw import PAGES, Page, layout_figures
from nesting.draw.card.bag_labels import label_figures
from nesting.draw.sheet.centres import CentreGroup, centre_words, groups_of
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.words import count_words, die_words
from nesting.layouts import Blank, Cut
from nesting.papers import Paper, Sheet
from nesting.plan import Plan

HALF = inches("1/2")


@cache
def coasters() -> Plan:
    """Twenty circles of 2 1/2 in from a sheet of 12 x 12 in: five staggered rows."""
    paper = Paper("pear toss", (Sheet(inches("12"), inches("12"), have=4),))
    coaster = LoosePiece("coaster", paper.name, 20, circle=inches("2 1/2"))
    batch = Batch("Orchard coasters", "in", (paper,), (), (coaster,))
    return solve(batch)


def by_hand(*centres: tuple[int, int], size: tuple[int, int]) -> Plan:
    """A sheet with one blank in its lower left corner; centres and size in halves of an inch."""
    paper = Paper("pear toss", (Sheet(12 * HALF, 12 * HALF, have=1),))
    dot = piece("A", "dot", 2 * HALF, 2 * HALF, shape="circle", paper=paper.name)
    circles = tuple((x * HALF, y * HALF) for x, y in centres)
    blank = Blank(dot.id, circles=circles)
    tree = Cut("y", size[1] * HALF, Cut("x", size[0] * HALF, blank, KEEP), KEEP)
    one = layout(paper, tree, 12 * HALF, 12 * HALF)
    return plan_of(Batch("Orchard dots", "in", (paper,)), [dot], [one])


def words_of(plan: Plan, *, back_up: bool = False) -> list[str]:
    """What is said of the only group of a plan's only layout."""
    (group,) = groups_of(Subject(plan, plan.layouts[0], back_up))
    return list(centre_words(group, "in"))


def test_circles_that_share_a_blank_are_not_cut_to_a_size_each() -> None:
    """The die's allowance is said on layout, label and recipe; a size to cut only of a lone circle."""
    plan = by_hand((2, 2), (5, 2), size=(7, 4))
    dot = replace(plan.pieces[0], die_allowance=inches("1/8"))
    plan = replace(plan, pieces=(dot,))
    round_it = "1/8 in left all round for the die"
    assert die_words(dot, plan.layouts, "in") == round_it
    assert die_words(dot, (), "in") == f"cut 1 1/4 x 1 1/4, {round_it}"
    ((_, words),) = count_words(Subject(plan, plan.layouts[0]))
    assert words.endswith(f"; {round_it}")
    for figure in label_figures(plan):
        assert round_it in [text.get_text() for text, _ in texts_of(figure)]


STAGGERED = ((1, 1), (1, 4), (3, 2), (3, 5), (5, 1), (5, 4))


@pytest.mark.parametrize(
    ("centres", "size", "back_up", "words"),
    [
        (
            STAGGERED, (6, 6), False,
            [
                "First centre: 1/2 from the left edge, 1/2 from the bottom edge.",
                "In a row, from one centre to the next: 1 1/2.",
                "From row to row, to the right: 1.",
                "Every second row begins 1 from the bottom edge.",
            ],
        ),
        (
            STAGGERED[:4], (5, 6), True,
            [
                "First centre: 1 from the left edge, 1 from the bottom edge.",
                "In a row, from one centre to the next: 1 1/2.",
                "From row to row, to the right: 1.",
                "Every second row begins 1/2 from the bottom edge.",
            ],
        ),
        (
            tuple((y, x) for x, y in STAGGERED), (6, 6), False,
            [
                "First centre: 1/2 from the left edge, 1/2 from the bottom edge.",
                "In a row, from one centre to the next: 1 1/2.",
                "From row to row, up: 1.",
                "Every second row begins 1 from the left edge.",
            ],
        ),
        (
            ((1, 1), (3, 1), (5, 1)), (6, 2), False,
            [
                "First centre: 1/2 from the left edge, 1/2 from the bottom edge.",
                "In a row, from one centre to the next: 1.",
            ],
        ),
        (
            ((1, 1), (2, 3)), (3, 4), False,
            [
                "First centre: 1/2 from the left edge, 1/2 from the bottom edge.",
                "From row to row, up: 1.",
                "Every second row begins 1 from the left edge.",
            ],
        ),
    ],
)  # fmt: skip
def test_the_words_say_where_each_centre_is(
    centres: tuple[tuple[int, int], ...], size: tuple[int, int], back_up: bool, words: list[str]
) -> None:
    """First centre, in a row, from row to row, where the second row begins: as the sheet lies."""
    assert words_of(by_hand(*centres, size=size), back_up=back_up) == words


def marked(group: CentreGroup) -> set[tuple[int, int]]:
    """Every centre of a group, marked by what the page says and by how many a row has."""
    (x, y), between, in_row = group.rows[0][0], group.between_rows or 0, group.in_row or 0
    starts = [group.along(row[0]) for row in group.rows[:2]]
    found = set()
    for number, row in enumerate(group.rows):
        over = (x if group.upright else y) + number * between
        for place in range(len(row)):
            along = starts[number % 2] + place * in_row
            found.add((over, along) if group.upright else (along, over))
    return found


def test_a_plan_is_marked_to_a_hair() -> None:
    """Measured as the page says, each of the twenty centres of the packer's plan is met."""
    plan = coasters()
    (group,) = groups_of(Subject(plan, plan.layouts[0]))
    (placed,) = (p for p in plan.layouts[0].blanks if isinstance(p.node, Blank))
    assert isinstance(placed.node, Blank)
    asked = sorted((x - placed.x, y - placed.y) for x, y in placed.node.circles)
    assert group.staggered
    assert len(asked) == 20
    for found, exact in zip(sorted(marked(group)), asked, strict=True):
        assert found == pytest.approx(exact, abs=10)  # nanometres


@pytest.mark.parametrize("page", PAGES.values(), ids=PAGES)
def test_the_page_has_a_small_picture_with_the_lengths(page: Page) -> None:
    """Readable, with four circles and every length of the words; what stays round them is waste."""
    plan = by_hand(*STAGGERED, size=(6, 6))
    (figure,) = layout_figures(plan, plan.layouts[0], page)
    assert_well_set(figure)
    said = [text.get_text() for text, _ in texts_of(figure)]
    assert "Centres of 6 A in 3 x 3" in said
    assert said.count("1/2") == 2
    assert said.count("1 1/2") == 1
    assert "What stays round a circle counts as waste." in " ".join(said)
    discs = [p.get_radius() for p in figure.findobj(Circle)]
    assert sum(radius == discs[-1] for radius in discs) == 4


def test_many_groups_run_on_to_further_pages() -> None:
    """Each of six groups has its words on one of the pages, and no step of the table is lost."""
    paper = Paper("pear toss", (Sheet(12 * HALF, 24 * HALF, have=1),))
    pieces, tree = [], KEEP
    for number in range(6):
        dot = piece(
            chr(65 + number), f"dot {number}", 2 * HALF, 2 * HALF, shape="circle", paper=paper.name
        )
        circles = tuple((x * HALF, (2 * (5 - number) + 1) * HALF) for x in (1, 4))
        pieces.append(dot)
        blank = Cut("x", 5 * HALF, Blank(dot.id, circles=circles), KEEP)
        tree = Cut("y", 2 * HALF, blank, tree)
    one = layout(paper, tree, 12 * HALF, 24 * HALF)
    plan = plan_of(Batch("Orchard dots", "in", (paper,)), pieces, [one])
    figures = layout_figures(plan, one)
    assert len(figures) > 1
    for figure in figures:
        assert_well_set(figure)
    said = [text.get_text() for figure in figures for text, _ in texts_of(figure)]
    assert sorted(words for words in said if words.startswith("Centres")) == [
        f"Centres of 2 {letter} in 2 1/2 x 1" for letter in "ABCDEF"
    ]
