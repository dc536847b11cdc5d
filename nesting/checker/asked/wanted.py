"""What was asked, worked out again: defaults, sizes from reveals, equal pieces counted together."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import replace

from nesting.batch import (
    BASE,
    ENVELOPE,
    ON_CARD,
    Base,
    Batch,
    Card,
    Layer,
    LoosePiece,
    PaperChoice,
    PaperOption,
)
from nesting.checker.asked.equal import EqualPieces, kind_of
from nesting.checker.asked.joints import ends_of
from nesting.checker.asked.parts import facing_of, kind_asked, options_of, parts_of
from nesting.checker.fault import PlanFault, named_use, repeated
from nesting.papers import FaceName, Paper, Turn
from nesting.pieces import Piece, Use
from nesting.plan import Plan

Wanted = dict[EqualPieces, list[Use]]


def find_unsound(batch: Batch) -> Iterator[PlanFault]:
    """Names in the batch that stand twice or lead nowhere: no plan can be held against it."""
    for name in repeated(paper.name for paper in batch.papers):
        yield PlanFault("batch", str(name), "two papers have this name.")
    for name in repeated(card.name for card in batch.cards):
        yield PlanFault("batch", str(name), "two cards have this name.")
    papers = {paper.name: paper for paper in batch.papers}
    for paper in batch.papers:
        if all(sheet.offcut for sheet in paper.sheets):
            yield PlanFault("batch", paper.name, "the batch has no whole sheets of this paper.")
    for where, what in _parts(batch):
        if what.paper not in papers:
            yield PlanFault("batch", where, f"its paper {what.paper!r} is not in the batch.")
        elif what.face is None and _printed_on_both(papers[what.paper]):
            said = f"{what.paper!r} is printed on both faces, and no face is given."
            yield PlanFault("batch", where, said)
    for card in batch.cards:
        yield from _find_unsound_layers(card)
        yield from _find_unsound_numbers(card)
    yield from _find_unsound_first(batch)


def _printed_on_both(paper: Paper) -> bool:
    """Whether neither face is plain."""
    return paper.front.print != "plain" and paper.back.print != "plain"


def _find_unsound_first(batch: Batch) -> Iterator[PlanFault]:
    """Designs put first that are not there, or twice."""
    for name in repeated(batch.first):
        yield PlanFault("batch", str(name), "it is put first twice.")
    names = {card.name for card in batch.cards}
    for name in batch.first:
        if name not in names:
            yield PlanFault("batch", name, "it is put first, and no card has this name.")


def _find_unsound_numbers(card: Card) -> Iterator[PlanFault]:
    """Limits on a number of cards that do not go with it, or with one another."""
    if card.make is not None and (card.at_most is not None or card.at_least):
        yield PlanFault("batch", card.name, "a limit is said beside its number.")
    if card.make is None and card.spares:
        yield PlanFault("batch", card.name, "spares are asked for beside as many as possible.")
    if card.at_most is not None and card.at_most < card.at_least:
        yield PlanFault("batch", card.name, "more are asked for at least than at most.")


def _find_unsound_layers(card: Card) -> Iterator[PlanFault]:
    """Layers whose name is taken, by the card itself or one before, or that lie on nothing."""
    names = {BASE, ON_CARD} | ({ENVELOPE} if card.envelope is not None else set())
    for layer in card.layers:
        where = f"{card.name}, {layer.name}"
        if layer.over is not None and layer.over not in names - {BASE}:
            yield PlanFault("batch", where, f"it lies over {layer.over!r}, which is not below it.")
        if not options_of(layer):
            yield PlanFault("batch", where, "it has no paper to choose from.")
        if layer.where == "envelope" and card.envelope is None:
            yield PlanFault("batch", where, "it lies in the envelope, and the card has none.")
        if layer.name in names:
            yield PlanFault("batch", where, "its name is the card's own or another layer's.")
        names.add(layer.name)


def _parts(batch: Batch) -> Iterator[tuple[str, Base | PaperOption | LoosePiece]]:
    """Everything that is cut from some paper, and how it is named."""
    for card in batch.cards:
        if card.base is not None:
            yield f"{card.name}, {BASE}", card.base
        if card.envelope is not None and card.envelope.paper is not None:
            yield f"{card.name}, {ENVELOPE}", PaperOption(card.envelope.paper, card.envelope.face)
        for layer in card.layers:
            for option in options_of(layer):
                yield f"{card.name}, {layer.name}", option
    for piece in batch.pieces:
        yield piece.name, piece


def find_unjoinable(asked: Batch) -> Iterator[PlanFault]:
    """Layers that must be cut as two ends and have no joint that is hidden, or no ends."""
    for card in asked.cards:
        for layer in card.layers:
            where = f"{card.name}, {layer.name}"
            if layer.join != "never" and (layer.die_allowance or layer.angle):
                yield PlanFault("batch", where, "it cannot be cut as two ends.")
            elif layer.join == "must" and not ends_of(card, layer, asked):
                yield PlanFault("batch", where, "it must have a joint, which nothing would hide.")


def find_nothings(wanted: Wanted, asked: Batch) -> Iterator[PlanFault]:
    """Pieces of no size, as where a reveal leaves nothing, or of no number.

    A design without a number may have none.
    """
    unnumbered = {card.name for card in asked.cards if card.make is None}
    for kind, uses in wanted.items():
        if kind.width <= 0 or kind.height <= 0:
            yield PlanFault("batch", named_use(uses[0]), "its size comes to nothing.")
        for use in uses:
            if use.count < (0 if use.card in unnumbered else 1):
                yield PlanFault(
                    "batch", named_use(use), f"{use.count} are asked for, not 1 or more."
                )


def with_defaults(batch: Batch) -> Batch:
    """The batch with every face, turn and layer underneath said."""
    papers = {paper.name: paper for paper in batch.papers}

    def facing(asked: Layer | LoosePiece) -> tuple[FaceName, Turn]:
        return facing_of(papers[asked.paper], asked.face, asked.turn)

    cards = []
    for card in batch.cards:
        latest: dict[str, str] = {}
        layers = []
        for layer in card.layers:
            below = ENVELOPE if layer.where == "envelope" else ON_CARD
            if layer.belt is None:
                below = latest.get(layer.where, below)
            over = layer.over or below
            if layer.choice is None:
                face, turn = facing(layer)
                layers.append(replace(layer, face=face, turn=turn, over=over))
            else:
                layers.append(replace(_with_faces(layer, papers), over=over))
            latest[layer.where] = layer.name
        base = card.base
        if base is not None:
            base = replace(base, face=facing_of(papers[base.paper], base.face, None)[0])
        sent_in = card.envelope
        if sent_in is not None and sent_in.paper is not None:
            face = facing_of(papers[sent_in.paper], sent_in.face, None)[0]
            sent_in = replace(sent_in, face=face)
        cards.append(replace(card, base=base, layers=tuple(layers), envelope=sent_in))
    pieces = []
    for piece in batch.pieces:
        face, turn = facing(piece)
        pieces.append(replace(piece, face=face, turn=turn))
    return replace(batch, cards=tuple(cards), pieces=tuple(pieces))


def _with_faces(layer: Layer, papers: dict[str, Paper]) -> Layer:
    """The layer with the face of every paper to choose from said; the turn is each one's own."""
    options = tuple(
        replace(option, face=facing_of(papers[option.paper], option.face, None)[0])
        for option in options_of(layer)
    )
    choice = PaperChoice(options, layer.choice.alike if layer.choice else "all")
    return replace(layer, paper=options[0].paper, face=options[0].face, choice=choice)


