"""The page as it is used on a phone and on two tablets beside one trimmer: by touch alone."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from page_browser import all_saved, visiting
from page_looks import assert_fits
from page_served import Served, served
from page_trimmer import LOOKED_AT, SUPPER, at_step, tick, tick_step
from PIL import Image

from nesting.files import read_batch

if TYPE_CHECKING:
    from playwright.sync_api import Browser, CDPSession, Dialog, Page, Route

BANDED = SUPPER + "      - {name: band, paper: pear toss, height: 1 1/4, at: {bottom: 1}}\n"
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
    viewport = {"width": width, "height": height}
    with visiting(browser, viewport=viewport, has_touch=True, is_mobile=True) as context:
        page = context.new_page()
        page.goto(cards.address)
        page.get_by_role("link", name="Orchard supper").tap()
        page.locator("main[data-file]").wait_for()
        yield page


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
    other.get_by_text("This is not saved yet").wait_for()
    other.context.set_offline(False)
    at_step(other, 2)
    assert not other.get_by_text("This is not saved yet").is_visible()
    assert ticked(cards) == "1: step 1"
    while other.locator("a.tick-off").count():
        tick(other)
    other.wait_for_function(LOOKED_AT)
    other.context.set_offline(True)
    other.locator(".tick-off").tap()
    other.get_by_text("it may have ended").wait_for()
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
    other.wait_for_function("() => told !== shown().dataset.state")
    assert size.input_value() == "12 x 5 1/4"
    other.get_by_role("button", name="Use it").tap()
    for page in tablets:
        page.locator('main[data-state^="(\'2."] p.setting').wait_for()
    assert "{size: 12 x 5 1/4, have: 1, offcut: true}" in (cards.folder / "supper.yaml").read_text()
    assert ticked(cards) == "1: step 1"


def test_a_size_that_is_refused_can_be_put_right(tablets: "tuple[Page, Page]") -> None:
    """It stays in its field, under the same stroke, also when the other tablet ticks."""
    one, other = tablets
    tick_step(one)
    for page in tablets:
        at_step(page, 2)
    tick(other)
    stroke = other.locator("p.setting").inner_text()
    assert "stroke 2 of 2" in stroke
    other.wait_for_function(LOOKED_AT)
    other.get_by_text("Something went wrong").tap()
    size = other.get_by_label("its size")
    size.fill("12 on 5")
    other.get_by_role("button", name="Use it").tap()
    other.get_by_text("'12 on 5'; expected a size").wait_for()
    assert other.locator("p.setting").inner_text() == stroke
    tick_step(one)
    other.wait_for_function("() => told !== shown().dataset.state")
    assert size.input_value() == "12 on 5"
    assert size.evaluate("(field) => field === document.activeElement")


def test_a_size_that_is_not_told_yet_is_not_left_unasked(
    tablets: "tuple[Page, Page]", cards: Served
) -> None:
    """Neither while it is typed, nor when it was refused; what is told is left without a question."""
    one, _ = tablets
    asked = []

    def stay(dialog: "Dialog") -> None:
        asked.append(dialog.type)
        dialog.dismiss()

    one.on("dialog", stay)
    one.get_by_text("Something went wrong").tap()
    size = one.get_by_label("its size")
    size.tap()
    one.keyboard.insert_text("12 on 5")
    close = one.get_by_role("link", name="The batch")
    close.tap()
    one.get_by_role("button", name="Use it").tap()
    one.get_by_text("'12 on 5'; expected a size").wait_for()
    one.wait_for_function(LOOKED_AT)
    close.tap()
    assert asked == ["beforeunload", "beforeunload"]
    size.fill("12 x 5 1/4")
    one.get_by_role("button", name="Use it").tap()
    one.locator('main[data-state^="(\'2."] p.setting').wait_for()
    one.wait_for_function(LOOKED_AT)
    close.tap()
    one.locator("main[data-file]").wait_for()
    assert len(asked) == 2
    assert "{size: 12 x 5 1/4, have: 1, offcut: true}" in (cards.folder / "supper.yaml").read_text()


def test_a_size_that_is_typed_stays_at_the_next_stroke(
    tablets: "tuple[Page, Page]", cards: Served
) -> None:
    """Somebody who types what was found may tick the stroke first; how many are spoilt begins anew."""
    one, _ = tablets
    one.get_by_text("Something went wrong").tap()
    size = one.get_by_label("its size")
    size.tap()
    one.keyboard.insert_text("12 x 5 1/4")
    while one.locator("a.tick-off").count():
        tick(one)
    tick(one)
    at_step(one, 2)
    assert size.is_visible()
    assert size.input_value() == "12 x 5 1/4"
    one.get_by_role("button", name="Use it").tap()
    one.locator('main[data-state^="(\'2."] p.setting').wait_for()
    assert size.input_value() == ""
    assert "{size: 12 x 5 1/4, have: 1, offcut: true}" in (cards.folder / "supper.yaml").read_text()


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


def test_a_phone_shows_what_a_new_paper_is_asked_first(browser: "Browser", cards: Served) -> None:
    """The words above its first field stay in view, though the papers before it fold."""
    label_in_view = "() => document.activeElement.labels?.[0]?.getBoundingClientRect().top >= 0"
    with touched(browser, cards, PHONE) as page:
        page.get_by_role("heading", name="My papers").tap()
        for name in ("walnut dots", "russet"):
            page.get_by_label("One more paper, by its name").fill(name)
            page.get_by_role("button", name="Add it").tap()
            page.get_by_role("group", name=name, exact=True).wait_for()
            page.wait_for_function(label_in_view)


def test_a_phone_shows_the_size_that_is_added(browser: "Browser", cards: Served) -> None:
    """It stands far above the button; no sheet of it is counted before she has said how many."""
    with touched(browser, cards, PHONE) as page:
        page.get_by_role("heading", name="My papers").tap()
        page.get_by_text("pear toss", exact=True).first.tap()
        page.get_by_text("Rarely needed: price").tap()
        page.get_by_role("button", name="One more size, or an offcut").tap()
        page.locator('[name="/papers/pear toss/sheets/1/size"]:focus').wait_for()
        assert page.locator('[name="/papers/pear toss/sheets/1/have"]').input_value() == "0"


@pytest.mark.parametrize("size", [PHONE, (1366, 768)])
def test_why_a_name_is_refused_is_in_view(
    browser: "Browser", cards: Served, size: tuple[int, int]
) -> None:
    """Beside its field, which keeps what was typed, above the answer at the foot."""
    with touched(browser, cards, size) as page:
        page.locator("#bar").get_by_text("proven").wait_for()
        for step, label, button, name in (
            ("My papers", "One more paper, by its name", "Add it", "Pear toss"),
            ("My cards", "Name of the new card", "Begin this card", "Windfall"),
        ):
            page.get_by_role("heading", name=step).tap()
            page.get_by_label(label).fill(name)
            page.get_by_role("button", name=button).tap()
            fault = page.locator(".field .fault").get_by_text("there already")
            fault.wait_for()
            all_saved(page)
            assert fault.evaluate(SEEN)
            assert page.get_by_label(label).input_value() == name
            page.get_by_role("heading", name=step).tap()


CORNER = "(one) => [one.getBoundingClientRect().x, one.getBoundingClientRect().y]"


@pytest.mark.parametrize("size", [PHONE, (1280, 800)])
def test_undo_stays_under_the_finger(
    browser: "Browser", cards: Served, size: tuple[int, int]
) -> None:
    """However long the words are of what it takes back: a second touch is not another button's."""
    with touched(browser, cards, size) as page:
        undo = page.locator("#evening button").first
        page.locator("#bar").get_by_text("proven").wait_for()
        before = undo.evaluate(CORNER)
        page.get_by_role("heading", name="How many").tap()
        make = page.get_by_label("How many of windfall")
        make.fill("5")
        make.blur()
        undo.get_by_text("windfall how many: 5").wait_for()
        assert undo.evaluate(CORNER) == before
        page.get_by_role("heading", name="My papers").tap()
        page.get_by_text("pear toss", exact=True).first.tap()
        page.get_by_text("two-way: stripes").first.tap()
        undo.get_by_text("pear toss front").wait_for()
        page.locator("#bar").get_by_text("proven").wait_for()
        assert undo.evaluate(CORNER) == before


