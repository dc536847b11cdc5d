"""The page in a real browser: a newcomer's whole story, by clicking and typing."""

import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

import pytest
from page_browser import visiting
from page_looks import assert_fits, assert_nothing_serious, keep_screenshots
from page_served import Served, Started, served, started
from page_trimmer import at_step, tick
from project import SAMPLES
from pypdf import PdfReader

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Locator, Page


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """An empty folder."""
    folder = tmp_path / "cards"
    folder.mkdir()
    return folder


@pytest.fixture
def cards(folder: Path) -> Iterator[Served]:
    """Its page."""
    with served(folder) as one:
        yield one


@pytest.fixture
def program(folder: Path) -> Iterator[Started]:
    """Its page, as its user starts it."""
    with started(folder) as one:
        yield one


@pytest.fixture
def context(browser: "Browser") -> "Iterator[BrowserContext]":
    """A browser that has never been here; no request it makes may leave the machine."""
    hosts: set[str | None] = set()
    with visiting(browser, silent=True, viewport={"width": 1024, "height": 900}) as context:
        context.on("request", lambda request: hosts.add(urlsplit(request.url).hostname))
        yield context
    assert hosts == {"127.0.0.1"}


STORY = """\
batch: Orchard suppers
unit: in
trimmer:
  kind: sliding
  marks: 1/16
  longest cut: 12 1/2
  hand: right
papers:
  pear toss:
    sheet: 12 x 12
    have: 3
    buy: false
    front: four-way
    back: one-way
    barcode strip: {edge: bottom, width: 1/2, beyond the sheet: true}
  cream cardstock:
    sheet: 8 1/2 x 11
    have: plenty
cards:
  windfall:
    make: 8
    size: 4 1/4 x 5 1/2
    base: {paper: cream cardstock, fold: left}
    layers:
      - {name: mat, paper: pear toss, face: front, reveal: 1/8}
      - {name: panel, paper: cream cardstock, reveal: 1/8}
      - {name: band, paper: pear toss, face: back, height: 1 1/4, at: {bottom: 1}}
      - {name: circle, paper: cream cardstock, circle: 2, die allowance: 1/8, over: panel}
"""


#: The steps that are open as she fills them in.
STEPS = ("My papers", "My cards", "How many")


def test_a_newcomer(program: Started, context: "BrowserContext", tmp_path: Path) -> None:
    """From an empty folder to the printed plan, by clicking and typing alone."""
    page = context.new_page()
    page.goto(program.address)
    keep_screenshots(page, "1-first")
    page.get_by_label("Its name").fill("Orchard suppers")
    page.get_by_role("button", name="Begin").click()
    add_papers(page)
    keep_screenshots(page, "2-papers")
    design_card(page)
    keep_screenshots(page, "3-card")
    assert_nothing_serious(page)
    assert_fits(page)
    assert (program.folder / "orchard-suppers.yaml").read_text() == STORY
    page.locator("#bar").get_by_text("All 8 cards; nothing to buy").wait_for()
    page.locator("#bar").get_by_text("proven").wait_for()
    for step in STEPS:
        page.get_by_role("heading", name=step).click()
    page.get_by_role("heading", name="Have I enough?").click()
    keep_screenshots(page, "4-enough")
    page.get_by_role("heading", name="Have I enough?").click()
    page.get_by_role("heading", name="My plan").click()
    keep_screenshots(page, "5-plan")
    assert "All 8 cards" in printed(page, tmp_path)
    page.get_by_role("heading", name="My plan").click()
    page.get_by_role("heading", name="At the trimmer").click()
    page.get_by_role("button", name="Begin to cut this plan").click()
    at_step(page, 1)
    keep_screenshots(page, "6-stroke")
    tick(page)
    tick(page)
    at_step(page, 2)


def printed(page: "Page", folder: Path) -> str:
    """The text of the printed plan."""
    with page.expect_download() as download:
        page.get_by_role("button", name="Make the PDF").click()
    download.value.save_as(folder / "plan.pdf")
    return "\n".join(page.extract_text() for page in PdfReader(folder / "plan.pdf").pages)


