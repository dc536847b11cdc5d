"""What ends a search, and what is left when it is cut short."""

import pickle
from dataclasses import replace
from itertools import pairwise
from random import Random

import pytest
from pack_cases import Case, asked, sheet_batch, solved

from nesting.batch import Batch
from nesting.checker import check
from nesting.pack import DEFAULT_LIMIT, FirstOf, Limit, NoGain, Rounds, Seconds, State, solve
from nesting.papers import Turn

NEVER: Turn = "never"


def open_batch(seed: int = 1) -> Batch:
    """Fourteen sizes without a common measure, a few of each: the search has much to do."""
    rng = Random(seed)
    pieces = [
        (rng.randint(15, 50), rng.randint(15, 50), rng.randint(1, 3), NEVER) for _ in range(14)
    ]
    return Case(((100, 100, None),), tuple(pieces)).batch()


OPEN = open_batch()
LIMITS = [Rounds(3), Seconds(0.5), NoGain(2), FirstOf((Rounds(9), Seconds(2)))]


class Watch:
    """A report that keeps what it is told, and interrupts after some rounds."""

    def __init__(self, interrupt_after: int | None = None) -> None:
        self.told: list[tuple[str, State]] = []
        self._interrupt_after = interrupt_after

    def __call__(self, paper: str, state: State) -> None:
        """Keep a state."""
        self.told.append((paper, state))
        if len(self.told) == self._interrupt_after:
            raise KeyboardInterrupt


def at(*, elapsed: float = 0.0, rounds: int = 0, since_gain: int = 0) -> State:
    """A state with nothing proven."""
    return State(elapsed, rounds, since_gain, best=5, bound=4, sheets=5)


@pytest.mark.parametrize("limit", [*LIMITS, DEFAULT_LIMIT])
def test_limits_can_be_sent_to_another_process(limit: Limit) -> None:
    """A limit comes out of a pickle as it went in."""
    assert pickle.loads(pickle.dumps(limit)) == limit  # noqa: S301 - our own bytes


@pytest.mark.parametrize(
    ("limit", "before", "then"),
    [
        (Rounds(3), at(rounds=2, since_gain=2, elapsed=9), at(rounds=3)),
        (NoGain(2), at(rounds=9, since_gain=1, elapsed=9), at(rounds=9, since_gain=2)),
        (Seconds(0.5), at(elapsed=0.4, rounds=9, since_gain=9), at(elapsed=0.5)),
        (FirstOf((Rounds(9), NoGain(2))), at(rounds=8, since_gain=1), at(since_gain=2)),
        (FirstOf((Rounds(9), NoGain(2))), at(rounds=8, since_gain=1), at(rounds=9)),
    ],
)
def test_limits_end_where_they_say(limit: Limit, before: State, then: State) -> None:
    """Each limit looks at its own figure, and ends at it, not before."""
    assert not limit(before)
    assert limit(then)


def test_rounds_end_the_search() -> None:
    """An open batch has as many rounds as it may, and the plan says that a limit ended it."""
    watch = Watch()
    plan = solve(OPEN, Rounds(1), report=watch)
    assert [state.rounds for _, state in watch.told] == [1]
    assert plan.ended == "limit"
    assert not plan.papers[0].proven
    assert check(plan.asked, plan) == ()


def test_no_gain_ends_the_search() -> None:
    """The search ends when nothing has got better for so many rounds."""
    watch = Watch()
    solve(OPEN, NoGain(2), report=watch)
    assert watch.told[-1][1].since_gain == 2
    assert all(state.since_gain < 2 for _, state in watch.told[:-1])


def test_no_seconds_end_the_search_at_once() -> None:
    """Without any time there is still the quick plan."""
    plan = solved(OPEN, Seconds(0))
    assert plan.ended == "limit"
    assert not plan.uncut


def test_a_proven_plan_ends_by_itself() -> None:
    """Where the plan meets its bound no limit is needed, and every figure says so."""
    plan = solved(sheet_batch("12 x 12", asked("4 x 5 1/4", 24)), NoGain(1000))
    assert plan.ended == "proven"
    assert plan.papers[0].proven
    assert plan.papers[0].bound.value == plan.papers[0].needed == 4


def test_states_never_get_worse() -> None:
    """From round to round the plan gets no dearer and the bound no lower; the bound stays below."""
    watch = Watch()
    solve(OPEN, Rounds(40), report=watch)
    states = [state for _, state in watch.told]
    assert len(states) > 2
    for before, after in pairwise(states):
        assert after.rounds == before.rounds + 1
        assert before.best >= after.best >= after.bound >= before.bound


@pytest.mark.parametrize("rounds", [1, 2, 5])
def test_ctrl_c_leaves_a_plan(rounds: int) -> None:
    """Interrupted after some rounds, the plan is sound, cuts everything, and says how it ended."""
    plan = solve(OPEN, NoGain(1000), report=Watch(rounds))
    assert plan.ended == "interrupted"
    assert not plan.uncut
    assert check(plan.asked, plan) == ()


def test_ctrl_c_leaves_a_plan_where_paper_is_short() -> None:
    """Interrupted with too little paper, the plan is sound and lists what is not cut."""
    (paper,) = OPEN.papers
    scarce = replace(paper, sheets=(replace(paper.sheets[0], have=2),), buy=False)
    short = replace(OPEN, papers=(scarce,))
    plan = solve(short, NoGain(1000), report=Watch(1))
    assert plan.ended == "interrupted"
    assert plan.uncut
    assert plan.papers[0].used <= 2
    assert check(plan.asked, plan) == ()


def test_papers_take_turns() -> None:
    """Each paper has a round in turn, so that all get better together."""
    names = ("pear toss", "bee stripe")
    papers = tuple(replace(OPEN.papers[0], name=name) for name in names)
    pieces = tuple(replace(piece, paper=name) for name in names for piece in OPEN.pieces)
    watch = Watch()
    solve(replace(OPEN, papers=papers, pieces=pieces), Rounds(3), report=watch)
    assert [name for name, _ in watch.told[:4]] == [*names, *names]
