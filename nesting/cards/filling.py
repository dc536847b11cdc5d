"""Defaults filled in: faces, turns, and what each layer lies on; papers and faces that are not clear."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TypeVar

from nesting.batch import Base, Batch, Card, Fault, KeyPath, Layer, LoosePiece, PaperOption, Where
from nesting.nearest import Nearest
from nesting.papers import FaceName, Paper

_Facing = TypeVar("_Facing", Layer, LoosePiece)


def fill_in(batch: Batch, nearest: Nearest) -> tuple[Batch, list[Fault]]:
    """Fill in each face, turn and ``over`` that was left open; no size is looked at.

    The default face is the only printed one, else the front. The default turn is ``never`` on a print
    with a direction; where there are papers to choose from it stays open, as each has its own. A layer
    lies on the one before it in the list with the same ``where``; the first one, and a belt, on the card.

    Returns
    -------
    tuple
        The batch, filled in as far as its papers are known; and the faults: papers to choose
        that stand twice, then papers that are not there and faces left open on a paper that is
        printed on both.
    """
    filling = _Filling(batch.papers_by_name, nearest)
    cards = tuple(filling.card(card) for card in batch.cards)
    pieces = tuple(
        filling.facing(piece, ("pieces", number)) for number, piece in enumerate(batch.pieces)
    )
    return replace(batch, cards=cards, pieces=pieces), [*filling.repeated, *filling.unknown]


@dataclass(slots=True)
class _Filling:
    """The papers to look up, and the faults found on the way."""

    papers: Mapping[str, Paper]
    nearest: Nearest
    repeated: list[Fault] = field(default_factory=list)
    unknown: list[Fault] = field(default_factory=list)

    def card(self, card: Card) -> Card:
        """A card with the face of its base and its layers filled in."""
        path: KeyPath = ("cards", card.name)
        base = card.base
        if base is not None:
            base = replace(base, face=self.face(base, (*path, "base")))
        envelope = card.envelope
        if envelope is not None and envelope.paper is not None:
            cut = Base(envelope.paper, envelope.face)
            envelope = replace(envelope, face=self.face(cut, (*path, "envelope")))
        before: dict[Where, str] = {}
        layers = []
        for number, layer in enumerate(card.layers):
            here = (*path, "layers", number)
            filled = self.facing(layer, here) if layer.choice is None else self.choice(layer, here)
            usual = layer.ground
            if layer.belt is None:
                usual = before.get(layer.where, usual)
            over = usual if layer.over is None else layer.over
            layers.append(replace(filled, over=over))
            before[layer.where] = layer.name
        return replace(card, base=base, envelope=envelope, layers=tuple(layers))

    def facing(self, asked: _Facing, path: KeyPath) -> _Facing:
        """A layer or loose piece of one paper with its face and turn."""
        face = self.face(asked, path)
        turn, paper = asked.turn, self.papers.get(asked.paper)
        if turn is None and paper is not None and face is not None:
            turn = paper.face(face).default_turn
        return replace(asked, face=face, turn=turn)

    def choice(self, layer: Layer, path: KeyPath) -> Layer:
        """A layer with papers to choose from, each option with its face."""
        if not layer.options:
            here = (*path, "paper", "one of")
            self.unknown.append(
                Fault(here, "no paper to choose from", "one of the papers, or more")
            )
            return layer
        options: list[PaperOption] = []
        for number, option in enumerate(layer.options):
            here = (*path, "paper", "one of", number)
            filled = replace(option, face=self.face(option, here))
            if filled in options:
                said = f"{option.paper!r} twice"
                self.repeated.append(Fault(here, said, "each paper and face once"))
            options.append(filled)
        choice = layer.choice and replace(layer.choice, options=tuple(options))
        return replace(layer, paper=options[0].paper, face=options[0].face, choice=choice)

    def face(
        self, asked: Base | Layer | LoosePiece | PaperOption, path: KeyPath
    ) -> FaceName | None:
        """The face asked for, or the paper's default; None where the paper is not there."""
        paper = self.papers.get(asked.paper)
        if paper is None:
            expected = f"one of the papers; {self.nearest.words(asked.paper, self.papers)}"
            self.unknown.append(Fault((*path, "paper"), f"paper {asked.paper!r}", expected))
            return asked.face
        if asked.face is None and len(paper.printed_faces) > 1:
            expected = "face: front or face: back"
            if isinstance(asked, PaperOption):
                expected = f"{paper.name}/front or {paper.name}/back"
            said = f"no face, and {paper.name!r} is printed on both"
            self.unknown.append(Fault((*path, "face"), said, expected))
        return asked.face or paper.default_face
