"""What is answered to a batch as it stands: its searches, the plan that is held, the parts that show them."""

import asyncio
from collections.abc import AsyncIterator, Callable
from html import escape
from typing import Any, NamedTuple, Self

from nesting.files import InputError
from nesting.page import at_trimmer, enough, my_plan
from nesting.page.answers import (
    Answer,
    Rest,
    Suggestions,
    find_answer,
    find_rest,
    find_suggestions,
)
from nesting.page.batch_folder import BatchFolder, Opened
from nesting.page.cutting_folder import Cutting, CuttingFolder
from nesting.page.rendering import render
from nesting.page.searches import LongWork, Searches, digest_of
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


class Answering:
    """The searches of the batches that are open, and the plans that are held to be compared."""

    def __init__(self, *, has_stash: bool = False) -> None:
        self._has_stash = has_stash
        self.searches = Searches()
        self.held: dict[str, Plan] = {}
        self.notices: dict[str, str] = {}  # what could not be done last
        self._now: dict[str, str] = {}
        self._cutting: dict[str, CuttingFolder] = {}
        self._rest: dict[str, LongWork[Rest]] = {}
        self._refused: dict[tuple[int, Record, str], str] = {}
        self._going_on: dict[str, asyncio.Task[None]] = {}
        self._drawn: dict[AnswerStep, tuple[tuple[Any, ...], str]] = {}

    async def __aenter__(self) -> Self:
        self._getting_ready = asyncio.create_task(self.searches.get_ready())
        return self

    async def __aexit__(self, *_: object) -> None:
        for task in (self._getting_ready, *self._going_on.values()):
            task.cancel()
        await self.searches.close()

    def look(self, opened: Opened) -> LongWork[Answer] | None:
        """Look for the answer to a batch as it is now; what an earlier state of it asked is stopped.

        None where there is nothing to ask yet.
        """
        batch = opened.draft.batch
        asked = batch is not None and bool(batch.cards or batch.pieces)
        of = digest_of(batch) if batch is not None and asked else ""
        before = self._now.get(opened.name, of)
        self._now[opened.name] = of
        if before != of and before not in self._now.values():
            self.searches.stop(before)
        return self.searches.look(of, find_answer, batch) if of else None

    def of(self, opened: Opened) -> str:
        """The digest of a batch as it is now; empty where there is nothing to ask."""
        self.look(opened)
        return self._now[opened.name]

    def plan(self, of: str) -> Plan | None:
        """The plan that was found for a batch with this digest; None where it is forgotten."""
        search: LongWork[Answer] | None = self.searches.kept(of, find_answer)
        return search.found.plan if search is not None and search.found is not None else None

    def changes(self, of: str) -> LongWork[Suggestions] | None:
        """The search for small changes of a batch; None where nobody asked for them."""
        return self.searches.kept(of, find_suggestions)

    def cutting(self, opened: Opened) -> CuttingFolder:
        """Where it is kept what of a batch is cut."""
        return self._cutting.setdefault(opened.name, CuttingFolder(opened.path))

    def cut(self, opened: Opened) -> Cutting | None:
        """What is cut of a batch; None where nothing is begun, or what is kept of it does not read."""
        try:
            return self.cutting(opened).now()
        except (InputError, RecordError) as error:
            self.notices[opened.name] = f"{error}; expected what this program has kept there"
            return None

    def rest(self, opened: Opened) -> LongWork[Rest] | None:
        """The search for the rest of a batch; None where it is not under way."""
        return self._rest.get(opened.name)

    def plan_rest(self, opened: Opened) -> str:
        """Plan anew what is left to cut of a batch; why it cannot be, in words."""
        cutting, batch = self.cut(opened), opened.draft.batch
        if cutting is None or opened.name in self._rest:
            return ""
        if batch is None:
            return PUT_RIGHT
        if words := self.refused(opened):
            return words
        of = digest_of(batch)
        detail = f"{cutting.number} {cutting.record}"
        rest = self.searches.look(
            f"rest {of}", find_rest, batch, cutting.plan, cutting.record, detail=detail, keep=False
        )
        self._rest[opened.name] = rest
        self._going_on[opened.name] = asyncio.create_task(self._go_on(opened, rest, cutting, of))
        return ""

    async def _go_on(self, opened: Opened, rest: LongWork[Rest], cutting: Cutting, of: str) -> None:
        """Have the rest take the place of the plan so far, once it is planned."""
        try:
            await rest.over.wait()
        except asyncio.CancelledError:
            self.searches.stop(f"rest {of}")
            raise
        if rest.found is not None and rest.found.plan is not None:
            self.cutting(opened).begin(rest.found.plan, of)
        else:
            words = enough.FAILED if rest.found is None else "; ".join(rest.found.refused)
            self._refused[cutting.number, cutting.record, of] = words
        del self._rest[opened.name], self._going_on[opened.name]
        self.searches.tell()

    def stop_rest(self, opened: Opened) -> None:
        """Plan the rest of a batch no longer, where that is under way."""
        if opened.name in self._rest:
            self._going_on.pop(opened.name).cancel()
            del self._rest[opened.name]

    def refused(self, opened: Opened) -> str:
        """Why the rest of a batch as it is could not be planned; empty where that was not tried."""
        cutting = self.cut(opened)
        if cutting is None:
            return ""
        return self._refused.get((cutting.number, cutting.record, self.of(opened)), "")

    def parts(self, opened: Opened, unfolded: str = "") -> dict[str, str]:
        """Everything that shows an answer, as HTML by id: three steps and the bar at the foot."""
        search = self.look(opened)
        of = self._now[opened.name]
        changes, held = self.changes(of), self.held.get(opened.name)
        found = search.found if search is not None else None
        state = (opened.name, of, unfolded, found, search is not None and search.failed)
        file: dict[str, Any] = {"file": opened.name, "of": of, "unfolded": unfolded}
        looked = None if changes is None else changes.found or changes.failed or "looking"

        cutting = self.cut(opened)
        still_so = cutting is not None and cutting.of == of and not at_trimmer.ended_early(cutting)
        as_cut = cutting.plan if cutting is not None and still_so else None
        file["begun"] = cutting is not None

        def view_enough() -> dict[str, Any]:
            return enough.view(opened.draft, search, changes, as_cut) | file

        def view_plan() -> dict[str, Any]:
            return my_plan.view(search, held) | file

        bar = enough.bar(opened.draft, search, as_cut)
        asked = opened.draft.text if search is None else looked
        return {
            ENOUGH.id: self._draw(ENOUGH, (*state, asked, as_cut, file["begun"]), view_enough),
            "changes-words": _changes_words(changes),
            MY_PLAN.id: self._draw(MY_PLAN, (*state, held, file["begun"]), view_plan),
            AT_TRIMMER.id: self._trimmer_part(opened, cutting, state, file),
            "bar": render("bar", bar, version=opened.version),
        }

    def _trimmer_part(
        self,
        opened: Opened,
        cutting: Cutting | None,
        state: tuple[Any, ...],
        file: dict[str, Any],
    ) -> str:
        """The step at the trimmer; pictures and pages of the plan that is cut can be asked for."""
        notice, plan = self.notices.get(opened.name, ""), self.plan(file["of"])
        cut = cutting and cutting.plan, str(cutting and (cutting.record, cutting.in_stash))
        if cutting is not None:
            shown_as = at_trimmer.shown_as(cutting.plan)
            self.searches.put(shown_as, find_answer, Answer(cutting.plan))

        def view() -> dict[str, Any]:
            shown = at_trimmer.view(cutting, plan, file["of"], has_stash=self._has_stash)
            return shown | file | {"notice": notice}

        return self._draw(AT_TRIMMER, (*state, *cut, notice), view)

    def look_again(self, opened: Opened) -> None:
        """Look for the answer to a batch that was changed, and tell the news of it."""
        self.look(opened)
        self.searches.tell()

    def _draw(
        self, step: AnswerStep, state: tuple[Any, ...], view: Callable[[], dict[str, Any]]
    ) -> str:
        """A step as HTML, drawn up anew only where something that it shows is another."""
        drawn = self._drawn.get(step)
        if drawn is None or not all(map(_is_same, drawn[0], state)):
            drawn = self._drawn[step] = state, render(step.id, view(), step=step)
        return drawn[1]

    async def news(self, folder: BatchFolder, file: str) -> AsyncIterator[dict[str, str]]:
        """The parts that show an answer, at first and each time that some are others than before.

        The script is told of answers in this way alone: two ways could overtake each other, and the
        older would stay.
        """
        told: dict[str, str] = {}
        async for _ in self.searches.news():
            try:
                now = self.parts(folder.open(file))
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
