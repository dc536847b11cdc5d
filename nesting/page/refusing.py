"""Refusals as pages: what is wrong, and the way back."""

from http import HTTPStatus
from urllib.parse import quote

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from nesting.page.rendering import render

_ASTRAY = "What this is about is not there, or no longer: load the sheet again."
_MISTAKE = "This went wrong by a mistake of this program. What was saved before is as it was."


async def refused(request: Request, error: Exception) -> Response:
    """The page of a request that could not be done."""
    if not isinstance(error, HTTPException):
        error = HTTPException(500)
    words = error.detail
    if words == HTTPStatus(error.status_code).phrase:
        words = _ASTRAY if error.status_code < 500 else _MISTAKE
    file = request.path_params.get("file")
    sheet = f"/batch/{quote(file)}" if file else "/"
    back = "/" if request.url.path == sheet else sheet
    html = render("refused", words=words, back=back)
    return HTMLResponse(html, error.status_code, error.headers)
