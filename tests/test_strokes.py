"""Strokes: their order, ruler settings and holds, replayed on the sheet."""

import random
from collections import Counter
from dataclasses import replace
from itertools import pairwise

import pytest
from cut_trees import BIN, KEEP, layout, layouts, paper, three
from hypothesis import given
from hypothesis import strategies as st
from pack_cases import asked, sheet_batch, solved
from plans import inches

from nesting.batch import Batch, LoosePiece, Trimmer
from nesting.checker import check
from nesting.checker.cutting.cut_sheets import cut_up
from nesting.checker.cutting.recounted_strokes import strokes_and_settings
from nesting.cutting.steps import Step
from nesting.cutting.strokes import effort, steps_of
from nesting.layouts import Blank, Cut, EdgeTrim, Layout, Node, Offcut, Strip
from nesting.papers import Edge, Paper, Sheet
from nesting.plan import Plan

Rect = tuple[int, int, int, int]
MAT = Blank("mat")


def batch(**trimmer: object) -> Batch:
    """A batch with the paper of ``cut_trees``, measured in single nm."""
    plain = Trimmer(marks=1, narrowest_hold=0, **trimmer)  # type: ignore[arg-type]
    return Batch("Orchard market", "in", (paper(),), trimmer=plain)


def column(node: Node, last: Node) -> Node:
    """Two of 5 1/4 from the top, and what is left."""
    return Cut("y", inches("6 3/4"), Cut("y", inches("1 1/2"), last, node), node)


ROWS_FIRST = Cut("y", inches("6 3/4"), Cut("y", inches("1 1/2"), KEEP, three(MAT)), three(MAT))
COLUMNS_FIRST = three(column(MAT, BIN))


def sheet(tree: Node, size: str = "12 x 12", **changes: object) -> Layout:
    """A sheet in inches."""
    width, height = size.split(" x ")
    return layout(tree, inches(width), inches(height), **changes)


def told(steps: tuple[Step, ...]) -> list[tuple[int, Edge, int, int]]:
    """Of each step the ruler setting, the edge it is measured from, times and parts."""
    return [(step.setting, step.measured, step.times, step.parts) for step in steps]


# Worked counts: common practice, no source; 12 divides by 4 exactly.


def test_six_mats_rows_first_take_six_strokes() -> None:
    """Two rows at 5 1/4, then each row twice at 4: six strokes, two ruler settings."""
    cut = sheet(ROWS_FIRST)
    assert told(steps_of(cut, batch())) == [
        (inches("5 1/4"), "top", 2, 1),
        (inches("4"), "left", 2, 2),
    ]
    work = effort([cut], batch())
    assert (work.strokes, work.ruler_settings) == (6, 2)


def test_six_mats_columns_first_take_eight_strokes() -> None:
    """Three columns at 4, then each twice at 5 1/4."""
    work = effort([sheet(COLUMNS_FIRST)], batch())
    assert (work.strokes, work.ruler_settings) == (8, 2)


def test_two_rows_on_top_of_each_other_take_four_strokes() -> None:
    """Where two are cut at once, the two rows are one."""
    assert effort([sheet(ROWS_FIRST)], batch(stack=2)).strokes == 4


def test_sheets_alike_count_each_and_are_stacked() -> None:
    """Three sheets take three times the strokes, or, two at once, as many as two."""
    alike = sheet(ROWS_FIRST, alike=3)
    assert effort([alike], batch()).strokes == 18
    assert effort([alike], batch(stack=2)).strokes == 2 * 2 + 2 * 3


def test_two_sheets_on_one_another_are_one_stroke_everywhere() -> None:
    """Eight squares from two sheets, three at once: both sheets at once, then four halves in two."""
    from nesting import read_batch

    plan = solved(read_batch("tests/found/stack.yaml"))
    (figures,) = plan.papers
    assert figures.strokes == effort(plan.layouts, plan.asked).strokes == 1 + 2
    said = check(plan.asked, replace(plan, papers=(replace(figures, strokes=6),)))
    assert [fault.said for fault in said] == ["strokes is 6; it comes to 3."]


@pytest.mark.parametrize("stack", [1, 2])
def test_what_the_other_preference_costs_is_counted_in_strokes(stack: int) -> None:
    """The strokes that a note says more are those between the two plans, stacked or not."""
    size = 305_000_000
    tag = LoosePiece("tag", "pear toss", 12, 50_000_000, 90_000_000, turn="never")
    band = LoosePiece("band", "pear toss", 4, 20_000_000, 140_000_000, turn="never")
    moon = LoosePiece("moon", "pear toss", 3, 66_000_000, 66_000_000, turn="never")
    one = Paper("pear toss", (Sheet(size, size),))
    trimmer = Trimmer(marks=1_000_000, narrowest_hold=12_000_000, stack=stack)
    wanted = Batch("Orchard market", "mm", (one,), pieces=(tag, band, moon), trimmer=trimmer)
    easy, big = solved(wanted), solved(replace(wanted, prefer="big-offcut"))
    more = big.papers[0].strokes - easy.papers[0].strokes
    assert more > 0
    assert f"would take {more} more stroke" in easy.notes[0]