def test_a_phone_with_large_text_shows_a_paper(browser: "Browser", cards: Served) -> None:
    """What there is of it stands below its name, and the edges beside its picture, within the screen."""
    text = SUPPER.replace("12 x 12", "30.5 cm x 30.5 cm")
    (cards.folder / "supper.yaml").write_text(text, "utf-8")
    with touched(browser, cards, PHONE) as page:
        page.get_by_role("heading", name="My papers").tap()
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        name, answer = page.locator("#papers .entry > summary > :is(h3, .answer)").all()
        assert name.evaluate(CORNER)[0] == answer.evaluate(CORNER)[0]
        page.get_by_text("pear toss", exact=True).first.tap()
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE[0]


def test_a_phone_with_large_text_shows_the_papers_to_choose_from(
    browser: "Browser", cards: Served
) -> None:
    """Folded, as there may be many; a paper and its face in one word are broken where the screen ends."""
    text = SUPPER.replace("front: four-way", "front: four-way, back: two-way")
    text = text.replace("paper: pear toss,", "paper: pear toss, face: front,")
    text = text.replace("pear toss", "walnuts")
    (cards.folder / "supper.yaml").write_text(text.replace("make: 8", "make: 40"), "utf-8")
    with touched(browser, cards, PHONE) as page:
        page.locator("#bar").get_by_text("proven").wait_for()
        page.get_by_role("heading", name="Have I enough?").tap()
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        assert not page.get_by_label("walnuts/front").is_visible()
        page.get_by_role("heading", name="windfall, panel").tap()
        assert page.get_by_label("walnuts/front").is_visible()
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE[0]


