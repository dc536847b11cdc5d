"""Circles in groups: exact geometry, the published densities, plans, and proofs that stay true."""

from itertools import combinations
from math import isqrt, pi, sqrt
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pack_cases import problem_of, solved

from nesting.batch import Batch, LoosePiece, Trimmer
from nesting.checker import check, most_value
from nesting.checker.asked.circles import group_sizes
from nesting.draw.canvas.lettering import TIE
from nesting.draw.sheet.step_words import step_lines
from nesting.draw.sheet.subject import Subject
from nesting.layouts import Blank
from nesting.pack import Rounds, solve
from nesting.pack.bounds.dual_bounds import area_bound, values_bound
from nesting.pack.model.circle_groups import CircleRows, groups
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.papers import Face, Paper, Sheet
from nesting.typed_lengths import parse_length, parse_size
from nesting.units import format_size

IN = 25_400_000
SIXTEENTH = IN // 16

sizes = st.tuples(st.integers(20, 60), st.integers(20, 60))
rounds = st.tuples(st.integers(5, 17), st.integers(0, 2))


def moons(
    sheet: str, diameter: str, count: int, allowance: str = "0", cut_width: int = 0, *others: str
) -> Batch:
    """Circles, and twenty of each other piece, from plenty of sheets of one size."""
    pear = Paper("pear toss", (Sheet(*parse_size(sheet, "in")),))
    round_ = LoosePiece(
        "moon",
        "pear toss",
        count,
        circle=parse_length(diameter, "in"),
        die_allowance=parse_length(allowance, "in"),
    )
    tags = tuple(LoosePiece(size, "pear toss", 20, *parse_size(size, "in")) for size in others)
    trimmer = Trimmer(cut_width=cut_width)
    return Batch("Orchard market", "in", (pear,), (), (round_, *tags), trimmer)


@given(rounds, sizes, st.integers(0, 1), st.integers(2, 90))
def test_circles_of_a_group_lie_inside_and_apart(
    circle: tuple[int, int], sheet: tuple[int, int], cut_width: int, most: int
) -> None:
    """In whole numbers, with odd diameters too: within the blank, and no two closer than they may be."""
    diameter, allowance = circle
    for rows in groups(diameter, allowance, cut_width, [sheet], 3, most):
        assert rows.width <= sheet[0]
        assert rows.height <= sheet[1]
        centres = rows.centres(diameter + 2 * allowance)
        assert len(set(centres)) == rows.circles
        for x, y in centres:
            room = min(x, y, rows.width - x, rows.height - y)
            assert 2 * room >= diameter - diameter % 2 + 2 * allowance
        for (x, y), (other_x, other_y) in combinations(centres, 2):
            assert (x - other_x) ** 2 + (y - other_y) ** 2 >= (diameter + allowance) ** 2


