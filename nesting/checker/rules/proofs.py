"""Bounds and their proofs, verified in whole numbers."""

from collections.abc import Iterator, Mapping

from nesting.checker.asked.circles import group_sizes
from nesting.checker.asked.costs import counts_sheets
from nesting.checker.asked.equal import kind_of
from nesting.checker.asked.orientation import blank_sizes
from nesting.checker.case import Case
from nesting.checker.cutting.sheets import identity_of_sheet
from nesting.checker.fault import PlanFault
from nesting.checker.rules.affordable import proves
from nesting.checker.rules.rectangle_value import most_value
from nesting.checker.rules.tallies import sheet_counts
from nesting.checker.rules.ways import most_pieces, taken_at_least
from nesting.papers import Paper
from nesting.plan import Bound, PaperFigures
from nesting.units import size_words

#: By nominal width and height of a sheet, in nm: the most value that it is claimed to hold.
_Claims = dict[tuple[int, int], int]
#: Of a circle that the plan does not cut, a group may hold as many as fit.
_MANY = 10**9


def check_bounds(case: Case) -> Iterator[PlanFault]:
    """Each bound is proven by what it says, and not beyond the plan."""
    proofs = {"area": _find_area_gaps, "values": _find_value_gaps}
    for figures in case.plan.papers:
        paper = case.papers.get(figures.paper)
        if paper is None:
            continue
        bound = figures.bound
        expected = "sheets" if counts_sheets(paper) else "cost"
        if bound.of != expected:
            said = f"the bound is of {bound.of}; for this paper it must be of {expected}."
            yield PlanFault("bound", paper.name, said)
        yield from _check_against_plan(case, figures, paper)
        for said in _find_beyond_full_need(case, figures, paper):
            yield PlanFault("bound", paper.name, said)
        if bound.by in proofs:
            for said in proofs[bound.by](case, bound, paper):
                yield PlanFault("bound", paper.name, said)
        elif bound.by != "search":
            yield PlanFault("bound", paper.name, f"{bound.by!r} is no kind of proof.")
        elif bound.cuts != "edge-to-edge":
            said = "patterns with cuts that stop are not all searched for: this proves nothing."
            yield PlanFault("bound", paper.name, said)
        if bound.value < 0:
            yield PlanFault("bound", paper.name, f"the bound is {bound.value}, below nothing.")


def check_ended(case: Case) -> Iterator[PlanFault]:
    """A plan is proven only where each of its papers is, and each count of whole cards."""
    if case.plan.ended not in ("proven", "limit", "interrupted"):
        yield PlanFault("ended", "plan", f"{case.plan.ended!r} is no way in which a search ends.")
    if case.plan.ended != "proven":
        return
    if not all(figures.proven for figures in case.plan.papers):
        yield PlanFault("ended", "plan", "it is called proven, and some of its papers are not.")
    if not all(entry.made >= entry.most for entry in case.plan.whole_cards):
        yield PlanFault("ended", "plan", "it is called proven, and its whole cards are not.")
    unmade = any(count.complete < count.asked for count in case.plan.cards)
    if unmade and not case.plan.whole_cards:
        said = "it is called proven, and nothing says how many cards can be made."
        yield PlanFault("ended", "plan", said)
    chosen = case.plan.chosen
    choices = any(layer.choice for card in case.batch.cards for layer in card.layers)
    if chosen is None and choices:
        yield PlanFault(
            "ended", "plan", "it is called proven, and its choice of papers has no bound."
        )
    if chosen is not None and chosen.least < chosen.value:
        yield PlanFault("ended", "plan", "it is called proven, and its choice of papers is not.")


def _check_against_plan(case: Case, figures: PaperFigures, paper: Paper) -> Iterator[PlanFault]:
    """A bound is not beyond what the plan comes to, and proven exactly where it is reached."""
    bound, reached = figures.bound, _reached(case, figures, paper)
    if reached is None:
        return
    if bound.value > reached:
        said = f"the bound is {bound.value}; the plan itself comes to {reached}."
        yield PlanFault("bound", paper.name, said)
    if figures.proven != (bound.value >= reached):
        word = "proven" if figures.proven else "not proven"
        said = f"it is called {word}: the bound is {bound.value}, the plan {reached}."
        yield PlanFault("proven", paper.name, said)


def _reached(case: Case, figures: PaperFigures, paper: Paper) -> int | None:
    """The sheets or the cost that the full need takes; None where the plan does not say."""
    if counts_sheets(paper):
        return figures.needed
    return None if case.has_uncut(paper.name) else _cost_of_layouts(case, paper)


def _cost_of_layouts(case: Case, paper: Paper) -> int:
    """The cost of the sheets that are cut, of a paper whose sheets are not all alike."""
    cost = 0
    for key, (at_hand, bought) in sheet_counts(case, paper).items():
        offers = [
            offer
            for offer in case.supplies_of(paper)
            if identity_of_sheet(paper, offer.sheet) == key
        ]
        there = [offer for offer in offers if not offer.bought]
        for offer in sorted(there, key=lambda offer: offer.cost):
            taken = at_hand if offer.count is None else min(at_hand, offer.count)
            cost += taken * offer.cost
            at_hand -= taken  # noqa: PLW2901 - the cheapest of equal sheets are taken first
        cost += bought * min((offer.cost for offer in offers if offer.bought), default=0)
    return cost


