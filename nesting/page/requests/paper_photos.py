"""Photos of papers: kept, and shown where the paper is drawn."""

from pathlib import Path
from urllib.parse import quote

from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, RedirectResponse, Response

from nesting.page.folder.draft import Draft, pointer_of
from nesting.page.folder.photos import FOLDER, PhotoError, keep_for_new_name, keep_photo, photo_of
from nesting.page.pictures.prints import Photos
from nesting.page.requests.asked import folder_of, state_of
from nesting.page.steps.showing import Refusal
from nesting.papers import FaceName


def photos_of(folder: Path, draft: Draft) -> Photos:
    """The addresses of the photos of a batch's papers, each of the front; another photo has another."""
    found: dict[tuple[str, FaceName], str] = {}
    if not (folder / FOLDER).is_dir():
        return found
    for name in draft.keys("/papers"):
        path = photo_of(folder, name)
        if path.is_file():
            found[name, "front"] = f"/photo?of={quote(name)}&at={path.stat().st_mtime_ns}"
    return found


def keep_with_name(folder: Path, before: Draft, after: Draft) -> None:
    """Have the photo of a paper that has another name now under that one, too."""
    old, new = ([*draft.keys("/papers")] for draft in (before, after))
    renamed = [one for one in zip(old, new, strict=False) if one[0] != one[1]]
    if len(old) == len(new) and len(renamed) == 1:
        keep_for_new_name(folder, *renamed[0])


async def keep(request: Request) -> Response:
    """Keep the photos that a form sends, each by the name of its paper."""
    folder, file = folder_of(request).path, request.path_params["file"]
    refused: dict[str, Refusal] = {}
    opened = place = "papers"
    async with request.form() as form:
        for name, photo in form.items():
            if isinstance(photo, UploadFile) and photo.size:
                opened = pointer_of(("papers", name))
                place = f"photo:{quote(opened, safe='')}"
                try:
                    keep_photo(folder, name, await photo.read())
                except PhotoError as error:
                    refused[f"photo:{opened}"] = Refusal("", str(error))
    state_of(request).refused = refused
    return RedirectResponse(f"/batch/{quote(file)}?open={quote(opened)}#{place}", status_code=303)


async def show(request: Request) -> Response:
    """A photo, which its address names with the time it was kept."""
    path = photo_of(folder_of(request).path, request.query_params.get("of", ""))
    if not path.is_file():
        raise HTTPException(404)
    return FileResponse(path, headers={"cache-control": "private, max-age=86400, immutable"})