def test_a_phone_with_large_text_shows_undo_below_a_long_answer(
    browser: "Browser", cards: Served
) -> None:
    """The answer scrolls away under it; with usual text three of its lines are shown."""
    name = "blossom of the oldest of all our crab apple trees"
    text = SUPPER.replace("pear toss", name).replace("make: 8", "make: 40")
    (cards.folder / "supper.yaml").write_text(text, "utf-8")
    with touched(browser, cards, PHONE) as page:
        answer = page.locator("#bar strong")
        answer.get_by_text("lacks").wait_for()
        box = answer.bounding_box()
        assert box is not None
        assert box["height"] < 4 * 18 * 1.5
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        undo = page.get_by_role("button", name="Undo")
        box = undo.bounding_box()
        assert box is not None
        assert box["y"] + box["height"] <= PHONE[1]


def test_a_name_that_is_not_added_yet_is_not_left_unasked(
    browser: "Browser", cards: Served
) -> None:
    """The browser asks; once it is added, nothing is lost and nothing asked."""
    with touched(browser, cards, PHONE) as page:
        kinds: list[str] = []
        page.on("dialog", lambda dialog: (kinds.append(dialog.type), dialog.dismiss()))
        page.get_by_role("heading", name="My papers").tap()
        field = page.get_by_label("One more paper, by its name")
        field.tap()
        field.press_sequentially("plum dots")
        with page.expect_event("dialog"):
            page.get_by_role("link", name="All batches").tap()
        assert (kinds, field.input_value()) == (["beforeunload"], "plum dots")
        page.get_by_role("button", name="Add it").tap()
        page.get_by_role("heading", name="plum dots").wait_for()
        page.get_by_role("link", name="All batches").tap()
        page.get_by_role("heading", name="Which batch of cards?").wait_for()
        assert kinds == ["beforeunload"]


