"""From a paper's best plan to its layouts: nothing cut beyond the demand, sheets alike together."""

from nesting.batch import Batch, Piece, Sheet, full_size
from nesting.pack.content import Content, tidied
from nesting.pack.fill import Filled
from nesting.pack.problem import Problem
from nesting.pack.search import Used
from nesting.pack.surplus import without_surplus
from nesting.pack.trees import cut_tree
from nesting.plan import Blank, Layout, Source
from nesting.units import format_size, with_unit


def layouts_of(
    plan: tuple[Used, ...], problem: Problem, batch: Batch, pieces: dict[str, Piece]
) -> list[Layout]:
    """Write the layouts of one paper; ids are given later.

    Sheets at hand are used up before ones to buy; of a layout's sheets those to buy come last.
    """
    sheets: dict[tuple[Sheet, Content], list[int]] = {}
    for one in without_surplus(
        [Filled(u.column.supply, u.column.content, u.count) for u in plan], problem.demand
    ):
        supply = problem.supplies[one.supply]
        numbers = sheets.setdefault((supply.sheet, tidied(one.content, problem.longest)), [0, 0])
        numbers[supply.bought] += one.alike
    layouts = []
    listed = problem.paper.sheets  # the same sheets may be listed twice
    left = {s: None if s.have is None else s.have * listed.count(s) for s in listed}
    ordered = sorted(sheets.items(), key=lambda item: (-sum(item[1]), item[0][0].offcut))
    for (sheet, content), numbers in ordered:
        alike, to_buy = sum(numbers), numbers[True]
        at_hand = left[sheet]
        if at_hand is not None:  # the one supply of a paper with one size is without limit
            to_buy = max(to_buy, alike - at_hand)
            left[sheet] = at_hand - (alike - to_buy)
        width, height = full_size(problem.paper, sheet)
        name = with_unit(format_size(sheet.width, sheet.height, batch.unit), batch.unit)
        layouts.append(
            Layout(
                id=0,
                paper=problem.paper.name,
                source=Source("offcut" if sheet.offcut else "sheet", name),
                width=width,
                height=height,
                alike=alike,
                to_buy=to_buy,
                cut_width=batch.trimmer.cut_width,
                tree=cut_tree(content, problem, sheet, pieces, batch.keep_from),
            )
        )
    return layouts


def across_grain_words(
    layouts: list[Layout], batch: Batch, pieces: dict[str, Piece]
) -> tuple[str, ...]:
    """A warning for each piece of which some folds run across the grain."""
    across: dict[str, int] = {}
    for layout in layouts:
        grain = batch.paper(layout.paper).grain_axis
        for placed in layout.blanks:
            if isinstance(placed.node, Blank) and pieces[placed.node.piece].folds_across(
                grain, turned=placed.node.turned
            ):
                across[placed.node.piece] = across.get(placed.node.piece, 0) + layout.alike
    return tuple(
        f"{pieces[id_].letter} {pieces[id_].name}: {count} of {pieces[id_].demand} have their fold "
        f"across the grain of {pieces[id_].paper}; such a fold may be ragged or crack"
        for id_, count in across.items()
    )