def add_papers(page: "Page") -> None:
    """A printed paper that nobody sells any more, folded by the next: plain cardstock."""
    paper = add_paper(page, "pear toss")
    type_into(paper.get_by_label("How many"), "3")
    paper.get_by_role("group", name="Can it be bought again?").get_by_label("no").check()
    paper.get_by_role("group", name="Print on the front").get_by_label("four-way").check()
    paper.get_by_role("group", name="Print on the back").get_by_label("one-way").check()
    paper.get_by_role("group", name="barcode strip").get_by_label("bottom").check()
    plain = add_paper(page, "cream cardstock")
    paper.wait_for(state="hidden")
    type_into(plain.get_by_label("Size of a sheet"), "8 1/2 x 11")
    type_into(plain.get_by_label("How many"), "plenty")


def add_paper(page: "Page", name: str) -> "Locator":
    """A new paper; what is asked of it is unfolded."""
    page.get_by_label("One more paper, by its name").fill(name)
    page.get_by_role("button", name="Add it").click()
    paper = page.get_by_role("group", name=name, exact=True)
    paper.wait_for()
    return paper


def type_into(field: "Locator", text: str) -> None:
    """Type a text in place of what is in a field, and leave it."""
    field.fill(text)
    field.press("Tab")


def design_card(page: "Page") -> None:
    """Four layers on a card of the trade's usual size: two that leave an edge, a band, a circle."""
    new = page.get_by_role("group", name="One more card")
    new.get_by_label("Name of the new card").fill("windfall")
    new.get_by_role("button", name="Begin this card").click()
    page.get_by_role("group", name="windfall", exact=True).wait_for()
    for kind in ("a layer that leaves an edge all round",) * 2 + ("a band across", "a circle"):
        layers = page.locator(".layer")
        before = layers.count()
        page.get_by_role("button", name=kind, exact=True).click()
        layers.nth(before).wait_for()
    band = page.get_by_role("group", name=re.compile("^band"))
    band.get_by_label("back, one-way").check()
    type_into(band.get_by_label("Height"), "1 1/4")
    type_into(band.get_by_label("From the bottom of the card"), "1")


def begun(folder: Path, text: str) -> str:
    """A batch file in the folder, and its address on the page."""
    (folder / "suppers.yaml").write_text(text, "utf-8")
    return "/batch/suppers.yaml"


SUPPERS = """\
batch: Orchard suppers
unit: in
papers:
  pear toss: {sheet: 12 x 12, have: 3}
  cream cardstock: {sheet: 8 1/2 x 11, have: plenty}
cards:
  windfall:
    make: 8
    size: 4 1/4 x 5 1/2
    base: {paper: cream cardstock, fold: left}
    layers:
      - {name: panel, paper: pear toss, reveal: 1/8}
"""


def test_every_step_unfolded_is_for_everyone(cards: Served, context: "BrowserContext") -> None:
    """Of a whole batch that is short of paper, with all that is seldom needed: labels, contrast, sizes."""
    shutil.copy(SAMPLES / "orchard-short.yaml", cards.folder)
    page = context.new_page()
    page.goto(cards.address)
    page.get_by_role("link", name="Orchard autumn cards").click()
    page.locator("#bar").get_by_text("proven").wait_for()
    page.get_by_text("What to buy").wait_for(state="attached")
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    assert_nothing_serious(page)
    assert_fits(page)
    page.set_viewport_size({"width": 768, "height": 1024})
    assert_fits(page)
    page.emulate_media(color_scheme="dark")
    assert_nothing_serious(page)


