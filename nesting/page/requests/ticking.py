"""What is said at the trimmer: done, spoilt, found, some more; the rest is planned anew where it has to be."""

from collections.abc import AsyncIterator, Callable, Mapping
from contextlib import suppress
from dataclasses import replace
from urllib.parse import quote

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from nesting.files import InputError
from nesting.mark import plan_digest
from nesting.page.folder.batch_folder import Opened
from nesting.page.folder.cutting_folder import Cutting
from nesting.page.folder.draft import Draft
from nesting.page.folder.into_stash import put_into_stash
from nesting.page.folder.ticks import next_place, spoil, tick, untick, up_to
from nesting.page.rendering import render
from nesting.page.requests.answering import PUT_RIGHT
from nesting.page.requests.asked import (
    answering_of,
    fields_of,
    folder_of,
    is_said_again,
    note_said,
    opened_of,
    state_of,
)
from nesting.page.requests.downloads import asked_page, made
from nesting.page.requests.going_back import way_back
from nesting.page.requests.news import event_stream
from nesting.page.steps.at_trimmer import stroke_view
from nesting.page.steps.besides import faults_of, with_more, with_offcut
from nesting.page.steps.showing import Refusal, Said, Showing
from nesting.page.workers.printing import print_labels
from nesting.plan import Plan
from nesting.record import Record
from nesting.stash import Stash, StashError

_LOST = "This was not taken down: the plan was gone on with elsewhere meanwhile. Say it again."


async def page(request: Request) -> Response:
    """The next stroke, as large as the screen."""
    opened, answering = opened_of(request), answering_of(request)
    state = state_of(request)
    cutting = state.cut()
    if cutting is None or cutting.in_stash is not None:
        return _back(request, opened)
    notice = state.notice or answering.why_no_rest(opened)
    if cutting.record.spoilt:  # whatever ended the program, the rest is still to be planned
        notice = notice or answering.plan_rest(opened)
    said = request.query_params
    stroke = said.get("stroke", "") if _is_shown(cutting, said) else ""
    rest, refused = state.rest, state.take_refused()
    shown = {} if rest else stroke_view(cutting, int(stroke) if stroke.isdecimal() else None)
    way = way_back(opened, answering, folder_of(request))
    html = render(
        "stroke",
        shown,
        can_untick=bool(cutting.record.done) and not rest,
        way=way,
        before=way and _at(way.before),
        file=opened.name,
        at=_at(cutting),
        state=_shown(request, opened),
        rest=rest,
        notice=notice,
        said=Said(Showing(opened.name, opened.version, opened.draft, refused=refused)),
    )
    return HTMLResponse(html)


async def news(request: Request) -> Response:
    """Tell what comes next, each time that it is another: it may be ticked on another screen."""

    async def told() -> AsyncIterator[str]:
        async for _ in answering_of(request).searches.news():
            with suppress(HTTPException):  # another program is writing the file
                yield _shown(request, opened_of(request))

    return event_stream(told())


def _at(cutting: Cutting) -> str:
    """The step that comes next, in one word, which no other plan of that number has."""
    place = next_place(cutting.plan, cutting.record)
    step = "" if place is None else f"{place.layout.id}.{place.number}"
    return f"{cutting.number}.{step}.{plan_digest(cutting.plan)[:8]}"


def _shown(request: Request, opened: Opened) -> str:
    """What the large page shows, in one line that is another where it shows something else."""
    answering = answering_of(request)
    state = state_of(request)
    cutting = state.cut()
    at = None if cutting is None or cutting.in_stash is not None else _at(cutting)
    notice = state.notice or answering.why_no_rest(opened)
    return repr((at, state.rest and state.rest.words, notice))


async def begin(request: Request) -> Response:
    """Begin to cut the plan as it is."""
    opened, answering = opened_of(request), answering_of(request)
    folder, of = state_of(request).cutting, answering.of(opened)
    plan = answering.plan(of)
    if plan is None:
        raise HTTPException(409)
    if not folder.path.exists():
        folder.begin(plan, of)
    return _at_trimmer(request, opened)


