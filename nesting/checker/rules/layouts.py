"""Each layout can be cut as it is drawn, from a sheet that there is, and gives what it says."""

from collections import Counter, defaultdict
from collections.abc import Iterator
from itertools import combinations

from nesting.batch import Trimmer
from nesting.checker.asked.circles import group_sizes
from nesting.checker.asked.orientation import blank_size, may_lie
from nesting.checker.case import Case
from nesting.checker.cutting.cut_sheets import CutUp, Rect, parts_of_pinwheel
from nesting.checker.cutting.sheets import bared, sheet_of
from nesting.checker.fault import PlanFault
from nesting.layouts import Blank, Cut, EdgeTrim, Layout, Offcut, Strip
from nesting.papers import Paper
from nesting.pieces import Piece
from nesting.units import length_words, size_words


def check_layouts(case: Case) -> Iterator[PlanFault]:
    """Each layout is of a sheet that there is, cut by this trimmer, so often as it says."""
    for layout in case.plan.layouts:
        where = f"layout {layout.id}"
        paper = case.papers.get(layout.paper)
        if paper is None:
            yield PlanFault("paper", where, f"its paper {layout.paper!r} is not in the batch.")
        else:
            yield from _find_wrong_source(case, layout, paper)
        if layout.cut_width != case.batch.trimmer.cut_width:
            read, expected = layout.cut_width, case.batch.trimmer.cut_width
            said = f"its cut width is {read} nm; the trimmer's is {expected} nm."
            yield PlanFault("cut width", where, said)
        if layout.alike < 1:
            yield PlanFault(
                "alike", where, f"{layout.alike} sheets are cut alike; at least 1 must be."
            )
        if not 0 <= layout.to_buy <= layout.alike:
            said = f"{layout.to_buy} of {layout.alike} sheets are to buy."
            yield PlanFault("to buy", where, said)
    for number, layout in enumerate(case.plan.layouts, 1):
        if layout.id != number:
            yield PlanFault("layout", f"layout {layout.id}", f"in order, it is number {number}.")


def _find_wrong_source(case: Case, layout: Layout, paper: Paper) -> Iterator[PlanFault]:
    """A sheet that the paper does not have, or that is called by another size."""
    where = f"layout {layout.id}"
    sheet = sheet_of(layout, paper)
    if sheet is None:
        size = size_words(layout.width, layout.height, case.batch.unit)
        yield PlanFault("source", where, f"{paper.name!r} has no {layout.source.kind} of {size}.")
        return
    name = size_words(sheet.width, sheet.height, case.batch.unit)
    if layout.source.name != name:
        yield PlanFault(
            "source", where, f"its sheet is called {layout.source.name!r}; it is {name}."
        )


def check_cuts(case: Case) -> Iterator[PlanFault]:
    """Each cut lies inside what it divides, is short enough, and no area is lost or made."""
    unit, longest = case.batch.unit, case.batch.trimmer.longest_cut
    for one in case.sheets:
        where = f"layout {one.layout.id}"
        for cut, rect in one.impossible:
            size = size_words(rect.width, rect.height, unit)
            what = "the lines of a pinwheel leave nothing of an arm or of the centre of"
            if isinstance(cut, Cut):
                at = length_words(cut.at, unit)
                what = f"a cut at {cut.axis} = {at} does not divide what is there,"
            yield PlanFault("cut", where, f"{what} {size}.")
        if one.pinwheels and not _can_stop(case.batch.trimmer):
            said = "it has cuts that end inside the sheet; the trimmer cannot stop one part-way."
            yield PlanFault("stopped cut", where, said)
        for length in _lengths_of_cuts(one):
            if longest is not None and length > longest:
                read, most = length_words(length, unit), length_words(longest, unit)
                said = f"a cut is {read} long; the trimmer's longest cut is {most}."
                yield PlanFault("longest cut", where, said)
        area = one.layout.width * one.layout.height
        if one.loss + sum(rect.area for _, rect in one.leaves) != area:
            said = "blanks, offcuts, strip, edge trim and cut widths do not add up to the sheet."
            yield PlanFault("area", where, said)


def _can_stop(trimmer: Trimmer) -> bool:
    """Whether a cut may end inside the sheet: where the batch says so, and always with a knife."""
    return trimmer.can_stop or trimmer.kind == "knife"


def _lengths_of_cuts(one: CutUp) -> Iterator[int]:
    """How long each cut is; those of a pinwheel are as long as the arms before them."""
    for cut, rect in one.cuts:
        yield rect.height if cut.axis == "x" else rect.width
    for wheel, rect in one.pinwheels:
        bottom, left, top, right, _ = parts_of_pinwheel(wheel, rect, one.layout.cut_width)
        yield from (bottom[1].width, left[1].height, top[1].width, right[1].height)


def check_taken_off(case: Case) -> Iterator[PlanFault]:
    """Barcode strip and edge trim are taken off whole, in their place, and nowhere else."""
    for one in case.sheets:
        paper = case.papers.get(one.layout.paper)
        sheet = None if paper is None else sheet_of(one.layout, paper)
        if paper is None or sheet is None:
            continue
        expected = Counter(bared(paper, sheet, case.batch.trimmer.cut_width).off)
        found = Counter(
            ("strip" if isinstance(leaf, Strip) else "edge", rect)
            for leaf, rect in one.leaves
            if isinstance(leaf, Strip | EdgeTrim)
        )
        lacking = [(kind, rect, "is not cut off where it lies") for kind, rect in expected - found]
        surplus = [(kind, rect, "is cut off where none lies") for kind, rect in found - expected]
        for kind, rect, words in lacking + surplus:
            name = "barcode strip" if kind == "strip" else "edge trim"
            size = size_words(rect.width, rect.height, case.batch.unit)
            yield PlanFault("strip", f"layout {one.layout.id}", f"{name} of {size} {words}.")