def test_ruler_settings_are_counted_once_over_all_layouts() -> None:
    """The same two settings on two layouts are two."""
    assert effort([sheet(ROWS_FIRST), sheet(COLUMNS_FIRST)], batch()).ruler_settings == 2


def test_the_packer_plans_six_strokes() -> None:
    """Six mats asked for are laid in rows: 6 strokes and 2 ruler settings in the plan's figures."""
    plan = solved(sheet_batch("12 x 12", asked("4 x 5 1/4", 6, "never")))
    (figures,) = plan.papers
    assert (figures.strokes, figures.ruler_settings) == (6, 2)


def test_descending_marks_are_read_from_one_edge() -> None:
    """The other way to repeat a size: each row at 8, then at 4, the far part dropping off."""
    steps = steps_of(sheet(ROWS_FIRST), batch(repeat="descending marks"))
    assert told(steps) == [
        (inches("10 1/2"), "top", 1, 1),
        (inches("5 1/4"), "top", 1, 1),
        (inches("8"), "left", 1, 2),
        (inches("4"), "left", 1, 2),
    ]
    # In two columns the far one is larger at last or both are equal: of two alike the measured is held.
    assert all(step.falls_beyond(step.strokes[0]) for step in steps[2:])


def test_a_left_handed_trimmer_measures_from_the_right() -> None:
    """The same row, from the other side."""
    row = Cut("x", inches("3"), BIN, Cut("x", inches("4"), MAT, MAT))
    right = steps_of(sheet(row, "11 x 5 1/4"), batch())
    left = steps_of(sheet(row, "11 x 5 1/4"), batch(hand="left"))
    assert told(right) == [(inches("3"), "left", 1, 1), (inches("4"), "left", 1, 1)]
    assert told(left) == [(inches("4"), "right", 2, 1)]


def test_no_stroke_parts_a_strip_from_a_kept_offcut() -> None:
    """Wherever the tree parts them, the strip stays on; and edge trim stays on what is waste."""
    for lower in (
        Cut("y", 1, Strip(), Cut("y", 4, KEEP, MAT)),
        Cut("y", 5, Cut("y", 1, Strip(), KEEP), MAT),
    ):
        (step,) = steps_of(layout(lower, 10, 12), batch())
        (stroke,) = step.strokes
        assert [leaf.node for leaf in stroke.falls.leaves] == [Strip(), KEEP]
        assert stroke.falls.rectangle == (0, 0, 10, 5)
    waste = Cut("y", 1, Strip(), Cut("y", 1, EdgeTrim(), Cut("y", 3, BIN, MAT)))
    (step,) = steps_of(layout(waste, 10, 12), batch())
    assert step.strokes[0].falls.rectangle == (0, 0, 10, 5)
    kept = Cut("y", 1, Strip(), Cut("y", 1, EdgeTrim(), Cut("y", 3, KEEP, MAT)))
    assert [step.times for step in steps_of(layout(kept, 10, 12), batch())] == [1, 1]


# Which end is held.


def test_the_wide_part_is_held_when_a_row_ends_in_narrow_ones() -> None:
    """Of 3, 1/4 and 1/4 the usual order would end with 1/4 in each hand; so the far end is cut first."""
    row = Cut("x", inches("3"), MAT, Cut("x", inches("1/4"), Blank("edging"), BIN))
    holding = replace(batch(), trimmer=Trimmer(narrowest_hold=inches("1/2")))
    steps = steps_of(sheet(row, "3 1/2 x 5"), holding)
    assert told(steps) == [(inches("3 1/4"), "left", 1, 1), (inches("3"), "left", 1, 1)]
    assert not any(step.by_knife for step in steps)


def test_where_every_part_is_narrow_a_knife_is_asked_for() -> None:
    """Four of 1/4: all but the last stroke have enough to hold, and the last is said."""
    quarter = inches("1/4")
    row: Node = MAT
    for _ in range(3):
        row = Cut("x", quarter, MAT, row)
    (step,) = steps_of(sheet(row, "1 x 5"), replace(batch(), trimmer=Trimmer()))
    assert (step.times, step.by_knife) == (3, 1)
    wide = Cut("y", inches("2"), row, BIN)
    first, second = steps_of(sheet(wide, "1 x 5"), replace(batch(), trimmer=Trimmer()))
    assert (first.by_knife, second.by_knife) == (0, 1)


