"""What one card takes, worked out again: of each layer every way to cut it, with sizes and prints."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Literal, NamedTuple

from nesting.batch import (
    BASE,
    ENVELOPE,
    Base,
    Batch,
    Card,
    Envelope,
    Layer,
    LoosePiece,
    PaperOption,
)
from nesting.checker.asked.equal import EqualPieces
from nesting.checker.asked.joints import ends_of, runs_across
from nesting.checker.asked.orientation import blank_sizes
from nesting.checker.asked.places import Shape, shapes_of
from nesting.checker.cutting.sheets import usable_of
from nesting.papers import Axis, Edge, Edges, FaceName, Paper, Turn
from nesting.pieces import Score


def options_of(layer: Layer) -> tuple[PaperOption, ...]:
    """The papers that a layer may be cut from, one or more."""
    return (PaperOption(layer.paper, layer.face),) if layer.choice is None else layer.choice.options


class Part(NamedTuple):
    """What one card takes of a kind for a layer: how many, and which end, where it is one.

    Parts of one ``way`` are taken together; a card takes one way of each layer.
    """

    layer: str
    each: int
    kind: EqualPieces
    end: Edge | None = None
    way: int = 0


def parts_of(card: Card, batch: Batch) -> Iterator[Part]:
    """What one card takes, in every way: from each paper to choose from, whole and as two ends.

    Of several ways from one paper, those are left out that no whole sheet of it gives.
    """
    papers = {paper.name: paper for paper in batch.papers}
    if card.base is not None:
        yield Part(BASE, 1, _base_kind(card, card.base, papers[card.base.paper]))
    shapes = shapes_of(card)
    for layer in card.layers:
        shape = shapes[layer.name]
        width, height = _size_cut(layer, shape, batch)
        sizes: list[list[tuple[Edge | None, int, int]]] = []
        if layer.join != "must":
            sizes.append([(None, width, height)])
        if layer.join != "never":
            across = runs_across(layer, shape.width, shape.height)
            sizes += [
                [(end, long, height) if across else (end, width, long) for end, long in ends]
                for ends in ends_of(card, layer, batch)
            ]
        number = 0
        for option in options_of(layer):
            chosen, paper = (
                replace(layer, paper=option.paper, face=option.face),
                papers[option.paper],
            )
            ways = [
                [
                    (end, kind_asked(chosen, paper, *wide, round_=shape.is_round))
                    for end, *wide in way
                ]
                for way in sizes
            ]
            if len(ways) > 1:
                ways = [
                    way for way in ways if all(_can_be_cut(kind, paper, batch) for _, kind in way)
                ] or ways[:1]
            for way in ways:
                yield from (Part(layer.name, layer.each, kind, end, number) for end, kind in way)
                number += 1
    if card.envelope is not None and card.envelope.paper is not None:
        kind = _envelope_kind(card.envelope, papers[card.envelope.paper])
        yield Part(ENVELOPE, 1, kind)


def _can_be_cut(kind: EqualPieces, paper: Paper, batch: Batch) -> bool:
    """Whether edge-to-edge cuts give one of a kind from some whole sheet of its paper."""
    sizes = {usable_of(paper, s, batch.trimmer.cut_width) for s in paper.sheets if not s.offcut}
    return any(
        _comes_out(blank, sheet, batch.trimmer.longest_cut)
        for blank in blank_sizes(kind)
        for sheet in sizes
    )


def _comes_out(blank: tuple[int, int], sheet: tuple[int, int], longest: int | None) -> bool:
    """Whether a blank can be cut out of a corner: two cuts, the second no longer than the blank."""
    if any(side > room for side, room in zip(blank, sheet, strict=True)):
        return False
    orders = ((blank, sheet), (blank[::-1], sheet[::-1]))
    return longest is None or any(
        (width == across or along <= longest) and (height == along or width <= longest)
        for (width, height), (across, along) in orders
    )


def _size_cut(layer: Layer, shape: Shape, batch: Batch) -> tuple[int, int]:
    """The width and height to cut, with what is folded behind, trimmed off, or goes round the card."""
    if shape.corners:
        return layer.width or 0, layer.height or 0
    width, height = shape.width, shape.height
    along_width = runs_across(layer, width, height)
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


def kind_asked(
    asked: Layer | LoosePiece, paper: Paper, width: int, height: int, *, round_: bool
) -> EqualPieces:
    """The kind of a layer or a loose piece whose size is known."""
    kind = _flat(paper, asked.face, asked.turn, width, height)
    shape: Literal["rect", "circle"] = "circle" if round_ else "rect"
    return kind._replace(shape=shape, die_allowance=asked.die_allowance)


def _flat(
    paper: Paper, face: FaceName | None, turn: Turn | None, width: int, height: int
) -> EqualPieces:
    """The kind of a rectangle without scores."""
    face, turn = facing_of(paper, face, turn)
    side = paper.back if face == "back" else paper.front
    return EqualPieces(
        "rect", width, height, 0, paper.name, face, side.print, side.up, turn,
        grain=None, score=None,
    )  # fmt: skip


def _base_kind(card: Card, base: Base, paper: Paper) -> EqualPieces:
    """The kind of a card's base laid flat; its grain should run along the fold."""
    width, height = card.width, card.height
    score: Score | None = None
    fold: Axis | None = None
    if base.fold == "left":
        width, score, fold = 2 * width, Score("x", card.width), "y"
    elif base.fold == "top":
        height, score, fold = 2 * height, Score("y", card.height), "x"
    kind = _flat(paper, base.face, None, width, height)
    return kind._replace(grain=fold if paper.grain else None, score=score)


def _envelope_kind(sent_in: Envelope, paper: Paper) -> EqualPieces:
    """The kind of an envelope laid flat: what is folded over lies round its front."""
    width, height, folds = sent_in.width or 0, sent_in.height or 0, sent_in.folds or Edges()
    flat_width = width + folds.left + folds.right
    flat_height = height + folds.top + folds.bottom
    down = (folds.left, flat_width - folds.right)
    across = (folds.bottom, flat_height - folds.top)
    scores = (*(Score("x", at) for at in down), *(Score("y", at) for at in across))
    return _flat(paper, sent_in.face, None, flat_width, flat_height)._replace(scores=scores)


def facing_of(paper: Paper, face: FaceName | None, turn: Turn | None) -> tuple[FaceName, Turn]:
    """Face and turn as given, or: the printed face, and never turned where the print shows it."""
    if face is None:
        only_back = paper.front.print == "plain" and paper.back.print != "plain"
        face = "back" if only_back else "front"
    if turn is None:
        print_ = (paper.back if face == "back" else paper.front).print
        turn = "may" if print_ in ("plain", "four-way") else "never"
    return face, turn
