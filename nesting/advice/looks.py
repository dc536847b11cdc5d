"""How the layers of a card look: their sizes, and what shows of each around the one above it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from nesting.batch import ON_CARD, Batch, Card
from nesting.cards.placing import place_layers
from nesting.papers import Edge, Edges
from nesting.units import Unit, length_words

#: Where an edge's reveal is, in words.
EDGE_WORDS: dict[Edge, str] = {"left": "left", "right": "right", "top": "above", "bottom": "below"}


@dataclass(frozen=True, slots=True)
class LayerLook:
    """How a layer of a card looks before and after a change: its size and what shows around it.

    Sizes are width and height in nm. A reveal is to the layer underneath; below zero is how far
    the layer sticks out.
    """

    card: str
    layer: str
    before: tuple[int, int]
    after: tuple[int, int]
    reveal_before: Edges
    reveal_after: Edges


def layer_looks(before: Batch, after: Batch) -> tuple[LayerLook, ...]:
    """What a change does to the look of the cards: every layer whose size or reveal is another."""
    found = []
    for old, new in zip(before.cards, after.cards, strict=True):
        for (name, size, reveal), (_, new_size, new_reveal) in zip(
            _shown(old), _shown(new), strict=True
        ):
            if (size, reveal) != (new_size, new_reveal):
                found.append(LayerLook(old.name, name, size, new_size, reveal, new_reveal))
    return tuple(found)


def _shown(card: Card) -> Iterator[tuple[str, tuple[int, int], Edges]]:
    """Each upright layer's size and what shows around it of the layer underneath."""
    placed = place_layers(card)
    for layer in card.layers:
        one, under = placed[layer.name], placed[layer.over or ON_CARD]
        if not one.slant:
            yield layer.name, (one.width, one.height), one.reveal_on(under)


def reveal_words(reveal: Edges, unit: Unit) -> str:
    """A reveal in words, each edge for itself where they differ.

    Examples
    --------
    >>> reveal_words(Edges(3_175_000, 3_175_000, 3_175_000, 3_175_000), "in")
    '1/8 in'
    >>> reveal_words(Edges(3_175_000, 3_175_000, 6_350_000, 6_350_000), "in")
    '1/8 in at the sides, 1/4 in above and below'
    """
    if reveal.even:
        return length_words(reveal.left, unit)
    if reveal.left == reveal.right and reveal.top == reveal.bottom:
        left, top = length_words(reveal.left, unit), length_words(reveal.top, unit)
        return f"{left} at the sides, {top} above and below"
    return edge_words(reveal, list(EDGE_WORDS), unit)


def edge_words(reveal: Edges, edges: Sequence[Edge], unit: Unit) -> str:
    """Some edges of a reveal in words.

    Examples
    --------
    >>> edge_words(Edges(left=3_175_000, top=6_350_000), ["left", "top"], "in")
    '1/8 in left, 1/4 in above'
    """
    return ", ".join(f"{length_words(getattr(reveal, e), unit)} {EDGE_WORDS[e]}" for e in edges)