def cannot_be_held(sizes: tuple[int, ...], cut_width: int, least: int) -> bool:
    """Whether every order of cutting a row apart has some cut with less than ``least`` to hold."""
    if len(sizes) == 1:
        return False
    for at in range(1, len(sizes)):
        low, high = sizes[:at], sizes[at:]
        held = max(sum(part) + cut_width * (len(part) - 1) for part in (low, high))
        if held >= least and not any(cannot_be_held(p, cut_width, least) for p in (low, high)):
            return False
    return True


@given(
    st.lists(st.integers(1, 9), min_size=2, max_size=6).map(tuple),
    st.integers(0, 2),
    st.integers(1, 12),
    st.sampled_from(["same ruler setting", "descending marks"]),
)
def test_a_knife_is_asked_for_only_where_no_order_helps(
    sizes: tuple[int, ...], cut_width: int, least: int, repeat: str
) -> None:
    """Compared with every order there is."""
    tree: Node = Blank(str(sizes[-1]))
    for size in reversed(sizes[:-1]):
        tree = Cut("x", size, Blank(str(size)), tree)
    length = sum(sizes) + cut_width * (len(sizes) - 1)
    trimmer = Trimmer(marks=1, narrowest_hold=least, cut_width=cut_width, repeat=repeat)  # type: ignore[arg-type]
    cut = layout(tree, length, 5, cut_width=cut_width)
    steps = steps_of(cut, replace(batch(), trimmer=trimmer))
    assert any(step.by_knife for step in steps) == cannot_be_held(sizes, cut_width, least)


# Replay: what the table says is done to a sheet.


def cut_part(whole: Rect, step: Step, cut_width: int) -> tuple[Rect, Rect]:
    """Cut a rectangle as a step says: what is measured, and what lies beyond."""
    x, y, width, height = whole
    extent = width if step.axis == "x" else height
    other = max(0, extent - step.setting - cut_width)
    from_low = step.measured in ("left", "bottom")
    sizes = (step.setting, other) if from_low else (other, step.setting)
    if step.axis == "x":
        parts = (x, y, sizes[0], height), (x + width - sizes[1], y, sizes[1], height)
    else:
        parts = (x, y, width, sizes[0]), (x, y + height - sizes[1], width, sizes[1])
    return parts if from_low else parts[::-1]


def replayed(cut: Layout, asked_for: Batch) -> list[Rect]:
    """The rectangles that a sheet is cut into, stroke by stroke."""
    in_hand: list[Rect] = [(0, 0, cut.width, cut.height)]
    number = 0
    for step in steps_of(cut, asked_for):
        assert step.parts * step.times == len(step.strokes)
        for stroke in step.strokes:
            number += 1
            assert stroke.number == number
            whole = stroke.whole.rectangle
            in_hand.remove(whole)
            parts = cut_part(whole, step, cut.cut_width)
            assert set(parts) == {stroke.taken.rectangle, stroke.rest.rectangle}
            assert set(parts) == {stroke.held.rectangle, stroke.falls.rectangle}
            in_hand += parts
    return in_hand


def expected(cut: Layout) -> Counter[Rect]:
    """The leaves of the tree."""
    leaves = [p for p in cut.walk() if not isinstance(p.node, Cut) and p.width and p.height]
    return Counter((p.x, p.y, p.width, p.height) for p in leaves)


def parted(cut: Layout, rects: list[Rect]) -> Counter[Rect]:
    """Rectangles of area, what stayed together taken apart: strips, offcuts and edge trim."""
    leaves = {
        (p.x, p.y, p.width, p.height): p.node for p in cut.walk() if not isinstance(p.node, Cut)
    }
    counts: Counter[Rect] = Counter()
    for rect in rects:
        if rect in leaves or not rect[2] or not rect[3]:
            counts.update([rect] if rect[2] and rect[3] else [])
            continue
        inside = [one for one in leaves if covers(rect, one) and one[2] and one[3]]
        assert {type(leaves[one]) for one in inside} <= {Strip, Offcut, EdgeTrim}
        assert inside
        counts.update(inside)
    return counts


def covers(outer: Rect, inner: Rect) -> bool:
    """Whether one rectangle lies in another."""
    return (
        outer[0] <= inner[0]
        and outer[1] <= inner[1]
        and inner[0] + inner[2] <= outer[0] + outer[2]
        and inner[1] + inner[3] <= outer[1] + outer[3]
    )


