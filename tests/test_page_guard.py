"""Who is let in to the page, with what, and how far."""

import asyncio
import re
from ipaddress import ip_address
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from nesting.page.guard import (
    MOST_BYTES,
    MOST_BYTES_WITH_FILES,
    AddressError,
    Guard,
    OutsideError,
    address_warning,
    inside,
    seen_address,
)

PORT = 8123
OWN = f"127.0.0.1:{PORT}"
ORIGIN = f"http://{OWN}"


class Answer(NamedTuple):
    """What came back."""

    status: int
    headers: dict[str, str]
    body: bytes


async def echo(scope: Any, receive: Any, send: Any) -> None:
    """A page that sends back what it was sent."""
    message = await receive()
    kept = [(b"cache-control", b"max-age=60")] if scope["path"] == "/static/page.css" else []
    await send({"type": "http.response.start", "status": 200, "headers": kept})
    await send({"type": "http.response.body", "body": message["body"]})


def ask(
    guard: Guard,
    address: str = "/",
    *,
    method: str = "GET",
    server: str = "127.0.0.1",
    body: tuple[bytes, ...] = (b"",),
    **headers: str,
) -> Answer:
    """Send a request as uvicorn hands it on; ``sec_fetch_site`` is ``Sec-Fetch-Site``."""
    path, _, query = address.partition("?")
    given = {"host": OWN, "cookie": f"{guard.cookie}={guard._pass}"} | {
        name.replace("_", "-"): value for name, value in headers.items()
    }
    scope = {
        "type": "http", "method": method, "path": path, "query_string": query.encode(),
        "server": (server, PORT), "client": ("127.0.0.1", 50000),
        "headers": [(name.encode(), value.encode()) for name, value in given.items() if value],
    }  # fmt: skip
    chunks = [
        {"type": "http.request", "body": chunk, "more_body": number < len(body)}
        for number, chunk in enumerate(body, 1)
    ]
    sent: list[Any] = []

    async def receive() -> Any:
        return chunks.pop(0) if chunks else {"type": "http.disconnect"}

    async def send(message: Any) -> None:
        sent.append(message)

    asyncio.run(guard(scope, receive, send))
    named = {name.decode(): value.decode() for name, value in sent[0]["headers"]}
    assert len(named) == len(sent[0]["headers"])
    return Answer(sent[0]["status"], named, b"".join(one.get("body", b"") for one in sent))


@pytest.fixture
def guard() -> Guard:
    """A guard before the page that echoes."""
    return Guard(echo, PORT)


def test_the_token_is_exchanged_for_a_cookie_that_opens_the_page(guard: Guard) -> None:
    """The cookie's name has the port, no script sees it, no other site has it sent."""
    first = guard.first_address()
    assert first.startswith(f"{ORIGIN}/?key=")
    answer = ask(guard, first.removeprefix(ORIGIN), cookie="")
    assert (answer.status, answer.headers["location"]) == (303, "/")
    value, *attributes = answer.headers["set-cookie"].split("; ")
    assert value.startswith(f"nesting-{PORT}=")
    assert set(attributes) == {"Path=/", "HttpOnly", "SameSite=Strict"}
    assert guard.token not in value
    assert ask(guard, "/", cookie=value).status == 200
    assert ask(guard, "/", cookie=f"other=1; {value}").status == 200


@pytest.mark.parametrize(
    "cookie", ["", f"nesting-{PORT}=", f"nesting-{PORT}=guess", f"nesting-{PORT + 1}=guess", "é=\x00;;="]
)  # fmt: skip
def test_without_the_cookie_nothing_is_shown(guard: Guard, cookie: str) -> None:
    """The refusal says which address opens the page, and not what its token is."""
    for address in ("/", "/batch/supper.yaml", "/static/page.js", "/static/../page.css"):
        answer = ask(guard, address, cookie=cookie)
        assert answer.status == 403
        assert b"key=" in answer.body
        assert guard.token.encode() not in answer.body


