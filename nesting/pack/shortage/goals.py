"""What is wanted of papers that are short: whole cards, then spare sets, then loose pieces."""

from collections.abc import Iterable
from dataclasses import dataclass

from nesting.batch import Batch, Card, Piece

#: A use of a piece: the piece's id and the use's place in the piece.
Key = tuple[str, int]
#: How many to cut of each use.
Counts = dict[Key, int]


@dataclass(frozen=True, slots=True)
class Component:
    """A layer of a card, or a loose piece: how many one unit takes, and the uses that supply them.

    ``alike`` says that only one of the uses may supply them.
    """

    name: str
    each: int
    uses: tuple[Key, ...]
    alike: bool = False


@dataclass(frozen=True, slots=True)
class Wish:
    """Something to be made as often as possible, ``most`` at most: sets of its parts.

    ``card`` is the design whose sets they are; None for loose pieces.
    """

    card: str | None
    spare: bool
    most: int
    parts: tuple[Component, ...]


#: Wishes of equal rank: one more of any of them counts the same.
Goal = tuple[Wish, ...]


def goals_of(batch: Batch, pieces: tuple[Piece, ...]) -> list[Goal]:
    """What is wanted, most wanted first.

    The designs that the batch puts first come one by one, then all other designs together; then
    spare sets, then loose pieces.
    """
    cards = {card.name: card for card in batch.cards}
    parts = {card.name: _parts(pieces, card) for card in batch.cards}
    wishes = {n: Wish(n, spare=False, most=card.make, parts=parts[n]) for n, card in cards.items()}
    goals: list[Goal] = [(wishes[name],) for name in batch.first]
    goals.append(tuple(wish for name, wish in wishes.items() if name not in batch.first))
    goals.append(
        tuple(
            Wish(name, spare=True, most=card.spares, parts=parts[name])
            for name, card in cards.items()
            if card.spares
        )
    )
    loose = _parts_by_layer(pieces, None)
    goals.append(
        tuple(
            Wish(None, spare=False, most=total, parts=(Component(layer, 1, uses),))
            for layer, (uses, total) in loose.items()
        )
    )
    return [goal for goal in goals if goal]


def able(goal: Goal, made: dict[Wish, int]) -> Goal:
    """A goal without the spare sets of incomplete designs: such a set would make a card."""
    incomplete = {
        wish.card for wish, number in made.items() if not wish.spare and number < wish.most
    }
    return tuple(wish for wish in goal if not wish.spare or wish.card not in incomplete)


def _parts(pieces: Iterable[Piece], card: Card) -> tuple[Component, ...]:
    layers = {layer.name: layer for layer in card.layers}
    found = []
    for name, (uses, _) in _parts_by_layer(pieces, card.name).items():
        layer = layers.get(name)  # None is the base
        choice = layer.choice if layer else None
        alike = choice is not None and choice.alike == "all" and len(uses) > 1
        found.append(Component(name, layer.each if layer else 1, uses, alike))
    return tuple(found)


def _parts_by_layer(
    pieces: Iterable[Piece], card: str | None
) -> dict[str, tuple[tuple[Key, ...], int]]:
    """By layer of a card, or by loose piece, the uses for it and their count in all."""
    found: dict[str, tuple[tuple[Key, ...], int]] = {}
    for piece in pieces:
        for number, use in enumerate(piece.uses):
            if use.card == card:
                name = use.layer
                uses, total = found.get(name, ((), 0))
                found[name] = (*uses, (piece.id, number)), total + use.count
    return found