trimmers = st.builds(
    Trimmer,
    marks=st.just(1),
    narrowest_hold=st.integers(0, 8),
    stack=st.integers(1, 3),
    hand=st.sampled_from(["left", "right"]),
    repeat=st.sampled_from(["same ruler setting", "descending marks"]),
)


@given(layouts(stopped=False), trimmers)
def test_replayed_strokes_give_the_blanks_and_offcuts(cut: Layout, trimmer: Trimmer) -> None:
    """Whatever the tree, the trimmer and its hand: exactly the leaves, each stroke as it is said."""
    asked_for = replace(batch(), trimmer=replace(trimmer, cut_width=cut.cut_width))
    assert parted(cut, replayed(cut, asked_for)) == expected(cut)


@given(layouts(stopped=False), trimmers)
def test_narrow_holds_are_flagged(cut: Layout, trimmer: Trimmer) -> None:
    """A stroke with less than the narrowest hold is in a step that asks for a knife."""
    for step in steps_of(cut, replace(batch(), trimmer=trimmer)):
        for first in range(0, len(step.strokes), step.times):
            held = [stroke.hold for stroke in step.strokes[first : first + step.times]]
            assert held == sorted(held, reverse=True)
            assert step.by_knife == sum(hold < trimmer.narrowest_hold for hold in held)


@given(layouts(), trimmers)
def test_the_check_counts_the_same_strokes_and_settings(cut: Layout, trimmer: Trimmer) -> None:
    """Two ways of counting that share no code agree, for every trimmer, stacked or not."""
    trimmer = replace(trimmer, cut_width=cut.cut_width)
    work = effort([cut], replace(batch(), trimmer=trimmer))
    strokes, settings = strokes_and_settings(cut_up(cut), paper(), trimmer)
    assert (work.strokes, work.ruler_settings) == (strokes, len(settings))


@given(layouts())
def test_a_row_is_finished_before_its_parts_are_cut(cut: Layout) -> None:
    """What a stroke takes in hand is there: no part is cut while it is still in its row."""
    there = {(0, 0, cut.width, cut.height)}
    for step in steps_of(cut, batch()):
        for stroke in step.strokes:
            assert stroke.whole.rectangle in there
            for part in (stroke.taken, stroke.rest):
                there.add(part.rectangle)


def test_equal_rows_are_cut_at_one_ruler_setting() -> None:
    """No setting comes back after another while parts of the same rows are cut."""
    steps = steps_of(sheet(ROWS_FIRST), batch())
    settings = [step.setting for step in steps]
    assert all(first != second for first, second in pairwise(settings))
    assert len(settings) == len(set(settings))


@pytest.fixture(scope="module")
def orchard() -> Plan:
    """The sample, planned."""
    from nesting import Rounds, read_batch, solve

    return solve(read_batch("samples/orchard.yaml"), Rounds(40))


def test_the_orchard_is_replayed(orchard: Plan) -> None:
    """Every layout of the sample, and all its ruler settings are on the trimmer's marks."""
    for one in orchard.layouts:
        assert parted(one, replayed(one, orchard.asked)) == expected(one)
        for step in steps_of(one, orchard.asked):
            assert step.setting % orchard.asked.trimmer.marks == 0
            assert not step.by_knife


def test_edge_trim_and_bare_sheets() -> None:
    """Edge trim is cut off like any part; a sheet that is one leaf needs no stroke."""
    (step,) = steps_of(layout(Cut("x", 1, EdgeTrim(), MAT), 10, 12), batch())
    assert (step.setting, step.measured) == (1, "left")
    assert steps_of(layout(MAT, 10, 12), batch()) == ()


@pytest.mark.parametrize("seed", range(8))
def test_pieces_on_the_marks_have_ruler_settings_on_the_marks(seed: int) -> None:
    """Random sheets and pieces in eighths of an inch: no setting between two marks of a sixteenth."""
    chance = random.Random(seed)
    eighth = inches("1/8")
    pieces = [
        LoosePiece(
            f"tag {n}", "pear toss", chance.randrange(1, 9),
            chance.randrange(8, 44) * eighth, chance.randrange(8, 44) * eighth,
            turn=chance.choice(["never", "may"]),
        )
        for n in range(chance.randrange(1, 6))
    ]  # fmt: skip
    plan = solved(sheet_batch("12 x 12", *pieces))
    marks = plan.asked.trimmer.marks
    assert marks == inches("1/16")
    settings = [step.setting for one in plan.layouts for step in steps_of(one, plan.asked)]
    assert settings
    assert all(setting % marks == 0 for setting in settings)
