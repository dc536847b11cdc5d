"""Bounds that carry their proof."""

from typing import Literal

import numpy as np

from nesting.arrays import Whole
from nesting.pack.bounds.sheet_cover import Offer, least_cost
from nesting.pack.model.deadline import stop_if_late
from nesting.pack.model.problem import Problem
from nesting.pack.one_sheet.value_table import SheetTable
from nesting.plan import Bound, SheetValue

#: Dual values become integers in these fractions of a sheet or, where sheets differ in cost and a
#: piece may need an expensive one, of the largest dual value.
_PARTS, _FINE_PARTS = 1_000_000, 10_000_000_000


def area_bound(problem: Problem) -> Bound:
    """The least cost by area alone, as if a sheet could be cut to dust."""
    needed = sum(kind.area * kind.demand for kind in problem.kinds)
    areas = [width * height for width, height in problem.usable]
    return Bound(_least_cost(problem, areas, needed), _of(problem), "area")


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


def bound_by(problem: Problem, table: SheetTable, values: list[int]) -> Bound:
    """The bound by one value per kind, with the most that each sheet holds by the dynamic programme."""
    table.fill(values)
    worths = [0] * len(problem.supplies)
    for size in problem.sizes:
        for number in size.supplies:
            worths[number] = table.best(size.width, size.height)
    total = sum(v * kind.demand for v, kind in zip(values, problem.kinds, strict=True))
    sizes: dict[tuple[int, int], int] = {}
    keys = [(supply.sheet.width, supply.sheet.height) for supply in problem.supplies]
    for key, worth in zip(keys, worths, strict=True):
        sizes[key] = max(worth, sizes.get(key, 0))  # an offcut as large as a whole sheet
    worths = [sizes[key] for key in keys]
    return Bound(
        value=_least_cost(problem, worths, total),
        of=_of(problem),
        by="values",
        sheet_values=tuple(SheetValue(w, h, value) for (w, h), value in sizes.items()),
        values={kind.piece: v for kind, v in zip(problem.kinds, values, strict=True)},
    )


def _of(problem: Problem) -> Literal["sheets", "cost"]:
    return "sheets" if problem.counts_sheets else "cost"


def length_values_bound(problem: Problem, table: SheetTable) -> Bound | None:
    """The strongest bound by values that are products of two dual feasible functions.

    A dual feasible function of lengths never makes what fits in a row worth more than the whole
    row; the product of two does the same for areas (Fekete and Schepers 2004). A piece that may
    turn is worth the smaller of its two products. Any pair gives a valid bound, as the dynamic
    programme proves it like any other values; so the best pair is chosen by the functions' own
    estimate, and only that pair is proven. None where the cost is not the number of sheets.

    Leaves ``table`` filled with the values.
    """
    if not problem.counts_sheets:
        return None
    size = problem.sizes[0]
    demand = np.array(problem.demand, dtype=np.int64)
    # The estimate knows of no groups; the proof of the pair chosen does.
    single = [[shape for shape in kind.shapes if shape.holds == 1] for kind in problem.kinds]
    ways = max(map(len, single))
    shapes = [[lying[min(w, len(lying) - 1)] for lying in single] for w in range(ways)]
    across = length_functions(size.width, [[s.width for s in way] for way in shapes])
    along = length_functions(size.height, [[s.height for s in way] for way in shapes])
    best: tuple[float, list[int]] | None = None
    for full_x, worth_x in across:
        stop_if_late()
        for full_y, worth_y in along:
            values = (worth_x * worth_y).min(axis=0)
            sheets = float(values @ demand) / (full_x * full_y)
            if best is None or sheets > best[0]:
                best = sheets, [int(value) for value in values]
    if best is None or not any(best[1]):
        return None
    return bound_by(problem, table, best[1])


def length_functions(full: int, lengths: list[list[int]]) -> list[tuple[int, Whole]]:
    """Dual feasible functions in integers: the value of the full length, and of each length.

    The identity; functions that let lengths beyond a threshold fill the row (Fekete and Schepers
    2004, section 3); functions that count multiples of a threshold, a half rounded up (Boschetti
    and Mingozzi 2003; Carlier, Clautiaux and Moukrim 2007).
    """
    each = np.array(lengths, dtype=np.int64)
    functions = [(full, each)]
    thresholds = np.unique(np.concatenate([each.ravel(), full - each.ravel() + 1]))
    for threshold in thresholds[(thresholds > 0) & (2 * thresholds <= full)]:
        step = int(threshold)
        filled = np.where(each > full - step, full, np.where(each < step, 0, each))
        functions.append((full, filled))
        counted = np.where(
            2 * each > full, 2 * (full // step - (full - each) // step), 2 * (each // step)
        )
        counted = np.where(2 * each == full, full // step, counted)
        functions.append((2 * (full // step), counted))
    kept: dict[bytes, tuple[int, Whole]] = {}
    for worth, values in functions:
        kept.setdefault(values.tobytes() + str(worth).encode(), (worth, values))
    return list(kept.values())