def test_a_wrong_gap_is_put_right_where_it_was_typed(browser: "Browser", cards: Served) -> None:
    """Why there are no files is said below the button; the file then comes without leaving the sheet."""
    (cards.folder / "supper.yaml").write_text(SUPPER.replace("make: 8", "make: 12"), "utf-8")
    with touched(browser, cards, PHONE) as page:
        page.locator("#bar").get_by_text("proven").wait_for()
        page.get_by_role("heading", name="My plan").tap()
        page.get_by_role("heading", name="Files for a cutting machine").tap()
        gap, make = (
            page.get_by_label("Gap between"),
            page.get_by_role("button", name="Make the files"),
        )
        for wrong, said in (
            ("a bit", "'a bit'; expected a length"),
            ("2", "expected a smaller gap"),
        ):
            gap.tap()  # two touches of one button, one just after the other, are one press
            gap.fill(wrong)
            make.tap()
            page.get_by_role("alert").get_by_text(said).wait_for()
            assert gap.input_value() == wrong
        for news, told in (
            (("", ""), 1),
            (('"of" value="', '"of" value="not '), 0),
            (("not ", ""), 0),
        ):
            page.evaluate(COMES_ANEW, news)
            assert page.get_by_role("alert").count() == told  # of another plan it would not hold
            assert gap.input_value() == wrong
        gap.tap()
        gap.fill("0")
        with page.expect_download() as download:
            make.tap()
        assert download.value.suggested_filename == "cut-files.zip"
        assert page.get_by_role("alert").count() == 0


def test_large_text_on_a_laptop_cuts_no_redo_short(browser: "Browser", cards: Served) -> None:
    """Beside the words of what is taken back."""
    with touched(browser, cards, (1024, 700)) as page:
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        page.get_by_role("heading", name="How many").tap()
        page.get_by_label("How many of windfall").fill("5")
        page.get_by_label("How many of windfall").blur()
        undo, redo = page.locator("#evening button").all()
        undo.get_by_text("windfall how many: 5").wait_for()
        assert redo.evaluate("(one) => one.scrollWidth <= one.clientWidth")


def test_a_laptop_shows_what_is_taken_back(browser: "Browser", cards: Served) -> None:
    """All of it, as long as a usual change is; one that is taken back and one that is not share the bar."""
    with touched(browser, cards, (1024, 700)) as page:
        page.get_by_role("heading", name="My papers").tap()
        page.get_by_text("pear toss", exact=True).first.tap()
        page.get_by_role("group", name="Can it be bought again?").get_by_text("yes").tap()
        undo, redo = page.locator("#evening button").all()
        undo.get_by_text("pear toss can be bought again: yes").wait_for()
        assert undo.evaluate("(one) => one.scrollWidth <= one.clientWidth")
        line = page.locator("#saved").bounding_box()
        undo.tap()
        redo.get_by_text("pear toss can be bought again: yes").wait_for()
        assert page.locator("#saved").bounding_box()["height"] == line["height"]


@pytest.mark.parametrize("size", [PHONE, (1280, 800)])
def test_a_screen_shows_all_of_a_stroke(
    browser: "Browser", cards: Served, size: tuple[int, int]
) -> None:
    """Everything has its place: what is read is not under the button, tables are not wider than it."""
    with touched(browser, cards, size) as page:
        page.locator("#bar").get_by_text("proven").wait_for()
        page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        assert_fits(page)
        assert page.locator(".wide").evaluate_all(
            "all => all.length && all.every((one) => one.scrollWidth <= one.clientWidth)"
        )
        page.get_by_role("button", name="Begin to cut this plan").tap()
        at_step(page, 1)
        while not page.locator("a.tick-off").count():
            tick(page)
        assert_fits(page)
        lowest = page.locator("p.said").last.evaluate("(one) => one.getBoundingClientRect().bottom")
        assert lowest <= page.locator(".next").evaluate("(one) => one.getBoundingClientRect().top")
        lines = page.locator(".tick-off").evaluate("(one) => getComputedStyle(one).textAlign")
        assert lines == "center"  # also where they are two


def test_a_phone_with_large_text_shows_a_ruler_setting_in_one_line(
    browser: "Browser", cards: Served
) -> None:
    """A size that is broken is read as another one: 11 15/1."""
    text = SUPPER.replace("12 x 12", "13 x 13").replace("4 1/4 x 5 1/2", "12 3/16 x 12 3/16")
    (cards.folder / "supper.yaml").write_text(text, "utf-8")
    with touched(browser, cards, PHONE) as page:
        page.locator("#bar").get_by_text("proven").wait_for()
        page.get_by_role("heading", name="At the trimmer").tap()
        page.get_by_role("button", name="Begin to cut this plan").tap()
        at_step(page, 1)
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        setting = page.locator(".setting strong")
        assert setting.inner_text() == "11\N{NO-BREAK SPACE}15/16\N{NO-BREAK SPACE}in"
        assert setting.evaluate("(one) => one.getClientRects().length") == 1


