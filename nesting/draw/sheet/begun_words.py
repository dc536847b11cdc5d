"""The sentences about what is cut already: a record said back, what is in the bags, what to finish."""

from collections import Counter
from collections.abc import Iterator

from nesting.cutting.progress import SheetsCut, progress_of, sheets_cut
from nesting.draw.canvas.lettering import brief, isolated
from nesting.draw.sheet.words import offcut_words, piece_size
from nesting.layouts import Layout
from nesting.needs import left_in_bags, made_of_bags
from nesting.pieces import Piece
from nesting.plan import Plan
from nesting.record import Record
from nesting.units import counted, with_unit


def record_lines(plan: Plan, record: Record) -> Iterator[str]:
    """Say back what a record was read as, a line for each layout that is cut, at least in part.

    Then what it leaves in the bags, and to cut from.

    Raises
    ------
    RecordError
        The record is not one of this plan.
    """
    progress = progress_of(plan, record)
    for layout, cut in sheets_cut(plan, record):
        said = [_cut_words(one) for one in sorted(cut, key=lambda one: one.spoilt)]
        left = layout.alike - sum(one.sheets for one in cut)
        if left:
            said.append(f"{left} not begun")
        yield f"layout {layout.id}, {brief(layout.paper)}: {', '.join(said)}"
    bags = [
        f"{progress.bags[piece.id]} {_named(piece)}"
        for piece in plan.pieces
        if progress.bags.get(piece.id)
    ]
    if bags:
        yield f"cut by this record: {', '.join(bags)}"
    left_over: dict[str, Counter[str]] = {}
    for one in (*progress.kept, *progress.in_hand):
        paper = plan.asked.paper(one.paper)
        size = offcut_words(one.sheet, paper, plan.asked.unit)
        size += ", edges not trimmed" if one.sheet.trim else ""
        left_over.setdefault(one.paper, Counter())[size] += one.count
    for paper_name, sizes in left_over.items():
        listed = "; ".join(size if n == 1 else f"{size} ({n} of them)" for size, n in sizes.items())
        yield f"left to cut from, {brief(paper_name)}, {_in_unit(plan)}: {listed}"


def _in_unit(plan: Plan) -> str:
    return {"in": "in inches"}.get(plan.asked.unit, f"in {plan.asked.unit}")


def _cut_words(one: SheetsCut) -> str:
    """Such as ``1 sheet cut up to step 4``."""
    sheets = counted(one.sheets, "sheet")
    if one.spoilt and one.stroke:
        return f"{sheets} whose part in hand at stroke {one.stroke} is lost"
    if one.spoilt:
        return f"{sheets} lost at step {one.done + 1}" if one.done else f"{sheets} lost whole"
    if one.stroke:
        return f"{sheets} cut up to stroke {one.stroke}"
    return f"{sheets} cut" if one.done == one.steps else f"{sheets} cut up to step {one.done}"


def _named(piece: Piece) -> str:
    return f"{piece.letter} {isolated(piece.name)}"


def bags_words(plan: Plan) -> Iterator[str]:
    """Say what is in the bags and what is to be cut; nothing where nothing was cut before."""
    if plan.asked.begun is None:
        return
    bags = [f"{piece.in_bags} {_named(piece)}" for piece in plan.pieces if piece.in_bags]
    to_cut = {piece.id: plan.as_cut(piece).to_cut for piece in plan.pieces}
    cut = [f"{to_cut[piece.id]} {_named(piece)}" for piece in plan.pieces if to_cut[piece.id]]
    yield f"In the bags: {', '.join(bags) or 'nothing'}; to cut: {', '.join(cut) or 'nothing'}."


def left_over_words(plan: Plan) -> Iterator[str]:
    """Say what is in the bags and not asked for."""
    over = [
        f"{count} {_named(piece)}, {with_unit(piece_size(piece, plan.asked.unit), plan.asked.unit)}"
        f" of {isolated(piece.paper)}"
        for piece, count in left_in_bags(plan)
    ]
    if over:
        yield f"Left over in the bags, as this plan has no need of them: {'; '.join(over)}."


def finish_words(plan: Plan) -> Iterator[str]:
    """Say which cards to finish first where only some of a design can be, some of it cut already."""
    if plan.asked.begun is None:
        return
    ready = made_of_bags(plan)
    for count in plan.cards:
        if not 0 < count.complete < count.asked:
            continue
        layouts = [str(one.id) for one in plan.layouts if _is_for(plan, one, count.card)]
        words = f"Of {isolated(count.card)}, {count.complete} of {count.asked} can be finished"
        if ready[count.card]:
            words += f"; first {ready[count.card]}, for which all is in the bags"
        if ready[count.card] < count.complete and layouts:
            the = "the others take" if ready[count.card] else "they take"
            words += f"; {the} layout{'s' * (len(layouts) > 1)} {', '.join(layouts)}"
        yield f"{words}."


def _is_for(plan: Plan, layout: Layout, card: str) -> bool:
    """Whether a layout has pieces of a card."""
    names = {placed.node.piece for placed in layout.blanks}  # type: ignore[union-attr]
    return any(use.card == card for piece in plan.pieces if piece.id in names for use in piece.uses)
