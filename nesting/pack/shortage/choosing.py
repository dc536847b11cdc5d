"""What a batch leaves open, chosen before any paper is searched: papers, joints, numbers of cards."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from nesting.batch import Batch
from nesting.cards.merging import Taken
from nesting.cards.resolving import Resolved
from nesting.pack.model.columns import Used
from nesting.pack.model.otherwise import with_demand
from nesting.pack.model.problem import Problem, make_problem
from nesting.pack.search.incumbent import Search
from nesting.pack.shortage.allocation import made_of_cards
from nesting.pack.shortage.card_bounds import most_reached
from nesting.pack.shortage.few_joints import few_sheets_and_joints
from nesting.pack.shortage.goals import Counts, counts_fewest, goals_of
from nesting.pack.shortage.joint_choice import choose_joints, joined_papers, priced_for
from nesting.pack.shortage.maximise_goal import GoalAnswer, reach_goals
from nesting.pack.shortage.paper_choice import buying, cost_to_buy
from nesting.pack.shortage.short_papers import Shortage
from nesting.pack.shortage.taking import named_as, taken_of, with_choices
from nesting.pieces import Piece
from nesting.plan import Bound, Plan, WholeCards


@dataclass(frozen=True, slots=True)
class Chosen:
    """The batch with nothing left open, and its pieces.

    No choice makes more cards than ``entries`` say, or buys for less than ``least``. Where as many
    cards as possible are made, ``answers`` say what is made of each goal. ``sheets`` yield what is
    chosen, by paper with the problem of every way. Where layers may be cut as two ends, no choice
    costs less than the ``bounds`` of their papers, the best first, which may give values to pieces
    that are ``unchosen``.
    """

    counted: Resolved
    pieces: tuple[Piece, ...]
    least: int
    entries: tuple[WholeCards, ...]
    answers: tuple[GoalAnswer, ...] = ()
    sheets: Mapping[str, tuple[Problem, tuple[Used, ...]]] = field(default_factory=dict)
    bounds: Mapping[str, tuple[Bound, ...]] = field(default_factory=dict)
    unchosen: tuple[Piece, ...] = ()

    @property
    def known(self) -> dict[str, tuple[Problem, tuple[Used, ...]]]:
        """The sheets with the problem of what is cut of each paper, at the costs of so many pieces."""
        demand = {piece.id: piece.to_cut for piece in self.pieces}
        return {
            name: (with_demand(priced_for(problem, _number(name, self.pieces)), demand), own)
            for name, (problem, own) in self.sheets.items()
        }

    def agrees(self, searches: Mapping[str, Search]) -> bool:
        """Whether all that is not made takes a paper that the searches, too, have found short."""
        if not self.answers:
            return True
        short = {kind.piece for s in searches.values() if s.short for kind in s.problem.kinds}
        made = self.answers[-1].allocation.made
        return all(
            any(piece in short for component in wish.components for piece, _ in component.uses)
            for wish, number in made.items()
            if number < wish.most and not wish.of
        )


def settle_choices(asked: Resolved, seed: int, searches: Mapping[str, Search]) -> Chosen:
    """Choose papers and numbers by one integer programme over the patterns of all papers concerned.

    First all goals are reached in their order, then least is bought, then few sheets are taken, then
    few joints and few papers to a layer. ``searches`` are those that have shown an earlier choice to
    be wrong.
    """
    batch = asked.batch
    if not asked.most and not any(one.option for one in asked.requests):
        return Chosen(asked, asked.pieces(), 0, ())
    known, pieces, answers = reach_most(asked, seed, searches)
    made, least = answers[-1].allocation.made, 0
    if _has_choices(batch):
        reached = [answer.goal for answer in answers]
        upper = asked.counted(asked.most).batch
        bought = buying(upper, pieces, reached, known.problems, made)
        for name, pool in known.pools.items():
            bought.shortage.add(name, pool.columns)
        better, least = bought.choose()
    else:
        better = few_sheets_and_joints(known, made, 0, str(seed))
    answers[-1] = replace(answers[-1], allocation=better or answers[-1].allocation)
    if asked.most:
        return _counted(asked, pieces, answers, least, known.problems, seed)
    allocation = answers[-1].allocation
    taken = taken_of(asked, pieces, allocation.cut)
    entries = tuple(answer.entry for answer in answers if answer.entry.cards)
    chosen = Chosen(asked, asked.pieces(taken), least, entries)
    lacking = any(n < wish.most for one in answers for wish, n in one.allocation.made.items())
    joined = {name: (problem, allocation.sheets[name]) for name, problem in known.problems.items()}
    return _with_joints(chosen, taken, pieces, seed, joined if lacking else {})


def reach_most(
    asked: Resolved, seed: int, searches: Mapping[str, Search]
) -> tuple[Shortage, tuple[Piece, ...], list[GoalAnswer]]:
    """Make most of each goal in its order: the papers that limit it, the pieces of every way, the answers."""
    batch = asked.batch
    upper = asked.counted(asked.most)
    pieces = upper.candidates()
    goals = goals_of(batch, pieces, asked.most)
    limited = {  # also beside plenty, which may be too small
        paper.name: make_problem(paper, pieces, batch.trimmer)
        for paper in upper.batch.papers
        if not paper.buy and any(sheet.have is not None for sheet in paper.sheets)
        if any(piece.paper == paper.name and piece.demand for piece in pieces)
    }
    known = Shortage(limited, pieces, goals)
    for name, problem in limited.items():
        known.add(name, Search(problem, f"{seed}/{name}/choice").pool.columns)
        if name in searches:
            known.add(name, searches[name].pool.columns)
    if asked.most:
        known.fill_greedily(seed)
    return known, pieces, reach_goals(known, goals, seed)


def reached_by(answers: Sequence[GoalAnswer]) -> list[tuple[int, ...]]:
    """How many are made of each goal, in all or, where these are to be even, of each design."""
    found: list[tuple[int, ...]] = []
    made = answers[-1].allocation.made
    for answer in answers:
        counts = [wish.before + made.get(wish, 0) for wish in answer.goal]
        found.append(tuple(sorted(counts)) if counts_fewest(answer.goal) else (sum(counts),))
    return found


def _with_joints(
    chosen: Chosen,
    taken: Taken,
    candidates: tuple[Piece, ...],
    seed: int,
    joined: Mapping[str, tuple[Problem, tuple[Used, ...]]],
) -> Chosen:
    """The same with bounds over all ways, and with the cheapest joints on all but some papers.

    Of the papers ``joined`` they are chosen already, with the cards made, and these sheets. The
    ``candidates`` are the pieces of every way, whose ids the pieces keep.
    """
    asked = chosen.counted
    names = joined_papers(asked)
    if not names:
        return chosen
    choices = {name: choose_joints(asked, taken, candidates, name, seed) for name in names}
    found = {
        name: (choice, choice.best)
        for name, choice in choices.items()
        if choice.best is not None and name not in joined
    }
    cut = {name: (choice.pieces, best.cut) for name, (choice, best) in found.items()}
    taken = with_choices(asked, taken, cut)
    pieces = named_as(asked.pieces(taken), candidates)
    cheapest = {name: (choice.problem, best.sheets[name]) for name, (choice, best) in found.items()}
    there = {piece.id for piece in pieces}
    valued = {id_ for entry in chosen.entries for id_ in entry.values}
    return replace(
        chosen,
        pieces=pieces,
        sheets={**joined, **cheapest},
        bounds={
            name: choice.bounds(_number(name, pieces))
            for name, choice in choices.items()
            if any(piece.paper == name and piece.demand for piece in pieces)
        },
        unchosen=tuple(
            replace(one, letter="", demand=0, uses=(), in_bags=0)
            for one in candidates
            if one.id not in there and (one.paper in names or one.id in valued)
        ),
    )


def _number(paper: str, pieces: tuple[Piece, ...]) -> int:
    """How many pieces are cut of a paper."""
    return sum(piece.to_cut for piece in pieces if piece.paper == paper)


def _has_choices(batch: Batch) -> bool:
    return any(layer.choice for card in batch.cards for layer in card.layers)


def _counted(
    asked: Resolved,
    candidates: tuple[Piece, ...],
    answers: list[GoalAnswer],
    least: int,
    limited: Mapping[str, Problem],
    seed: int,
) -> Chosen:
    """The batch with the numbers made, or those asked at least; its pieces keep the candidates' ids."""
    allocation = answers[-1].allocation
    made = made_of_cards(allocation.made)
    numbers = {
        card.name: max(made.get(card.name, 0), card.at_least)
        for card in asked.batch.cards
        if card.name in asked.most
    }
    counted = asked.counted(numbers)
    taken = taken_of(counted, candidates, allocation.cut)
    pieces = named_as(counted.pieces(taken), candidates)
    cut = _cut_of(pieces, candidates, allocation.cut)
    # Those of papers to buy may hold pieces of options that are not taken.
    sheets = {name: allocation.sheets[name] for name in limited}
    answers[-1] = replace(answers[-1], allocation=replace(allocation, cut=cut, sheets=sheets))
    joined = {name: (problem, sheets[name]) for name, problem in limited.items()}
    entries = tuple(entries_of(asked, answers))
    chosen = Chosen(counted, pieces, least, entries, tuple(answers), joined)
    return _with_joints(chosen, taken, candidates, seed, joined)


