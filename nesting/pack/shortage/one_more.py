"""Which paper limits how many cards can be made: what one more sheet of each would give."""

from collections.abc import Iterator
from dataclasses import replace

from nesting.batch import Batch
from nesting.cards.resolving import resolve
from nesting.pack.model.deadline import is_late
from nesting.pack.shortage.allocation import made_of_cards
from nesting.pack.shortage.choosing import Chosen, entries_of, reach_most, reached_by
from nesting.papers import Paper, Sheet
from nesting.plan import OneMore, Plan

_NO_TIME = "What one more sheet would give was not worked out: there was no time left for it."


def with_one_more(plan: Plan, chosen: Chosen, seed: int) -> Plan:
    """The plan with what one more sheet would give, or a note that there was no time for that.

    As it is where no paper limits it.
    """
    complete = {count.card: count.complete for count in plan.cards}
    if all(complete[c.name] == (c.at_most if c.make is None else c.make) for c in plan.asked.cards):
        return plan
    found = []
    for paper, sheet, batch in _with_one_sheet_more(plan.asked):
        asked = resolve(batch)
        *_, answers = reach_most(asked, seed, {})
        if is_late():
            return replace(plan, notes=(*plan.notes, _NO_TIME))
        cards = made_of_cards(answers[-1].allocation.made)
        made = {card.name: cards.get(card.name, 0) for card in plan.asked.cards}
        better = reached_by(answers) > reached_by(chosen.answers)
        proven = all(entry.proven for entry in entries_of(asked, answers))
        found.append(OneMore(paper.name, sheet.width, sheet.height, made, better, proven))
    return replace(plan, one_more=tuple(found))


def _with_one_sheet_more(batch: Batch) -> Iterator[tuple[Paper, Sheet, Batch]]:
    """The batch with one more of each size of whole sheets that limits what is made."""
    for paper in batch.papers:
        if batch.may_buy(paper) or paper.name not in batch.papers_used:
            continue
        for number, sheet in enumerate(paper.sheets):
            if sheet.offcut or sheet.have is None or sheet in paper.sheets[:number]:
                continue
            more = replace(sheet, have=sheet.have + 1)
            sheets = (*paper.sheets[:number], more, *paper.sheets[number + 1 :])
            papers = (replace(p, sheets=sheets) if p == paper else p for p in batch.papers)
            yield paper, sheet, replace(batch, papers=tuple(papers))
