"""Check a plan against its batch: everything worked out again from the two alone.

A wrong plan ruins paper that nobody can buy again. So nothing the planner says is believed here:
pieces, sizes, counts, areas, figures and proofs are recomputed. What is shared with the planner is
the form of the data, the fields of batch and plan, and how ``units`` writes a length out. No rule is
shared, not even what strip and trim leave of a sheet, or how a piece may lie on it.

``asked`` works out what is to be cut and ``cutting`` cuts the sheets up; on both, gathered in a
``Case``, the ``rules`` look.
"""

from collections.abc import Callable, Collection, Iterator
from dataclasses import replace

from nesting.batch import Batch
from nesting.checker.asked.after import find_wrong_after
from nesting.checker.asked.cut_already import as_begun, find_wrong_state
from nesting.checker.asked.enclosed import find_unenclosed, with_envelopes
from nesting.checker.asked.wanted import (
    find_nothings,
    find_unjoinable,
    find_unsound,
    wanted_of,
    with_defaults,
    with_numbers,
)
from nesting.checker.case import Case
from nesting.checker.fault import PlanFault
from nesting.checker.rules.card_counts import check_one_more, check_unmade, check_whole_cards
from nesting.checker.rules.figures import check_figures
from nesting.checker.rules.layouts import (
    check_blanks,
    check_cuts,
    check_layouts,
    check_offcuts,
    check_taken_off,
)
from nesting.checker.rules.pieces import (
    check_asked,
    check_choices,
    check_pieces,
    check_unchosen,
    find_unasked,
)
from nesting.checker.rules.proofs import check_bounds, check_ended
from nesting.checker.rules.rectangle_value import most_value
from nesting.checker.rules.tallies import (
    check_at_hand,
    check_cards,
    check_chosen,
    check_demand,
    check_uncut,
)
from nesting.checker.rules.warnings import check_warnings
from nesting.checker.rules.windows import check_middles, find_wrong_middles, with_middles
from nesting.plan import Plan

__all__ = ["PlanFault", "check", "most_value"]

_RULES: tuple[Callable[[Case], Iterator[PlanFault]], ...] = (
    check_asked,
    check_pieces,
    check_choices,
    check_unchosen,
    check_layouts,
    check_cuts,
    check_taken_off,
    check_offcuts,
    check_blanks,
    check_demand,
    check_uncut,
    check_cards,
    check_unmade,
    check_whole_cards,
    check_one_more,
    check_at_hand,
    check_middles,
    check_chosen,
    check_figures,
    check_bounds,
    check_ended,
    check_warnings,
)


def check(
    batch: Batch,
    plan: Plan,
    earlier: Plan | None = None,
    *,
    from_stash: Collection[str] | None = None,
) -> tuple[PlanFault, ...]:
    """Check a plan against what was asked, from scratch.

    Parameters
    ----------
    batch
        What was asked, with or without its defaults filled in.
    plan
        Anyone's answer to it.
    earlier
        The plan that it goes on from. With it, what is in the bags, what is left to cut from and
        which sheets are gone is worked out again from that plan and the record of it; without it,
        that is taken on trust.
    from_stash
        The papers of which the stash says what is at hand: it may know of some that was cut. Where it
        is not given, that is taken on trust of any paper.

    Returns
    -------
    tuple[PlanFault, ...]
        Everything that is wrong, named; empty where the plan can be trusted.

    Examples
    --------
    >>> import nesting
    >>> batch = nesting.read_batch("samples/cider.yaml")
    >>> check(batch, nesting.solve(batch))
    ()

    Notes
    -----
    Taken on trust is what a plan has no proof of:

    - a bound ``by`` search, which is only held against the plan's own numbers;
    - of a paper with pieces uncut, how many sheets the full need takes, between its bound and the
      number of pieces, and that they can be had where it is not called ``short``; where its sheets
      differ in cost, also that they cannot where it is, and whether their number is proven (what these
      sheets may cost does not contradict it);
    - whether a blank for rows of circles could hold more than are in it;
    - ``notes``, and the wording of warnings beside their subject and their figures;
    - that no plan with as many whole cards has them more evenly, or more spare sets and loose pieces;
    - that no other choice of papers needs less to buy;
    - what one more sheet of a paper would give.
    """
    unsound = tuple(find_unsound(batch)) or tuple(find_unenclosed(with_defaults(batch)))
    if unsound:
        return unsound
    if earlier is not None:
        before = check(earlier.asked, earlier)
        if before:
            return tuple(replace(one, where=f"earlier plan, {one.where}") for one in before)
        begun = tuple(find_wrong_after(plan, earlier))
        if begun:
            return begun
    asked = with_envelopes(with_defaults(batch))
    misstated = tuple(find_wrong_state(asked, plan, from_stash))
    if misstated:
        return misstated
    asked = as_begun(asked, plan.asked)
    batch = with_numbers(asked, plan)
    wanted = wanted_of(batch, plan.pieces)
    for faults in (
        find_unjoinable(asked),
        find_nothings(wanted, asked),
        find_wrong_middles(asked, wanted, plan),
    ):
        found = tuple(faults)
        if found:
            return found
    case = Case.of(asked, with_middles(batch, plan.middles), plan, wanted)
    rules = (check_asked, find_unasked) if any(find_unasked(case)) else _RULES
    return tuple(fault for rule in rules for fault in rule(case))
