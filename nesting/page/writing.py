"""What the page's forms do: the first screen, the sheet, and every change of a batch file."""

from collections.abc import Callable, Mapping
from urllib.parse import quote

from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from nesting.batch import KeyPath
from nesting.files import InputError
from nesting.page import cards
from nesting.page.batch_folder import BatchFolder, Opened
from nesting.page.draft import Draft, pointer_of
from nesting.page.starting import start_of
from nesting.page.steps import sections, templates

#: What ``page.js`` asks for: only the steps that a change has changed.
PARTS = "text/html-parts"
Fields = Mapping[str, str]
#: What a form asks of a draft: what comes of it, and what was done in words.
Change = Callable[[Draft, Fields], tuple[Draft, str]]


async def first(request: Request) -> Response:
    """The first screen: the folder's batch files, or begin a new one."""
    return _first(request, "", "in", ())


def _first(request: Request, typed: str, unit: str, faults: tuple[str, ...]) -> Response:
    folder = folder_of(request)
    files = [(file, folder.title(file)) for file in folder.names()]
    template = templates().get_template("first.html")
    html = template.render(files=files, typed=typed, unit=unit, faults=faults)
    return HTMLResponse(html, status_code=422 if faults else 200)


async def begin(request: Request) -> Response:
    """Begin a new batch."""
    fields = await fields_of(request)
    name, unit = fields.get("name", "").strip(), fields.get("unit", "in")
    try:
        file = folder_of(request).begin(name, "mm" if unit == "mm" else "in")
    except InputError as error:
        return _first(request, name, unit, error.messages)
    return RedirectResponse(f"/batch/{quote(file)}", status_code=303)


async def end(request: Request) -> Response:
    """End the program: everything is saved already."""
    request.app.state.end()
    return HTMLResponse(templates().get_template("ended.html").render())


async def sheet(request: Request) -> Response:
    """The one long sheet of a batch."""
    file = request.path_params["file"]
    try:
        opened = opened_of(request)
    except InputError as error:
        template = templates().get_template("unread.html")
        return HTMLResponse(template.render(file=file, faults=error.messages), status_code=422)
    unfolded, card = (request.query_params.get(key, "") for key in ("open", "card"))
    answers = request.app.state.answering.parts(opened, unfolded)
    html = templates().get_template("sheet.html").render(
        file=file,
        opened=opened,
        evening=_evening(opened, request.app.state.notices.pop(file, "")),
        sections=map(Markup, sections(opened, card, plain=True, unfolded=unfolded).values()),
        answers={name: Markup(html) for name, html in answers.items()},  # noqa: S704 - rendered by us
    )  # fmt: skip
    return HTMLResponse(html)


async def set_fields(request: Request) -> Response:
    """Put what was typed at its places: each field is named by its pointer."""
    return await changed(request, lambda draft, _: (draft, ""))


async def add(request: Request) -> Response:
    """Add an entry to a list, or a name to a mapping, with the values that it starts from."""

    def change(draft: Draft, fields: Fields) -> tuple[Draft, str]:
        name = fields.get("name", "").strip()
        draft = draft.with_entry(fields["pointer"], name, start_of(draft, fields))
        return draft, f"{name or 'one more'} added"

    return await changed(request, change)


async def remove(request: Request) -> Response:
    """Take an entry away."""

    def change(draft: Draft, fields: Fields) -> tuple[Draft, str]:
        path = draft.path(fields["pointer"])
        return Draft(draft.file.remove(path)), f"{_words(path)} taken out"

    return await changed(request, change)


async def move(request: Request) -> Response:
    """Have an entry of a list and the one after it, or before it, change places."""

    def change(draft: Draft, fields: Fields) -> tuple[Draft, str]:
        *above, number = draft.path(fields["pointer"])
        other = int(number) + (-1 if fields.get("to") == "earlier" else 1)
        if not 0 <= other < len(draft.keys(pointer_of(tuple(above)))):
            raise LookupError(other)
        moved = draft.file.swap(tuple(above), int(number), other)
        return Draft(moved), f"{_words((*above, number))} moved"

    return await changed(request, change)


async def copy(request: Request) -> Response:
    """Copy a card under another name."""

    def change(draft: Draft, fields: Fields) -> tuple[Draft, str]:
        path, name = draft.path(fields["pointer"]), fields.get("name", "").strip()
        name = draft.free_name(path[:-1], name or f"{path[-1]}, copied")
        return Draft(draft.file.copy(path, name)), f"{path[-1]} copied"

    return await changed(request, change)


async def rename(request: Request) -> Response:
    """Give a paper or a card another name; whatever refers to it follows."""

    def change(draft: Draft, fields: Fields) -> tuple[Draft, str]:
        pointer, name = fields["pointer"], fields.get("name", "").strip()
        return draft.with_name(pointer, name), f"{draft.path(pointer)[-1]} renamed"

    return await changed(request, change)


