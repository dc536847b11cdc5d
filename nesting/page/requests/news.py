"""What is asked of an answer: news of it, small changes and making one, papers to choose, a plan to hold."""

from collections.abc import AsyncIterator

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from nesting.files import InputError, with_changes_written
from nesting.page.folder.draft import Draft
from nesting.page.requests.asked import (
    FormFields,
    answering_of,
    fields_of,
    opened_of,
    state_of,
)
from nesting.page.requests.writing import answered, changed
from nesting.page.workers.answers import find_suggestions

#: What the checkbox of a paper to choose is called; the paper's name follows.
_MAY_BE = "may be "


async def tell(request: Request) -> Response:
    """Tell what is found as it is found (server-sent events): the parts of the sheet that show it."""
    file, answering = request.path_params["file"], answering_of(request)

    async def told() -> AsyncIterator[str]:
        async for parts in answering.news(file):
            yield "\n".join(parts.values())

    return event_stream(told())


def event_stream(told: AsyncIterator[str]) -> Response:
    """Tell a browser what is told as server-sent events; what was told last is not told again."""

    async def events() -> AsyncIterator[str]:
        before = None
        async for text in told:
            if text != before:
                yield "".join(f"data: {line}\n" for line in text.splitlines()) + "\n"
            before = text

    return StreamingResponse(
        events(), media_type="text/event-stream", headers={"cache-control": "no-store"}
    )


async def look_for_changes(request: Request) -> Response:
    """Look for small changes that save."""
    opened, answering = opened_of(request), answering_of(request)
    of = answering.of(opened)
    if of:
        answering.searches.look(of, find_suggestions, opened.draft.batch)
    return answered(request, await fields_of(request), opened.draft, opened)


async def apply(request: Request) -> Response:
    """Make a small change that was found."""
    answering = answering_of(request)

    def apply_one(draft: Draft, fields: FormFields) -> tuple[Draft, str]:
        search = answering.changes(fields["of"])
        if search is None or search.found is None:
            raise InputError("This change was found for an earlier state of the batch: look again.")
        one = search.found.all[int(fields["number"])]
        return Draft(with_changes_written(draft.file, one.changes, one.batch)), one.words

    return await changed(request, apply_one)


async def choose(request: Request) -> Response:
    """Let a layer be cut from one of several papers."""
    return await changed(request, choose_papers)


def choose_papers(draft: Draft, fields: FormFields) -> tuple[Draft, str]:
    """Have a layer take one of the papers that were ticked.

    Raises
    ------
    InputError
        None was.
    """
    names = [name.removeprefix(_MAY_BE) for name in fields if name.startswith(_MAY_BE)]
    if not names:
        raise InputError("no paper is ticked; expected one or more to cut this layer from")
    path = draft.path(fields["pointer"])
    file = draft.file
    if file.value((*path, "face")) is not None:
        file = file.remove((*path, "face"))
    if len(names) > 1:
        alike = "each" if fields.get("alike") == "each" else "all"
        file = file.write((*path, "paper"), {"one of": [*names], "alike": alike})
        return Draft(file), f"papers for {path[1]} to choose from"
    paper, slash, face = names[0].rpartition("/")
    if not slash or file.value(("papers", names[0])) is not None:
        paper, face = names[0], ""
    file = file.write((*path, "paper"), paper)
    file = file.write((*path, "face"), face) if face else file
    return Draft(file), f"{names[0]} for {path[1]}"


async def hold(request: Request) -> Response:
    """Hold a plan, to see it beside others; or let it go."""
    opened, answering, fields = opened_of(request), answering_of(request), await fields_of(request)
    plan = answering.plan(fields.get("of", ""))
    if fields.get("let-go"):
        state_of(request).held = None
    elif plan is None:
        raise HTTPException(404)
    else:
        state_of(request).held = plan
    return answered(request, fields, opened.draft, opened)
