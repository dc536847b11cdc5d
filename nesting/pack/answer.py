"""From the searches' best plans to layouts and the whole plan, with every figure."""

from collections import Counter
from collections.abc import Set as AbstractSet
from dataclasses import replace

from nesting.batch import Batch
from nesting.cards.resolving import Resolved
from nesting.cards.warnings import find_warnings
from nesting.cutting.strokes import effort
from nesting.layouts import Blank, Layout
from nesting.pack.cut_trees.arranging import Arranged, Arranging, easier
from nesting.pack.cut_trees.preference import preference_words
from nesting.pack.cut_trees.write_tree import written_tree
from nesting.pack.model.problem import Problem
from nesting.pack.search.incumbent import Search
from nesting.pack.shortage.whole_cards import Settled
from nesting.papers import Paper, Sheet
from nesting.pieces import Piece
from nesting.plan import Bound, PaperFigures, Plan
from nesting.shares import shares
from nesting.sheets import full_size
from nesting.sources import source_of
from nesting.version import __version__


def make_plan(
    asked: Resolved,
    pieces: tuple[Piece, ...],
    searches: dict[str, Search],
    settled: Settled,
    seed: int,
    unchosen: tuple[Piece, ...],
) -> Plan:
    """Write the plan: layouts numbered in the order of the papers, figures, warnings.

    ``unchosen`` are pieces without demand that bounds may give values to.
    """
    batch, papers = asked.batch, asked.batch.papers_by_name
    by_id = {piece.id: piece for piece in pieces}
    valued = by_id.keys() | {piece.id for piece in unchosen}
    written: list[Layout] = []
    notes: list[str] = []
    for final in filter(None, settled.finals.values()):
        easy, big = (
            _stacked(arranged, final.problem, batch, by_id)
            for arranged in Arranging(final.best, final.problem, batch).both()
        )
        easy = easier(big, easy)  # in a stack, other trees may take fewer strokes
        chosen = easy if batch.prefer == "easy-cutting" else big
        written += layouts_of(chosen, final.problem, batch, by_id)
        if words := preference_words(final.problem.paper.name, easy, big, batch):
            notes.append(words)
    layouts = tuple(replace(layout, id=number) for number, layout in enumerate(written, 1))
    proven = settled.sure and all(search.proven for search in searches.values())
    return Plan(
        tool=f"nesting {__version__}",
        seed=seed,
        ended="proven" if proven else "limit",
        asked=batch,
        pieces=pieces,
        layouts=layouts,
        uncut=settled.uncut,
        cards=settled.cards,
        papers=tuple(
            _figures(batch, papers[name], search, layouts, by_id, valued)
            for name, search in searches.items()
        ),
        unchosen=unchosen,
        whole_cards=settled.whole_cards,
        warnings=(*find_warnings(asked, pieces), *_across_grain_words(layouts, batch, by_id)),
        notes=tuple(notes),
    )


def _figures(
    batch: Batch,
    paper: Paper,
    search: Search,
    layouts: tuple[Layout, ...],
    pieces: dict[str, Piece],
    valued: AbstractSet[str],
) -> PaperFigures:
    """A paper's figures: need and proof from its search, shares from its layouts."""
    own = tuple(layout for layout in layouts if layout.paper == paper.name)
    figures, work = shares(own, pieces, paper), effort(own, batch)
    at_hand = [sheet.have for sheet in paper.sheets if not sheet.offcut]
    known = [have for have in at_hand if have is not None]
    return PaperFigures(
        paper=paper.name,
        needed=search.whole_sheets,
        have=sum(known) if len(known) == len(at_hand) else None,
        used=sum(layout.alike for layout in own if layout.source.kind == "sheet"),
        to_buy=sum(layout.to_buy for layout in own),
        bound=_about(search.bound, valued),
        proven=search.proven,
        in_pieces=figures.in_pieces,
        kept=figures.kept,
        waste=figures.waste,
        strokes=work.strokes,
        ruler_settings=work.ruler_settings,
        short=search.short,
    )


def _about(bound: Bound, pieces: AbstractSet[str]) -> Bound:
    """The bound with the values of these pieces alone: of others, nothing is asked for."""
    return replace(bound, values={id_: v for id_, v in bound.values.items() if id_ in pieces})


def _stacked(
    arranged: Arranged, problem: Problem, batch: Batch, pieces: dict[str, Piece]
) -> Arranged:
    """The same, with the strokes counted for a trimmer that cuts several sheets at once."""
    if batch.trimmer.stack == 1:
        return arranged
    layouts = layouts_of(arranged, problem, batch, pieces)
    return replace(arranged, strokes=effort(layouts, batch).strokes)


def layouts_of(
    arranged: Arranged, problem: Problem, batch: Batch, pieces: dict[str, Piece]
) -> list[Layout]:
    """Write the layouts of one paper; ids are given later.

    Sheets at hand are used up before sheets to buy; within a layout, sheets to buy come last. Covered
    middles come after all others, the largest first: each is there when its host is cut.
    """
    layouts = []
    listed = problem.paper.sheets  # the same sheets may be listed twice
    left = {s: None if s.have is None else s.have * many for s, many in Counter(listed).items()}
    for one, part in sorted(
        zip(arranged.sheets, arranged.parts, strict=True),
        key=lambda item: (_size_of_middle(item[0].sheet), -item[0].alike, item[0].sheet.offcut),
    ):
        sheet = one.sheet
        alike, to_buy = one.alike, one.to_buy
        at_hand = left[sheet]
        if at_hand is not None:  # the one supply of a paper with one size is without limit
            to_buy = max(to_buy, alike - at_hand)
            left[sheet] = at_hand - (alike - to_buy)
        width, height = full_size(problem.paper, sheet)
        layouts.append(
            Layout(
                id=0,
                paper=problem.paper.name,
                source=source_of(sheet, batch.unit),
                width=width,
                height=height,
                alike=alike,
                to_buy=to_buy,
                cut_width=batch.trimmer.cut_width,
                tree=written_tree(part, problem, sheet, pieces, batch.keep_from),
            )
        )
    return layouts


def _size_of_middle(sheet: Sheet) -> tuple[bool, int]:
    return bool(sheet.windows), -sheet.width * sheet.height if sheet.windows else 0


def _across_grain_words(
    layouts: tuple[Layout, ...], batch: Batch, pieces: dict[str, Piece]
) -> tuple[str, ...]:
    """A warning for each piece with folds across the grain."""
    papers = batch.papers_by_name
    cut, across = Counter[str](), Counter[str]()
    for layout in layouts:
        grain = papers[layout.paper].grain_axis
        for placed in layout.blanks:
            if isinstance(placed.node, Blank):
                id_ = placed.node.piece
                cut[id_] += layout.alike
                if pieces[id_].folds_across(grain, turned=placed.node.turned):
                    across[id_] += layout.alike
    return tuple(
        f"{pieces[id_].letter} {pieces[id_].name}: on {count} of {cut[id_]} the fold runs across the "
        f"grain of {pieces[id_].paper}; it may be ragged or crack"
        for id_, count in across.items()
    )
