"""The page as it is used on a phone and on two tablets beside one trimmer: by touch alone."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from page_looks import assert_fits
from page_served import Served, served
from page_trimmer import LOOKED_AT, at_step, tick, tick_step

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

SUPPER = """\
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
PHONE, TABLET = (390, 844), (820, 1180)


@pytest.fixture
def cards(tmp_path: Path) -> Iterator[Served]:
    """The page of a folder with one batch in it."""
    folder = tmp_path / "cards"
    folder.mkdir()
    (folder / "supper.yaml").write_text(SUPPER, "utf-8")
    with served(folder) as one:
        yield one


@contextmanager
def touched(browser: "Browser", cards: Served, size: tuple[int, int]) -> "Iterator[Page]":
    """The sheet of that batch on a screen that is touched."""
    width, height = size
    wrong: list[str] = []
    viewport = {"width": width, "height": height}
    with browser.new_context(viewport=viewport, has_touch=True, is_mobile=True) as context:  # type: ignore[arg-type]
        context.set_default_timeout(60_000)
        context.on("weberror", lambda error: wrong.append(str(error.error)))
        page = context.new_page()
        page.goto(cards.address)
        page.get_by_role("link", name="Orchard supper").tap()
        page.locator("main[data-file]").wait_for()
        yield page
    assert wrong == []


@pytest.fixture
def tablets(browser: "Browser", cards: Served) -> "Iterator[tuple[Page, Page]]":
    """Two tablets beside one trimmer, at the first step of a plan."""
    with touched(browser, cards, TABLET) as one, touched(browser, cards, TABLET) as other:
        one.locator("#bar").get_by_text("proven").wait_for()
        one.get_by_role("heading", name="At the trimmer").tap()
        one.get_by_role("button", name="Begin to cut this plan").tap()
        other.get_by_role("heading", name="At the trimmer").tap()
        other.get_by_role("link", name="Go on at the trimmer").tap()
        for page in (one, other):
            at_step(page, 1)
        yield one, other


def ticked(cards: Served) -> str:
    """What is kept of the plan as done."""
    words = (cards.folder / "supper-cutting" / "record-1.txt").read_text()
    return re.findall(r"done: *(.*)", words)[0]


def test_a_tick_reaches_the_other_tablet(tablets: "tuple[Page, Page]", cards: Served) -> None:
    """And one that is taken back; both go on from there, and no step is ticked twice."""
    one, other = tablets
    tick_step(one)
    for page in tablets:
        at_step(page, 2)
    other.get_by_role("button", name="One step back").tap()
    for page in tablets:
        at_step(page, 1)
    assert ticked(cards) == ""
    tick_step(other)
    for page in tablets:
        at_step(page, 2)
    assert ticked(cards) == "1: step 1"


def test_a_step_that_both_tick_is_ticked_once(tablets: "tuple[Page, Page]", cards: Served) -> None:
    """Also where the news of the first has not come yet when the second is touched."""
    one, other = tablets
    other.route("**/trimmer/news", lambda route: route.abort())
    other.reload()
    tick_step(one)
    at_step(one, 2)
    assert other.get_by_role("heading", name="step 1 of").is_visible()
    while other.locator("a.tick-off").is_visible():
        tick(other)
    tick(other)
    at_step(other, 2)
    assert ticked(cards) == "1: step 1"


def test_what_is_touched_without_a_connection_is_ticked_later(
    tablets: "tuple[Page, Page]", cards: Served
) -> None:
    """It is said that it is not ticked yet; what another screen ticked meanwhile is not ticked again."""
    one, other = tablets
    while other.locator("a.tick-off").count():
        tick(other)
    other.wait_for_function(LOOKED_AT)
    other.context.set_offline(True)
    tick_step(one)
    at_step(one, 2)
    other.locator(".tick-off").tap()
    other.get_by_text("This is not taken down yet").wait_for()
    other.context.set_offline(False)
    at_step(other, 2)
    assert not other.get_by_text("This is not taken down yet").is_visible()
    assert ticked(cards) == "1: step 1"
    while other.locator("a.tick-off").count():
        tick(other)
    other.wait_for_function(LOOKED_AT)
    other.context.set_offline(True)
    other.locator(".tick-off").tap()
    other.get_by_text("This is not taken down yet").wait_for()
    assert ticked(cards) == "1: step 1"
    other.context.set_offline(False)
    for page in tablets:
        at_step(page, 3)
    assert ticked(cards) == "1: step 2"


def test_a_screen_that_was_off_shows_what_is_ticked(tablets: "tuple[Page, Page]") -> None:
    """Its connection broke meanwhile, and nobody told it."""
    one, other = tablets
    other.evaluate("news.close()")
    tick_step(one)
    at_step(one, 2)
    assert other.get_by_role("heading", name="step 1 of").is_visible()
    other.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    at_step(other, 2)


