"""What a plan takes from the stash, and puts back into it, as it is cut."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace

from nesting.cutting.progress import Leftover, Progress, progress_of
from nesting.layouts import Layout
from nesting.mark import mark_of, plan_digest
from nesting.papers import Edges, Paper, Sheet
from nesting.plan import Plan
from nesting.record import Entry, Record, entries_text
from nesting.sheets import is_kept
from nesting.sources import key_of_layout, key_of_sheet, nominal_size, offcuts_taken
from nesting.stash.database import StashError
from nesting.stash.drawer import Stash
from nesting.stash.journal import Row, Writer
from nesting.stash.offcuts import StashOffcut
from nesting.stash.recorded import recorded, taken_together, write_recorded
from nesting.stash.rows import add_offcut
from nesting.units import size_words

#: Whole sheets of a paper: its name, and their width and height.
WholeSheets = tuple[str, tuple[int, int]]
#: A part of a layout's sheet that is left: layout, rectangle, and what it is to cut from.
_Left = tuple[int, tuple[int, int, int, int], Sheet]


@dataclass(frozen=True, slots=True)
class PlanUse:
    """What a record of a plan did to the stash.

    ``sheets`` are paper, size and count of what was taken, ``offcuts`` the numbers taken, parts in
    hand that were cut further among them. ``kept`` was put in: offcuts to keep and parts in hand.
    ``unknown`` are papers that are not in the stash: nothing of them was taken or put in.
    """

    sheets: tuple[tuple[str, tuple[int, int], int], ...]
    offcuts: tuple[int, ...]
    kept: tuple[StashOffcut, ...]
    unknown: tuple[str, ...]


def use_plan(stash: Stash, plan: Plan, new: Record | None = None, why: str = "") -> PlanUse:
    """Take what was cut out of the stash, and put in offcuts to keep and parts in hand.

    Parameters
    ----------
    new
        How far the plan is cut in all; all of it unless given. It adds to earlier records of the same
        plan: every stroke of every sheet is taken for made once, however often it is on record.

    Raises
    ------
    RecordError
        The record is none of this plan.
    StashError
        All of it is on record already, it contradicts what is, or the stash does not have what the
        plan was cut from, or none of its papers.
    """
    if new is None:
        new = Record(tuple(Entry(layout.id, layout.id) for layout in plan.layouts))
    digest = plan_digest(plan)
    with stash.writing() as writer:
        before = recorded(stash, plan)
        now = taken_together(plan, before, new)
        if now == before:
            raise StashError("all of this is on record already: nothing was taken from the stash")
        write_recorded(writer, plan, digest, now)
        using = _Using(stash, writer, plan, digest)
        far = progress_of(plan, now)
        using.move(progress_of(plan, before), far)
        cut = {layout.paper for layout in plan.layouts if far.cut_into.get(layout.id)}
        if cut and cut <= {*using.unknown}:
            papers = ", ".join(sorted(cut))
            told = f"none of what was cut is in the stash: {papers}"
            raise StashError(f"{told}; 'nesting stash add' puts it in")
        writer.enter(_told(plan, now), why)
    taken = tuple((paper, size, count) for (paper, size), count in using.sheets.items())
    unknown = tuple(dict.fromkeys(using.unknown))
    return PlanUse(taken, tuple(using.offcuts), tuple(using.kept), unknown)


def _told(plan: Plan, record: Record) -> str:
    spoilt = f"; spoilt: {entries_text(record.spoilt)}" if record.spoilt else ""
    done = entries_text(record.done) or "nothing"
    return f"cut from the plan {plan.asked.name}, mark {mark_of(plan)}: {done}{spoilt}"


class _Using:
    """What changes in the stash as a plan is cut further."""

    def __init__(self, stash: Stash, writer: Writer, plan: Plan, digest: str) -> None:
        self._stash = stash
        self._writer = writer
        self._plan = plan
        self._digest = digest
        self.sheets: Counter[WholeSheets] = Counter()
        self._bought: Counter[WholeSheets] = Counter()
        self.offcuts: list[int] = []
        self.kept: list[StashOffcut] = []
        self.unknown: list[str] = []

    def move(self, before: Progress, now: Progress) -> None:
        """Take the sheets newly cut into and the parts cut further, and put in what is new."""
        numbers = offcuts_taken(self._plan)
        changes = [
            (_counted(now.kept) - _counted(before.kept), False),
            (_counted(now.in_hand) - _counted(before.in_hand), True),
        ]
        cut_on = _counted(before.in_hand) - _counted(now.in_hand)
        for layout in self._plan.layouts:
            had, has = (one.cut_into.get(layout.id, 0) for one in (before, now))
            if has and self._stash.at_hand(layout.paper) is None:
                self.unknown.append(layout.paper)
                continue
            if has > had:
                self._take(layout, numbers[layout.id][had:has], had, has)
            self._take_parts(layout, cut_on)
            for left, in_hand in changes:
                self._put(layout, left, in_hand=in_hand)
        self._take_bought(now)

    def _take(self, layout: Layout, numbers: tuple[int, ...], had: int, has: int) -> None:
        """Take the sheets of a layout that were cut into since; a covered middle is none."""
        if layout.source.kind == "middle":
            return
        paper = self._plan.asked.paper(layout.paper)
        if layout.source.kind == "offcut":
            numbers += self._numbered_since(layout, paper, has - had - len(numbers))
            _take_offcuts(self._stash, self._writer, paper, layout, numbers)
            self.offcuts += numbers
            return
        count = layout.at_hand(has) - layout.at_hand(had)
        of_size = layout.paper, nominal_size(layout, paper)
        if count:
            self._stash.take_rows(self._writer, *of_size, count)
            self.sheets[of_size] += count
        self._bought[of_size] += has - had - count

    def _take_bought(self, now: Progress) -> None:
        """Take those that were bought, where they were put in; not those at hand that are cut later."""
        later = cut_later(self._plan, now)
        for of_size, count in self._bought.items():
            taken = self._stash.take_up_to(self._writer, *of_size, count, later[of_size])
            if taken:
                self.sheets[of_size] += taken

    def _numbered_since(self, layout: Layout, paper: Paper, count: int) -> tuple[int, ...]:
        """The numbers of offcuts that an earlier plan left, given to them after this plan was made."""
        if not count or not _left_before(self._plan, layout, paper):
            return ()
        known = {number for sheet in paper.sheets for number in sheet.numbers}
        key = key_of_layout(layout, paper)[:-1]
        alike = [
            one.number
            for one in self._stash.offcuts(paper.name)
            if one.number not in known and key_of_sheet(paper, one.on_sheet(paper))[:-1] == key
        ]
        if len(alike) < count:
            unit = self._plan.asked.unit
            size = size_words(*nominal_size(layout, paper), unit)
            raise StashError(
                f"layout {layout.id} is cut from an offcut of {paper.name}, {size}, that an earlier plan "
                "left and the stash does not have; put on record first what was cut of the plan "
                f"{self._plan.after[-1].mark}, or add the offcut"
            )
        return tuple(alike[:count])

    def _take_parts(self, layout: Layout, cut_on: Counter[_Left]) -> None:
        """Take the parts in hand that were cut further, or spoilt, by the numbers they got."""
        for (own, rectangle, _), count in cut_on.items():
            if own != layout.id:
                continue
            rows = self._stash.connection.execute(
                "SELECT number FROM in_hand WHERE plan = ? AND layout = ? AND x = ? AND y = ?"
                " AND width = ? AND height = ? ORDER BY number LIMIT ?",
                (self._digest, layout.id, *rectangle, count),
            ).fetchall()
            for (number,) in rows:  # none where it was too small to be put in
                if self._writer.row("offcuts", (number,)) is None:
                    words = f"offcut {number}, a part in hand of layout {layout.id}, is in the stash no more"
                    raise StashError(
                        f"{words}; undo what took it, or say nothing of what was made of it"
                    )
                self._writer.remove("in_hand", (number,))
                self._writer.remove("offcuts", (number,))
                self.offcuts.append(number)

    def _put(self, layout: Layout, left: Counter[_Left], *, in_hand: bool) -> None:
        """Put in what is new of a layout and large enough to keep."""
        keep_from = self._plan.asked.keep_from
        for (own, rectangle, sheet), count in left.items():
            # An edge still to be trimmed off would be forgotten in the drawer.
            if own != layout.id or sheet.trim not in (None, Edges()):
                continue
            if not is_kept(sheet.width, sheet.height, keep_from):
                continue
            for _ in range(count):
                offcut = self._new(layout, sheet, in_hand=in_hand)
                self.kept.append(offcut)
                if in_hand:
                    place = dict(zip(("x", "y", "width", "height"), rectangle, strict=True))
                    row: Row = {
                        "number": offcut.number, "plan": self._digest, "layout": layout.id, **place,
                    }  # fmt: skip
                    self._writer.put("in_hand", row)

    def _new(self, layout: Layout, sheet: Sheet, *, in_hand: bool) -> StashOffcut:
        paper = self._plan.asked.paper(layout.paper)
        part = f", layout {layout.id}, a part in hand" if in_hand else ""
        offcut = StashOffcut.of(paper, sheet, f"from {self._plan.asked.name}{part}")
        return replace(offcut, number=add_offcut(self._writer, offcut))


def cut_later(plan: Plan, now: Progress) -> Counter[WholeSheets]:
    """How many whole sheets at hand, by paper and size, a plan still has to cut: they are not those bought."""
    later: Counter[WholeSheets] = Counter()
    for layout in plan.layouts:
        if layout.source.kind == "sheet":
            size = nominal_size(layout, plan.asked.paper(layout.paper))
            cut = layout.at_hand(now.cut_into.get(layout.id, 0))
            later[layout.paper, size] += layout.at_hand(layout.alike) - cut
    return later


def _counted(leftovers: Iterable[Leftover]) -> Counter[_Left]:
    counts: Counter[_Left] = Counter()
    for one in leftovers:
        counts[one.layout, one.part.rectangle, one.sheet] += one.count
    return counts


def _left_before(plan: Plan, layout: Layout, paper: Paper) -> bool:
    """Whether a layout's offcut is one that an earlier plan left, and that goes into the stash.

    Others are those that the batch names itself, and those too small or still to be trimmed.
    """
    if plan.asked.begun is None or layout.source.trim not in (None, Edges()):
        return False
    first = next(one for one in plan.asked.begun.papers if one.name == paper.name)
    named = {key_of_sheet(paper, sheet) for sheet in first.sheets if not sheet.numbers}
    kept = is_kept(*nominal_size(layout, paper), plan.asked.keep_from)
    return kept and key_of_layout(layout, paper) not in named


def _take_offcuts(
    stash: Stash, writer: Writer, paper: Paper, layout: Layout, numbers: tuple[int, ...]
) -> None:
    """Take offcuts out that are still what the plan was made for."""
    for number in numbers:
        offcut = stash.offcut(number)
        sheet = offcut.on_sheet(paper)
        size = nominal_size(layout, paper)
        if offcut.paper != paper.name or (sheet.width, sheet.height) != size:
            raise StashError(f"offcut {number} is not what the plan of {paper.name} was made for")
        writer.remove("offcuts", (number,))
