"""What is answered to a batch as it stands: its searches, the plan that is held, the parts that show them."""

import asyncio
from collections.abc import AsyncIterator, Callable, Mapping
from dataclasses import dataclass, field
from html import escape
from typing import Any, NamedTuple, Self

from nesting.files import InputError
from nesting.page.folder.batch_folder import BatchFolder, Opened
from nesting.page.folder.cutting_folder import Cutting, CuttingFolder
from nesting.page.rendering import render
from nesting.page.steps import at_trimmer, enough, my_plan
from nesting.page.steps.showing import Refusal
from nesting.page.workers.answers import (
    Answer,
    Rest,
    Suggestions,
    find_answer,
    find_needs,
    find_rest,
    find_suggestions,
)
from nesting.page.workers.searches import LongWork, Searches, digest_of
from nesting.plan import Plan
from nesting.record import Record, RecordError


class AnswerStep(NamedTuple):
    """A step that shows an answer: its section's id, also the name of its template."""

    id: str
    number: int
    title: str


ENOUGH = AnswerStep("enough", 5, "Have I enough?")
MY_PLAN = AnswerStep("my_plan", 6, "My plan")
AT_TRIMMER = AnswerStep("at_trimmer", 7, "At the trimmer")
#: What is said at the trimmer where the batch has faults.
PUT_RIGHT = "First, put right what is wrong on the sheet."


@dataclass(slots=True)
class BatchState:
    """What the page knows of a batch beside its file.

    ``of`` is the digest of the batch when it was last looked at, ``held`` the plan to compare with,
    ``notice`` what could not be done last, ``refused`` the same by field until it is shown.
    ``shown`` has the steps of the sheet as last drawn up, with the version of the file. While the
    rest is planned, ``rest`` is that search and ``going_on`` waits for it; ``no_rest`` says why it
    cannot be, by the plan, record and batch that it was asked for. ``drawn`` has each step as HTML,
    with all that it shows.
    """

    cutting: CuttingFolder
    of: str = ""
    held: Plan | None = None
    notice: str = ""
    rest: LongWork[Rest] | None = None
    going_on: asyncio.Task[None] | None = None
    no_rest: dict[tuple[int, Record, str], str] = field(default_factory=dict)
    refused: Mapping[str, Refusal] = field(default_factory=dict)
    shown: tuple[int, Mapping[str, str]] = (0, {})
    drawn: dict[AnswerStep, tuple[tuple[Any, ...], str]] = field(default_factory=dict)

    def cut(self) -> Cutting | None:
        """What is cut; None where nothing is begun, or what is kept of it does not read."""
        try:
            return self.cutting.now()
        except (InputError, RecordError) as error:
            self.notice = f"{error}; expected what this program has kept there"
            return None

    def take_refused(self) -> Mapping[str, Refusal]:
        """What could not be done, to show it once."""
        refused, self.refused = self.refused, {}
        return refused

    def stop_rest(self) -> None:
        """Plan the rest no longer, where that is under way."""
        if self.going_on is not None:
            self.going_on.cancel()
        self.rest = self.going_on = None

    def draw(
        self, step: AnswerStep, shows: tuple[Any, ...], view: Callable[[], dict[str, Any]]
    ) -> str:
        """A step as HTML, drawn up anew only where something that it shows is another."""
        drawn = self.drawn.get(step)
        if drawn is None or not all(map(_is_same, drawn[0], shows)):
            drawn = self.drawn[step] = shows, render(step.id, view(), step=step)
        return drawn[1]


