"""When paper is short: as many whole cards as it gives, then spare sets, then loose pieces."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from nesting.batch import Batch
from nesting.pack.model.columns import Used
from nesting.pack.model.otherwise import StillThere, with_demand, with_hosts
from nesting.pack.model.pattern import is_stopped
from nesting.pack.model.problem import Problem
from nesting.pack.one_sheet.raster_points import may_verify
from nesting.pack.search.incumbent import Search
from nesting.pack.search.schedule import improve
from nesting.pack.search.stopped_cuts import may_stop
from nesting.pack.search.tie_break import break_ties
from nesting.pack.shortage.allocation import Allocation
from nesting.pack.shortage.few_joints import few_sheets_and_joints
from nesting.pack.shortage.goals import counts_fewest, goals_of
from nesting.pack.shortage.maximise_goal import GoalAnswer, reach_goals
from nesting.pack.shortage.short_papers import Shortage
from nesting.pack.shortage.uncut import find_uncut, hosts_cut
from nesting.pieces import Piece
from nesting.plan import CardCount, Uncut, WholeCards

#: The most rounds of the search for the final plan.
_ROUNDS = 40


@dataclass(frozen=True, slots=True)
class Settled:
    """What is cut, by a search for each paper (None: nothing), and what is not.

    ``sure`` says that no plan makes more of what is wanted, in its order, or takes fewer sheets.
    """

    finals: dict[str, Search | None]
    uncut: tuple[Uncut, ...]
    cards: tuple[CardCount, ...]
    whole_cards: tuple[WholeCards, ...]
    sure: bool


def settle(
    batch: Batch,
    pieces: tuple[Piece, ...],
    searches: dict[str, Search],
    seed: int,
    answers: Iterable[GoalAnswer],
) -> Settled:
    """Decide what is cut where papers are short, and how, unless there are ``answers`` already.

    A paper that turns out to suffice was not short: its better search replaces the first one in
    ``searches``. Where it is late, quick answers are taken.
    """
    found = list(answers) or _answers(batch, pieces, searches, seed)
    allocation = found[-1].allocation if found else Allocation({}, {})
    uncut, cards = find_uncut(batch, pieces, searches, allocation)
    lacking = {one.piece: one.count for one in uncut}
    hosts, there = hosts_cut(pieces, uncut), _middles_there(batch)
    finals: dict[str, Search | None] = {}
    for name, search in searches.items():
        own = [piece for piece in pieces if piece.paper == name]
        cut = {piece.id: piece.to_cut - lacking.get(piece.id, 0) for piece in own}
        if search.short or any(piece.id in lacking for piece in own):
            problem = with_hosts(with_demand(search.problem, cut), hosts, there)
            finals[name] = _final(search, problem, allocation.sheets.get(name), f"{seed}/{name}")
        else:
            finals[name] = search if any(cut.values()) else None
        final = finals[name]
        if final is not None and search.short and not any(p.id in lacking for p in own):
            searches[name] = final if final.problem.stopped else final.with_bound_of(search)
    return Settled(
        finals,
        uncut,
        cards,
        tuple(_entry(answer, cards) for answer in found if answer.entry.cards) if uncut else (),
        all(answer.entry.proven for answer in found)
        and all(final is None or final.proven for final in finals.values()),
    )


def _middles_there(batch: Batch) -> StillThere:
    """The covered middles that pieces in the bags still have."""
    middles = batch.begun.middles if batch.begun else ()
    return {(one.paper, one.sheet): one.count for one in middles}


def _answers(
    batch: Batch, pieces: tuple[Piece, ...], searches: dict[str, Search], seed: int
) -> list[GoalAnswer]:
    """What the short papers yield of each goal, the most wanted first.

    With stopped cuts only where that makes more: then ``searches`` have them, too.
    """
    plain = {
        name: replace(search.problem, stopped=False)
        for name, search in searches.items()
        if search.short
    }
    if not plain:
        return []
    answers = _answers_by(plain, batch, pieces, searches, seed)
    stopped = {name: replace(problem, stopped=True) for name, problem in plain.items()}
    stopped = {n: one for n, one in stopped.items() if may_stop(one) and may_verify(one)}
    proven = all(one.entry.proven and one.entry.holds_for_stopped for one in answers)
    # Where it is to be even, a proof of the fewest says nothing of the other designs.
    if not stopped or (proven and not any(counts_fewest(one.goal) for one in answers)):
        return answers
    others = _answers_by(plain | stopped, batch, pieces, searches, seed)
    if _made(others) <= _made(answers):
        return answers
    for name, problem in stopped.items():
        if not searches[name].problem.stopped:
            searches[name] = Search(problem, searches[name].seed, searches[name].best)
    return others


def _answers_by(
    problems: Mapping[str, Problem],
    batch: Batch,
    pieces: tuple[Piece, ...],
    searches: Mapping[str, Search],
    seed: int,
) -> list[GoalAnswer]:
    """What papers yield of each goal by the patterns that their problems allow."""
    goals = goals_of(batch, pieces, {})
    shortage = Shortage(problems, pieces, goals, middles_there=_middles_there(batch))
    for name, problem in problems.items():
        known = searches[name].pool.columns
        shortage.add(name, [c for c in known if problem.stopped or not is_stopped(c.pattern)])
    shortage.fill_greedily(seed)
    answers = reach_goals(shortage, goals, seed)
    allocation = answers[-1].allocation
    few = few_sheets_and_joints(shortage, allocation.made, 0, str(seed))
    answers[-1] = replace(answers[-1], allocation=few or allocation)
    return answers


def _made(answers: list[GoalAnswer]) -> list[tuple[object, ...]]:
    """What is made of each goal, with the shares of its designs where it is to be even."""
    return [
        one.allocation.score(one.goal) if counts_fewest(one.goal) else (one.entry.made,)
        for one in answers
    ]


def _final(
    search: Search, problem: Problem, sheets: tuple[Used, ...] | None, seed: str
) -> Search | None:
    """A search for what is cut of a paper, beginning with sheets known to yield it."""
    if not any(problem.demand):
        return None
    final = Search(problem, seed)
    final.offer(search.best if sheets is None else sheets)
    for _ in improve(final):
        if final.rounds > _ROUNDS:
            break
    if sheets is not None and final.short:
        # Plenty at hand of one size may cost more than another size to buy.
        final.best = final.on_cheapest(sheets) or sheets
    else:
        break_ties(final)
    return final


def _entry(answer: GoalAnswer, cards: tuple[CardCount, ...]) -> WholeCards:
    """An answer's entry, with what the plan makes in the end."""
    counts = [count.complete for count in cards if count.card in answer.entry.cards]
    return replace(answer.entry, made=min(counts) if answer.entry.of == "each" else sum(counts))
