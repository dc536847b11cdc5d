"""The same examples every time; compiled loops; a browser; no test is skipped where all can run."""

import multiprocessing
import os
import shutil
from collections.abc import Generator, Iterator
from multiprocessing import forkserver
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings
from page_served import Served, served
from project import SAMPLES

from nesting.pack.search.compiling import compile_beforehand

if TYPE_CHECKING:
    from playwright.sync_api import Browser

settings.register_profile("nesting", deadline=None, derandomize=True)
settings.load_profile("nesting")

#: What processes have loaded that are copies of one: there is one for all tests of a worker.
LOADED = (
    "highspy",
    "matplotlib.backends.backend_svg",
    "nesting.advice.suggestions",
    "nesting.draw.pages.printed_plan",
    "nesting.page.workers.answers",
    "numba",
)


def pytest_sessionstart(session: pytest.Session) -> None:
    """No test waits for a compiler, or counts the pauses of such a wait: all is compiled, once."""
    if not hasattr(session.config, "workerinput"):  # a worker of xdist starts after this process
        compile_beforehand()


@pytest.fixture(scope="session", autouse=True)
def _copied() -> None:
    """Else the first command of a worker would settle what is loaded, and the others load it again."""
    if "forkserver" in multiprocessing.get_all_start_methods():
        multiprocessing.set_forkserver_preload(list(LOADED))
        forkserver.ensure_running()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Where everything is installed that tests need, one that is skipped has failed."""
    report = yield
    if report.skipped and os.environ.get("NESTING_TESTS_SKIP") == "nothing":
        report.outcome = "failed"
    return report


@pytest.fixture(scope="session")
def chromium() -> str:
    """The system's Chromium."""
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    if path is None:
        pytest.skip("no chromium on this machine: apt-get install chromium")
    return path


@pytest.fixture(scope="module")
def browser(chromium: str) -> "Iterator[Browser]":
    """A browser, for one module: while it is there, no other event loop can run."""
    from playwright.sync_api import sync_playwright

    quiet = ("background-networking", "component-update", "gpu", "quic", "sync")
    switches = ["--no-sandbox", "--no-first-run", *(f"--disable-{one}" for one in quiet)]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=switches)
        yield browser
        browser.close()


@pytest.fixture
def orchard(tmp_path: Path) -> Iterator[Served]:
    """The page of a folder with the sample in it."""
    folder = tmp_path / "cards"
    folder.mkdir()
    shutil.copy(SAMPLES / "orchard.yaml", folder)
    with served(folder) as one:
        yield one
