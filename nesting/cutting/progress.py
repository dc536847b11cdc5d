"""From a plan and its record: what is in the bags, which sheets were cut, what is left of them.

The strokes that are done are made again, one after the other, on the rectangles in hand.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from nesting.batch import Batch
from nesting.cutting.parallel_cuts import Part, as_offcut, kept_offcut, whole_part
from nesting.cutting.steps import Step, steps_before
from nesting.cutting.strokes import steps_of
from nesting.layouts import Blank, Layout
from nesting.papers import EDGES, Edge, Edges, Paper, Sheet
from nesting.plan import Plan
from nesting.record import Entry, Record, RecordError, entries_text
from nesting.sheets import taken_off
from nesting.sources import sheet_of_layout, strip_on
from nesting.units import counted


@dataclass(frozen=True, slots=True)
class Leftover:
    """A rectangle that some sheets of a layout left, ``count`` of them alike.

    ``sheet`` is what it is to cut from: an offcut, with barcode strip and edge trim as far as they are
    still on.
    """

    layout: int
    paper: str
    part: Part
    sheet: Sheet
    count: int


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a plan is cut.

    ``bags`` has by piece id how many are cut, ``cut_into`` by layout id how many of its sheets are
    no longer whole, those spoilt among them. ``kept`` are finished offcuts to keep, ``in_hand`` what is
    not cut up yet, ``spoilt`` what is lost with all that it held.
    """

    bags: dict[str, int]
    cut_into: dict[int, int]
    kept: tuple[Leftover, ...]
    in_hand: tuple[Leftover, ...]
    spoilt: tuple[Leftover, ...]


def progress_of(plan: Plan, record: Record) -> Progress:
    """Work out how far a plan is cut.

    A sheet that was spoilt stands in the record as spoilt alone. ``done`` without a number of
    sheets means all sheets of a layout that are not spoilt.

    Raises
    ------
    RecordError
        The record is not one of this plan: it has a layout, a step or a sheet that the plan has not.

    Examples
    --------
    >>> import nesting
    >>> from nesting.record import read_record
    >>> plan = nesting.solve(nesting.read_batch("samples/cider.yaml"))
    >>> progress_of(plan, read_record("1: 1 sheet")).cut_into
    {1: 1}
    """
    bags: Counter[str] = Counter()
    cut_into: dict[int, int] = {}
    left: dict[str, list[Leftover]] = {"kept": [], "in_hand": [], "spoilt": []}
    for layout, cut in sheets_cut(plan, record):
        steps = steps_of(layout, plan.asked)
        for group in cut:
            cut_into[layout.id] = cut_into.get(layout.id, 0) + group.sheets
            parts, lost = _replay(whole_part(layout), steps, group)
            left["spoilt"] += _leftovers(layout, plan.asked, lost, group.sheets)
            in_hand, finished = _sorted_out(parts)
            left["in_hand"] += _leftovers(layout, plan.asked, in_hand, group.sheets)
            left["kept"] += _kept(layout, plan.asked, finished, group.sheets)
            for blank in _blanks(finished):
                bags[blank.piece] += max(1, len(blank.circles)) * group.sheets
    return Progress(
        dict(bags), cut_into, tuple(left["kept"]), tuple(left["in_hand"]), tuple(left["spoilt"])
    )


@dataclass(frozen=True, slots=True)
class SheetsCut:
    """Sheets of a layout that are equally far: ``done`` of its ``steps``; or what is in hand then is lost.

    A ``stroke`` of the step after these is the last one made; or the part that it was made on is lost
    alone. 0 is none.
    """

    sheets: int
    done: int
    steps: int
    spoilt: bool
    stroke: int = 0


def sheets_cut(plan: Plan, record: Record) -> Iterator[tuple[Layout, tuple[SheetsCut, ...]]]:
    """What a record says of each layout that is cut, at least in part, each sheet once.

    Raises
    ------
    RecordError
        The record is not one of this plan.
    """
    _refuse_unknown_layouts(plan, record)
    for layout in plan.layouts:
        if any(one.first <= layout.id <= one.last for one in (*record.done, *record.spoilt)):
            yield layout, tuple(_groups(layout, steps_of(layout, plan.asked), record))


def _refuse_unknown_layouts(plan: Plan, record: Record) -> None:
    known = {layout.id for layout in plan.layouts}
    most = max(known, default=0)
    there = f"the plan has layouts 1-{most}" if most > 1 else "the plan has layout 1"
    faults = [
        f"{str(entry)!r}; {there if known else 'the plan has no layouts'}"
        for entry in (*record.done, *record.spoilt)
        if entry.first not in known or entry.last not in known
    ]
    if faults:
        raise RecordError("\n".join(faults))


def _groups(layout: Layout, steps: tuple[Step, ...], record: Record) -> Iterator[SheetsCut]:
    """The sheets of a layout that the record speaks of, each of them once."""
    left = layout.alike
    for entries, spoilt in ((record.spoilt, True), (record.done, False)):
        own = [entry for entry in entries if entry.first <= layout.id <= entry.last]
        counts = [left if entry.sheets is None else entry.sheets for entry in own]
        if sum(counts) > left or not all(counts):
            raise _too_many(layout, own, left)
        for entry, sheets in zip(own, counts, strict=True):
            done, stroke = _far(layout, steps, entry, spoilt=spoilt)
            yield SheetsCut(sheets, done, len(steps), spoilt, stroke)
        left -= sum(counts)


