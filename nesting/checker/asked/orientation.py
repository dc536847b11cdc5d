"""How a piece may lie on its sheet, and what size its blank then has."""

from nesting.checker.asked.equal import EqualPieces
from nesting.papers import Paper
from nesting.pieces import Piece


def may_lie(piece: Piece | EqualPieces, *, turned: bool) -> bool:
    """Whether it may lie so, relative to the print."""
    return piece.turn == "may" or turned == (piece.turn == "must")


def blank_size(piece: Piece | EqualPieces, *, turned: bool) -> tuple[int, int]:
    """Width and height of its blank on the sheet, the die's room on both sides, in nm."""
    width, height = (side + 2 * piece.die_allowance for side in (piece.width, piece.height))
    return (width, height) if _is_upright(piece, turned=turned) else (height, width)


def blank_sizes(piece: Piece | EqualPieces) -> list[tuple[int, int]]:
    """The size of its blank, for each way in which it may lie."""
    return [
        blank_size(piece, turned=turned)
        for turned in (False, True)
        if may_lie(piece, turned=turned)
    ]


def _is_upright(piece: Piece | EqualPieces, *, turned: bool) -> bool:
    """Whether its height lies along that of the sheet: a print may itself lie on its side."""
    quarter_turns = int(turned) + int(piece.up not in ("top", "bottom"))
    return quarter_turns % 2 == 0


def fold_is_across(piece: Piece, paper: Paper, *, turned: bool) -> bool:
    """Whether its fold runs across the grain; on sheets of both formats, nobody can tell.

    A fold should run along the grain, so ``piece.grain`` is the axis of the fold itself.
    """
    grain_lies = {
        (sheet.width >= sheet.height) == (paper.grain == "long")
        for sheet in paper.sheets
        if not sheet.offcut
    }
    if paper.grain is None or piece.grain is None or len(grain_lies) != 1:
        return False
    fold_lies = (piece.grain == "x") == _is_upright(piece, turned=turned)
    return fold_lies not in grain_lies
