"""The moment by which work has to end: what may take long checks it and gives up when late.

Where no time limit is set there is no such moment, and no clock changes any answer.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from math import inf
from time import monotonic
from typing import TypeVar

_Answer = TypeVar("_Answer")
#: How many seconds after the end of its time the last part of some work may take.
_BEYOND = 0.5

#: Set within ``until``: needed deep down in the calls, and of no concern to those in between.
_MOMENT: ContextVar[float] = ContextVar("moment", default=inf)


class TimeIsUpError(Exception):
    """It is late: nobody waits for this result any longer."""


@contextmanager
def until(moment: float) -> Iterator[None]:
    """Have the work inside end at a moment of the clock, or earlier if it already had to."""
    token = _MOMENT.set(min(moment, _MOMENT.get()))
    try:
        yield
    finally:
        _MOMENT.reset(token)


@contextmanager
def within(share: float, kept: float | None = None) -> Iterator[None]:
    """Have the work inside end after a share of the seconds left.

    No more than ``kept`` seconds are kept back for what comes after it.
    """
    now, left = monotonic(), seconds_left()
    with until(now + (share * left if kept is None else max(share * left, left - kept))):
        yield


def seconds_left() -> float:
    """How many seconds are left; infinite where there is no time limit."""
    moment = _MOMENT.get()
    return inf if moment == inf else moment - monotonic()


def is_late() -> bool:
    """Whether the moment has come."""
    return seconds_left() <= 0


def stop_if_late() -> None:
    """Give up the current work if the moment has come.

    Raises
    ------
    TimeIsUpError
        It has.
    """
    if is_late():
        raise TimeIsUpError


class Timetable:
    """By when each part of some work is done, as a share of its ``seconds`` from now on.

    A share of more than 1 is for what has to be done all the same when the time is over: it takes half
    a second beyond that at most.

    Ctrl-C brings all moments forward to now: the part that it comes in, and those after it, are done
    in the quickest way. Another Ctrl-C ends all.
    """

    def __init__(self, seconds: float) -> None:
        self.start = monotonic()
        self.interrupted = False
        self._seconds = seconds

    def run(self, share: float, work: Callable[[], _Answer], kept: float = 0.0) -> _Answer:
        """Do a part of the work by its share of the time, less the seconds ``kept`` for what follows."""
        if not self.interrupted:
            try:
                with until(self.start + min(share * self._seconds, self._seconds + _BEYOND) - kept):
                    return work()
            except KeyboardInterrupt:
                self.interrupted = True
        with until(-inf):
            return work()
