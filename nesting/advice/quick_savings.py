"""What small changes save, by bounds and quick plans: these rule most of them out."""

from dataclasses import dataclass
from typing import Self

from nesting.advice.looks import layer_looks
from nesting.advice.small_changes import Family, SmallChange
from nesting.advice.variants import with_changes
from nesting.cards.merging import by_way
from nesting.cards.middles import find_middles, with_middles
from nesting.cards.resolving import Resolved, resolve
from nesting.cards.warnings import find_warnings
from nesting.needs import complete_of, paper_needs
from nesting.pack import Rounds, may_make_more, quick_saving, solve
from nesting.papers import Paper
from nesting.pieces import Piece
from nesting.plan import Plan, WholeCards

#: What ends a first look at whether a change helps where paper is short.
_QUICK = Rounds(1)
#: No number of spare sets or loose pieces outweighs one card.
_OUTWEIGHS = 1_000_000
#: By name each paper, and the pieces that are cut from it.
_CutFrom = dict[str, tuple[Paper, tuple[Piece, ...]]]


@dataclass(frozen=True, slots=True)
class Shortage:
    """The papers that are short, and how many cards, spare sets and loose pieces are complete.

    Where only cards lack, ``proof`` has the values by which no plan makes more of them.
    """

    papers: tuple[str, ...]
    complete: tuple[int, ...]
    proof: WholeCards | None

    @classmethod
    def of(cls, plan: Plan) -> Self:
        """What is short in a plan, and what it completes all the same."""
        short = tuple(need.paper for need in paper_needs(plan) if need.short)
        return cls(short, _complete(plan), _proof(plan))

    def more_complete(self, plan: Plan) -> int:
        """How much more another plan completes: cards count before spare sets, those before pieces."""
        more = 0
        for then, now in zip(_complete(plan), self.complete, strict=True):
            more = more * _OUTWEIGHS + then - now
        return more

    def may_be_helped(self, changed: Resolved, papers: _CutFrom) -> bool:
        """Whether more may be complete after a change, as far as a bound tells."""
        if self.proof is None or any(one.option for one in changed.requests):
            return True
        return may_make_more(self.proof, changed.batch, papers.values())


@dataclass(frozen=True, slots=True)
class Found:
    """A step of a family with the area in nm² that a first look says it saves of each paper.

    Where paper is short, it is how much more is complete instead. ``layers`` counts those that look
    other than before.
    """

    family: Family
    step: SmallChange
    saved: tuple[tuple[str, int], ...]
    layers: int

    def of(self, paper: str) -> int:
        """What it saves of one paper."""
        return dict(self.saved).get(paper, 0)


def _complete(plan: Plan) -> tuple[int, ...]:
    """How many cards, spare sets and loose pieces are complete."""
    return tuple(complete for complete, _ in complete_of(plan).values())


def _proof(plan: Plan) -> WholeCards | None:
    """The proof of how many cards can be made, if all designs are in it, and only cards lack."""
    if len(plan.whole_cards) != 1 or any(card.make is None for card in plan.asked.cards):
        return None
    made = complete_of(plan)
    others = all(complete == asked for kind, (complete, asked) in made.items() if kind != "card")
    (entry,) = plan.whole_cards
    return entry if others and entry.by == "values" else None


def saving_steps(asked: Resolved, family: Family, short: Shortage, seed: int) -> tuple[Found, ...]:
    """The steps of a family that save more than those before; what an executor's worker does.

    Pieces only get smaller from step to step, so where the last saves nothing, none does.
    """
    last = _saved(asked, family.steps[-1], short, seed) if family.steps else ()
    if not last:
        return ()
    found: list[Found] = []
    for step in family.steps:
        saved = last if step is family.steps[-1] else _saved(asked, step, short, seed)
        if saved and (not found or _total(saved) > _total(found[-1].saved)):
            layers = len(layer_looks(asked.batch, with_changes(asked.batch, step.changes)))
            found.append(Found(family, step, saved, layers))
        if found and _total(found[-1].saved) >= _total(last):
            break
    return tuple(found)


def _quick_pieces(asked: Resolved) -> tuple[Piece, ...]:
    """The pieces of a batch, each layer that may be cut as two ends in the way that takes least area."""
    taken = {}
    for layer, ways in by_way(asked.requests).items():
        faces = [(way[0].piece.paper, way[0].piece.face) for way in ways]
        areas = [sum(one.piece.width * one.piece.height for one in way) for way in ways]
        least = min((n for n, face in enumerate(faces) if face == faces[0]), key=areas.__getitem__)
        taken[layer] = tuple(way[0].sets if n == least else 0 for n, way in enumerate(ways))
    return asked.pieces(taken)


def _total(saved: tuple[tuple[str, int], ...]) -> int:
    return sum(area for _, area in saved)


def _saved(
    asked: Resolved, step: SmallChange, short: Shortage, seed: int
) -> tuple[tuple[str, int], ...]:
    """The area of whole sheets that a step saves of each paper, by quick plans; none if it is unfit.

    Where paper is short, how much more is complete instead.
    """
    batch = asked.batch
    changed = resolve(with_changes(batch, step.changes))
    if changed.faults:
        return ()
    before_pieces, after_pieces = _quick_pieces(asked), _quick_pieces(changed)
    warned = find_warnings(asked, before_pieces)
    if len(find_warnings(changed, after_pieces)) > len(warned):
        return ()
    before_papers, after_papers = _cut_from(asked, before_pieces), _cut_from(changed, after_pieces)
    changes = [
        (name, before_papers[name], after)
        for name, after in after_papers.items()
        if after[1] and before_papers[name] != after
    ]
    if short.papers:
        helped = [name for name, *_ in changes if name in short.papers]
        if not helped or not short.may_be_helped(changed, after_papers):
            return ()
        more = short.more_complete(solve(changed.batch, _QUICK, seed, arranged=False))
        return tuple((name, more) for name in helped if more > 0)
    areas = (
        (name, quick_saving(then, now, batch.trimmer, f"{seed}/{name}"))
        for name, then, now in changes
    )
    return tuple((name, area) for name, area in areas if area)


def _cut_from(asked: Resolved, pieces: tuple[Piece, ...]) -> _CutFrom:
    """By name each paper, with the covered middles that it can be cut from as well, and its pieces."""
    batch = with_middles(asked.batch, find_middles(asked.batch, asked.placed, pieces))
    return {
        paper.name: (paper, tuple(piece for piece in pieces if piece.paper == paper.name))
        for paper in batch.papers
    }
