"""What ends in pieces, in kept offcuts and in the bin."""

import math
from collections import Counter
from dataclasses import dataclass
from fractions import Fraction

from nesting.layouts import Blank, Layout, Offcut
from nesting.papers import Paper
from nesting.pieces import Piece
from nesting.sources import nominal_area


@dataclass(frozen=True, slots=True)
class Shares:
    """Shares of the nominal sheets, adding up to 1."""

    in_pieces: float
    kept: float
    waste: float


def piece_area(piece: Piece) -> Fraction:
    """Area of one piece, a circle's disc, in nm²."""
    if piece.shape == "rect":
        return Fraction(piece.width * piece.height)
    return Fraction(math.pi) * piece.width * piece.width / 4


def shares(layouts: tuple[Layout, ...], pieces: dict[str, Piece], paper: Paper) -> Shares:
    """The shares of some layouts of one paper, to six decimals, every sheet cut alike counted.

    A covered middle counts as what is cut from it, and not as part of the piece that it comes from.
    """
    total = kept = middles = 0
    cut: Counter[str] = Counter()
    for layout in layouts:
        if layout.source.kind == "middle":
            middles += layout.alike * nominal_area(layout, paper)
        else:
            total += layout.alike * nominal_area(layout, paper)
        for placed in layout.walk():
            match placed.node:
                case Blank(piece=id, circles=circles):
                    cut[id] += layout.alike * max(1, len(circles))
                case Offcut(keep=True):
                    kept += layout.alike * placed.width * placed.height
                case _:
                    pass
    if not total:
        return Shares(0.0, 0.0, 0.0)
    in_pieces = sum((n * piece_area(pieces[one]) for one, n in cut.items()), Fraction(-middles))
    return Shares(
        in_pieces=round(float(in_pieces / total), 6),
        kept=round(float(Fraction(kept, total)), 6),
        waste=round(float((total - in_pieces - kept) / total), 6),
    )
