"""Bounds by areas and by values of the pieces: integers that the checker can verify."""

from typing import Literal

from nesting.pack.bounds.sheet_cover import Offer, least_cost
from nesting.pack.model.problem import Problem
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.plan import Bound, SheetValue

#: Dual values become integers in these fractions of a sheet or, where sheets differ in cost and a
#: piece may need an expensive one, of the largest dual value.
_PARTS, _FINE_PARTS = 1_000_000, 10_000_000_000


def area_bound(problem: Problem, needed: int | None = None) -> Bound:
    """The least cost by area alone, as if a sheet could be cut to dust.

    ``needed`` is the area that any choice of what to cut takes, where there is one.
    """
    if needed is None:
        needed = sum(kind.area * kind.demand for kind in problem.kinds)
    areas = [width * height for width, height in problem.usable]
    return Bound(_least_cost(problem, areas, needed), _what_counts(problem), "area")


def _least_cost(problem: Problem, worths: list[int], needed: int) -> int:
    """The least cost of sheets that together hold the value needed, given what each supply holds.

    More sheets than pieces are never of use.
    """
    pieces = sum(problem.demand)
    offers = [
        Offer(supply.cost, worth, pieces if supply.count is None else min(supply.count, pieces))
        for supply, worth in zip(problem.supplies, worths, strict=True)
    ]
    return least_cost(offers, needed)


def whole_values(problem: Problem, duals: list[float]) -> list[int]:
    """Dual values as integers, rounded down."""
    parts: float = _PARTS
    if not problem.counts_sheets:
        parts = _FINE_PARTS / max(1e-9, *duals)
    return [int(dual * parts) for dual in duals]


def values_bound(problem: Problem, table: SheetTable, duals: list[float]) -> Bound:
    """The least cost by values of the pieces: integers close to the master's dual values.

    No sheet holds more value than the dynamic programme says, so the value of the whole demand
    divided by that is a bound, in integers throughout (Farley 1990; where sheets differ in cost,
    the cheapest sheets that hold enough). Leaves ``table`` filled with the values.
    """
    return bound_by(problem, table, whole_values(problem, duals))


def bound_by(
    problem: Problem, table: SheetTable, values: list[int], needed: int | None = None
) -> Bound:
    """The bound by one value per kind, with the most that each sheet holds by the dynamic programme.

    ``needed`` is the value that any choice of what to cut takes, where there is one.
    """
    table.fill(values)
    worths = [most_held(problem, table, number) for number in range(len(problem.supplies))]
    if needed is None:
        needed = sum(v * kind.demand for v, kind in zip(values, problem.kinds, strict=True))
    sizes: dict[tuple[int, int], int] = {}
    keys = [(supply.sheet.width, supply.sheet.height) for supply in problem.supplies]
    for key, worth in zip(keys, worths, strict=True):
        sizes[key] = max(worth, sizes.get(key, 0))  # an offcut as large as a whole sheet
    worths = [sizes[key] for key in keys]
    return Bound(
        value=_least_cost(problem, worths, needed),
        of=_what_counts(problem),
        by="values",
        sheet_values=tuple(SheetValue(w, h, value) for (w, h), value in sizes.items()),
        values={kind.piece: v for kind, v in zip(problem.kinds, values, strict=True)},
        cuts="stopped" if problem.stopped else "edge-to-edge",
    )


def most_held(problem: Problem, table: SheetTable, supply: int) -> int:
    """The most value that a sheet of a supply holds, by the values that the table is filled with."""
    size = problem.size_of(supply)
    return table.best(size.width, size.height)


def _what_counts(problem: Problem) -> Literal["sheets", "cost"]:
    return "sheets" if problem.counts_sheets else "cost"
