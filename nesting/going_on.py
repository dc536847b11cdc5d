"""Going on from a plan that is cut in part: what is in the bags counts, the rest is planned anew."""

from concurrent.futures import Executor
from dataclasses import replace

from nesting.batch import Batch, Begun, Moved
from nesting.cards.resolving import resolve
from nesting.cutting.begun import begun_after, with_begun
from nesting.cutting.parallel_cuts import whole_part
from nesting.cutting.progress import Leftover, Progress, progress_of
from nesting.mark import mark_of, plan_digest
from nesting.pack import DEFAULT_LIMIT, KnownSheets, Limit, Report, solve
from nesting.plan import Earlier, Plan
from nesting.record import Record, entries_text
from nesting.sources import sheet_of_layout


def go_on(
    batch: Batch,
    plan: Plan,
    done: Record,
    limit: Limit = DEFAULT_LIMIT,
    seed: int | None = None,
    *,
    restarts: int = 0,
    executor: Executor | None = None,
    report: Report | None = None,
    on_record: Moved | None = None,
) -> Plan:
    """Plan what is left to cut of a batch after some of a plan is cut.

    What is in the bags counts; sheets that were cut are gone; kept offcuts and parts in hand are
    there to be cut from. What the plan so far would cut is where the search begins, so the rest is
    never worse. Of pieces in the bags, those covered middles are there that the plan so far is still
    cut from; others may be glued already. Where nothing was done and nothing changed, the plan stays
    what it is.

    Parameters
    ----------
    batch
        What is asked now. Its papers still say what there was at first, and what was bought since.
    plan
        The plan so far; it may itself go on from another.
    done
        How far the plan is cut, and what was spoilt.
    seed
        The source of all random choices; that of the plan so far unless given.
    limit, restarts, executor, report
        As for ``solve``.
    on_record
        What the papers of the batch know already of what was cut and left, as those kept in the
        stash do.

    Returns
    -------
    Plan
        Letters stay; its ``after`` names the plan so far.

    Raises
    ------
    RecordError
        The record is not one of this plan.
    BatchError
        What is asked cannot be planned, or has fewer sheets than were cut into.

    Examples
    --------
    >>> import nesting
    >>> batch = nesting.read_batch("samples/cider.yaml")
    >>> plan = nesting.solve(batch)
    >>> rest = go_on(batch, plan, nesting.read_record(done="1-2"))
    >>> {piece.letter: (piece.demand, piece.in_bags) for piece in rest.pieces if piece.in_bags}
    {'C': (18, 18), 'G': (24, 24)}
    """
    progress = progress_of(plan, done)
    begun = replace(begun_after(plan, progress), on_record=on_record or Moved())
    after = (*plan.after, _earlier(plan, done))
    if not progress.cut_into and _is_unchanged(batch, plan, begun):
        return replace(plan, after=after)
    answer = solve(
        with_begun(batch, begun),
        limit,
        plan.seed if seed is None else seed,
        restarts=restarts,
        executor=executor,
        report=report,
        known=_known(plan, progress),
    )
    return replace(answer, after=after)


def _known(plan: Plan, progress: Progress) -> KnownSheets:
    """How the plan cuts the sheets that are whole yet, and the parts in hand."""
    whole = (
        Leftover(
            layout.id,
            layout.paper,
            whole_part(layout),
            sheet_of_layout(layout, plan.asked.paper(layout.paper)),
            layout.alike - progress.cut_into.get(layout.id, 0),
        )
        for layout in plan.layouts
    )
    sheets = (*(one for one in whole if one.count), *progress.in_hand)
    return KnownSheets(sheets, {piece.id: piece.letter for piece in plan.pieces})


def _earlier(plan: Plan, done: Record) -> Earlier:
    return Earlier(
        mark_of(plan), plan_digest(plan), entries_text(done.done), entries_text(done.spoilt)
    )


def _is_unchanged(batch: Batch, plan: Plan, begun: Begun) -> bool:
    """Whether a plan is asked for the very batch that it was made for.

    Middles that it was asked with and is not cut from are not kept any longer.
    """
    before = plan.asked.begun
    if before is not None:
        now = replace(before, on_record=begun.on_record, middles=begun.middles)
        batch = with_begun(batch, now)
    return resolve(batch).batch == plan.asked
