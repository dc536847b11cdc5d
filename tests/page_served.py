"""The page of a folder: served beside the test, or by the command in a process of its own."""

import os
import re
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPResponse
from pathlib import Path
from queue import Queue
from threading import Thread
from urllib.parse import urlencode, urlsplit

from starlette.testclient import TestClient

from nesting.page.serving import serve

#: How long something that has to happen is waited for: nothing is told from how long it takes.
PATIENCE = 60


@dataclass(frozen=True, slots=True)
class Served:
    """The page of a folder."""

    folder: Path
    address: str


@dataclass(frozen=True, slots=True)
class Started(Served):
    """The page of a folder, as its user starts it."""

    process: subprocess.Popen[str]

    def kill(self) -> None:
        """End it as a power cut would."""
        self.process.kill()
        self.process.wait()


def wait_for(client: TestClient, address: str, words: str) -> str:
    """A page, once it says these words."""
    ends = time.monotonic() + PATIENCE
    while words not in (html := client.get(address).text):
        assert time.monotonic() < ends, f"it never said {words}"
        time.sleep(0.05)
    return html


@contextmanager
def served(folder: Path) -> Iterator[Served]:
    """Serve a folder's page beside the test, with a stash of its own, and end it by its button.

    So what it needs is loaded once, not for every page.
    """
    said: Queue[str] = Queue()
    stash = _data(folder) / "stash.db"
    kwargs = {"say": said.put, "browser": False}
    serving = Thread(target=serve, args=(folder, stash), kwargs=kwargs, daemon=True)
    serving.start()
    one = Served(folder, _address(said.get(timeout=PATIENCE)))
    try:
        yield one
    finally:
        Visitor(one).post("/end")
        serving.join(PATIENCE)
        assert not serving.is_alive()


@contextmanager
def started(folder: Path) -> Iterator[Started]:
    """Start ``nesting page`` on a folder, with a stash of its own, and end it as the system does."""
    environment = os.environ | {"XDG_DATA_HOME": str(_data(folder))}
    command = [sys.executable, "-m", "nesting.cli", "page", "--no-browser", str(folder)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as process:
        try:
            assert process.stdout is not None
            yield Started(folder, _address(process.stdout.readline()), process)
        finally:
            process.terminate()
            try:
                process.wait(PATIENCE)
            finally:
                process.kill()


def _data(folder: Path) -> Path:
    return folder.parent / f"{folder.name}-data"


def _address(said: str) -> str:
    """The first address."""
    found = re.search(r"http://\S+", said)
    assert found is not None, f"the page printed no address: {said!r}"
    return found[0]


def memory_of(served: Started) -> int:
    """The memory that the page and its workers take, in bytes, what they share counted once."""
    tasks, total = [served.process.pid], 0
    while tasks:
        process = Path(f"/proc/{tasks.pop()}")
        rollup = (process / "smaps_rollup").read_text()
        total += 1024 * int(re.findall(r"^Pss: +(\d+) kB", rollup, re.MULTILINE)[0])
        for task in (process / "task").iterdir():
            tasks += map(int, (task / "children").read_text().split())
    return total


class Visitor:
    """A visitor without a browser: has the cookie, and posts as the page's script does."""

    def __init__(self, served: Served) -> None:
        parts = urlsplit(served.address)
        assert parts.hostname is not None
        self.host, self.port = parts.hostname, parts.port
        self.origin = f"http://{parts.netloc}"
        answer = self.ask("GET", f"{parts.path}?{parts.query}", cookie="")
        self.cookie = str(answer.getheader("set-cookie")).partition(";")[0]

    def ask(self, method: str, path: str, body: str = "", **headers: str) -> HTTPResponse:
        """Send one request over a connection of its own; the answer, read to its end."""
        connection = HTTPConnection(self.host, self.port, timeout=PATIENCE)
        given = {"cookie": self.cookie} if "cookie" not in headers else {}
        try:
            connection.request(method, path, body, given | headers)
            answer = connection.getresponse()
            answer.text = answer.read().decode()  # type: ignore[attr-defined]
            return answer
        finally:
            connection.close()

    def post(self, path: str, *, script: bool = False, **fields: str) -> HTTPResponse:
        """Post a form, as a browser does or as the page's script does."""
        kind = "application/x-www-form-urlencoded"
        headers = {"content-type": kind, "origin": self.origin}
        if script:
            headers["accept"] = "text/html-parts"
        return self.ask("POST", path, urlencode(fields), **headers)
