"""Pictures of finished cards: true proportions, layers in their places and in order."""

import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest
import shapely
from card_plans import (
    BRICK,
    CARD_PLANS,
    STRIPE,
    all_round,
    cut_plan,
    long_names,
    metric,
    odd_names,
    orchard,
    short,
)
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Patch, Polygon, Rectangle
from matplotlib.transforms import Bbox
from plans import inches
from test_draw_pages import assert_well_set, texts_of

import nesting
from nesting.batch import At, Batch, Card, Layer
from nesting.draw import layout_figures
from nesting.draw.canvas.lettering import LETTER
from nesting.draw.canvas.palette import tint
from nesting.draw.card.card_picture import card_figure, draw_card, letter_row
from nesting.draw.card.recipe import recipe_figures
from nesting.draw.sheet.labels import Arrow, draw_small_arrow
from nesting.page.pictures.screen import ScreenSurface
from nesting.plan import Plan


def figure_of(plan: Plan, name: str) -> Figure:
    """The picture of a card by its name."""
    return card_figure(plan, next(card for card in plan.asked.cards if card.name == name))


Place = tuple[float, float, float, float]


def drawn(figure: Figure) -> list[Place]:
    """Rectangles and discs in the order they are drawn, as (x, y, width, height) in points."""
    patches = list(figure.findobj(lambda a: isinstance(a, Rectangle | Circle)))
    patches = sorted((p for p in patches if p is not figure.patch), key=lambda p: p.get_zorder())
    return [
        (*p.get_xy(), p.get_width(), p.get_height())
        if isinstance(p, Rectangle)
        else (p.center[0] - p.radius, p.center[1] - p.radius, 2 * p.radius, 2 * p.radius)
        for p in patches
    ]


def on_card(places: list[Place], ground: Place, width: str) -> list[Place]:
    """Places in inches from the lower left corner of the card, which is so wide."""
    scale = inches(width) / 25.4e6 / ground[2]
    x, y = ground[:2]
    return [((a - x) * scale, (b - y) * scale, c * scale, d * scale) for a, b, c, d in places]


@pytest.mark.parametrize(
    ("name", "width", "expected"),
    [
        (
            "windfall", "4 1/4",
            [
                (0, 0, 4.25, 5.5), (0.125, 0.125, 4, 5.25), (0.25, 0.25, 3.75, 5), (0.25, 1, 3.75, 1.25),
                (1.125, 2.75, 2, 2),
            ],
        ),
        (
            "cider market", "5 1/2",
            [
                (0, 0, 5.5, 4.25), (0.125, 0.125, 5.25, 4), (0.25, 0.25, 5, 3.75), (0.25, 1.75, 5, 0.75),
                (3.25, 1.375, 1.5, 1.5),
            ],
        ),
    ],
)  # fmt: skip
def test_a_card_has_its_layers_in_their_places(
    name: str, width: str, expected: list[tuple[float, ...]]
) -> None:
    """Front of a card upright or on its side against places worked by hand, in the order they are glued."""
    front = drawn(figure_of(orchard(), name))[2:7]  # after the page and the back leaf
    for found, worked in zip(on_card(front, front[0], width), expected, strict=True):
        assert found == pytest.approx(worked, abs=1e-6)


def test_a_letter_is_clear_of_the_layers_above_its_own() -> None:
    """The panel's letter stands between moon and band or beside them, and touches neither."""
    figure = figure_of(orchard(), "windfall")
    ground, _, _, band, moon = drawn(figure)[2:7]
    assert ground[3] == pytest.approx(5.5 * 72)
    (panel,) = [box for text, box in texts_of(figure) if text.get_text() == "C"]
    for x, y, width, height in (band, moon):
        assert not panel.overlaps(Bbox.from_bounds(x, y, width, height).padded(2))


