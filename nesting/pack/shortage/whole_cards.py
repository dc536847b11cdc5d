"""When paper is short: as many whole cards as it gives, then spare sets, then loose pieces."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from nesting.batch import Batch
from nesting.merging import sets_missing, ways_among
from nesting.pack.model.columns import Used
from nesting.pack.model.pattern import is_stopped
from nesting.pack.model.problem import Problem, StillThere, with_demand, with_hosts
from nesting.pack.one_sheet.raster_points import may_verify
from nesting.pack.search.incumbent import Search
from nesting.pack.search.schedule import improve
from nesting.pack.search.stopped_cuts import may_stop
from nesting.pack.search.tie_break import break_ties
from nesting.pack.shortage.allocation import made_of_cards
from nesting.pack.shortage.goals import Counts, Goal, counts_fewest, goals_of
from nesting.pack.shortage.maximise_goal import GoalAnswer, reach_goals
from nesting.pack.shortage.short_papers import Shortage
from nesting.pieces import Piece, Use
from nesting.plan import CardCount, Uncut, WholeCards

#: The most rounds of the search for the final plan.
_ROUNDS = 40


@dataclass(frozen=True, slots=True)
class Settled:
    """What is cut, by a search for each paper (None: nothing), what is not, and whole cards.

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
    answers: Iterable[GoalAnswer] = (),
) -> Settled:
    """Decide what is cut where papers are short, and how, unless there are ``answers`` to that.

    A paper that turns out to suffice was not short: its better search replaces the first one in
    ``searches``. Where it is late, quick answers are taken.
    """
    there = (
        {(one.paper, one.sheet): one.count for one in batch.begun.middles} if batch.begun else {}
    )
    goals = goals_of(batch, pieces, {})
    found = list(answers) or _answers(goals, pieces, searches, there, seed)
    return _settled(batch, pieces, searches, found, there, seed)


def _answers(
    goals: list[Goal],
    pieces: tuple[Piece, ...],
    searches: dict[str, Search],
    there: StillThere,
    seed: int,
) -> list[GoalAnswer]:
    """What the short papers yield of each goal, the most wanted first.

    With stopped cuts only where that makes more: then ``searches`` have them, too.
    """
    short = {name: search for name, search in searches.items() if search.short}
    if not short:
        return []
    plain = {name: replace(search.problem, stopped=False) for name, search in short.items()}
    reached, answers = _reached(goals, pieces, plain, short, there, seed)
    stopped = {name: replace(problem, stopped=True) for name, problem in plain.items()}
    stopped = {n: one for n, one in stopped.items() if may_stop(one) and may_verify(one)}
    proven = all(one.entry.proven and one.entry.holds_for_stopped for one in answers)
    # Where it is to be even, a proof of the fewest says nothing of the other designs.
    if not stopped or (proven and not any(map(counts_fewest, goals))):
        return answers
    others_reached, others = _reached(goals, pieces, plain | stopped, short, there, seed)
    if _made(others_reached, others) <= _made(reached, answers):
        return answers
    for name, problem in stopped.items():
        if not searches[name].problem.stopped:
            searches[name] = Search(problem, searches[name].seed, searches[name].best)
    return others


def _reached(
    goals: list[Goal],
    pieces: tuple[Piece, ...],
    problems: dict[str, Problem],
    short: dict[str, Search],
    there: StillThere,
    seed: int,
) -> tuple[list[Goal], list[GoalAnswer]]:
    """What these papers yield of each goal by the patterns that their problems allow (``reach_goals``)."""
    shortage = Shortage(problems, pieces, goals, middles_there=there)
    for name, search in short.items():
        known = (
            column
            for column in search.pool.columns
            if problems[name].stopped or not is_stopped(column.pattern)
        )
        shortage.add(name, known)
    shortage.fill_greedily(seed)
    return reach_goals(shortage, goals, seed)


def _made(goals: list[Goal], answers: list[GoalAnswer]) -> list[tuple[object, ...]]:
    """What is made of each goal, with the shares of the designs where it is to be even."""
    return [
        one.allocation.score(goal) if counts_fewest(goal) else (one.entry.made,)
        for goal, one in zip(goals, answers, strict=True)
    ]


