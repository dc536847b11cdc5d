"""What the page's workers work out: whether there is enough, and what small changes would save."""

from collections.abc import Callable
from dataclasses import dataclass
from time import monotonic

from nesting.advice.comparison import checked_plan, refuse_faults
from nesting.advice.sufficiency import enough
from nesting.advice.suggestions import Suggestion, suggest
from nesting.batch import Batch
from nesting.needs import Needs
from nesting.pack import DEFAULT_LIMIT, FirstOf, Rounds, Seconds, State
from nesting.plan import Plan

#: What ends a search, as on the command line.
_LIMIT = FirstOf((DEFAULT_LIMIT, Seconds(60)))
#: The first answer: what the quick plans give, and no more than that.
_QUICK = FirstOf((Rounds(1), Seconds(1)))
#: Seconds between two words of how far the work is.
_PAUSE = 0.25

Send = Callable[[object], None]


@dataclass(frozen=True, slots=True)
class Answer:
    """A plan that has passed its check, and what it means; ``needs`` is None while it is a quick one."""

    plan: Plan
    needs: Needs | None = None


@dataclass(frozen=True, slots=True)
class Suggestions:
    """The small changes that save, each planned and checked."""

    all: tuple[Suggestion, ...]


def find_answer(send: Send, batch: Batch) -> None:
    """Find a quick answer, then the whole one."""
    send(Answer(checked_plan(batch, _QUICK, 0)))
    words = _NowAndThen(send)
    needs = enough(batch, _LIMIT, report=lambda paper, state: words.say(_round_words(paper, state)))
    refuse_faults(batch, needs.plan)
    send(Answer(needs.plan, needs))


def find_suggestions(send: Send, batch: Batch) -> None:
    """Find the small changes that save paper."""
    words = _NowAndThen(send)
    found = suggest(
        batch, _LIMIT, report=lambda what, done, of: words.say(f"{what} ({done} of {of})")
    )
    send(Suggestions(found))


def _round_words(paper: str, state: State) -> str:
    return f"{paper}: {state.sheets} sheets, round {state.rounds}"


class _NowAndThen:
    """Sends words, but not more often than anyone can read."""

    def __init__(self, send: Send) -> None:
        self._send, self._latest = send, 0.0

    def say(self, words: str) -> None:
        """Send these words, where it is time for some."""
        if monotonic() - self._latest > _PAUSE:
            self._latest = monotonic()
            self._send(words)
