"""Every warning of the plan is true, and none is missing."""

import re
from collections import Counter
from collections.abc import Iterator
from math import isqrt
from typing import NamedTuple

from nesting.batch import BASE, ENVELOPE, ON_CARD, Card, Layer
from nesting.checker.asked.enclosed import spare_room
from nesting.checker.asked.orientation import fold_is_across
from nesting.checker.asked.places import Shape, ground_under, lies_within, shapes_of
from nesting.checker.case import Case
from nesting.checker.fault import PlanFault
from nesting.units import Unit, format_length, length_words


class _Caution(NamedTuple):
    """What a warning begins with, a pattern of the rest of it, and what it is about."""

    subject: str
    pattern: str
    about: str

    def is_said(self, warning: str) -> bool:
        """Whether a warning says this."""
        return (
            re.fullmatch(rf"{re.escape(self.subject)}: \D*{self.pattern}\D*", warning) is not None
        )


def _in_order(*words: str) -> str:
    """The pattern of a warning that says these words and figures one after the other, and no other figure."""
    return r"\D*".join(map(re.escape, words))


def check_warnings(case: Case) -> Iterator[PlanFault]:
    """Each warning begins with its piece or layer and has the figures that it is about, and no others.

    The rest of the sentence is not checked.
    """
    left = list(case.plan.warnings)
    for caution in _cautions(case):
        said = next((one for one in left if caution.is_said(one)), None)
        if said is None:
            yield PlanFault(
                "warnings", caution.subject, f"nothing true is said of {caution.about}."
            )
        else:
            left.remove(said)
    for said in left:
        yield PlanFault("warnings", "plan", f"it warns of what is not so: {said!r}.")


def _cautions(case: Case) -> Iterator[_Caution]:
    """Everything that calls for a warning."""
    unit = case.batch.unit
    for card in case.batch.cards:
        for layer, reveal in _wide_reveals(card, 12_700_000 if unit == "in" else 12_000_000):
            named = _in_order(length_words(reveal, unit), *_meant(reveal, unit))
            yield _Caution(f"{card.name}, {layer.name}", named, "its wide reveal")
        for layer, words in _sticking_out(card, unit):
            yield _Caution(f"{card.name}, {layer.name}", words, "its sticking out")
        for layer in card.layers:
            ways = case.ways[card.name][layer.name]
            if layer.join != "never" and all(len(way) == 1 for way in ways):
                lap = [length_words(2 * case.batch.lap, unit)] if case.batch.lap else []
                named = _in_order("join", *lap)
                about = "its joint, which nothing hides"
                yield _Caution(f"{card.name}, {layer.name}", named, about)
        least, there = spare_room(card, unit)
        if there is not None and there < least:
            named = _in_order(length_words(there, unit), length_words(least, unit))
            about = "its envelope, in which it is tight"
            yield _Caution(f"{card.name}, {ENVELOPE}", named, about)
        base = card.base
        if base is not None and base.fold == "top":
            paper = case.papers[base.paper]
            if (paper.back if base.face == "back" else paper.front).print == "one-way":
                about = "its print, upside down on the back of the card"
                yield _Caution(f"{card.name}, {BASE}", _in_order(paper.name), about)
    yield from _cautions_of_pieces(case)


def _cautions_of_pieces(case: Case) -> Iterator[_Caution]:
    """Plain sides of printed papers, sizes between the ruler's marks, folds across the grain."""
    unit, marks = case.batch.unit, case.batch.trimmer.marks
    cut: Counter[tuple[str, str, bool]] = Counter()
    for one in case.sheets:
        for blank, _ in one.blanks:
            cut[one.layout.paper, blank.piece, blank.turned] += one.layout.alike
    for piece, uses in case.matched:
        subject = f"{piece.letter} {piece.name}"
        paper = case.papers[piece.paper]
        own, other = (paper.front, paper.back)[:: -1 if piece.face == "back" else 1]
        if own.print == "plain" and other.print != "plain":
            named = _in_order(f"{piece.face} of {paper.name}")
            yield _Caution(subject, named, "the side that it shows, which is plain")
        sides = [side + 2 * piece.die_allowance for side in (piece.width, piece.height)]
        for side in dict.fromkeys(sides):
            off = side % marks
            if off:
                near = (side - off, side - off + marks, side - off + marks * (2 * off > marks))
                named = _in_order(length_words(side, unit), *(format_length(n, unit) for n in near))
                yield _Caution(subject, named, "a size between the ruler's marks")
        counts = {turned: cut[paper.name, piece.id, turned] for turned in (False, True)}
        across = sum(
            n for turned, n in counts.items() if fold_is_across(piece, paper, turned=turned)
        )
        if across:
            # Earlier versions counted them among those asked for.
            of = f"{across} of ({sum(counts.values())}|{sum(use.count for use in uses)}) "
            named = rf"{of}\D*({re.escape(paper.name)})?"
            yield _Caution(subject, named, "folds across the grain")


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


def _meant(reveal: int, unit: Unit) -> Iterator[str]:
    """The reveal that may be meant: without its whole inches, or a tenth, where that can be written."""
    meant = reveal % 25_400_000 if unit == "in" else reveal // 10
    text = format_length(meant, unit)
    written = "≈" not in text and not text.endswith("mm")
    if written and (0 < meant < reveal if unit == "in" else not reveal % 10):
        yield text


def _sticking_out(card: Card, unit: Unit) -> Iterator[tuple[Layer, str]]:
    """The layers that reach beyond the card, or else what they lie on, and what is said of each.

    An aslant strip is trimmed or folded; beyond what lies aslant itself nothing is looked for.
    """
    shapes = shapes_of(card)
    for layer in card.layers:
        shape, over = shapes[layer.name], layer.over or ON_CARD
        for name in dict.fromkeys((ground_under(layer), over)):
            under = shapes[name]
            if shape.reach or under.is_aslant or lies_within(shape, under):
                continue
            on = {ON_CARD: "the card", ENVELOPE: "the envelope"}.get(name, f"{name} underneath")
            lengths = ".*"  # of what lies aslant, they are rounded
            if not shape.is_aslant:
                beyond = (f"{length_words(n, unit)} at the {e}" for e, n in _beyond(shape, under))
                lengths = _in_order("", *beyond)
            centred = rf"(\D*centred on {re.escape(over)}\D*)?"
            yield layer, f"sticks out of {re.escape(on)}{lengths}{centred}"
            break


def _beyond(shape: Shape, under: Shape) -> Iterator[tuple[str, int]]:
    """How far a shape reaches beyond another, edge by edge, rounded up."""
    if not under.is_round:
        yield from (
            (edge, out)
            for edge, out in (
                ("left", under.x - shape.x),
                ("right", shape.x + shape.width - under.x - under.width),
                ("top", shape.y + shape.height - under.y - under.height),
                ("bottom", under.y - shape.y),
            )
            if out > 0
        )
        return
    # All lengths doubled, so that the middles are whole.
    middle = 2 * under.x + under.width, 2 * under.y + under.width
    right, top = shape.x + shape.width, shape.y + shape.height
    corners = [(2 * x, 2 * y) for x in (shape.x, right) for y in (shape.y, top)]
    if shape.is_round:
        corners = [(shape.x + right, shape.y + top)]
    far = max((x - middle[0]) ** 2 + (y - middle[1]) ** 2 for x, y in corners)
    reach = isqrt(far - 1) + 1 if far else 0
    yield "round edge", -(-(reach + shape.is_round * shape.width - under.width) // 2)
