"""Where a search pauses: generators yield after each step."""

from collections.abc import Generator, Iterator
from enum import Enum


class Pause(Enum):
    """A point at which a search may be interrupted.

    Limits of rounds count each ``STEP``. A stage that gives up the rest of its turn yields
    ``GIVE_UP``, one that cannot go on yet ``WAIT``.
    """

    STEP = "step"
    GIVE_UP = "give up"
    WAIT = "wait"


Pauses = Iterator[Pause]
STEP, GIVE_UP, WAIT = Pause.STEP, Pause.GIVE_UP, Pause.WAIT


def so_many(pauses: Pauses, most: int) -> Generator[Pause, None, bool]:
    """Take up to ``most`` steps, fewer if the stage gives up; return whether it has ended."""
    taken = 0
    for pause in pauses:
        if pause is GIVE_UP:
            return False
        yield pause
        taken += pause is STEP
        if taken == most:
            return False
    return True
