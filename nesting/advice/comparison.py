"""Variants of a batch side by side: each planned and checked, and what each is best at."""

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from fractions import Fraction

from nesting.advice.variants import Variant
from nesting.batch import Batch, BatchError
from nesting.cards.resolving import resolve
from nesting.checker import check
from nesting.errors import NestingError
from nesting.needs import MadeKind, complete_of
from nesting.pack import DEFAULT_LIMIT, Limit, solve
from nesting.plan import Plan
from nesting.sources import nominal_area, nominal_size

#: What the batch itself is called among its variants.
AS_IT_IS = "as it is"
#: Told after each plan how it is called, how many are made and how many there will be.
ProgressReport = Callable[[str, int, int], None]


class PlanFaultError(NestingError, RuntimeError):
    """A plan that failed its check: a mistake of ours, never of the batch."""


@dataclass(frozen=True, slots=True)
class Measures:
    """What a plan comes to.

    ``sheets`` are those of each paper's full need. ``cost`` is what the whole sheets that are cut
    cost, in hundredths of the user's money, None where no paper has a price; ``unpriced`` names
    the papers that it leaves out. ``waste`` is a share of all sheets cut. ``largest_offcut`` is
    width and height in nm of the one kept that has the most area; None where none is kept.
    ``complete`` has by kind how many are complete of how many that are asked for.
    """

    sheets: dict[str, int]
    cost: int | None
    unpriced: tuple[str, ...]
    waste: float
    strokes: int
    ruler_settings: int
    largest_offcut: tuple[int, int] | None
    complete: dict[MadeKind, tuple[int, int]]


@dataclass(frozen=True, slots=True)
class Compared:
    """One variant: its plan, and what that comes to."""

    name: str
    plan: Plan
    measures: Measures


@dataclass(frozen=True, slots=True)
class Comparison:
    """Variants side by side, the batch itself first."""

    rows: tuple[Compared, ...]

    @property
    def papers(self) -> tuple[str, ...]:
        """The papers that any of them is cut from, in the order they come up."""
        return tuple(dict.fromkeys(p for row in self.rows for p in row.measures.sheets))

    @property
    def best(self) -> tuple[frozenset[str], ...]:
        """For each variant the measures by which none is better, where they differ at all.

        A measure is ``sheets of`` a paper, ``cost``, ``waste``, ``strokes``, ``ruler settings``,
        ``largest offcut``, ``complete cards``, ``complete spare sets`` or ``complete loose pieces``.
        """
        ranks = self._ranks()
        differing = {name for name in ranks[0] if len({rank[name] for rank in ranks}) > 1}
        least = {name: min(rank[name] for rank in ranks) for name in differing}
        return tuple(
            frozenset(name for name in differing if rank[name] == least[name]) for rank in ranks
        )

    @property
    def beaten(self) -> tuple[bool, ...]:
        """Whether another variant is better by some measure and worse by none."""
        ranks = self._ranks()
        return tuple(any(_beats(other, rank) for other in ranks) for rank in ranks)

    def _ranks(self) -> list[dict[str, Fraction]]:
        """Each variant's measures as numbers of which the smaller is the better.

        Costs are only compared where all of them leave out the same papers.
        """
        alike = len({frozenset(row.measures.unpriced) for row in self.rows}) == 1
        return [
            {name: Fraction(rank) for name, rank in _ranked(row.measures, self.papers, costs=alike)}
            for row in self.rows
        ]


def _ranked(
    measures: Measures, papers: tuple[str, ...], *, costs: bool
) -> Iterator[tuple[str, float]]:
    for paper in papers:
        yield f"sheets of {paper}", measures.sheets.get(paper, 0)
    yield "cost", (measures.cost or 0) * costs
    yield "waste", measures.waste
    yield "strokes", measures.strokes
    yield "ruler settings", measures.ruler_settings
    width, height = measures.largest_offcut or (0, 0)
    yield "largest offcut", -width * height
    for kind, (complete, _) in measures.complete.items():
        yield f"complete {kind}s", -complete


def _beats(other: dict[str, Fraction], rank: dict[str, Fraction]) -> bool:
    return other != rank and all(other[name] <= rank[name] for name in rank)


