"""What is cut of a batch already: from earlier plans and their records to what is at hand now."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace

from nesting.batch import Batch, BatchError, Begun, Fault, Moved
from nesting.cutting.progress import Progress
from nesting.papers import Paper, Sheet, SheetCount
from nesting.pieces import Piece
from nesting.plan import PaperFigures, Plan
from nesting.sources import key_of_sheet, offcuts_taken, sheet_of_layout


def begun_after(plan: Plan, progress: Progress) -> Begun:
    """What is cut after a plan's record, and what was before it; its papers are those of the plan."""
    before = plan.asked.begun or Begun((), Moved(), plan.asked.papers)
    leftovers = (*progress.kept, *progress.in_hand)
    left = (SheetCount(one.paper, one.sheet, one.count) for one in leftovers)
    moved = Moved(
        _summed((*before.moved.gone, *_gone(plan, progress.cut_into))),
        _summed((*before.moved.left, *left)),
    )
    pieces = tuple(_in_bags(plan, before.pieces, progress))
    return replace(before, pieces=pieces, moved=moved, middles=tuple(_middles_left(plan, progress)))


def left_to_cut(plan: Plan, progress: Progress) -> Plan:
    """The plan without the sheets that are cut: what is needed, at hand and to buy is what is left."""
    begun = begun_after(plan, replace(progress, in_hand=()))
    whole, bought = Counter[str](), Counter[str]()
    layouts = []
    for layout in plan.layouts:
        cut = progress.cut_into.get(layout.id, 0)
        new = cut - layout.at_hand(cut)
        if layout.source.kind == "sheet":
            whole[layout.paper] += cut
            bought[layout.paper] += new
        if cut < layout.alike:
            layouts.append(replace(layout, alike=layout.alike - cut, to_buy=layout.to_buy - new))
    return replace(
        plan,
        asked=with_begun(replace(plan.asked, papers=begun.papers), begun),
        layouts=tuple(layouts),
        papers=tuple(
            _figures_left(one, whole[one.paper], bought[one.paper]) for one in plan.papers
        ),
    )


def _figures_left(figures: PaperFigures, whole: int, bought: int) -> PaperFigures:
    """What a paper's need comes to once so many whole sheets are cut, of which some were bought."""
    bound = figures.bound
    if bound.of == "sheets":  # those cut and any plan of the rest are a plan of it all
        bound = replace(bound, value=max(0, bound.value - whole))
    return replace(
        figures,
        needed=figures.needed - whole,
        have=None if figures.have is None else figures.have - whole + bought,
        used=figures.used - whole,
        to_buy=figures.to_buy - bought,
        bound=bound,
    )


def _middles_left(plan: Plan, progress: Progress) -> Iterator[SheetCount]:
    """Covered middles that the plan is still cut from and that only pieces in the bags can give.

    The pages have said to keep them. A piece that was cut gives one middle, whichever card it is for.
    """
    uses = {(use.card, use.layer): (piece, use) for piece in plan.pieces for use in piece.uses}
    earlier = {
        (one.paper, one.sheet): one.count
        for one in (plan.asked.begun.middles if plan.asked.begun else ())
    }
    whole = dict(progress.bags)  # pieces that were cut and have their middle
    there: list[tuple[SheetCount, int, int]] = []
    for one in plan.middles:
        planned, cut = _middles_of(plan, progress, one)
        before = earlier.get((one.paper, one.sheet), 0)
        for piece, _ in (uses[window.card, window.layer] for window in one.sheet.windows):
            taken = min(whole.get(piece.id, 0), max(0, cut - before))
            whole[piece.id] = whole.get(piece.id, 0) - taken
            cut -= taken
        there.append((one, planned, max(0, before - cut)))
    for one, planned, before in there:
        hosts = [uses[window.card, window.layer] for window in one.sheet.windows]
        bags = {piece.id: piece.in_bags + progress.bags.get(piece.id, 0) for piece, _ in hosts}
        to_come = sum(max(0, use.count - bags[piece.id]) for piece, use in hosts)
        left = max(0, min(planned - to_come, before + sum(whole.get(id_, 0) for id_ in bags)))
        for id_ in bags:
            whole[id_] = 0
        if left:
            yield replace(one, count=left)


def _middles_of(plan: Plan, progress: Progress, middle: SheetCount) -> tuple[int, int]:
    """How many middles of one size the plan is still cut from, and how many were cut into."""
    size = middle.sheet.width, middle.sheet.height
    own = [
        layout
        for layout in plan.layouts_of(middle.paper)
        if layout.source.kind == "middle" and (layout.width, layout.height) == size
    ]
    cut = sum(progress.cut_into.get(layout.id, 0) for layout in own)
    return sum(layout.alike for layout in own) - cut, cut


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


def _summed(counts: Iterable[SheetCount]) -> tuple[SheetCount, ...]:
    """The same, equal sheets counted together."""
    total: Counter[tuple[str, Sheet]] = Counter()
    for one in counts:
        total[one.paper, one.sheet] += one.count
    return tuple(SheetCount(*key, count) for key, count in total.items())


def with_begun(batch: Batch, begun: Begun) -> Batch:
    """The batch with what is cut of it, and its papers as they are now.

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
                numbers.update(one.sheet.numbers)
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
    own = sheet.numbers
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
        named = _without_numbers(one, set(one.numbers[:off]))
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
