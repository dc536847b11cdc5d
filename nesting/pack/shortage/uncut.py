"""What is not cut where paper is short, and how many cards are complete."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from nesting.batch import Batch
from nesting.cards.merging import sets_missing, ways_among
from nesting.pack.search.incumbent import Search
from nesting.pack.shortage.allocation import Allocation, made_of_cards
from nesting.pack.shortage.goals import Counts, counts_of
from nesting.pieces import Piece, Use
from nesting.plan import CardCount, Uncut


def find_uncut(
    batch: Batch,
    pieces: tuple[Piece, ...],
    searches: Mapping[str, Search],
    allocation: Allocation,
) -> tuple[tuple[Uncut, ...], tuple[CardCount, ...]]:
    """What is not cut of each piece, and how many cards of each design have all theirs."""
    made = made_of_cards(allocation.made)
    promised = tuple(
        CardCount(card.name, card.make or 0, made.get(card.name, card.make or 0))
        for card in batch.cards
    )
    uncut = tuple(_uncut(batch, pieces, searches, allocation.cut, promised))
    return uncut, tuple(_with_idle(count, batch, pieces, uncut) for count in promised)


def hosts_cut(
    pieces: tuple[Piece, ...], uncut: tuple[Uncut, ...]
) -> dict[tuple[str | None, str], int]:
    """By card and layer, how many pieces are surely cut beside those in the bags."""
    missing = {(use.card, use.layer): use.count for one in uncut for use in one.uses}
    found = {}
    for piece in pieces:
        for use in piece.uses:
            host = use.card, use.layer
            found[host] = max(0, use.count - missing.get(host, 0) - piece.in_bags)
    return found


def _uncut(
    batch: Batch,
    pieces: tuple[Piece, ...],
    searches: Mapping[str, Search],
    cut: Counts,
    cards: tuple[CardCount, ...],
) -> Iterator[Uncut]:
    """What short papers do not yield, and the other pieces of cards that lack it."""
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
    """How many of each use go into complete cards, for designs that lack cards.

    Where a layer is cut in several ways, the first are taken first.
    """
    counts = counts_of(pieces)
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
    """What is missing of a piece beyond those that lie in the bags and that no whole card takes."""
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
    """A count with the cards whose every piece lies idle in the bags.

    There are some only where a choice was made in too little time.
    """
    card = next(card for card in batch.cards if card.name == count.card)
    uses = ((one.piece, use) for one in uncut for use in one.uses)
    lacking = max(sets_missing(pieces, card, uses).values(), default=0)
    make = card.make or 0
    complete = min(make, make + card.spares - lacking)
    return replace(count, complete=max(count.complete, complete))
