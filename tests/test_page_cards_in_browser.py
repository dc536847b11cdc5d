"""Step 3 in a real browser: layers are dragged, sizes appear while typing, keys alone will do."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from page_browser import all_saved, visiting
from page_looks import assert_fits, assert_nothing_serious, keep_screenshots
from page_served import Served

from nesting.batch import Layer
from nesting.draw.canvas.lettering import TIE
from nesting.files import read_batch
from nesting.typed_lengths import parse_length

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

LAYERS = "/cards/windfall supper/layers"


@pytest.fixture
def page(orchard: Served, browser: "Browser") -> "Iterator[Page]":
    """The sheet of the sample, its cards unfolded; the script makes no mistake."""
    with visiting(browser, silent=True, viewport={"width": 1024, "height": 1000}) as context:
        page = context.new_page()
        page.goto(orchard.address)
        page.get_by_role("link", name="Orchard autumn cards").click()
        page.locator("#cards > details > summary").click()
        yield page


def layers_of(orchard: Served) -> dict[str, Layer]:
    """The layers of the first card in the file, by name."""
    return {one.name: one for one in read_batch(orchard.folder / "orchard.yaml").cards[0].layers}


def drag(page: "Page", layer: str, across: float, up: float) -> None:
    """Drag a layer by so many inches of the card, as it is drawn."""
    group = page.locator(f'g[data-layer="{layer}"]')
    group.scroll_into_view_if_needed()
    mat = page.locator('g[data-layer="mat"]').bounding_box()
    box = group.bounding_box()
    assert mat is not None
    assert box is not None
    inch = mat["width"] / 4
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 3
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + across * inch / 2, y - up * inch / 2)
    page.mouse.move(x + across * inch, y - up * inch)
    page.mouse.up()
    page.locator("#evening").get_by_role("button", name="Undo: ").wait_for()


def test_a_band_is_dragged_up_by_marks(orchard: Served, page: "Page") -> None:
    """Half an inch and a bit is half an inch; it stays where it was across, and the field says so."""
    drag(page, "band", 0.02, 0.52)
    at = layers_of(orchard)["band"].at
    assert at is not None
    assert (at.left, at.bottom) == (None, parse_length("1 1/2", "in"))
    assert page.locator(f'input[name="{LAYERS}/2/at/bottom"]').input_value() == "1 1/2"


def test_a_moon_keeps_its_own_way_to_be_placed(orchard: Served, page: "Page") -> None:
    """What is placed by its middle still is, both ways at once; undo brings it back."""
    before = layers_of(orchard)
    drag(page, "moon", 0.5, -0.25)
    at = layers_of(orchard)["moon"].at
    assert at is not None
    assert at.centre == (parse_length("2 5/8", "in"), parse_length("3 1/2", "in"))
    page.locator("#evening").get_by_role("button", name="Undo: ").click()
    page.wait_for_function("() => document.querySelector('#evening button').disabled")
    assert layers_of(orchard) == before


def test_nothing_is_dragged_off_the_card(orchard: Served, page: "Page") -> None:
    """The last mark is where the layer's edge meets the card's."""
    drag(page, "band", -3, -3)
    at = layers_of(orchard)["band"].at
    assert at is not None
    assert (at.left, at.bottom) == (0, 0)


def test_a_button_that_is_pressed_right_after_typing_is_pressed(page: "Page") -> None:
    """What was typed is answered while the finger is down, and the card with the button is drawn anew."""
    card = page.locator("#cards .entry").first
    page.locator(f'input[name="{LAYERS}/0/reveal"]').fill("1/4")
    button = card.get_by_role("button", name="Copy")
    button.scroll_into_view_if_needed()
    button.hover()
    with page.expect_response("**/set"):
        page.mouse.down()
    page.wait_for_timeout(200)
    page.mouse.up()
    page.locator("#evening").get_by_role("button", name="copied").wait_for()


def test_sizes_appear_while_typing(orchard: Served, page: "Page") -> None:
    """Before the field is left: beside the layer and on what lies on it; the file waits."""
    field = page.locator(f'input[name="{LAYERS}/0/reveal"]')
    field.fill("1/4")
    sizes = page.locator("#cards .layers .size")
    sizes.filter(has_text="3 1/2 x 4 3/4 in").wait_for()
    assert sizes.nth(0).inner_text() == "3 3/4 x 5 in".replace(" ", TIE)
    assert page.locator("#evening button").first.is_disabled()
    field.press("Tab")
    page.locator("#evening").get_by_role("button", name="Undo: ").wait_for()


def test_a_card_is_made_with_keys_alone(orchard: Served, page: "Page") -> None:
    """Begun, a layer put on it, its paper and reveal changed: by Tab, arrows, letters and Enter."""
    page.get_by_label("Name of the new card").focus()
    page.keyboard.type("perry night")
    page.keyboard.press("Enter")
    page.get_by_role("group", name="perry night", exact=True).wait_for()
    page.get_by_role("button", name="a layer that leaves an edge all round").focus()
    page.keyboard.press("Enter")
    reveal = page.locator('input[name="/cards/perry night/layers/0/reveal"]')
    reveal.focus()
    page.keyboard.press("Control+a")
    page.keyboard.type("1/4")
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("b")
    page.get_by_role("button", name="Undo: mat paper").wait_for()
    assert page.evaluate("document.activeElement.name") == "/cards/perry night/layers/0/paper"
    layer = read_batch(orchard.folder / "orchard.yaml").cards[-1].layers[0]
    assert (layer.paper, layer.face) == ("bee stripe", "front")
    assert layer.reveal is not None
    assert layer.reveal.left == parse_length("1/4", "in")


def test_the_next_card_stands_upright_again(orchard: Served, page: "Page") -> None:
    """One that lies on its side says nothing of those that come after it."""
    new = page.get_by_role("group", name="One more card")
    new.get_by_label("lies on its side").check()
    for name in ("tent", "wreath"):
        new.get_by_label("Name of the new card").fill(name)
        new.get_by_role("button", name="Begin this card").click()
        page.get_by_role("group", name=name, exact=True).wait_for()
        all_saved(page)
        assert new.get_by_label("stands upright").is_checked()
    cards = {one.name: one for one in read_batch(orchard.folder / "orchard.yaml").cards}
    assert cards["tent"].width > cards["tent"].height
    assert cards["wreath"].width < cards["wreath"].height


def test_the_step_is_for_everyone(page: "Page") -> None:
    """Labels on all fields, contrast, large targets, no sideways scrolling; screenshots are kept."""
    for more in page.locator("#cards details").all():
        more.evaluate("(one) => { one.open = true; }")
    keep_screenshots(page, "3-cards")
    assert_nothing_serious(page)
    assert_fits(page)


def test_a_copy_is_gone_on_with(page: "Page") -> None:
    """At its first field, in view: the button was at the end of the card that it looks like."""
    page.get_by_role("button", name="Copy windfall supper").click()
    page.wait_for_function("""() => {
      const field = document.activeElement;
      const box = field.getBoundingClientRect();
      const seen = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
      return field.name === "/cards/windfall supper 2/size" && seen === field;
    }""")
