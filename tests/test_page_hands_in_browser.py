"""The page under real hands: presses last, answers come late, fingers tap twice, the page is left half-way."""

import shutil
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from page_browser import all_saved, visiting
from page_served import Served
from page_trimmer import LOOKED_AT, at_step, tick
from project import SAMPLES

from nesting.files import read_batch

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Locator, Page, Route

CARD = "/cards/windfall supper"
UNFOLD = "document.querySelectorAll('details').forEach((one) => { one.open = true; })"
LOOKED = "() => !document.querySelector('#bar[aria-busy]')"


@pytest.fixture
def context(browser: "Browser") -> "Iterator[BrowserContext]":
    """A browser in which no script makes a mistake."""
    with visiting(browser, viewport={"width": 1024, "height": 1000}) as context:
        yield context


@pytest.fixture
def page(orchard: Served, context: "BrowserContext") -> "Page":
    """The sheet of the sample, all of it unfolded; its time can be turned on."""
    page = context.new_page()
    page.clock.install()
    page.goto(orchard.address)
    page.get_by_role("link", name="Orchard autumn cards").click()
    page.wait_for_load_state()
    page.evaluate(UNFOLD)
    return page


@pytest.fixture
def held(page: "Page") -> "list[Route]":
    """The answers to what is typed, which are held back until they are let go."""
    return held_back(page, "**/set")


def held_back(page: "Page", address: str) -> "list[Route]":
    """What is asked at an address from now on, unanswered; a look for what others changed is answered."""
    asked: list[Route] = []

    def hold(route: "Route") -> None:
        request = route.request
        if request.url.endswith("/set") and str(request.post_data).startswith("press="):
            route.continue_()
        else:
            asked.append(route)

    page.route(address, hold)
    return asked


def let_go(page: "Page", held: "list[Route]") -> None:
    """Let the one answer that is held back come, and be read."""
    with page.expect_response("**/set") as response:
        held.pop().continue_()
    response.value.finished()


def type_reveal(page: "Page") -> None:
    """Type into a field, and leave it."""
    reveal = page.locator(f'input[name="{CARD}/layers/0/reveal"]')
    with page.expect_request("**/set"):
        reveal.fill("1/4")
        reveal.evaluate("(one) => one.blur()")


def undo(page: "Page", words: str) -> "Locator":
    """The button that takes back what was done last."""
    return page.locator("#evening").get_by_role("button", name=f"Undo: {words}")


def layers_of(orchard: Served) -> list[str]:
    """The names of the first card's layers in the file."""
    return [one.name for one in read_batch(orchard.folder / "orchard.yaml").cards[0].layers]


def test_a_button_that_is_held_with_the_space_bar_is_pressed(
    page: "Page", held: "list[Route]"
) -> None:
    """What was typed is answered while the key is down."""
    type_reveal(page)
    page.get_by_role("button", name="Copy windfall").focus()
    page.keyboard.down("Space")
    let_go(page, held)
    page.keyboard.up("Space")
    undo(page, "windfall supper copied").wait_for()


def test_what_is_marked_stays_marked(page: "Page", held: "list[Route]") -> None:
    """The next field is marked by Tab, to be written over, when the answer to the last one comes."""
    type_reveal(page)
    name = page.locator(f'input[name="{CARD}/layers/0/name"]')
    name.focus()
    name.press("Control+a")
    let_go(page, held)
    undo(page, "mat reveal").wait_for()
    page.keyboard.type("edge")
    assert name.input_value() == "edge"


def test_the_next_button_stays_in_focus_where_fields_come_before_it(
    page: "Page", held: "list[Route]"
) -> None:
    """With an envelope every layer may lie in it: the focus went back by as many fields."""
    envelope = page.get_by_label("Envelope: yes for the smallest that takes it")
    envelope.fill("yes")
    with page.expect_request("**/set"):
        envelope.press("Tab")
    page.keyboard.press("Tab")  # past what it is cut from
    let_go(page, held)
    undo(page, "windfall supper envelope: yes").wait_for()
    all_saved(page)
    assert page.evaluate("document.activeElement.textContent") == "Copy windfall supper"