def compare(
    batch: Batch,
    variants: Sequence[Variant],
    limit: Limit = DEFAULT_LIMIT,
    seed: int = 0,
    *,
    executor: Executor | None = None,
    report: ProgressReport | None = None,
) -> Comparison:
    """Plan a batch and its variants, and lay the answers side by side.

    Parameters
    ----------
    batch
        What is asked, as it is.
    variants
        Each with a name and its changes.
    limit, seed
        As for ``nesting.solve``; each variant has them for itself.
    executor
        Where the plans are made beside one another, one job for each. Without ``Seconds`` in the
        limit they are the same as here, one after the other.
    report
        Called when a plan is made.

    Raises
    ------
    BatchError
        A variant cannot be planned; every fault is in it.
    PlanFaultError
        A plan failed its check.

    Examples
    --------
    >>> import nesting
    >>> batch = nesting.read_batch("samples/cider.yaml")
    >>> more = nesting.Variant("30", (nesting.Change(("cards", "first pressing", "make"), 30),))
    >>> [row.measures.sheets["oat cardstock"] for row in compare(batch, [more]).rows]
    [13, 20]
    """
    asked = [(AS_IT_IS, resolve(batch))]
    asked += [(variant.name, resolve(variant.of(batch))) for variant in variants]
    faults = tuple(
        replace(fault, read=f"{name}: {fault.read}") for name, one in asked for fault in one.faults
    )
    if faults:
        raise BatchError(faults)
    named = [(name, one.batch) for name, one in asked]
    plans = plan_all(named, limit, seed, executor=executor, report=report)
    return Comparison(
        tuple(
            Compared(name, plan, measures_of(plan))
            for (name, _), plan in zip(named, plans, strict=True)
        )
    )


def plan_all(
    named: Sequence[tuple[str, Batch]],
    limit: Limit,
    seed: int,
    *,
    executor: Executor | None,
    report: ProgressReport | None,
) -> list[Plan]:
    """Plan and check some batches with every default filled in, each distinct one once.

    Raises
    ------
    BatchError, PlanFaultError
        As ``compare``.
    """
    distinct = list(dict.fromkeys(batch for _, batch in named))
    names = {batch: name for name, batch in reversed(named)}
    plans: dict[Batch, Plan] = {}
    made: Iterator[Plan] = (checked_plan(one, limit, seed) for one in distinct)
    if executor is not None:
        made = executor.map(checked_plan, distinct, [limit] * len(distinct), [seed] * len(distinct))
    for one, plan in zip(distinct, made, strict=True):
        plans[one] = plan
        if report is not None:
            report(names[one], len(plans), len(distinct))
    return [plans[batch] for _, batch in named]


def checked_plan(batch: Batch, limit: Limit, seed: int) -> Plan:
    """Plan a batch with every default filled in, and check the plan; what an executor's worker does.

    Raises
    ------
    BatchError, PlanFaultError
        As ``compare``.
    """
    plan = solve(batch, limit, seed)
    if plan.ended == "interrupted":  # figures of a search cut short are not to be compared
        raise KeyboardInterrupt
    refuse_faults(batch, plan)
    return plan


def refuse_faults(batch: Batch, plan: Plan) -> None:
    """Let a plan pass that is right.

    Raises
    ------
    PlanFaultError
        It failed its check; every fault is in the message.
    """
    faults = check(batch, plan)
    if faults:
        raise PlanFaultError("\n".join(f"{fault.where}: {fault.said}" for fault in faults))


def measures_of(plan: Plan) -> Measures:
    """Work out what a plan comes to."""
    areas = {
        figures.paper: sum(
            layout.alike * nominal_area(layout, plan.asked.paper(figures.paper))
            for layout in plan.layouts_of(figures.paper)
            if layout.source.kind != "middle"
        )
        for figures in plan.papers
    }
    wasted = sum((Fraction(f.waste) * areas[f.paper] for f in plan.papers), Fraction(0))
    kept = [
        (placed.width, placed.height)
        for layout in plan.layouts
        for placed in layout.offcuts
        if getattr(placed.node, "keep", False)
    ]
    cost, unpriced = _cost(plan)
    return Measures(
        sheets={figures.paper: figures.needed for figures in plan.papers},
        cost=cost,
        unpriced=unpriced,
        waste=round(float(wasted / (sum(areas.values()) or 1)), 6),
        strokes=sum(figures.strokes for figures in plan.papers),
        ruler_settings=sum(figures.ruler_settings for figures in plan.papers),
        largest_offcut=max(kept, key=lambda size: (size[0] * size[1], size), default=None),
        complete=complete_of(plan),
    )


def _cost(plan: Plan) -> tuple[int | None, tuple[str, ...]]:
    """What the whole sheets that are cut cost, and the papers without a price."""
    total, priced = 0, False
    unpriced: dict[str, None] = {}
    for layout in plan.layouts:
        if layout.source.kind != "sheet":
            continue
        paper = plan.asked.paper(layout.paper)
        size = nominal_size(layout, paper)
        prices = [
            sheet.price
            for sheet in paper.sheets
            if not sheet.offcut and (sheet.width, sheet.height) == size
        ]
        if not prices or prices[0] is None:
            unpriced[paper.name] = None
        else:
            priced = True
            total += layout.alike * prices[0]
    return (total if priced else None), tuple(unpriced)
