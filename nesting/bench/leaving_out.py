"""Leave stages of the search out, to see what they are worth."""

from collections.abc import Collection, Iterator
from contextlib import contextmanager

from nesting.pack.search import schedule
from nesting.pack.search.schedule import SCHEDULE, Phase


def stage_names() -> list[str]:
    """The names of all stages, in the order of the schedule."""
    return list(dict.fromkeys(turn.stage.__name__ for phase in SCHEDULE for turn in phase.turns))


@contextmanager
def without_stages(names: Collection[str]) -> Iterator[None]:
    """Have this process search without some stages."""
    schedule.SCHEDULE = tuple(_phases_without(names))
    try:
        yield
    finally:
        schedule.SCHEDULE = SCHEDULE


def _phases_without(names: Collection[str]) -> Iterator[Phase]:
    """The schedule without some stages; a phase that lasts as long as one of them goes with it."""
    for phase in SCHEDULE:
        turns = tuple(turn for turn in phase.turns if turn.stage.__name__ not in names)
        if turns and (turns[0] is phase.turns[0] or phase.cycles is not None):
            yield phase._replace(turns=turns)
