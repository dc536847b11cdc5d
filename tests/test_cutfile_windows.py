"""Windows of covered middles in cut files, read back: in the right pieces, in the right place."""

from dataclasses import replace
from fractions import Fraction
from functools import cache

import pytest
from cutfile_cases import read_exactly
from pack_cases import MM, solved
from test_middles import mat_batch

from nesting.cutfile import CutFileError, cut_file
from nesting.cutfile.carrier import Setup
from nesting.cutfile.page_words import by_hand_words
from nesting.cutfile.shapes import PlacedPiece, shapes_of, sheetful_of
from nesting.cutfile.windows import window_corners, windows_of
from nesting.cutfile.written_files import cut_files
from nesting.draw import PAGES
from nesting.papers import Edge, FaceName, Window
from nesting.pieces import Piece
from nesting.plan import Plan

Box = tuple[Fraction, Fraction, Fraction, Fraction]


@cache
def plan_of_mats(make: int = 4) -> Plan:
    """Mats of 60 x 80 from sheets of 120 x 160, tags of 40 x 60 from their middles of 44 x 64."""
    (card,) = mat_batch().cards
    return solved(mat_batch(cards=(replace(card, make=make),)))


def windows_in(document: bytes) -> list[Box]:
    """Left, low, right and top of each window of a cut file, in nm."""
    found = []
    for points in read_exactly(document).closed.get("windows", []):
        across, along = zip(*points, strict=True)
        assert len(set(points)) == 4
        found.append((min(across), min(along), max(across), max(along)))
    return sorted(found)


def test_each_mat_has_its_window() -> None:
    """Four mats fill a sheet, and each has a hole of 44 x 64, 8 from its edges."""
    plan = plan_of_mats()
    sheet, middle = plan.layouts_of("pear toss")
    corners = [(x, y) for x in (8, 68) for y in (8, 88)]
    assert windows_in(cut_file(sheet, plan)) == [
        (x * MM, y * MM, (x + 44) * MM, (y + 64) * MM) for x, y in corners
    ]
    assert windows_in(cut_file(middle, plan)) == []


def test_windows_are_mirrored_with_the_sheet() -> None:
    """With the back to the blade the holes lie on the other side, like the outlines."""
    plan = plan_of_mats()
    sheet = plan.layouts_of("pear toss")[0]
    mirrored = sorted(
        (120 * MM - r, low, 120 * MM - left, top)
        for left, low, r, top in windows_in(cut_file(sheet, plan))
    )
    assert windows_in(cut_file(sheet, plan, back_up=True)) == mirrored


def test_no_more_windows_are_cut_than_middles_are_used() -> None:
    """Of four mats on a sheet two lose their middle where two middles are cut from."""
    plan = plan_of_mats()
    layouts = tuple(
        replace(one, alike=2) if one.source.kind == "middle" else one for one in plan.layouts
    )
    fewer = replace(plan, layouts=layouts)
    assert len(windows_in(cut_file(plan.layouts_of("pear toss")[0], fewer))) == 2


def test_what_only_some_sheets_alike_have_is_cut_by_hand() -> None:
    """Two sheets alike have their windows alike; of nine on them, the odd one is left to the knife."""
    plan = plan_of_mats(8)
    sheet, middle = plan.layouts_of("pear toss")
    assert (sheet.alike, middle.alike) == (2, 8)
    layouts = [replace(middle, alike=7) if one == middle else one for one in plan.layouts]
    found, by_hand = windows_of(plan, [sheetful_of(one, shapes_of(plan, one)) for one in layouts])
    assert sum(map(len, found.values())) == 3
    assert by_hand == 1
    assert by_hand_words(1).startswith("1 more window is cut by hand")
    assert by_hand_words(0) == ""


@pytest.mark.parametrize("straight", [True, False])
def test_all_files_have_a_window_for_each_middle(straight: bool) -> None:
    """With the plan's layouts or arranged anew, holes times sheets are middles."""
    plan = plan_of_mats()
    made = cut_files(plan, Setup(), PAGES["A4"], straight=straight)
    holes = [len(windows_in(file)) for name, file in made.files.items() if "pear" in name]
    assert sum(holes) == 4


@pytest.mark.parametrize(
    ("up", "turned", "face", "corner"),
    [  # a piece of 60 x 80 with its window 10 from the left and 5 from the bottom
        ("top", False, "front", (10, 5)),
        ("right", False, "front", (5, 60 - 10 - 20)),
        ("bottom", False, "front", (60 - 10 - 20, 80 - 5 - 30)),
        ("left", False, "front", (80 - 5 - 30, 10)),
        ("top", True, "front", (5, 60 - 10 - 20)),
        ("top", False, "back", (60 - 10 - 20, 5)),
        ("left", False, "back", (80 - 5 - 30, 60 - 10 - 20)),
        ("right", False, "back", (5, 10)),
    ],
)
def test_a_window_goes_with_its_piece(
    up: Edge, turned: bool, face: FaceName, corner: tuple[int, int]
) -> None:
    """However a piece lies, its window is where the upright piece has it, worked out by hand."""
    piece = Piece(
        id="mat", letter="A", name="mat", shape="rect", width=60 * MM, height=80 * MM,
        die_allowance=2 * MM, paper="pear toss", face=face, print="one-way", up=up, turn="may",
        grain=None, score=None, demand=1, uses=(),
    )  # fmt: skip
    window = Window("windfall", "mat", 10 * MM, 5 * MM, 20 * MM, 30 * MM)
    width, height = piece.on_sheet(turned=turned)
    shape = PlacedPiece(piece, turned, 100 * MM, 200 * MM, width, height, window)
    points = window_corners(shape)
    low = min(x for x, _ in points) - 102 * MM, min(y for _, y in points) - 202 * MM
    assert low == (corner[0] * MM, corner[1] * MM)
    lies_across = (up in ("left", "right")) != turned
    size = (
        max(x for x, _ in points) - low[0] - 102 * MM,
        max(y for _, y in points) - low[1] - 202 * MM,
    )
    assert size == ((30 * MM, 20 * MM) if lies_across else (20 * MM, 30 * MM))


@cache
def plan_with_middles_left() -> Plan:
    """Mats as above, and tags too long for their middles: all of these are left."""
    mat, cover, tag = mat_batch().cards[0].layers
    corner = replace(tag, name="corner", width=10 * MM, height=10 * MM)
    plan = solved(mat_batch(mat, cover, replace(tag, height=66 * MM), corner))
    assert not any(layout.source.kind == "middle" for layout in plan.layouts)
    return plan


def test_a_bound_of_any_arrangement_counts_every_middle() -> None:
    """Tags too long for the middles need a second sheet, but areas with all middles do not prove it."""
    made = cut_files(plan_with_middles_left(), Setup(), PAGES["A4"], straight=False)
    (found,) = [one for one in made.arrangements if one.paper == "pear toss"]
    assert (found.needed, found.bound.value) == (2, 1)


def test_a_carrier_too_small_for_every_sheet_is_said_where_middles_would_fit() -> None:
    """Nothing is arranged on middles that the plan is not cut from."""
    with pytest.raises(CutFileError, match="pear toss: no sheet of it that fits on the carrier"):
        cut_files(
            plan_with_middles_left(),
            Setup(carrier=(100 * MM, 100 * MM)),
            PAGES["A4"],
            straight=False,
        )