def _settled(
    batch: Batch,
    pieces: tuple[Piece, ...],
    searches: dict[str, Search],
    answers: list[GoalAnswer],
    there: StillThere,
    seed: int,
) -> Settled:
    promised = _card_counts(batch, answers)
    uncut = tuple(_uncut(batch, pieces, searches, answers, promised)) if answers else ()
    cards = tuple(_with_idle(count, batch, pieces, uncut) for count in promised)
    lacking = {one.piece: one.count for one in uncut}
    sheets = answers[-1].allocation.sheets if answers else {}
    hosts = _hosts_cut(pieces, uncut)
    finals: dict[str, Search | None] = {}
    for name, search in searches.items():
        own = [piece for piece in pieces if piece.paper == name]
        cut = {piece.id: piece.to_cut - lacking.get(piece.id, 0) for piece in own}
        if search.short or any(piece.id in lacking for piece in own):
            problem = with_hosts(with_demand(search.problem, cut), hosts, there)
            finals[name] = _final(search, problem, sheets.get(name), f"{seed}/{name}")
        else:
            finals[name] = search if any(cut.values()) else None
        final = finals[name]
        if final is not None and search.short and not any(p.id in lacking for p in own):
            searches[name] = final if final.problem.stopped else final.with_bound_of(search)
    return Settled(
        finals,
        uncut,
        cards,
        tuple(_entry(answer, cards) for answer in answers if answer.entry.cards) if uncut else (),
        all(a.entry.proven for a in answers)
        and all(f is None or f.proven for f in finals.values()),
    )


def _hosts_cut(
    pieces: tuple[Piece, ...], uncut: tuple[Uncut, ...]
) -> dict[tuple[str | None, str], int]:
    """By card and layer, how many pieces are surely cut that are not in the bags."""
    missing = {(use.card, use.layer): use.count for one in uncut for use in one.uses}
    return {
        (use.card, use.layer): max(
            0, use.count - missing.get((use.card, use.layer), 0) - piece.in_bags
        )
        for piece in pieces
        for use in piece.uses
    }


def _final(
    search: Search,
    problem: Problem,
    sheets: tuple[Used, ...] | None,
    seed: str,
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


def _card_counts(batch: Batch, answers: list[GoalAnswer]) -> tuple[CardCount, ...]:
    """How many cards of each design have all their pieces."""
    complete = made_of_cards(answers[-1].allocation.made) if answers else {}
    return tuple(
        CardCount(card.name, asked, complete.get(card.name, asked))
        for card, asked in ((card, card.make or 0) for card in batch.cards)
    )


def _uncut(
    batch: Batch,
    pieces: tuple[Piece, ...],
    searches: dict[str, Search],
    answers: list[GoalAnswer],
    cards: tuple[CardCount, ...],
) -> Iterator[Uncut]:
    """What is not cut: what short papers do not yield, and other pieces of cards that lack it."""
    cut: Counts = answers[-1].allocation.cut
    made = _made_of_others(batch, pieces, cards)
    for piece in pieces:
        if not piece.demand:
            continue
        missing = []
        for number, use in enumerate(piece.uses):
            key = piece.id, number
            allocation = made.get(key, use.count)
            if searches[piece.paper].short or (key in cut and key in made):
                allocation = cut.get(key, 0)
            if allocation < use.count:
                missing.append(replace(use, count=use.count - allocation))
        missing = _without_idle(piece, missing)
        if missing:
            yield Uncut(piece.id, sum(use.count for use in missing), tuple(missing))


def _made_of_others(
    batch: Batch, pieces: tuple[Piece, ...], cards: tuple[CardCount, ...]
) -> Counts:
    """What of each use goes into the cards complete, of designs of which some are not.

    Of a layer that is cut in several ways, the first are taken first.
    """
    counts = {(piece.id, n): use.count for piece in pieces for n, use in enumerate(piece.uses)}
    designs = {card.name: card for card in batch.cards}
    made: Counts = {}
    for count in cards:
        if count.complete == count.asked:
            continue
        each = {layer.name: layer.each for layer in designs[count.card].layers}
        for layer, ways in ways_among(pieces, count.card).items():
            left = count.complete
            for way in ways:
                taken = min(left, counts[way[0]] // each.get(layer, 1))
                made |= dict.fromkeys(way, taken * each.get(layer, 1))
                left -= taken
    return made


def _without_idle(piece: Piece, missing: list[Use]) -> list[Use]:
    """What is missing of a piece where the bags hold more of it than all whole cards take."""
    idle = max(0, piece.in_bags - piece.demand + sum(use.count for use in missing))
    left = []
    for use in missing:
        taken = min(idle, use.count)
        idle -= taken
        if taken < use.count:
            left.append(replace(use, count=use.count - taken))
    return left


def _with_idle(
    count: CardCount, batch: Batch, pieces: tuple[Piece, ...], uncut: tuple[Uncut, ...]
) -> CardCount:
    """A count with the cards that are complete as every piece they take lies idle in the bags.

    Only a choice made in too little time leaves any.
    """
    card = next(card for card in batch.cards if card.name == count.card)
    uses = ((one.piece, use) for one in uncut for use in one.uses)
    lacking = max(sets_missing(pieces, card, uses).values(), default=0)
    make = card.make or 0
    complete = min(make, make + card.spares - lacking)
    return replace(count, complete=max(count.complete, complete))


def _entry(answer: GoalAnswer, cards: tuple[CardCount, ...]) -> WholeCards:
    """An answer's entry, with what the plan makes in the end."""
    counts = [count.complete for count in cards if count.card in answer.entry.cards]
    return replace(answer.entry, made=min(counts) if answer.entry.of == "each" else sum(counts))
