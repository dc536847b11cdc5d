"""What is let in: this machine, its own browser, whoever holds the token; nothing too large."""

import secrets
from collections.abc import Mapping
from http import HTTPStatus
from http.cookies import CookieError, SimpleCookie
from ipaddress import ip_address
from pathlib import Path
from socket import AF_INET, AF_INET6, SOCK_DGRAM, socket
from urllib.parse import parse_qs

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from nesting.errors import NestingError
from nesting.page.rendering import render

LOOPBACK = "127.0.0.1"
#: The key of the first address that holds the token.
_KEY = "key"
#: What a browser may send at once: fields of a form, and files with it (a photo, a batch file).
MOST_BYTES = 1_000_000
MOST_BYTES_WITH_FILES = 32_000_000
#: The one thing behind the cookie that everyone is shown: without it a refusal could hardly be read.
_STYLE = "/static/page.css"

#: Nothing but what this server sends is run, shown, or spoken to. A form posts its origin only
#: where a referrer may be sent (Fetch standard, "append a request Origin header").
_HEADERS = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
        "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "referrer-policy": "same-origin",
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
}


class AddressError(NestingError, ValueError):
    """An address that the page cannot be served on."""


class OutsideError(NestingError, ValueError):
    """A name that leads out of the folder."""


class _Refusal(Exception):  # noqa: N818 - an answer, not a mistake
    def __init__(self, status: HTTPStatus, words: str, back: str = "/") -> None:
        self.status = status
        self.html = render("refused", words=words, back=back)


def address_warning(address: str) -> str | None:
    """What has to be said before the page is served on an address; None for this machine's own.

    Raises
    ------
    AddressError
        It is no address in numbers.
    """
    try:
        here = ip_address(address)
    except ValueError:
        raise AddressError(
            f"{address!r}; expected an address in numbers, such as {LOOPBACK}, "
            "or 0.0.0.0 for every network this machine is on"
        ) from None
    if here.is_loopback:
        return None
    return (
        f"Caution: on {address} other machines of your network can reach the page, and what is "
        "sent is not encrypted. Whoever has the whole address can read and change the files of "
        "the folder. Do this in a network of your own only, and end it when you are done."
    )


def seen_address(address: str) -> str:
    """The address by which others see this machine, where the page is served on all it has."""
    if not ip_address(address).is_unspecified:
        return address
    family, some = (AF_INET6, "2001:db8::1") if ":" in address else (AF_INET, "192.0.2.1")
    with socket(family, SOCK_DGRAM) as asking:
        try:
            asking.connect((some, 9))  # looks up the way there, and sends nothing
        except OSError:
            return LOOPBACK if family == AF_INET else "::1"
        return str(asking.getsockname()[0])


def inside(folder: Path, name: str) -> Path:
    """Where a file of the folder is, links followed.

    Raises
    ------
    OutsideError
        The name leads out of the folder, or to the folder itself.
    """
    root = folder.resolve()
    try:
        path = (root / name).resolve()
    except (OSError, ValueError, RuntimeError):  # a null character, a circle of links
        path = root
    if path == root or not path.is_relative_to(root):
        raise OutsideError(f"{name!r}; expected the name of a file in {folder}")
    return path


class Guard:
    """Stands before the page: every request passes it, or is refused with a sentence.

    The token is in the first address alone, and is exchanged there for a cookie. Cookies are not
    kept apart by port, so the name of this one has it.
    """

    def __init__(self, app: ASGIApp, port: int) -> None:
        self.app = app
        self.port = port
        self.token = _new_token()
        self.cookie = f"nesting-{port}"
        self._pass = secrets.token_urlsafe(32)

    def first_address(self, host: str = LOOPBACK) -> str:
        """The address to open, with the token."""
        return f"http://{_in_address(host)}:{self.port}/?{_KEY}={self.token}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, or hand on, one request."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":  # there is nothing here for web sockets
            await receive()
            await send({"type": "websocket.close", "code": 1008})
            return
        headers = _headers(scope)
        try:
            own = self._own_host(scope, headers)
            _refuse_foreign(scope["method"], headers, own)
            if self._has_token(scope):
                await self._hand_out_cookie(send)
                return
            if scope["path"] != _STYLE:
                self._refuse_stranger(headers)
            receive = await _read_body(receive, headers)
        except _Refusal as refusal:
            await _answer(send, refusal.status, refusal.html)
            return
        await self.app(scope, receive, _with_headers(send))

    def _own_host(self, scope: Scope, headers: Mapping[str, list[str]]) -> str:
        """The host the request names: only the very address, in numbers, that it came in on.

        A name could be anyone's, and lead here all the same.
        """
        here = scope["server"][0]
        own = f"{_in_address(here)}:{self.port}"
        if headers.get("host") != [own]:
            raise _Refusal(HTTPStatus.MISDIRECTED_REQUEST, f"This page is at http://{own} alone.")
        return own

    def _has_token(self, scope: Scope) -> bool:
        if scope["method"] != "GET" or scope["path"] != "/":
            return False
        given = parse_qs(scope["query_string"].decode("latin-1")).get(_KEY, [])
        return len(given) == 1 and _same(given[0], self.token)

    async def _hand_out_cookie(self, send: Send) -> None:
        cookie = f"{self.cookie}={self._pass}; Path=/; HttpOnly; SameSite=Strict"
        more = {"location": "/", "set-cookie": cookie}
        await _answer(send, HTTPStatus.SEE_OTHER, "", more)

    def _refuse_stranger(self, headers: Mapping[str, list[str]]) -> None:
        for line in headers.get("cookie", []):
            try:
                cookie = SimpleCookie(line).get(self.cookie)
            except CookieError:
                continue
            if cookie is not None and _same(cookie.value, self._pass):
                return
        raise _Refusal(
            HTTPStatus.FORBIDDEN,
            "This page opens with the whole address that nesting printed when it started, "
            f"the one with {_KEY}= in it. Open that one, or start nesting again.",
            back="",
        )


