"""The sentences on labels and recipes: paper, which way the print runs, folds, counts."""

from collections import Counter
from collections.abc import Iterator, Sequence

from nesting.batch import BASE, ENVELOPE, Card, Where
from nesting.cards.enclosing import enclosed
from nesting.cards.merging import ways_among
from nesting.cards.placing import place_layers
from nesting.draw.canvas.lettering import TIE, isolated
from nesting.draw.card.laying_words import distance_words
from nesting.draw.card.sides import CardLayer, Side, blanks_of, print_tops
from nesting.draw.sheet.joint_words import cut_of_way
from nesting.draw.sheet.middle_words import window_of
from nesting.draw.sheet.words import (
    DRAWN_SMALLER,
    SIZES_IN,
    TWO_HEADS,
    envelope_score_words,
)
from nesting.needs import complete_sets, made_of
from nesting.papers import Edge, Edges
from nesting.pieces import Piece
from nesting.plan import Plan
from nesting.units import Unit, counted, format_size

#: What a side is called, and how it is looked at.
SIDE_NAMES: dict[Where, str] = {
    "outside": "Front",
    "inside": "Inside, the card open",
    "behind": "Back, seen from behind",
    "envelope": "In the envelope, its flap open",
}
_TOPS: dict[Edge, str] = {
    "top": "up",
    "left": "to the left",
    "right": "to the right",
    "bottom": "down",
}


def made_words(plan: Plan, card: Card) -> str:
    """Say how many of a design and its spare sets are made, and how many of them the plan completes."""
    made = [one for one in made_of(plan) if one.name == card.name and one.kind != "loose piece"]
    short = any(one.complete < one.asked for one in made)
    words = (
        f"{one.complete} of " * (one.complete < one.asked) + counted(one.asked, one.kind)
        for one in made
    )
    return ", ".join(words) + " complete with this plan" * short


def reading_words(plan: Plan, sides: Sequence[Side]) -> str:
    """Say how the pictures and the list are read: only what there is."""
    layers = [layer for side in sides for layer in side.layers]
    arrows = {piece.print for piece in _pieces_of(sides) if len(print_tops(plan, piece)) == 1}
    windows = any(
        window_of(plan, side.card.name, layer.placed.layer.name)
        for side in sides
        for layer in side.layers
    )
    marked = any(layer.placed.slant and layer.placed.slant.marks for layer in layers)
    dashed = "the card's outline"
    if any(layer.placed.layer.wrap for layer in layers):
        dashed += " and what goes behind"
    said = (
        f"{SIZES_IN[plan.asked.unit].capitalize()}; places from the card's left and bottom edges.",
        "A tint for each paper.",
        "Small arrow: to the top of the print." if "one-way" in arrows else "",
        f"Arrow with two heads: {TWO_HEADS}." if "two-way" in arrows else "",
        f"Dashed: {dashed}." if layers else "",
        "Dotted on a layer: the middle that is cut out of it first." if windows else "",
        "Dots at its edges: marks to lay an aslant layer by." if marked else "",
        f"{DRAWN_SMALLER.capitalize()}.",
    )
    return " ".join(filter(None, said))


def _pieces_of(sides: Sequence[Side]) -> list[Piece]:
    """Every piece of a card, the base first."""
    bases = [side.base for side in sides if side.base is not None]
    layers = [layer for side in sides for layer in side.layers]
    pieces = [*bases, *(piece for one in layers for piece in one.pieces)]
    return list(dict.fromkeys(pieces))


def papers_words(plan: Plan, sides: Sequence[Side]) -> Iterator[tuple[str, str]]:
    """For each paper of a card: its name, and that with what is made of it."""
    made: dict[str, list[str]] = {}
    for piece in _pieces_of(sides):
        back = " (back)" if piece.face == "back" else ""
        made.setdefault(piece.paper, []).append(f"{piece.letter}{back}")
    for paper in plan.asked.papers:
        if paper.name in made:
            yield paper.name, f"{isolated(paper.name)}: {', '.join(made[paper.name])}"


def paper_words(plan: Plan, piece: Piece) -> str:
    """The paper, and which face where that makes a difference."""
    paper = plan.asked.paper(piece.paper)
    if paper.printed_faces or piece.face == "back":
        return f"{isolated(paper.name)}, {piece.face}"
    return isolated(paper.name)


def print_words(plan: Plan, piece: Piece) -> str:
    """Say which way the print runs on the upright piece; nothing where it has no direction."""
    tops = print_tops(plan, piece)
    if not tops:
        return ""
    if piece.print == "two-way":
        ways = ["along the height" if top == "top" else "across" for top in tops]
        return f"print {' or '.join(ways)}"
    ways = [_TOPS[top] for top in tops]
    return f"top of the print {' or '.join(ways)}"


def layer_words(plan: Plan, card: Card, layer: CardLayer) -> Iterator[str]:
    """Say what a layer is made of, and how many there are of it, one thing a line."""
    name = layer.placed.layer.name
    for way in layer.ways:
        letters = " and ".join(dict.fromkeys(piece.letter for piece in way.pieces))
        which = f"{letters}, for {way.sets}: " if len(layer.ways) > 1 else ""
        yield which + paper_words(plan, way.pieces[0])
        yield from dict.fromkeys(filter(None, (print_words(plan, one) for one in way.pieces)))
    yield each_words(plan, card, name)


