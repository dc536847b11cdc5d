"""Have I enough? What to buy, how much of what is asked for is complete, how much more there could be."""

from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from dataclasses import replace
from functools import cache
from math import inf
from time import monotonic

from nesting.batch import Batch, Card, Layer
from nesting.cards.most_cards import most_by_area
from nesting.cards.resolving import resolve
from nesting.cutting.parallel_cuts import kept_offcuts
from nesting.needs import Made, Need, Needs, made_of, paper_needs
from nesting.pack import DEFAULT_LIMIT, FirstOf, Limit, Report, Rounds, Seconds, seconds_of, solve
from nesting.papers import Paper, Sheet
from nesting.pieces import Piece
from nesting.plan import Plan
from nesting.sheets import usable_size
from nesting.sources import SheetKey, key_of_layout, key_of_sheet

#: Rounds that the full need of cards beyond those asked for may take: only what is at hand counts.
_ROUNDS = Rounds(12)
#: The share of the seconds that the plan of the batch may take; the rest is for what is left over.
_PLANNED = 0.7


def enough(
    batch: Batch,
    limit: Limit = DEFAULT_LIMIT,
    seed: int = 0,
    *,
    executor: Executor | None = None,
    report: Report | None = None,
) -> Needs:
    """Answer whether the paper suffices, before any cut.

    The batch is planned as ``solve`` plans it, in most of the time that the limit allows. For
    each design and each loose piece, what is then left over (sheets not used, offcuts worth
    keeping) is planned once more, for it alone.

    Parameters
    ----------
    batch
        What is asked.
    limit, seed, executor, report
        As in ``nesting.solve``.

    Raises
    ------
    BatchError
        What was asked cannot be planned; every fault is in it.

    Examples
    --------
    >>> import nesting
    >>> needs = enough(nesting.read_batch("samples/orchard-short.yaml"))
    >>> [(paper.paper, paper.needed, paper.lacking) for paper in needs.papers[:2]]
    [('pear toss', 3, 1), ('bee stripe', 3, 0)]
    """
    start = monotonic()
    planned = _left_of(limit, start, _PLANNED)
    plan = solve(batch, planned, seed, executor=executor, report=report)
    return needs_of(plan, _left_of(limit, start), seed)


def needs_of(plan: Plan, limit: Limit = DEFAULT_LIMIT, seed: int = 0) -> Needs:
    """What a plan means: what to buy, what is complete, and what its sheets left over would give."""
    start = monotonic()
    papers = tuple(paper_needs(plan))
    short = [need.paper for need in papers if need.short]
    left = left_over(plan)

    @cache
    def in_plenty(name: str) -> Plan:
        return solve(
            _in_plenty(_numbered(plan), name), _left_of(limit, start), seed, arranged=False
        )

    needs = []
    for made in made_of(plan):
        limited: tuple[str, ...] = ()
        if made.complete < made.asked:
            limited = _limited_by(plan, made, short, in_plenty)
        more: tuple[int | None, int | None] = (None, None)
        if made.kind != "spare set":
            more = _more(plan.asked, _design(plan, made), left, _left_of(limit, start), seed)
        needs.append(Need(made, limited, *more))
    return Needs(plan, papers, tuple(needs))


def _left_of(limit: Limit, start: float, share: float = 1.0) -> Limit:
    """The limit of the next of several plans: up to so large a share of the seconds for all."""
    seconds = seconds_of(limit)
    if seconds == inf:
        return limit
    return FirstOf((limit, Seconds(max(0.0, seconds * share - (monotonic() - start)))))


def _limited_by(
    plan: Plan, made: Made, short: list[str], in_plenty: Callable[[str], Plan]
) -> tuple[str, ...]:
    """The short papers that limit how many of these are made: with more of one, more are.

    Where that is true of no paper alone, all of them limit the number together.
    """
    own = {p.paper for p in plan.pieces if any(made.is_for(p, use) for use in p.uses)}
    names = tuple(name for name in short if name in own)
    if len(names) == 1:
        return names
    alone = tuple(name for name in names if _complete(in_plenty(name), made) > made.complete)
    return alone or names


def _complete(plan: Plan, made: Made) -> int:
    """How many of the same a plan completes."""
    same = (made.kind, made.name)
    return next(other.complete for other in made_of(plan) if (other.kind, other.name) == same)


