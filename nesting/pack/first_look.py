"""A first look at a change of papers or of pieces: what it saves, or whether more cards may be made."""

from collections.abc import Collection
from dataclasses import dataclass
from functools import lru_cache

from nesting.batch import Batch, Trimmer
from nesting.pack.bounds.dual_bounds import area_bound
from nesting.pack.model.limits import FirstOf, NoGain, Rounds
from nesting.pack.model.problem import Problem, make_problem
from nesting.pack.search.incumbent import Search
from nesting.pack.search.schedule import improve
from nesting.pack.shortage.card_bounds import cards_by_values
from nesting.pack.shortage.goals import goals_of
from nesting.pack.shortage.short_papers import Shortage
from nesting.papers import Paper
from nesting.pieces import Piece
from nesting.plan import WholeCards

#: What ends a first look at a change; those that are suggested are planned in full.
_QUICK = FirstOf((Rounds(40), NoGain(20)))


def quick_saving(
    before: tuple[Paper, tuple[Piece, ...]],
    after: tuple[Paper, tuple[Piece, ...]],
    trimmer: Trimmer,
    seed: str,
) -> int:
    """The area of whole sheets in nm² that a change seems to save of a paper; 0 where it saves none."""
    old, new = make_problem(*before, trimmer), make_problem(*after, trimmer)
    if old == new:
        return 0
    present = _need(old, seed, None)
    least = min(_sheet_area(problem) for problem in (old, new))
    alike = old.supplies == new.supplies
    then = _need(new, seed, present.cost if alike and present is not None else None)
    if present is None or then is None or present.area - then.area < least:
        return 0
    return present.area - then.area


def may_make_more(
    proof: WholeCards, batch: Batch, papers: Collection[tuple[Paper, tuple[Piece, ...]]]
) -> bool:
    """Whether more cards may be made after a change, by the values that prove how many can be now.

    ``batch`` is the one after it: every design has a number, every layer one way to be cut. ``papers``
    are those with the pieces to be cut from them.
    """
    if batch.trimmer.stops:
        return True
    problems = {
        paper.name: make_problem(paper, own, batch.trimmer)
        for paper, own in papers
        if any(held.paper == paper.name for held in proof.held)
    }
    pieces = tuple(piece for _, own in papers for piece in own)
    goal, *_ = goals = goals_of(batch, pieces, {})
    shortage = Shortage(problems, pieces, goals)
    values = {piece: proof.values.get(piece, 0) for piece in shortage.papers}
    return cards_by_values(shortage, goal, {}, values).most > proof.made


def _sheet_area(problem: Problem) -> int:
    """The area of the smallest whole sheet: a saving of less than one is none."""
    whole = [one.sheet for one in problem.supplies if not one.sheet.offcut]
    return min(sheet.width * sheet.height for sheet in whole)


@dataclass(frozen=True, slots=True)
class _Need:
    """What a quick plan of a paper costs, and the area of its whole sheets in nm²."""

    cost: int
    area: int


@lru_cache(maxsize=4096)  # many changes leave some papers, or the same pieces, as they were
def _need(problem: Problem, seed: str, below: int | None) -> _Need | None:
    """A quick plan's need; None where a bound says that it does not get below a cost."""
    if below is not None and area_bound(problem).value >= below:
        return None
    search = Search(problem, seed)
    if not search.proven:
        for _ in improve(search):
            if below is not None and search.bound.value >= below:
                return None
            if _QUICK(search.state(0.0)):
                break
    area = 0
    for used in search.best:
        sheet = problem.supplies[used.column.supply].sheet
        area += 0 if sheet.offcut else used.count * sheet.width * sheet.height
    return _Need(search.cost, area)
