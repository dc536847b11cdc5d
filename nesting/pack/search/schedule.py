"""Which stages are tried for one paper, in which order, and why: one table and one scheduler."""

from collections.abc import Callable
from contextlib import suppress
from itertools import count
from typing import NamedTuple

from nesting.pack.model.deadline import TimeIsUpError, is_late
from nesting.pack.model.pauses import STEP, Pauses, so_many
from nesting.pack.search.compiling import NEEDED, loops_for
from nesting.pack.search.incumbent import Search
from nesting.pack.search.stages import (
    Stages,
    few_blanks,
    few_of_each,
    few_sheets,
    many_blanks,
    many_kinds,
    may_dive,
    no_table,
    nothing_over,
    slow_pricing,
    stops,
)

Stage = Callable[[Stages], Pauses]
Condition = Callable[[Search], bool]


class StageTurn(NamedTuple):
    """How many steps a stage makes in one turn, and ``when`` it takes part.

    ``for_each_sheet`` multiplies the steps by the number of sheets: the more there are, the longer
    the steps of the other stages take.
    """

    stage: Stage
    steps: int
    when: Condition | None = None
    for_each_sheet: bool = False


class Phase(NamedTuple):
    """Stages that take turns until the first of them ends, and for no more than ``cycles`` cycles."""

    when: Condition
    turns: tuple[StageTurn, ...]
    cycles: int | None = None


_TREES = StageTurn(Stages.tree_recreation, 20, few_of_each)
_EARLY_TREES = StageTurn(Stages.tree_recreation, 20, slow_pricing)
_MOSTLY_TREES = StageTurn(Stages.tree_recreation, 400, many_kinds)
_MANY_KINDS = (_MOSTLY_TREES, StageTurn(Stages.near_full_first, 1_600, many_kinds))
_LONG_TREES = StageTurn(Stages.tree_recreation, 8, for_each_sheet=True)
_DIVES = StageTurn(Stages.dives, 30, may_dive)
_NEAR_FULL = StageTurn(Stages.near_full_first, 480)
_FULL = StageTurn(Stages.full_sheets_first, 160, nothing_over)
_RESIDUAL = StageTurn(Stages.residual_recreation, 100)
_BESIDE_PROOFS = (_LONG_TREES, _MOSTLY_TREES, _DIVES, _NEAR_FULL, _FULL)
_PERTURBED = StageTurn(Stages.perturbed_columns, 2)

#: So many cycles that only the limit, or a proof, ends them.
_TO_THE_LIMIT = 1 << 60
#: The order of the search: a paper passes through the phases that suit it.
SCHEDULE: tuple[Phase, ...] = (
    # Where the table would be too large, only greedy filling is quick enough.
    Phase(no_table, (StageTurn(Stages.greedy_fillings, 1),)),
    # Where nothing may be left over, few other plans come into question, or none.
    Phase(nothing_over, (StageTurn(Stages.full_sheets_first, 200),), cycles=1),
    # Few blanks: what needs no compiled loop first, then plans and proofs side by side.
    Phase(slow_pricing, (StageTurn(Stages.tree_recreation, 100),), cycles=1),
    Phase(few_blanks, (StageTurn(Stages.column_generation, 1), _EARLY_TREES, *_MANY_KINDS)),
    Phase(few_blanks, (StageTurn(Stages.residual_repacking, 1), _EARLY_TREES, *_MANY_KINDS)),
    Phase(few_of_each, (StageTurn(Stages.tree_recreation, 100),), cycles=1),
    Phase(few_blanks, (StageTurn(Stages.short_enumeration, 1), _TREES, *_MANY_KINDS)),
    Phase(
        few_sheets,
        (StageTurn(Stages.tree_recreation, 1), StageTurn(Stages.near_full_first, 4)),
        cycles=200,
    ),
    Phase(few_blanks, (StageTurn(Stages.proper_columns, 10), *_BESIDE_PROOFS)),
    Phase(few_blanks, (StageTurn(Stages.long_enumeration, 1), *_BESIDE_PROOFS)),
    Phase(few_blanks, (_LONG_TREES, _DIVES, _NEAR_FULL, _FULL), _TO_THE_LIMIT),
    # Many blanks: column generation, which nearly gives a plan, then the residual problem.
    Phase(many_blanks, (StageTurn(Stages.column_generation, 1),)),
    Phase(many_blanks, (StageTurn(Stages.residual_repacking, 1),)),
    Phase(many_blanks, (_PERTURBED,), cycles=2),
    Phase(many_blanks, (StageTurn(Stages.short_enumeration, 1),)),
    Phase(many_blanks, (_RESIDUAL, _PERTURBED, _FULL), cycles=2),
    Phase(many_blanks, (StageTurn(Stages.proper_columns, 1),)),
    Phase(many_blanks, (StageTurn(Stages.long_enumeration, 1),)),
    Phase(many_blanks, (_RESIDUAL, _PERTURBED, _FULL), _TO_THE_LIMIT),
)

#: With stopped cuts: what knows of them, by the dynamic programme alone.
_STOPPED: tuple[Phase, ...] = (
    Phase(stops, (StageTurn(Stages.column_generation, 1),)),
    Phase(stops, (StageTurn(Stages.residual_repacking, 1),)),
    Phase(stops, (_PERTURBED, StageTurn(Stages.corrected_values, 2, few_of_each)), cycles=8),
)


def improve(search: Search) -> Pauses:
    """Improve plan and bound, a step at a time, until they meet or it is late."""
    with suppress(TimeIsUpError):
        for pause in _scheduled(search):
            if pause is STEP:
                search.count_step()
            yield pause
            if search.proven or is_late():
                return


def _scheduled(search: Search) -> Pauses:
    """The steps of all phases in order; a stage continues where its last turn ended."""
    yield STEP
    stages = Stages(search)
    begun: dict[Stage, Pauses] = {}
    for phase in _STOPPED if stops(search) else SCHEDULE:
        if phase.when(search):
            yield from _take_turns(phase, stages, begun)


def _take_turns(phase: Phase, stages: Stages, begun: dict[Stage, Pauses]) -> Pauses:
    """The steps of one phase."""
    search, leader = stages.search, phase.turns[0].stage
    turns = [turn for turn in phase.turns if turn.when is None or turn.when(search)]
    for _ in count() if phase.cycles is None else range(phase.cycles):
        for turn in turns:
            if turn.stage in NEEDED:
                yield from loops_for(NEEDED[turn.stage])
            steps = begun.setdefault(turn.stage, turn.stage(stages))
            most = turn.steps * search.cost if turn.for_each_sheet else turn.steps
            ended = yield from so_many(steps, most)
            if ended and turn.stage is leader:
                return
