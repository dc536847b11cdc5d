"""What ends a search: small picklable callables on its state."""

from dataclasses import dataclass
from math import inf
from typing import Protocol


@dataclass(frozen=True, slots=True)
class State:
    """How far the search for one paper has come.

    ``elapsed`` is in seconds since ``solve`` was called; ``rounds`` counts the paper's steps,
    ``since_gain`` those since its plan or bound last improved. ``best`` is the cost of the plan,
    ``bound`` the proven least cost, ``sheets`` the number of whole sheets in the plan.
    """

    elapsed: float
    rounds: int
    since_gain: int
    best: int
    bound: int
    sheets: int


class Limit(Protocol):
    """Says of a state whether the search ends here."""

    def __call__(self, state: State, /) -> bool:
        """Whether to end."""


@dataclass(frozen=True, slots=True)
class Seconds:
    """End after some seconds; the plan then depends on the machine."""

    seconds: float

    def __call__(self, state: State, /) -> bool:
        """Whether the time is up."""
        return state.elapsed >= self.seconds


@dataclass(frozen=True, slots=True)
class Rounds:
    """End after some rounds of each paper; the same rounds give the same plan."""

    rounds: int

    def __call__(self, state: State, /) -> bool:
        """Whether the paper has had its rounds."""
        return state.rounds >= self.rounds


@dataclass(frozen=True, slots=True)
class NoGain:
    """End after some rounds in which neither plan nor bound improved."""

    rounds: int

    def __call__(self, state: State, /) -> bool:
        """Whether nothing has improved for that long."""
        return state.since_gain >= self.rounds


@dataclass(frozen=True, slots=True)
class FirstOf:
    """End at the first limit that says so."""

    limits: tuple[Limit, ...]

    def __call__(self, state: State, /) -> bool:
        """Whether one of them ends the search."""
        return any(limit(state) for limit in self.limits)


def seconds_of(limit: Limit) -> float:
    """How many seconds a limit allows at most; infinite where it has no ``Seconds``."""
    match limit:
        case Seconds(seconds):
            return seconds
        case FirstOf(limits):
            return min(map(seconds_of, limits), default=inf)
    return inf


#: What ends a search that is given no limit of its own: the same plan on every machine.
DEFAULT_LIMIT: Limit = FirstOf((Rounds(1200), NoGain(240)))
#: The same for somebody who waits for the answer.
WITHIN_A_MINUTE: Limit = FirstOf((DEFAULT_LIMIT, Seconds(60)))
