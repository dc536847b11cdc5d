"""The master problem: how often to use each column. Solved by HiGHS."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from nesting.pack.lp.highs import run_in_time, silent_highs
from nesting.pack.model.columns import Column, Used, meets
from nesting.pack.model.problem import Problem

#: With more columns HiGHS would spend minutes on heuristics before its first node.
_MANY = 2_000
#: The node limit for HiGHS where plans of the same cost differ in what is unwanted.
_FEW_NODES = 5
#: How far HiGHS may be from the true reduced cost.
_ALMOST = 1e-6


class Relaxed(NamedTuple):
    """The least cost, how often each column is used, and the dual value of each kind.

    Cost and values are in units of the cheapest sheet's cost.
    """

    cost: float
    uses: list[float]
    duals: list[float]


class Relaxation:
    """The linear relaxation of the master over a growing set of columns; it gives the dual values.

    Minimise the cost of the sheets so that every demand is met and no limited supply exceeded
    (Gilmore and Gomory 1961).
    """

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self._highs = silent_highs()
        infinity = self._highs.inf
        for kind in problem.kinds:
            self._highs.addRow(float(kind.demand), infinity, 0, [], [])
        self._limited = [s for s, supply in enumerate(problem.supplies) if supply.count is not None]
        for supply in self._limited:
            count = problem.supplies[supply].count
            self._highs.addRow(-infinity, float(count or 0), 0, [], [])
        self._columns = 0

    def ask(self, demand: Sequence[int]) -> None:
        """Ask for another demand from now on."""
        for kind, number in enumerate(demand):
            self._highs.changeRowBounds(kind, float(number), self._highs.inf)

    def extend(self, columns: list[Column]) -> None:
        """Add the columns that it does not have yet."""
        for column in columns[self._columns :]:
            rows = [kind for kind, count in enumerate(column.counts) if count]
            entries = [float(column.counts[kind]) for kind in rows]
            if column.supply in self._limited:
                rows.append(len(self._problem.kinds) + self._limited.index(column.supply))
                entries.append(1.0)
            cost = self._problem.supplies[column.supply].cost / cheapest(self._problem)
            self._highs.addCol(cost, 0.0, self._highs.inf, len(rows), rows, entries)
        self._columns = len(columns)

    def solve(self) -> Relaxed | None:
        """Solve it; None where HiGHS reports no optimum: then nothing it says is used."""
        import highspy

        run_in_time(self._highs)
        if self._highs.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None
        solution = self._highs.getSolution()
        duals = [max(0.0, dual) for dual in solution.row_dual[: len(self._problem.kinds)]]
        cost = self._highs.getInfo().objective_function_value
        return Relaxed(cost, list(solution.col_value), duals)

    def within(self, columns: list[Column], cost: int) -> list[Column]:
        """Those of the columns solved last that a plan of this cost can contain.

        The reduced cost of none exceeds what the plan may cost more than the relaxation (reduced-cost
        fixing).
        """
        spare = cost / cheapest(self._problem) - self._highs.getInfo().objective_function_value
        reduced = self._highs.getSolution().col_dual
        return [c for c, more in zip(columns, reduced, strict=True) if more <= spare + _ALMOST]


def cheapest(problem: Problem) -> int:
    """The least positive cost of a sheet: HiGHS gets costs as multiples of it, to keep them small."""
    return min((supply.cost for supply in problem.supplies if supply.cost), default=1)


@dataclass(frozen=True, slots=True)
class Choice:
    """A plan in whole sheets; None where nothing was found within the limits.

    Only ``impossible`` says that there is no solution: a limit or an error of HiGHS proves nothing.
    """

    plan: tuple[Used, ...] | None
    impossible: bool = False


def choose_columns(
    problem: Problem,
    columns: list[Column],
    least: int,
    *,
    most: int | None = None,
    nodes: int = 200,
) -> Choice:
    """Find how often to use each column, in whole numbers, at least cost.

    Parameters
    ----------
    least
        A proven bound on the cost: the search ends when it is reached.
    most
        The cost may not be more; None for no such limit.
    nodes
        How many nodes of the branch-and-bound tree HiGHS may look at.
    """
    if not columns:
        return Choice(None, impossible=True)
    unit = cheapest(problem)
    costs = [problem.supplies[column.supply].cost / unit for column in columns]
    if most == least:  # any plan will do: without an objective HiGHS is several times quicker
        costs = [0.0] * len(columns)
    highs = _whole_numbers(problem, columns, costs, least, most)
    highs.setOptionValue("mip_max_nodes", nodes)
    highs.setOptionValue("mip_max_stall_nodes", nodes)
    highs.setOptionValue("objective_target", least / unit)
    highs.setOptionValue("mip_abs_gap", 0.999 / unit)
    highs.setOptionValue("mip_rel_gap", 0.0)
    if len(columns) > _MANY:
        highs.setOptionValue("mip_heuristic_effort", 0.0)
    return _chosen(highs, problem, columns)


def choose_few(
    problem: Problem, columns: list[Column], unwanted: list[int], least: int, most: int
) -> Choice:
    """Choose columns with little that is unwanted, at a cost between ``least`` and ``most``."""
    highs = _whole_numbers(problem, columns, list(map(float, unwanted)), least, most)
    highs.setOptionValue("mip_max_nodes", _FEW_NODES)
    highs.setOptionValue("mip_max_stall_nodes", _FEW_NODES)
    highs.setOptionValue("mip_abs_gap", 0.999)
    return _chosen(highs, problem, columns)


def _whole_numbers(
    problem: Problem, columns: list[Column], objective: list[float], least: int, most: int | None
) -> Any:
    """The integer programme: demands met, supplies not exceeded, cost within two limits."""
    import highspy

    highs = silent_highs()
    # It takes half the time of such small programmes and finds nothing that diving does not.
    highs.setOptionValue("mip_heuristic_run_feasibility_jump", False)
    infinity = highs.inf
    for weight in objective:
        highs.addCol(weight, 0.0, infinity, 0, [], [])
    every = np.arange(len(columns), dtype=np.int32)
    highs.changeColsIntegrality(
        len(columns), every, np.full(len(columns), highspy.HighsVarType.kInteger)
    )
    matrix = np.array([column.counts for column in columns], dtype=float).T
    for kind, row in zip(problem.kinds, matrix, strict=True):
        used = np.flatnonzero(row)
        highs.addRow(float(kind.demand), infinity, len(used), used.astype(np.int32), row[used])
    unit = cheapest(problem)
    costs = np.array([problem.supplies[column.supply].cost / unit for column in columns])
    highest = infinity if most is None else most / unit
    highs.addRow(least / unit, highest, len(every), every, costs)
    for number, supply in enumerate(problem.supplies):
        if supply.count is not None:
            used = np.array(
                [c for c, col in enumerate(columns) if col.supply == number], dtype=np.int32
            )
            highs.addRow(-infinity, float(supply.count), len(used), used, np.ones(len(used)))
    return highs


def _chosen(highs: Any, problem: Problem, columns: list[Column]) -> Choice:
    """Run HiGHS and check its answer."""
    import highspy

    run_in_time(highs)
    if highs.getModelStatus() == highspy.HighsModelStatus.kInfeasible:
        return Choice(None, impossible=True)
    if highs.getInfo().primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return Choice(None)
    values = list(highs.getSolution().col_value)[: len(columns)]
    plan = tuple(
        Used(column, round(value))
        for column, value in zip(columns, values, strict=True)
        if round(value) > 0
    )
    return Choice(plan if _is_feasible(problem, plan) else None)


def _is_feasible(problem: Problem, plan: tuple[Used, ...]) -> bool:
    """Whether a plan meets demand and supplies in integers: HiGHS works in floats."""
    if not meets(plan, problem.demand):
        return False
    for number, supply in enumerate(problem.supplies):
        taken = sum(used.count for used in plan if used.column.supply == number)
        if supply.count is not None and taken > supply.count:
            return False
    return True