def _cut_of(pieces: tuple[Piece, ...], candidates: tuple[Piece, ...], cut: Counts) -> Counts:
    """What is cut of each use, by its place in the pieces: they lack some uses of the candidates."""
    there = {piece.id: piece for piece in candidates}
    found: Counts = {}
    for piece in pieces:
        uses = enumerate(there[piece.id].uses)
        for number, use in enumerate(piece.uses):
            same = next(n for n, one in uses if replace(one, count=use.count) == use)
            if (piece.id, same) in cut:
                found[piece.id, number] = cut[piece.id, same]
    return found


def entries_of(asked: Resolved, answers: Sequence[GoalAnswer]) -> Iterator[WholeCards]:
    """The entries for whole cards; for what is asked at least, only where not all of it is made."""
    cards = {card.name: card for card in asked.batch.cards}
    for answer in answers:
        goal, entry = answer.goal, answer.entry
        own = [cards[name] for name in entry.cards]
        if not own:
            continue
        if own[0].make is not None:
            yield entry
        elif not goal[0].of:
            if entry.made < most_reached(goal):
                yield entry
        else:
            limits = [card.at_most for card in own if card.at_most is not None]
            asked_for: int | None = None
            if entry.of == "each":
                asked_for = min(limits, default=None)
            elif len(limits) == len(own):
                asked_for = sum(limits)
            yield replace(entry, asked=asked_for)


def with_choice(plan: Plan, chosen: Chosen, asked: Batch) -> Plan:
    """The plan as an answer to what was asked, with the result of the choice.

    Where papers or joints were chosen, its bounds hold for every choice.
    """
    entries, cost = chosen.entries if chosen.answers else plan.whole_cards, None
    if chosen.bounds and not chosen.answers:
        over_all = {entry.cards: entry for entry in chosen.entries}
        entries = tuple(
            replace(over_all[one.cards], made=one.made) if one.cards in over_all else one
            for one in entries
        )
    if _has_choices(asked):
        if not chosen.answers:
            most = {entry.cards: entry.most for entry in chosen.entries}
            entries = tuple(
                replace(one, most=max(one.made, most.get(one.cards, one.asked or 0)))
                for one in entries
            )
        entries = tuple(replace(one, by="search", held=(), values={}) for one in entries)
        cost = cost_to_buy(plan)
        cost = replace(cost, least=min(cost.value, chosen.least))
    sure = all(one.proven for one in entries) and (cost is None or cost.least == cost.value)
    ended = "limit" if plan.ended == "proven" and not sure else plan.ended
    return replace(plan, asked=asked, whole_cards=entries, chosen=cost, ended=ended)