@given(rounds, sizes)
def test_groups_hold_what_the_trade_reckons(
    circle: tuple[int, int], sheet: tuple[int, int]
) -> None:
    """At least the staggered rows of the textbook, both ways round, where they beat the square grid."""
    d, (width, height) = circle[0] * 1000, (sheet[0] * 1000, sheet[1] * 1000)
    most = max((g.circles for g in groups(d, 0, 0, [(width, height)], 1, 10**6)), default=0)
    square = (width // d) * (height // d)
    for along, over in ((width, height), (height, width)):
        if over < d or along < d:
            continue
        rows = 1 + isqrt(
            4 * (over - d) ** 2 // (3 * d * d + 4 * d)
        )  # a nanometre to spare each row
        first, second = along // d, (2 * along - d) // (2 * d)
        staggered = (rows + 1) // 2 * first + rows // 2 * second
        assert max(most, square) >= staggered


@pytest.mark.parametrize(("sheet", "most"), [("12 x 12", 150), ("12 x 23 1/2", 299)])
def test_an_inch_punch_in_staggered_rows(sheet: str, most: int) -> None:
    """By hand: 13 rows of 12 and 11 by turns where a square grid holds 144; 13 rows of 23 on the long."""
    width, height = parse_size(sheet, "in")
    found = groups(IN, 0, 0, [(width, height)], SIXTEENTH, 10**6)
    assert max(group.circles for group in found) >= most


def test_no_group_is_denser_than_the_hexagonal_packing() -> None:
    """Thue 1910, Fejes Toth 1953: at most pi / sqrt(12), and large groups come close."""
    width = height = 40 * IN
    densities = [
        g.circles * pi * IN * IN / 4 / (g.width * g.height)
        for g in groups(IN, 0, 0, [(width, height)], 1, 10**6)
    ]
    assert 0.97 * pi / sqrt(12) < max(densities) < pi / sqrt(12)


@pytest.mark.parametrize(
    ("batch", "sheets"),
    [
        (moons("12 x 12", "2 1/2", 40), 2),  # twenty a sheet; sixteen one by one
        (moons("12 x 12", "1", 300), 2),
        (moons("6 x 6", "2", 18, "1/8"), 2),  # nine in squares only without allowance
        (moons("6 3/8 x 6 3/8", "2", 18, "0"), 2),
        (moons("12 x 12", "7", 2), 1),  # in opposite corners: 5 x 5 apart, which is more than 7
    ],
)
def test_groups_save_paper(batch: Batch, sheets: int) -> None:
    """Sheets by hand, proven where they can be, and accepted by the checker."""
    plan = solved(batch)
    (figures,) = plan.papers
    assert figures.needed >= figures.bound.value
    if batch.pieces[0].die_allowance == 0:
        assert (figures.needed, figures.proven) == (sheets, True)


def test_the_allowance_between_neighbours_counts_once() -> None:
    """Nine of 2 in with 1/8 in all round: 3 x 2 + 4 x 1/8 is 6 1/2 in, where 3 x 2 1/4 are 6 3/4."""
    (figures,) = solved(moons("6 1/2 x 6 1/2", "2", 9, "1/8")).papers
    assert (figures.needed, figures.proven) == (1, True)
    (figures,) = solved(moons("6 7/16 x 6 7/16", "2", 9, "1/8")).papers
    assert (figures.needed, figures.proven) == (2, True)


@settings(max_examples=40, deadline=None)
@given(rounds, sizes, st.integers(2, 30), st.integers(0, 1))
def test_packer_and_checker_find_the_same_most_value(
    circle: tuple[int, int], sheet: tuple[int, int], most: int, cut_width: int
) -> None:
    """What the packer leaves out of the groups takes nothing from what a sheet can hold."""
    unit = 100_000
    diameter, allowance, width, height = (n * unit for n in (*circle, *sheet))
    paper = Paper("pear toss", (Sheet(width, height),))
    moon = LoosePiece("moon", "pear toss", most, circle=diameter, die_allowance=allowance)
    if min(width, height) < diameter + 2 * allowance:
        return
    trimmer = Trimmer(cut_width=cut_width * unit, marks=unit)
    problem = problem_of(Batch("Orchard market", "mm", (paper,), (), (moon,), trimmer))
    table = SheetTable(problem)
    table.fill([5])
    values = {(diameter + 2 * allowance,) * 2: 5}
    for size, holds in group_sizes(diameter, allowance, {(width, height)}, unit):
        values[size] = max(values.get(size, 0), 5 * min(holds, most))
    found = table.best(problem.sizes[0].width, problem.sizes[0].height)
    assert found == most_value(width, height, values, trimmer.cut_width)


def known(seed: int) -> tuple[Batch, int]:
    """One to three sheets cut into a group, strips of squares beside it, and how many sheets."""
    rng = Random(f"moons {seed}")
    width, height = rng.randint(80, 140) * 10**5, rng.randint(80, 140) * 10**5
    diameter, allowance = rng.randint(12, 30) * 10**5, rng.choice((0, 10**5))
    found = groups(diameter, allowance, 0, [(width, height)], 10**5, 10**6)
    sheets = rng.randint(1, 3)
    count, squares = 0, 0
    side = rng.randint(10, 30) * 10**5
    for _ in range(sheets):
        group: CircleRows = rng.choice(found)
        count += group.circles
        squares += (width - group.width) // side * (height // side)
        squares += group.width // side * ((height - group.height) // side)
    pieces = [LoosePiece("moon", "pear toss", count, circle=diameter, die_allowance=allowance)]
    if squares:
        pieces.append(LoosePiece("tag", "pear toss", squares, side, side))
    pear = Paper("pear toss", (Sheet(width, height),))
    trimmer = Trimmer(marks=10**5)
    return Batch("Orchard market", "mm", (pear,), (), tuple(pieces), trimmer), sheets


@pytest.mark.parametrize("seed", range(30))
def test_no_proof_refutes_sheets_cut_into_groups(seed: int) -> None:
    """Areas, values of any kind and the whole search stay at or below the known sheets."""
    batch, sheets = known(seed)
    problem = problem_of(batch)
    assert area_bound(problem).value <= sheets
    table, rng = SheetTable(problem), Random(seed)
    for _ in range(4):
        duals = [rng.uniform(0.2, 1.0) * kind.area / 10**14 for kind in problem.kinds]
        assert values_bound(problem, table, duals).value <= sheets
    (figures,) = solved(batch, Rounds(20)).papers
    assert figures.bound.value <= sheets


@settings(max_examples=30, deadline=None)
@given(
    rounds,
    st.integers(1, 40),
    st.sampled_from([0, 1]),
    st.sampled_from([None, 45]),
    st.sampled_from(["four-way", "one-way"]),
)
def test_any_circles_give_a_plan_that_can_be_cut(
    circle: tuple[int, int], count: int, cut_width: int, longest: int | None, print_: str
) -> None:
    """With cut width, longest cut, offcuts and any print: the checker finds nothing wrong."""
    unit = 10**6
    sheets = (Sheet(50 * unit, 45 * unit), Sheet(30 * unit, 22 * unit, have=1, offcut=True))
    moon = LoosePiece(
        "moon", "pear toss", count, circle=circle[0] * unit, die_allowance=circle[1] * unit
    )
    tag = LoosePiece("tag", "pear toss", 7, 11 * unit, 19 * unit)
    trimmer = Trimmer(
        cut_width=cut_width * unit,
        longest_cut=None if longest is None else longest * unit,
        marks=unit,
    )
    paper = Paper("pear toss", sheets, front=Face(print_))  # type: ignore[arg-type]
    plan = solve(Batch("Orchard market", "mm", (paper,), (), (moon, tag), trimmer), Rounds(12))
    assert check(plan.asked, plan) == ()
    for layout in plan.layouts:
        for placed in layout.blanks:
            assert isinstance(placed.node, Blank)


def test_the_stroke_table_tells_a_group_by_its_blank() -> None:
    """The blank is measured, not one circle, and all circles in it are counted."""
    plan = solved(moons("12 x 12", "2 1/2", 20))
    subject = Subject(plan, plan.layouts[0])
    said = [words for n in range(len(subject.steps)) for words, _ in step_lines(subject, n)]
    sizes = {
        len(placed.node.circles): format_size(placed.width, placed.height, "in")
        for placed in plan.layouts[0].blanks
        if isinstance(placed.node, Blank)
    }
    assert sum(n > 1 for n in sizes)
    (measured,) = [words for words in said if words.startswith("Measure the first ")]
    assert measured in {
        f"Measure the first {f'blank for {n}{TIE}A' if n > 1 else 'A'}: {size}."
        for n, size in sizes.items()
    }
