"""How many layers of a paper are cut as two ends, so that its sheets cost least."""

from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, replace

from nesting.cards.merging import Taken, Way, ways_among
from nesting.cards.resolving import Resolved
from nesting.pack.bounds.dual_bounds import area_bound, bound_by
from nesting.pack.model.deadline import TimeIsUpError
from nesting.pack.model.problem import Problem, make_problem
from nesting.pack.search.incumbent import Search
from nesting.pack.shortage.allocation import Allocation
from nesting.pack.shortage.cheapest import Cheapest
from nesting.pack.shortage.goals import Component, Wish, counts_of
from nesting.pack.shortage.short_papers import Shortage, Terms
from nesting.pack.shortage.solve_cards import search_for
from nesting.pack.shortage.taking import named_as
from nesting.pieces import Piece
from nesting.plan import Bound
from nesting.sheets import supplies


def joined_papers(asked: Resolved) -> list[str]:
    """The papers of layers that can be cut from them in several ways, in the order of the batch."""
    ways = {
        (one.card, one.layer, one.piece.paper, one.piece.face, one.option) for one in asked.requests
    }
    several = Counter(way[:-1] for way in ways)
    names = {paper for (_, _, paper, _), number in several.items() if number > 1}
    return [paper.name for paper in asked.batch.papers if paper.name in names]


@dataclass(frozen=True, slots=True)
class JointChoice:
    """How many layers of one paper are best cut as two ends; None where that was not found.

    ``pieces`` are those of every way, each for all sets that take the paper.
    """

    pieces: tuple[Piece, ...]
    cheapest: Cheapest
    best: Allocation | None

    @property
    def problem(self) -> Problem:
        """The packing problem of all ways."""
        (problem,) = self.cheapest.shortage.problems.values()
        return problem

    def bounds(self, pieces: int) -> tuple[Bound, ...]:
        """What any choice costs at least where so many pieces are cut, by areas and by values.

        The best bound comes first.
        """
        problem = priced_for(self.problem, pieces)
        needed, values = self.cheapest.needed, self.cheapest.values
        found = [area_bound(problem, needed({kind.piece: kind.area for kind in problem.kinds}))]
        for table in self.cheapest.shortage.tables.values() if values else ():
            own = [values[kind.piece] for kind in problem.kinds]
            with suppress(TimeIsUpError):
                found.append(bound_by(problem, table, own, needed(values)))
        return tuple(sorted(found, key=lambda bound: -bound.value))


def priced_for(problem: Problem, pieces: int) -> Problem:
    """A problem with the costs of sheets where so many pieces are cut (``sheets.supplies``)."""
    stock = {(one.sheet, one.bought): one for one in supplies(problem.paper, pieces)}
    own = tuple(stock[one.sheet, one.bought] for one in problem.supplies)
    return replace(problem, supplies=own)


def choose_joints(
    asked: Resolved, taken: Taken, candidates: tuple[Piece, ...], paper: str, seed: int
) -> JointChoice:
    """Choose how many of each layer of a paper are cut whole, and how many with which joint.

    One integer programme over the patterns of all ways: first the least cost of sheets, then few
    joints. How many sets take the paper is as in ``taken``. The pieces have the ids of the
    ``candidates``.
    """
    batch = asked.batch
    pieces = named_as(asked.pieces(_for_all(asked, taken)), candidates)
    problem = make_problem(batch.paper(paper), pieces, batch.trimmer)
    goal = tuple(_wishes(asked, [piece for piece in pieces if piece.paper == paper]))
    made = {wish: wish.most for wish in goal}
    terms = tuple(
        Terms(0, supply.cost, supply.count) if supply.cost else Terms(supply.count)
        for supply in problem.supplies
    )
    shortage = Shortage({paper: problem}, pieces, [goal], {paper: terms})
    if any(problem.demand):
        shortage.add(paper, Search(problem, f"{seed}/{paper}/joints").pool.columns)
        components = [component for wish in goal for component in wish.components]
        cut = {key: shortage.count(key) for component in components for key in component.ways[0]}
        search_for(shortage, Allocation(made, cut), f"{seed}/joints")  # as if nothing were joined
    cheapest = Cheapest(shortage, made, "joints")
    best, _ = cheapest.choose()
    return JointChoice(pieces, cheapest, best)


def _for_all(asked: Resolved, taken: Taken) -> Taken:
    """The same as if all sets that take a paper took every way to cut from it."""
    papers: dict[tuple[str, str], dict[int, tuple[str, str]]] = {}
    for one in asked.requests:
        if (one.card or "", one.layer) in taken:
            own = papers.setdefault((one.card or "", one.layer), {})
            own[one.option] = one.piece.paper, one.piece.face
    return {
        key: tuple(
            sum(n for n, other in zip(counts, papers[key].values(), strict=True) if other == paper)
            for paper in papers[key].values()
        )
        for key, counts in taken.items()
    }


def _wishes(asked: Resolved, pieces: list[Piece]) -> Iterator[Wish]:
    """A wish for the sets of each layer that take a paper's face, for bases, and for loose pieces."""
    each = {(one.card, one.layer): one.each for one in asked.requests}
    counts = counts_of(pieces)
    faces = {piece.id: piece.face for piece in pieces}
    for card in (*(card.name for card in asked.batch.cards), None):
        for layer, ways in ways_among(pieces, card).items():
            # Loose pieces of one name are asked for each by itself.
            apart: dict[object, list[Way]] = {}
            for way in ways:
                apart.setdefault(way if card is None else faces[way[0][0]], []).append(way)
            for some in apart.values():
                component = Component(layer, each[card, layer], tuple(some))
                sets = counts[component.ways[0][0]] // component.each
                yield Wish(card, sets, (component,))
