"""The answer in a real browser: the bar follows every change, and a plan is cut stroke by stroke."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from page_browser import all_saved, visiting
from page_looks import assert_fits, assert_nothing_serious, keep_screenshots
from page_served import Served, served
from page_trimmer import LOOKED_AT, SUPPER, at_step, tick

if TYPE_CHECKING:
    from playwright.sync_api import APIResponse, Browser, Page, Route


@pytest.fixture
def cards(tmp_path: Path) -> Iterator[Served]:
    """The page of a folder with one batch in it."""
    folder = tmp_path / "cards"
    folder.mkdir()
    (folder / "supper.yaml").write_text(SUPPER.replace("have: 3", "have: 2"), "utf-8")
    with served(folder) as one:
        yield one


@pytest.fixture
def page(cards: Served, browser: "Browser") -> "Iterator[Page]":
    """The sheet of that batch; nothing that the script says or does is wrong."""
    with visiting(browser, silent=True, viewport={"width": 768, "height": 1024}) as context:
        page = context.new_page()
        page.goto(cards.address)
        page.get_by_role("link", name="Orchard supper").click()
        yield page


def open_step(page: "Page", name: str) -> None:
    """Unfold a step, if it is not."""
    section = page.locator("section.step").filter(has=page.get_by_role("heading", name=name))
    if section.locator("> details[open]").count() == 0:
        section.get_by_role("heading", name=name).click()


def test_the_bar_follows_every_change(page: "Page") -> None:
    """Without the page being loaded again; undoing shows the earlier answer."""
    bar = page.locator("#bar")
    bar.get_by_text("All 8 cards; nothing to buy.").wait_for()
    open_step(page, "How many")
    make = page.get_by_label("How many of windfall")
    make.fill("13")
    make.press("Tab")
    bar.get_by_text("12 of 13 cards; pear toss lacks 1 sheet.").wait_for()
    page.keyboard.press("Control+z")
    bar.get_by_text("All 8 cards; nothing to buy.").wait_for()


def test_the_answer_unfolds_from_the_bar(page: "Page") -> None:
    """What is needed, what small changes save, what is planned: all of it can be read by everyone."""
    page.locator("#bar").get_by_text("proven").wait_for()
    page.locator("#bar").get_by_role("link").click()
    page.get_by_role("button", name="Look for small changes").click()
    page.get_by_text("No small change helps.").or_(
        page.get_by_role("button", name="Make this change").first
    ).wait_for()
    open_step(page, "My plan")
    picture = page.locator("article.layout img").first
    picture.scroll_into_view_if_needed()
    picture.wait_for()
    with page.expect_download() as download:
        page.get_by_role("button", name="Make the PDF").click()
    assert download.value.suggested_filename == "plan.pdf"
    keep_screenshots(page, "5-answer")
    assert_nothing_serious(page)
    assert_fits(page)


#: Whether all of an element can be seen: it is in the window, and the bar does not lie over it.
SEEN = """(one) => {
  const box = one.getBoundingClientRect();
  return box.top >= 0 && [box.top + 2, box.bottom - 2].every((y) => one.contains(document.elementFromPoint(box.x + 9, y)));
}"""


def test_the_bar_leads_to_what_is_wrong(page: "Page") -> None:
    """Also where another step caused it, and that one is folded; as often as it is touched."""
    page.locator("#bar").get_by_text("proven").wait_for()
    open_step(page, "My papers")
    page.get_by_text("pear toss", exact=True).first.click()
    page.get_by_label("Size of a sheet, width first").fill("3 x 3")
    page.keyboard.press("Tab")
    link = page.locator("#bar").get_by_role("link", name="First, 1 thing to put right above.")
    fault = page.locator("#cards .fault").first
    for _ in range(2):
        link.click()
        fault.wait_for()
        page.wait_for_function(SEEN, arg=fault.element_handle())
        page.get_by_role("heading", name="My cards").click()
        fault.wait_for(state="hidden")


def test_news_stays_when_the_answer_to_a_change_comes_later(page: "Page") -> None:
    """On a busy machine what is found can be there before the change that asked for it is answered."""
    page.locator("#bar").get_by_text("proven").wait_for()
    page.locator("#bar").get_by_role("link").click()
    late: list[tuple[Route, APIResponse]] = []
    page.route("**/changes", lambda route: late.append((route, route.fetch())))
    page.get_by_role("button", name="Look for small changes").click()
    found = page.get_by_text("No small change helps.")
    found.wait_for()
    for route, answer in late:
        route.fulfill(response=answer)
    all_saved(page)
    assert late
    assert found.is_visible()


def test_a_plan_is_cut_stroke_by_stroke(page: "Page", cards: Served) -> None:
    """Each touch is kept; a part that is spoilt is planned anew; in the end all is cut."""
    open_step(page, "At the trimmer")
    page.get_by_role("button", name="Begin to cut this plan").click()
    at_step(page, 1)
    keep_screenshots(page, "7-stroke")
    assert_nothing_serious(page)
    assert_fits(page)
    tick(page)
    at_step(page, 2)
    assert "done: 1: step 1\n" in (cards.folder / "supper-cutting" / "record-1.txt").read_text()
    page.get_by_text("Something went wrong").click()
    page.get_by_role("button", name="This one is spoilt").click()
    page.locator('main[data-state^="(\'2."] p.setting').wait_for()
    while not page.get_by_role("heading", name="All is cut").count():
        tick(page)
    page.wait_for_function(LOOKED_AT)
    page.get_by_role("link", name="What is left over").click()
    page.get_by_role("button", name="Put the offcuts into the stash").click()
    page.get_by_text("In the stash as offcuts").wait_for()
