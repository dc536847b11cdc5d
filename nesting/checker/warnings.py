"""Every warning of the plan is true, and none is missing."""

from collections import Counter
from collections.abc import Iterator
from typing import NamedTuple

from nesting.batch import BASE, ENVELOPE, ON_CARD, Card, Layer
from nesting.checker.case import Case
from nesting.checker.enclosed import spare_room
from nesting.checker.fault import PlanFault
from nesting.checker.orientation import fold_is_across
from nesting.checker.places import ground_under, lies_within, shapes_of
from nesting.units import length_words


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
        for layer in card.layers:
            ways = case.ways[card.name][layer.name]
            if layer.join != "never" and all(len(way) == 1 for way in ways):
                about = "its join, which nothing hides"
                yield _Caution(f"{card.name}, {layer.name}", "join", about)
        least, there = spare_room(card, unit)
        if there is not None and there < least:
            about = "its envelope, in which it is tight"
            yield _Caution(f"{card.name}, {ENVELOPE}", length_words(least, unit), about)
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
            yield _Caution(subject, f"{across} of ", "folds across the grain")


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


def _sticking_out(card: Card) -> Iterator[Layer]:
    """The layers that reach beyond the card or what they lie on.

    An aslant strip is trimmed or folded; beyond what lies aslant itself nothing is looked for.
    """
    shapes = shapes_of(card)
    for layer in card.layers:
        shape, under = shapes[layer.name], shapes[layer.over or ON_CARD]
        ground = shapes[ground_under(layer)]
        beyond = not under.is_aslant and not lies_within(shape, under)
        if not shape.reach and (beyond or not lies_within(shape, ground)):
            yield layer