def test_what_went_wrong_stands_apart_from_what_is_new(browser: "Browser", cards: Served) -> None:
    """The button that gives up what is in hand was as near to the next field as to its own."""
    with touched(browser, cards, PHONE) as page:
        page.locator("#bar").get_by_text("proven").wait_for()
        page.get_by_role("heading", name="At the trimmer").tap()
        page.get_by_role("button", name="Begin to cut this plan").tap()
        at_step(page, 1)
        page.get_by_text("Something went wrong").tap()
        spoilt, found, more = page.locator("form.entry").all()
        for one, other in ((spoilt, found), (found, more)):
            above, below = one.bounding_box(), other.bounding_box()
            assert above is not None
            assert below is not None
            assert below["y"] - above["y"] - above["height"] >= 20


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
            page.get_by_role("button", name="Undo: windfall how many: 5").wait_for()
        assert makes[1].input_value() == "5"
        assert name.input_value() == "pruning"
        other.get_by_role("button", name="Undo: windfall how many: 5").tap()
        for page in (one, other):
            page.get_by_role("button", name="Redo: windfall how many: 5").wait_for()
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
        other.get_by_role("button", name="Undo: windfall how many: 5").wait_for()
        other.evaluate("line.close()")
        one.get_by_role("button", name="Undo: windfall how many: 5").tap()
        one.get_by_role("button", name="Redo: windfall how many: 5").wait_for()
        make.fill("6")
        make.blur()
        one.get_by_role("button", name="Undo: windfall how many: 6").wait_for()
        assert other.get_by_label("How many of windfall").input_value() == "5"
        other.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
        other.get_by_role("button", name="Undo: windfall how many: 6").wait_for()
        assert other.get_by_label("How many of windfall").input_value() == "6"


def lose_answer(page: "Page", address: str) -> None:
    """Have what is asked next at an address be done, and its answer be lost on the way."""

    def lose(route: "Route") -> None:
        route.fetch()
        route.abort()

    page.route(address, lose, times=1)


def test_what_is_added_and_taken_out_without_a_connection(
    browser: "Browser", cards: Served
) -> None:
    """It is said that it is asked again, and done once: the page cannot know whether it was done."""
    file = cards.folder / "supper.yaml"
    file.write_text(BANDED)

    def names() -> dict[str, list[str]]:
        return {one.name: [layer.name for layer in one.layers] for one in read_batch(file).cards}

    with touched(browser, cards, PHONE) as page:
        page.get_by_role("heading", name="My cards").tap()

        def press(button: str, address: str, undo: str) -> None:
            lose_answer(page, address)
            page.get_by_role("button", name=button, exact=True).tap()
            page.locator("#saved.fault").get_by_text("is not saved yet").wait_for()
            page.get_by_role("button", name=f"Undo: {undo}").wait_for()
            assert not page.locator("#saved.fault").count()

        press("a circle", "**/add?*", "circle added")
        assert names() == {"windfall": ["panel", "band", "circle"]}
        press("Copy windfall", "**/copy", "windfall copied")
        copied = "windfall 2"
        assert names() == {
            "windfall": ["panel", "band", "circle"],
            copied: ["panel", "band", "circle"],
        }
        page.get_by_role("group", name=copied, exact=True).wait_for()
        press("Take band off", "**/remove", "band taken out")
        assert names()[copied] == ["panel", "circle"]
        page.context.set_offline(True)
        page.get_by_role("button", name=f"Take {copied} out").tap()
        page.get_by_text("is not saved yet").wait_for()
        page.context.set_offline(False)
        page.get_by_role("button", name=f"Undo: {copied} taken out").wait_for()
        assert names() == {"windfall": ["panel", "band", "circle"]}


