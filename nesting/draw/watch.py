"""What to watch on one layout: exact fits, settings between marks, narrow holds, folds, allowances."""

from collections.abc import Iterator

from nesting.batch import Axis, Paper, Piece
from nesting.draw.bearings import numbered_cuts
from nesting.draw.lettering import isolated
from nesting.plan import (
    Blank,
    Cut,
    Layout,
    Placed,
    Plan,
    Strip,
    cut_distance,
    sides,
    starting_corner,
)
from nesting.units import format_length, neighbouring_marks, with_unit


def find_cautions(plan: Plan, layout: Layout) -> tuple[str, ...]:
    """Say plainly what can go wrong when this layout is cut, one sentence each."""
    return (
        *_exact_fits(layout),
        *_between_marks(plan, layout),
        *_narrow_holds(plan, layout),
        *_folds(plan, layout),
    )


def _exact_fits(layout: Layout) -> Iterator[str]:
    """A row of two or more blanks from edge to edge: every error ends in the last of them."""
    words: dict[Axis, str] = {"x": "width", "y": "height"}
    axes = [word for axis, word in words.items() if _fills(layout, axis)]
    if axes:
        yield f"Exact fit along the {' and the '.join(axes)}: measure every sheet first."


def _fills(layout: Layout, axis: Axis) -> bool:
    """Whether a line across the sheet along an axis meets nothing but blanks (and the strip)."""
    leaves = [
        placed
        for placed in layout.walk()
        if not isinstance(placed.node, Cut) and placed.width and placed.height
    ]
    spans = [(p.y, p.y + p.height) if axis == "x" else (p.x, p.x + p.width) for p in leaves]
    for at in {low for low, _ in spans}:
        met = [p.node for p, (low, high) in zip(leaves, spans, strict=True) if low <= at < high]
        met = [node for node in met if not isinstance(node, Strip)]
        if len(met) > 1 and all(isinstance(node, Blank) for node in met):
            return True
    return False


def _between_marks(plan: Plan, layout: Layout) -> Iterator[str]:
    """Ruler settings that the trimmer has no mark for."""
    unit, marks = plan.asked.unit, plan.asked.trimmer.marks
    corner = starting_corner(layout, plan.asked.paper(layout.paper))
    off: dict[int, list[int]] = {}
    for number, placed in numbered_cuts(layout):
        distance = cut_distance(placed, corner, layout.cut_width)
        if distance % marks:
            off.setdefault(distance, []).append(number)
    for distance, numbers in off.items():
        below, above = (format_length(m, unit) for m in neighbouring_marks(distance, marks))
        yield (
            f"{_cuts(numbers)}: the ruler setting {format_length(distance, unit)} lies between the marks "
            f"{below} and {above}."
        )


def _narrow_holds(plan: Plan, layout: Layout) -> Iterator[str]:
    """Cuts whose larger side is still too narrow to hold."""
    unit, least = plan.asked.unit, plan.asked.trimmer.narrowest_hold
    narrow = [
        number
        for number, placed in numbered_cuts(layout)
        if max(_across(side, placed) for side in sides(placed, layout.cut_width)) < least
    ]
    if narrow:
        yield (
            f"{_cuts(narrow)}: less than {with_unit(format_length(least, unit), unit)} to hold on either "
            "side, so mind your fingers."
        )


def _across(side: Placed, cut: Placed) -> int:
    """How wide one side of a cut is, away from the cut, in nm."""
    return side.width if isinstance(cut.node, Cut) and cut.node.axis == "x" else side.height


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


def _cuts(numbers: list[int]) -> str:
    """``Cut 3``; ``Cuts 3, 5 and 8``; ``Cuts 3, 5 and 9 more``."""
    if len(numbers) == 1:
        return f"Cut {numbers[0]}"
    if len(numbers) > 6:
        return f"Cuts {', '.join(map(str, numbers[:4]))} and {len(numbers) - 4} more"
    return f"Cuts {', '.join(map(str, numbers[:-1]))} and {numbers[-1]}"
