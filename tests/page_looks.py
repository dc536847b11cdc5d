"""What a page has to be for everyone: measured in the browser, on the page as it is."""

from typing import Any

import pytest
from playwright.sync_api import Page
from project import ROOT

#: Where `.ci/run` puts axe-core's rules, and where screenshots are kept to be looked at.
BUILD = ROOT / "build"
AXE = BUILD / "axe-core" / "axe.min.js"

_TOO_SMALL = """() => [...document.querySelectorAll("a, button, input, select, summary, label")]
  .filter((one) => one.checkVisibility() && one.type !== "hidden")
  .map((one) => [one, (one.matches("input") && one.closest("label")) || one])
  .filter(([one, target]) => !(one.matches("label") && !one.querySelector("input")))
  .map(([one, target]) => [one, target.getBoundingClientRect()])
  .filter(([, { width, height }]) => width < 44 || height < 44)
  .map(([one, box]) => `${one.outerHTML.slice(0, 100)}: ${box.width} x ${box.height}`)"""


def assert_nothing_serious(page: Page) -> None:
    """The rules of axe-core find nothing of serious or critical impact, contrast (AA) included."""
    if not AXE.exists():
        pytest.skip(f"no axe-core on this machine: .ci/run puts it into {AXE}")
    page.evaluate(AXE.read_text("utf-8"))
    found: list[dict[str, Any]] = page.evaluate("axe.run().then((result) => result.violations)")
    serious = [
        f"{one['id']}: {node['html'][:200]}"
        for one in found
        if one["impact"] in ("serious", "critical")
        for node in one["nodes"]
    ]
    assert not serious, serious


def assert_fits(page: Page) -> None:
    """Nothing is wider than the window, and whatever is touched is as large as a finger."""
    page.wait_for_function("document.fonts.ready")
    wide = "() => [document.documentElement.scrollWidth, document.documentElement.clientWidth]"
    inside, window = page.evaluate(wide)
    assert inside <= window, f"{inside} px in a window of {window}"
    too_small = page.evaluate(_TOO_SMALL)
    assert not too_small, too_small


def keep_screenshots(page: Page, name: str) -> None:
    """Screenshots of the page as it is: light, dark, on a tablet, with text twice as large."""
    folder = BUILD / "screenshots"
    folder.mkdir(parents=True, exist_ok=True)
    size = page.viewport_size or {"width": 1024, "height": 800}

    def keep(kind: str) -> None:
        page.evaluate("scrollTo(0, 0)")
        page.screenshot(path=folder / f"{name}-{kind}.png", full_page=True)

    keep("light")
    page.emulate_media(color_scheme="dark")
    keep("dark")
    assert_nothing_serious(page)
    page.emulate_media(color_scheme="light")
    page.set_viewport_size({"width": 768, "height": 1024})
    assert_fits(page)
    keep("768")
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    assert_fits(page)
    keep("twice")
    page.evaluate("document.documentElement.style.fontSize = ''")
    page.set_viewport_size(size)
