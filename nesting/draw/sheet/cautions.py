"""Cautions for one layout: exact fits, and folds across the grain."""

from collections.abc import Iterator

from nesting.draw.canvas.lettering import isolated
from nesting.draw.sheet.view import sheet_leaves
from nesting.layouts import Blank, Layout, Strip
from nesting.papers import Axis, Paper
from nesting.pieces import Piece
from nesting.plan import Plan


def find_cautions(plan: Plan, layout: Layout) -> tuple[str, ...]:
    """Say plainly what can go wrong when this layout is cut, one sentence each.

    What concerns one step only is said there, in the stroke table.
    """
    return (*_exact_fits(layout), *_folds(plan, layout))


def _exact_fits(layout: Layout) -> Iterator[str]:
    """A row of two or more blanks from edge to edge: every error ends in the last of them."""
    words: dict[Axis, str] = {"x": "from left to right", "y": "from top to bottom"}
    ways = [way for axis, way in words.items() if _fills(layout, axis)]
    if ways:
        yield f"Nothing to spare {' and '.join(ways)}: measure every sheet first."


def _fills(layout: Layout, axis: Axis) -> bool:
    """Whether a line across the sheet along an axis meets nothing but blanks (and the strip)."""
    leaves = sheet_leaves(layout)
    spans = [(p.y, p.y + p.height) if axis == "x" else (p.x, p.x + p.width) for p in leaves]
    for at in {low for low, _ in spans}:
        met = [p.node for p, (low, high) in zip(leaves, spans, strict=True) if low <= at < high]
        met = [node for node in met if not isinstance(node, Strip)]
        if len(met) > 1 and all(isinstance(node, Blank) for node in met):
            return True
    return False


def _folds(plan: Plan, layout: Layout) -> Iterator[str]:
    """Pieces that are scored across the grain here."""
    paper: Paper = plan.asked.paper(layout.paper)
    across: dict[str, Piece] = {}
    for placed in layout.blanks:
        if isinstance(placed.node, Blank):
            piece = plan.piece(placed.node.piece)
            if piece.folds_across(paper.grain_axis, turned=placed.node.turned):
                across[piece.id] = piece
    for piece in across.values():
        yield f"{piece.letter} {isolated(piece.name)} folds across the grain here: score it well."
