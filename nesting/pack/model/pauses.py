"""How a search gives way after each of its steps."""

from collections.abc import Generator, Iterator
from enum import Enum


class Pause(Enum):
    """Where a search gives way.

    Limits of rounds count a ``STEP``. A stage that gives up the rest of its turn says ``GIVE_UP``.
    """

    STEP = "step"
    GIVE_UP = "give up"


Pauses = Iterator[Pause]
STEP, GIVE_UP = Pause.STEP, Pause.GIVE_UP


def so_many(pauses: Pauses, most: int) -> Generator[Pause, None, bool]:
    """The next steps, so many unless it gives up; whether it has ended."""
    taken = 0
    for pause in pauses:
        if pause is GIVE_UP:
            return False
        yield pause
        taken += pause is STEP
        if taken == most:
            return False
    return True
