"""Column generation, and integer plans from its columns."""

from collections.abc import Iterator

from nesting.pack.bounds.dual_bounds import values_bound, whole_values
from nesting.pack.lp.master import Relaxation, Relaxed, choose_columns
from nesting.pack.model.columns import Used
from nesting.pack.model.deadline import stop_if_late
from nesting.pack.model.pattern import Pattern, blank_area, counts
from nesting.pack.one_sheet.exchanged import exchanged
from nesting.pack.one_sheet.greedy import fill_sheets, fullest
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.pack.search.incumbent import Search

#: How often each sheet is filled when the residual problem is solved greedily.
LATER_TRIES = 24
#: The most rounds of column generation; its bound is valid whenever it ends.
_MOST_PRICINGS = 400
#: The weight of the best bound's values in the prices, at first and after a pricing in vain.
_STAY = (0.8, 0.0)
#: The relaxation may cost so much more than it says.
_ALMOST = 1e-6
#: How often the values are corrected for one sheet, and the fraction that they are rounded to.
_CORRECTIONS, _FINE = 6, 64


def generate_columns(
    search: Search, relaxation: Relaxation, table: SheetTable, *, for_bound: bool = False
) -> Iterator[list[float]]:
    """Column generation (Gilmore and Gomory 1965): price a sheet at the duals, add it, repeat.

    Where it is only ``for_bound``, it ends when that cannot rise any more, and prices are smoothed
    towards the values of the best bound, starting from areas (Wentges 1997): fewer columns are priced,
    but fewer of them make a plan.
    """
    _add_uniform(search)
    problem = search.problem
    largest = max(size.width * size.height for size in problem.sizes)
    centre = [area / largest for area in problem.areas]
    for _ in range(_MOST_PRICINGS):
        found = solve_master(search, relaxation)
        if found is None:
            return
        least, uses, duals = found
        known = len(search.pool.columns)
        for stay in _STAY if for_bound else (0.0,):
            mixed = [stay * c + (1 - stay) * dual for c, dual in zip(centre, duals, strict=True)]
            latest = values_bound(problem, table, mixed)
            search.note_values(latest)
            if search.values_bound is latest:
                centre = mixed
            _add_priced(search, table)
            if len(search.pool.columns) > known:
                break
        yield uses
        if len(search.pool.columns) == known:
            return
        if for_bound and search.bound.value >= least - _ALMOST:
            return


def solve_master(search: Search, relaxation: Relaxation) -> Relaxed | None:
    """Solve the relaxation over all columns found so far (``Relaxation.solve``)."""
    stop_if_late()
    relaxation.extend(search.pool.columns)
    return relaxation.solve()


def _add_uniform(search: Search) -> None:
    """The first columns: each kind alone on each size, as many as greedy filling places."""
    for number, size in enumerate(search.problem.sizes):
        for kind, demand in enumerate(search.problem.demand):
            stop_if_late()
            only = [demand if k == kind else 0 for k in range(len(search.problem.kinds))]
            found = fullest(search.problem, size.supplies[0], only, search.rng, 1)
            if found is not None:
                search.pool.add_to_size(number, found[1].column.pattern)


def _add_priced(search: Search, table: SheetTable) -> None:
    """Add the best pattern of each size at the values the table is filled with."""
    for number, size in enumerate(search.problem.sizes):
        pattern = table.pattern(size.width, size.height)
        if pattern is not None:
            search.pool.add_to_size(number, pattern)


def price_noisily(search: Search, relaxation: Relaxation, table: SheetTable) -> None:
    """Add columns priced at dual values that are changed at random by up to a tenth."""
    found = solve_master(search, relaxation)
    if found is None:
        return
    for _ in range(6):
        duals = [dual * search.rng.uniform(0.9, 1.1) for dual in found.duals]
        table.fill(whole_values(search.problem, duals))
        _add_priced(search, table)