def test_what_is_typed_after_the_program_has_ended(browser: "Browser", cards: Served) -> None:
    """A press that is never answered keeps nothing from being typed; after a while it is told plainly."""
    with touched(browser, cards, PHONE) as page:
        page.get_by_role("heading", name="My cards").tap()
        page.context.set_offline(True)
        page.get_by_role("button", name="a circle", exact=True).tap()
        page.get_by_text("is not saved yet").wait_for()
        field = page.get_by_label("Name of the new card")
        field.press_sequentially("x")
        assert "x" not in field.input_value()
        page.get_by_text("it may have ended").wait_for()
        field.press_sequentially("y")
        assert field.input_value() == "xy"
        page.context.set_offline(False)
        page.get_by_role("button", name="Undo").filter(has_text="circle added").wait_for()


def test_a_plain_form_without_a_connection_stays(browser: "Browser", cards: Served) -> None:
    """It says that nothing is done, in place of the browser's own page; what was typed is sent later."""
    with touched(browser, cards, PHONE) as page:
        page.goto(f"{cards.address.partition('/?')[0]}/")
        page.get_by_label("Its name").fill("Cider market")
        page.context.set_offline(True)
        page.get_by_role("button", name="Begin").tap()
        page.get_by_text("This is not done: the program does not answer.").wait_for()
        page.context.set_offline(False)
        page.get_by_label("Its name").press("Enter")
        page.get_by_role("heading", name="Cider market").wait_for()
    assert (cards.folder / "cider-market.yaml").exists()


def finger(session: "CDPSession", *places: tuple[float, float]) -> None:
    """Put a finger down at the first place, move it to the others, and lift it."""
    for number, (x, y) in enumerate(places):
        kind = "touchMove" if number else "touchStart"
        touch = {"type": kind, "touchPoints": [{"x": x, "y": y}]}
        session.send("Input.dispatchTouchEvent", touch)
    session.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def test_a_finger_that_scrolls_over_the_picture_moves_no_layer(
    browser: "Browser", cards: Served
) -> None:
    """The picture stays in view while the sheet is scrolled; a layer is touched before it is dragged."""
    file = cards.folder / "supper.yaml"
    file.write_text(BANDED)
    with touched(browser, cards, PHONE) as page:
        page.locator("#bar").get_by_text("proven").wait_for()
        page.get_by_role("heading", name="My cards").tap()
        band = page.locator('g[data-layer="band"]')
        page.locator(".layer").last.scroll_into_view_if_needed()
        session = page.context.new_cdp_session(page)

        def middle() -> tuple[float, float]:
            box = band.bounding_box()
            assert box is not None
            return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2

        x, y = middle()
        before = page.evaluate("scrollY")
        finger(session, *((x, y - 10 * step) for step in range(20)))
        page.wait_for_function("(before) => scrollY > before + 50", arg=before)
        assert not page.locator(".picked").count()
        assert file.read_text() == BANDED
        assert page.get_by_text("touch a layer, then drag it").is_visible()
        finger(session, middle())
        page.locator(".picked").wait_for()
        x, y = middle()
        before = page.evaluate("scrollY")
        finger(session, *((x, y - 10 * step) for step in range(8)))
        page.get_by_role("button", name="Undo: band at bottom").wait_for()
        assert page.evaluate("scrollY") == before
        assert file.read_text() != BANDED
        assert not page.locator(".picked").count()


def test_a_layer_that_was_picked_is_let_go_by_a_touch_elsewhere(
    browser: "Browser", cards: Served
) -> None:
    """Or by one on itself: the next scroll over it is a scroll again."""
    (cards.folder / "supper.yaml").write_text(BANDED)
    with touched(browser, cards, PHONE) as page:
        page.get_by_role("heading", name="My cards").tap()
        for other in ('g[data-layer="panel"]', 'g[data-layer="band"]'):
            page.locator('g[data-layer="band"]').tap(position={"x": 5, "y": 5})
            page.locator(".picked").wait_for()
            page.locator(other).tap(position={"x": 5, "y": 5})
            page.locator(".picked").wait_for(state="detached")
        assert (cards.folder / "supper.yaml").read_text() == BANDED


