"""How the answer is found: ``solve`` puts the stages together."""

from collections.abc import Callable
from dataclasses import replace
from time import monotonic

from nesting import __version__
from nesting.batch import Batch, Paper, Piece
from nesting.cautions import find_warnings
from nesting.faults import refuse_faults
from nesting.layers import fill_defaults, pieces_of
from nesting.pack.answer import across_grain_words, layouts_of
from nesting.pack.limits import FirstOf, Limit, NoGain, Rounds, Seconds, State
from nesting.pack.problem import make_problem
from nesting.pack.search import Search
from nesting.pack.whole_cards import Counts, Shortage, cut_counts
from nesting.plan import CardCount, Layout, PaperFigures, Plan, Uncut, shares

#: Told after each round which paper was worked on and how far it has come.
Report = Callable[[str, State], None]

#: What ends a search that is given no limit of its own: the same plan on every machine.
DEFAULT_LIMIT: Limit = FirstOf((Rounds(1200), NoGain(240)))


def solve(
    batch: Batch,
    limit: Limit = DEFAULT_LIMIT,
    seed: int = 0,
    *,
    report: Report | None = None,
) -> Plan:
    """Plan the cutting of a batch.

    Papers are independent unless one is short. Each has a quick plan first; then its plan and its
    bound are made better by turns, round after round, until they meet or the limit ends it. A
    paper that may be bought is planned in full. What cannot be bought is cut for whole cards in
    the order of the file.

    Parameters
    ----------
    limit
        Ends the search of a paper that is not proven yet.
    seed
        Drives all chance. Without ``Seconds`` in the limit, the same batch, seed and limit give
        the same plan.
    report
        Called after each round with the paper's name and state.

    Returns
    -------
    Plan
        Ended ``interrupted`` where Ctrl-C (KeyboardInterrupt) came after the quick plans.

    Raises
    ------
    BatchError
        What was asked cannot be planned; every fault is in it.
    """
    refuse_faults(batch)
    batch = fill_defaults(batch)
    pieces = pieces_of(batch)
    searches = {
        paper.name: Search(make_problem(paper, pieces, batch.trimmer), f"{seed}/{paper.name}")
        for paper in batch.papers
        if any(piece.paper == paper.name for piece in pieces)
    }
    interrupted = False
    try:
        _improve(searches, limit, report)
    except KeyboardInterrupt:
        interrupted = True
    shortage = Shortage(batch, pieces, seed, quick=interrupted)
    short = {name for name, search in searches.items() if search.short}
    try:
        cut = cut_counts(batch, pieces, short, shortage.suffices)
    except KeyboardInterrupt:
        interrupted = True
        shortage = Shortage(batch, pieces, seed, quick=True)
        cut = cut_counts(batch, pieces, short, shortage.suffices)
    finals = {
        name: shortage.search(name, cut) if name in short else search
        for name, search in searches.items()
    }
    uncut = _uncut(pieces, short, cut)
    for name in short - {piece.paper for piece in pieces for u in uncut if u.piece == piece.id}:
        searches[name] = searches[name].bettered_by(finals[name])  # it was not short after all
    by_id = {piece.id: piece for piece in pieces}
    layouts = [
        layout
        for final in finals.values()
        if final is not None
        for layout in layouts_of(final.best, final.problem, batch, by_id)
    ]
    layouts = [replace(layout, id=number) for number, layout in enumerate(layouts, 1)]
    proven = shortage.sure and all(search.proven for search in searches.values())
    return Plan(
        tool=f"nesting {__version__}",
        seed=seed,
        ended="interrupted" if interrupted else "proven" if proven else "limit",
        asked=batch,
        pieces=pieces,
        layouts=tuple(layouts),
        uncut=uncut,
        cards=_card_counts(batch, pieces, short, cut),
        papers=tuple(
            _figures(batch.paper(name), search, tuple(layouts), by_id)
            for name, search in searches.items()
        ),
        warnings=(*find_warnings(batch), *across_grain_words(layouts, batch, by_id)),
    )


def _improve(searches: dict[str, Search], limit: Limit, report: Report | None) -> None:
    """Give each paper a round by turns, until it is proven or at its limit; then see to the grain."""
    start = monotonic()
    active = {name: search.improve() for name, search in searches.items()}
    while active:
        for name in list(active):
            search = searches[name]
            ended = next(active[name], "ended") == "ended"
            state = State(
                elapsed=monotonic() - start,
                rounds=search.rounds,
                since_gain=search.since_gain,
                best=search.cost,
                bound=search.bound.value,
            )
            if report is not None:
                report(name, state)
            if ended or limit(state):
                del active[name]
    for search in searches.values():
        search.keep_grain()


def _uncut(pieces: tuple[Piece, ...], short: set[str], cut: Counts) -> tuple[Uncut, ...]:
    """What the short papers do not give."""
    uncut = []
    for piece in pieces:
        if piece.paper not in short:
            continue
        uses = [
            replace(use, count=use.count - cut[piece.id, n]) for n, use in enumerate(piece.uses)
        ]
        missing = tuple(use for use in uses if use.count)
        if missing:
            uncut.append(Uncut(piece.id, sum(use.count for use in missing), missing))
    return tuple(uncut)


def _card_counts(
    batch: Batch,
    pieces: tuple[Piece, ...],
    short: set[str],
    cut: Counts,
) -> tuple[CardCount, ...]:
    """How many cards of each design have all their pieces."""
    counted = []
    for card in batch.cards:
        complete = card.make
        for piece in pieces:
            for n, use in enumerate(piece.uses):
                if piece.paper in short and use.card == card.name:
                    each = use.count // (card.make + card.spares)
                    complete = min(complete, cut[piece.id, n] // each)
        counted.append(CardCount(card.name, card.make, complete))
    return tuple(counted)


def _figures(
    paper: Paper, search: Search, layouts: tuple[Layout, ...], pieces: dict[str, Piece]
) -> PaperFigures:
    own = tuple(layout for layout in layouts if layout.paper == paper.name)
    figures = shares(own, pieces, paper)
    at_hand = [sheet.have for sheet in paper.sheets if not sheet.offcut]
    known = [have for have in at_hand if have is not None]
    return PaperFigures(
        paper=paper.name,
        needed=search.whole_sheets,
        have=sum(known) if len(known) == len(at_hand) else None,
        used=sum(layout.alike for layout in own if layout.source.kind == "sheet"),
        to_buy=sum(layout.to_buy for layout in own),
        bound=search.bound,
        proven=search.proven,
        in_pieces=figures.in_pieces,
        kept=figures.kept,
        waste=figures.waste,
        cuts=figures.cuts,
        ruler_settings=figures.ruler_settings,
    )


__all__ = [
    "DEFAULT_LIMIT", "FirstOf", "Limit", "NoGain", "Report", "Rounds", "Seconds", "State", "solve",
]  # fmt: skip
