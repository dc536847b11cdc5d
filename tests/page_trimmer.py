"""The large page at the trimmer, in a browser, and a batch for it: what is done is ticked by whoever looks at it."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Page

SUPPER = """\
# One design from two sheets.
batch: Orchard supper
unit: in
papers:
  pear toss: {sheet: 12 x 12, have: 3, buy: false, front: four-way}
cards:
  windfall:
    make: 8
    size: 4 1/4 x 5 1/2
    layers:
      - {name: panel, paper: pear toss, reveal: 1/8}
"""
#: A touch that was on its way when something else was put in place is not taken for what is shown now.
LOOKED_AT = "() => typeof since === 'number' && performance.now() - since >= 500"
OTHER = "(words) => document.querySelector('main').innerText !== words"


def at_step(page: "Page", number: int) -> None:
    """Wait until a step is shown, and can be touched."""
    page.get_by_role("heading", name=f"step {number} of").wait_for()
    page.wait_for_function(LOOKED_AT)


def tick(page: "Page") -> None:
    """Touch that the stroke or step that is shown is done, and wait for what comes next."""
    page.wait_for_function(LOOKED_AT)
    before = page.locator("main").inner_text()
    page.locator(".tick-off").click()
    page.wait_for_function(OTHER, arg=before)


def tick_step(page: "Page") -> None:
    """Tick every stroke of the step that is shown."""
    while page.locator("a.tick-off").count():
        tick(page)
    tick(page)
