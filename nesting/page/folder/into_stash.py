"""What is cut goes on record in the stash in the end: sheets are taken out, offcuts put in with numbers."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from nesting.batch import Moved
from nesting.cutting.begun import begun_after
from nesting.cutting.progress import progress_of
from nesting.mark import mark_of, plan_digest
from nesting.page.folder.cutting_folder import Cutting
from nesting.papers import Paper, Sheet, SheetCount
from nesting.plan import Plan
from nesting.record import Record
from nesting.sheets import is_kept
from nesting.stash import Stash, StashError, StashOffcut
from nesting.stash.journal import Writer
from nesting.stash.recorded import recorded, taken_together, write_recorded
from nesting.stash.rows import add_offcut
from nesting.stash.use import cut_later


def put_into_stash(stash: Stash, plans: Sequence[Cutting]) -> tuple[int, ...]:
    """Take what was cut of plans that go on from one another, and put in what is worth keeping.

    A paper that the stash does not know is put in first, with what there was of it.

    Returns
    -------
    tuple[int, ...]
        The numbers of the offcuts that were put in.

    Raises
    ------
    StashError
        Some of it is on record already, or the stash does not have what the plan was cut from.
    """
    plan = plans[-1].plan
    progress = progress_of(plan, plans[-1].record)
    begun, later = begun_after(plan, progress), cut_later(plan, progress)
    for one in plans:
        if recorded(stash, one.plan) != Record():
            words = f"some of the plan {mark_of(one.plan)} is on record already"
            raise StashError(f"{words}: nothing was taken from the stash")
    numbers: list[int] = []
    with stash.writing() as writer:
        for paper in begun.papers:
            if stash.at_hand(paper.name) is None:
                _put_paper(stash, paper)
        for (paper_name, sheet), count in _net(begun.moved).items():
            if count > 0:
                leave = later[paper_name, (sheet.width, sheet.height)]
                _take(stash, writer, plan.asked.paper(paper_name), sheet, count, leave)
        for kept in worth_keeping(plan, begun.moved):
            paper = plan.asked.paper(kept.paper)
            offcut = StashOffcut.of(paper, kept.sheet, f"from {plan.asked.name}")
            numbers += (add_offcut(writer, offcut) for _ in range(kept.count))
        for one in plans:
            all_of_it = taken_together(one.plan, Record(), one.record)
            write_recorded(writer, one.plan, plan_digest(one.plan), all_of_it)
        marks = ", ".join(mark_of(one.plan) for one in plans)
        writer.enter(f"cut from the plan {plan.asked.name}, mark {marks}", "")
    return tuple(numbers)


def worth_keeping(plan: Plan, moved: Moved) -> Iterator[SheetCount]:
    """What was left and not cut into since, as far as it is worth keeping; paper by paper."""
    net = _net(moved)
    for paper in plan.asked.papers:
        for (name, sheet), count in net.items():
            kept = sheet.trim is None and is_kept(sheet.width, sheet.height, plan.asked.keep_from)
            if name == paper.name and count < 0 and kept:
                yield SheetCount(name, sheet, -count)


def _net(moved: Moved) -> Counter[tuple[str, Sheet]]:
    """How many more of each sheet were cut into than left; below zero, how many more were left."""
    net: Counter[tuple[str, Sheet]] = Counter()
    for one in moved.gone:
        net[one.paper, one.sheet] += one.count
    for one in moved.left:
        net[one.paper, one.sheet] -= one.count
    return net


def _put_paper(stash: Stash, paper: Paper) -> None:
    """Put a paper in, with its sheets and offcuts."""
    whole = tuple(sheet for sheet in paper.sheets if not sheet.offcut)
    stash.put_paper(replace(paper, sheets=whole), f"{paper.name}, as a batch has it")
    for sheet in paper.sheets:
        if sheet.offcut and sheet.have:
            stash.add_offcuts(StashOffcut.of(paper, sheet), sheet.have)


def _take(stash: Stash, writer: Writer, paper: Paper, sheet: Sheet, count: int, leave: int) -> None:
    """Take sheets out: offcuts by their numbers, or those that are as this one is.

    Of whole sheets those to leave were at hand for what is not cut.
    """
    if sheet.offcut:
        own = sheet.numbers
        alike = [
            one.number
            for one in stash.offcuts(paper.name)
            if one.number not in own
            and replace(one.on_sheet(paper), name=None, have=None)
            == replace(sheet, name=None, have=None)
        ]
        for number in [*own, *alike][:count]:
            writer.remove("offcuts", (number,))
        return
    # What was bought meanwhile need not be in the stash.
    stash.take_up_to(writer, paper.name, (sheet.width, sheet.height), count, leave)
