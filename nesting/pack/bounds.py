"""Bounds that carry their proof."""

from fractions import Fraction
from math import ceil
from typing import Literal

from nesting.pack.problem import Problem
from nesting.pack.values import SheetTable
from nesting.plan import Bound, SheetValue

#: Dual values are turned into whole numbers of this many parts of a sheet's cost.
_PARTS = 1_000_000


def area_bound(problem: Problem) -> Bound:
    """The least cost by areas alone: cheapest usable area first, as if it could be cut to dust."""
    needed = sum(kind.area * kind.demand for kind in problem.kinds)
    offers = sorted(
        (Fraction(supply.cost, width * height), width * height, supply.count)
        for supply, (width, height) in zip(problem.supplies, problem.usable, strict=True)
        if supply.count is not None
    )
    endless = min(
        Fraction(supply.cost, width * height)
        for supply, (width, height) in zip(problem.supplies, problem.usable, strict=True)
        if supply.count is None
    )
    cost = Fraction(0)
    for rate, area, count in offers:
        if rate >= endless or not needed:
            break
        used = min(needed, area * (count or 0))
        cost += used * rate
        needed -= used
    return Bound(ceil(cost + needed * endless), _of(problem), "area")


def whole_values(problem: Problem, duals: list[float]) -> list[int]:
    """Dual values as whole numbers, in parts of the dearest sheet's cost, rounded down."""
    return [int(dual * _parts(problem)) for dual in duals]


def _parts(problem: Problem) -> float:
    """How many whole numbers stand for a cost of one."""
    return _PARTS / max(1, *(supply.cost for supply in problem.supplies))


def values_bound(problem: Problem, table: SheetTable, duals: list[float]) -> Bound:
    """The least cost by values of the pieces: whole numbers close to the master's duals.

    No sheet holds more value than the dynamic programme says, so the demand's value divided by
    it is a bound, in whole numbers throughout (Farley 1990). ``table`` is left filled with the
    values.
    """
    values = whole_values(problem, duals)
    table.fill(values)
    most = {
        number: table.best(size.width, size.height)
        for size in problem.sizes
        for number in size.supplies
    }
    endless = [s for s, supply in enumerate(problem.supplies) if supply.count is None]
    scale = max((_over(most[s], problem.supplies[s].cost) for s in endless), default=1)
    limited = [s for s, supply in enumerate(problem.supplies) if supply.count is not None]
    if limited:
        scale = max(scale, int(_parts(problem)))
    return _bound(problem, values, most, max(1, scale))


def _bound(problem: Problem, values: list[int], most: dict[int, int], scale: int) -> Bound:
    total = sum(v * kind.demand for v, kind in zip(values, problem.kinds, strict=True))
    for number, supply in enumerate(problem.supplies):
        if supply.count is not None:
            total -= supply.count * max(0, most[number] - scale * supply.cost)
        elif most[number] > scale * supply.cost:
            return Bound(0, _of(problem), "area")  # sheets without limit at no cost: nothing holds
    sizes: dict[tuple[int, int], int] = {}
    for number, supply in enumerate(problem.supplies):
        key = supply.sheet.width, supply.sheet.height
        sizes[key] = max(most[number], sizes.get(key, 0))  # an offcut as large as a whole sheet
    return Bound(
        value=max(0, -(-total // scale)),
        of=_of(problem),
        by="values",
        scale=scale,
        sheet_values=tuple(SheetValue(w, h, value) for (w, h), value in sizes.items()),
        values={kind.piece: v for kind, v in zip(problem.kinds, values, strict=True)},
    )


def _over(value: int, cost: int) -> int:
    """Value per cost, rounded up; a sheet that costs nothing sets no scale."""
    return -(-value // cost) if cost else 0


def _of(problem: Problem) -> Literal["sheets", "cost"]:
    return "sheets" if problem.counts_sheets else "cost"
