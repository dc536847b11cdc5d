"""Questions to the integer programme of whole cards; each answer is confirmed in integers."""

from collections.abc import Iterable
from math import inf

from nesting.pack.model.columns import meets
from nesting.pack.model.otherwise import with_demand
from nesting.pack.search.incumbent import Search
from nesting.pack.search.schedule import improve
from nesting.pack.shortage.allocation import Allocation, Level
from nesting.pack.shortage.card_milp import CardModel
from nesting.pack.shortage.goals import Goal, Wish, sets_of
from nesting.pack.shortage.short_papers import Shortage

#: The node limit for HiGHS unless a caller has another, and where the cheapest sheets are looked for.
NODES, _CHEAPEST_NODES = 200, 2_000
#: The most rounds of a search that tries to fit a target on the sheets at hand.
_ROUNDS = 40


def relaxed_values(
    shortage: Shortage, goal: Goal, made: dict[Wish, int], *, even: bool = False
) -> dict[str, float] | None:
    """The pieces' dual values in the linear relaxation; None where HiGHS has no optimum."""
    model = CardModel(shortage, goal, made, even=even, whole_counts=False, whole_sheets=False)
    return _dual_values(model)


def _dual_values(model: CardModel) -> dict[str, float] | None:
    outcome = model.programme.solve()
    if not outcome.optimal:
        return None
    return {piece: max(0.0, outcome.duals[row]) for piece, row in model.kind_rows.items()}


def find_target(
    shortage: Shortage,
    goal: Goal,
    made: dict[Wish, int],
    most: int,
    levels: Iterable[Level] = (),
) -> Allocation | None:
    """What fractional sheets yield of a goal, up to ``most``, in whole cards."""
    model = CardModel(shortage, goal, made, even=True, whole_sheets=False)
    model.reach(-inf, most)
    for level in levels:
        model.hold(level)
    return model.allocation(model.programme.solve(NODES))


def most_of_goal(
    shortage: Shortage,
    goal: Goal,
    made: dict[Wish, int],
    least: int = 0,
    levels: Iterable[Level] = (),
    nodes: int = NODES,
) -> tuple[Allocation | None, bool]:
    """The most of a goal that whole sheets yield; and whether ``least`` is proven impossible."""
    model = CardModel(shortage, goal, made, even=True)
    model.reach(least, inf)
    for level in levels:
        model.hold(level)
    outcome = model.programme.solve(nodes)
    return _confirmed(shortage, model.allocation(outcome)), outcome.impossible


def _confirmed(shortage: Shortage, allocation: Allocation | None) -> Allocation | None:
    """An allocation that is feasible in integers, too, else None: HiGHS works in floats."""
    if allocation is None:
        return None
    for component in shortage.components:
        ways = (min(allocation.cut.get(use, 0) for use in way) for way in component.ways)
        if sum(ways) < sets_of(component, allocation.made) * component.each:
            return None
    for paper, wanted in shortage.demand(allocation.cut).items():
        problem, used = shortage.problems[paper], allocation.sheets[paper]
        if not meets(used, (wanted.get(kind.piece, 0) for kind in problem.kinds)):
            return None
        for supply, terms in enumerate(shortage.terms[paper]):
            taken = sum(u.count for u in used if u.column.supply == supply)
            if terms.most is not None and taken > terms.most:
                return None
    if all(0 <= count <= shortage.count(use) for use, count in allocation.cut.items()):
        return allocation
    return None


def cheapest_sheets(shortage: Shortage, made: dict[Wish, int]) -> Allocation | None:
    """What is made, from whole sheets with the least price; None where nothing was found."""
    model = CardModel(shortage, (), made)
    return _confirmed(shortage, model.allocation(model.programme.solve(_CHEAPEST_NODES)))


def cheapest_target(shortage: Shortage, made: dict[Wish, int]) -> Allocation | None:
    """The same from fractional sheets."""
    model = CardModel(shortage, (), made, whole_sheets=False)
    return model.allocation(model.programme.solve(_CHEAPEST_NODES))


def values_of_few(
    shortage: Shortage, made: dict[Wish, int], price: int, sheets: int | None
) -> dict[str, float] | None:
    """The pieces' dual values in the linear relaxation of ``fewest_sheets``; None without an optimum."""
    model = CardModel(shortage, (), made, whole_counts=False, whole_sheets=False)
    model.take_few(price, sheets)
    return _dual_values(model)


def fewest_sheets(
    shortage: Shortage, made: dict[Wish, int], price: int, sheets: int | None = None
) -> Allocation | None:
    """What is made, from few whole sheets within a price, or from so many with few joints.

    None where nothing was found.
    """
    model = CardModel(shortage, (), made)
    model.take_few(price, sheets)
    found = _confirmed(shortage, model.allocation(model.programme.solve(_CHEAPEST_NODES)))
    return None if found is None or shortage.price_of(found) > price else found


def fewest_target(
    shortage: Shortage, made: dict[Wish, int], price: int, sheets: int
) -> Allocation | None:
    """The same from fractional sheets."""
    model = CardModel(shortage, (), made, whole_sheets=False)
    model.take_few(price, sheets)
    return model.allocation(model.programme.solve(_CHEAPEST_NODES))


def search_for(shortage: Shortage, target: Allocation, seed: str) -> None:
    """Add the patterns that a search finds for what a target takes of each paper."""
    for paper, demand in shortage.demand(target.cut).items():
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
