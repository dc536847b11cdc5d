"""What is wanted of papers that limit it, in order: what has a number, then as many as possible."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from nesting.batch import Batch, Card
from nesting.cards.merging import PlaceOfUse, Way, ways_among
from nesting.pieces import Piece

#: How many to cut of each use.
Counts = dict[PlaceOfUse, int]


def counts_of(pieces: Iterable[Piece]) -> Counts:
    """How many are asked for of each use."""
    return {(piece.id, n): use.count for piece in pieces for n, use in enumerate(piece.uses)}


@dataclass(frozen=True, slots=True)
class Component:
    """A layer of a card, or a loose piece: ``each`` go into a set, and the ways to cut one.

    Where all cards are to be alike, ``papers`` numbers the paper of each way, and only ways of one
    paper may be taken.
    """

    name: str
    each: int
    ways: tuple[Way, ...]
    papers: tuple[int, ...] = ()

    @property
    def uses(self) -> tuple[PlaceOfUse, ...]:
        """Every use of every way."""
        return tuple(use for way in self.ways for use in way)


@dataclass(frozen=True, slots=True)
class Wish:
    """Something to be made as often as possible, up to ``most``: sets of its components.

    ``card`` is the design whose sets they are; None for loose pieces. ``before`` sets are made
    anyway. A share is of ``most``, or of ``of``, which is the same for all wishes that are compared.
    ``even`` says that in its goal the fewest made of any wish count, not the sum.
    """

    card: str | None
    most: int
    components: tuple[Component, ...]
    spare: bool = False
    before: int = 0
    of: int = 0
    even: bool = False

    @property
    def whole(self) -> int:
        """The number that a share made is of."""
        return self.of or self.most

    def share(self, made: int) -> Fraction:
        """The share that so many are, with those made anyway."""
        return Fraction(self.before + made, self.whole)


#: Wishes of equal rank: one more of any of them counts the same.
Goal = tuple[Wish, ...]


def counts_fewest(goal: Goal) -> bool:
    """Whether the fewest made of any wish of a goal count, not the sum."""
    return len(goal) > 1 and goal[0].even


def goals_of(batch: Batch, pieces: tuple[Piece, ...], most: Mapping[str, int]) -> list[Goal]:
    """What is wanted, most wanted first.

    Designs that have a number: those that the batch puts first one by one, then the others together.
    Then spare sets, then loose pieces. Then designs without a number: what is asked at least, then in
    the same order the rest, up to ``most`` in all.
    """
    components = {card.name: _components(pieces, card) for card in batch.cards}
    numbered = {
        card.name: Wish(card.name, card.make, components[card.name])
        for card in batch.cards
        if card.make is not None
    }
    spares = tuple(
        Wish(card.name, card.spares, components[card.name], spare=True)
        for card in batch.cards
        if card.spares
    )
    at_least = tuple(
        Wish(card.name, card.at_least, components[card.name])
        for card in batch.cards
        if card.make is None and card.at_least
    )
    further = {
        card.name: Wish(
            card.name,
            most[card.name] - card.at_least,
            components[card.name],
            before=card.at_least,
            of=max(1, most[card.name]),
        )
        for card in batch.cards
        if card.name in most
    }
    goals = [*_in_order(batch, numbered), spares, _loose_pieces(pieces), at_least]
    return [goal for goal in (*goals, *_in_order(batch, further)) if goal]


def _loose_pieces(pieces: tuple[Piece, ...]) -> Goal:
    counts = counts_of(pieces)
    return tuple(
        Wish(
            None,
            sum(counts[place] for way in ways for place in way),
            (Component(name, 1, tuple(ways)),),
        )
        for name, ways in ways_among(pieces, None).items()
    )


def _in_order(batch: Batch, wishes: Mapping[str, Wish]) -> list[Goal]:
    """The designs that the batch puts first one by one, then the others together, by its aim."""
    goals: list[Goal] = [(wishes[name],) for name in batch.first if name in wishes]
    others = [wish for name, wish in wishes.items() if name not in batch.first]
    even = batch.aim == "even" and len(others) > 1
    if even or any(wish.of for wish in others):  # counts are compared
        of = max(wish.before + wish.whole for wish in others)
        others = [replace(wish, of=of, even=even) for wish in others]
    return [*goals, tuple(others)]


def sets_of(component: Component, made: Mapping[Wish, int]) -> int:
    """How many sets take a component."""
    return sum(number for wish, number in made.items() if component in wish.components)


def _components(pieces: Iterable[Piece], card: Card) -> tuple[Component, ...]:
    layers = {layer.name: layer for layer in card.layers}
    by_id = {piece.id: piece for piece in pieces}
    found = []
    for name, ways in ways_among(by_id.values(), card.name).items():
        layer = layers.get(name)  # None is the base
        choice = layer.choice if layer else None
        pieces_of = [by_id[way[0][0]] for way in ways]
        papers = list(dict.fromkeys((piece.paper, piece.face) for piece in pieces_of))
        numbers: tuple[int, ...] = ()
        if choice is not None and choice.alike == "all" and len(papers) > 1:
            numbers = tuple(papers.index((piece.paper, piece.face)) for piece in pieces_of)
        found.append(Component(name, layer.each if layer else 1, tuple(ways), numbers))
    return tuple(found)
