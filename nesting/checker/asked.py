"""What was asked, worked out again: defaults, sizes from reveals, equal pieces counted together."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from typing import Literal, NamedTuple

from nesting.batch import (
    BASE,
    ENVELOPE,
    ON_CARD,
    Axis,
    Base,
    Batch,
    Card,
    Edge,
    Edges,
    Envelope,
    FaceName,
    Layer,
    LoosePiece,
    Paper,
    PaperChoice,
    PaperOption,
    Piece,
    Print,
    Score,
    Turn,
    Use,
)
from nesting.checker.fault import PlanFault, named_use, repeated
from nesting.checker.places import Shape, shapes_of
from nesting.plan import Plan


class EqualPieces(NamedTuple):
    """Everything that makes two pieces equal; lengths in nm."""

    shape: Literal["rect", "circle"]
    width: int
    height: int
    die_allowance: int
    paper: str
    face: FaceName
    print: Print
    up: Edge
    turn: Turn
    grain: Axis | None
    score: Score | None
    scores: tuple[Score, ...] = ()


Wanted = dict[EqualPieces, list[Use]]


def kind_of(piece: Piece) -> EqualPieces:
    """The kind of a piece of a plan."""
    return EqualPieces(*(getattr(piece, name) for name in EqualPieces._fields))


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
        if layer.where == "envelope" and card.envelope is None:
            yield PlanFault("batch", where, "it lies in the envelope, and the card has none.")
        if layer.name in names:
            yield PlanFault("batch", where, "its name is the card's own or another layer's.")
        names.add(layer.name)


def options_of(layer: Layer) -> tuple[PaperOption, ...]:
    """The papers that a layer may be cut from, one or more."""
    return (PaperOption(layer.paper, layer.face),) if layer.choice is None else layer.choice.options


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


def find_nothings(wanted: Wanted, asked: Batch) -> Iterator[PlanFault]:
    """Pieces of no size, as where a reveal leaves nothing, or of no number.

    Of a design of which as many as possible are asked, there may be none.
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
        return _facing(papers[asked.paper], asked.face, asked.turn)

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
            base = replace(base, face=_facing(papers[base.paper], base.face, None)[0])
        sent_in = card.envelope
        if sent_in is not None and sent_in.paper is not None:
            face = _facing(papers[sent_in.paper], sent_in.face, None)[0]
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
        replace(option, face=_facing(papers[option.paper], option.face, None)[0])
        for option in options_of(layer)
    )
    choice = PaperChoice(options, layer.choice.alike if layer.choice else "all")
    return replace(layer, paper=options[0].paper, face=options[0].face, choice=choice)


def _facing(paper: Paper, face: FaceName | None, turn: Turn | None) -> tuple[FaceName, Turn]:
    """Face and turn as given, or: the printed face, and never turned where the print shows it."""
    if face is None:
        only_back = paper.front.print == "plain" and paper.back.print != "plain"
        face = "back" if only_back else "front"
    if turn is None:
        print_ = (paper.back if face == "back" else paper.front).print
        turn = "may" if print_ in ("plain", "four-way") else "never"
    return face, turn


def kinds_of(card: Card, batch: Batch) -> Iterator[tuple[str, int, EqualPieces]]:
    """What one card takes: layer, how many, and their kind, once for each paper to choose from."""
    papers = {paper.name: paper for paper in batch.papers}
    if card.base is not None:
        yield BASE, 1, _base_kind(card, card.base, papers[card.base.paper])
    shapes = shapes_of(card)
    for layer in card.layers:
        shape = shapes[layer.name]
        size = _size_cut(layer, shape, batch)
        for option in options_of(layer):
            chosen = replace(layer, paper=option.paper, face=option.face)
            kind = _kind(chosen, papers[option.paper], *size, round_=shape.is_round)
            yield layer.name, layer.each, kind
    if card.envelope is not None and card.envelope.paper is not None:
        yield ENVELOPE, 1, _envelope_kind(card.envelope, papers[card.envelope.paper])


def with_numbers(batch: Batch, plan: Plan) -> Batch:
    """The batch with the plan's number of each design of which as many as possible are asked.

    Of the papers that these use, nothing may be bought.
    """
    said = {count.card: count.asked for count in plan.cards}
    cards, used = [], set()
    for card in batch.cards:
        if card.make is not None:
            cards.append(card)
            continue
        cards.append(replace(card, make=said.get(card.name, 0)))
        used |= {option.paper for layer in card.layers for option in options_of(layer)}
        used |= {card.base.paper} if card.base is not None else set()
        if card.envelope is not None and card.envelope.paper is not None:
            used.add(card.envelope.paper)
    papers = (replace(p, buy=False) if p.name in used else p for p in batch.papers)
    return replace(batch, cards=tuple(cards), papers=tuple(papers))


