"""The checker finds out covered middles by itself: plans forged in each way are refused."""

import random
from dataclasses import replace
from functools import cache
from typing import Any

import pytest
from pack_cases import MM, solved
from test_covering import card_of, random_shapes
from test_middles import mat_batch, tiny_batch

from nesting.batch import At, Batch, Layer
from nesting.cards.largest_middle import covered_middle
from nesting.checker import check
from nesting.checker.asked.places import Shape, inner_of, lies_within
from nesting.checker.rules.cells import largest_within
from nesting.papers import Paper, Sheet, SheetCount, Window
from nesting.plan import Plan


def said(batch: Batch, plan: Plan) -> str:
    """Everything the checker says of a plan's covered middles."""
    return " ".join(fault.said for fault in check(batch, plan) if fault.rule == "middles")


@cache
def honest() -> tuple[Batch, Plan]:
    """Four mats from one sheet, and all tags from their middles of 44 x 64 mm."""
    batch = mat_batch()
    return batch, solved(batch)


def with_middle(plan: Plan, count: int | None = None, **changes: Any) -> Plan:
    """The plan with another window in its one covered middle, the sheet as large as the window."""
    (one,) = plan.middles
    (window,) = one.sheet.windows
    window = replace(window, **changes)
    sheet = replace(one.sheet, width=window.width, height=window.height, windows=(window,))
    return replace(plan, middles=(SheetCount(one.paper, sheet, count or one.count),))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"x": 9 * MM}, "shows, or reaches under the glue lap"),
        ({"y": 7 * MM}, "shows, or reaches under the glue lap"),
        ({"x": 7 * MM, "width": 46 * MM}, "shows, or reaches under the glue lap"),
        ({"x": 0, "y": 0, "width": 60 * MM, "height": 80 * MM}, "too narrow a frame"),
        ({"x": 8 * MM + 1}, "off the marks"),
        ({"width": 40 * MM}, "not the largest"),
        ({"width": 40 * MM, "height": 40 * MM}, "nothing can be cut"),
        ({"width": 0}, "of no size"),
        ({"card": "pruning"}, "nothing of it may be cut out"),
        ({"layer": "cover"}, "another paper"),
        ({"count": 5}, "5 are listed; there are 4"),
    ],
)
def test_a_forged_middle_is_refused(changes: dict[str, Any], words: str) -> None:
    """A window where it shows, too large, too small, of a layer that has none, or one too many."""
    batch, plan = honest()
    assert words in said(batch, with_middle(plan, **changes))


def test_a_middle_without_windows_is_a_sheet_that_nobody_has() -> None:
    """Listed without the layers that give it, or turned on its side, a covered middle is refused."""
    batch, plan = honest()
    (one,) = plan.middles
    bare = replace(one, sheet=replace(one.sheet, windows=()))
    assert "nothing else" in said(batch, replace(plan, middles=(bare,)))
    priced = replace(one, sheet=replace(one.sheet, name="3"))
    assert "nothing else" in said(batch, replace(plan, middles=(priced,)))
    turned = replace(one, sheet=replace(one.sheet, width=64 * MM, height=44 * MM))
    assert "another size" in said(batch, replace(plan, middles=(turned,)))


def test_a_middle_stands_once() -> None:
    """Listed twice, a middle would be there twice."""
    batch, plan = honest()
    assert "listed twice" in said(batch, replace(plan, middles=plan.middles * 2))


def test_a_bound_without_the_middles_proves_nothing() -> None:
    """A plan that does not list its middles has fewer sheets to cut from than there are."""
    batch, plan = honest()
    assert "does not list" in said(batch, replace(plan, middles=()))


def test_no_more_middles_are_cut_from_than_hosts_are_cut() -> None:
    """One more sheet cut alike is one more than there are mats."""
    batch, plan = honest()
    layouts = tuple(
        replace(layout, alike=5) if layout.source.kind == "middle" else layout
        for layout in plan.layouts
    )
    assert "cut from; their hosts are cut 4 times" in said(batch, replace(plan, layouts=layouts))


def test_a_middle_of_a_card_that_is_not_made_does_not_exist() -> None:
    """Where mats stay uncut, a plan that is cut from all their middles is refused."""
    for seed in range(60):
        batch = tiny_batch(seed, buy=False)
        plan = solved(batch)
        taken = [layout for layout in plan.layouts if layout.source.kind == "middle"]
        if plan.uncut and taken:
            break
    (middle, *_) = taken
    most = next(one.count for one in plan.middles if one.sheet.width == middle.width)
    layouts = tuple(
        replace(one, alike=most) if one.id == middle.id else one for one in plan.layouts
    )
    assert "their hosts are cut" in said(batch, replace(plan, layouts=layouts))


def test_a_kept_middle_is_not_cut_from() -> None:
    """A plan made where middles are saved is none where the mat is to stay whole."""
    mat, *rest = mat_batch().cards[0].layers
    kept = mat_batch(replace(mat, middle="keep"), *rest)
    _, plan = honest()
    assert "nothing of it may be cut out" in said(kept, replace(plan, asked=solved(kept).asked))


def side_by_side() -> Batch:
    """A mat under two covers of 28 x 76, side by side, with tags of 12 x 50."""
    mat, _, tag = mat_batch().cards[0].layers
    covers = [
        Layer(f"cover {n}", "plum", over="mat", width=28 * MM, height=76 * MM, at=At(left=x * MM))
        for n, x in enumerate((2, 30))
    ]
    return mat_batch(mat, *covers, replace(tag, width=12 * MM, height=50 * MM))