def test_what_is_not_spoilt_is_had_back_by_one_touch(
    tablets: "tuple[Page, Page]", cards: Served
) -> None:
    """While the rest is planned and after; the other tablet follows."""
    one, other = tablets
    tick_step(one)
    at_step(one, 2)
    one.get_by_text("Something went wrong").tap()
    one.get_by_role("button", name="This one is spoilt").tap()
    for page in tablets:
        page.locator('main[data-state^="(\'2."] p.setting').wait_for()
        page.wait_for_function(LOOKED_AT)
    other.get_by_role("button", name="Nothing was spoilt: go on as before").tap()
    for page in tablets:
        page.locator('main[data-state^="(\'1."] p.setting').wait_for()
        at_step(page, 2)
    assert ticked(cards) == "1: step 1"
    assert not (cards.folder / "supper-cutting" / "plan-2.json").exists()


def test_no_one_touch_ends_a_plan_that_is_half_cut(
    tablets: "tuple[Page, Page]", cards: Served
) -> None:
    """What ends it is folded away until all is cut: there is no way back from it."""
    page, _ = tablets
    tick_step(page)
    at_step(page, 2)
    page.get_by_role("link", name="The batch").tap()
    page.get_by_role("link", name="Go on at the trimmer").wait_for()
    for name in ("Put the offcuts into the stash", "Put this plan away"):
        assert not page.get_by_role("button", name=name).is_visible()
    page.get_by_text("I cut no more of this plan").tap()
    page.get_by_role("button", name="Put this plan away").tap()
    page.get_by_role("button", name="Begin to cut this plan").wait_for()
    assert not (cards.folder / "supper-cutting").exists()


#: The plan is put in place as news has it, with one text in place of another.
COMES_ANEW = """(texts) => {
  const step = document.getElementById("my_plan").cloneNode(true);
  step.querySelector("[role=alert]")?.remove();
  return place(step.outerHTML.replaceAll(...texts));
}"""
#: Whether all of something is seen between the top of the window and the answer at its foot.
SEEN = """(one) => {
  const { top, bottom } = one.getBoundingClientRect();
  return top >= 0 && bottom <= document.querySelector(".foot").getBoundingClientRect().top;
}"""


def photo(kind: str) -> bytes:
    """A photo, red at the left and green at the right, that a telephone lying on its side has taken."""
    image = Image.new("RGBA", (1600, 1200), (200, 30, 30, 255))
    image.paste((30, 150, 60, 255), (800, 0, 1600, 1200))
    image.paste((0, 0, 0, 0), (0, 0, 400, 400))
    exif = Image.Exif()
    exif[0x0112] = 6  # to be turned a quarter to the right
    written = BytesIO()
    image.convert("RGB" if kind == "JPEG" else "RGBA").save(written, kind, exif=exif)
    return written.getvalue()


def test_a_photo_is_chosen_on_a_phone(browser: "Browser", cards: Served) -> None:
    """It is upright and what is see-through is white; what is no photo is refused in view, in words."""
    asked: list[str] = []
    with touched(browser, cards, PHONE) as page:
        page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.accept()))
        page.get_by_role("heading", name="My papers").tap()
        page.get_by_role("heading", name="pear toss").tap()
        for kind, corner in (("JPEG", (0, 0, 0)), ("PNG", (255, 255, 255))):
            chooser = page.get_by_label("photo of its front")
            file = {"name": f"toss.{kind.lower()}", "mimeType": f"image/{kind.lower()}"}
            with page.expect_navigation():
                chooser.set_input_files({**file, "buffer": photo(kind)})  # type: ignore[typeddict-item]
            shown = page.get_by_role("img", name="The photo of pear toss")
            shown.wait_for()
            assert shown.evaluate(SEEN)
            (path,) = (cards.folder / "photos").iterdir()
            kept = Image.open(path)
            assert kept.height > kept.width
            found = kept.convert("RGB").getpixel((kept.width - 20, 20))
            assert all(abs(a - b) < 12 for a, b in zip(found, corner, strict=True))
            assert_fits(page)
        before = path.read_bytes()
        none = {"name": "list.pdf", "mimeType": "application/pdf", "buffer": b"%PDF-1.4"}
        with page.expect_navigation():
            page.get_by_label("photo of its front").set_input_files(none)  # type: ignore[arg-type]
        own = page.get_by_role("group", name="pear toss")
        fault = own.get_by_text("expected a JPEG, PNG or WebP")
        fault.wait_for()
        assert fault.evaluate(SEEN)
        assert path.read_bytes() == before
    assert asked == []
