"""A plan that goes on from an earlier one: what was cut, worked out again from that plan and the record.

The sheets that the record speaks of are cut again (``recut``). What then lies in the bags, what is
left to cut from and which sheets are gone is held against what the plan says of it, kind by kind: so
nothing is cut twice, nothing is lost, and nothing is there that no sheet gave.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace

from nesting.batch import Begun, Moved
from nesting.checker.asked.cut_already import NOTHING_BEGUN, numbers_of
from nesting.checker.asked.equal import kind_of
from nesting.checker.asked.middles_kept import find_wrong_middles
from nesting.checker.cutting.cut_sheets import Rect
from nesting.checker.cutting.recut import OnTable, cut_again
from nesting.checker.cutting.sheets import (
    bared,
    identity_of_layout,
    identity_of_sheet,
    strip_of_layout,
)
from nesting.checker.cutting.slabs import Slab
from nesting.checker.fault import PlanFault
from nesting.layouts import Blank, EdgeTrim, Layout, Offcut, Strip
from nesting.mark import mark_of, plan_digest
from nesting.papers import Paper, Sheet, SheetCount
from nesting.pieces import Piece
from nesting.plan import Plan
from nesting.record import Entry, Record, RecordError, read_record
from nesting.units import size_words

#: Paper, full size, the edge of the strip that is still on, and the room for pieces, width x height.
_Left = tuple[str, tuple[int, int], str | None, tuple[int, int]]
#: Paper, and what tells its sheets apart.
_Gone = tuple[str, object]


@dataclass(slots=True)
class _Cut:
    """What was cut: pieces by id, sheets gone, what is left to cut from, covered middles by size."""

    pieces: Counter[str] = field(default_factory=Counter)
    gone: Counter[_Gone] = field(default_factory=Counter)
    left: Counter[_Left] = field(default_factory=Counter)
    middles: Counter[tuple[str, int, int]] = field(default_factory=Counter)


def find_wrong_after(plan: Plan, earlier: Plan) -> Iterator[PlanFault]:
    """What a plan says of the time before it that the earlier plan and the record do not give."""
    if not plan.after:
        yield PlanFault("after", "plan", "it goes on from no plan.")
        return
    last = plan.after[-1]
    if (last.mark, last.digest) != (mark_of(earlier), plan_digest(earlier)):
        said = f"it goes on from the plan {last.mark}; the earlier plan is {mark_of(earlier)}"
        alike = " and not the same, though their marks are" if last.mark == mark_of(earlier) else ""
        yield PlanFault("after", "plan", f"{said}{alike}.")
        return
    if plan.after[:-1] != earlier.after:
        yield PlanFault("after", "plan", "the plans before the earlier one are not those it names.")
    try:
        record = read_record(last.done, last.spoilt)
        cut = _cut_by(earlier, record)
    except (RecordError, _NoRecordError) as error:
        yield PlanFault("after", "record", f"it is none of the earlier plan: {error}.")
        return
    before = earlier.asked.begun or NOTHING_BEGUN
    now = plan.asked.begun or NOTHING_BEGUN
    papers = {paper.name: paper for paper in earlier.asked.papers}
    yield from _find_wrong_bags(plan, earlier, before, now, cut)
    yield from _find_wrong_moves(plan, papers, before.moved, now.moved, cut)
    yield from _find_wrong_numbers(earlier, papers, before.moved, now.moved)
    yield from find_wrong_middles(earlier, now, cut.pieces, cut.middles)
    yield from _find_too_much_on_record(papers, now, plan)


class _NoRecordError(ValueError):
    """A record of another plan."""


def _cut_by(earlier: Plan, record: Record) -> _Cut:
    """Cut the sheets of a record again."""
    known = {layout.id for layout in earlier.layouts}
    for entry in (*record.done, *record.spoilt):
        if not {entry.first, entry.last} <= known:
            raise _NoRecordError(f"it has no layout {entry}")
    cut = _Cut()
    papers = {paper.name: paper for paper in earlier.asked.papers}
    for layout in earlier.layouts:
        paper = papers[layout.paper]
        states = cut_again(layout, paper, earlier.asked.trimmer)
        for sheets, entry, spoilt in _sheets_of(layout, record):
            state, lost = _reached(layout, states, entry, spoilt=spoilt)
            parts = (part for part in state.parts if part.rect not in lost)
            _tally(cut, layout, paper, parts, sheets)
    return cut


def _sheets_of(layout: Layout, record: Record) -> Iterator[tuple[int, Entry, bool]]:
    """Of how many sheets of a layout an entry speaks; those spoilt first, the others of what is left."""
    left = layout.alike
    for spoilt, entries in ((True, record.spoilt), (False, record.done)):
        own = [entry for entry in entries if entry.first <= layout.id <= entry.last]
        counts = [left if entry.sheets is None else entry.sheets for entry in own]
        if sum(counts) > left or 0 in counts:
            raise _NoRecordError(f"layout {layout.id} has not so many sheets")
        yield from ((n, entry, spoilt) for n, entry in zip(counts, own, strict=True))
        left -= sum(counts)


def _reached(
    layout: Layout, states: list[OnTable], entry: Entry, *, spoilt: bool
) -> tuple[OnTable, set[Rect]]:
    """What is on the table of a sheet that is cut as far as an entry says, and what of it is spoilt."""
    steps, strokes = states[-1].step - 1, len(states) - 1
    if (entry.step or 0) > steps:
        raise _NoRecordError(f"layout {layout.id} has no step {entry.step}")
    if (entry.stroke or 0) > strokes:
        raise _NoRecordError(f"layout {layout.id} has no stroke {entry.stroke}")
    if entry.stroke is not None:
        state = states[entry.stroke - spoilt]
        return state, {part.rect for part in state.taken} if spoilt else set()
    step = (entry.step or 1) if spoilt else (entry.step or steps) + 1
    state = next(one for one in states if one.step == step)
    return state, {part.rect for part in state.step_takes or state.parts} if spoilt else set()


def _tally(cut: _Cut, layout: Layout, paper: Paper, parts: Iterable[Slab], sheets: int) -> None:
    """Count the parts of some sheets: in the bags, or left to cut from.

    A covered middle is no sheet that was at hand.
    """
    if layout.source.kind == "middle":
        cut.middles[layout.paper, layout.width, layout.height] += sheets
    else:
        cut.gone[paper.name, identity_of_layout(layout, paper)] += sheets
    strip = strip_of_layout(layout, paper)
    for part in (one for one in parts if one.rect.area):
        leaves = list(part.all_leaves())
        kept = any(leaf == Offcut(keep=True) for leaf, _ in leaves)
        uncut = part.joined and any(isinstance(leaf, Blank) for leaf, _ in leaves)
        if part.parts or kept or uncut:
            on = any(
                isinstance(leaf, Strip) for leaf, _ in leaves
            )  # one that the blade takes whole, too
            size = part.rect.width, part.rect.height
            edge = strip.edge if strip is not None and on else None
            cut.left[paper.name, size, edge, _room(leaves)] += sheets
            continue
        for leaf, _ in leaves:
            if isinstance(leaf, Blank):
                cut.pieces[leaf.piece] += sheets * max(1, len(leaf.circles))


def _room(leaves: Iterable[tuple[object, Rect]]) -> tuple[int, int]:
    """Width and height of what is neither strip nor edge trim, what a cut takes at an edge with it."""
    rects = [rect for leaf, rect in leaves if not isinstance(leaf, Strip | EdgeTrim)]
    if not rects:
        return 0, 0
    width = max(r.x + r.width for r in rects) - min(r.x for r in rects)
    return width, max(r.y + r.height for r in rects) - min(r.y for r in rects)


def _find_wrong_bags(
    plan: Plan, earlier: Plan, before: Begun, now: Begun, cut: _Cut
) -> Iterator[PlanFault]:
    """Pieces that are in the bags in another number, under another letter, or not at all."""
    known: dict[str, Piece] = {piece.letter: piece for piece in before.pieces}
    bags = Counter({piece.letter: piece.in_bags for piece in before.pieces})
    for piece in earlier.pieces:
        known[piece.letter] = replace(piece, demand=0, uses=())
        bags[piece.letter] += cut.pieces[piece.id]
    yield from _find_changed_letters(plan, known.values())
    said = {piece.letter: piece for piece in now.pieces}
    if len(said) < len(now.pieces):
        yield PlanFault("after", "the bags", "two pieces have one letter.")
    unit = plan.asked.unit
    for letter in sorted({*known, *said}):
        where = f"the bags, {letter}"
        if letter not in known:
            yield PlanFault("after", where, "no earlier plan has a piece of this letter.")
        elif letter not in said:
            if bags[letter]:
                yield PlanFault("after", where, f"{bags[letter]} were cut; none is said to be.")
        elif replace(said[letter], in_bags=0) != replace(known[letter], in_bags=0):
            was = size_words(known[letter].width, known[letter].height, unit)
            name = known[letter].name
            yield PlanFault("after", where, f"it is another piece than before, {name} of {was}.")
        elif said[letter].in_bags != bags[letter]:
            counts = (
                f"{said[letter].in_bags} are said to be cut; by the record it is {bags[letter]}."
            )
            yield PlanFault("after", where, counts)


def _find_changed_letters(plan: Plan, known: Iterable[Piece]) -> Iterator[PlanFault]:
    """Pieces of the plan that had another letter before, or have that of another piece."""
    letters = {kind_of(piece): piece.letter for piece in known}
    for piece in plan.pieces:
        own = letters.get(kind_of(piece))
        if own is None and piece.letter in letters.values():
            said = "its letter was that of another piece before."
            yield PlanFault("after", f"piece {piece.letter} {piece.name}", said)
        elif own not in (None, piece.letter):
            yield PlanFault("after", f"piece {piece.letter} {piece.name}", f"its letter was {own}.")


def _find_wrong_moves(
    plan: Plan, papers: dict[str, Paper], before: Moved, now: Moved, cut: _Cut
) -> Iterator[PlanFault]:
    """Sheets gone, or left to cut from, in another number than the record gives."""
    width = plan.asked.trimmer.cut_width
    gone = _gone_of(papers, before.gone) + cut.gone
    said_gone = _gone_of(papers, now.gone)
    for key in {**gone, **said_gone}:
        if gone[key] != said_gone[key]:
            counts = f"{said_gone[key]} are said to be cut into; by the record it is {gone[key]}."
            yield PlanFault("after", f"{key[0]}, {_sheet_words(key, plan)}", counts)
    left = _left_of(papers, before.left, width) + cut.left
    said_left = _left_of(papers, now.left, width)
    for part in {**left, **said_left}:
        if left[part] != said_left[part]:
            size = size_words(*part[1], plan.asked.unit)
            counts = f"{said_left[part]} are said to be left to cut from; by the record it is {left[part]}."
            yield PlanFault("after", f"{part[0]}, {size}", counts)


def _gone_of(papers: dict[str, Paper], counts: Iterable[SheetCount]) -> Counter[_Gone]:
    found: Counter[_Gone] = Counter()
    for one in counts:
        if one.paper in papers:
            found[one.paper, identity_of_sheet(papers[one.paper], one.sheet)] += one.count
        else:
            found[one.paper, one.sheet] += one.count
    return found


def _left_of(
    papers: dict[str, Paper], counts: Iterable[SheetCount], cut_width: int
) -> Counter[_Left]:
    found: Counter[_Left] = Counter()
    for one in counts:
        paper = papers.get(one.paper, Paper(one.paper, ()))
        bare = bared(paper, one.sheet, cut_width)
        edge = None if one.sheet.strip in (None, "none") else one.sheet.strip
        room = bare.usable.width, bare.usable.height
        found[one.paper, bare.full, edge, room] += one.count
    return found


def _sheet_words(key: _Gone, plan: Plan) -> str:
    told = key[1]
    if isinstance(told, Sheet):
        return size_words(told.width, told.height, plan.asked.unit)
    return size_words(told[1], told[2], plan.asked.unit) if isinstance(told, tuple) else ""


def _find_wrong_numbers(
    earlier: Plan, papers: dict[str, Paper], before: Moved, now: Moved
) -> Iterator[PlanFault]:
    """Offcuts of the stash that are gone twice, without their number, or were not there to be cut into."""
    had, has = _numbers(one.sheet for one in before.gone), _numbers(one.sheet for one in now.gone)
    there = _numbers(sheet for paper in earlier.asked.papers for sheet in paper.sheets)
    for number, count in has.items():
        if count > 1:
            yield PlanFault("after", f"offcut {number}", "it is said to be cut into twice.")
        if number not in had and number not in there:
            yield PlanFault("after", f"offcut {number}", "the earlier plan did not have it.")
    for number in had.keys() - has.keys():
        yield PlanFault("after", f"offcut {number}", "it was cut into and is not said to be.")
    at_hand = [
        SheetCount(paper.name, sheet, sheet.have or 0)
        for paper in papers.values()
        for sheet in paper.sheets
    ]
    nameless = _nameless_of(papers, (*at_hand, *before.gone))
    for (name, told), count in _nameless_of(papers, now.gone).items():
        if isinstance(told, tuple) and told[0] == "offcut" and count > nameless[name, told]:
            yield PlanFault("after", name, "an offcut is said to be cut into without its number.")


def _nameless_of(papers: dict[str, Paper], counts: Iterable[SheetCount]) -> Counter[_Gone]:
    """How many of some sheets have no number in the stash."""
    return _gone_of(
        papers, (replace(one, count=one.count - len(numbers_of(one.sheet))) for one in counts)
    )


def _numbers(sheets: Iterable[Sheet]) -> Counter[str]:
    return Counter(number for sheet in sheets for number in numbers_of(sheet))


def _find_too_much_on_record(
    papers: dict[str, Paper], now: Begun, plan: Plan
) -> Iterator[PlanFault]:
    """More that the papers know of already than there was: sheets that nothing gave."""
    width = plan.asked.trimmer.cut_width
    pairs: list[tuple[Counter[_Gone] | Counter[_Left], Counter[_Gone] | Counter[_Left]]] = [
        (_gone_of(papers, now.on_record.gone), _gone_of(papers, now.moved.gone)),
        (_left_of(papers, now.on_record.left, width), _left_of(papers, now.moved.left, width)),
    ]
    for known, moved in pairs:
        for key in known:
            if known[key] > moved[key]:  # type: ignore[index]
                said = f"{known[key]} are said to be on record; {moved[key]} were cut or left."  # type: ignore[index]
                yield PlanFault("after", str(key[0]), said)
