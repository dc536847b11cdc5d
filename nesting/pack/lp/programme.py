"""A small linear or integer programme, built by columns and rows and solved by HiGHS."""

from dataclasses import dataclass, field
from math import inf

import numpy as np

from nesting.pack.lp.highs import run_in_time, silent_highs


@dataclass(frozen=True, slots=True)
class Outcome:
    """What HiGHS reports: the values of the columns, the duals of the rows.

    ``values`` is None where nothing was found within the limits; only ``impossible`` says that
    there is no solution. ``optimal`` says that no solution is better.
    """

    values: list[float] | None
    duals: list[float]
    optimal: bool
    impossible: bool


@dataclass(slots=True)
class Programme:
    """Columns and rows so far; the cost is minimised."""

    costs: list[float] = field(default_factory=list)
    ranges: list[tuple[float, float]] = field(default_factory=list)
    whole: list[int] = field(default_factory=list)
    rows: list[tuple[float, float, dict[int, float]]] = field(default_factory=list)

    def column(
        self, cost: float = 0.0, low: float = 0.0, high: float = inf, *, whole: bool = False
    ) -> int:
        """Add a column and return its number."""
        number = len(self.costs)
        self.costs.append(cost)
        self.ranges.append((low, high))
        if whole:
            self.whole.append(number)
        return number

    def row(self, entries: dict[int, float], low: float = -inf, high: float = inf) -> int:
        """Add a row, by its entries in the columns, and return its number."""
        self.rows.append((low, high, entries))
        return len(self.rows) - 1

    def solve(self, nodes: int | None = None) -> Outcome:
        """Run HiGHS, with a limit on the nodes of its search tree."""
        import highspy

        highs = silent_highs()
        for cost, (low, high) in zip(self.costs, self.ranges, strict=True):
            highs.addCol(cost, low, high, 0, [], [])
        for low, high, entries in self.rows:
            columns = np.array(list(entries), dtype=np.int32)
            highs.addRow(low, high, len(entries), columns, np.array(list(entries.values())))
        if self.whole:
            whole = np.array(self.whole, dtype=np.int32)
            kinds = np.full(len(whole), highspy.HighsVarType.kInteger)
            highs.changeColsIntegrality(len(whole), whole, kinds)
            highs.setOptionValue("mip_rel_gap", 0.0)
        if nodes is not None:
            highs.setOptionValue("mip_max_nodes", nodes)
            highs.setOptionValue("mip_max_stall_nodes", nodes)
        run_in_time(highs)
        status = highs.getModelStatus()
        found = (
            highs.getInfo().primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
        )
        solution = highs.getSolution()
        return Outcome(
            values=list(solution.col_value) if found else None,
            duals=list(solution.row_dual),
            optimal=status == highspy.HighsModelStatus.kOptimal,
            impossible=status == highspy.HighsModelStatus.kInfeasible,
        )
