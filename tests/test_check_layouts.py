"""Sheets, cuts, offcuts, blanks, turns and circles of a layout."""

from dataclasses import replace
from typing import Any

import pytest
from check_cases import rules, with_tree
from plans import harvest_batch, harvest_plan, inches, moon_at, row

from nesting.batch import Batch, LoosePiece, Trimmer
from nesting.cards.resolving import resolve
from nesting.checker import check
from nesting.layouts import Blank, Cut, EdgeTrim, Node, Offcut, Strip
from nesting.pack import solve
from nesting.papers import Axis, BarcodeStrip, Edge, Edges, Face, Paper, Sheet
from nesting.plan import Plan


def test_layout_of_a_paper_that_is_not_there() -> None:
    """A layout on a paper that nobody has is named."""
    plan = harvest_plan()
    layouts = (*plan.layouts[:3], replace(plan.layouts[3], paper="plum toss"))
    assert "paper" in rules(harvest_batch(), replace(plan, layouts=layouts))


def test_layouts_stand_in_the_order_of_their_numbers() -> None:
    """Pages are printed one after the other, as records speak of "1-3"."""
    plan = harvest_plan()
    layouts = (*plan.layouts[1::-1], *plan.layouts[2:])
    assert rules(harvest_batch(), replace(plan, layouts=layouts)) == {"layout"}


def test_layout_cut_less_than_once() -> None:
    """A layout that no sheet is cut by has no place in a plan."""
    plan = harvest_plan()
    layouts = (*plan.layouts, replace(plan.layouts[3], id=5, alike=0))
    assert rules(harvest_batch(), replace(plan, layouts=layouts)) == {"alike"}


@pytest.mark.parametrize("at", [0, -1, inches("3"), inches("4")])
def test_cut_that_does_not_divide(at: int) -> None:
    """A cut on an edge or beyond it divides nothing, and the area beyond it is missed."""
    plan = with_tree(harvest_plan(), 3, Cut("x", at, moon_at("0", "0"), Offcut(keep=False)))
    assert {"cut", "area"} <= rules(harvest_batch(), plan)


def test_cut_that_is_too_long() -> None:
    """A cut longer than the trimmer's longest is named, and one just as long is not."""
    batch, plan = harvest_batch(), harvest_plan()
    for longest, expected in ((inches("12"), set()), (inches("12") - 1, {"longest cut"})):
        trimmed = replace(batch, trimmer=Trimmer(longest_cut=longest))
        assert rules(trimmed, replace(plan, asked=trimmed)) == expected


def test_cut_width_is_clipped_at_the_edge_only() -> None:
    """A last cut may lose its width beyond the sheet; the same cut inside loses all of it."""
    paper = Paper("pear toss", (Sheet(10, 10),))
    batch = Batch(
        "Tiny",
        "mm",
        (paper,),
        (),
        (LoosePiece("tag", "pear toss", 1, 9, 10),),
        Trimmer(cut_width=3),
    )
    plan = solve(batch)
    blank = Blank("tag")
    assert plan.layouts[0].tree == Cut("x", 9, blank, Offcut(keep=False))
    assert check(batch, plan) == ()
    assert "cut" in rules(batch, with_tree(plan, 0, Cut("x", 9, blank, Cut("x", 1, blank, blank))))
    assert {"blank", "demand"} <= rules(batch, with_tree(plan, 0, Cut("x", 9, blank, blank)))
    assert "offcut" in rules(batch, with_tree(plan, 0, Cut("x", 9, blank, Offcut(keep=True))))


def beside(edge: Edge, strip: int = 0, trim: int = 0) -> tuple[Batch, Plan]:
    """A piece of all that strip and trim of an edge leave of 20 x 20, cut off by a blade of 3."""
    paper = Paper(
        "pear toss",
        (Sheet(20, 20),),
        barcode_strip=BarcodeStrip(edge, strip, beyond_the_sheet=False) if strip else None,
        edge_trim=Edges(**{edge: trim}),
    )
    left = 20 - max(3, strip + trim)
    size = (left, 20) if edge in ("left", "right") else (20, left)
    piece = LoosePiece("tag", "pear toss", 1, *size, turn="never")
    batch = Batch("Tiny", "mm", (paper,), (), (piece,), Trimmer(cut_width=3))
    return batch, solve(batch)