def test_what_is_being_typed_stays_when_the_other_tablet_ticks(
    tablets: "tuple[Page, Page]", cards: Served
) -> None:
    """The size of a piece that was found is still its size; what was shown meanwhile is not ticked."""
    one, other = tablets
    while other.locator("a.tick-off").count():
        tick(other)
    other.get_by_text("Something went wrong").tap()
    size = other.get_by_label("its size")
    size.tap()
    other.keyboard.insert_text("12 x 5 1/4")
    tick_step(one)
    at_step(one, 2)
    other.wait_for_function("told !== shown().dataset.state")
    assert size.input_value() == "12 x 5 1/4"
    other.get_by_role("button", name="Use it").tap()
    for page in tablets:
        page.locator('main[data-state^="(\'2."] p.setting').wait_for()
    assert "{size: 12 x 5 1/4, have: 1, offcut: true}" in (cards.folder / "supper.yaml").read_text()
    assert ticked(cards) == "1: step 1"


#: Whether nothing lies over the middle of the field that the cursor is in.
IN_VIEW = """(end) => {
  const field = document.activeElement;
  const box = field.getBoundingClientRect();
  const seen = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
  return seen === field && field.name.endsWith(end);
}"""


def test_a_phone_shows_the_field_that_is_gone_on_with(browser: "Browser", cards: Served) -> None:
    """The picture of the card stays in view above it, and does not cover it."""
    with touched(browser, cards, PHONE) as page:
        page.get_by_role("heading", name="My cards").tap()
        for number, kind in enumerate(("a circle", "a band across", "a tag"), 1):
            page.get_by_role("button", name=kind, exact=True).tap()
            page.wait_for_function(IN_VIEW, arg=f"/layers/{number}/name")


def test_undo_stays_under_the_finger(browser: "Browser", cards: Served) -> None:
    """However long the words are of what it takes back: a second touch is not another button's."""
    with touched(browser, cards, PHONE) as page:
        undo = page.locator("#evening button").first
        page.locator("#bar").get_by_text("proven").wait_for()
        before = undo.bounding_box()
        page.get_by_role("heading", name="How many").tap()
        make = page.get_by_label("How many of windfall")
        make.fill("5")
        make.blur()
        undo.get_by_text("windfall make: 5").wait_for()
        assert undo.bounding_box() == before
        page.get_by_role("heading", name="My papers").tap()
        page.get_by_text("pear toss", exact=True).first.tap()
        page.get_by_text("two-way: stripes").first.tap()
        undo.get_by_text("pear toss front").wait_for()
        page.locator("#bar").get_by_text("proven").wait_for()
        assert undo.bounding_box() == before


def test_a_phone_shows_all_of_a_stroke(browser: "Browser", cards: Served) -> None:
    """Everything has its place: what is read is not under the button, tables are not wider than it."""
    with touched(browser, cards, PHONE) as page:
        page.locator("#bar").get_by_text("proven").wait_for()
        page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        assert_fits(page)
        assert page.locator(".wide").evaluate_all(
            "all => all.length && all.every((one) => one.scrollWidth <= one.clientWidth)"
        )
        page.get_by_role("button", name="Begin to cut this plan").tap()
        at_step(page, 1)
        assert_fits(page)
        lowest = page.locator("p.said").last.evaluate("(one) => one.getBoundingClientRect().bottom")
        assert lowest <= page.locator(".next").evaluate("(one) => one.getBoundingClientRect().top")


def test_two_screens_show_the_same_batch(browser: "Browser", cards: Served) -> None:
    """What is changed on one is shown on the other, which takes it back; what is typed there stays."""
    with touched(browser, cards, PHONE) as one, touched(browser, cards, TABLET) as other:
        for page in (one, other):
            page.get_by_role("heading", name="How many").tap()
        name = other.get_by_label("Name of the new card")
        other.get_by_role("heading", name="My cards").tap()
        name.tap()
        other.keyboard.insert_text("pruning")
        makes = [page.get_by_label("How many of windfall") for page in (one, other)]
        makes[0].tap()
        makes[0].fill("5")
        one.get_by_role("heading", name="How many").tap()
        for page in (one, other):
            page.get_by_role("button", name="Undo: windfall make: 5").wait_for()
        assert makes[1].input_value() == "5"
        assert name.input_value() == "pruning"
        other.get_by_role("button", name="Undo: windfall make: 5").tap()
        for page in (one, other):
            page.get_by_role("button", name="Redo: windfall make: 5").wait_for()
        assert [make.input_value() for make in makes] == ["8", "8"]
        assert "make: 8" in (cards.folder / "supper.yaml").read_text()


def test_a_sheet_that_was_off_shows_what_was_changed(browser: "Browser", cards: Served) -> None:
    """What it showed was taken back meanwhile, and something else came in its place."""
    with touched(browser, cards, PHONE) as one, touched(browser, cards, TABLET) as other:
        for page in (one, other):
            page.get_by_role("heading", name="How many").tap()
        make = one.get_by_label("How many of windfall")
        make.fill("5")
        make.blur()
        other.get_by_role("button", name="Undo: windfall make: 5").wait_for()
        other.evaluate("line.close()")
        one.get_by_role("button", name="Undo: windfall make: 5").tap()
        one.get_by_role("button", name="Redo: windfall make: 5").wait_for()
        make.fill("6")
        make.blur()
        one.get_by_role("button", name="Undo: windfall make: 6").wait_for()
        assert other.get_by_label("How many of windfall").input_value() == "5"
        other.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
        other.get_by_role("button", name="Undo: windfall make: 6").wait_for()
        assert other.get_by_label("How many of windfall").input_value() == "6"