def test_a_name_is_given_once(page: "Page") -> None:
    """By Enter: the field that goes with the answer told its text once more, and that name was there."""
    answers: list[int] = []
    page.on("response", lambda one: answers.append(one.status))
    name = page.get_by_label("What I call the card")
    name.press("Control+a")
    page.keyboard.type("late supper")
    name.press("Enter")
    undo(page, "windfall supper: late supper").wait_for()
    all_saved(page)
    assert set(answers) == {200}
    assert page.locator("#saved.fault").count() == 0


def test_what_comes_right_after_a_new_name_is_done(
    orchard: Served, page: "Page", held: "list[Route]"
) -> None:
    """What is typed, another name, a button: a second card came of them, under the old name."""
    name = page.get_by_label("What I call the card")
    with page.expect_request("**/set"):
        name.fill("late supper")
        name.press("Tab")
    page.locator(f'input[name="{CARD}/layers/0/reveal"]').fill("1/4")
    name.fill("early supper")
    page.get_by_role("button", name="a circle", exact=True).click()
    held.pop().continue_()
    page.unroute("**/set")
    undo(page, "circle added").wait_for()
    all_saved(page)
    first, *others = read_batch(orchard.folder / "orchard.yaml").cards
    assert first.name == "early supper"
    assert first.layers[-1].name == "circle"
    assert len(others) == 3
    assert first.layers[0].reveal is not None


def test_what_is_half_typed_when_a_name_is_answered_stays(
    page: "Page", held: "list[Route]"
) -> None:
    """It is saved when its field is left, and not before, though that has another name by then."""
    name = page.get_by_label("What I call the card")
    with page.expect_request("**/set"):
        name.fill("late supper")
        name.press("Tab")
    size = page.get_by_role("combobox", name="Size, width first")
    size.press("Control+a")
    page.keyboard.type("4 x ")
    asked: list[str] = []  # the card as it would look is asked for all the time
    page.on("request", lambda one: asked.append(one.url + (one.post_data or "")))
    let_go(page, held)
    page.unroute("**/set")
    undo(page, "windfall supper: late supper").wait_for()
    all_saved(page)
    assert not any("/set" in one and "size" in one for one in asked)
    assert size.input_value() == "4 x "
    page.keyboard.press("Tab")
    undo(page, "late supper size: 4 x").wait_for()


def test_a_layer_that_is_dragged_slowly_is_dragged(page: "Page", held: "list[Route]") -> None:
    """However long it takes: an answer waits until it is let go."""
    type_reveal(page)
    band = page.locator('g[data-layer="band"]')
    band.scroll_into_view_if_needed()
    box = band.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 3
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y - 30)
    page.clock.fast_forward(5_000)
    let_go(page, held)
    page.mouse.move(x, y - 60)
    page.unroute("**/set")
    page.mouse.up()
    undo(page, "band at bottom").wait_for()


def test_a_scroll_bar_that_was_pressed_holds_nothing_back(page: "Page") -> None:
    """A browser may tell the beginning of such a press and not its end."""
    page.evaluate("document.body.dispatchEvent(new PointerEvent('pointerdown', {bubbles: true}))")
    page.locator(f'input[name="{CARD}/size"]').fill("4 x 5 1/2")
    page.keyboard.press("Tab")
    page.locator("#evening").get_by_role("button", name="Undo: ").wait_for()


def test_a_double_click_is_one_press(orchard: Served, page: "Page") -> None:
    """The second click would meet the button of the next layer, which has moved up."""
    page.get_by_role("button", name="Take moon off").click(click_count=2)
    undo(page, "moon taken out").wait_for()
    all_saved(page)
    assert layers_of(orchard) == ["mat", "panel", "band", "inside"]


