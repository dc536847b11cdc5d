"""What is cut of a batch already: from earlier plans and their records to what is at hand now."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace

from nesting.batch import Batch, BatchError, Begun, Fault, Moved, Paper, Piece, Sheet, SheetCount
from nesting.cutting.progress import Leftover, Progress
from nesting.lying import numbers_of, offcuts_taken
from nesting.plan import Plan, key_of_sheet, sheet_of_layout


def begun_after(plan: Plan, progress: Progress) -> Begun:
    """What is cut after a plan's record, and what was before it; its papers are those of the plan."""
    before = plan.asked.begun or Begun((), Moved(), plan.asked.papers)
    moved = Moved(
        _summed((*before.moved.gone, *_gone(plan, progress.cut_into))),
        _summed((*before.moved.left, *_left((*progress.kept, *progress.in_hand)))),
    )
    return replace(before, pieces=tuple(_in_bags(plan, before.pieces, progress)), moved=moved)


def _in_bags(plan: Plan, before: tuple[Piece, ...], progress: Progress) -> Iterator[Piece]:
    """The pieces known so far with what is in the bags of them; more than the plan asked for stays."""
    bagged = {piece.letter: piece.in_bags for piece in before}
    known = {piece.letter: piece for piece in before}
    for piece in plan.pieces:
        bags = bagged.get(piece.letter, 0) + progress.bags.get(piece.id, 0)
        known[piece.letter] = replace(piece, demand=0, uses=(), in_bags=bags)
    yield from known.values()


def _gone(plan: Plan, cut_into: dict[int, int]) -> Iterator[SheetCount]:
    """The sheets that were cut into; offcuts of the stash with their numbers.

    A covered middle came from a piece, and was never at hand.
    """
    numbers = offcuts_taken(plan)
    for layout in (one for one in plan.layouts if one.source.kind != "middle"):
        count = cut_into.get(layout.id, 0)
        own = numbers[layout.id][:count]
        sheet = sheet_of_layout(layout, plan.asked.paper(layout.paper))
        for number in own:
            yield SheetCount(layout.paper, replace(sheet, name=str(number)), 1)
        if count > len(own):
            yield SheetCount(layout.paper, sheet, count - len(own))


def _left(leftovers: Iterable[Leftover]) -> Iterator[SheetCount]:
    for one in leftovers:
        yield SheetCount(one.paper, one.sheet, one.count)


def _summed(counts: Iterable[SheetCount]) -> tuple[SheetCount, ...]:
    """The same, equal sheets counted together."""
    total: Counter[tuple[str, Sheet]] = Counter()
    for one in counts:
        total[one.paper, one.sheet] += one.count
    return tuple(SheetCount(*key, count) for key, count in total.items())


def with_begun(batch: Batch, begun: Begun) -> Batch:
    """A batch of which something is cut, with the papers as they are now.

    Raises
    ------
    BatchError
        More sheets were cut into than the batch has, of a paper that cannot be bought.
    """
    faults: list[Fault] = []
    papers = tuple(_now(paper, begun, faults) for paper in batch.papers)
    if faults:
        raise BatchError(tuple(faults))
    return replace(batch, papers=papers, begun=replace(begun, papers=batch.papers))


def _now(paper: Paper, begun: Begun, faults: list[Fault]) -> Paper:
    """A paper without the sheets that were cut into, and with what is left of them to cut from."""
    taken: Counter[Sheet] = Counter()
    numbers: set[int] = set()
    for counts, sign in (
        (begun.moved.gone, 1),
        (begun.moved.left, -1),
        (begun.on_record.gone, -1),
        (begun.on_record.left, 1),
    ):
        for one in counts:
            if one.paper == paper.name and one.sheet.name is not None:
                numbers.update(numbers_of(one.sheet))
            elif one.paper == paper.name:
                taken[one.sheet] += sign * one.count
    sheets = [_without_numbers(sheet, numbers) for sheet in paper.sheets]
    for sheet, count in taken.items():
        if count > 0:
            lacking = _take(sheets, paper, sheet, count)
            if lacking and not sheet.offcut and not paper.buy:
                faults.append(_too_few(paper, sheet, count, count - lacking))
    left = [replace(sheet, have=-count) for sheet, count in taken.items() if count < 0]
    return replace(paper, sheets=(*(s for s in sheets if s.have != 0 or not s.offcut), *left))


def _without_numbers(sheet: Sheet, numbers: set[int]) -> Sheet:
    """Offcuts of the stash without those of these numbers."""
    own = numbers_of(sheet)
    left = [number for number in own if number not in numbers]
    if len(left) == len(own) or sheet.have is None:
        return sheet
    name = ", ".join(map(str, left)) or None
    return replace(sheet, have=sheet.have - len(own) + len(left), name=name)


def _take(sheets: list[Sheet], paper: Paper, sheet: Sheet, count: int) -> int:
    """Take so many sheets that are alike off those at hand; how many there are too few."""
    key = key_of_sheet(paper, sheet)
    alike = [n for n, one in enumerate(sheets) if key_of_sheet(paper, one) == key]
    if not alike or any(sheets[number].have is None for number in alike):
        return 0
    for number in sorted(alike, key=lambda number: sheets[number].name is not None):
        one = sheets[number]
        off = min(count, one.have or 0)
        named = _without_numbers(one, set(numbers_of(one)[:off]))
        sheets[number] = replace(named, have=(one.have or 0) - off)
        count -= off
    return count


def _too_few(paper: Paper, sheet: Sheet, cut: int, have: int) -> Fault:
    number = next(
        n
        for n, one in enumerate(paper.sheets)
        if key_of_sheet(paper, one) == key_of_sheet(paper, sheet)
    )
    expected = f"the number at first, and bought since: {cut} or more, as so many were cut into"
    return Fault(("papers", paper.name, "sheets", number, "have"), f"have: {have}", expected)