def with_numbers(batch: Batch, plan: Plan) -> Batch:
    """The batch with the plan's numbers for designs without one.

    Nothing may be bought of the papers that these use.
    """
    said = {count.card: count.asked for count in plan.cards}
    cards = (
        card if card.make is not None else replace(card, make=said.get(card.name, 0))
        for card in batch.cards
    )
    used = used_as_at_hand(batch)
    papers = (replace(p, buy=False) if p.name in used else p for p in batch.papers)
    return replace(batch, cards=tuple(cards), papers=tuple(papers))


def used_as_at_hand(batch: Batch) -> set[str]:
    """The papers that designs made as many as possible use: only what is at hand counts."""
    return papers_of(card for card in batch.cards if card.make is None)


def papers_of(cards: Iterable[Card]) -> set[str]:
    """Every paper that a part of some designs may take."""
    used = set()
    for card in cards:
        used |= {option.paper for layer in card.layers for option in options_of(layer)}
        used |= {card.base.paper} if card.base is not None else set()
        if card.envelope is not None and card.envelope.paper is not None:
            used.add(card.envelope.paper)
    return used


def wanted_of(batch: Batch, pieces: tuple[Piece, ...]) -> Wanted:
    """What is to be cut, by kind, with the cards and layers it is for; no default is left open.

    Where a layer can be cut in several ways, the pieces of the plan tell how many are in which.
    """
    told = {
        (kind_of(piece), use.card, use.layer, use.end): use.count
        for piece in pieces
        for use in piece.uses
    }
    papers = {paper.name: paper for paper in batch.papers}
    wanted: defaultdict[EqualPieces, list[Use]] = defaultdict(list)
    for card in batch.cards:
        sets = (card.make or 0) + card.spares
        parts = list(parts_of(card, batch))
        choices = {part.layer for part in parts if part.way}
        for layer, each, kind, end, _ in parts:
            count = sets * each
            if layer in choices:
                count = told.get((kind, card.name, layer, end), 0)
            if layer not in choices or (kind, card.name, layer, end) in told:
                wanted[kind].append(Use(card.name, layer, count, end))
    for piece in batch.pieces:
        width, height = piece.circle or piece.width or 0, piece.circle or piece.height or 0
        round_ = piece.circle is not None
        kind = kind_asked(piece, papers[piece.paper], width, height, round_=round_)
        wanted[kind].append(Use(None, piece.name, piece.count))
    return dict(wanted)