async def done(request: Request) -> Response:
    """The step that was shown is done."""
    return await _keep(request, tick)


async def not_done(request: Request) -> Response:
    """The last step that is done is not."""
    return await _keep(request, untick)


async def _keep(request: Request, change: Callable[[Plan, Record], Record]) -> Response:
    opened, cutting, fields = await _said(request)
    if _is_shown(cutting, fields):
        record = change(cutting.plan, cutting.record)
        state_of(request).cutting.keep(replace(cutting, record=record))
    return _at_trimmer(request, opened)


def _is_shown(cutting: Cutting, fields: Mapping[str, str]) -> bool:
    """Whether what was said is about the step that comes next: a touch twice is a touch once."""
    return fields.get("at", "") == _at(cutting)


async def spoilt(request: Request) -> Response:
    """What is in hand of some sheets is spoilt."""
    opened, cutting, fields = await _said(request, lost=_LOST)
    if not _is_shown(cutting, fields):
        return _at_trimmer(request, opened, _LOST)
    try:
        stroke = int(fields["stroke"]) if "stroke" in fields else None
        record = spoil(cutting.plan, cutting.record, int(fields.get("sheets", "1")), stroke)
    except ValueError:
        raise HTTPException(400) from None
    state_of(request).cutting.keep(replace(cutting, record=record))
    return _plan_rest(request, opened)


async def as_before(request: Request) -> Response:
    """What was said last is not so: its plan, and the batch that it was for, are as before."""
    fields = await fields_of(request)
    opened, answering = opened_of(request), answering_of(request)
    if is_said_again(request, fields):
        return _at_trimmer(request, opened)
    way = way_back(opened, answering, folder_of(request))
    if way is None or fields.get("before") != _at(way.before):  # the rest may be planned meanwhile
        return _at_trimmer(request, opened, _LOST)
    state = state_of(request)
    state.stop_rest()
    state.notice = ""
    if way.undo:
        opened = folder_of(request).undo(opened.name, str(opened.version))
    state.cutting.go_back(way.before)
    note_said(request, fields)
    return _at_trimmer(request, opened)


async def found(request: Request) -> Response:
    """A piece of paper was found: it is an offcut at hand."""
    return await _besides(request, "size", with_offcut)


async def more(request: Request) -> Response:
    """Some more of a card are wanted."""
    return await _besides(request, "count", with_more)


async def _besides(
    request: Request, field: str, change: Callable[[Draft, Mapping[str, str]], tuple[str, Draft]]
) -> Response:
    """Plan the rest with a change of the batch; what is refused of it stays in its field, beside why."""
    opened, cutting, fields = await _said(request, lost=_LOST)
    if not _is_of_plan(cutting, fields):
        return _at_trimmer(request, opened, _LOST)
    try:
        words, draft = change(opened.draft, fields)
    except InputError as error:
        return _refused(request, cutting, fields, field, str(error))
    if opened.draft.batch is None:
        return _refused(request, cutting, fields, field, PUT_RIGHT)
    if draft.batch is None:
        return _refused(request, cutting, fields, field, "; ".join(faults_of(draft)))
    _keep_strokes(request, cutting, fields)
    return _plan_rest(request, folder_of(request).change(opened.name, words, draft))


def _refused(
    request: Request, cutting: Cutting, fields: Mapping[str, str], field: str, why: str
) -> Response:
    """The same stroke again, what was typed still there."""
    file, place = request.path_params["file"], next_place(cutting.plan, cutting.record)
    state_of(request).refused = {name: Refusal(text, why) for name, text in fields.items()}
    stroke, shown = "", fields.get("stroke", "")
    if shown.isdecimal() and place is not None and place.step is not None:
        stroke = f"&stroke={int(shown) - place.step.strokes[0].number}"
    address = f"/batch/{quote(file)}/trimmer?at={quote(fields['at'])}{stroke}#{field}"
    return RedirectResponse(address, status_code=303)


