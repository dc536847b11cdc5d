"""Small changes that save paper, each planned for real; never applied unasked."""

from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass

from nesting.advice.comparison import AS_IT_IS, ProgressReport, plan_all
from nesting.advice.looks import LayerLook, layer_looks
from nesting.advice.quick_savings import Found, Shortage, saving_steps
from nesting.advice.small_changes import ChangeKind, Family, change_families
from nesting.advice.variants import Change, with_changes
from nesting.batch import Batch
from nesting.cards.enclosing import called
from nesting.cards.resolving import Resolved, resolve
from nesting.needs import MadeKind, complete_of
from nesting.pack import DEFAULT_LIMIT, Limit
from nesting.plan import Plan
from nesting.sources import nominal_area

#: How many changes are suggested for a paper.
_MOST = 4
#: Between changes that save the same: what a card shows least comes first.
_GENTLEST: tuple[ChangeKind, ...] = (
    "middles", "join", "size", "reveal", "card size", "turn", "face", "fewer", "sheet",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Saving:
    """Sheets of a paper's full need before and after; ``share`` is of the paper's area, of 1.

    It is below zero where more is needed than before: a smaller layer hides less of what lies below.
    """

    paper: str
    before: int
    after: int
    share: float
    proven: bool


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A small change, what it saves and what it does to the look of the cards.

    ``paper`` is the one that it is suggested for, whose saving comes first; papers that need more
    come last. ``note`` is what to know beside it. ``complete`` has how many cards, spare sets and loose
    pieces are made before and after, by kind; ``plan`` is the checked plan of the batch after the
    change, which is ``batch``.
    """

    paper: str
    words: str
    kind: ChangeKind
    changes: tuple[Change, ...]
    savings: tuple[Saving, ...]
    looks: tuple[LayerLook, ...]
    note: str
    complete: dict[MadeKind, tuple[int, int]]
    batch: Batch
    plan: Plan


def suggest(
    batch: Batch,
    limit: Limit = DEFAULT_LIMIT,
    seed: int = 0,
    *,
    executor: Executor | None = None,
    report: ProgressReport | None = None,
) -> tuple[Suggestion, ...]:
    """Find the single changes that save most of each paper; where paper is short, those that help.

    A change helps where more of what is asked for is complete after it. Looked at are

    - sizes and reveals (and what derives from them) that make pieces up to 1/4 in or 5 mm smaller, in
      steps of the trimmer's marks;
    - a quarter turn allowed, the other printed face, other sizes of sheet;
    - one card or piece fewer;
    - covered middles that are cut from, and layers cut as two ends.

    A change whose bound is no better than the present sheets is not looked into further. Those that
    save are planned in full.

    Parameters
    ----------
    batch
        What is asked.
    limit, seed, executor, report
        As for ``nesting.compare``.

    Returns
    -------
    tuple[Suggestion, ...]
        By papers in the order of the batch, then by what they save, the most first. Every figure
        is of a checked plan: ``solve`` of the changed batch gives it again.

    Raises
    ------
    BatchError
        The batch cannot be planned.
    PlanFaultError
        A plan failed its check.

    Examples
    --------
    >>> import nesting
    >>> batch = nesting.read_batch("samples/cider.yaml")
    >>> for suggestion in suggest(batch)[2:]:
    ...     print(suggestion.words)
    the covered middles saved: what layers hide is cut out and cut from
    first pressing, cork: circle 38 mm instead of 40 mm
    first pressing: 17 cards instead of 18
    """
    asked = resolve(batch).sound()
    batch = asked.batch
    (now,) = plan_all([(AS_IT_IS, batch)], limit, seed, executor=executor, report=None)
    short = Shortage.of(now)
    families = [one for one in change_families(asked) if one.kind != "fewer" or not short.papers]
    found = _without_rougher(
        [one for some in _look_at(asked, families, short, seed, executor, report) for one in some]
    )
    picked = _picked(batch, found)
    changes = [(one.step.words, with_changes(batch, one.step.changes)) for _, one in picked]
    plans = plan_all(changes, limit, seed, executor=executor, report=report)
    made = [
        _suggestion(paper, one, now, plan, after)
        for (paper, one), plan, (_, after) in zip(picked, plans, changes, strict=True)
    ]
    if short.papers:
        return tuple(one for one in made if short.more_complete(one.plan) > 0)
    return tuple(
        one for one in made if any(s.paper == one.paper and s.share > 0 for s in one.savings)
    )


def _look_at(
    asked: Resolved,
    families: Sequence[Family],
    short: Shortage,
    seed: int,
    executor: Executor | None,
    report: ProgressReport | None,
) -> Iterator[tuple[Found, ...]]:
    """What each family saves, here or in an executor."""
    if executor is None:
        looked = (saving_steps(asked, family, short, seed) for family in families)
    else:
        many = len(families)
        looked = executor.map(  # type: ignore[assignment] # an iterator, too
            saving_steps, [asked] * many, families, [short] * many, [seed] * many, chunksize=8
        )
    for number, (family, found) in enumerate(zip(families, looked, strict=True), 1):
        if report is not None:
            report(f"{family.thing}: {family.kind}", number, len(families))
        yield found


def _without_rougher(found: list[Found]) -> list[Found]:
    """Leave out what changes more than another that saves as much."""
    return [one for one in found if not any(_gentler(other, one) for other in found)]


def _gentler(other: Found, one: Found) -> bool:
    """Whether it is a part of the other, or of the same thing in fewer directions, and no less."""
    same_kind = other.family.kind == one.family.kind
    same = same_kind and other.family.thing == one.family.thing
    fewer = same and other.family.axes < one.family.axes and other.step.amount <= one.step.amount
    part = same_kind and set(other.step.changes) < set(one.step.changes)
    return (fewer or part) and all(other.of(paper) >= area for paper, area in one.saved)


def _picked(batch: Batch, found: list[Found]) -> list[tuple[str, Found]]:
    """For each paper those that save most of it, the gentlest first; none twice."""
    gentlest = sorted(found, key=_roughness)
    picked: dict[Found, str] = {}
    for paper in batch.papers:
        for one in _most_saving(gentlest, paper.name)[:_MOST]:
            picked.setdefault(one, paper.name)
    return [(paper, one) for one, paper in picked.items()]


def _roughness(found: Found) -> tuple[int, int, int, int]:
    """How much of a card's look a change takes; the gentlest is the least."""
    family = found.family
    return _GENTLEST.index(family.kind), found.layers, family.axes, found.step.amount


def _most_saving(found: list[Found], paper: str) -> list[Found]:
    """Those that save a paper, the most first; where they save the same, in the order they were.

    Other sheets come last: their area is another, and all of them are to buy.
    """
    saving = [one for one in found if one.of(paper)]
    return sorted(saving, key=lambda one: (one.family.kind == "sheet", -one.of(paper)))


def _suggestion(paper: str, found: Found, now: Plan, then: Plan, batch: Batch) -> Suggestion:
    """A change with what its plan in full saves, of one paper first."""
    made_before, made_after = complete_of(now), complete_of(then)
    savings = []
    for one in now.asked.papers:
        (before, old, _), (after, new, proven) = _need(now, one.name), _need(then, one.name)
        was, will = (before, after) if old is None or new is None else (old, new)
        if was != will:
            share = round((was - will) / (was or will), 6)
            savings.append(Saving(one.name, before, after, share, proven))
    savings.sort(key=lambda saving: (saving.share < 0, saving.paper != paper))
    return Suggestion(
        paper=paper,
        words=found.step.words,
        kind=found.family.kind,
        changes=found.step.changes,
        savings=tuple(savings),
        looks=layer_looks(now.asked, batch),
        note="; ".join(filter(None, (found.step.note, *_other_envelopes(now, then)))),
        complete={kind: (was, made_after[kind][0]) for kind, (was, _) in made_before.items()},
        batch=batch,
        plan=then,
    )


def _other_envelopes(now: Plan, then: Plan) -> Iterator[str]:
    """Say which cards take an envelope of another size after a change."""
    for old, new in zip(now.asked.cards, then.asked.cards, strict=True):
        sizes = [
            called(one.envelope.width or 0, one.envelope.height or 0, now.asked.unit)
            for one in (new, old)
            if one.envelope is not None
        ]
        if len(set(sizes)) > 1:
            yield f"{old.name}: envelope {' instead of '.join(sizes)}"


def _need(plan: Plan, name: str) -> tuple[int, int | None, bool]:
    """The whole sheets of a full need, their area in nm², whether they are proven.

    The area is None where of sheets of several sizes not all are cut.
    """
    figures = next((one for one in plan.papers if one.paper == name), None)
    if figures is None:  # none of the papers chosen
        return 0, 0, True
    paper = plan.asked.paper(name)
    areas = {sheet.width * sheet.height for sheet in paper.sheets if not sheet.offcut}
    area = None
    if len(areas) == 1:
        area = figures.needed * areas.pop()
    elif figures.used == figures.needed:
        whole = (one for one in plan.layouts_of(name) if one.source.kind == "sheet")
        area = sum(one.alike * nominal_area(one, paper) for one in whole)
    return figures.needed, area, figures.proven
