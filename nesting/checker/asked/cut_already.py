"""What is at hand after some of a batch is cut: what there was at first, less what was cut into."""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator
from dataclasses import replace

from nesting.batch import Batch, Begun, Moved
from nesting.checker.cutting.sheets import SheetIdentity, identity_of_sheet
from nesting.checker.fault import PlanFault
from nesting.papers import Paper, Sheet, SheetCount
from nesting.plan import Plan
from nesting.units import size_words

#: Stands where nothing is begun.
NOTHING_BEGUN = Begun((), Moved(), ())


def as_begun(batch: Batch, asked: Batch) -> Batch:
    """A batch in the state that a plan was asked for; the rules look at whether it can be that."""
    if asked.begun is None or batch.begun is not None:
        return batch
    return replace(batch, papers=asked.papers, begun=asked.begun)


def find_wrong_state(
    batch: Batch, plan: Plan, from_stash: Collection[str] | None
) -> Iterator[PlanFault]:
    """What a plan says is at hand now that cannot come from what the batch had at first.

    What was cut, and what is left of it, is taken on trust here; the earlier plan tells it.
    """
    asked = plan.asked
    if asked.begun is None or batch.begun is not None:
        return
    if not plan.after:
        yield PlanFault("begun", "plan", "some of it is cut, by no plan that it names.")
    if asked.begun.papers != batch.papers:
        said = "what it says was there at first is not what the batch says."
        yield PlanFault("begun", "plan", said)
        return
    if [replace(one, sheets=()) for one in asked.papers] != [
        replace(one, sheets=()) for one in batch.papers
    ]:
        yield PlanFault("begun", "plan", "its papers are not those of the batch.")
        return
    if from_stash is not None:
        known = (*asked.begun.on_record.gone, *asked.begun.on_record.left)
        for name in sorted({one.paper for one in known}.difference(from_stash)):
            said = "some that was cut is said to be on record; the batch does not leave it to the stash."
            yield PlanFault("begun", name, said)
    for first, now in zip(batch.papers, asked.papers, strict=True):
        yield from _find_wrong_sheets(first, now, asked.begun, batch)


def _find_wrong_sheets(first: Paper, now: Paper, begun: Begun, batch: Batch) -> Iterator[PlanFault]:
    """Sheets of a paper whose number, or price, is not what follows from those at first."""
    before, after = _counted(first.sheets, first), _counted(now.sheets, first)
    change = _changes(first, begun)
    for key in {**before, **after, **change}:
        have, read = before.get(key, 0), after.get(key, 0)
        left = None if have is None else have + change.get(key, 0)
        if key not in before and key[0] == "sheet":
            left = 0  # a size that the batch has no longer
        where = f"{first.name}, {size_words(key[1], key[2], batch.unit)}"
        if left is not None and left < 0 and key[0] == "sheet" and not first.buy:
            said = f"{_words(have)} were there, it cannot be bought, and {-left} more are cut into."
            yield PlanFault("begun", where, said)
        expected = None if left is None else max(0, left)
        if read != expected:
            said = f"{_words(read)} are at hand now; after what was cut it is {_words(expected)}."
            yield PlanFault("begun", where, said)
    gone = {number for one in begun.moved.gone for number in numbers_of(one.sheet)}
    known = {one: n for one, n in _numbered(first.sheets, first).items() if one[1] not in gone}
    for _, number in _numbered(now.sheets, first) - Counter(known):
        said = "it is not at hand in this size, or not any more."
        yield PlanFault("begun", f"{first.name}, offcut {number}", said)
    whole = [
        {(one.width, one.height, one.price) for one in paper.sheets if not one.offcut}
        for paper in (first, now)
    ]
    if whole[0] != whole[1]:
        yield PlanFault("begun", first.name, "its whole sheets are not those of the batch.")


def _counted(sheets: Iterable[Sheet], paper: Paper) -> dict[SheetIdentity, int | None]:
    """How many there are of each identity; None is plenty."""
    counts: dict[SheetIdentity, int | None] = {}
    for sheet in sheets:
        key = identity_of_sheet(paper, sheet)
        so_far = counts.get(key, 0)
        counts[key] = None if so_far is None or sheet.have is None else so_far + sheet.have
    return counts


def numbers_of(sheet: Sheet) -> list[str]:
    """The numbers that offcuts have in the stash."""
    return sheet.name.split(", ") if sheet.name else []


def _numbered(sheets: Iterable[Sheet], paper: Paper) -> Counter[tuple[SheetIdentity, str]]:
    """What sheets are listed by a number."""
    return Counter((identity_of_sheet(paper, one), n) for one in sheets for n in numbers_of(one))


def _changes(paper: Paper, begun: Begun) -> dict[SheetIdentity, int]:
    """By how many the sheets at hand changed. An offcut by number goes only where it is listed."""
    listed = {number for sheet in paper.sheets for number in numbers_of(sheet)}
    changes: dict[SheetIdentity, int] = {}

    def add(counts: Iterable[SheetCount], sign: int) -> None:
        for one in counts:
            if one.paper == paper.name and one.sheet.name in {None, *listed}:
                key = identity_of_sheet(paper, one.sheet)
                changes[key] = changes.get(key, 0) + sign * one.count

    add(begun.moved.left, 1)
    add(begun.moved.gone, -1)
    add(begun.on_record.gone, 1)
    add(begun.on_record.left, -1)
    return changes


def _words(count: int | None) -> str:
    return "plenty" if count is None else str(count)