def check_offcuts(case: Case) -> Iterator[PlanFault]:
    """An offcut is kept exactly when it is large enough."""
    for one in case.sheets:
        for leaf, rect in one.leaves:
            if isinstance(leaf, Offcut) and leaf.keep != _is_useful(rect, case.batch.keep_from):
                size = size_words(rect.width, rect.height, case.batch.unit)
                said = (
                    f"an offcut of {size} is kept and is too small."
                    if leaf.keep
                    else f"an offcut of {size} goes to the bin and is large enough to keep."
                )
                yield PlanFault("offcut", f"layout {one.layout.id}", said)


def _is_useful(rect: Rect, keep_from: tuple[tuple[int, int], ...]) -> bool:
    """Whether the rectangle holds one of the smallest sizes to keep, lying one way or the other."""
    short, long = sorted((rect.width, rect.height))
    return any(min(size) <= short and max(size) <= long for size in keep_from)


def check_blanks(case: Case) -> Iterator[PlanFault]:
    """Each blank is of a piece of this paper, in its size, turned only where it may be; there is one."""
    for one in case.sheets:
        if not any(one.blanks):
            yield PlanFault("blank", f"layout {one.layout.id}", "no piece is cut from it.")
        for blank, rect in one.blanks:
            piece = case.pieces.get(blank.piece)
            letter = repr(blank.piece) if piece is None else piece.letter
            where = f"layout {one.layout.id}, blank {letter}"
            if piece is None:
                yield PlanFault("blank", where, "no piece of the plan has this id.")
                continue
            if piece.paper != one.layout.paper:
                said = f"its piece is cut from {piece.paper!r}, not from {one.layout.paper!r}."
                yield PlanFault("blank", where, said)
            if not may_lie(piece, turned=blank.turned):
                said = f"it may not be {'turned' if blank.turned else 'left unturned'}."
                yield PlanFault("turn", where, said)
            size = blank_size(piece, turned=blank.turned)
            if len(blank.circles) <= 1 and (rect.width, rect.height) != size:
                read = size_words(rect.width, rect.height, case.batch.unit)
                expected = size_words(*size, case.batch.unit)
                yield PlanFault("blank", where, f"it is {read}; its piece needs {expected}.")
            for said in _find_bad_circles(piece, blank, rect):
                yield PlanFault("circle", where, said)
            several = piece.shape == "circle" and len(blank.circles) > 1
            if several and not _is_of_rows(case, piece, len(blank.circles), rect):
                size_read = size_words(rect.width, rect.height, case.batch.unit)
                said = f"it is {size_read}; no rows of {len(blank.circles)} circles need that."
                yield PlanFault("circle", where, said)


def _is_of_rows(case: Case, piece: Piece, circles: int, rect: Rect) -> bool:
    """Whether rows of at least this many circles need a blank of exactly this size."""
    paper, marks = case.papers[piece.paper], case.batch.trimmer.marks
    sheets = {case.usable(paper, one) for one in paper.sheets}
    return any(
        size == (rect.width, rect.height) and circles <= holds
        for size, holds in group_sizes(piece.width, piece.die_allowance, sheets, marks)
    )


def _find_bad_circles(piece: Piece, blank: Blank, rect: Rect) -> Iterator[str]:
    """What is wrong with the centres of a blank's circles."""
    if piece.shape == "rect":
        if blank.circles:
            yield "it has circles, and its piece is a rectangle."
        return
    if not blank.circles:
        yield "it has no circle, and its piece is one."
    # Centres are whole nanometres: one of an odd diameter lies half a nanometre off.
    across = piece.width - piece.width % 2 + 2 * piece.die_allowance
    for x, y in blank.circles:
        room = min(x - rect.x, rect.x + rect.width - x, y - rect.y, rect.y + rect.height - y)
        if 2 * room < across:
            yield "a circle with its die allowance reaches beyond it."
    if blank.circles and not _are_in_rows(blank.circles):
        yield "its centres are not in rows, by whose first ones all are marked."
    apart = piece.width + piece.die_allowance
    for (x, y), (other_x, other_y) in combinations(blank.circles, 2):
        if (x - other_x) ** 2 + (y - other_y) ** 2 < apart**2:
            yield "two circles are closer than their die allowance."


def _are_in_rows(centres: tuple[tuple[int, int], ...]) -> bool:
    """Whether the first centres of two rows and the steps between them tell where all are.

    Rows may lie either way; steps are rounded to whole nanometres, each by itself.
    """
    upright = len({x for x, _ in centres}) < len({y for _, y in centres})
    rows: defaultdict[int, list[int]] = defaultdict(list)
    for centre in sorted(centres):
        rows[centre[not upright]].append(centre[upright])
    heights, rounding = sorted(rows), len(centres)
    first_two = [rows[height] for height in heights[:2]]
    longest = max(first_two, key=len)
    step = longest[1] - longest[0] if len(longest) > 1 else 0
    rise = heights[1] - heights[0] if len(heights) > 1 else 0
    for number, height in enumerate(heights):
        if abs(height - heights[0] - number * rise) > rounding:
            return False
        offsets = [at - first_two[number % 2][0] for at in rows[height]]
        if any(abs(off - round(off / (step or 1)) * step) > rounding for off in offsets):
            return False
    return True
