"""How the answer is found: ``solve`` puts the stages together."""

from concurrent.futures import Executor
from contextlib import nullcontext
from dataclasses import replace
from functools import partial
from math import inf

from nesting.batch import Batch
from nesting.cards.middles import find_middles, with_middles, without_middles_words
from nesting.cards.resolving import resolve
from nesting.pack.answer import make_plan
from nesting.pack.first_look import may_make_more, quick_saving
from nesting.pack.model.deadline import Timetable, until
from nesting.pack.model.limits import (
    DEFAULT_LIMIT,
    WITHIN_A_MINUTE,
    FirstOf,
    Limit,
    NoGain,
    Rounds,
    Seconds,
    State,
    seconds_of,
)
from nesting.pack.search.compiling import compile_beforehand, ending_with_it
from nesting.pack.search.incumbent import Search
from nesting.pack.search.known_sheets import NOTHING_KNOWN, KnownSheets, offer_known
from nesting.pack.search.runner import Report, improve_all, start_searches
from nesting.pack.search.stopped_cuts import stop_where_it_saves
from nesting.pack.shortage.choosing import settle_choices, with_choice
from nesting.pack.shortage.one_more import with_one_more
from nesting.pack.shortage.whole_cards import settle
from nesting.pack.stopping import saved_by_stopping
from nesting.plan import Plan

#: How often papers and numbers are chosen where searches show that more can be made.
_ATTEMPTS = 3
#: The share of the time by which each part has to end: choosing papers, improving plans (earlier
#: where paper is short, as whole cards come next), settling whole cards, and arranging the sheets,
#: which may take a little longer than the limit.
_CHOSEN, _SHORT_IMPROVED, _IMPROVED, _SETTLED, _ARRANGED = 0.5, 0.7, 1.0, 1.0, 1.1
#: How many seconds it takes, at least, to write the layouts of a pattern, and before that to arrange them.
_A_PATTERN = 0.002


@ending_with_it()
def solve(
    batch: Batch,
    limit: Limit = DEFAULT_LIMIT,
    seed: int = 0,
    *,
    restarts: int = 0,
    executor: Executor | None = None,
    report: Report | None = None,
    known: KnownSheets = NOTHING_KNOWN,
    arranged: bool = True,
) -> Plan:
    """Plan the cutting of a batch.

    Papers are independent unless one is short. Each starts with a quick plan; then its plan and
    its bound are improved, round after round, until they meet or the limit ends the search. A
    paper that may be bought is planned in full. A paper that cannot is cut for as many whole
    cards as possible; nothing is cut for a card that cannot be completed.

    Parameters
    ----------
    batch
        What is asked, lengths in nm, with or without its defaults filled in.
    limit
        Ends the search for a paper whose plan is not proven yet. ``Seconds`` cover everything
        done here: long work gives up when they are over.
    seed
        The source of all random choices. Without ``Seconds`` in the limit, the same batch, seed, limit and
        restarts give the same plan, with an executor or without.
    restarts
        How many more searches, with other random seeds, a paper gets whose plan is not proven.
    executor
        Runs long searches in parallel; without one they run here, one after another.
    report
        Called after each round run here with the paper's name and state.
    known
        Sheets as an earlier plan cuts them: no plan is worse than what they give.
    arranged
        Without it, each sheet is cut as it was found: quicker, where only the numbers of sheets and
        cards count.

    Returns
    -------
    Plan
        Ended ``interrupted`` where Ctrl-C (KeyboardInterrupt) came: the best so far, at once.

    Raises
    ------
    BatchError
        What was asked cannot be planned; every fault is in it.

    References
    ----------
    P. C. Gilmore, R. E. Gomory (1965). Multistage cutting stock problems of two and more dimensions.
    Operations Research 13. What each stage follows is said in its module.

    Examples
    --------
    >>> import nesting
    >>> plan = solve(nesting.read_batch("samples/cider.yaml"), nesting.Rounds(100))
    >>> [(figures.paper, figures.needed, figures.proven) for figures in plan.papers]
    [('russet dots', 4, True), ('walnut cardstock', 6, True), ('oat cardstock', 13, True)]
    """
    asked = resolve(batch).sound()
    times = Timetable(seconds_of(limit))
    searches: dict[str, Search] = {}
    for _ in range(_ATTEMPTS):
        chosen = times.run(_CHOSEN, partial(settle_choices, asked, seed, searches))
        counted, pieces = chosen.counted, chosen.pieces
        middles = find_middles(asked.batch, asked.placed, pieces)
        batch_cut = with_middles(counted.batch, middles)
        starting = partial(start_searches, batch_cut, pieces, seed, chosen.known)
        searches = times.run(_IMPROVED, starting)
        offer_known(searches, pieces, known)
        short = any(search.short for search in searches.values())
        rounds = partial(improve_all, searches, limit, times.start, restarts, executor, report)
        writing = _A_PATTERN * sum(len(search.best) for search in searches.values())
        sooner = short or batch_cut.trimmer.stops
        times.run(_SHORT_IMPROVED if sooner else _IMPROVED, rounds, kept=2 * writing)
        if chosen.agrees(searches):
            break
    times.run(_IMPROVED, partial(stop_where_it_saves, searches, pieces, known))
    settling = partial(settle, batch_cut, pieces, searches, seed, chosen.answers)
    settled = times.run(_SETTLED, settling)
    for name, bounds in chosen.bounds.items():  # its own bound holds for the ways taken alone
        stopped = searches[name].problem.stopped
        searches[name].bound = next(b for b in bounds if b.holds_for_stopped or not stopped)
    arranging = partial(make_plan, counted, pieces, searches, settled, seed, chosen.unchosen)
    with nullcontext() if arranged else until(-inf):
        plan = times.run(_ARRANGED, arranging, kept=writing)
    notes = (*plan.notes, *without_middles_words(asked.batch, asked.placed, pieces))
    plan = with_choice(replace(plan, middles=middles, notes=notes), chosen, asked.batch)
    if chosen.answers:
        plan = times.run(_ARRANGED, partial(with_one_more, plan, chosen, seed))
    return replace(plan, ended="interrupted") if times.interrupted else plan


__all__ = [
    "DEFAULT_LIMIT",
    "WITHIN_A_MINUTE",
    "FirstOf",
    "KnownSheets",
    "Limit",
    "NoGain",
    "Report",
    "Rounds",
    "Seconds",
    "State",
    "compile_beforehand",
    "may_make_more",
    "quick_saving",
    "saved_by_stopping",
    "seconds_of",
    "solve",
]