def _find_beyond_full_need(case: Case, figures: PaperFigures, paper: Paper) -> Iterator[str]:
    """Where pieces are uncut: a bound or number of sheets that exceeds what the full need can take.

    It takes at most the sheets that are cut, and one more for each uncut piece.
    """
    if not case.has_uncut(paper.name):
        return
    uncut = sum(
        missing.count
        for missing in case.plan.uncut
        if missing.piece in case.pieces and case.pieces[missing.piece].paper == paper.name
    )
    bound, needed = figures.bound.value, min(figures.needed, case.asked_of(paper))
    offers = case.supplies_of(paper)
    dearest = max(offer.cost for offer in offers)
    if counts_sheets(paper):
        cut = sum(at_hand + bought for at_hand, bought in sheet_counts(case, paper).values())
    else:
        cut = _cost_of_layouts(case, paper)
        least, left = 0, max(needed, 0)
        for offer in sorted(offers, key=lambda offer: offer.cost):
            if not offer.sheet.offcut:
                taken = left if offer.count is None else min(left, offer.count)
                least, left = least + taken * offer.cost, left - taken
        if figures.proven and least > bound:
            yield f"it is called proven: the bound is {bound}, {needed} sheets cost {least} or more."
        if bound > needed * dearest:
            yield f"the bound is {bound}; {needed} sheets cost {needed * dearest} at most."
    if bound > cut + uncut * dearest:
        said = f"the bound is {bound}; what is cut, and a sheet for each piece that is not, comes"
        yield f"{said} to {cut + uncut * dearest}."


def _find_area_gaps(case: Case, bound: Bound, paper: Paper) -> Iterator[str]:
    """What is wrong with a bound by area alone, as if a sheet could be cut to dust."""
    worth = {
        kind: case.least_area(paper, kind, case.left_of(kind, case.wanted.get(kind, [])))
        for kind in case.kinds_of(paper)
    }
    need = taken_at_least(case, paper.name, worth)
    worths = [(one, case.usable_area(paper, one.sheet)) for one in case.supplies_of(paper)]
    if not proves(worths, need, bound.value, most_pieces(case, paper)):
        yield f"the bound is {bound.value}; the areas do not prove so much."


def _find_value_gaps(case: Case, bound: Bound, paper: Paper) -> Iterator[str]:
    """What is wrong with a bound by values: no sheet holds more, and the demand needs that many."""
    valued = {piece.id: piece for piece in (*case.plan.unchosen, *case.plan.pieces)}
    own = {id_ for id_, piece in valued.items() if piece.paper == paper.name}
    for id_ in bound.values.keys() - own:
        yield f"the proof gives a value to {id_!r}, which is no piece of this paper."
    numbers = [*bound.values.values(), *(s.value for s in bound.sheet_values)]
    if any(not isinstance(number, int) or number < 0 for number in numbers):
        yield "the proof needs whole numbers: values of 0 or more."
        return
    claims = {(entry.width, entry.height): entry.value for entry in bound.sheet_values}
    sizes = {(sheet.width, sheet.height) for sheet in paper.sheets}
    if claims.keys() != sizes or len(claims) != len(bound.sheet_values):
        yield "the proof does not have exactly one value for each size of sheet."
        return
    stopped = bound.cuts == "stopped"
    yield from find_fuller_sheets(case, bound.values, paper, claims, stopped=stopped)
    worth = {kind_of(valued[id_]): bound.values.get(id_, 0) for id_ in own}
    total = taken_at_least(case, paper.name, worth)
    worths = [
        (offer, claims[offer.sheet.width, offer.sheet.height]) for offer in case.supplies_of(paper)
    ]
    if not proves(worths, total, bound.value, most_pieces(case, paper)):
        yield f"the bound is {bound.value}; the values do not prove so much."


def find_fuller_sheets(
    case: Case, worth: Mapping[str, int], paper: Paper, claims: _Claims, *, stopped: bool
) -> Iterator[str]:
    """Sheets that hold more value, given each piece's value, than a proof says.

    Pieces are cut from them by edge-to-edge cuts, or by ``stopped`` ones, too.
    """
    trimmer = case.batch.trimmer
    usable = {  # an offcut as large as a whole sheet has no strip, so both are looked at
        (case.usable(paper, sheet), (sheet.width, sheet.height)) for sheet in paper.sheets
    }
    values = _values_of_blanks(case, worth, paper, {size for size, _ in usable})
    for (width, height), nominal in sorted(usable):
        most = most_value(
            width, height, values, trimmer.cut_width, trimmer.longest_cut, stopped=stopped
        )
        size = size_words(*nominal, case.batch.unit)
        if most is None:
            yield f"the sizes are too many and too fine to verify what a sheet of {size} holds."
        elif most > claims[nominal]:
            yield f"a sheet of {size} can hold a value of {most}, not {claims[nominal]} at most."


def _values_of_blanks(
    case: Case, worth: Mapping[str, int], paper: Paper, sheets: set[tuple[int, int]]
) -> dict[tuple[int, int], int]:
    """The most value of a blank of each size; a group of circles has that of all its circles.

    No group holds more circles than are asked for, and one alone has a blank of its own.
    """
    values: dict[tuple[int, int], int] = {}
    counted = [(case.pieces[id_], count) for id_, count in case.to_cut.items()]
    for piece, count in (*counted, *((piece, _MANY) for piece in case.plan.unchosen)):
        value = worth.get(piece.id, 0)
        if piece.paper != paper.name:
            continue
        blanks = [(size, 1) for size in blank_sizes(piece)]
        if piece.shape == "circle" and value and count > 1:
            marks = case.batch.trimmer.marks
            blanks += group_sizes(piece.width, piece.die_allowance, sheets, marks)
        for size, holds in blanks:
            values[size] = max(values.get(size, 0), value * min(holds, max(count, 1)))
    return values
