"""What is wanted of papers that limit it: what has a number, then as many cards as possible."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from nesting.batch import Batch, Card
from nesting.merging import PlaceOfUse, Way, ways_among
from nesting.pieces import Piece

#: A use of a piece: the piece's id and the use's place in the piece.
Key = PlaceOfUse
#: How many to cut of each use.
Counts = dict[Key, int]


@dataclass(frozen=True, slots=True)
class Component:
    """A layer of a card, or a loose piece: how many one unit takes, and the ways that supply them.

    A way takes one of each of its uses. Where all cards are to be alike, ``papers`` has of each way
    a number for its paper, and only ways of one of these may supply them.
    """

    name: str
    each: int
    ways: tuple[Way, ...]
    papers: tuple[int, ...] = ()

    @property
    def uses(self) -> tuple[Key, ...]:
        """Every use of every way."""
        return tuple(key for way in self.ways for key in way)


@dataclass(frozen=True, slots=True)
class Wish:
    """Something to be made as often as possible, ``most`` at most: sets of its parts.

    ``card`` is the design whose sets they are; None for loose pieces. ``before`` of it are made
    anyway. A share made is one of ``most``, or of ``of`` where that is given: where the counts of
    several wishes are compared, it is the same for all. ``even`` says that of the goal it belongs
    to the fewest made count first, and not the number.
    """

    card: str | None
    spare: bool
    most: int
    parts: tuple[Component, ...]
    before: int = 0
    of: int = 0
    even: bool = False

    @property
    def whole(self) -> int:
        """What a share made of it is taken of."""
        return self.of or self.most

    def share(self, made: int) -> Fraction:
        """The share made where so many are."""
        return Fraction(self.before + made, self.whole)


#: Wishes of equal rank: one more of any of them counts the same.
Goal = tuple[Wish, ...]


def counts_fewest(goal: Goal) -> bool:
    """Whether the fewest made of a goal count first, and not the number."""
    return len(goal) > 1 and goal[0].even


def goals_of(batch: Batch, pieces: tuple[Piece, ...], most: Mapping[str, int]) -> list[Goal]:
    """What is wanted, most wanted first.

    Of what has a number, the designs that the batch puts first come one by one, then all others
    together; then spare sets, then loose pieces. Then come the designs of which as many as possible
    are made, ``most`` at most: what is asked of each at least, then in the same order the rest.
    """
    cards = {card.name: card for card in batch.cards}
    parts = {card.name: _parts(pieces, card) for card in batch.cards}
    wishes = {
        n: Wish(n, spare=False, most=card.make, parts=parts[n])
        for n, card in cards.items()
        if card.make is not None
    }
    goals = _in_order(batch, wishes)
    goals.append(
        tuple(
            Wish(name, spare=True, most=card.spares, parts=parts[name])
            for name, card in cards.items()
            if card.spares
        )
    )
    by_key = {(piece.id, n): use for piece in pieces for n, use in enumerate(piece.uses)}
    goals.append(
        tuple(
            Wish(
                None,
                spare=False,
                most=sum(by_key[key].count for way in ways for key in way),
                parts=(Component(layer, 1, tuple(ways)),),
            )
            for layer, ways in ways_among(pieces, None).items()
        )
    )
    goals.append(
        tuple(
            Wish(name, spare=False, most=card.at_least, parts=parts[name])
            for name, card in cards.items()
            if card.make is None and card.at_least
        )
    )
    further = {
        name: Wish(
            name,
            spare=False,
            most=number - cards[name].at_least,
            parts=parts[name],
            before=cards[name].at_least,
            of=max(1, number),
        )
        for name, number in most.items()
    }
    goals += _in_order(batch, further)
    return [goal for goal in goals if goal]


def _in_order(batch: Batch, wishes: Mapping[str, Wish]) -> list[Goal]:
    """The designs that come first one by one, then the others together, by the aim of the batch."""
    goals: list[Goal] = [(wishes[name],) for name in batch.first if name in wishes]
    others = [wish for name, wish in wishes.items() if name not in batch.first]
    even = batch.aim == "even" and len(others) > 1
    if even or any(wish.of for wish in others):  # counts are compared
        of = max(wish.before + wish.whole for wish in others)
        others = [replace(wish, of=of, even=even) for wish in others]
    return [*goals, tuple(others)]


def able(goal: Goal, made: dict[Wish, int]) -> Goal:
    """A goal without the spare sets of incomplete designs: such a set would make a card."""
    incomplete = {
        wish.card for wish, number in made.items() if not wish.spare and number < wish.most
    }
    return tuple(wish for wish in goal if not wish.spare or wish.card not in incomplete)


def _parts(pieces: Iterable[Piece], card: Card) -> tuple[Component, ...]:
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
