"""The same problem with something otherwise: its demand, its sheets, how its blanks may lie.

Kinds keep their numbers, so patterns of one problem are patterns of the other.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from nesting.pack.model.problem import Problem, Shape, SheetSize, row_axes
from nesting.papers import Sheet

#: By paper and sheet: how many covered middles pieces in the bags still have.
StillThere = Mapping[tuple[str, Sheet], int]


def with_demand(problem: Problem, demand: dict[str, int]) -> Problem:
    """The same problem with another demand, by piece id (0 for a piece that is not named)."""
    return problem.asking(demand.get(kind.piece, 0) for kind in problem.kinds)


def with_hosts(
    problem: Problem, hosts: Mapping[tuple[str | None, str], int], there: StillThere
) -> Problem:
    """The same problem with no more covered middles than hosts are cut, by card and layer.

    Those that are ``there`` need no host that is still to be cut.
    """
    supplied = []
    for supply in problem.supplies:
        windows = supply.sheet.windows
        if windows:
            most = sum(hosts.get((window.card, window.layer), 0) for window in windows)
            most += there.get((problem.paper.name, replace(supply.sheet, have=None)), 0)
            supplied.append(replace(supply, count=min(supply.count or 0, most)))
        else:
            supplied.append(supply)
    return replace(problem, supplies=tuple(supplied))


def without_middles(problem: Problem) -> Problem:
    """The same problem where no layer gives its covered middle."""
    return with_hosts(problem, {}, {})


def only_size(problem: Problem, number: int) -> Problem:
    """The same problem with an unlimited supply of one of its sheet sizes alone."""
    size = problem.sizes[number]
    supply = size.supplies[0]
    return replace(
        problem,
        supplies=(replace(problem.supplies[supply], count=None, cost=1),),
        sizes=(replace(size, supplies=(0,)),),
        usable=(problem.usable[supply],),
    )


def without_groups(problem: Problem) -> Problem:
    """The same problem with every circle in a blank of its own."""
    kinds = tuple(
        replace(kind, shapes=tuple(shape for shape in kind.shapes if shape.holds == 1))
        for kind in problem.kinds
    )
    return replace(problem, kinds=kinds)


def along_grain(problem: Problem) -> Problem | None:
    """The same problem with folds along the grain only; None where that changes nothing.

    A kind that fits no unlimited sheet that way keeps its shapes.
    """
    endless = [
        size
        for size in problem.sizes
        if any(problem.supplies[number].count is None for number in size.supplies)
    ]
    kinds = []
    for kind in problem.kinds:
        along = tuple(shape for shape in kind.shapes if _lies_along(problem, shape, endless))
        kinds.append(replace(kind, shapes=along or kind.shapes))
    changed = replace(problem, kinds=tuple(kinds))
    return None if changed == problem else changed


def always_across(problem: Problem) -> int:
    """How many folds run across the grain in any plan, because their pieces fit no other way."""
    return sum(
        kind.demand
        for kind in problem.kinds
        if not any(_lies_along(problem, shape, problem.sizes) for shape in kind.shapes)
    )


def _lies_along(problem: Problem, shape: Shape, sizes: Iterable[SheetSize]) -> bool:
    """Whether a blank with its fold along the grain can be cut from a sheet of one of these sizes."""
    return not shape.across_grain and any(
        row_axes(problem, shape, size.width, size.height) for size in sizes
    )
