"""How a search gives way: after each step, and for breath within a long one."""

from collections.abc import Generator, Iterator
from enum import Enum


class Pause(Enum):
    """Where a search gives way.

    A limit of rounds counts a ``STEP``. A limit of time may end the search at a ``BREATH``, too;
    nothing else depends on that. A stage that gives up the rest of its turn says ``GIVE_UP``.
    """

    STEP = "step"
    BREATH = "breath"
    GIVE_UP = "give up"


Pauses = Iterator[Pause]
STEP, BREATH, GIVE_UP = Pause.STEP, Pause.BREATH, Pause.GIVE_UP


def so_many(pauses: Pauses, most: int) -> Generator[Pause, None, bool]:
    """The next steps, so many unless it gives up, with every breath within; whether it has ended."""
    taken = 0
    for pause in pauses:
        if pause is GIVE_UP:
            return False
        yield pause
        taken += pause is STEP
        if taken == most:
            return False
    return True
