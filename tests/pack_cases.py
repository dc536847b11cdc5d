"""Small batches of one paper for the tests of the packer."""

from dataclasses import dataclass

from nesting.batch import Batch, LoosePiece, Trimmer
from nesting.cards.resolving import resolve
from nesting.checker import check
from nesting.pack import Limit, Rounds, solve
from nesting.pack.model.problem import Problem, make_problem
from nesting.papers import Paper, Sheet, Turn
from nesting.plan import PaperFigures, Plan
from nesting.sheets import full_size, supplies
from nesting.typed_lengths import parse_size

MM = 1_000_000
SIXTY_ROUNDS = Rounds(60)


def solved(batch: Batch, limit: Limit = SIXTY_ROUNDS, seed: int = 0) -> Plan:
    """The plan of a batch, which the checker finds nothing wrong with."""
    plan = solve(batch, limit, seed)
    assert check(plan.asked, plan) == ()
    return plan


def figures_of(batch: Batch, limit: Limit = SIXTY_ROUNDS) -> PaperFigures:
    """The figures of a batch of one paper, checked."""
    (figures,) = solved(batch, limit).papers
    return figures


def cost_of(plan: Plan, paper: str) -> int:
    """What the sheets of a plan of all that is asked cost, found by their sizes."""
    asked_for = plan.asked.paper(paper)
    stock = supplies(asked_for, sum(p.demand for p in plan.pieces if p.paper == paper))
    if len(stock) == 1:
        return sum(layout.alike for layout in plan.layouts_of(paper))
    costs = {
        (supply.sheet.offcut, supply.bought, *full_size(asked_for, supply.sheet)): supply.cost
        for supply in stock
    }
    cost = 0
    for layout in plan.layouts_of(paper):
        of = layout.source.kind == "offcut"
        for bought, sheets in ((False, layout.alike - layout.to_buy), (True, layout.to_buy)):
            if sheets:
                cost += sheets * costs[of, bought, layout.width, layout.height]
    return cost


def problem_of(batch: Batch) -> Problem:
    """The packer's problem of a batch of one paper."""
    batch = resolve(batch).batch
    return make_problem(batch.papers[0], resolve(batch).pieces(), batch.trimmer)


def asked(size: str, count: int, turn: Turn = "may") -> LoosePiece:
    """Loose pieces of one size, in inches unless the size has a unit."""
    return LoosePiece(f"{size} {turn}", "pear toss", count, *parse_size(size, "in"), turn=turn)


def sheet_batch(sheet: str, *pieces: LoosePiece, **paper: object) -> Batch:
    """Pieces from one plain paper with plenty of sheets of one size."""
    sheets = (Sheet(*parse_size(sheet, "in")),)
    return Batch("Orchard market", "in", (Paper("pear toss", sheets, **paper),), (), pieces)  # type: ignore[arg-type]


@dataclass(frozen=True)
class Case:
    """One paper in whole millimetres: sheets (width, height, have), pieces (width, height, count, turn).

    Sheets that cannot be bought are offcuts.
    """

    sheets: tuple[tuple[int, int, int | None], ...]
    pieces: tuple[tuple[int, int, int, Turn], ...]
    offcuts: tuple[tuple[int, int, int], ...] = ()
    cut_width: int = 0
    longest: int | None = None

    def batch(self) -> Batch:
        """The batch that asks for it."""
        sheets = [Sheet(w * MM, h * MM, have) for w, h, have in self.sheets]
        sheets += [Sheet(w * MM, h * MM, have, offcut=True) for w, h, have in self.offcuts]
        pieces = (
            LoosePiece(f"piece {n}", "pear toss", count, w * MM, h * MM, turn=turn)
            for n, (w, h, count, turn) in enumerate(self.pieces)
        )
        longest = None if self.longest is None else self.longest * MM
        trimmer = Trimmer(cut_width=self.cut_width * MM, longest_cut=longest)
        paper = Paper("pear toss", tuple(sheets))
        return Batch("Orchard market", "mm", (paper,), (), tuple(pieces), trimmer)

    @property
    def sound(self) -> bool:
        """Whether it can be planned at all."""
        return not resolve(self.batch()).faults
