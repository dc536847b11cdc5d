"""The user's names in what a plan says: all of them, and short ones for very long ones."""

from collections.abc import Iterator, Sequence

from nesting.draw.canvas.lettering import brief
from nesting.plan import Plan


def names_of(plan: Plan) -> Iterator[str]:
    """Every name that the pages show."""
    yield plan.asked.name
    yield from (paper.name for paper in plan.asked.papers)
    yield from (piece.name for piece in plan.pieces)
    for card in plan.asked.cards:
        yield card.name
        yield from (layer.name for layer in card.layers)


def brief_names(plan: Plan, sentences: Sequence[str]) -> list[str]:
    """Cut very long names short in the plan's own sentences."""
    long = sorted({name for name in names_of(plan) if brief(name) != name}, key=len, reverse=True)
    said = list(sentences)
    for name in long:
        said = [sentence.replace(name, brief(name)) for sentence in said]
    return said
