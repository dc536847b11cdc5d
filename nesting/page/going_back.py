"""The way back from what was said last at the trimmer: spoilt, found, some more of a card."""

from dataclasses import replace
from typing import NamedTuple

from nesting.page.answering import Answering
from nesting.page.batch_folder import BatchFolder, Opened
from nesting.page.cutting_folder import Cutting
from nesting.page.searches import digest_of
from nesting.page.ticks import next_place, unspoil
from nesting.record import Record

_NOT_SPOILT = "Nothing was spoilt: go on as before"


class WayBack(NamedTuple):
    """What was cut before, and a touch that goes back to it.

    ``stroke`` is the place of the one that spoilt something within its step, from 0. ``undo`` says that
    the batch file goes back by a change, too.
    """

    before: Cutting
    words: str
    stroke: int = 0
    undo: bool = False


def way_back(opened: Opened, answering: Answering, batches: BatchFolder) -> WayBack | None:
    """The way back from what was said last; None where more was done since, or changed on the sheet."""
    every = answering.cutting(opened).all()
    if not every or every[-1].in_stash is not None:
        return None
    *earlier, one = every
    planned = answering.rest(opened) is None and not answering.refused(opened)
    if planned and earlier and one.record == Record():
        one = earlier[-1]
    record = unspoil(one.plan, one.record)
    if record is not None:
        before = replace(one, record=record)
        return WayBack(before, _NOT_SPOILT, _place_of(before, one.record.spoilt[-1].stroke))
    if planned and one is every[-1]:
        return None
    draft = batches.before(opened)
    if draft is None or draft.batch is None or digest_of(draft.batch) != one.of:
        return None
    return WayBack(one, f"Undo: {opened.undo}; go on as before", undo=True)


def _place_of(cutting: Cutting, stroke: int | None) -> int:
    """The place of a stroke within the step that comes next."""
    place = next_place(cutting.plan, cutting.record)
    if stroke is None or place is None or place.step is None:
        return 0
    return stroke - place.step.strokes[0].number
