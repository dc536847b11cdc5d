"""What is tried for one paper, in which order, and why: one table, and one scheduler."""

from collections.abc import Callable
from contextlib import suppress
from itertools import count
from typing import NamedTuple

from nesting.pack.bounds.dual_bounds import bound_by
from nesting.pack.model.deadline import TimeIsUpError, is_late
from nesting.pack.model.pauses import STEP, Pauses, so_many
from nesting.pack.model.problem import without_groups
from nesting.pack.search.incumbent import Search
from nesting.pack.search.stages import (
    Stages,
    always,
    few_blanks,
    few_of_each,
    few_sheets,
    many_blanks,
    no_table,
)

Stage = Callable[[Stages], Pauses]
Condition = Callable[[Search], bool]

#: How many rounds circles are laid one by one before groups are tried, and between later tries.
_ROUNDS_ALONE = 40


def single_circles(stages: Stages) -> Pauses:
    """Circles in blanks of their own: quick, and mostly no group saves a sheet.

    The plan is one of this problem, too, but the bound is not: groups may beat it. So the values
    that it was found with are proven again where the sheet's table knows of groups, after each
    ``_ROUNDS_ALONE`` rounds. Nothing where there are no groups.
    """
    search = stages.search
    if not search.problem.has_groups:
        return
    alone = Search(without_groups(search.problem), search.seed, search.best)
    steps = improve(alone)
    while not alone.proven:
        for pause in so_many(steps, _ROUNDS_ALONE):
            if alone.cost < search.cost:
                search.offer(search.taken(alone.best))
            yield pause
        if alone.values_bound is not None:
            values = [alone.values_bound.values[kind.piece] for kind in search.problem.kinds]
            search.offer_bound(bound_by(search.problem, stages.table, values))
        yield STEP


class StageTurn(NamedTuple):
    """So many steps of a stage at a time, ``when`` it is worth it; or so many for each sheet.

    The more sheets there are, the longer take the steps of the stages beside it.
    """

    stage: Stage
    steps: int
    when: Condition | None = None
    for_each_sheet: bool = False


class Phase(NamedTuple):
    """Stages that take turns: until the first of them ends, or for so many cycles."""

    when: Condition
    turns: tuple[StageTurn, ...]
    cycles: int | None = None


_TREES = StageTurn(Stages.tree_recreation, 20, few_of_each)
_LONG_TREES = StageTurn(Stages.tree_recreation, 8, for_each_sheet=True)
_NEAR_FULL = StageTurn(Stages.near_full_first, 160)
_CIRCLES = StageTurn(single_circles, _ROUNDS_ALONE + 1)
_RESIDUAL = StageTurn(Stages.residual_recreation, 100)

#: The order of the search: a paper passes through the phases that suit it.
SCHEDULE: tuple[Phase, ...] = (
    # Without a table nothing but greedy fillings is quick enough.
    Phase(no_table, (StageTurn(Stages.greedy_fillings, 1),)),
    Phase(always, (_CIRCLES,), cycles=1),
    # Few blanks: bounds that come at once, then plans and proofs beside one another.
    Phase(few_blanks, (StageTurn(Stages.dual_feasible_functions, 1),)),
    Phase(few_of_each, (StageTurn(Stages.tree_recreation, 100),), cycles=1),
    Phase(few_blanks, (StageTurn(Stages.column_generation, 1), _TREES)),
    Phase(few_blanks, (StageTurn(Stages.residual_repacking, 1), _TREES)),
    Phase(few_blanks, (StageTurn(Stages.short_enumeration, 1), _TREES)),
    Phase(
        few_sheets,
        (StageTurn(Stages.tree_recreation, 1), StageTurn(Stages.near_full_first, 4)),
        cycles=200,
    ),
    Phase(few_blanks, (StageTurn(Stages.proper_columns, 1), _LONG_TREES, _NEAR_FULL)),
    Phase(few_blanks, (StageTurn(Stages.long_enumeration, 1), _LONG_TREES, _NEAR_FULL)),
    Phase(few_blanks, (_LONG_TREES, _NEAR_FULL)),
    # Many blanks: column generation, whose patterns are nearly a plan, then what is left of it.
    Phase(many_blanks, (StageTurn(Stages.column_generation, 1),)),
    Phase(many_blanks, (StageTurn(Stages.dual_feasible_functions, 1),)),
    Phase(many_blanks, (StageTurn(Stages.residual_repacking, 1),)),
    Phase(many_blanks, (StageTurn(Stages.short_enumeration, 1),)),
    Phase(many_blanks, (StageTurn(Stages.perturbed_columns, 2), _CIRCLES), cycles=2),
    Phase(many_blanks, (_RESIDUAL, StageTurn(Stages.perturbed_columns, 2), _CIRCLES), cycles=1),
    Phase(many_blanks, (StageTurn(Stages.proper_columns, 1),)),
    Phase(many_blanks, (StageTurn(Stages.long_enumeration, 1),)),
    Phase(many_blanks, (_RESIDUAL, StageTurn(Stages.perturbed_columns, 2), _CIRCLES)),
)


def improve(search: Search) -> Pauses:
    """Make the plan and the bound better, a step at a time, until they meet or it is late."""
    with suppress(TimeIsUpError):
        for pause in _scheduled(search):
            if pause is STEP:
                search.count_step()
            yield pause
            if search.proven or is_late():
                return


def _scheduled(search: Search) -> Pauses:
    """The steps of all phases in order; each stage goes on where its last turn ended."""
    yield STEP
    stages = Stages(search)
    begun: dict[Stage, Pauses] = {}
    for phase in SCHEDULE:
        if phase.when(search):
            yield from _take_turns(phase, stages, begun)


def _take_turns(phase: Phase, stages: Stages, begun: dict[Stage, Pauses]) -> Pauses:
    """The steps of one phase."""
    search, leader = stages.search, phase.turns[0].stage
    turns = [turn for turn in phase.turns if turn.when is None or turn.when(search)]
    for _ in count() if phase.cycles is None else range(phase.cycles):
        for turn in turns:
            steps = begun.setdefault(turn.stage, turn.stage(stages))
            most = turn.steps * search.cost if turn.for_each_sheet else turn.steps
            ended = yield from so_many(steps, most)
            if ended and turn.stage is leader:
                return
