"""Small changes that save paper, each planned for real; never applied unasked."""

from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass

from nesting.advice.comparison import AS_IT_IS, ProgressReport, plan_all
from nesting.advice.looks import LayerLook, layer_looks
from nesting.advice.small_changes import ChangeKind, Family, SmallChange, change_families
from nesting.advice.variants import Change, with_changes
from nesting.batch import Batch
from nesting.cards.enclosing import called
from nesting.cards.merging import Request
from nesting.cards.middles import find_middles, with_middles
from nesting.cards.resolving import Resolved, resolve
from nesting.cards.warnings import find_warnings
from nesting.needs import MadeKind, complete_of, paper_needs
from nesting.pack import DEFAULT_LIMIT, Limit, Rounds, may_make_more, quick_saving, solve
from nesting.papers import Paper
from nesting.pieces import Piece
from nesting.plan import Plan, WholeCards
from nesting.sources import nominal_area

#: How many changes are suggested for a paper.
_MOST = 4
#: What ends a first look at whether a change helps where paper is short.
_QUICK = Rounds(1)
#: No number of spare sets or loose pieces outweighs one card.
_OUTWEIGHS = 1_000_000
#: Between changes that save the same: what a card shows least comes first.
_GENTLEST: tuple[ChangeKind, ...] = (
    "middles", "join", "size", "reveal", "card size", "turn", "face", "fewer", "sheet",
)  # fmt: skip

#: By name each paper, and the pieces that are cut from it.
CutFrom = dict[str, tuple[Paper, tuple[Piece, ...]]]


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


@dataclass(frozen=True, slots=True)
class Shortage:
    """The papers that are short, and how many cards, spare sets and loose pieces are complete.

    Where only cards lack, ``proof`` has the values by which no plan makes more of them.
    """

    papers: tuple[str, ...]
    complete: tuple[int, ...]
    proof: WholeCards | None


@dataclass(frozen=True, slots=True)
class Found:
    """A step of a family with the area in nm² that a first look says it saves of each paper.

    Where paper is short, it is how much more is complete instead. ``layers`` counts those that look
    other than before.
    """

    family: Family
    step: SmallChange
    saved: tuple[tuple[str, int], ...]
    layers: int

    def of(self, paper: str) -> int:
        """What it saves of one paper."""
        return dict(self.saved).get(paper, 0)


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
    papers = tuple(need.paper for need in paper_needs(now) if need.short)
    short = Shortage(papers, _complete(now), _proof(now))
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
        return tuple(one for one in made if _more(_complete(one.plan), short) > 0)
    return tuple(
        one for one in made if any(s.paper == one.paper and s.share > 0 for s in one.savings)
    )


def _complete(plan: Plan) -> tuple[int, ...]:
    """How many cards, spare sets and loose pieces are complete."""
    return tuple(complete for complete, _ in complete_of(plan).values())


def _proof(plan: Plan) -> WholeCards | None:
    """The proof of how many cards can be made, if all designs are in it, and only cards lack."""
    if len(plan.whole_cards) != 1 or any(card.make is None for card in plan.asked.cards):
        return None
    made = complete_of(plan)
    others = all(complete == asked for kind, (complete, asked) in made.items() if kind != "card")
    (entry,) = plan.whole_cards
    return entry if others and entry.by == "values" else None


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


def saving_steps(asked: Resolved, family: Family, short: Shortage, seed: int) -> tuple[Found, ...]:
    """The steps of a family that save more than those before; what an executor's worker does.

    Pieces only get smaller from step to step, so where the last saves nothing, none does.
    """
    last = _saved(asked, family.steps[-1], short, seed) if family.steps else ()
    if not last:
        return ()
    found: list[Found] = []
    for step in family.steps:
        saved = last if step is family.steps[-1] else _saved(asked, step, short, seed)
        if saved and (not found or _total(saved) > _total(found[-1].saved)):
            layers = len(layer_looks(asked.batch, with_changes(asked.batch, step.changes)))
            found.append(Found(family, step, saved, layers))
        if found and _total(found[-1].saved) >= _total(last):
            break
    return tuple(found)


def _quick_pieces(asked: Resolved) -> tuple[Piece, ...]:
    """The pieces of a batch, each layer that may be cut as two ends in the way that takes least area."""
    layers: dict[tuple[str, str], dict[int, list[Request]]] = {}
    for one in asked.requests:
        if one.card is not None:
            ways = layers.setdefault((one.card, one.layer), {})
            ways.setdefault(one.option, []).append(one)
    taken = {}
    for layer, ways in layers.items():
        faces = {n: (way[0].piece.paper, way[0].piece.face) for n, way in ways.items()}
        areas = {n: sum(one.piece.width * one.piece.height for one in ways[n]) for n in ways}
        least = min((n for n in ways if faces[n] == faces[0]), key=areas.__getitem__)
        taken[layer] = tuple(way[0].sets if n == least else 0 for n, way in ways.items())
    return asked.pieces(taken)


def _total(saved: tuple[tuple[str, int], ...]) -> int:
    return sum(area for _, area in saved)


def _saved(
    asked: Resolved, step: SmallChange, short: Shortage, seed: int
) -> tuple[tuple[str, int], ...]:
    """The area of whole sheets that a step saves of each paper, by quick plans; none if it is unfit.

    Where paper is short, how much more is complete instead.
    """
    batch = asked.batch
    changed = resolve(with_changes(batch, step.changes))
    if changed.faults:
        return ()
    before_pieces, after_pieces = _quick_pieces(asked), _quick_pieces(changed)
    warned = find_warnings(asked, before_pieces)
    if len(find_warnings(changed, after_pieces)) > len(warned):
        return ()
    before_papers, after_papers = _cut_from(asked, before_pieces), _cut_from(changed, after_pieces)
    changes = [
        (name, before_papers[name], after)
        for name, after in after_papers.items()
        if after[1] and before_papers[name] != after
    ]
    if short.papers:
        helped = [name for name, *_ in changes if name in short.papers]
        if not helped or not _may_help(changed, after_papers, short):
            return ()
        more = _more(_complete(solve(changed.batch, _QUICK, seed)), short)
        return tuple((name, more) for name in helped if more > 0)
    areas = (
        (name, quick_saving(then, now, batch.trimmer, f"{seed}/{name}"))
        for name, then, now in changes
    )
    return tuple((name, area) for name, area in areas if area)


def _may_help(changed: Resolved, papers: CutFrom, short: Shortage) -> bool:
    """Whether more may be complete after a change, as far as a bound tells."""
    if short.proof is None or any(one.option for one in changed.requests):
        return True
    return may_make_more(short.proof, changed.batch, papers.values())


def _cut_from(asked: Resolved, pieces: tuple[Piece, ...]) -> CutFrom:
    """By name each paper, with the covered middles that it can be cut from as well, and its pieces."""
    batch = with_middles(asked.batch, find_middles(asked.batch, asked.placed, pieces))
    return {
        paper.name: (paper, tuple(piece for piece in pieces if piece.paper == paper.name))
        for paper in batch.papers
    }


def _more(complete: tuple[int, ...], short: Shortage) -> int:
    """How much more is complete than where paper is short: cards count before spare sets, those before pieces."""
    more = 0
    for then, now in zip(complete, short.complete, strict=True):
        more = more * _OUTWEIGHS + then - now
    return more


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
