"""What the page's forms do: the first screen, the sheet, and every change of a batch file."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from urllib.parse import quote

from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from nesting.batch import KeyPath
from nesting.files import InputError
from nesting.page.folder.batch_folder import BatchFolder, Opened
from nesting.page.folder.draft import NAME_OF, Draft, pointer_of
from nesting.page.rendering import render
from nesting.page.requests.asked import (
    FormFields,
    answering_faults,
    answering_of,
    fields_of,
    folder_of,
    is_said_again,
    note_said,
    opened_of,
    state_of,
)
from nesting.page.requests.paper_photos import keep_with_name, photos_of
from nesting.page.steps import cards
from nesting.page.steps.all_steps import changed_parts, sections
from nesting.page.steps.showing import Refusal, Said, Showing
from nesting.page.steps.starting import start_of

#: What ``page.js`` asks for: only the steps that a change has changed.
PARTS = "text/html-parts"
_MEANWHILE = "This was changed elsewhere meanwhile: load the page again."
#: What is said for those keys that are no words of the page.
_SAID = {
    "have": "how many", "make": "how many", "count": "how many", "buy": "can be bought again",
}  # fmt: skip
#: What a form asks of a draft: what comes of it, and what was done in words.
DraftChange = Callable[[Draft, FormFields], tuple[Draft, str]]


async def first(request: Request) -> Response:
    """The first screen: the folder's batch files, or begin a new one."""
    return _first(request, "", "in", ())


def _first(request: Request, typed: str, unit: str, faults: tuple[str, ...]) -> Response:
    folder = folder_of(request)
    files = [(file, folder.title(file)) for file in folder.names()]
    html = render("first", files=files, typed=typed, unit=unit, faults=faults)
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
    return HTMLResponse(render("ended"))


async def sheet(request: Request) -> Response:
    """The one long sheet of a batch."""
    file, folder = request.path_params["file"], folder_of(request)
    try:
        opened = folder.open(file)
    except KeyError:
        raise HTTPException(404) from None
    except InputError as error:
        html = render("unread", file=file, faults=error.messages, can_undo=folder.can_undo(file))
        return HTMLResponse(html, status_code=422)
    refused = state_of(request).take_refused()
    showing = _showing(request, opened, request.query_params, refused)
    said = Said(showing)
    steps = sections(showing, said)
    answers = answering_of(request).parts(opened, showing.unfolded)
    _note_shown(request, opened, steps)
    html = render(
        "sheet",
        file=file,
        opened=opened,
        evening=_evening(opened, said),
        sections=map(Markup, steps.values()),
        answers={name: Markup(html) for name, html in answers.items()},  # noqa: S704 - rendered by us
    )  # fmt: skip
    return HTMLResponse(html)


async def set_fields(request: Request) -> Response:
    """Put what was typed at its places: each field is named by its pointer."""
    return await changed(request, lambda draft, _: (draft, ""))


async def add(request: Request) -> Response:
    """Add an entry to a list, or a name to a mapping, with the values that it starts from."""

    def change(draft: Draft, fields: FormFields) -> tuple[Draft, str]:
        name = fields.get("name", "").strip()
        if fields["pointer"] == "/papers":
            known = folder_of(request).stash_papers()
            name = next((one for one in known if one.casefold() == name.casefold()), name)
        start = start_of(draft, {**fields, "name": name})
        called = start.get("name", "one more") if isinstance(start, dict) else "one more"
        draft = draft.with_entry(fields["pointer"], name, start)
        return draft, f"{name or called} added"

    return await changed(request, change)


async def remove(request: Request) -> Response:
    """Take an entry away."""

    def change(draft: Draft, fields: FormFields) -> tuple[Draft, str]:
        path = draft.path(fields["pointer"])
        return Draft(draft.file.remove(path)), f"{_words(draft, path)} taken out"

    return await changed(request, change)


async def move(request: Request) -> Response:
    """Have an entry of a list and the one after it, or before it, change places."""

    def change(draft: Draft, fields: FormFields) -> tuple[Draft, str]:
        *above, number = draft.path(fields["pointer"])
        other = int(number) + (-1 if fields.get("to") == "earlier" else 1)
        if not 0 <= other < len(draft.keys(pointer_of(tuple(above)))):
            raise LookupError(other)
        moved = draft.file.swap(tuple(above), int(number), other)
        return Draft(moved), f"{_words(draft, (*above, number))} moved"

    return await changed(request, change)


