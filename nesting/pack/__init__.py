"""How the answer is found: ``solve`` puts the stages together."""

from concurrent.futures import Executor
from time import monotonic

from nesting.batch import Batch
from nesting.faults import refuse_faults
from nesting.layers import fill_defaults, pieces_of
from nesting.pack.answer import make_plan
from nesting.pack.model.limits import (
    DEFAULT_LIMIT,
    FirstOf,
    Limit,
    NoGain,
    Rounds,
    Seconds,
    State,
    time_limit,
)
from nesting.pack.search.runner import Report, improve_all, start_searches
from nesting.pack.shortage.paper_choice import choose_papers, with_choice
from nesting.pack.shortage.whole_cards import settle
from nesting.plan import Plan


def solve(
    batch: Batch,
    limit: Limit = DEFAULT_LIMIT,
    seed: int = 0,
    *,
    restarts: int = 0,
    executor: Executor | None = None,
    report: Report | None = None,
) -> Plan:
    """Plan the cutting of a batch.

    Papers are independent unless one is short. Each has a quick plan first; then its plan and its
    bound are made better by turns, round after round, until they meet or the limit ends it. A
    paper that may be bought is planned in full. What cannot be bought is cut for as many whole
    cards as can be, and of cards that will not be whole nothing is cut.

    Parameters
    ----------
    batch
        What is asked, lengths in nm, with or without its defaults filled in.
    limit
        Ends the search of a paper that is not proven yet.
    seed
        Drives all chance. Without ``Seconds`` in the limit, the same batch, seed, limit and
        restarts give the same plan, with an executor or without.
    restarts
        How many more searches, each with other chance, a paper gets that is not proven.
    executor
        Where the searches of papers that take long are run beside one another; here, one after
        the other, by default.
    report
        Called after each round run here with the paper's name and state.

    Returns
    -------
    Plan
        Ended ``interrupted`` where Ctrl-C (KeyboardInterrupt) came after the quick plans.

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
    refuse_faults(batch)
    batch = fill_defaults(batch)
    start = monotonic()
    chosen = choose_papers(batch, seed, time_limit(limit, start))
    pieces = pieces_of(batch, chosen.taken if chosen else None)
    searches = start_searches(batch, pieces, seed)
    interrupted = improve_all(searches, limit, restarts, executor, report)
    over = (lambda: True) if interrupted else time_limit(limit, start)
    settled = settle(batch, pieces, searches, seed, over)
    plan = make_plan(batch, pieces, searches, settled, seed, interrupted=interrupted)
    return plan if chosen is None else with_choice(plan, chosen)


__all__ = [
    "DEFAULT_LIMIT", "FirstOf", "Limit", "NoGain", "Report", "Rounds", "Seconds", "State", "solve",
]  # fmt: skip
