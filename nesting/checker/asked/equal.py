"""What makes two pieces equal."""

from typing import Literal, NamedTuple

from nesting.papers import Axis, Edge, FaceName, Print, Turn
from nesting.pieces import Piece, Score


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


def kind_of(piece: Piece) -> EqualPieces:
    """The kind of a piece of a plan."""
    return EqualPieces(*(getattr(piece, name) for name in EqualPieces._fields))
