"""What the counts of the stash allow for already: the sheets that records of plans took out and put in."""

import json
from collections import Counter
from collections.abc import Collection
from dataclasses import replace

from nesting.batch import Moved
from nesting.mark import plan_digest
from nesting.papers import Paper, Sheet, SheetCount
from nesting.plan import Plan
from nesting.stash.drawer import Stash
from nesting.stash.journal import Row, RowChange, Value
from nesting.stash.offcuts import StashOffcut


def moved_on_record(stash: Stash, plan: Plan, papers: Collection[str]) -> Moved:
    """What the records of a plan, and of those that it goes on from, took of some papers and put in.

    Undone records count for nothing. An offcut that was there before them goes by its number, so it is
    not counted; one that a record put in and another took again is neither gone nor left, unless it was
    cut by its number.
    """
    digests = {plan_digest(plan), *(earlier.digest for earlier in plan.after)}
    known = {paper.name: paper for paper in plan.asked.papers if paper.name in papers}
    gone: Counter[tuple[str, Sheet]] = Counter()
    left: Counter[tuple[str, Sheet]] = Counter()
    put_in: dict[Value, bool] = {}  # by number, whether these records put it in first
    by_number = _numbers_known(plan)
    standing = {one.entry for one in stash.history() if one.undoes is None and not one.undone}
    for entry, text in stash.connection.execute(
        "SELECT entry, changes FROM journal ORDER BY entry"
    ):
        changes = [RowChange(*one) for one in json.loads(text)]
        if entry not in standing or not any(_is_record(change, digests) for change in changes):
            continue
        for change in changes:
            (table, before, after), row = change, change.row
            paper = known.get(str(row.get("paper")))
            if paper is None:
                continue
            if table == "sheets" and before is not None and after is not None:
                size = Sheet(_number(row, "width"), _number(row, "height"))
                gone[paper.name, size] += _number(before, "count") - _number(after, "count")
            elif table == "offcuts":
                own = put_in.setdefault(row["number"], before is None)
                if own and (before is None or row["number"] not in by_number):
                    left[paper.name, _sheet(row, paper)] += 1 if before is None else -1
    return Moved(_counts(gone), _counts(left))


def _numbers_known(plan: Plan) -> set[int]:
    """The numbers of the offcuts that a plan knows by them: those at hand, and those that are gone."""
    begun = plan.asked.begun
    sheets = [
        sheet for paper in (begun.papers if begun else plan.asked.papers) for sheet in paper.sheets
    ]
    if begun:
        sheets += (one.sheet for one in begun.moved.gone)
    return {number for sheet in sheets for number in sheet.numbers}


def _is_record(change: RowChange, digests: Collection[str]) -> bool:
    """Whether a row is about how far one of some plans is cut."""
    return change.table in ("cut", "records") and change.row["plan"] in digests


def _number(row: Row, column: str) -> int:
    """A number of a row; plenty counts for nothing, before as after."""
    return int(row[column] or 0)


def _sheet(row: Row, paper: Paper) -> Sheet:
    """An offcut as the sheets of its paper lie, without its number."""
    sheet = StashOffcut(**row).on_sheet(paper)  # type: ignore[arg-type]
    return replace(sheet, have=None, name=None)


def _counts(counts: Counter[tuple[str, Sheet]]) -> tuple[SheetCount, ...]:
    return tuple(SheetCount(*key, count) for key, count in counts.items() if count > 0)