def test_what_is_typed_while_layers_move_follows_its_layer(orchard: Served, page: "Page") -> None:
    """The field at its place would be that of the one above it."""
    answers = held_back(page, "**/move")
    with page.expect_request("**/move"):
        page.get_by_role("button", name="Put moon one higher").click()
    moon = page.locator(f'input[name="{CARD}/layers/3/name"]')
    moon.focus()
    moon.evaluate("(one) => one.setSelectionRange(0, 0)")
    page.keyboard.type("full-")
    page.keyboard.press("Backspace")
    page.keyboard.type(" ")
    page.get_by_role("button", name="Put moon one higher").click()
    answers.pop().continue_()
    undo(page, "moon name: full moon").wait_for()
    assert layers_of(orchard) == ["mat", "panel", "band", "inside", "full moon"]
    assert page.locator(f'input[name="{CARD}/layers/3/name"]').input_value() == "inside"


def test_a_paper_chosen_while_a_layer_is_added_is_taken(orchard: Served, page: "Page") -> None:
    """It was refused: the list of layers had become another one."""
    answers = held_back(page, "**/add?kind=*")
    with page.expect_request("**/add?kind=*"):
        page.get_by_role("button", name="a tag", exact=True).click()
    page.locator(f'select[name="{CARD}/layers/0/paper"]').select_option("cream cardstock")
    answers.pop().continue_()
    undo(page, "mat paper: cream cardstock").wait_for()
    assert layers_of(orchard)[-1] == "tag"
    mat = read_batch(orchard.folder / "orchard.yaml").cards[0].layers[0]
    assert mat.paper == "cream cardstock"


@pytest.mark.parametrize(
    ("address", "button", "field"),
    [
        ("**/add?kind=*", "a tag", "How many of windfall"),
        ("**/add", "Add it", "Name of the new card"),
    ],
)
def test_what_is_filled_in_by_now_is_not_left_for_what_was_added(
    page: "Page", address: str, button: str, field: str
) -> None:
    """Half of what was typed went into the first field of the new layer, or the new paper."""
    answers = held_back(page, address)
    page.get_by_label("One more paper, by its name").fill("hive tea")
    with page.expect_request(address):
        page.get_by_role("button", name=button, exact=True).click()
    filled = page.get_by_label(field)
    filled.focus()
    page.keyboard.press("Control+a")
    page.keyboard.type("1")
    answers.pop().continue_()
    undo(page, "tag" if button == "a tag" else "hive tea").wait_for()
    all_saved(page)
    page.keyboard.type("2")
    assert filled.input_value() == "12"


def test_what_is_typed_and_chosen_while_a_change_is_taken_back_stays(
    orchard: Served, page: "Page"
) -> None:
    """Not a letter is lost, nor a choice, and what is pressed afterwards has all of it."""
    type_reveal(page)
    undo(page, "mat reveal: 1/4").wait_for()
    answers = held_back(page, "**/undo")
    with page.expect_request("**/undo"):
        undo(page, "mat reveal: 1/4").click()
    page.get_by_label("One more paper, by its name").focus()
    page.keyboard.type("hive tea")
    page.keyboard.press("Enter")
    page.get_by_text("one big offcut", exact=True).click()
    answers.pop().continue_()
    page.get_by_role("group", name="hive tea", exact=True).wait_for()
    all_saved(page)
    batch = read_batch(orchard.folder / "orchard.yaml")
    assert (batch.papers[-1].name, batch.prefer) == ("hive tea", "big-offcut")


def test_another_press_while_layers_move_is_carried_out(orchard: Served, page: "Page") -> None:
    """But for one whose button means something else by then: its layer has another place."""
    answers = held_back(page, "**/move")
    with page.expect_request("**/move"):
        page.get_by_role("button", name="Put moon one higher").click()
    page.get_by_role("button", name="Put inside one lower").click()
    page.get_by_role("button", name="a circle", exact=True).click()
    page.get_by_role("button", name="Copy windfall supper").click()
    answers.pop().continue_()
    undo(page, "windfall supper copied").wait_for()
    all_saved(page)
    assert layers_of(orchard) == ["mat", "panel", "band", "inside", "moon", "circle"]