def _far(layout: Layout, steps: tuple[Step, ...], entry: Entry, *, spoilt: bool) -> tuple[int, int]:
    """How many steps an entry says are done, and the stroke of the next one that it tells of, or 0.

    A stroke with which all of its step is done, or lost, is not told apart from the step.
    """
    last = steps[-1].strokes[-1].number if steps else 0
    for number, most, what in ((entry.step, len(steps), "step"), (entry.stroke, last, "stroke")):
        if number is not None and number > most:
            has = counted(most, what) if most else f"no {what}s: it is not cut"
            raise RecordError(f"{str(entry)!r}; layout {layout.id} has {has}")
    if entry.stroke is None:
        done = len(steps) if entry.step is None else entry.step
        return ((entry.step or 1) - 1 if spoilt else done), 0
    before = steps_before(steps, entry.stroke)
    step = steps[before]
    if spoilt:
        is_all = step.parts == 1 and step.strokes[0].number == entry.stroke
        return before, 0 if is_all else entry.stroke
    is_all = step.strokes[-1].number == entry.stroke
    return before + is_all, 0 if is_all else entry.stroke


def _too_many(layout: Layout, entries: list[Entry], left: int) -> RecordError:
    """What is said of more sheets than there are, or of none."""
    sheets = counted(layout.alike, "sheet")
    if left < layout.alike:
        sheets += f", {layout.alike - left} of them spoilt, and a spoilt sheet is not named as done"
    return RecordError(f"{entries_text(tuple(entries))!r}; layout {layout.id} has {sheets}")


def _replay(
    whole: Part, steps: tuple[Step, ...], group: SheetsCut
) -> tuple[list[Part], list[Part]]:
    """The parts of a sheet after the steps that are done, and those lost with it.

    Where a sheet has no steps, or none is said, the part in hand is the whole sheet.
    """
    parts = {whole.rectangle: whole}
    made = [stroke for step in steps[: group.done] for stroke in step.strokes]
    begun = steps[group.done].strokes if group.done < len(steps) else ()
    made += (one for one in begun if one.number < group.stroke + (not group.spoilt))
    for stroke in made:
        del parts[stroke.whole.rectangle]
        for part in (stroke.taken, stroke.rest):
            parts[part.rectangle] = part
    lost: list[Part] = []
    if group.spoilt:
        first_on_each = begun[:: steps[group.done].times] if begun else ()
        taken = [one for one in begun if one.number == group.stroke] or first_on_each
        for rectangle in [one.whole.rectangle for one in taken] or [whole.rectangle]:
            part = parts.pop(rectangle)
            lost += part.parts if part.joined else (part,)
    return list(parts.values()), lost


def _sorted_out(parts: list[Part]) -> tuple[list[Part], list[Part]]:
    """The parts that are to be cut yet, and those that are finished.

    A pinwheel that is partly cut is no rectangle, but what is left of it falls into some: each is a part
    in hand, a blank among them, which is not in the bags yet.
    """
    in_hand: list[Part] = []
    finished: list[Part] = []
    for part in parts:
        for one in part.parts if part.joined else (part,):
            is_blank = any(isinstance(leaf.node, Blank) for leaf in one.leaves)
            if one.parts or (part.joined and is_blank):
                in_hand.append(one)
            else:
                finished.append(one)
    return in_hand, finished


def _leftovers(
    layout: Layout, batch: Batch, parts: Iterable[Part], sheets: int
) -> Iterator[Leftover]:
    paper = batch.paper(layout.paper)
    for part in parts:
        sheet = _with_trim(as_offcut(part, strip_on(layout, paper)), part, layout, paper)
        yield Leftover(layout.id, layout.paper, part, sheet, sheets)


def _with_trim(sheet: Sheet, part: Part, layout: Layout, paper: Paper) -> Sheet:
    """A part as a sheet, with the edge trim that is still on it.

    Where the strip of an edge is off already, what is left of the edge takes off no more than it did
    inside the strip, whose width and cut are gone; else the paper's own trim does.
    """
    whole = sheet_of_layout(layout, paper)
    off: dict[Edge, int] = dict.fromkeys(EDGES, 0)
    trims: dict[Edge, int] = {}
    for edge, width, what in taken_off(paper, whole, layout.cut_width):
        off[edge] += width
        if what == "edge":
            trims[edge] = width
    reaches: dict[Edge, int] = {
        "left": off["left"] - part.x,
        "bottom": off["bottom"] - part.y,
        "right": part.x + part.width - (layout.width - off["right"]),
        "top": part.y + part.height - (layout.height - off["top"]),
    }
    nominal = (whole.trim or Edges()) if whole.offcut else paper.edge_trim
    on = {
        edge: getattr(nominal, edge) if sheet.strip == edge else width
        for edge, width in trims.items()
        if reaches[edge] > 0
    }
    return replace(sheet, trim=Edges(**on)) if on else sheet


def _kept(layout: Layout, batch: Batch, parts: Iterable[Part], sheets: int) -> Iterator[Leftover]:
    strip = strip_on(layout, batch.paper(layout.paper))
    for part in parts:
        sheet = kept_offcut(part, strip)
        if sheet is not None:
            yield Leftover(layout.id, layout.paper, part, sheet, sheets)


def _blanks(parts: Iterable[Part]) -> Iterator[Blank]:
    for part in parts:
        for leaf in part.leaves:
            if isinstance(leaf.node, Blank):
                yield leaf.node
