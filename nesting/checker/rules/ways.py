"""Layers that can be cut in several ways: which sets take which, and what all of them take at least."""

from collections import Counter
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from nesting.batch import Card
from nesting.checker.asked.equal import EqualPieces
from nesting.checker.asked.parts import Part
from nesting.checker.case import Case
from nesting.papers import Paper


class LayerFromPaper(NamedTuple):
    """Sets of a layer that take one face of a paper, and the ways in which it can be cut from that."""

    sets: int
    ways: list[list[Part]]


def layers_of(case: Case, paper: str) -> Iterator[LayerFromPaper]:
    """The layers that are cut from a paper: whole, or as two ends somewhere.

    Which face or paper they take is as the plan chooses; how they are cut from it stays open.
    """
    for card in case.batch.cards:
        for ways in case.ways[card.name].values():
            faces = dict.fromkeys(way[0].kind.face for way in ways if way[0].kind.paper == paper)
            for face in faces:
                own = [
                    way for way in ways if (way[0].kind.paper, way[0].kind.face) == (paper, face)
                ]
                sets = sum(sets_taking(case, card, way) for way in own)
                yield LayerFromPaper(sets, own)


def sets_taking(case: Case, card: Card, way: list[Part]) -> int:
    """How many sets of a card the plan cuts a layer for in a way; of two ends, the first tells."""
    first = way[0]
    return uses_of(case, card, first) // first.each


def uses_of(case: Case, card: Card, part: Part) -> int:
    """How many of a part the pieces of the plan are for."""
    named = (card.name, part.layer, part.end)
    return sum(
        one.count
        for one in case.wanted.get(part.kind, [])
        if (one.card, one.layer, one.end) == named
    )


def taken_at_least(case: Case, paper: str, worth: Mapping[EqualPieces, int]) -> int:
    """What all that is cut from a paper beside the bags is worth at least, in whichever ways.

    A kind is worth nothing where the bags hold as many as can be taken.
    """
    opened = list(layers_of(case, paper))
    closed: Counter[EqualPieces] = Counter()
    for kind, uses in case.wanted.items():
        if kind.paper == paper:
            closed[kind] += sum(use.count for use in uses if use.card is None)
    most = Counter(closed)
    for one in opened:
        for way in one.ways:
            for part in way:
                most[part.kind] += one.sets * part.each
    worths = {
        kind: 0 if case.bags.get(kind, 0) >= number else worth.get(kind, 0)
        for kind, number in most.items()
    }
    total = sum(number * worths[kind] for kind, number in closed.items())
    total += sum(
        one.sets * min(sum(worths[part.kind] * part.each for part in way) for way in one.ways)
        for one in opened
    )
    return max(0, total - sum(case.bags.get(kind, 0) * value for kind, value in worths.items()))


def most_pieces(case: Case, paper: Paper) -> int:
    """How many pieces of a paper are to be cut at most, in whichever ways."""
    further = sum(
        one.sets * (max(map(len, one.ways)) - 1)
        for one in layers_of(case, paper.name)
        if len(one.ways) > 1
    )
    return case.asked_of(paper) + further
