"""What the rules look at: the batch with its defaults, the plan, and what is made of both."""

from dataclasses import dataclass
from typing import Self

from nesting.batch import Batch, Card
from nesting.checker.asked.circles import least_area
from nesting.checker.asked.costs import supplies_of
from nesting.checker.asked.cut_already import NOTHING_BEGUN
from nesting.checker.asked.equal import EqualPieces, kind_of
from nesting.checker.asked.orientation import blank_sizes
from nesting.checker.asked.parts import Part, parts_of
from nesting.checker.asked.wanted import Wanted
from nesting.checker.cutting.cut_sheets import CutUp, cut_up
from nesting.checker.cutting.sheets import usable_of
from nesting.papers import Paper, Sheet, Supply
from nesting.pieces import Piece, Use
from nesting.plan import Plan


@dataclass(frozen=True, slots=True)
class Case:
    """A plan held against a batch that has every default filled in.

    ``asked`` is the batch as it was asked; in ``batch``, every design has a number. ``matched``
    has the pieces of the plan, each with the uses that the batch has for it, ``unasked`` those that
    it has none for, or that stand twice, and ``lacking`` what is asked for and no piece of the plan. By piece
    id are ``pieces``, their recounted ``demand`` and what of it is ``to_cut``; by kind, ``bags`` has how
    many are cut already. ``ways`` has for each card and layer what it can be cut as.
    """

    asked: Batch
    batch: Batch
    plan: Plan
    papers: dict[str, Paper]
    wanted: Wanted
    matched: list[tuple[Piece, list[Use]]]
    unasked: list[Piece]
    lacking: Wanted
    pieces: dict[str, Piece]
    demand: dict[str, int]
    to_cut: dict[str, int]
    bags: dict[EqualPieces, int]
    ways: dict[str, dict[str, list[list[Part]]]]
    sheets: list[CutUp]

    @classmethod
    def of(cls, asked: Batch, batch: Batch, plan: Plan, wanted: Wanted) -> Self:
        """Match the plan's pieces with what is wanted, and cut its sheets up."""
        lacking = dict(wanted)
        matched: list[tuple[Piece, list[Use]]] = []
        unasked: list[Piece] = []
        for piece in plan.pieces:
            if kind_of(piece) in lacking:
                matched.append((piece, lacking.pop(kind_of(piece))))
            else:
                unasked.append(piece)
        demand = {piece.id: sum(use.count for use in uses) for piece, uses in matched}
        pieces = {piece.id: piece for piece in plan.pieces}
        bags = {kind_of(piece): piece.in_bags for piece in (batch.begun or NOTHING_BEGUN).pieces}
        return cls(
            asked=asked,
            batch=batch,
            plan=plan,
            papers={paper.name: paper for paper in batch.papers},
            wanted=wanted,
            matched=matched,
            unasked=unasked,
            lacking=lacking,
            pieces=pieces,
            demand=demand,
            to_cut={
                id_: max(0, asked - bags.get(kind_of(pieces[id_]), 0))
                for id_, asked in demand.items()
            },
            bags=bags,
            ways={card.name: _ways_of(card, batch) for card in batch.cards},
            sheets=[cut_up(layout) for layout in plan.layouts],
        )

    def sheets_of(self, paper: str) -> list[CutUp]:
        """The layouts of a paper, cut up."""
        return [one for one in self.sheets if one.layout.paper == paper]

    def kinds_of(self, paper: Paper) -> set[EqualPieces]:
        """Every kind that may be cut of a paper, in whichever ways."""
        parts = (
            part
            for layers in self.ways.values()
            for ways in layers.values()
            for way in ways
            for part in way
        )
        kinds = {*self.wanted, *(part.kind for part in parts)}
        return {kind for kind in kinds if kind.paper == paper.name}

    def asked_of(self, paper: Paper) -> int:
        """How many pieces of a paper are to be cut: no plan needs more sheets."""
        return sum(
            self.left_of(kind, uses)
            for kind, uses in self.wanted.items()
            if kind.paper == paper.name
        )

    def in_bags(self, id_: str) -> int:
        """How many of a piece's demand are in the bags."""
        return self.demand.get(id_, 0) - self.to_cut.get(id_, 0)

    def left_of(self, kind: EqualPieces, uses: list[Use]) -> int:
        """How many of a kind are to be cut: those asked for that are not in the bags."""
        return max(0, sum(use.count for use in uses) - self.bags.get(kind, 0))

    def supplies_of(self, paper: Paper) -> list[Supply]:
        """What the full need of a paper can be cut from, and at what cost."""
        return supplies_of(paper, self.asked_of(paper))

    def usable(self, paper: Paper, sheet: Sheet) -> tuple[int, int]:
        """Width and height of what strip and edge trim leave of a sheet."""
        return usable_of(paper, sheet, self.batch.trimmer.cut_width)

    def usable_area(self, paper: Paper, sheet: Sheet) -> int:
        """The area of that; 0 where nothing is left."""
        width, height = self.usable(paper, sheet)
        return max(0, width) * max(0, height)

    def holds(self, paper: Paper, sheet: Sheet, piece: Piece | EqualPieces) -> bool:
        """Whether a blank of a piece fits what is left of a sheet."""
        width, height = self.usable(paper, sheet)
        return any(across <= width and along <= height for across, along in blank_sizes(piece))

    def least_area(self, paper: Paper, kind: EqualPieces, count: int) -> int:
        """The least area of a sheet that each of so many of a kind takes."""
        return least_area(
            kind.width,
            kind.height,
            kind.die_allowance,
            {self.usable(paper, sheet) for sheet in paper.sheets},
            self.batch.trimmer.marks,
            circles=max(count, 1) if kind.shape == "circle" else 0,
        )

    def has_uncut(self, paper: str) -> bool:
        """Whether some pieces of a paper are listed as uncut."""
        ids = {missing.piece for missing in self.plan.uncut}
        return any(id_ in ids and piece.paper == paper for id_, piece in self.pieces.items())


def _ways_of(card: Card, batch: Batch) -> dict[str, list[list[Part]]]:
    """By layer, every way to cut it: its parts."""
    ways: dict[str, list[list[Part]]] = {}
    for part in parts_of(card, batch):
        of_layer = ways.setdefault(part.layer, [])
        of_layer += [[]] * (part.way + 1 - len(of_layer))
        of_layer[part.way] = [*of_layer[part.way], part]
    return ways
