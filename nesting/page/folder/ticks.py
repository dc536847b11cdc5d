"""What is ticked at the trimmer, step by step, as the words of a record."""

from dataclasses import dataclass, replace

from nesting.cutting.steps import Step, steps_before
from nesting.cutting.strokes import steps_of
from nesting.layouts import Layout
from nesting.plan import Plan
from nesting.record import Entry, Record


@dataclass(frozen=True, slots=True)
class StepPlace:
    """The step that comes next: its layout, its number from 1, and how many steps the layout has.

    So many of its strokes are ``made``. ``sheets`` are cut alike, those that are spoilt not counted.
    A layout that needs no cut has one step, which is None: its sheet is put into the bags as it is.
    """

    layout: Layout
    number: int
    of: int
    sheets: int
    step: Step | None
    made: int


def next_place(plan: Plan, record: Record) -> StepPlace | None:
    """The first step that is not done; None where all is cut."""
    done = _done(plan, record)
    for layout in plan.layouts:
        steps = steps_of(layout, plan.asked)
        number, of = done.get(layout.id, 0) + 1, max(1, len(steps))
        sheets = layout.alike - _spoilt(record, layout)
        if sheets and number <= of:
            step = steps[number - 1] if steps else None
            return StepPlace(layout, number, of, sheets, step, _made(record, layout, step))
    return None


def _made(record: Record, layout: Layout, step: Step | None) -> int:
    """How many strokes of a step a record has that ends within it."""
    latest = next((one.stroke or 0 for one in record.done if one.first == layout.id), 0)
    return 0 if step is None else max(0, latest + 1 - step.strokes[0].number)


def tick(plan: Plan, record: Record) -> Record:
    """The record with the next step done."""
    place = next_place(plan, record)
    return record if place is None else _with(plan, record, place.layout.id, place.number)


def untick(plan: Plan, record: Record) -> Record:
    """The record with the last step that is done not done."""
    done = _done(plan, record)
    if not done:
        return record
    last = max(done)
    return _with(plan, record, last, done[last] - 1)


def spoil(plan: Plan, record: Record, sheets: int, stroke: int | None = None) -> Record:
    """The record with what is in hand of some sheets at the next step spoilt.

    Where a stroke of the step is named, the part that it is made on is lost alone, and the strokes
    before it are done on all sheets.

    Raises
    ------
    ValueError
        There are not so many sheets, or there is no such stroke in the step.
    """
    place = next_place(plan, record)
    if place is None or not 1 <= sheets <= place.sheets:
        raise ValueError(sheets)
    strokes = [one.number for one in place.step.strokes] if place.step is not None else []
    if stroke is not None and stroke not in strokes:
        raise ValueError(stroke)
    layout = place.layout.id
    step = place.number if strokes and stroke is None else None
    spoilt = (*record.spoilt, Entry(layout, layout, step, sheets, stroke))
    record = replace(record, spoilt=spoilt)
    if sheets == place.sheets:  # nothing of the layout is left to cut
        return _with(plan, record, layout, 0)
    return record if stroke is None else up_to(plan, record, stroke)


def up_to(plan: Plan, record: Record, stroke: int) -> Record:
    """The record with the strokes of the next step done that come before one of them.

    Raises
    ------
    ValueError
        There is no such stroke in the step.
    """
    place = next_place(plan, record)
    strokes = [] if place is None or place.step is None else place.step.strokes
    if place is None or stroke not in [one.number for one in strokes]:
        raise ValueError(stroke)
    before = stroke - 1 if stroke > strokes[0].number else None
    return _with(plan, record, place.layout.id, place.number - 1, before)


def unspoil(plan: Plan, record: Record) -> Record | None:
    """The record as it was before something was spoilt last; None where more was done since."""
    if not record.spoilt:
        return None
    *others, last = record.spoilt
    record_so_far = replace(record, spoilt=tuple(others))
    before = _with(plan, record_so_far, last.first, _steps_before(plan, last))
    try:
        again = spoil(plan, before, last.sheets or 0, last.stroke)
    except ValueError:
        return None
    return before if again == record else None


def _done(plan: Plan, record: Record) -> dict[int, int]:
    """By layout how many of its steps are done, where any are."""
    steps = {one.id: max(1, len(steps_of(one, plan.asked))) for one in plan.layouts}
    return {
        layout: _steps_before(plan, entry) if entry.stroke else entry.step or steps[layout]
        for entry in record.done
        for layout in range(entry.first, entry.last + 1)
    }


def _steps_before(plan: Plan, entry: Entry) -> int:
    """How many steps are done before the one that an entry names."""
    if entry.stroke is None:
        return (entry.step or 1) - 1
    layout = next(one for one in plan.layouts if one.id == entry.first)
    return steps_before(steps_of(layout, plan.asked), entry.stroke)


def _spoilt(record: Record, layout: Layout) -> int:
    """How many sheets of a layout are spoilt."""
    own = (one for one in record.spoilt if one.first <= layout.id <= one.last)
    return sum(layout.alike if one.sheets is None else one.sheets for one in own)


def _with(
    plan: Plan, record: Record, layout: int, number: int, stroke: int | None = None
) -> Record:
    """The record with another number of steps of a layout done, and strokes up to one after these.

    Whole layouts in a row are one entry.
    """
    done = _done(plan, record) | {layout: number}
    entries: list[Entry] = []
    for one in plan.layouts:
        if one.id == layout and stroke is not None:
            entries.append(Entry(layout, layout, stroke=stroke))
            continue
        if not done.get(one.id):
            continue
        whole = done[one.id] >= len(steps_of(one, plan.asked))
        if whole and entries and entries[-1] == Entry(entries[-1].first, one.id - 1):
            entries[-1] = Entry(entries[-1].first, one.id)
        else:
            entries.append(Entry(one.id, one.id, None if whole else done[one.id]))
    return replace(record, done=tuple(entries))