async def copy(request: Request) -> Response:
    """Copy a card under another name."""

    def change(draft: Draft, fields: FormFields) -> tuple[Draft, str]:
        path, name = draft.path(fields["pointer"]), fields.get("name", "").strip()
        name = draft.free_name(path[:-1], name or str(path[-1]))
        return Draft(draft.file.copy(path, name)), f"{path[-1]} copied"

    return await changed(request, change)


async def write_out(request: Request) -> Response:
    """Write a paper out that is left to the stash."""

    def change(draft: Draft, fields: FormFields) -> tuple[Draft, str]:
        path = draft.path(fields["pointer"])
        return draft.written_out(fields["pointer"]), f"{_words(draft, path)} written out"

    return await changed(request, change)


async def look(request: Request) -> Response:
    """The card as it will look with what is being typed; nothing where that has a fault yet."""
    fields, opened = await fields_of(request), opened_of(request)
    draft = opened.draft
    try:
        for name, text in fields.items():
            if name.startswith("/cards/"):
                draft = draft.with_field(name, text.strip())
    except (InputError, LookupError, TypeError, ValueError):
        return Response(status_code=204)
    if draft.faults.keys() - opened.draft.faults.keys():
        return Response(status_code=204)
    view = cards.view(replace(_showing(request, opened, fields), draft=draft))
    return HTMLResponse(render("card_look", view))


async def undo(request: Request) -> Response:
    """Take the last change back."""
    return await _step(request, BatchFolder.undo)


async def redo(request: Request) -> Response:
    """Make the change again that was taken back."""
    return await _step(request, BatchFolder.redo)


async def _step(request: Request, go: Callable[[BatchFolder, str, str | None], Opened]) -> Response:
    fields = await fields_of(request)
    if is_said_again(request, fields):
        after = opened_of(request)
    else:
        with answering_faults():
            after = go(folder_of(request), request.path_params["file"], fields.get("version"))
        note_said(request, fields)
    return answered(request, fields, _shown(request, fields, after) or after.draft, after)


async def changed(request: Request, change: DraftChange) -> Response:
    """Put every field of the form at its place, then do what was asked; all of it is one change."""
    fields = await fields_of(request)
    before = opened_of(request)
    if is_said_again(request, fields):
        return answered(request, fields, _shown(request, fields, before) or before.draft, before)
    draft, done = before.draft, []
    refused: dict[str, Refusal] = {}
    try:
        for name, text in _typed(request, fields, before).items():
            try:
                draft = draft.with_field(name, text)
                words = _words(before.draft, before.draft.path(name.removeprefix(NAME_OF)))
                said = {"true": "yes", "false": "no"}.get(text, text)
                done.append(f"{words}: {said}" if said else f"{words} taken out")
            except InputError as error:
                refused[name] = Refusal(text, str(error))
        draft, words = change(draft, fields)
        done += [words] if words else []
    except InputError as error:
        refused[fields.get("pointer", "")] = Refusal(fields.get("name", ""), str(error))
    except (LookupError, TypeError, ValueError):
        raise HTTPException(400) from None
    after = before
    if draft.text != before.draft.text:
        keep_with_name(folder_of(request).path, before.draft, draft)
        after = folder_of(request).change(before.name, ", ".join(done)[:80], draft)
        note_said(request, fields)
    return answered(request, fields, before.draft, after, refused)


def _typed(request: Request, fields: FormFields, now: Opened) -> dict[str, str]:
    """The fields that hold something else than what their form was shown with, new names last."""
    typed = {name: text.strip() for name, text in fields.items() if name.startswith(("/", NAME_OF))}
    asks = typed or "pointer" in fields
    shown = _shown(request, fields, now) if asks else now.draft
    if shown is None:
        raise HTTPException(409, _MEANWHILE)
    changed = {name: text for name, text in typed.items() if not shown.says(name, text)}
    for name in (*changed, fields.get("pointer", "")):
        _refuse_astray(name, shown, now.draft)
    return dict(sorted(changed.items(), key=lambda one: one[0].startswith(NAME_OF)))