def _design(plan: Plan, made: Made) -> Card:
    """The card design; for a loose piece, one with it as its only layer, made as often."""
    if made.kind == "card":
        return next(card for card in plan.asked.cards if card.name == made.name)
    piece = next(p for p in plan.pieces if any(made.is_for(p, use) for use in p.uses))
    size = (None, None) if piece.shape == "circle" else (piece.width, piece.height)
    layer = Layer(
        made.name,
        piece.paper,
        face=piece.face,
        width=size[0],
        height=size[1],
        circle=piece.width if piece.shape == "circle" else None,
        turn=piece.turn,
        die_allowance=piece.die_allowance,
    )
    return Card(made.name, 1, piece.width, piece.height, layers=(layer,))


def _numbered(plan: Plan) -> Batch:
    """The batch with the plan's numbers for designs without one."""
    asked = {count.card: count.asked for count in plan.cards}
    cards = (
        card
        if card.make is not None
        else replace(card, make=asked[card.name], at_most=None, at_least=0)
        for card in plan.asked.cards
        if asked[card.name]
    )
    return replace(plan.asked, cards=tuple(cards))


def _in_plenty(batch: Batch, name: str) -> Batch:
    """The batch with one paper in plenty."""
    papers = tuple(
        replace(paper, sheets=tuple(replace(sheet, have=None) for sheet in paper.sheets))
        if paper.name == name
        else paper
        for paper in batch.papers
    )
    return replace(batch, papers=papers)


def left_over(plan: Plan) -> tuple[Paper, ...]:
    """Each paper with what the plan leaves of it: sheets not used, and offcuts that are kept.

    None of them can be bought.
    """
    return tuple(
        replace(paper, buy=False, sheets=(*_unused(plan, paper), *_kept(plan, paper)))
        for paper in plan.asked.papers
    )


def _unused(plan: Plan, paper: Paper) -> Iterator[Sheet]:
    """The sheets and offcuts at hand that nothing is cut from."""
    used: Counter[SheetKey] = Counter()
    for layout in plan.layouts_of(paper.name):
        used[key_of_layout(layout, paper)] += layout.alike - layout.to_buy
    for sheet in paper.sheets:
        key = key_of_sheet(paper, sheet)
        taken = used[key] if sheet.have is None else min(used[key], sheet.have)
        used[key] -= taken
        yield sheet if sheet.have is None else replace(sheet, have=sheet.have - taken)


def _kept(plan: Plan, paper: Paper) -> Iterator[Sheet]:
    """The offcuts that the plan keeps, equal ones together; none that the trimmer cannot open."""
    trimmer = plan.asked.trimmer
    kept: Counter[Sheet] = Counter()
    for layout in plan.layouts_of(paper.name):
        for sheet in kept_offcuts(layout, paper):
            kept[sheet] += layout.alike
    for sheet in sorted(kept, key=lambda sheet: (sheet.width, sheet.height, sheet.strip or "")):
        shorter = min(usable_size(paper, sheet, trimmer.cut_width))
        if trimmer.longest_cut is None or shorter <= trimmer.longest_cut:
            yield replace(sheet, have=kept[sheet])


def _more(
    batch: Batch, card: Card, left: tuple[Paper, ...], limit: Limit, seed: int
) -> tuple[int | None, int | None]:
    """How many more of a design what is left over gives, and how many it gives at most.

    Where the time is over, none is known to be had. What is in the bags is for what was asked.
    """
    card = replace(card, make=1, spares=0, at_most=None, at_least=0)
    alone = replace(batch, cards=(card,), pieces=(), first=(), begun=None)
    resolved = resolve(alone)
    pieces = resolved.candidates()
    papers = tuple(
        replace(paper, sheets=tuple(_fitting(paper, pieces)))
        for paper in left
        if any(piece.paper == paper.name for piece in pieces)
    )
    there = {paper.name: paper for paper in papers}
    most = most_by_area(resolved.requests, there, batch.trimmer, {})
    if not most:
        return most, most
    if not seconds_of(limit):
        return 0, most
    cards = (replace(card, make=most),)
    wanted = replace(alone, papers=papers, cards=cards)
    plan = solve(wanted, FirstOf((limit, _ROUNDS)), seed, arranged=False)
    entries = plan.whole_cards
    return plan.cards[0].complete, entries[0].most if entries else most


def _fitting(paper: Paper, pieces: tuple[Piece, ...]) -> Iterator[Sheet]:
    """The whole sheets, and the offcuts that hold at least one of the pieces."""
    blanks = [p.on_sheet(turned=t) for p in pieces if p.paper == paper.name for t in p.turns]
    for sheet in paper.sheets:
        fits = any(w <= sheet.width and h <= sheet.height for w, h in blanks)
        if not sheet.offcut or fits:
            yield sheet
