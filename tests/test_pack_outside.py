"""The packer against the world outside: published optima, standards, common practice sizes."""

import json
from pathlib import Path
from typing import Any

import pytest
from pack_cases import asked, figures_of, problem_of, sheet_batch, solved

from nesting.batch import Base, Batch, Card, Layer, Trimmer
from nesting.cards.resolving import resolve
from nesting.pack.model.pattern import counts
from nesting.pack.model.problem import Kind, Problem, Shape, SheetSize
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.papers import BarcodeStrip, Edges, Face, Paper, Sheet, Turn
from nesting.typed_lengths import parse_length, parse_size

GCUT = json.loads((Path(__file__).parent / "outside" / "gcut.json").read_text())["instances"]
TURNS: tuple[Turn, ...] = ("never", "must", "may")
SHEETS = ("12 x 12", "12 x 11 1/2", "8 1/2 x 11", "6 x 6", "6 x 12")

# How many of one size a sheet gives with edge-to-edge cuts: upright / sideways / either way (one
# number where all three are equal), on the sheets above. Exact search over all cut positions;
# the sizes are common practice, of no one's making.
YIELDS = {
    "4 1/4 x 5 1/2": ("4", "4", "4/2/4", "1", "2"),
    "4 1/8 x 5 3/8": ("4", "4", "4/2/4", "1", "2"),
    "4 x 5 1/2": ("6", "6/4/6", "4/2/4", "1", "2/3/3"),
    "4 x 5 1/4": ("6", "6/4/6", "4/2/4", "1", "2/3/3"),
    "3 7/8 x 5 1/8": ("6", "6/4/6", "4/2/4", "1", "2/3/3"),
    "3 3/4 x 5": ("6", "6", "4/2/4", "1", "2/3/3"),
    "3 1/2 x 4 3/4": ("6/6/7", "6/6/7", "4/3/5", "1", "2/3/3"),
    "5 x 7": ("2/2/3", "2/2/3", "1/2/2", "0", "1/0/1"),
    "4 3/4 x 6 3/4": ("2/2/3", "2/2/3", "1/2/2", "0", "1/0/1"),
    "4 1/2 x 6 1/4": ("2/2/3", "2/2/3", "1/2/2", "0", "1/0/1"),
    "4 3/8 x 6 1/8": ("2/2/3", "2/2/3", "1/2/2", "0", "1/0/1"),
    "4 1/4 x 6": ("4", "2/4/4", "2/2/3", "1", "2"),
    "4 x 6": ("6", "3/4/5", "2/2/3", "1", "2/3/3"),
    "5 x 5": ("4", "4", "2", "1", "2"),
    "5 1/4 x 5 1/4": ("4", "4", "2", "1", "2"),
    "5 1/2 x 5 1/2": ("4", "4", "2", "1", "2"),
    "5 3/4 x 5 3/4": ("4", "4", "1", "1", "2"),
    "6 x 6": ("4", "2", "1", "1", "2"),
    "3 1/4 x 8 1/4": ("3/3/4", "3/3/4", "2/3/3", "0", "1/0/1"),
    "3 1/2 x 8 1/2": ("3/3/4", "3/3/4", "2/3/3", "0", "1/0/1"),
    "3 1/4 x 6": ("6", "3/6/6", "2/3/3", "1", "2/3/3"),
    "3 1/2 x 5": ("6/6/7", "6/6/7", "4/3/5", "1", "2/3/3"),
    "3 x 4": ("12", "8/9/11", "4/6/6", "2", "6/4/6"),
    "2 1/2 x 3 1/2": ("12/12/14", "12/12/14", "9/8/10", "2/2/3", "6/4/7"),
    "3 x 3": ("16", "12", "6", "4", "8"),
    "2 x 2": ("36", "30", "20", "9", "18"),
}

# The same, turned either way, in millimetres: on 305 mm square and on A4 (ISO 216) upright.
METRIC_YIELDS = {
    "105 x 148 mm": (4, 4),
    "100 x 143 mm": (6, 4),
    "99 x 142 mm": (6, 4),
    "95 x 138 mm": (6, 4),
    "148 x 210 mm": (2, 2),
    "99 x 210 mm": (3, 3),
    "127 x 178 mm": (3, 2),
    "144 x 144 mm": (4, 2),
}


def most(problem: Problem) -> int:
    """How many blanks of any kind the problem's one sheet holds at most."""
    table = SheetTable(problem)
    table.fill([1] * len(problem.kinds))
    return table.best(problem.sizes[0].width, problem.sizes[0].height)


def needs(sheets: int, batch: Batch) -> bool:
    """Whether a plan of so many sheets is found, and fewer are ruled out."""
    figures = figures_of(batch)
    return figures.proven and figures.needed == figures.bound.value == sheets