async def look(request: Request) -> Response:
    """The card as it will look with what is being typed; nothing where that has a fault yet."""
    fields, now = await fields_of(request), opened_of(request).draft
    typed = {name: text.strip() for name, text in fields.items() if name.startswith("/cards/")}
    try:
        draft = now.with_fields(typed)
    except (InputError, LookupError, TypeError, ValueError):
        return Response(status_code=204)
    if draft.faults.keys() - now.faults.keys():
        return Response(status_code=204)
    view = cards.view(draft, fields.get("card", ""))
    return HTMLResponse(templates().get_template("card_look.html").render(view))


async def undo(request: Request) -> Response:
    """Take the last change back."""
    return await _step(request, BatchFolder.undo)


async def redo(request: Request) -> Response:
    """Make the change again that was taken back."""
    return await _step(request, BatchFolder.redo)


async def _step(request: Request, go: Callable[[BatchFolder, str], Opened]) -> Response:
    before = opened_of(request)
    after = go(folder_of(request), before.name)
    return answered(request, await fields_of(request), before, after, "")


async def changed(request: Request, change: Change) -> Response:
    """Put every field of the form at its place, then do what was asked; all of it is one change."""
    fields = await fields_of(request)
    before = opened_of(request)
    draft, done, notice = before.draft, "", ""
    try:
        typed = _typed(request, fields, before)
        draft = draft.with_fields(typed)
        done = ", ".join(_words(draft.path(pointer)) for pointer in typed)[:80]
        draft, words = change(draft, fields)
        done = words or done
    except InputError as error:
        notice = str(error)
    except (LookupError, TypeError, ValueError):
        raise HTTPException(400) from None
    after = before
    if draft.text != before.draft.text:
        after = folder_of(request).change(before.name, done, draft)
    return answered(request, fields, before, after, notice)


def _typed(request: Request, fields: Fields, now: Opened) -> dict[str, str]:
    """The fields that hold something else than what their form was shown with."""
    typed = {name: text.strip() for name, text in fields.items() if name.startswith("/")}
    shown = now.draft
    if fields.get("version") not in (None, str(now.version)):
        version = int(fields["version"])
        shown = folder_of(request).draft_of(now.name, version) or shown
    return {name: text for name, text in typed.items() if not shown.says(name, text)}


def answered(
    request: Request, fields: Fields, before: Opened, after: Opened, notice: str
) -> Response:
    """The steps that changed, for the script; the sheet again, without it."""
    card = cards.card_shown(before.draft, after.draft, fields.get("card", ""))
    if request.headers.get("accept") != PARTS:
        request.app.state.notices[after.name] = notice
        step = quote(fields.get("step", ""))
        whole = f"&card={quote(card)}" if card else ""
        place = f"?open={step}{whole}#{step}" if step else ""
        return RedirectResponse(f"/batch/{quote(after.name)}{place}", status_code=303)
    shown = request.app.state.shown.get(after.name)
    known: dict[str, str] = {}
    if fields.get("version") == str(before.version):
        seen = before.version, fields.get("card", "")
        known = shown[1] if shown and shown[0] == seen else sections(before, seen[1])
    now = sections(after, card)
    request.app.state.shown[after.name] = ((after.version, card), now)
    parts = [html for step, html in now.items() if known.get(step) != html]
    parts += request.app.state.answering.ready_parts(after)
    html = "\n".join([_evening(after, notice), *parts])
    return HTMLResponse(html, status_code=422 if notice else 200)


def _evening(opened: Opened, notice: str) -> Markup:
    """The bar of the evening's changes."""
    template = templates().get_template("evening.html")
    return Markup(template.render(opened=opened, notice=notice))  # noqa: S704 - rendered by us


def _words(path: KeyPath) -> str:
    """A place of the file in words."""
    words: list[str] = []
    for part in path:
        if isinstance(part, int):
            words[-1] = f"{words[-1].rstrip('s')} {part + 1}"
        else:
            words.append(part)
    return " ".join(words[1:] or words)


def folder_of(request: Request) -> BatchFolder:
    """The folder that the page is open on."""
    folder: BatchFolder = request.app.state.folder
    return folder


def opened_of(request: Request) -> Opened:
    """The batch file of an address, as it is now."""
    try:
        return folder_of(request).open(request.path_params["file"])
    except KeyError:
        raise HTTPException(404) from None


async def fields_of(request: Request) -> dict[str, str]:
    """What the form says, and what its button's address adds."""
    form = await request.form()
    texts = {name: text for name, text in form.items() if isinstance(text, str)}
    return {**request.query_params, **texts}
