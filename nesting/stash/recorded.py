"""What is on record of a plan: the records of it so far, taken together sheet by sheet."""

from collections import Counter
from collections.abc import Iterator
from itertools import zip_longest

from nesting.cutting.progress import sheets_cut
from nesting.layouts import Layout
from nesting.mark import plan_digest
from nesting.plan import Plan
from nesting.record import Entry, Record, entries_text, read_record
from nesting.stash.database import StashError
from nesting.stash.drawer import Stash
from nesting.stash.journal import Row, Writer
from nesting.units import counted


def recorded(stash: Stash, plan: Plan) -> Record:
    """What the stash has on record of a plan."""
    writer, digest = Writer(stash.connection), plan_digest(plan)
    done: tuple[Entry, ...] = ()
    spoilt: tuple[Entry, ...] = ()
    for layout in plan.layouts:
        row = writer.row("records", (digest, layout.id))
        if row is not None:
            one = read_record(str(row["done"]), str(row["spoilt"]))
            done, spoilt = done + one.done, spoilt + one.spoilt
    return Record(done, spoilt)


def write_recorded(writer: Writer, plan: Plan, digest: str, record: Record) -> None:
    """Put a plan's record in the place of the one so far."""
    for layout in plan.layouts:
        done, spoilt = (
            entries_text(tuple(one for one in entries if one.first == layout.id))
            for entries in (record.done, record.spoilt)
        )
        if done or spoilt:
            own: Row = {"plan": digest, "layout": layout.id, "done": done, "spoilt": spoilt}
            writer.put("records", own)


def taken_together(plan: Plan, so_far: Record, new: Record) -> Record:
    """Two records of a plan as one: each sheet is as far as the one that says more has it.

    Raises
    ------
    RecordError
        The new one is none of this plan.
    StashError
        Both cannot be true: a part was spoilt that is on record as cut.
    """
    before, now = _by_layout(plan, so_far), _by_layout(plan, new)
    done: list[Entry] = []
    spoilt: list[Entry] = []
    for layout in plan.layouts:
        both = _together(layout, before.get(layout.id, _NONE), now.get(layout.id, _NONE))
        done += _entries(layout, both.done, both.steps)
        spoilt += _spoilt_entries(layout, both)
    return Record(tuple(done), tuple(spoilt))


#: Steps done, and the stroke of the next one that is told of, or 0.
_Place = tuple[int, int]


class _Far:
    """How far the sheets of a layout are: by place, how many are done up to it and how many spoilt there."""

    def __init__(self, steps: int = 0) -> None:
        self.steps = steps
        self.done: Counter[_Place] = Counter()
        self.spoilt: Counter[_Place] = Counter()


_NONE = _Far()


def _by_layout(plan: Plan, record: Record) -> dict[int, _Far]:
    far: dict[int, _Far] = {}
    for layout, cut in sheets_cut(plan, record):
        for one in cut:
            # A sheet without steps is done by being taken: that is a step of its own here.
            own = far.setdefault(layout.id, _Far(max(1, one.steps)))
            if one.spoilt:
                own.spoilt[one.done, one.stroke] += one.sheets
            else:
                own.done[one.done if one.steps else 1, one.stroke] += one.sheets
    return far


def _together(layout: Layout, before: _Far, now: _Far) -> _Far:
    """The sheets of both, the furthest of one matched with the furthest of the other."""
    both = _Far(max(before.steps, now.steps))
    both.spoilt = before.spoilt | now.spoilt
    left = sorted(before.done.elements(), reverse=True)
    left += [(0, 0)] * (layout.alike - len(left) - before.spoilt.total())
    for done, stroke in sorted((both.spoilt - before.spoilt).elements(), reverse=True):
        fitting = next((one for one in left if one <= (done, max(0, stroke - 1))), None)
        if fitting is None:
            at = f"stroke {stroke}" if stroke else f"step {done + 1}"
            said = f"layout {layout.id}: a sheet spoilt at {at}"
            raise StashError(f"{said}; all that are not spoilt are on record as cut further")
        left.remove(fitting)
    furthest = sorted(now.done.elements(), reverse=True)
    if len(furthest) > len(left):
        said = f"layout {layout.id}: {counted(len(furthest), 'sheet')} done"
        known = f"{both.spoilt.total()} of {layout.alike} on record as spoilt"
        raise StashError(f"{said}; {known}, and a spoilt sheet is not named as done")
    both.done = Counter(max(pair) for pair in zip_longest(left, furthest, fillvalue=(0, 0)))
    del both.done[0, 0]
    return both


def _entries(layout: Layout, counts: Counter[_Place], steps: int) -> Iterator[Entry]:
    for (done, stroke), sheets in sorted(counts.items()):
        step = None if stroke or done == steps else done
        yield _entry(layout, sheets, step, stroke)


def _spoilt_entries(layout: Layout, far: _Far) -> Iterator[Entry]:
    for (done, stroke), sheets in sorted(far.spoilt.items()):
        step = None if stroke or not done else done + 1  # nothing is done before the first step
        yield _entry(layout, sheets, step, stroke)


def _entry(layout: Layout, sheets: int, step: int | None, stroke: int) -> Entry:
    of = None if sheets == layout.alike else sheets
    return Entry(layout.id, layout.id, step, of, stroke or None)