def choose(search: Search, relaxation: Relaxation, nodes: int) -> None:
    """Solve the integer programme over all columns found so far that a cheaper plan can contain."""
    if solve_master(search, relaxation) is None:
        return
    columns = relaxation.within(search.pool.columns, search.cost - 1)
    chosen = choose_columns(search.problem, columns, search.bound.value, nodes=nodes)
    if chosen.plan is not None:
        search.offer(chosen.plan)


def repack_rest(search: Search, uses: list[float]) -> None:
    """Round the relaxation down, free a few more sheets, and fill the residual problem greedily.

    Filling each sheet once mostly proves enough already.
    """
    stop_if_late()
    problem, rng = search.problem, search.rng
    kept, rest = rounded_down(search, uses, rng.randint(0, 4))
    for tries in (1, LATER_TRIES):
        filled = fill_sheets(problem, rest, rng, tries)
        if filled is not None:
            search.offer((*kept, *search.taken(filled)))
        if search.proven:
            return
        stop_if_late()
    fill_without_some(search)


def fill_without_some(search: Search) -> None:
    """Fill the whole demand greedily without some supplies, where there is a choice of them.

    Greedy filling begins with limited supplies, and takes the sheet that it fills best, though another
    may cost less.
    """
    problem, rng = search.problem, search.rng
    if len(problem.supplies) > 1:
        without = frozenset(s for s in range(len(problem.supplies)) if rng.random() < 0.5)
        filled = fill_sheets(problem, problem.demand, rng, LATER_TRIES, without)
        if filled is not None:
            search.offer(search.taken(filled))


def fill_at_corrected_values(search: Search, table: SheetTable) -> None:
    """Fill sheet after sheet with what is left, at values that keep patterns within the demand.

    Values begin near the areas and fall a little for whatever a pattern has beyond what is left: few of
    many kinds rarely fit the demand otherwise (value correction: Belov and Scheithauer 2007). Blanks
    beyond it are exchanged for others. Every pattern joins the pool, for the integer programme.
    """
    left = list(search.problem.demand)
    while any(left):
        found = _fullest_within(search, table, left)
        if found is None:
            return
        left = [n - h for n, h in zip(left, counts(found, len(left)), strict=True)]


def _fullest_within(search: Search, table: SheetTable, left: list[int]) -> Pattern | None:
    """Add patterns at values that are corrected again and again; the one that holds most of what is left."""
    problem, rng = search.problem, search.rng
    worth = [
        a * rng.uniform(0.9, 1.1) if n else 0.0 for a, n in zip(problem.areas, left, strict=True)
    ]
    best: tuple[float, Pattern] | None = None
    for _ in range(_CORRECTIONS):
        stop_if_late()
        table.fill([int(value * _FINE) for value in worth])
        for number, size in enumerate(problem.sizes):
            pattern = table.pattern(size.width, size.height)
            own = None if pattern is None else exchanged(pattern, problem, list(left))
            if pattern is None or own is None:
                continue
            search.pool.add_to_size(number, own)
            share = blank_area(own) / (size.width * size.height)
            if best is None or share > best[0]:
                best = share, own
            held = counts(pattern, len(left))
            step = rng.uniform(0.02, 0.2)
            worth = [
                w * (n / h) ** step if h > n else w
                for w, h, n in zip(worth, held, left, strict=True)
            ]
    return None if best is None else best[1]


def rounded_down(
    search: Search, uses: list[float], free: int
) -> tuple[tuple[Used, ...], tuple[int, ...]]:
    """The relaxation rounded down, less ``free`` sheets, and the demand left."""
    kept: dict[int, int] = {c: int(use + 1e-9) for c, use in enumerate(uses) if use >= 1 - 1e-9}
    for _ in range(min(free, sum(kept.values()))):
        column = search.rng.choice([c for c, n in kept.items() if n])
        kept[column] -= 1
    rest = list(search.problem.demand)
    for column, number in kept.items():
        for kind, n in enumerate(search.pool.columns[column].counts):
            rest[kind] = max(0, rest[kind] - n * number)
    used = tuple(Used(search.pool.columns[c], n) for c, n in kept.items() if n)
    return used, tuple(rest)