class Answering:
    """The searches of the batches of a folder, and what is known of each beside its file."""

    def __init__(self, folder: BatchFolder) -> None:
        self._folder = folder
        self._states: dict[str, BatchState] = {}
        self.searches = Searches()

    async def __aenter__(self) -> Self:
        self._getting_ready = asyncio.create_task(self.searches.get_ready())
        return self

    async def __aexit__(self, *_: object) -> None:
        self._getting_ready.cancel()
        for state in self._states.values():
            state.stop_rest()
        await self.searches.close()

    def state(self, file: str) -> BatchState:
        """What is known of a batch, by the name of its file."""
        return self._states.setdefault(file, BatchState(CuttingFolder(self._folder.path / file)))

    def look(self, opened: Opened) -> LongWork[Answer] | None:
        """Look for the answer to a batch as it is now; what an earlier state of it asked is stopped.

        None where there is nothing to ask yet.
        """
        batch = opened.draft.batch
        asked = batch is not None and bool(batch.cards or batch.pieces)
        of = digest_of(batch) if batch is not None and asked else ""
        state = self.state(opened.name)
        before, state.of = state.of, of
        if all(one.of != before for one in self._states.values()):
            self.searches.stop(before)
        return self.searches.look(of, find_answer, batch) if of else None

    def of(self, opened: Opened) -> str:
        """The digest of a batch as it is now; empty where there is nothing to ask."""
        self.look(opened)
        return self.state(opened.name).of

    def plan(self, of: str) -> Plan | None:
        """The plan that was found for a batch with this digest; None where it is forgotten."""
        search: LongWork[Answer] | None = self.searches.kept(of, find_answer)
        return search.found.plan if search is not None and search.found is not None else None

    def changes(self, of: str) -> LongWork[Suggestions] | None:
        """The search for small changes of a batch; None where nobody asked for them."""
        return self.searches.kept(of, find_suggestions)

    def plan_rest(self, opened: Opened) -> str:
        """Plan anew what is left to cut of a batch; why it cannot be, in words."""
        state, batch = self.state(opened.name), opened.draft.batch
        cutting = state.cut()
        if cutting is None or state.rest is not None:
            return ""
        if batch is None:
            return PUT_RIGHT
        if words := self.why_no_rest(opened):
            return words
        of = digest_of(batch)
        detail = f"{cutting.number} {cutting.record}"
        state.rest = self.searches.look(
            f"rest {of}", find_rest, batch, cutting.plan, cutting.record, detail=detail, keep=False
        )
        state.going_on = asyncio.create_task(self._go_on(state, state.rest, cutting, of))
        return ""

    async def _go_on(
        self, state: BatchState, rest: LongWork[Rest], cutting: Cutting, of: str
    ) -> None:
        """Have the rest take the place of the plan so far, once it is planned."""
        try:
            await rest.over.wait()
        except asyncio.CancelledError:
            self.searches.stop(f"rest {of}")
            raise
        if rest.found is not None and rest.found.plan is not None:
            state.cutting.begin(rest.found.plan, of)
            self.searches.stop(at_trimmer.shown_as(cutting.plan))
        else:
            words = enough.FAILED if rest.found is None else "; ".join(rest.found.refused)
            state.no_rest[cutting.number, cutting.record, of] = words
        state.rest = state.going_on = None
        self.searches.tell()

    def why_no_rest(self, opened: Opened) -> str:
        """Why the rest of a batch as it is could not be planned; empty where that was not tried."""
        state = self.state(opened.name)
        cutting = state.cut()
        if cutting is None:
            return ""
        return state.no_rest.get((cutting.number, cutting.record, self.of(opened)), "")

    def parts(self, opened: Opened, unfolded: str = "") -> dict[str, str]:
        """Everything that shows an answer, as HTML by id: three steps and the bar at the foot."""
        search, state = self.look(opened), self.state(opened.name)
        of, held, cutting = state.of, state.held, state.cut()
        changes, plan = self.changes(of), self.plan(of)
        found = search.found if search is not None else None
        as_cut = self._as_cut(cutting, of)
        known = as_cut is not None, as_cut is not None and as_cut.needs is not None
        begun = cutting is not None
        file = {"file": opened.name, "of": of, "unfolded": unfolded, "begun": begun}
        shows = (of, unfolded, found, search is not None and search.failed, begun)
        looked = None if changes is None else changes.found or changes.failed or "looking"
        asked = opened.draft.text if search is None else looked
        cut = cutting and cutting.plan, str(cutting and (cutting.record, cutting.in_stash))

        def view_enough() -> dict[str, Any]:
            shown = enough.view(opened.draft, search, changes, as_cut) | file
            return shown | ({"of": at_trimmer.shown_as(cutting.plan)} if cutting and as_cut else {})

        def view_plan() -> dict[str, Any]:
            return my_plan.view(search, held, begun=begun) | file

        def view_trimmer() -> dict[str, Any]:
            has_stash = self._folder.stash is not None
            shown = at_trimmer.view(cutting, plan, of, has_stash=has_stash)
            return shown | file | {"notice": state.notice}

        bar = enough.bar(opened.draft, search, as_cut, begun=begun)
        return {
            ENOUGH.id: state.draw(ENOUGH, (*shows, asked, *known, *cut), view_enough),
            "changes-words": _changes_words(changes),
            MY_PLAN.id: state.draw(MY_PLAN, (*shows, held), view_plan),
            AT_TRIMMER.id: state.draw(AT_TRIMMER, (*shows, *cut, state.notice), view_trimmer),
            "bar": render("bar", bar, version=opened.version),
        }

    def _as_cut(self, cutting: Cutting | None, of: str) -> Answer | None:
        """What is answered of a plan as far as it is still to be cut; None where the batch is another now.

        Its pictures and pages can be asked for either way.
        """
        if cutting is None:
            return None
        shown_as, plan = at_trimmer.shown_as(cutting.plan), cutting.plan
        search: LongWork[Answer] = self.searches.look(
            shown_as, find_needs, plan, known=Answer(plan)
        )
        if search.found is None or cutting.of != of or at_trimmer.ended_early(cutting):
            return None
        return search.found.of_left(cutting.left)

    def look_again(self, opened: Opened) -> None:
        """Look for the answer to a batch that was changed, and tell the news of it."""
        self.look(opened)
        self.searches.tell()

    async def news(self, file: str) -> AsyncIterator[dict[str, str]]:
        """The parts that show an answer, at first and each time that some are others than before.

        The script is told of answers in this way alone: two ways could overtake each other, and the
        older would stay.
        """
        told: dict[str, str] = {}
        async for _ in self.searches.news():
            try:
                now = self.parts(self._folder.open(file))
            except (KeyError, InputError):  # another program is writing it
                continue
            changed = {part: html for part, html in now.items() if told.get(part) != html}
            told = now
            if changed:
                yield changed


def _is_same(one: object, other: object) -> bool:
    """Whether nothing has changed: plans are told apart by who they are, which takes no time."""
    return one is other or (isinstance(one, str | bool) and one == other)


def _changes_words(search: LongWork[Suggestions] | None) -> str:
    """How far the search for small changes is."""
    words = ""
    if search is not None:
        words = enough.FAILED if search.failed else search.words or enough.LOOKING
    return f'<p id="changes-words">{escape(words)}</p>'