def test_a_refusal_has_the_look_of_the_page(guard: Guard) -> None:
    """It can be read on a telephone: everyone is shown the style sheet, and nothing else."""
    post: Any = {"method": "POST", "origin": ORIGIN, "content_length": str(MOST_BYTES + 1)}
    for answer in (ask(guard, cookie=""), ask(guard, host="orchard.example"), ask(guard, **post)):
        assert answer.headers["content-type"] == "text/html; charset=utf-8"
        assert b'<meta name="viewport"' in answer.body
        assert b'href="/static/page.css"' in answer.body
    assert ask(guard, "/static/page.css", cookie="").status == 200
    assert ask(guard, "/static/page.css", cookie="", host="orchard.example").status == 421
    assert ask(guard, "/static/page.css", cookie="", sec_fetch_site="cross-site").status == 403


def test_each_start_has_a_token_and_a_cookie_of_its_own() -> None:
    """What opened the page of one start opens none of another."""
    first, second = Guard(echo, PORT), Guard(echo, PORT)
    assert first.token != second.token
    assert re.fullmatch(r"([2-9a-hjkmnp-z]{4}-){3}[2-9a-hjkmnp-z]{4}", first.token)
    cookie = f"{first.cookie}={first._pass}"
    assert ask(first, cookie=cookie).status == 200
    assert ask(second, cookie=cookie).status == 403
    assert ask(second, f"/?key={first.token}", cookie="").status == 403
    assert ask(second, f"/?key={second.token}&key=other", cookie="").status == 403
    assert ask(second, f"/plan?key={second.token}", cookie="").status == 403


@pytest.mark.parametrize(
    "host",
    ["", "localhost:8123", "orchard.example", f"orchard.example:{PORT}", "127.0.0.1", "127.0.0.1:80",
     f"127.0.0.1:{PORT}.orchard.example", f"192.168.0.9:{PORT}"],
)  # fmt: skip
def test_a_name_that_leads_here_is_refused(guard: Guard, host: str) -> None:
    """A site whose name is made to lead to this machine has the browser name that site."""
    answer = ask(guard, guard.first_address().removeprefix(ORIGIN), host=host)
    assert answer.status == 421
    assert "set-cookie" not in answer.headers


def test_on_a_network_the_address_it_came_in_on_is_its_own(guard: Guard) -> None:
    """A machine has several addresses, each of which names the page; one in six numbers, too."""
    assert ask(guard, server="192.168.0.9", host=f"192.168.0.9:{PORT}").status == 200
    assert ask(guard, server="192.168.0.9", host=OWN).status == 421
    assert ask(guard, server="fd00::9", host=f"[fd00::9]:{PORT}").status == 200
    assert guard.first_address("fd00::9").startswith(f"http://[fd00::9]:{PORT}/")


@pytest.mark.parametrize("origin", ["", "null", "http://orchard.example", f"https://{OWN}", "http://127.0.0.1:80"])  # fmt: skip
def test_what_another_site_posts_is_not_done(guard: Guard, origin: str) -> None:
    """A post has to name this page as the one it comes from."""
    assert ask(guard, "/set", method="POST", origin=origin, body=(b"a",)).status == 403
    assert ask(guard, "/set", method="POST", origin=ORIGIN, body=(b"a",)).status == 200


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_what_another_site_asks_for_is_not_answered(guard: Guard, site: str) -> None:
    """Another port of this machine is the same site, and the browser sends it our cookie."""
    assert ask(guard, sec_fetch_site=site).status == 403
    assert ask(guard, sec_fetch_site="same-origin").status == 200
    assert ask(guard, sec_fetch_site="none").status == 200
    assert ask(guard, origin="http://127.0.0.1:80").status == 403


def test_every_answer_forbids_what_is_not_ours(guard: Guard) -> None:
    """No script but ours is run, nothing is sent elsewhere, no frame holds the page; refusals, too."""
    for answer in (ask(guard), ask(guard, cookie=""), ask(guard, host="orchard.example")):
        rules = dict(
            rule.strip().split(" ", 1)
            for rule in answer.headers["content-security-policy"].split(";")
        )
        assert rules.pop("default-src") == "'none'"
        assert rules.pop("base-uri") == rules.pop("frame-ancestors") == "'none'"
        assert set(rules.values()) == {"'self'"}
        assert {"script-src", "style-src", "form-action"} <= set(rules)
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["cache-control"] == "no-store"
    assert ask(guard, "/static/page.css").headers["cache-control"] == "max-age=60"