def _new_token() -> str:
    """78 bits of chance, to be typed on a tablet: no letters that look alike, in groups of four."""
    letters = "23456789abcdefghjkmnpqrstuvwxyz"
    return "-".join("".join(secrets.choice(letters) for _ in range(4)) for _ in range(4))


def _in_address(host: str) -> str:
    return f"[{host}]" if ":" in host else host


def _same(given: str, expected: str) -> bool:
    return secrets.compare_digest(given.encode(), expected.encode())


def _headers(scope: Scope) -> dict[str, list[str]]:
    headers: dict[str, list[str]] = {}
    for name, value in scope["headers"]:
        headers.setdefault(name.decode("latin-1").lower(), []).append(value.decode("latin-1"))
    return headers


def _refuse_foreign(method: str, headers: Mapping[str, list[str]], own: str) -> None:
    """Refuse what another site has the browser send: a post has to come from this page."""
    origins = headers.get("origin", [])
    changes = method not in ("GET", "HEAD")
    if (changes and not origins) or any(origin != f"http://{own}" for origin in origins):
        raise _Refusal(HTTPStatus.FORBIDDEN, "This came from another page, and was not done.")
    # Pages on other ports of this machine are the same site, and are sent the cookie.
    sites = headers.get("sec-fetch-site", [])
    if any(site not in ("same-origin", "none") for site in sites):
        raise _Refusal(HTTPStatus.FORBIDDEN, "This came from another page, and was not answered.")


async def _read_body(receive: Receive, headers: Mapping[str, list[str]]) -> Receive:
    """Take in all of what is sent, as long as it is not too much, to be handed on whole."""
    with_files = headers.get("content-type", [""])[0].startswith("multipart/form-data")
    most = MOST_BYTES_WITH_FILES if with_files else MOST_BYTES
    too_large = _Refusal(
        HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
        f"This is too large: at most {most // 1_000_000} MB are taken in at once.",
    )
    lengths = headers.get("content-length", ["0"])
    if any(not text.isdecimal() or len(text) > 20 or int(text) > most for text in lengths):
        raise too_large
    body = bytearray()
    more = True
    while more:
        message = await receive()
        if message["type"] == "http.disconnect":
            break
        body += message.get("body", b"")
        more = message.get("more_body", False)
        if len(body) > most:
            raise too_large
    if more:
        return receive
    whole: list[Message] = [{"type": "http.request", "body": bytes(body), "more_body": False}]

    async def receive_whole() -> Message:
        return whole.pop() if whole else await receive()

    return receive_whole


def _with_headers(send: Send) -> Send:
    async def send_with_headers(message: Message) -> None:
        if message["type"] == "http.response.start":
            there = {name.lower() for name, _ in message.get("headers", ())}
            added = [
                (name.encode(), value.encode())
                for name, value in _HEADERS.items()
                # How long something may be kept is for the page to say: a style sheet, a photo.
                if name != "cache-control" or name.encode() not in there
            ]
            message["headers"] = [*message.get("headers", ()), *added]
        await send(message)

    return send_with_headers


async def _answer(
    send: Send, status: HTTPStatus, html: str, more: Mapping[str, str] | None = None
) -> None:
    body = html.encode()
    about = {
        "content-type": "text/html; charset=utf-8",
        "content-length": str(len(body)),
        # What is left of a body that was not read must not be taken for another request.
        "connection": "close",
    }
    headers = [
        (name.encode(), value.encode()) for name, value in (about | dict(more or {})).items()
    ]
    guarded = _with_headers(send)
    await guarded({"type": "http.response.start", "status": int(status), "headers": headers})
    await guarded({"type": "http.response.body", "body": body})