def each_words(plan: Plan, card: Card, layer: str) -> str:
    """Say how many a layer takes on each card and in all, and how many of those are cut."""
    uses = {(piece.id, n): use for piece in plan.pieces for n, use in enumerate(piece.uses)}
    asked = cut = 0
    for way in ways_among(plan.pieces, card.name)[layer]:
        asked += uses[way[0]].count
        cut += cut_of_way(plan, way)
    each, on = 1, "for" if layer == ENVELOPE else "on"
    for one in card.layers:
        if one.name == layer:
            each, on = one.each, "for" if one.where == "envelope" else "on"
    words = f"{each} {on} each card" + ("; one of them is drawn" if each > 1 else "")
    return f"{words}; {_cut_of(cut, asked)} cut"


def _cut_of(cut: int, asked: int) -> str:
    return str(asked) if cut == asked else f"{cut} of {asked}"


def score_words(piece: Piece, unit: Unit) -> str:
    """Say where a piece is scored; nothing where it is not."""
    if piece.scores:
        return envelope_score_words(piece, unit)
    if piece.score is None:
        return ""
    edge: Edge = "left" if piece.score.axis == "x" else "bottom"
    return f"score {distance_words(piece.score.at, edge, unit)}"


def fold_words(plan: Plan, card: Card, base: Piece) -> str:
    """Say where a base is scored and folded, and how its grain runs."""
    if base.score is None:
        return "not folded"
    unit = plan.asked.unit
    fold = "left" if base.score.axis == "x" else "top"
    folded = format_size(card.width, card.height, unit)
    return (
        f"{score_words(base, unit)}, on the outside; fold away from the groove, so that the raised "
        f"line is inside, to {folded} with the fold at the {fold}"
        f"{_grain_words(plan, base)}"
    )


def folds_across(plan: Plan, base: Piece) -> set[bool]:
    """Whether the blanks cut for a base, if any are, fold across the grain; nothing where it is not known."""
    axis = plan.asked.paper(base.paper).grain_axis
    if axis is None:
        return set()
    across = {base.folds_across(axis, turned=blank.turned) for blank in blanks_of(plan, base)}
    return across or {False}


def _grain_words(plan: Plan, base: Piece) -> str:
    """How the grain runs in the blanks cut for a base; nothing where it is not known."""
    across = folds_across(plan, base)
    if True not in across:
        return "; the grain runs along the fold" if across else ""
    some = " on some" if False in across else ""
    return f"; the grain runs across the fold{some}: score it well"


def base_words(plan: Plan, card: Card, base: Piece) -> Iterator[str]:
    """Say what a base is made of, and how many there are of it, one thing a line."""
    yield paper_words(plan, base)
    if direction := print_words(plan, base):
        yield direction
    yield each_words(plan, card, BASE)


def bought_words(plan: Plan, card: Card) -> list[str]:
    """Say of a base that is not cut how many are needed, one thing a line."""
    return ["bought ready", f"1 on each card; {complete_sets(plan, card)} needed"]


def envelope_words(plan: Plan, card: Card, piece: Piece) -> Iterator[str]:
    """Say how an envelope is made of its blank: where to score, what to cut away, fold and glue."""
    unit, folds = plan.asked.unit, (card.envelope and card.envelope.folds) or Edges()
    low, high = (format_size(folds.left, one, unit) for one in (folds.bottom, folds.top))
    yield f"{envelope_score_words(piece, unit)}, on the outside"
    yield f"cut away the corners: {low} at the bottom, {high} at the top, left and right"
    yield "fold in the side flaps, then the back, up from the bottom; glue it to the side flaps"
    yield "the top is the flap; flaps by common practice, no source"


def thick_words(card: Card, unit: Unit) -> Iterator[str]:
    """Say why an envelope is roomier than its card: the card is thick."""
    papers = enclosed(card, place_layers(card), unit).papers
    if papers and card.envelope is not None and card.envelope.smallest:
        yield f"with room for a thick card: {papers} papers above one another"


def cut_count(plan: Plan, piece: Piece) -> str:
    """Say how many pieces are cut: ``8``, or ``5 of 8`` where the paper does not suffice."""
    return _cut_of(plan.as_cut(piece).demand, piece.demand)


def for_words(plan: Plan, piece: Piece) -> str:
    """Say which cards a piece is for, with how many are cut for each."""
    asked: Counter[str | None] = Counter()
    cut: Counter[str | None] = Counter()
    for use, own in zip(piece.uses, plan.as_cut(piece).uses, strict=True):
        asked[use.card] += use.count
        cut[use.card] += own.count
    words = [
        f"{'loose' if card is None else isolated(card)}{TIE}{_cut_of(cut[card], count).replace(' ', TIE)}"
        for card, count in asked.items()
    ]
    return f"{'' if None in asked else 'for '}{', '.join(words)}"