def test_what_is_sent_is_handed_on_whole(guard: Guard) -> None:
    """A body in several parts reaches the page as one."""
    answer = ask(guard, "/set", method="POST", origin=ORIGIN, body=(b"wind", b"", b"fall"))
    assert answer.body == b"windfall"


@pytest.mark.parametrize(
    ("kind", "most"),
    [
        ("application/x-www-form-urlencoded", MOST_BYTES),
        ("multipart/form-data; boundary=x", MOST_BYTES_WITH_FILES),
    ],
)
def test_too_much_at_once_is_refused(guard: Guard, kind: str, most: int) -> None:
    """By what it says its length is, before any of it is read, and by what comes."""
    post: Any = {"method": "POST", "origin": ORIGIN, "content_type": kind}
    half = b"x" * (most // 2)
    assert ask(guard, "/set", body=(half, half), **post).status == 200
    assert ask(guard, "/set", body=(half, half, b"x"), **post).status == 413
    assert ask(guard, "/set", content_length=str(most), **post).status == 200
    for length in (str(most + 1), "9" * 5000, "-1", "many"):
        refused = ask(guard, "/set", content_length=length, **post)
        assert refused.status == 413
        assert refused.headers["connection"] == "close"


def test_web_sockets_are_closed_and_starting_up_is_let_through() -> None:
    """The page has no use for the first, and its server says when it is there with the second."""
    seen: list[str] = []

    async def page(scope: Any, receive: Any, send: Any) -> None:
        seen.append(scope["type"])

    sent: list[Any] = []

    async def receive() -> Any:
        return {"type": "websocket.connect"}

    async def send(message: Any) -> None:
        sent.append(message)

    guard = Guard(page, PORT)
    asyncio.run(guard({"type": "websocket", "headers": []}, receive, send))
    assert [one["type"] for one in sent] == ["websocket.close"]
    asyncio.run(guard({"type": "lifespan"}, receive, send))
    assert seen == ["lifespan"]


def test_an_address_that_others_reach_is_warned_of() -> None:
    """Those of this machine alone need no warning; a name is refused, for it may lead anywhere."""
    assert address_warning("127.0.0.1") is None
    assert address_warning("::1") is None
    for address in ("0.0.0.0", "192.168.0.9", "::"):  # noqa: S104
        assert "Caution" in (address_warning(address) or "")
    for name in ("localhost", "orchard.example", "", "127.0.0.1:80"):
        with pytest.raises(AddressError, match="address in numbers"):
            address_warning(name)


def test_on_all_addresses_one_that_others_see_is_told() -> None:
    """Nobody can open 0.0.0.0; an address of one's own choice is told as it is."""
    for everywhere in ("0.0.0.0", "::"):  # noqa: S104
        seen = ip_address(seen_address(everywhere))
        assert not seen.is_unspecified
        assert seen.version == ip_address(everywhere).version
    assert seen_address("192.168.0.9") == "192.168.0.9"


def test_names_stay_in_the_folder(tmp_path: Path) -> None:
    """Neither dots, nor a path from the root, nor a link lead out of it."""
    folder = tmp_path / "cards"
    folder.mkdir()
    (tmp_path / "secret.yaml").touch()
    (folder / "link.yaml").symlink_to(tmp_path / "secret.yaml")
    (folder / "circle").symlink_to(folder / "circle")
    (tmp_path / "cards-too").mkdir()
    assert inside(folder, "supper.yaml") == folder / "supper.yaml"
    assert inside(folder, "photos/../supper.yaml") == folder / "supper.yaml"
    outside = ("../secret.yaml", "..", ".", "", "/etc/hosts", str(tmp_path / "secret.yaml"),
               "link.yaml", "link.yaml/x", "../cards-too/a", "a/../../secret.yaml", "null\0")  # fmt: skip
    for name in outside:
        with pytest.raises(OutsideError, match="file in"):
            inside(folder, name)
    assert (folder / "circle").is_symlink()