def wanted_of(batch: Batch, pieces: tuple[Piece, ...]) -> Wanted:
    """What is to be cut, by kind, with the cards and layers it is for; no default is left open.

    Where there are papers to choose from, the pieces of the plan tell how many take which.
    """
    told = {
        (kind_of(piece), use.card, use.layer): use.count for piece in pieces for use in piece.uses
    }
    papers = {paper.name: paper for paper in batch.papers}
    wanted: defaultdict[EqualPieces, list[Use]] = defaultdict(list)
    for card in batch.cards:
        sets = (card.make or 0) + card.spares
        choices = {layer.name for layer in card.layers if layer.choice is not None}
        for layer, each, kind in kinds_of(card, batch):
            count = sets * each
            if layer in choices:
                count = told.get((kind, card.name, layer), 0)
            if layer not in choices or (kind, card.name, layer) in told:
                wanted[kind].append(Use(card.name, layer, count))
    for piece in batch.pieces:
        width, height = piece.circle or piece.width or 0, piece.circle or piece.height or 0
        round_ = piece.circle is not None
        kind = _kind(piece, papers[piece.paper], width, height, round_=round_)
        wanted[kind].append(Use(None, piece.name, piece.count))
    return dict(wanted)


def _size_cut(layer: Layer, shape: Shape, batch: Batch) -> tuple[int, int]:
    """The width and height to cut, with what is folded behind, trimmed off, or goes round the card."""
    if shape.corners:
        return layer.width or 0, layer.height or 0
    width, height = shape.width, shape.height
    open_width, open_height = layer.width is None, layer.height is None
    along_width = open_width if open_width != open_height else width >= height
    wrap = layer.wrap
    if isinstance(wrap, int):
        wrap = Edges(wrap, wrap) if along_width else Edges(top=wrap, bottom=wrap)
    if layer.belt is None and not shape.reach:
        return width + wrap.left + wrap.right, height + wrap.top + wrap.bottom
    if shape.reach:
        spare = 6_350_000 if batch.unit == "in" else 6_000_000  # at an end that is trimmed flush
        ends = (wrap.left, wrap.right) if along_width else (wrap.top, wrap.bottom)
        length = shape.reach + sum(end or spare for end in ends)
    else:
        shown = width if along_width else height
        length = 2 * shown + 2 * (layer.belt or 0) + batch.lap
    length += -length % batch.trimmer.marks
    return (length, layer.height or 0) if along_width else (layer.width or 0, length)


def _kind(
    asked: Layer | LoosePiece, paper: Paper, width: int, height: int, *, round_: bool
) -> EqualPieces:
    """The kind of a layer or a loose piece whose size is known."""
    face, turn = _facing(paper, asked.face, asked.turn)
    side = paper.back if face == "back" else paper.front
    shape: Literal["rect", "circle"] = "circle" if round_ else "rect"
    return EqualPieces(
        shape, width, height, asked.die_allowance, paper.name, face, side.print, side.up, turn,
        grain=None, score=None,
    )  # fmt: skip


def _base_kind(card: Card, base: Base, paper: Paper) -> EqualPieces:
    """The kind of a card's base laid flat; its grain should run along the fold."""
    face, turn = _facing(paper, base.face, None)
    side = paper.back if face == "back" else paper.front
    width, height = card.width, card.height
    score: Score | None = None
    fold: Axis | None = None
    if base.fold == "left":
        width, score, fold = 2 * width, Score("x", card.width), "y"
    elif base.fold == "top":
        height, score, fold = 2 * height, Score("y", card.height), "x"
    return EqualPieces(
        "rect", width, height, 0, paper.name, face, side.print, side.up, turn,
        grain=fold if paper.grain else None, score=score,
    )  # fmt: skip


def _envelope_kind(sent_in: Envelope, paper: Paper) -> EqualPieces:
    """The kind of an envelope laid flat: what is folded over lies round its front."""
    width, height, folds = sent_in.width or 0, sent_in.height or 0, sent_in.folds or Edges()
    flat_width = width + folds.left + folds.right
    flat_height = height + folds.top + folds.bottom
    down = (folds.left, flat_width - folds.right)
    across = (folds.bottom, flat_height - folds.top)
    scores = (*(Score("x", at) for at in down), *(Score("y", at) for at in across))
    face, turn = _facing(paper, sent_in.face, None)
    side = paper.back if face == "back" else paper.front
    return EqualPieces(
        "rect", flat_width, flat_height, 0, paper.name, face, side.print, side.up, turn,
        grain=None, score=None, scores=scores,
    )  # fmt: skip
