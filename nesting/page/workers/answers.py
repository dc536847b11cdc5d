"""What the page's workers work out: whether there is enough, and what small changes would save."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from time import monotonic
from typing import TYPE_CHECKING

from nesting.batch import Batch, BatchError
from nesting.needs import Needs, paper_needs
from nesting.plan import Plan
from nesting.record import Record, RecordError
from nesting.units import counted

if TYPE_CHECKING:
    from nesting.advice.suggestions import Suggestion
    from nesting.pack import State

#: Seconds between two words of how far the work is.
_PAUSE = 0.25

Send = Callable[[object], None]


@dataclass(frozen=True, slots=True)
class Answer:
    """A plan that has passed its check, and what it means; ``needs`` is None while it is a quick one.

    ``stopping`` has by paper how many sheets fewer it takes with a trimmer that can stop a cut.
    """

    plan: Plan
    needs: Needs | None = None
    stopping: Mapping[str, int] = field(default_factory=dict)

    def of_left(self, plan: Plan) -> "Answer":
        """The same of what is still to be cut of its plan."""
        needs = self.needs
        if needs is not None:
            needs = replace(needs, plan=plan, papers=tuple(paper_needs(plan)))
        return Answer(plan, needs)


@dataclass(frozen=True, slots=True)
class Suggestions:
    """The small changes that save, each planned and checked."""

    all: "tuple[Suggestion, ...]"


def find_answer(send: Send, batch: Batch) -> None:
    """Find a quick answer, that of the first plan of each paper, then the whole one.

    Where stopped cuts would save, that comes last.
    """
    from nesting.advice.comparison import checked_plan, refuse_faults
    from nesting.advice.sufficiency import enough
    from nesting.pack import WITHIN_A_MINUTE, FirstOf, Rounds, Seconds, saved_by_stopping

    send(Answer(checked_plan(batch, FirstOf((Rounds(1), Seconds(1))), 0)))
    needs = enough(batch, WITHIN_A_MINUTE)
    refuse_faults(batch, needs.plan)
    send(Answer(needs.plan, needs))
    if saved := saved_by_stopping(needs.plan):
        send(Answer(needs.plan, needs, saved))


def find_needs(send: Send, plan: Plan) -> None:
    """Find what a plan that is being cut means."""
    from nesting.advice.sufficiency import needs_of
    from nesting.pack import WITHIN_A_MINUTE

    send(Answer(plan, needs_of(plan, WITHIN_A_MINUTE)))


def find_suggestions(send: Send, batch: Batch) -> None:
    """Find the small changes that save paper."""
    from nesting.advice.suggestions import suggest
    from nesting.pack import WITHIN_A_MINUTE

    words = _NowAndThen(send)
    found = suggest(
        batch, WITHIN_A_MINUTE, report=lambda what, done, of: words.say(f"{what} ({done} of {of})")
    )
    send(Suggestions(found))


@dataclass(frozen=True, slots=True)
class Rest:
    """What is left to cut, planned and checked; ``refused`` says why it cannot be planned."""

    plan: Plan | None
    refused: tuple[str, ...] = ()


def find_rest(send: Send, batch: Batch, plan: Plan, record: Record) -> None:
    """Plan anew what is left to cut of a batch, after some of a plan is cut."""
    from nesting.advice.comparison import refuse_faults
    from nesting.going_on import go_on
    from nesting.pack import WITHIN_A_MINUTE

    words = _NowAndThen(send)
    try:
        rest = go_on(
            batch, plan, record, WITHIN_A_MINUTE,
            report=lambda paper, state: words.say(_sheets_words(paper, state)),
        )  # fmt: skip
    except (BatchError, RecordError) as error:
        send(Rest(None, tuple(str(error).splitlines())))
        return
    refuse_faults(batch, rest)
    send(Rest(rest))


def _sheets_words(paper: str, state: "State") -> str:
    return f"{paper}: {counted(state.sheets, 'sheet')} so far"


class _NowAndThen:
    """Sends words, but not more often than anyone can read."""

    def __init__(self, send: Send) -> None:
        self._send, self._latest = send, 0.0

    def say(self, words: str) -> None:
        """Send these words, where it is time for some."""
        if monotonic() - self._latest > _PAUSE:
            self._latest = monotonic()
            self._send(words)