def test_a_metric_card_has_its_label_round_its_centre() -> None:
    """105 x 148 mm, the label of 60 x 30 round (52.5, 100)."""
    places = drawn(figure_of(metric(), "medlar"))[2:5]
    scale = 105 / places[0][2]
    x, y, width, height = places[-1]
    label = ((x - places[0][0]) * scale, (y - places[0][1]) * scale, width * scale, height * scale)
    assert label == pytest.approx((22.5, 85, 60, 30), abs=1e-6)


def test_a_card_is_as_large_as_life() -> None:
    """A card of 4 1/4 x 5 1/2 in is drawn 306 x 396 points."""
    _, _, (_, _, width, height), *_ = drawn(figure_of(orchard(), "windfall"))
    assert (width, height) == pytest.approx((306, 396))


def test_inside_and_back_stand_beside_the_front() -> None:
    """Each side with layers is drawn, and named where there is more than one."""
    plan = orchard()
    upright = {text.get_text() for text, _ in texts_of(figure_of(plan, "windfall"))}
    wrapped = {text.get_text() for text, _ in texts_of(figure_of(plan, "belly band"))}
    plain = {text.get_text() for text, _ in texts_of(figure_of(plan, "cider market"))}
    assert {"Front", "Inside, the card open"} <= upright
    assert {"Front", "Back, seen from behind"} <= wrapped
    assert "Front" not in plain


def test_layers_of_one_paper_have_one_fill() -> None:
    """Each paper has its own tint; the letters and the word for the back say the same in grey."""
    plan = orchard()
    figure = figure_of(plan, "windfall")
    tints = {tint(number) for number in range(3)}
    fills = {
        p.get_facecolor()[:3] for p in figure.findobj(lambda a: isinstance(a, Rectangle | Circle))
    }
    assert tints <= fills
    texts = [text for text, _ in texts_of(figure)]
    assert "back" in {text.get_text() for text in texts}
    letters = {piece.letter for piece in plan.pieces}
    on_it = [text for text in texts if text.get_text() in letters]
    assert len(on_it) >= 4
    assert all(t.get_fontsize() >= LETTER and t.get_fontweight() == "bold" for t in on_it)
    said = {text.get_text() for text in texts}
    assert "pear toss: C, D (back)" in said
    assert "brick cardstock: B" in said


def test_a_tint_means_a_paper_on_sheets_cards_and_recipes() -> None:
    """Two pieces of one paper have its tint on a layout, a card picture and a recipe alike."""
    plan = long_names("pear toss")
    figures = [
        layout_figures(plan, plan.layouts[0])[0],
        card_figure(plan, plan.asked.cards[0]),
        *recipe_figures(plan),
    ]
    tints = {tint(number) for number in range(7)}
    for figure in figures:
        fills = {p.get_facecolor()[:3] for p in figure.findobj(lambda a: isinstance(a, Patch))}
        assert fills & tints == {tint(0)}


@pytest.mark.parametrize("name", CARD_PLANS)
def test_every_picture_is_readable(name: str) -> None:
    """No text leaves the picture or covers another."""
    plan = CARD_PLANS[name]()
    for card in plan.asked.cards[:5]:
        assert_well_set(card_figure(plan, card))


def test_pictures_are_files() -> None:
    """PNG and SVG, the same bytes each time, names as text and escaped."""
    plan = odd_names()
    name = plan.asked.cards[0].name
    png, svg = nesting.draw_card(plan, name), nesting.draw_card(plan, name, "svg")
    assert png.startswith(b"\x89PNG")
    assert ET.fromstring(svg).tag.endswith("svg")  # noqa: S314 - our own file
    assert b"&lt;b&gt;$x$" in svg
    assert draw_card(plan, name) == png
    assert draw_card(plan, name, "svg") == svg


def test_an_unknown_card_is_a_key_error() -> None:
    """A name that is not in the plan is an error that names it."""
    with pytest.raises(KeyError, match="windfal'"):
        draw_card(short(), "windfal")