@pytest.mark.parametrize("size", YIELDS)
def test_yields_of_common_sizes(size: str) -> None:
    """Each sheet gives as many as exact search found; one more takes a second sheet, proven."""
    for sheet, text in zip(SHEETS, YIELDS[size], strict=True):
        triplet = text.split("/") if "/" in text else [text] * 3
        for turn, number in zip(TURNS, map(int, triplet), strict=True):
            batch = sheet_batch(sheet, asked(size, max(1, number), turn))
            assert most(problem_of(batch)) == number
            if number == 0:
                assert resolve(batch).faults
                continue
            assert needs(1, batch)
            assert needs(2, sheet_batch(sheet, asked(size, number + 1, turn)))


@pytest.mark.parametrize("size", METRIC_YIELDS)
def test_yields_of_common_metric_sizes(size: str) -> None:
    """By exact search; one more takes a second sheet."""
    for sheet, number in zip(("305 x 305 mm", "210 x 297 mm"), METRIC_YIELDS[size], strict=True):
        assert most(problem_of(sheet_batch(sheet, asked(size, 1)))) == number
        assert needs(1, sheet_batch(sheet, asked(size, number)))
        assert needs(2, sheet_batch(sheet, asked(size, number + 1)))


def test_twelve_inches_are_not_305_mm() -> None:
    """127 + 178 mm are 305 mm: three blanks need the fifth of a millimetre that 12 in (304.8) lack."""
    assert most(problem_of(sheet_batch("12 x 12", asked("127 x 178 mm", 1)))) == 2
    assert most(problem_of(sheet_batch("12 x 12", asked("5 x 7", 1)))) == 3


def test_sideways_on_a4() -> None:
    """100 x 143 mm: four upright on A4, two sideways (exact search)."""
    assert most(problem_of(sheet_batch("210 x 297 mm", asked("100 x 143 mm", 1, "never")))) == 4
    assert most(problem_of(sheet_batch("210 x 297 mm", asked("100 x 143 mm", 1, "must")))) == 2


@pytest.mark.parametrize(
    ("sheet", "size", "count", "turn", "sheets"),
    [
        # By hand and by exact search: a bound by areas or by counting rows and columns.
        ("12 x 12", "4 x 5 1/4", 24, "never", 4),
        ("12 x 12", "4 1/4 x 5 1/2", 24, "may", 6),
        ("12 x 12", "5 x 7", 10, "may", 4),
        ("12 x 12", "5 x 7", 10, "never", 5),
        ("8 1/2 x 11", "4 x 5 1/4", 12, "never", 3),
        ("8 1/2 x 11", "5 1/4 x 4", 12, "never", 6),
        ("8 1/2 x 11", "5 1/4 x 4", 12, "may", 3),
        ("12 x 12", "2 1/2 x 3 1/2", 14, "may", 1),
        ("12 x 12", "2 1/2 x 3 1/2", 16, "may", 2),
        ("12 x 12", "3 1/2 x 4 3/4", 7, "may", 1),
        ("12 x 12", "3 1/2 x 4 3/4", 7, "never", 2),
        ("300 x 300 mm", "4 x 5 1/4", 4, "may", 1),
        ("300 x 300 mm", "4 x 5 1/4", 5, "may", 2),
        ("300 x 300 mm", "100 x 143 mm", 6, "never", 1),
    ],
)
def test_sheets_for_one_size(sheet: str, size: str, count: int, turn: Turn, sheets: int) -> None:
    """So many pieces take exactly so many sheets, and the bound says so."""
    assert needs(sheets, sheet_batch(sheet, asked(size, count, turn)))


def test_six_and_three_use_a_sheet_up() -> None:
    """Six 4 x 5 1/4 and three 4 x 1 1/2 are 144 in²: one 12 x 12, nothing left over."""
    batch = sheet_batch("12 x 12", asked("4 x 5 1/4", 6), asked("4 x 1 1/2", 3))
    plan = solved(batch)
    assert needs(1, batch)
    assert (plan.papers[0].in_pieces, plan.papers[0].kept, plan.papers[0].waste) == (1.0, 0.0, 0.0)
    assert plan.layouts[0].offcuts == ()


@pytest.mark.parametrize(
    ("size", "turn", "number"),
    [
        ("6 x 6", "may", 2),
        ("3 x 4", "may", 11),
        ("4 x 6", "may", 5),
        ("4 x 5 1/4", "never", 6),
        ("4 x 5 1/4", "must", 4),
    ],
)
def test_a_strip_inside_the_sheet_costs_pieces(size: str, turn: Turn, number: int) -> None:
    """With half an inch off the bottom of 12 x 12 fewer fit; beyond the sheet the strip costs none."""
    strip = BarcodeStrip("bottom", parse_length("1/2", "in"), beyond_the_sheet=False)
    batch = sheet_batch("12 x 12", asked(size, number, turn), barcode_strip=strip)
    more = sheet_batch("12 x 12", asked(size, number + 1, turn), barcode_strip=strip)
    assert needs(1, batch)
    assert needs(2, more)


