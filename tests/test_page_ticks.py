"""What is ticked at the trimmer becomes the words of a record, step by step, there and back."""

from functools import cache
from itertools import product

import pytest
from project import SAMPLES

import nesting
from nesting.cutting.progress import progress_of
from nesting.cutting.strokes import steps_of
from nesting.page.folder.ticks import next_place, spoil, tick, unspoil, untick
from nesting.record import Record, entries_text, read_record


@cache
def plan() -> nesting.Plan:
    """A plan of many layouts, some of several sheets alike."""
    return nesting.solve(nesting.read_batch(SAMPLES / "cider.yaml"))


def test_ticking_all_steps_cuts_everything() -> None:
    """Every record on the way reads back, and the last one has all pieces in the bags."""
    record, count = Record(), 0
    while next_place(plan(), record) is not None:
        record = tick(plan(), record)
        count += 1
        assert read_record(entries_text(record.done)) == record
        progress_of(plan(), record)
    assert count == sum(max(1, len(steps_of(one, plan().asked))) for one in plan().layouts)
    assert entries_text(record.done) == f"1-{len(plan().layouts)}"
    bags = progress_of(plan(), record).bags
    assert bags == {piece.id: piece.demand for piece in plan().pieces}


def test_unticking_goes_the_same_way_back() -> None:
    """Each step that is taken back leads to the record before it."""
    records = [Record()]
    while next_place(plan(), records[-1]) is not None:
        records.append(tick(plan(), records[-1]))
    for before, after in zip(records[-2::-1], records[:0:-1], strict=True):
        assert untick(plan(), after) == before
    assert untick(plan(), Record()) == Record()


def test_a_tick_names_the_step() -> None:
    """Up to the last step of a layout its number is told; then the layout alone."""
    layout = plan().layouts[0]
    steps = len(steps_of(layout, plan().asked))
    assert steps > 1
    record = Record()
    for number in range(1, steps):
        record = tick(plan(), record)
        assert entries_text(record.done) == f"1: step {number}"
    assert entries_text(tick(plan(), record).done) == "1"


def test_a_spoilt_sheet_is_lost_at_its_step() -> None:
    """The others of the layout go on; where there are none, the next layout comes."""
    number, layout = next((n, one) for n, one in enumerate(plan().layouts) if one.alike > 1)
    record = Record(read_record(f"1-{number}" if number > 1 else "1" if number else "").done)
    record = tick(plan(), record)
    some = spoil(plan(), record, 1)
    place = next_place(plan(), some)
    assert place is not None
    assert (place.layout, place.number, place.sheets) == (layout, 2, layout.alike - 1)
    assert entries_text(some.spoilt) == f"{layout.id}: step 2 of 1 sheet"
    every = spoil(plan(), record, layout.alike)
    assert (
        every.done == Record(read_record(entries_text(record.done)).done[:-1]).done or number == 0
    )
    following = next_place(plan(), every)
    assert following is None or following.layout.id == layout.id + 1
    progress_of(plan(), every)


def test_what_a_stroke_spoils_is_lost_alone() -> None:
    """On the other sheets the strokes before it are done; the step comes again if the rest is not planned."""
    layout = next(one for one in plan().layouts if one.alike > 1)
    number, step = next(
        (n, step) for n, step in enumerate(steps_of(layout, plan().asked), 1) if step.parts > 1
    )
    record = Record()
    while (place := next_place(plan(), record)) and (place.layout, place.number) != (
        layout,
        number,
    ):
        record = tick(plan(), record)
    last = step.strokes[-1].number
    spoilt = spoil(plan(), record, 1, last)
    own = f"{layout.id}: stroke"
    assert entries_text(spoilt.spoilt) == f"{own} {last} of 1 sheet"
    assert entries_text(spoilt.done).endswith(f"{own} {last - 1}")
    lost = progress_of(plan(), spoilt).spoilt
    assert [one.part for one in lost] == [step.strokes[-1].whole]
    after = next_place(plan(), spoilt)
    assert after is not None
    assert (after.layout, after.number, after.sheets) == (layout, number, layout.alike - 1)
    assert entries_text(untick(plan(), tick(plan(), spoilt)).done) == entries_text(record.done)


def test_a_stroke_of_another_step_is_refused() -> None:
    """It spoils nothing of what is in hand."""
    with pytest.raises(ValueError, match="99"):
        spoil(plan(), Record(), 1, 99)


@pytest.mark.parametrize("sheets", [0, 100])
def test_no_more_can_be_spoilt_than_there_are(sheets: int) -> None:
    """Nor fewer than one."""
    with pytest.raises(ValueError, match=str(sheets)):
        spoil(plan(), Record(), sheets)


def test_what_was_spoilt_last_can_be_had_back() -> None:
    """At every step and stroke, of some of its sheets or of all; not once more is done of those left."""
    record, seen = Record(), set()
    while (place := next_place(plan(), record)) is not None:
        strokes = [one.number for one in place.step.strokes] if place.step else []
        for sheets, stroke in product({1, place.sheets}, (None, *strokes)):
            spoilt = spoil(plan(), record, sheets, stroke)
            progress_of(plan(), spoilt)
            seen.add(sheets == place.sheets)
            assert read_record(entries_text(spoilt.done), entries_text(spoilt.spoilt)) == spoilt
            assert unspoil(plan(), spoilt) == record
            if sheets < place.sheets:
                assert unspoil(plan(), tick(plan(), spoilt)) is None
        record = tick(plan(), record)
    assert seen == {True, False}
    assert unspoil(plan(), record) is None
    assert unspoil(plan(), read_record("", "1")) is None