@pytest.mark.parametrize("edge", ["left", "right", "top", "bottom"])
def test_the_blade_runs_in_the_strip(edge: Edge) -> None:
    """Of a strip of 4 a blade of 3 leaves 1; where it lies anywhere else, the strip is named."""
    batch, plan = beside(edge, strip=4)
    axis: Axis = "x" if edge in ("left", "right") else "y"
    blank, strip = Blank("tag"), Strip()
    if edge in ("left", "bottom"):
        right = Cut(axis, 1, strip, blank)
        wrong = [Cut(axis, at, strip, blank) for at in (0, 2, 4)]
        wrong += [Cut(axis, 1, EdgeTrim(), blank), Cut(axis, 16, blank, strip)]
    else:
        right = Cut(axis, 16, blank, strip)
        wrong = [Cut(axis, at, blank, strip) for at in (13, 15, 17)]
        wrong += [Cut(axis, 16, blank, EdgeTrim()), Cut(axis, 1, strip, blank)]
    assert plan.layouts[0].tree == right
    assert check(batch, plan) == ()
    for tree in wrong:
        assert "strip" in rules(batch, with_tree(plan, 0, tree)), tree


@pytest.mark.parametrize(
    ("strip", "trim", "expected"),
    [
        (4, 0, Cut("y", 1, Strip(), Blank("tag"))),
        (3, 0, Cut("y", 0, Strip(), Blank("tag"))),
        (2, 0, Cut("y", 0, Strip(), Blank("tag"))),
        (0, 2, Cut("y", 0, EdgeTrim(), Blank("tag"))),
        (4, 5, Cut("y", 1, Strip(), Cut("y", 2, EdgeTrim(), Blank("tag")))),
        (5, 1, Cut("y", 0, Strip(), Cut("y", 0, EdgeTrim(), Blank("tag")))),
        (2, 2, Cut("y", 1, EdgeTrim(), Blank("tag"))),
        (1, 1, Cut("y", 0, EdgeTrim(), Blank("tag"))),
    ],
)
def test_of_what_is_narrower_the_blade_takes_the_rest_from_the_sheet(
    strip: int, trim: int, expected: Node
) -> None:
    """One blade of 3 bounds what is left; a second one lies in strip and trim where there is room."""
    batch, plan = beside("bottom", strip, trim)
    assert plan.layouts[0].tree == expected
    assert check(batch, plan) == ()
    larger = replace(batch.pieces[0], height=(batch.pieces[0].height or 0) + 1)
    assert resolve(replace(batch, pieces=(larger,))).faults


def test_a_cut_that_takes_all_of_it_is_for_strip_and_trim_alone() -> None:
    """Nothing else that is cut off may have no width."""
    batch, plan = beside("bottom", strip=3)
    tree = Cut("y", 0, Offcut(keep=False), Blank("tag"))
    assert {"cut", "strip"} <= rules(batch, with_tree(plan, 0, tree))


@pytest.mark.parametrize(("more", "named"), [((0, 0), False), ((1, 0), True), ((0, 1), True)])
def test_an_offcut_is_kept_from_the_smallest_size_on(more: tuple[int, int], named: bool) -> None:
    """Above a moon 2 1/4 x 2 3/4 in are kept: exactly so large is enough, lying either way."""
    width, height = inches("2 3/4") + more[0], inches("2 1/4") + more[1]
    batch = replace(harvest_batch(), keep_from=((width, height),))
    found = rules(batch, replace(harvest_plan(), asked=batch))
    assert found == ({"offcut"} if named else set())


def test_deep_tree_is_walked_without_recursion() -> None:
    """A tree of many thousand cuts is checked like any other."""
    tree: Node = Offcut(keep=False)
    for _ in range(20_000):
        tree = Cut("x", 1, Offcut(keep=False), tree)
    assert "demand" in rules(harvest_batch(), with_tree(harvest_plan(), 0, tree))