def test_a_strip_beyond_the_sheet_costs_none() -> None:
    """Twelve 3 x 4 fill a 12 x 12 whose strip lies beyond it."""
    strip = BarcodeStrip("bottom", parse_length("1/2", "in"))
    assert needs(1, sheet_batch("12 x 12", asked("3 x 4", 12), barcode_strip=strip))


def test_24_layered_cards() -> None:
    """24 of 4 1/4 x 5 1/2: bases 2, mats 4 to a letter sheet, panels 6 to a 12 x 12: 12 + 6 + 4."""
    letter, square = parse_size("8 1/2 x 11", "in"), parse_size("12 x 12", "in")
    reveal = Edges(*[parse_length("1/8", "in")] * 4)
    papers = (
        Paper("cream cardstock", (Sheet(*letter),)),
        Paper("brick cardstock", (Sheet(*letter),)),
        Paper("pear toss", (Sheet(*square),), front=Face("four-way")),
    )
    layers = (
        Layer("mat", "brick cardstock", reveal=reveal),
        Layer("panel", "pear toss", reveal=reveal),
    )
    card = Card("windfall", 24, *parse_size("4 1/4 x 5 1/2", "in"), Base("cream cardstock"), layers)
    plan = solved(Batch("Orchard supper", "in", papers, (card,)))
    assert [figures.needed for figures in plan.papers] == [12, 6, 4]
    assert plan.ended == "proven"


@pytest.mark.parametrize(("fold", "across"), [("left", False), ("top", True)])
def test_folds_and_the_grain_of_letter_paper(fold: Any, across: bool) -> None:
    """From long-grain letter an 8 1/2 x 5 1/2 base folds with the grain, a 4 1/4 x 11 across it."""
    paper = Paper("cream cardstock", (Sheet(*parse_size("8 1/2 x 11", "in")),), grain="long")
    card = Card("windfall", 4, *parse_size("4 1/4 x 5 1/2", "in"), Base(paper.name, fold=fold))
    plan = solved(Batch("Orchard supper", "in", (paper,), (card,)))
    assert plan.papers[0].needed == 2
    assert any("across the grain" in warning for warning in plan.warnings) == across


@pytest.mark.parametrize(
    ("size", "number"), [("148 x 210 mm", 2), ("105 x 148 mm", 4), ("74 x 105 mm", 8)]
)
def test_a_series_from_a4(size: str, number: int) -> None:
    """ISO 216: A5, A6, A7 from A4; halves are rounded down, so a sliver is left over."""
    batch = sheet_batch("210 x 297 mm", asked(size, number))
    assert needs(1, batch)
    assert needs(2, sheet_batch("210 x 297 mm", asked(size, number + 1)))
    (layout,) = solved(batch).layouts
    slivers = [(placed.width, placed.height) for placed in layout.offcuts]
    assert slivers
    assert max(min(size) for size in slivers) <= 2_000_000


@pytest.mark.parametrize(("sheet", "number"), [("11 x 17", 2), ("17 x 22", 4), ("22 x 34", 8)])
def test_letter_sizes_divide_without_waste(sheet: str, number: int) -> None:
    """ANSI/ASME Y14.1: size A is 8 1/2 x 11 in (215.9 x 279.4 mm); B, C and D hold 2, 4 and 8 of it."""
    batch = sheet_batch(sheet, asked("215.9 x 279.4 mm", number))
    assert needs(1, batch)
    assert solved(batch).papers[0].in_pieces == 1.0


def gcut_problem(instance: dict[str, Any], *, turned: bool) -> Problem:
    """One sheet and its items, lengths as they are."""
    kinds = []
    for number, (width, height, _) in enumerate(instance["items"]):
        shapes = [Shape(width, height, turned=False)]
        if turned and width != height:
            shapes.append(Shape(height, width, turned=True))
        kinds.append(Kind(str(number), 1, width * height, tuple(shapes)))
    width, height = instance["width"], instance["height"]
    paper = Paper("pear toss", (Sheet(width, height),))
    return Problem(
        paper=paper,
        trimmer=Trimmer(),
        kinds=tuple(kinds),
        supplies=(),
        sizes=(SheetSize(width, height, (0,)),),
        usable=((width, height),),
        unit=1,
        longest=None,
    )


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("instance", GCUT, ids=lambda instance: instance["name"])
def test_published_optima_of_one_sheet(instance: dict[str, Any], turned: bool) -> None:
    """Beasley 1985, optima of Cintra et al. 2008: the value is theirs, and a layout has it."""
    problem = gcut_problem(instance, turned=turned)
    values = [value for _, _, value in instance["items"]]
    table = SheetTable(problem)
    table.fill(values)
    best = table.best(instance["width"], instance["height"])
    assert best == instance["optimal_turned" if turned else "optimal_fixed"]
    pattern = table.pattern(instance["width"], instance["height"])
    assert pattern is not None
    assert (
        sum(n * value for n, value in zip(counts(pattern, len(values)), values, strict=True))
        == best
    )
    assert pattern.width <= instance["width"]
    assert pattern.height <= instance["height"]
