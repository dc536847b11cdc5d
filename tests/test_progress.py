"""How far a plan is cut: strokes made again from the record."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace

import pytest
from cut_trees import KEEP, layout, layouts, paper, three
from hypothesis import given
from hypothesis import strategies as st
from plans import inches
from random_batches import batch_of

from nesting.batch import Batch, Trimmer
from nesting.cutting.parallel_cuts import Part
from nesting.cutting.progress import Leftover, Progress, progress_of
from nesting.cutting.strokes import steps_of
from nesting.layouts import Blank, Cut, Layout, Node, Strip
from nesting.pack import Rounds, solve
from nesting.papers import BarcodeStrip, Sheet
from nesting.plan import Plan
from nesting.record import Entry, Record, RecordError, read_record
from nesting.sheets import taken_off, usable_size
from nesting.sources import sheet_of_layout

MAT = Blank("mat")
STRIP = BarcodeStrip(edge="bottom", width=inches("1/2"), beyond_the_sheet=True)


def plan(*cut: Layout, strip: BarcodeStrip | None = None) -> Plan:
    """A plan of some layouts of one paper, numbered as they come."""
    plain = Trimmer(marks=1, narrowest_hold=0)
    batch = Batch("Orchard market", "in", (paper(barcode_strip=strip),), trimmer=plain)
    numbered = tuple(replace(one, id=number) for number, one in enumerate(cut, 1))
    return Plan("nesting", 0, "proven", batch, (), numbered, (), (), ())


#: Step 1: the ruler at 5 1/4, twice. Step 2: at 4, twice on each of two rows.
TWO_ROWS = Cut("y", inches("6 3/4"), Cut("y", inches("1 1/2"), KEEP, three(MAT)), three(MAT))


def sheet(tree: Node = TWO_ROWS, size: str = "12 x 12", **changes: object) -> Layout:
    """A sheet in inches."""
    width, height = size.split(" x ")
    return layout(tree, inches(width), inches(height), **changes)


def told(some: tuple[Leftover, ...]) -> list[tuple[int, int, int]]:
    """Width and height of what is left, in quarters of an inch, and how many."""
    quarter = inches("1/4")
    return [(one.part.width // quarter, one.part.height // quarter, one.count) for one in some]


def far(done: str = "", spoilt: str = "", alike: int = 3) -> Progress:
    """How far three sheets of two rows are cut."""
    return progress_of(plan(sheet(alike=alike)), read_record(done, spoilt))


def test_nothing_done_leaves_nothing() -> None:
    """Without a record no sheet is cut into."""
    assert far() == Progress({}, {}, (), (), ())


def test_a_layout_done_is_all_its_sheets() -> None:
    """Three sheets of six mats, and three offcuts kept."""
    progress = far("1")
    assert (progress.bags, progress.cut_into) == ({"mat": 18}, {1: 3})
    assert told(progress.kept) == [(48, 6, 3)]
    assert progress.in_hand == progress.spoilt == ()


def test_steps_done_leave_parts_in_hand() -> None:
    """After the first step two rows of three lie in hand, and the offcut is kept."""
    progress = far("1: step 1 of 2 sheets")
    assert (progress.bags, progress.cut_into) == ({}, {1: 2})
    assert told(progress.in_hand) == [(48, 21, 2), (48, 21, 2)]
    assert told(progress.kept) == [(48, 6, 2)]
    whole_row = Sheet(inches("12"), inches("5 1/4"), offcut=True)
    assert [one.sheet for one in progress.in_hand] == [whole_row, whole_row]


def test_what_is_spoilt_is_in_hand_at_the_step_and_no_more() -> None:
    """At step 2 both rows are in hand and lost; the offcut that lay aside stays."""
    progress = far(spoilt="1: step 2 of 1 sheet")
    assert (progress.bags, progress.cut_into) == ({}, {1: 1})
    assert told(progress.spoilt) == [(48, 21, 1), (48, 21, 1)]
    assert told(progress.kept) == [(48, 6, 1)]


@pytest.mark.parametrize("words", ["1: 1 sheet", "1: step 1 of 1 sheet"])
def test_a_sheet_spoilt_before_its_first_stroke_is_lost_whole(words: str) -> None:
    """Whether a step is named or none, nothing is left of it."""
    progress = far(spoilt=words)
    assert told(progress.spoilt) == [(48, 48, 1)]
    assert (progress.bags, progress.kept, progress.in_hand) == ({}, (), ())


def test_a_stroke_loses_the_part_that_it_is_made_on() -> None:
    """Of two rows of three, stroke 3 cuts the first one, stroke 6 the last two of the second."""
    progress = far(spoilt="1: stroke 3 of 1 sheet")
    assert told(progress.spoilt) == told(progress.in_hand) == [(48, 21, 1)]
    assert (progress.bags, told(progress.kept)) == ({}, [(48, 6, 1)])
    progress = far(spoilt="1: stroke 6 of 1 sheet")
    assert (progress.bags, told(progress.spoilt)) == ({"mat": 4}, [(32, 21, 1)])
    assert progress.in_hand == ()


def test_strokes_done_leave_the_rest_of_a_row_in_hand() -> None:
    """After stroke 5 one row is cut and of the other two mats hang together; the last stroke ends its step."""
    progress = far("1: stroke 5 of 1 sheet")
    assert (progress.bags, told(progress.in_hand)) == ({"mat": 4}, [(32, 21, 1)])
    assert far("1: stroke 2") == far("1: step 1")
    assert far("1: stroke 6") == far("1")


def test_done_without_a_number_is_all_that_is_not_spoilt() -> None:
    """One of three sheets is spoilt at its second step, the others are cut."""
    progress = far("1", "1: step 2 of 1 sheet")
    assert (progress.bags, progress.cut_into) == ({"mat": 12}, {1: 3})


def test_some_sheets_done_and_some_begun() -> None:
    """Entries of one layout speak of different sheets."""
    progress = far("1: 1 sheet, 1: step 1 of 2 sheets")
    assert (progress.bags, progress.cut_into) == ({"mat": 6}, {1: 3})


@pytest.mark.parametrize(
    ("done", "spoilt", "said"),
    [
        ("2", "", "'2'; the plan has layout 1"),
        ("1-4", "", "'1-4'; the plan has layout 1"),
        ("1: step 3", "", "'1: step 3'; layout 1 has 2 steps"),
        ("1: stroke 7", "", "'1: stroke 7'; layout 1 has 6 strokes"),
        ("1: 4 sheets", "", "'1: 4 sheets'; layout 1 has 3 sheets"),
        ("1, 1: 1 sheet", "", "'1, 1: 1 sheet'; layout 1 has 3 sheets"),
        ("", "1: step 1, 1: step 2", "'1: step 1, 1: step 2'; layout 1 has 3 sheets"),
        (
            "1: 2 sheets",
            "1: step 2 of 2 sheets",
            "'1: 2 sheets'; layout 1 has 3 sheets, 2 of them spoilt, and a spoilt sheet is not named as done",
        ),
        (
            "1",
            "1",
            "'1'; layout 1 has 3 sheets, 3 of them spoilt, and a spoilt sheet is not named as done",
        ),
    ],
)
def test_a_record_of_another_plan_is_refused(done: str, spoilt: str, said: str) -> None:
    """A layout, a step or a sheet that is not there is named with what is."""
    with pytest.raises(RecordError) as caught:
        far(done, spoilt)
    assert str(caught.value) == said


def test_the_layouts_there_are_named() -> None:
    """Where there are several, or none, the message says so."""
    with pytest.raises(RecordError, match="'3'; the plan has layouts 1-2"):
        progress_of(plan(sheet(), sheet()), read_record("3"))
    with pytest.raises(RecordError, match="'1'; the plan has no layouts"):
        progress_of(plan(), read_record("1"))


def test_a_sheet_that_is_one_blank_is_done_without_steps() -> None:
    """It has no steps to name; the whole of it is in the bag or lost."""
    whole = plan(sheet(MAT, alike=2))
    assert progress_of(whole, read_record("1: 1 sheet", "1: 1 sheet")).bags == {"mat": 1}
    for what in ("step", "stroke"):
        with pytest.raises(RecordError, match=f"layout 1 has no {what}s: it is not cut"):
            progress_of(whole, read_record(f"1: {what} 1"))


def test_circles_count_each() -> None:
    """A blank for two circles is two in the bag."""
    two = Blank("moon", circles=((inches("3"), inches("6")), (inches("9"), inches("6"))))
    assert progress_of(plan(sheet(two)), read_record("1")).bags == {"moon": 2}


def test_the_barcode_strip_is_still_on_what_is_in_hand() -> None:
    """A column with the strip below is as large as the sheet is without it, and says the edge."""
    column = Cut(
        "y", inches("1/2"), Strip(), Cut("y", inches("6"), MAT, Cut("y", inches("3"), MAT, MAT))
    )
    tree = Cut("x", inches("4"), column, three(MAT))
    cut = plan(sheet(tree, "12 x 12 1/2"), strip=STRIP)
    progress = progress_of(cut, read_record("1: step 1"))
    strips = [one.sheet for one in progress.in_hand if one.sheet and one.sheet.strip]
    assert strips == [Sheet(inches("4"), inches("12"), offcut=True, strip="bottom")]


@pytest.mark.parametrize("seed", [6, 37, 44, 98, 101, 131, 133, 193, 202, 208])
def test_a_part_in_hand_gives_what_it_held(seed: int) -> None:
    """Strip and edge trim that are still on leave just what the sheet's own leave of the part.

    The batches have papers with edge trim, on some of them a strip, and cut widths.
    """
    plan = solve(batch_of(seed), Rounds(2))
    for one in plan.layouts:
        trimmed = plan.asked.paper(one.paper)
        off = dict.fromkeys(("left", "right", "top", "bottom"), 0)
        for edge, width, _ in taken_off(trimmed, sheet_of_layout(one, trimmed), one.cut_width):
            off[edge] += width
        for step in range(1, len(steps_of(one, plan.asked)) + 1):
            for left in progress_of(plan, Record((Entry(one.id, one.id, step),))).in_hand:
                part = left.part
                right = min(part.high("x"), one.width - off["right"])
                top = min(part.high("y"), one.height - off["top"])
                room = right - max(part.x, off["left"]), top - max(part.y, off["bottom"])
                assert usable_size(trimmed, left.sheet, one.cut_width) == room


@given(layouts(), st.data())
def test_nothing_is_lost_and_nothing_stands_twice(cut: Layout, data: st.DataObject) -> None:
    """Bags, what is in hand, what is spoilt and the sheets still whole have all blanks of the plan.

    What is in the bags at a step is there at every later one.
    """
    cut = replace(cut, id=1)
    number = st.integers(1, cut.alike)
    sheets = data.draw(number)
    entry = replace(drawn(cut, data), sheets=sheets)
    spoilt = data.draw(st.booleans())
    record = Record((), (entry,)) if spoilt else Record((entry,), ())
    progress = progress_of(plan(cut), record)
    left = (*progress.in_hand, *progress.spoilt)
    uncut = multiplied(Counter(blank.node.piece for blank in cut.blanks), cut.alike - sheets)  # type: ignore[union-attr]
    found = sum((multiplied(named([one.part]), one.count) for one in left), uncut)
    all_of_it = multiplied(Counter(blank.node.piece for blank in cut.blanks), cut.alike)  # type: ignore[union-attr]
    assert found + Counter(progress.bags) == all_of_it
    assert bool(progress.spoilt) == spoilt
    everything = progress_of(plan(cut), Record((Entry(1, 1, None, sheets),), ()))
    assert Counter(progress.bags) <= Counter(everything.bags)
    assert not everything.in_hand


@given(layouts(), st.data())
def test_no_two_parts_overlap(cut: Layout, data: st.DataObject) -> None:
    """Whatever was the last step or stroke, what is in hand, kept and spoilt lies on the sheet side by side."""
    cut = replace(cut, id=1, alike=1)
    entry = drawn(cut, data)
    for record in (Record((entry,)), Record((), (entry,))):
        progress = progress_of(plan(cut), record)
        some = [one.part for one in (*progress.in_hand, *progress.spoilt, *progress.kept)]
        assert disjoint(some)
        assert all(part.width and part.height for part in some)
        assert all(part.high("x") <= cut.width and part.high("y") <= cut.height for part in some)


def drawn(cut: Layout, data: st.DataObject) -> Entry:
    """Any step or stroke of a layout; the layout alone where it has none."""
    steps = steps_of(cut, plan(cut).asked)
    if not steps:
        return Entry(1, 1)
    if data.draw(st.booleans()):
        return Entry(1, 1, data.draw(st.integers(1, len(steps))))
    return Entry(1, 1, stroke=data.draw(st.integers(1, steps[-1].strokes[-1].number)))


def named(parts: Iterable[Part]) -> Counter[str]:
    """The blanks in some parts."""
    nodes = (leaf.node for part in parts for one in part.finished() for leaf in one.leaves)
    return Counter(node.piece for node in nodes if isinstance(node, Blank))


def multiplied(counts: Counter[str], by: int) -> Counter[str]:
    """So many of each."""
    return Counter({name: count * by for name, count in counts.items() if by})


def disjoint(parts: list[Part]) -> bool:
    """Whether no two rectangles overlap."""
    return all(
        one.x + one.width <= other.x
        or other.x + other.width <= one.x
        or one.y + one.height <= other.y
        or other.y + other.height <= one.y
        for number, one in enumerate(parts)
        for other in parts[:number]
    )