def test_names_are_text_everywhere(cards: Served, context: "BrowserContext") -> None:
    """A name that reads as a page is shown as it is written: on the sheet, in pictures, in answers."""
    name = '<img src=x onerror=alert(1)> &amp; "><script>alert(1)</script> {{ 7 * 7 }}'
    text = SUPPERS
    for plain in ("pear toss", "windfall", "Orchard suppers"):
        text = text.replace(plain, f"'{name}'")
    begun(cards.folder, text)
    page = context.new_page()
    page.goto(cards.address)
    page.get_by_role("link", name="alert").click()
    page.locator("#bar").get_by_text("proven").wait_for()
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    assert page.get_by_role("heading", name=name, exact=True).count() >= 2
    assert page.locator("#my_plan h4", has_text=name).count()
    assert not page.locator("img[src=x], main script").count()


def test_what_is_typed_stays_when_the_program_dies(program: Started, browser: "Browser") -> None:
    """The page says that the change is not saved, and the field keeps it."""
    begun(program.folder, SUPPERS)
    with visiting(browser) as context:
        page = context.new_page()
        page.goto(program.address)
        page.get_by_role("link", name="Orchard suppers").click()
        for name in ("My papers", "pear toss"):
            page.get_by_role("heading", name=name).click()
        program.kill()
        have = page.get_by_role("group", name="pear toss", exact=True).get_by_label("How many")
        have.fill("7")
        have.press("Tab")
        page.get_by_text("not saved").wait_for()
        assert have.input_value() == "7"


def test_the_keyboard_alone(cards: Served, context: "BrowserContext") -> None:
    """With Tab, arrows, space and Enter a batch is begun, a paper added, its print chosen, all undone."""
    page = context.new_page()
    page.goto(cards.address)

    def tab_to(role: str, name: str) -> None:
        wanted = page.get_by_role(role, name=name, exact=True)  # type: ignore[arg-type]
        for _ in range(60):
            page.keyboard.press("Tab")
            if wanted.evaluate_all("all => all.includes(document.activeElement)"):
                return
        raise AssertionError(f"{name} is not reached by Tab")

    tab_to("textbox", "Its name")
    page.keyboard.type("Orchard suppers")
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="Orchard suppers").wait_for()
    tab_to("textbox", "One more paper, by its name")
    page.keyboard.type("pear toss")
    page.keyboard.press("Enter")
    paper = page.get_by_role("group", name="pear toss", exact=True)
    paper.wait_for()
    file = cards.folder / "orchard-suppers.yaml"
    size = paper.get_by_label("Size of a sheet")
    page.wait_for_function("(size) => document.activeElement === size", arg=size.element_handle())
    tab_to("textbox", "How many")
    page.keyboard.type("3")
    page.keyboard.press("Tab")
    page.get_by_role("button", name="Undo: pear toss how many").wait_for()
    assert "have: 3" in file.read_text()
    tab_to("radio", "yes")
    page.keyboard.press("ArrowRight")
    page.get_by_role("button", name="Undo: pear toss can be bought again").wait_for()
    assert "buy: false" in file.read_text()
    page.keyboard.press("Control+z")
    page.keyboard.press("Control+z")
    page.get_by_role("button", name="Undo: pear toss added").wait_for()
    assert "have: 1" in file.read_text()


def test_without_script(cards: Served, browser: "Browser") -> None:
    """Plain forms do the same: a batch is begun, a paper added, its numbers kept, the change undone."""
    with visiting(browser, java_script_enabled=False) as context:
        page = context.new_page()
        page.goto(cards.address)
        page.get_by_label("Its name").fill("Orchard suppers")
        page.get_by_role("button", name="Begin").click()
        page.get_by_label("One more paper, by its name").fill("pear toss")
        page.get_by_role("button", name="Add it").click()
        paper = page.get_by_role("group", name="pear toss", exact=True)
        paper.get_by_label("How many").fill("three")
        keep = page.locator("#papers").get_by_role("button", name="Keep what I changed")
        keep.click()
        assert paper.get_by_label("How many").input_value() == "three"
        assert "expected" in paper.locator(".fault").inner_text()
        paper.get_by_label("How many").fill("3")
        keep.click()
        assert not paper.locator(".fault").count()
        assert "have: 3" in (cards.folder / "orchard-suppers.yaml").read_text()
        page.get_by_role("button", name="Undo").click()
        assert paper.get_by_label("How many").input_value() == "three"
