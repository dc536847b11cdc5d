"""The figures of each paper, added up again from the leaves of its sheets."""

from collections.abc import Iterator
from fractions import Fraction
from math import pi

from nesting.checker.asked.costs import counts_sheets
from nesting.checker.case import Case
from nesting.checker.cutting.cut_sheets import CutUp
from nesting.checker.cutting.recounted_strokes import strokes_and_settings
from nesting.checker.cutting.sheets import sheet_of
from nesting.checker.fault import PlanFault
from nesting.checker.rules.tallies import total_of
from nesting.layouts import Blank, Offcut
from nesting.papers import Paper
from nesting.pieces import Piece
from nesting.plan import PaperFigures

#: How far a share may be off: the last of its six decimals.
_LAST_DECIMAL = 1e-6


def check_figures(case: Case) -> Iterator[PlanFault]:
    """Each paper that pieces are cut from has its figures, and they are the plan's."""
    used = {kind.paper for kind, uses in case.wanted.items() if any(use.count for use in uses)}
    names = [name for name in case.papers if name in used]
    if [figures.paper for figures in case.plan.papers] != names:
        yield PlanFault("figures", "plan", f"its papers are not those needed: {', '.join(names)}.")
    for layout in case.plan.layouts:
        if layout.paper not in names:
            said = f"no piece that is asked for is cut from {layout.paper!r}."
            yield PlanFault("figures", f"layout {layout.id}", said)
    for figures in case.plan.papers:
        paper = case.papers.get(figures.paper)
        if paper is None:
            continue
        for said in (
            *_find_wrong_counts(case, figures, paper),
            *_find_unneeded(case, figures, paper),
        ):
            yield PlanFault("figures", paper.name, said)
        for said in _find_wrong_shares(case, figures, paper):
            yield PlanFault("shares", paper.name, said)


def _find_wrong_counts(case: Case, figures: PaperFigures, paper: Paper) -> Iterator[str]:
    """Sheets at hand, used and to buy; strokes and ruler settings."""
    sheets = case.sheets_of(paper.name)
    efforts = [strokes_and_settings(one, paper, case.batch.trimmer) for one in sheets]
    expected = {
        "have": total_of(sheet.have for sheet in paper.sheets if not sheet.offcut),
        "used": _used(sheets),
        "to_buy": sum(one.layout.to_buy for one in sheets),
        "strokes": sum(strokes for strokes, _ in efforts),
        "ruler_settings": len(set().union(*(settings for _, settings in efforts))),
    }
    for name, value in expected.items():
        read = getattr(figures, name)
        if read != value:
            said, comes_to = ("plenty" if n is None else str(n) for n in (read, value))
            yield f"{name.replace('_', ' ')} is {said}; it comes to {comes_to}."


def _used(sheets: list[CutUp]) -> int:
    """How many whole sheets are cut."""
    return sum(one.layout.alike for one in sheets if one.layout.source.kind == "sheet")


def _find_unneeded(case: Case, figures: PaperFigures, paper: Paper) -> Iterator[str]:
    """The sheets of the full need: those used; where pieces are uncut, as many at least or of another size."""
    needed, used = figures.needed, _used(case.sheets_of(paper.name))
    sizes = {(sheet.width, sheet.height) for sheet in paper.sheets if not sheet.offcut}
    if needed != used and not (case.has_uncut(paper.name) and (needed > used or len(sizes) > 1)):
        yield f"needed is {needed}; all is cut from {used} sheets."
    if needed > (asked := case.asked_of(paper)):
        yield f"needed is {needed} sheets, for {asked} pieces."
    have = paper.sheets[0].have
    if figures.short and paper.buy:
        yield "it is called short, and may be bought."
    elif figures.short and not case.has_uncut(paper.name):
        yield "it is called short, and nothing of it is left uncut."
    elif figures.short and counts_sheets(paper) and (have is None or needed <= have):
        yield f"it is called short; {needed} sheets are needed, and there."


def _find_wrong_shares(case: Case, figures: PaperFigures, paper: Paper) -> Iterator[str]:
    """In pieces, kept and waste.

    Three shares that are each right within their last decimal add up to 1 as well.
    """
    areas = _areas(case, paper)
    total = sum(areas.values())
    for name, area in areas.items():
        share = getattr(figures, name)
        exact = float(area / total) if total else 0.0
        if not abs(share - exact) < _LAST_DECIMAL:  # so that not-a-number is wrong, too
            yield f"the share {name.replace('_', ' ')} is {share}; it comes to {exact:.6f}."


def _areas(case: Case, paper: Paper) -> dict[str, Fraction]:
    """Area in pieces, kept and wasted, over all sheets of a paper, in nm².

    A barcode strip beyond the sheet counts for nothing, nor does a cut that runs in it. A covered
    middle is no sheet of its own, and counts as what is cut from it.
    """
    areas = {"in_pieces": Fraction(0), "kept": Fraction(0), "waste": Fraction(0)}
    for one in case.sheets_of(paper.name):
        sheet = sheet_of(one.layout, paper) or one.layout
        pieces, kept = Fraction(0), Fraction(0)
        for leaf, rect in one.leaves:
            match leaf:
                case Blank(piece=id_, circles=circles) if id_ in case.pieces:
                    pieces += _piece_area(case.pieces[id_]) * max(1, len(circles))
                case Offcut(keep=True):
                    kept += rect.area
                case _:
                    pass
        areas["in_pieces"] += one.layout.alike * pieces
        areas["kept"] += one.layout.alike * kept
        areas["waste"] += one.layout.alike * (sheet.width * sheet.height - pieces - kept)
        if one.layout.source.kind == "middle":  # part of its host so far
            areas["in_pieces"] -= one.layout.alike * sheet.width * sheet.height
    return areas


def _piece_area(piece: Piece) -> Fraction:
    """Area of a rectangle, or of a circle's disc, in nm²."""
    square = Fraction(piece.width * piece.height)
    return square * Fraction(pi) / 4 if piece.shape == "circle" else square
