"""The user's names in sentences: all of them, and shortened forms of very long ones."""

from collections.abc import Iterator, Sequence

from nesting.batch import Batch
from nesting.draw.canvas.lettering import brief


def names_of(asked: Batch) -> Iterator[str]:
    """Every name that the pages show."""
    yield asked.name
    yield from (paper.name for paper in asked.papers)
    yield from (piece.name for piece in asked.pieces)
    for card in asked.cards:
        yield card.name
        yield from (layer.name for layer in card.layers)


def brief_names(asked: Batch, sentences: Sequence[str]) -> list[str]:
    """Cut very long names short in sentences that have them whole."""
    long = sorted({name for name in names_of(asked) if brief(name) != name}, key=len, reverse=True)
    said = list(sentences)
    for name in long:
        said = [sentence.replace(name, brief(name)) for sentence in said]
    return said
