"""How a search gives way: after each step, and for breath within a long one."""

from collections.abc import Iterator
from enum import Enum


class Pause(Enum):
    """Where a search gives way.

    A limit of rounds counts a ``STEP``. A limit of time may end the search at a ``BREATH``, too;
    nothing else depends on that.
    """

    STEP = "step"
    BREATH = "breath"


Pauses = Iterator[Pause]
STEP, BREATH = Pause.STEP, Pause.BREATH


def so_many(pauses: Pauses, most: int) -> Pauses:
    """The next steps, so many at most, with every breath within them."""
    for _ in range(most):
        for pause in pauses:
            yield pause
            if pause is STEP:
                break
        else:
            return
