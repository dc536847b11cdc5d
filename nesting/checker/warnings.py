"""Every warning of the plan is true, and none is missing."""

from collections import Counter
from collections.abc import Iterator
from typing import NamedTuple

from nesting.batch import BASE, ON_CARD, Card, Layer
from nesting.checker.asked import layer_sizes
from nesting.checker.case import Case
from nesting.checker.fault import PlanFault, length_words
from nesting.checker.orientation import fold_is_across


class _Caution(NamedTuple):
    """How a warning begins, what it must name, and what it is about."""

    subject: str
    named: str
    about: str


def check_warnings(case: Case) -> Iterator[PlanFault]:
    """Each warning begins with its piece or layer and names the figure that it is about.

    The rest of the sentence is not checked.
    """
    left = list(case.plan.warnings)
    for caution in _cautions(case):
        for said in left:
            if said.startswith(f"{caution.subject}: ") and caution.named in said:
                left.remove(said)
                break
        else:
            words = f"nothing is said of {caution.about} ({caution.named})."
            yield PlanFault("warnings", caution.subject, words)
    for said in left:
        yield PlanFault("warnings", "plan", f"it warns of what is not so: {said!r}.")


def _cautions(case: Case) -> Iterator[_Caution]:
    """Everything that calls for a warning."""
    for card in case.batch.cards:
        unit = case.batch.unit
        for layer, reveal in _wide_reveals(card, 12_700_000 if unit == "in" else 12_000_000):
            words = length_words(reveal, unit)
            yield _Caution(f"{card.name}, {layer.name}", words, "its wide reveal")
        for layer in _sticking_out(card):
            yield _Caution(f"{card.name}, {layer.name}", "out", "its sticking out")
        base = card.base
        if base is not None and base.fold == "top":
            paper = case.papers[base.paper]
            if (paper.back if base.face == "back" else paper.front).print == "one-way":
                about = "its print, upside down on the back of the card"
                yield _Caution(f"{card.name}, {BASE}", paper.name, about)
    yield from _cautions_of_pieces(case)


def _cautions_of_pieces(case: Case) -> Iterator[_Caution]:
    """Plain sides of printed papers, sizes between the ruler's marks, folds across the grain."""
    cut: Counter[tuple[str, str, bool]] = Counter()
    for one in case.sheets:
        for blank, _ in one.blanks:
            cut[one.layout.paper, blank.piece, blank.turned] += one.layout.alike
    for piece, uses in case.matched:
        if uses is None:
            continue
        subject = f"{piece.letter} {piece.name}"
        paper = case.papers[piece.paper]
        other = paper.front if piece.face == "back" else paper.back
        if piece.print == "plain" and other.print != "plain":
            yield _Caution(subject, piece.face, "the side that it shows, which is plain")
        sides = [side + 2 * piece.die_allowance for side in (piece.width, piece.height)]
        for side in dict.fromkeys(sides):
            if side % case.batch.trimmer.marks:
                words = length_words(side, case.batch.unit)
                yield _Caution(subject, words, "a size between the ruler's marks")
        across = sum(
            cut[paper.name, piece.id, turned]
            for turned in (False, True)
            if fold_is_across(piece, paper, turned=turned)
        )
        if across:
            yield _Caution(
                subject, f"{across} of {case.to_cut[piece.id]} ", "folds across the grain"
            )


def _wide_reveals(card: Card, widest: int) -> Iterator[tuple[Layer, int]]:
    """Reveals wider than ``widest`` on every edge, or ten times as wide as any other layer's."""
    reveals = [
        (layer, min(layer.reveal.left, layer.reveal.right, layer.reveal.top, layer.reveal.bottom))
        for layer in card.layers
        if layer.reveal is not None
    ]
    for layer, reveal in reveals:
        next_widest = max((other for one, other in reveals if one is not layer), default=0)
        if reveal > widest or 0 < 10 * next_widest <= reveal:
            yield layer, reveal


class _Shape(NamedTuple):
    """A layer on the card: its rectangle, or the disc in it, in nm."""

    x: int
    y: int
    width: int
    height: int
    is_round: bool


def _sticking_out(card: Card) -> Iterator[Layer]:
    """The layers that reach beyond the card or what they lie on."""
    whole = _Shape(0, 0, card.width, card.height, is_round=False)
    seen = {ON_CARD: whole}
    for layer, (is_round, width, height) in zip(card.layers, layer_sizes(card), strict=True):
        under = seen[layer.over or ON_CARD]
        x, y = _place(layer, under, whole, width, height)
        shape = seen[layer.name] = _Shape(x, y, width, height, is_round)
        if not (_lies_within(shape, whole) and _lies_within(shape, under)):
            yield layer


def _place(layer: Layer, under: _Shape, card: _Shape, width: int, height: int) -> tuple[int, int]:
    """Where a layer's lower left corner lies: as it says, else in the middle of what is below."""
    if layer.reveal is not None:
        return under.x + layer.reveal.left, under.y + layer.reveal.bottom
    x, y = under.x + (under.width - width) // 2, under.y + (under.height - height) // 2
    at = layer.at
    if at is None:
        return x, y
    if at.centre is not None:
        return at.centre[0] - width // 2, at.centre[1] - height // 2
    if at.left is not None:
        x = at.left
    elif at.right is not None:
        x = card.width - at.right - width
    if at.bottom is not None:
        y = at.bottom
    elif at.top is not None:
        y = card.height - at.top - height
    return x, y


def _lies_within(shape: _Shape, under: _Shape) -> bool:
    """Whether nothing of it reaches beyond what lies below."""
    right, top = shape.x + shape.width, shape.y + shape.height
    if not under.is_round:
        return (
            under.x <= shape.x
            and under.y <= shape.y
            and right <= under.x + under.width
            and top <= under.y + under.height
        )
    # All lengths doubled, so that the middles are whole.
    middle_x, middle_y = 2 * under.x + under.width, 2 * under.y + under.width
    if shape.is_round:
        off = (shape.x + right - middle_x) ** 2 + (shape.y + top - middle_y) ** 2
        return shape.width <= under.width and off <= (under.width - shape.width) ** 2
    far_x = max(abs(2 * shape.x - middle_x), abs(2 * right - middle_x))
    far_y = max(abs(2 * shape.y - middle_y), abs(2 * top - middle_y))
    return far_x**2 + far_y**2 <= under.width**2
