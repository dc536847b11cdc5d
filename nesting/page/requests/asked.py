"""What a request is about: its folder, batch and fields, and whether it is said again."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from unicodedata import normalize

from starlette.exceptions import HTTPException
from starlette.requests import Request

from nesting.files import InputError
from nesting.page.folder.batch_folder import BatchFolder, Opened
from nesting.page.requests.answering import Answering, BatchState

FormFields = Mapping[str, str]


def folder_of(request: Request) -> BatchFolder:
    """The folder that the page is open on."""
    folder: BatchFolder = request.app.state.folder
    return folder


def opened_of(request: Request) -> Opened:
    """The batch file of an address, as it is now."""
    with answering_faults():
        return folder_of(request).open(request.path_params["file"])


@contextmanager
def answering_faults() -> Iterator[None]:
    """Answer that a file is not there, or cannot be read any more: its own page says how."""
    try:
        yield
    except KeyError:
        raise HTTPException(404) from None
    except InputError as error:
        raise HTTPException(409, str(error)) from None


def answering_of(request: Request) -> Answering:
    """The searches of the page."""
    answering: Answering = request.app.state.answering
    return answering


def state_of(request: Request) -> BatchState:
    """What the page knows of the batch of an address."""
    return answering_of(request).state(request.path_params["file"])


async def fields_of(request: Request) -> dict[str, str]:
    """What a form was filled in with, and what its address says."""
    form = await request.form()
    typed = {name: normalize("NFC", text) for name, text in form.items() if isinstance(text, str)}
    return {**request.query_params, **typed}


def is_said_again(request: Request, fields: FormFields) -> bool:
    """Whether this very press is done already: its answer was lost, so the script asks again."""
    return "press" in fields and fields["press"] in request.app.state.pressed


def note_said(request: Request, fields: FormFields) -> None:
    """Note that what was pressed is done."""
    request.app.state.pressed.add(fields.get("press"))
