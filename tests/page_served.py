"""The page as its user starts it: the command, in a process of its own, and its address."""

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPResponse
from pathlib import Path
from urllib.parse import urlencode, urlsplit


@dataclass(frozen=True, slots=True)
class Served:
    """The page of a folder."""

    folder: Path
    address: str
    process: subprocess.Popen[str]

    def kill(self) -> None:
        """End it as a power cut would."""
        self.process.kill()
        self.process.wait()


@contextmanager
def served(folder: Path, *options: str) -> Iterator[Served]:
    """Serve a folder's page by ``nesting page``, with a stash of its own, and end it as Ctrl-C does."""
    data = folder.parent / f"{folder.name}-data"
    environment = os.environ | {"XDG_DATA_HOME": str(data)}
    command = [sys.executable, "-m", "nesting.cli", "page", "--no-browser", *options, str(folder)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as process:
        try:
            yield Served(folder, _address(process), process)
        finally:
            process.terminate()
            process.wait(20)


def _address(process: subprocess.Popen[str]) -> str:
    """The first address, once it is printed."""
    assert process.stdout is not None
    for line in process.stdout:
        found = re.search(r"http://\S+", line)
        if found:
            return found[0]
    raise AssertionError(f"the page has ended with {process.wait()} and printed no address")


def memory_of(served: Served) -> int:
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
        connection = HTTPConnection(self.host, self.port, timeout=30)
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
