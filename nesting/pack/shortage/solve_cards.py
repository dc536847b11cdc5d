"""Solving the integer programme of whole cards for several questions, each answer confirmed."""

from collections.abc import Iterable
from math import inf

from nesting.pack.model.problem import with_demand
from nesting.pack.search.incumbent import Search
from nesting.pack.search.schedule import improve
from nesting.pack.shortage.allocation import Allocation, Level
from nesting.pack.shortage.card_milp import CardModel
from nesting.pack.shortage.goals import Goal, Wish
from nesting.pack.shortage.short_papers import Shortage

#: The most rounds of a search that tries to fit a target on the sheets at hand.
_ROUNDS = 40


def relaxed_values(
    shortage: Shortage, goal: Goal, made: dict[Wish, int], *, even: bool
) -> dict[str, float] | None:
    """The pieces' dual values in the linear relaxation; None where HiGHS has no optimum."""
    model = CardModel(shortage, goal, made, even=even, whole_counts=False, whole_sheets=False)
    outcome = model.programme.solve()
    if not outcome.optimal:
        return None
    rows = model.kind_rows
    return {piece: max(0.0, outcome.duals[row]) for piece, row in rows.items()}


def aim_at(
    shortage: Shortage,
    goal: Goal,
    made: dict[Wish, int],
    nodes: int,
    most: int,
    levels: Iterable[Level] = (),
) -> Allocation | None:
    """A target: integer numbers that reach ``most`` of a goal, from fractional sheets."""
    model = _leveled(shortage, goal, made, levels, most=most, whole_sheets=False)
    return model.allocation(model.programme.solve(nodes))


def _leveled(
    shortage: Shortage,
    goal: Goal,
    made: dict[Wish, int],
    levels: Iterable[Level],
    *,
    least: float = -inf,
    most: float = inf,
    whole_sheets: bool,
) -> CardModel:
    """The programme that reaches so many of a goal, nearly even and held to some levels."""
    model = CardModel(shortage, goal, made, even=True, whole_counts=True, whole_sheets=whole_sheets)
    model.reach(float(least), float(most))
    for level in levels:
        model.hold(goal, level)
    return model


def choose_sheets(
    shortage: Shortage,
    goal: Goal,
    made: dict[Wish, int],
    nodes: int,
    least: int = 0,
    levels: Iterable[Level] = (),
) -> Allocation | None:
    """The most of a goal that whole sheets yield, nearly even; None where nothing was found."""
    return solve_goal(shortage, goal, made, nodes, least, levels)[0]


def solve_goal(
    shortage: Shortage,
    goal: Goal,
    made: dict[Wish, int],
    nodes: int,
    least: int = 0,
    levels: Iterable[Level] = (),
) -> tuple[Allocation | None, bool]:
    """The most of a goal, at least ``least``; and whether that many are proven impossible."""
    model = _leveled(shortage, goal, made, levels, least=least, whole_sheets=True)
    outcome = model.programme.solve(nodes)
    allocation = model.allocation(outcome)
    return (
        allocation if allocation is not None and _holds(shortage, allocation) else None
    ), outcome.impossible


def _holds(shortage: Shortage, allocation: Allocation) -> bool:
    """Whether an allocation is feasible in integers; HiGHS works in floats."""
    for part in shortage.parts:
        taken = sum(n for wish, n in allocation.made.items() if part in wish.parts) * part.each
        ways = (min(allocation.cut.get(key, 0) for key in way) for way in part.ways)
        if sum(ways) < taken:
            return False
    for paper, wanted in shortage.demand(allocation.cut).items():
        problem, used = shortage.problems[paper], allocation.sheets[paper]
        for number, kind in enumerate(problem.kinds):
            if sum(u.column.counts[number] * u.count for u in used) < wanted.get(kind.piece, 0):
                return False
        for supply, terms in enumerate(shortage.terms[paper]):
            taken = sum(u.count for u in used if u.column.supply == supply)
            if terms.most is not None and taken > terms.most:
                return False
    return all(0 <= n <= shortage.count(key) for key, n in allocation.cut.items())


def cheapest_sheets(
    shortage: Shortage, made: dict[Wish, int], nodes: int, *, whole_sheets: bool = True
) -> Allocation | None:
    """What is made, from sheets with the least price to buy; None where nothing was found."""
    model = CardModel(shortage, (), made, even=False, whole_counts=True, whole_sheets=whole_sheets)
    allocation = model.allocation(model.programme.solve(nodes))
    if allocation is None or (whole_sheets and not _holds(shortage, allocation)):
        return None
    return allocation


def fewest_sheets(
    shortage: Shortage, made: dict[Wish, int], nodes: int, price: int
) -> Allocation | None:
    """What is made, from few sheets with no higher price to buy; None where nothing was found."""
    model = CardModel(shortage, (), made, even=False, whole_counts=True, whole_sheets=True)
    model.take_few(price)
    allocation = model.allocation(model.programme.solve(nodes))
    if (
        allocation is None
        or not _holds(shortage, allocation)
        or shortage.price_of(allocation) > price
    ):
        return None
    return allocation


def search_for(shortage: Shortage, mark: Allocation, seed: str) -> None:
    """Add the patterns of a search for each paper's part of a target."""
    for paper, demand in shortage.demand(mark.cut).items():
        problem = with_demand(shortage.problems[paper], demand)
        if not any(demand.values()):
            continue
        search = Search(problem, f"{seed}/{paper}/{sorted(demand.items())}")
        for _ in improve(search):
            if _settles(shortage, search) or search.rounds > _ROUNDS:
                break
        shortage.add(paper, search.pool.columns)


def _settles(shortage: Shortage, search: Search) -> bool:
    """Whether a search has shown that the sheets at hand suffice, or that they do not."""
    return not shortage.at_a_price and (not search.short or search.surely_short)
