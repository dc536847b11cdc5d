"""How many sets take each way to cut a layer, from what is cut of each use."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from math import prod

from nesting.cards.merging import Taken, by_way, nameless
from nesting.cards.resolving import Resolved
from nesting.pack.shortage.goals import Counts
from nesting.papers import FaceName
from nesting.pieces import Piece


def taken_of(asked: Resolved, pieces: tuple[Piece, ...], cut: Counts) -> Taken:
    """How many sets take each way.

    Those that are not made count for the paper most often taken, there for the way of least area, of
    such ways for the one most often taken.
    """
    sets = {(one.card or "", one.layer): one.sets for one in asked.requests}
    ways = by_way(asked.requests)
    taken: dict[tuple[str, str], tuple[int, ...]] = {}
    for key, own in _sets_by_way(asked, pieces, cut).items():
        papers = [way[0].piece.paper for way in ways[key]]
        often: Counter[str] = Counter()
        for paper, number in zip(papers, own, strict=True):
            often[paper] += number
        areas = [sum(prod(one.piece.on_sheet(turned=False)) for one in way) for way in ways[key]]
        ranks = [
            (often[paper], -area, number)
            for paper, area, number in zip(papers, areas, own, strict=True)
        ]
        own[ranks.index(max(ranks))] += sets[key] - sum(own)
        taken[key] = tuple(own)
    return taken


def _sets_by_way(
    asked: Resolved, pieces: tuple[Piece, ...], cut: Counts
) -> dict[tuple[str, str], list[int]]:
    """By layer that can be cut in several ways, how many sets are cut in each."""
    found = {
        (nameless(piece), use.card, use.layer, use.end): cut.get((piece.id, number), 0)
        for piece in pieces
        for number, use in enumerate(piece.uses)
    }
    counts: dict[tuple[str, str], list[int]] = {}
    for one in asked.requests:
        if one.card is not None:
            own = counts.setdefault((one.card, one.layer), [])
            # A design that there is no paper for may have ways without a piece.
            cut_so = found.get((nameless(one.piece), one.card, one.layer, one.end), 0) // one.each
            own[one.option :] = [min([cut_so, *own[one.option :]])]
    return {key: own for key, own in counts.items() if len(own) > 1}


def with_choices(
    asked: Resolved, taken: Taken, chosen: Mapping[str, tuple[tuple[Piece, ...], Counts]]
) -> Taken:
    """The same with what is chosen anew for some papers: pieces, and what is cut of them.

    Nothing is chosen of a layer whose every piece from a paper's face lies in the bags.
    """
    of_papers = {name: _sets_by_way(asked, *choice) for name, choice in chosen.items()}
    changed = {key: list(own) for key, own in taken.items()}
    numbers: dict[tuple[tuple[str, str], str, FaceName], dict[int, int]] = {}
    for one in asked.requests:
        key, paper = (one.card or "", one.layer), one.piece.paper
        if key in changed and paper in of_papers:
            own = numbers.setdefault((key, paper, one.piece.face), {})
            own[one.option] = of_papers[paper][key][one.option]
    for (key, _, _), own in numbers.items():
        if any(own.values()):
            for option, number in own.items():
                changed[key][option] = number
    return {key: tuple(own) for key, own in changed.items()}


def named_as(pieces: tuple[Piece, ...], candidates: tuple[Piece, ...]) -> tuple[Piece, ...]:
    """The pieces with the ids that they have among the candidates."""
    ids = {nameless(piece): piece.id for piece in candidates}
    return tuple(replace(one, id=ids[nameless(one)]) for one in pieces)