def _shown(request: Request, fields: FormFields, now: Opened) -> Draft | None:
    """What a form was shown with; None where that is no longer on record."""
    version = fields.get("version", str(now.version))
    if version == str(now.version):
        return now.draft
    return folder_of(request).draft_of(now.name, int(version))


def _refuse_astray(name: str, shown: Draft, now: Draft) -> None:
    """Refuse what is in an entry that is gone, or is told by its number in a list that is another one."""
    path = shown.path(name.removeprefix(NAME_OF)) if "/" in name else ()
    if path[2:] and isinstance(path[1], str) and path[1] not in now.keys(f"/{path[0]}"):
        raise HTTPException(409, _MEANWHILE)
    lists = [path[:depth] for depth, part in enumerate(path) if isinstance(part, int)]
    if any(shown.file.value(one) != now.file.value(one) for one in lists):
        raise HTTPException(409, _MEANWHILE)


def answered(
    request: Request,
    fields: FormFields,
    before: Draft,
    after: Opened,
    refused: Mapping[str, Refusal] | None = None,
) -> Response:
    """The steps that changed, for the script; the sheet again, without it.

    The script is told the answer as news.
    """
    state, refused = state_of(request), refused or {}
    card = fields.get("card", "")
    if card and card not in before.keys("/cards"):  # it may have been renamed elsewhere
        before = _shown(request, fields, after) or before
    card = cards.card_shown(before, after.draft, card)
    if request.headers.get("accept") != PARTS:
        state.refused = refused
        step = quote(fields.get("step", ""))
        whole = f"&card={quote(card)}" if card else ""
        place = f"?open={step}{whole}#{step}" if step else ""
        return RedirectResponse(f"/batch/{quote(after.name)}{place}", status_code=303)
    version, known = state.shown
    if fields.get("version") != str(version):
        known = {}
    showing = _showing(request, after, {**fields, "card": card}, refused)
    said = Said(showing)
    steps = sections(showing, said)
    bare = _note_shown(request, after, steps)
    parts = [
        part for step, html in bare.items() for part in changed_parts(known.get(step, ""), html)
    ]
    answering_of(request).look_again(after)
    html = "\n".join([_evening(after, said), *parts])
    return HTMLResponse(html, status_code=422 if refused else 200)


def _note_shown(request: Request, opened: Opened, steps: Mapping[str, str]) -> Mapping[str, str]:
    """Keep the steps as they are shown now, but for the version of the file that each names."""
    version = f'name="version" value="{opened.version}"'
    bare = {step: html.replace(version, "") for step, html in steps.items()}
    state_of(request).shown = opened.version, bare
    return bare


def _showing(
    request: Request,
    opened: Opened,
    fields: FormFields,
    refused: Mapping[str, Refusal] | None = None,
) -> Showing:
    """What the sheet is drawn up from; a form or an address may say what is open."""
    folder = folder_of(request)
    return Showing(
        opened.name,
        opened.version,
        opened.draft,
        photos=photos_of(folder.path, opened.draft),
        stash=folder.stash_papers(),
        unfolded=fields.get("open", ""),
        card=fields.get("card", ""),
        refused=refused or {},
    )


def _evening(opened: Opened, said: Said) -> Markup:
    """The bar of the evening's changes; it says why one was refused where no field has said it."""
    whys = [one.why for name, one in said.refused.items() if name not in said.shown]
    notice = " ".join(whys) or ("Not saved." if said.refused else "")
    return Markup(render("evening", opened=opened, notice=notice))  # noqa: S704 - rendered by us


def _words(draft: Draft, path: KeyPath) -> str:
    """A place of the file in words; what has a name in a list, a layer or a piece, goes by it alone."""
    words: list[str] = []
    for depth, part in enumerate(path, 1):
        if not isinstance(part, int):
            words.append(_SAID.get(part, part) if 2 < depth == len(path) else part)
        elif name := draft.text_at(pointer_of((*path[:depth], "name"))):
            words = [words[0], name]
        else:
            words[-1] = f"{words[-1].rstrip('s')} {part + 1}"
    return " ".join(words[1:] or words)
