"""Which way things lie on the sheet, and the order of cuts."""

import pytest
from draw_plans import KEEP, piece, sparse, two_faced
from plans import inches

from nesting.draw.sheet.bearings import (
    score_lines,
    top_edge,
)
from nesting.layouts import Blank, Layout, Placed, Source
from nesting.papers import BarcodeStrip, Edge, FaceName, Paper, Sheet
from nesting.pieces import Score
from nesting.sources import nominal_size

BASE = piece("A", "base", 8, 5, score=Score("x", 3))


@pytest.mark.parametrize(
    ("up", "turned", "edge"),
    [("top", False, "top"), ("top", True, "right"), ("left", False, "left"), ("left", True, "top")],
)
def test_a_piece_points_along_its_print_or_a_quarter_turn_clockwise(
    up: Edge, turned: bool, edge: Edge
) -> None:
    """The top of a piece is at the print's up, and clockwise of it where it is turned."""
    assert top_edge(piece("A", "panel", 3, 4, up=up), turned=turned) == edge


@pytest.mark.parametrize(
    ("up", "face", "line"),
    [
        ("top", "front", ("x", 103)),
        ("bottom", "front", ("x", 105)),
        ("left", "front", ("y", 203)),
        ("right", "front", ("y", 205)),
        ("top", "back", ("x", 105)),
        ("left", "back", ("y", 205)),
    ],
)
def test_a_score_line_lies_where_the_upright_piece_has_it(
    up: Edge, face: FaceName, line: tuple[str, int]
) -> None:
    """A score 3 from the piece's left edge, front up; on the back, left and right swap."""
    base = piece("A", "base", 8, 5, score=Score("x", 3), up=up, face=face)
    width, height = base.on_sheet(turned=False)
    blank = Placed(Blank("base"), 100, 200, width, height)
    assert score_lines(base, blank, turned=False) == [line]


def test_a_score_line_starts_behind_the_die_allowance() -> None:
    """The score is measured from the piece, not from its blank."""
    base = piece("A", "base", 8, 5, score=Score("y", 2), die_allowance=1)
    assert score_lines(base, Placed(Blank("base"), 0, 0, 10, 7), turned=False) == [("y", 3)]


def test_nominal_size_leaves_out_a_strip_beyond_the_sheet() -> None:
    """The nominal size is without the strip beyond it; an offcut has no strip."""
    plan = two_faced()
    layout = plan.layouts[0]
    assert nominal_size(layout, plan.asked.papers[0]) == (inches("12"), inches("12"))
    side = Paper("paper", (Sheet(10, 10),), barcode_strip=BarcodeStrip("left", 2))
    one = Layout(1, "paper", Source("sheet", ""), 12, 10, 1, 0, 0, KEEP)
    assert nominal_size(one, side) == (10, 10)


def test_grain_is_known_where_all_whole_sheets_agree() -> None:
    """Long grain runs along the long side; sheets that lie differently leave it open."""
    assert Paper("paper", (Sheet(8, 11),), grain="long").grain_axis == "y"
    assert Paper("paper", (Sheet(8, 11),), grain="short").grain_axis == "x"
    assert Paper("paper", (Sheet(8, 11), Sheet(11, 8)), grain="long").grain_axis is None
    assert Paper("paper", (Sheet(8, 11),)).grain_axis is None


def test_a_turned_base_folds_across_the_grain() -> None:
    """A base whose fold follows the grain upright has it across when turned."""
    plan = sparse()
    base, paper = plan.pieces[0], plan.asked.papers[0]
    assert not base.folds_across(paper.grain_axis, turned=False)
    assert base.folds_across(paper.grain_axis, turned=True)