def test_a_layer_stays_under_the_pointer_while_it_is_moved(page: "Page") -> None:
    """Pressed on at the same place, it goes on; at the bottom it stays, and so does the focus."""
    lower = page.get_by_role("button", name="Put moon one lower")
    lower.scroll_into_view_if_needed()
    box = lower.bounding_box()
    assert box is not None
    names = "all => all.map((one) => one.value)"
    orders: list[int] = []

    def note() -> None:
        all_saved(page)
        fields = page.locator('fieldset.layer input[name$="/name"]')
        orders.append(fields.evaluate_all(names).index("moon"))

    for _ in range(4):
        page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        note()
    assert orders == [2, 1, 0, 0]
    assert page.evaluate("document.activeElement.textContent") == "Put moon one lower"
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    note()
    assert orders[-1] == 1


def test_a_key_that_is_held_is_one_press(page: "Page") -> None:
    """Enter on a button is told again and again."""
    layers = page.locator("fieldset.layer")
    before = layers.count()
    page.get_by_role("button", name="a band across").focus()
    for _ in range(4):
        page.keyboard.down("Enter")
    page.keyboard.up("Enter")
    undo(page, "band 2 added").wait_for()
    all_saved(page)
    assert layers.count() == before + 1


def test_what_is_typed_is_saved_when_the_page_is_left(
    orchard: Served, page: "Page", held: "list[Route]"
) -> None:
    """Also what waits for an earlier answer, and the field that the cursor is in."""
    type_reveal(page)
    edge = page.locator(f'input[name="{CARD}/layers/0/name"]')
    edge.fill("edge")
    edge.evaluate("(one) => one.blur()")
    page.get_by_label("How many of windfall supper").fill("3")
    held.clear()
    page.unroute("**/set")
    page.get_by_role("link", name="All batches").evaluate("(one) => one.click()")
    page.get_by_role("heading", name="Which batch of cards?").wait_for()
    for _ in range(1200):
        card = read_batch(orchard.folder / "orchard.yaml").cards[0]
        if (card.make, card.layers[0].name) == (3, "edge"):
            return
        page.wait_for_timeout(50)
    raise AssertionError("what was typed is not in the file")


def test_what_was_chosen_without_a_connection_is_saved(orchard: Served, page: "Page") -> None:
    """As soon as the connection is back; until then it is said that it is not."""
    page.context.set_offline(True)
    page.locator('[name="/trimmer/hand"][value=left]').check()
    page.get_by_text("not saved").wait_for()
    page.context.set_offline(False)
    page.clock.fast_forward(5_000)
    undo(page, "hand: left").wait_for()
    assert read_batch(orchard.folder / "orchard.yaml").trimmer.hand == "left"


def test_ticks_stay_when_news_comes(orchard: Served, page: "Page") -> None:
    """What is ticked and not yet sent, while a search tells what it finds."""
    shutil.copy(SAMPLES / "orchard-short.yaml", orchard.folder)
    page.goto(page.url.replace("orchard.yaml", "orchard-short.yaml"))
    page.wait_for_function(LOOKED)
    page.evaluate(UNFOLD)
    tick = page.locator("#enough [type=checkbox]:not(:checked)").first.element_handle()
    paper = tick.get_attribute("name")
    tick.check()
    with page.expect_response("**/changes"):
        page.get_by_role("button", name="Look for small changes").click()
    page.get_by_role("button", name="Look for small changes").wait_for(state="detached")
    ticks = page.locator(f'#enough [type=checkbox][name="{paper}"]')
    assert ticks.evaluate_all("all => all.some((one) => one.checked && !one.defaultChecked)")


def test_a_second_touch_ticks_nothing_that_was_not_seen(orchard: Served, page: "Page") -> None:
    """It was on its way when the next step came, whose button is where the first one's was."""
    page.wait_for_function(LOOKED)
    page.get_by_role("button", name="Begin to cut this plan").click()
    at_step(page, 1)
    while page.locator("a.tick-off").count():
        tick(page)
    page.wait_for_function(LOOKED_AT)
    page.clock.pause_at(page.evaluate("Date.now() + 1000"))
    for _ in range(2):
        page.locator(".tick-off").click()
        page.get_by_role("heading", name="step 2 of").wait_for()
    assert not page.evaluate("going")
    page.clock.resume()
    at_step(page, 2)
    assert "done: 1: step 1\n" in (orchard.folder / "orchard-cutting/record-1.txt").read_text()
