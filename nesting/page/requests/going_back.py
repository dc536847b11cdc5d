"""The way back from what was said last at the trimmer: spoilt, found, some more of a card."""

from dataclasses import replace
from typing import NamedTuple

from nesting.page.folder.batch_folder import BatchFolder, Opened
from nesting.page.folder.cutting_folder import Cutting
from nesting.page.folder.ticks import unspoil, up_to
from nesting.page.requests.answering import Answering
from nesting.page.workers.searches import digest_of
from nesting.record import Record

_NOT_SPOILT = "Nothing was spoilt: go on as before"


class WayBack(NamedTuple):
    """What was cut before, and a touch that goes back to it; with ``undo`` the batch file does, too."""

    before: Cutting
    words: str
    undo: bool = False


def way_back(opened: Opened, answering: Answering, batches: BatchFolder) -> WayBack | None:
    """The way back from what was said last; None where more was done since, or changed on the sheet."""
    state = answering.state(opened.name)
    every = state.cutting.all()
    if not every or every[-1].in_stash is not None:
        return None
    *earlier, one = every
    planned = state.rest is None and not answering.why_no_rest(opened)
    if planned and earlier and one.record == Record():
        one = earlier[-1]
    record = unspoil(one.plan, one.record)
    if record is not None:
        stroke = one.record.spoilt[-1].stroke
        record = record if stroke is None else up_to(one.plan, record, stroke)
        return WayBack(replace(one, record=record), _NOT_SPOILT)
    if planned and one is every[-1]:
        return None
    draft = batches.before(opened)
    if draft is None or draft.batch is None or digest_of(draft.batch) != one.of:
        return None
    return WayBack(one, f"Undo: {opened.undo}; go on as before", undo=True)