def _keep_strokes(request: Request, cutting: Cutting, fields: Mapping[str, str]) -> None:
    """Keep that the strokes before the one that is shown are made: the rest goes on from there."""
    if "stroke" not in fields or not _is_shown(cutting, fields):
        return
    try:
        record = up_to(cutting.plan, cutting.record, int(fields["stroke"]))
    except ValueError:
        raise HTTPException(400) from None
    state_of(request).cutting.keep(replace(cutting, record=record))


async def anew(request: Request) -> Response:
    """The batch has changed: the rest is planned anew."""
    opened, _, _ = await _said(request)
    return _plan_rest(request, opened)


async def into_stash(request: Request) -> Response:
    """What is cut goes on record in the stash, and what is left over goes into it."""
    opened, cutting, _ = await _said(request)
    path, state = folder_of(request).stash, state_of(request)
    if path is None:
        raise HTTPException(404)
    answering = answering_of(request)
    unchanged = cutting.of == answering.of(opened)
    try:
        with Stash(path) as stash:
            numbers = put_into_stash(stash, state.cutting.all())
    except StashError as error:
        state.notice = str(error)
    else:
        # the batch is another now by what was taken from the stash alone: the plan still answers it
        of = answering.of(opened_of(request)) if unchanged else cutting.of
        state.cutting.keep(replace(cutting, in_stash=numbers, of=of))
    return _back(request, opened)


async def labels_pdf(request: Request) -> Response:
    """Labels for the offcuts that were put into the stash."""
    cutting, path = state_of(request).cut(), folder_of(request).stash
    if cutting is None or not cutting.in_stash or path is None:
        raise HTTPException(404)
    with Stash(path) as stash:
        there = {one.number: one for one in stash.offcuts()}
    offcuts = tuple(there[number] for number in cutting.in_stash if number in there)
    return await made(request, "labels.pdf", print_labels, offcuts, asked_page(request))


async def put_away(request: Request) -> Response:
    """All is cut, or no more is to be: another plan of the batch can be begun."""
    opened = opened_of(request)
    state = state_of(request)
    if state.cut() and state.rest is None:
        state.cutting.put_away()
    return _back(request, opened)


async def _said(request: Request, lost: str = "") -> tuple[Opened, Cutting, dict[str, str]]:
    """What a form says of the plan that is being cut.

    Where nothing can be said of it now, what there is instead is shown, with the words ``lost``;
    what was said before is not said twice.
    """
    fields = await fields_of(request)
    opened, state = opened_of(request), state_of(request)
    cutting, again = state.cut(), is_said_again(request, fields)
    if cutting is None or cutting.in_stash is not None or state.rest is not None or again:
        shown = _at_trimmer(request, opened, "" if again else lost)
        raise HTTPException(shown.status_code, headers={"location": shown.headers["location"]})
    state.notice = ""
    note_said(request, fields)
    return opened, cutting, fields


def _is_of_plan(cutting: Cutting, fields: Mapping[str, str]) -> bool:
    """Whether what was said is about the plan that is being cut, at whatever step."""
    return fields.get("at", "").partition(".")[0] == str(cutting.number)


def _plan_rest(request: Request, opened: Opened) -> Response:
    return _at_trimmer(request, opened, answering_of(request).plan_rest(opened))


def _at_trimmer(request: Request, opened: Opened, notice: str = "") -> Response:
    """The large page, after something was said there: every screen is told of it."""
    if notice:
        state_of(request).notice = notice
    answering_of(request).searches.tell()
    return RedirectResponse(f"/batch/{quote(opened.name)}/trimmer", status_code=303)


def _back(request: Request, opened: Opened) -> Response:
    """The sheet, unfolded where it shows what is cut."""
    answering_of(request).searches.tell()
    place = "?open=at_trimmer#at_trimmer"
    return RedirectResponse(f"/batch/{quote(opened.name)}{place}", status_code=303)
