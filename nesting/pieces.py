"""Pieces: what a batch comes to once the sizes of its layers are worked out, equal ones as one."""

from dataclasses import dataclass, field
from typing import Literal

from nesting.papers import ONLY_WHERE_SAID, Axis, Edge, FaceName, Print, Turn


@dataclass(frozen=True, slots=True)
class Score:
    """A score line across a piece: ``axis`` x is the line x = ``at`` of the upright piece."""

    axis: Axis
    at: int


@dataclass(frozen=True, slots=True)
class Use:
    """How many of a piece one layer of one card asks for; ``card`` None is a loose piece.

    Of a layer that is cut as two ends, ``end`` is the edge that the piece reaches to.
    """

    card: str | None
    layer: str
    count: int
    end: Edge | None = field(default=None, metadata=ONLY_WHERE_SAID)

    @property
    def name(self) -> str:
        """The layer's name, and which end of it where it is one."""
        return self.layer if self.end is None else f"{self.layer}, {self.end} end"


@dataclass(frozen=True, slots=True)
class Piece:
    """One size to be cut, however many cards it is for.

    ``width`` and ``height`` are as seen on the upright card, without the die allowance; a circle
    has its diameter in both. ``grain`` is the axis of the upright piece along which the grain
    should run, where the paper has one and the piece is folded. ``in_bags`` of the demand are cut
    already. ``scores`` are those of an envelope, ``score`` that of a base.
    """

    id: str
    letter: str
    name: str
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
    demand: int
    uses: tuple[Use, ...]
    in_bags: int = field(default=0, metadata=ONLY_WHERE_SAID)
    scores: tuple[Score, ...] = field(default=(), metadata=ONLY_WHERE_SAID)

    @property
    def score_lines(self) -> tuple[Score, ...]:
        """Every score line across it."""
        return self.scores if self.score is None else (self.score, *self.scores)

    @property
    def to_cut(self) -> int:
        """How many are still to be cut: the demand less what is in the bags."""
        return self.demand - self.in_bags

    def on_sheet(self, *, turned: bool) -> tuple[int, int]:
        """Width and height of the piece's blank as it lies on the sheet, front up, in nm.

        ``turned`` is relative to the print, as in the plan: a piece not turned has its height
        along the print's up.
        """
        width = self.width + 2 * self.die_allowance
        height = self.height + 2 * self.die_allowance
        sideways = self.up in ("left", "right")
        return (height, width) if turned != sideways else (width, height)

    def folds_across(self, grain: Axis | None, *, turned: bool) -> bool:
        """Whether its fold runs across a grain along this axis of the sheet; without one, no."""
        if grain is None or self.grain is None:
            return False
        lies_turned = turned != (self.up in ("left", "right"))
        return (self.grain == grain) == lies_turned

    @property
    def turns(self) -> tuple[bool, ...]:
        """The values ``turned`` may take."""
        return {"never": (False,), "must": (True,), "may": (False, True)}[self.turn]
