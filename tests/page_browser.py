"""Visits to the page in a real browser: no script makes a mistake in them, and each comes to an end."""

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page


@contextmanager
def visiting(
    browser: "Browser", *, silent: bool = False, **screen: Any
) -> "Iterator[BrowserContext]":
    """A browser that has never been here, with a ``screen`` as Playwright describes it.

    Where it is ``silent``, its console may say nothing, such as of a request that fails. Every page
    is left before it is closed, also where the test has failed: Chromium may never close one that is
    just on its way to another, as news sends it.
    """
    from playwright.sync_api import Error

    wrong: list[str] = []
    with browser.new_context(**screen) as context:
        context.set_default_timeout(60_000)
        context.on("weberror", lambda error: wrong.append(str(error.error)))
        if silent:
            context.on("console", lambda message: wrong.append(message.text))
        try:
            yield context
        finally:
            for page in context.pages:
                with suppress(Error):  # it was on its way
                    page.goto("about:blank")
    assert wrong == []


def all_saved(page: "Page") -> None:
    """Wait until every change is answered, but not for ever."""
    page.wait_for_function("() => saving.then(() => true)")