def aslant_plan(*layers: Layer) -> Plan:
    """A card of 4 1/4 x 5 1/2 in with a mat and some layers on it."""
    mat = Layer("mat", BRICK.name, reveal=all_round(inches("1/8")))
    card = Card("slope", 2, inches("4 1/4"), inches("5 1/2"), None, (mat, *layers))
    return cut_plan(Batch("Aslant", "in", (BRICK, STRIPE), (card,)))


def test_an_aslant_layer_is_drawn_as_it_is_seen() -> None:
    """A strip at 30 degrees on a mat of 4 in: cut off at its edges, by 2.30940 in lower at the right."""
    sash = Layer("sash", STRIPE.name, height=inches("1"), angle=30_000)
    (shape,) = figure_of(aslant_plan(sash), "slope").findobj(
        lambda a: isinstance(a, Polygon) and len(a.get_xy()) == 5
    )
    corners = sorted({tuple(corner) for corner in shape.get_xy()})
    left, right = corners[:2], corners[2:]
    assert right[0][0] - left[0][0] == pytest.approx(4 * 72)
    assert left[0][1] - right[0][1] == pytest.approx(2.30940 * 72, abs=0.01)
    assert left[1][1] - left[0][1] == pytest.approx(1.15470 * 72, abs=0.01)


def test_the_letter_of_an_aslant_layer_stands_on_it_and_no_other_does() -> None:
    """The strip's between its sides; the mat's clear of it, though the strip crosses all of it."""
    sash = Layer("sash", STRIPE.name, height=inches("1"), angle=40_000)
    plan = aslant_plan(sash)
    figure = figure_of(plan, "slope")
    (shape,) = figure.findobj(lambda a: isinstance(a, Polygon) and len(a.get_xy()) == 5)
    seen = shapely.Polygon(shape.get_xy())
    boxes = {text.get_text(): shapely.box(*box.extents) for text, box in texts_of(figure)}
    mat, strip = (piece.letter for piece in plan.pieces)
    assert seen.contains(boxes[strip])
    assert not seen.intersects(boxes[mat])


def test_an_arrow_on_an_aslant_layer_points_as_its_print_does() -> None:
    """Turned by 30 degrees as a clock's hand turns: its head is up and to the right."""
    plan = aslant_plan(
        Layer("tag", STRIPE.name, width=inches("3"), height=inches("2"), angle=30_000)
    )
    row = letter_row(plan, plan.pieces[1], angle=30_000)
    arrow = next(one for one in row if isinstance(one, Arrow))
    surface = ScreenSurface(100, 100)
    draw_small_arrow(surface, (50, 50), replace(arrow, both=False))
    tip = re.search(r'polygon points="([0-9.]+),([0-9.]+) ', surface.svg("arrow"))
    assert tip is not None
    across, down = float(tip[1]) - 50, float(tip[2]) - 50
    assert across / -down == pytest.approx(0.57735, abs=0.01)
    assert down < 0 < across


def test_a_belt_goes_across_the_back_over_its_layers() -> None:
    """1 in wide, 1/2 in from the left of the front: 1/2 in from the right, seen from behind."""
    belt = Layer("belt", STRIPE.name, width=inches("1"), belt=0, at=At(left=inches("1/2")))
    label = Layer("label", BRICK.name, where="behind", width=inches("2"), height=inches("1"))
    card = Card("banded", 2, inches("4 1/4"), inches("5 1/2"), None, (belt, label))
    figure = figure_of(cut_plan(Batch("Belts", "in", (BRICK, STRIPE), (card,))), "banded")
    back = drawn(figure)[-5:-2]  # before the key: the card, its label, the belt over that
    expected = [(0, 0, 4.25, 5.5), (1.125, 2.25, 2, 1), (2.75, 0, 1, 5.5)]
    for found, worked in zip(on_card(back, back[0], "4 1/4"), expected, strict=True):
        assert found == pytest.approx(worked, abs=1e-6)