def test_each_of_two_layers_side_by_side_is_held() -> None:
    """A window under both covers takes the hold of their inner edges; one under one of them does not."""
    batch = side_by_side()
    plan = solved(batch)
    (one,) = plan.middles
    assert one.sheet.windows[0] == Window("windfall", "mat", 8 * MM, 8 * MM, 16 * MM, 64 * MM)
    across = with_middle(plan, width=44 * MM)
    assert "shows, or reaches under the glue lap" in said(batch, across)


def test_a_layer_on_the_host_keeps_its_hold() -> None:
    """A strip glued on the mat itself beyond the cover keeps its hold, although the cover hides it."""
    mat, cover, tag = mat_batch().cards[0].layers
    strip = Layer("strip", "plum", over="mat", width=60 * MM, height=10 * MM, at=At(top=30 * MM))
    batch = mat_batch(mat, cover, strip, replace(tag, width=40 * MM, height=30 * MM))
    plan = solved(batch)
    (window,) = plan.middles[0].sheet.windows
    assert window.height == 32 * MM
    forged = with_middle(plan, y=8 * MM, height=64 * MM)
    assert "takes the hold" in said(batch, forged)


def test_no_middle_hangs_over_the_edge_of_the_card() -> None:
    """Where a mat sticks out of the card, the hole of a window would be seen from behind."""
    mat, cover, tag = mat_batch().cards[0].layers
    out = replace(mat, at=At(left=0))
    batch = mat_batch(out, cover, tag)
    narrow = replace(batch.cards[0], width=50 * MM)
    batch = replace(batch, cards=(narrow,))
    plan = solved(batch)
    assert plan.middles[0].sheet.windows[0].width == 42 * MM
    assert "no card behind it" in said(batch, with_middle(plan, width=44 * MM))


def test_the_cells_find_the_largest_rectangle_by_hand() -> None:
    """Under a disc of 10 with a lap of 0, the largest rectangle on the marks is 8 x 6 or 6 x 8."""
    host, disc = Shape(0, 0, 12, 12, False), Shape(1, 1, 10, 10, True)
    assert largest_within(host, (host,), (disc,), (disc,), 1) == {(8, 6), (6, 8)}


@pytest.mark.parametrize("seed", range(80))
def test_packer_and_checker_find_the_same_middle(seed: int) -> None:
    """On random cards two ways that share nothing come to the same: lines and cells."""
    chance = random.Random(seed)
    host = (0, 0, 40, 36, seed % 4 == 0) if seed % 4 else (0, 0, 38, 38, True)
    covers = [
        (x * 2 + 1, y * 2, w * 3, h * 3, r)
        for x, y, w, h, r in random_shapes(chance, 4, discs=True)
    ]
    shapes = [Shape(*one) for one in covers]
    lying: list[Shape] = []
    for shape in shapes:
        if not any(lies_within(shape, under) for under in lying):
            lying.append(shape)
    inners = [inner_of(shape, 3) for shape in lying]
    frame = inner_of(Shape(*host), 2)
    assert frame is not None
    bounds = frame, Shape(0, 0, 36, 36, False)
    marks = 1 + seed % 2
    largest = largest_within(Shape(*host), bounds, lying, inners, marks)
    found = covered_middle(card_of(host, *covers, size=36), "host", 3, 2, marks)
    assert found is not None or not largest
    assert found is None or (found.width, found.height) in largest


def test_an_offcut_is_no_middle() -> None:
    """A layout that calls its middle an offcut is cut from a sheet that there is not."""
    batch, plan = honest()
    layouts = tuple(
        replace(one, source=replace(one.source, kind="offcut"))
        if one.source.kind == "middle"
        else one
        for one in plan.layouts
    )
    rules = {fault.rule for fault in check(batch, replace(plan, layouts=layouts))}
    assert {"source", "at hand"} <= rules


def test_a_middle_is_counted_once_in_the_figures() -> None:
    """Counted as a sheet of its own, the middles would be there twice."""
    batch, plan = honest()
    figures = plan.papers[0]
    sheet, middles = 120 * 160, 4 * 44 * 64
    twice = (sheet * figures.in_pieces + middles) / (sheet + middles)
    papers = (replace(figures, in_pieces=round(twice, 6)), *plan.papers[1:])
    assert "shares" in {fault.rule for fault in check(batch, replace(plan, papers=papers))}


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"height": 10 * MM, "over": "cover"}, "does not list"),
        ({"height": 10 * MM, "over": "mat"}, "nothing of it may be cut out"),
        ({"height": 10 * MM, "over": "card"}, "nothing of it may be cut out"),
        ({"height": 10 * MM, "width": 10 * MM, "over": "cover"}, "does not list"),
        ({"height": 70 * MM, "width": 70 * MM, "over": "mat"}, "takes the hold"),
    ],
)
def test_what_lies_aslant_on_a_host_is_known(changes: dict[str, Any], words: str) -> None:
    """Held by the cover it leaves the mat its middle; on the mat or the card it takes it away.

    A plan with the middle all the same is refused, and one without it where there is one.
    """
    batch, plan = honest()
    card = batch.cards[0]
    aslant = Layer("slope", "spare", angle=30_000, **changes)
    sheets = (Sheet(300 * MM, 300 * MM),)
    asked = replace(
        batch,
        papers=(*batch.papers, Paper("spare", sheets)),
        cards=(replace(card, layers=(*card.layers, aslant)),),
    )
    found = solved(asked)
    assert check(asked, found) == ()
    assert bool(found.middles) == (changes["over"] == "cover")
    other = replace(found, middles=() if found.middles else plan.middles)
    assert words in said(asked, other)