def test_blank_of_a_piece_that_is_not_there() -> None:
    """A blank whose piece nobody knows is named, not looked up in vain."""
    faults = check(harvest_batch(), with_tree(harvest_plan(), 3, Blank("pip")))
    assert ("blank", "layout 4, blank 'pip'") in {(fault.rule, fault.where) for fault in faults}


def test_blank_of_another_paper() -> None:
    """A piece cut from the wrong paper is named even where its size is right."""
    wrong = row("x", "2 1/4", Blank("tag"), Offcut(keep=True))
    faults = check(harvest_batch(), with_tree(harvest_plan(), 3, wrong))
    said = "its piece is cut from 'pear toss', not from 'brick cardstock'."
    assert said in {fault.said for fault in faults}


@pytest.mark.parametrize(
    ("turn", "turned", "named"),
    [
        ("never", False, False), ("never", True, True), ("must", True, False),
        ("must", False, True), ("may", True, False), ("may", False, False),
    ],
)  # fmt: skip
def test_turns(turn: Any, turned: bool, named: bool) -> None:
    """A square piece may lie turned only as its turn says."""
    paper = Paper("pear toss", (Sheet(10, 10),), front=Face("one-way"))
    piece = LoosePiece("tag", "pear toss", 1, 10, 10, face="front", turn=turn)
    batch = Batch("Tiny", "mm", (paper,), (), (piece,))
    plan = with_tree(solve(batch), 0, Blank("tag", turned))
    assert ("turn" in rules(batch, plan)) == named


def plan_of_circles(*circles: tuple[int, int]) -> tuple[Batch, Plan]:
    """Circles of 10 nm with 1 nm around each on one blank of 23 x 12 nm."""
    paper = Paper("pear toss", (Sheet(23, 12),))
    piece = LoosePiece(
        "moon", "pear toss", len(circles), circle=10, face="front", turn="may", die_allowance=1
    )
    batch = Batch("Tiny", "mm", (paper,), (), (piece,))
    plan = solve(replace(batch, papers=(replace(paper, sheets=(Sheet(24, 12),)),)))
    layout = replace(plan.layouts[0], width=23, tree=Blank("moon", circles=circles), alike=1)
    return batch, replace(plan, asked=batch, layouts=(layout,))


@pytest.mark.parametrize(
    ("circles", "named"),
    [
        (((6, 6), (17, 6)), False), (((7, 6), (17, 6)), True), (((5, 6), (17, 6)), True),
        (((6, 6), (18, 6)), True), (((6, 7), (17, 6)), True), (((6, 6), (6, 6)), True),
    ],
)  # fmt: skip
def test_circles_that_share_a_blank(circles: tuple[tuple[int, int], ...], named: bool) -> None:
    """Circles on one blank keep their allowance to its edge, and one allowance between them."""
    batch, plan = plan_of_circles(*circles)
    found = rules(batch, plan)
    assert ("circle" in found) == named
    assert "demand" not in found
    assert "blank" not in found


def test_circle_of_an_odd_diameter() -> None:
    """A centre that would lie half a nanometre off may lie on either side, and no further."""
    paper = Paper("pear toss", (Sheet(11, 11),))
    batch = Batch("Tiny", "mm", (paper,), (), (LoosePiece("moon", "pear toss", 1, circle=11),))
    plan = solve(batch)
    for centre, named in (((5, 6), False), ((6, 6), False), ((4, 5), True), ((7, 5), True)):
        broken_plan = with_tree(plan, 0, Blank("moon", circles=(centre,)))
        assert ("circle" in rules(batch, broken_plan)) == named


def test_circles_where_there_are_none() -> None:
    """A rectangle with circles and a circle without are both named."""
    plan = harvest_plan()
    panel = Blank("windfall/panel", circles=((1, 1),))
    assert "circle" in rules(harvest_batch(), with_tree(plan, 0, panel))
    assert "circle" in rules(harvest_batch(), with_tree(plan, 3, Blank("windfall/moon")))
