"""The pictures on the page: SVG from the model's geometry, to scale, with a title each."""

import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest
import shapely
from plans import harvest_plan, inches

import nesting
from nesting.batch import At, Batch, Card, Layer
from nesting.cards.placing import place_layers
from nesting.cutting.strokes import steps_of
from nesting.draw.canvas.lettering import SIZE, text_width
from nesting.draw.canvas.surface import Box
from nesting.files import read_draft
from nesting.layouts import Layout
from nesting.page.pictures.card_svg import Marks, Moves, card_picture
from nesting.page.pictures.layout_svg import layout_picture
from nesting.page.pictures.paper_svg import paper_picture
from nesting.page.pictures.prints import Looks
from nesting.page.pictures.screen import ScreenSurface
from nesting.page.pictures.stroke_svg import stroke_picture
from nesting.papers import BarcodeStrip, Edges, Face, Paper, Sheet
from nesting.typed_lengths import parse_length

SVG = "{http://www.w3.org/2000/svg}"
STRIP = BarcodeStrip("left", parse_length("1/2", "in"), beyond_the_sheet=True)


def all_round(text: str) -> Edges:
    """One reveal on all edges."""
    return Edges(*[inches(text)] * 4)


def orchard(**changes: object) -> tuple[Looks, Card]:
    """A card of four layers and the looks of its two papers."""
    pears = Paper(
        "pear toss", (Sheet(inches("12"), inches("12"), 3),), True, Face("four-way"),
        Face("one-way", "left"), barcode_strip=STRIP,
    )  # fmt: skip
    cream = Paper("cream", (Sheet(inches("8 1/2"), inches("11")),), back=Face("two-way"))
    layers = (
        Layer("mat", "cream", "front", "card", all_round("1/8")),
        Layer("panel", "pear toss", "front", "mat", all_round("1/8")),
        Layer("band", "pear toss", "back", "panel", height=inches("1"), at=At(bottom=inches("1"))),
        Layer("moon", "cream", "front", "panel", circle=inches("2")),
        Layer("note", "cream", "front", "card", all_round("1/4"), where="inside"),
    )
    card = Card("windfall", 8, inches("4 1/4"), inches("5 1/2"), None, layers)
    card = replace(card, **changes)  # type: ignore[arg-type]
    return Looks(Batch("supper", "in", (pears, cream), (card,)), {}), card


def read(svg: str) -> ET.Element:
    """A picture, read back."""
    return ET.fromstring(svg)  # noqa: S314 - our own SVG


def drawn(looks: Looks, card: Card, **kwargs: object) -> ET.Element:
    """The picture of a card, read back."""
    return read(card_picture(looks, card, place_layers(card), **kwargs))  # type: ignore[arg-type]


def layers_of(root: ET.Element) -> dict[str, ET.Element]:
    """The groups of the layers by their names, from the bottom up."""
    return {
        group.attrib["data-layer"]: group
        for group in root.iter(f"{SVG}g")
        if "data-layer" in group.attrib
    }


def sizes(group: ET.Element) -> tuple[float, float]:
    """Width and height of the outline of a layer, in points."""
    outline = group.findall(f"{SVG}rect")[-1]
    return float(outline.attrib["width"]), float(outline.attrib["height"])


def points_of(shape: ET.Element) -> list[tuple[float, float]]:
    """The corners of a shape, in points."""
    corners = [corner.split(",") for corner in shape.attrib["points"].split()]
    return [(float(x), float(y)) for x, y in corners]


def test_layers_are_drawn_from_the_bottom_up_and_to_scale() -> None:
    """A card of 4 1/4 x 5 1/2 in has its layers in order; all have the same points to the inch."""
    looks, card = orchard()
    groups = layers_of(drawn(looks, card))
    assert list(groups) == ["mat", "panel", "band", "moon"]
    scale = sizes(groups["mat"])[0] / 4
    for name, width, height in (("mat", 4, 5.25), ("panel", 3.75, 5), ("band", 3.75, 1)):
        assert sizes(groups[name]) == pytest.approx((width * scale, height * scale), abs=0.02)


def test_layers_lie_where_they_are_placed() -> None:
    """The band's lower edge is 1 in above the card's, the panel's 1/4 in: y runs down in SVG."""
    looks, card = orchard()
    groups = layers_of(drawn(looks, card))
    scale = sizes(groups["mat"])[0] / 4
    low = {
        name: float(rect.attrib["y"]) + float(rect.attrib["height"])
        for name in ("band", "panel")
        for rect in groups[name].findall(f"{SVG}rect")[-1:]
    }
    assert low["panel"] - low["band"] == pytest.approx(0.75 * scale, abs=0.02)


def test_each_side_has_its_own_layers() -> None:
    """The inside shows the note alone, and the other half of the open card."""
    looks, card = orchard()
    assert list(layers_of(drawn(looks, card, where="inside"))) == ["note"]
    assert list(layers_of(drawn(looks, card, where="behind"))) == []


def test_sizes_stand_beside_the_layers() -> None:
    """Every layer is named with its size in the words of the command line."""
    looks, card = orchard()
    texts = [text.text for text in drawn(looks, card).iter(f"{SVG}text")]
    for words in ("4 x 5 1/4 in", "3 3/4 x 5 in", "3 3/4 x 1 in", "2 in circle", "moon"):
        assert words in texts
    *others, moon, note = card.layers
    three = replace(card, layers=(*others, replace(moon, each=3), note))
    picture = drawn(looks, three)  # one of them: where the others lie is not said
    assert "2 in circle (3 of them)" in [text.text for text in picture.iter(f"{SVG}text")]


def test_an_aslant_band_is_cut_off_at_what_it_lies_on_and_its_print_turned() -> None:
    """On a panel of 3 3/4 in its sides run from edge to edge, falling by 3 3/4 x tan 30 = 2.165 in."""
    looks, card = orchard()
    band = replace(card.layers[2], at=None, angle=30_000)
    root = drawn(looks, replace(card, layers=(*card.layers[:2], band)))
    group = layers_of(root)["band"]
    outline = points_of(group.findall(f"{SVG}polygon")[-1])
    scale = sizes(layers_of(root)["mat"])[0] / 4
    assert len(outline) == 4
    left, right = min(x for x, _ in outline), max(x for x, _ in outline)
    assert right - left == pytest.approx(3.75 * scale, abs=0.02)
    falls = [max(y for x, y in outline if x == end) for end in (left, right)]
    assert falls[1] - falls[0] == pytest.approx(2.16506 * scale, abs=0.03)  # y runs down in SVG
    (turned,) = (one for one in group.iter(f"{SVG}g") if "transform" in one.attrib)
    assert turned.attrib["transform"].startswith("rotate(30 ")
    assert "1 in wide, 30° clockwise" in [text.text for text in root.iter(f"{SVG}text")]


def test_ends_folded_behind_are_dashed_beyond_the_layer() -> None:
    """A wrap of 1/2 in shows as a dashed outline an inch longer than the band."""
    looks, card = orchard()
    band = replace(card.layers[2], wrap=inches("1/2"))
    wrapped = replace(card, layers=(*card.layers[:2], band))
    group = layers_of(drawn(looks, wrapped))["band"]
    (dashed,) = (one for one in group.iter(f"{SVG}polygon") if "stroke-dasharray" in one.attrib)
    across = [x for x, _ in points_of(dashed)]
    scale = sizes(group)[0] / 3.75
    assert max(across) - min(across) == pytest.approx(4.75 * scale, abs=0.02)


def test_names_are_text() -> None:
    """A name with markup in it is written out, in the picture and in its title."""
    looks, card = orchard()
    named = replace(card.layers[0], name='<b>&"mat"')
    root = drawn(looks, replace(card, name="<i>supper</i>", layers=(named,)))
    assert '<b>&"mat"' in [text.text for text in root.iter(f"{SVG}text")]
    title = root.find(f"{SVG}title")
    assert title is not None
    assert title.text is not None
    assert title.text.startswith("<i>supper</i>, 4 1/4 x 5 1/2 in, front: ")


def test_a_layer_that_can_be_moved_says_how_far() -> None:
    """The marks are in the picture's own points; layers that have no free place say nothing."""
    looks, card = orchard()
    marks = Marks("/cards/windfall/layers/2/at/left", -inches("1/4"), inches("1/16"), ("0", "1/16"))
    up = Marks("/cards/windfall/layers/2/at/bottom", 0, inches("1/16"), ("1",))
    groups = layers_of(drawn(looks, card, moves={"band": Moves(marks, up)}))
    scale = sizes(groups["mat"])[0] / 4
    band = groups["band"].attrib
    assert float(band["data-across-first"]) == pytest.approx(-0.25 * scale, abs=0.01)
    assert float(band["data-across-apart"]) == pytest.approx(scale / 16, abs=0.01)
    assert band["data-across-texts"] == "0|1/16"
    assert band["data-up-pointer"] == "/cards/windfall/layers/2/at/bottom"
    assert "data-across-first" not in groups["mat"].attrib


def test_photos_are_shown_at_the_scale_of_their_sheet() -> None:
    """A photo of a sheet of 12 in is as large as 12 in of the card, and cut off at the layer."""
    looks, card = orchard()
    with_photo = Looks(looks.batch, {("pear toss", "front"): "/photo/1"})
    group = layers_of(drawn(with_photo, card))["panel"]
    image = next(group.iter(f"{SVG}image"))
    assert float(image.attrib["width"]) == pytest.approx(12 * sizes(group)[0] / 3.75, abs=0.05)
    assert image.attrib["href"] == "/photo/1"


def test_a_photo_is_turned_until_its_top_is_up() -> None:
    """The print's top is at the front's left edge, which is the back's right: a quarter backwards."""
    looks, card = orchard()
    with_photo = Looks(looks.batch, {("pear toss", "back"): "/photo/2"})
    image = next(layers_of(drawn(with_photo, card))["band"].iter(f"{SVG}image"))
    assert image.attrib["transform"].startswith("rotate(270 ")


def test_a_circle_shows_only_what_lies_in_it() -> None:
    """What fills a circle is cut off at a disc whose name the group refers to."""
    looks, card = orchard()
    moon = layers_of(drawn(looks, replace(card, name="a (b)")))["moon"]
    (clip,) = moon.iter(f"{SVG}clipPath")
    (inner,) = moon.findall(f"{SVG}g")
    assert inner.attrib["clip-path"] == f"url(#{clip.attrib['id']})"
    assert re.fullmatch("[0-9A-Za-z-]+", clip.attrib["id"])


@pytest.mark.parametrize(("face", "edge"), [("front", "left"), ("back", "right")])
def test_a_paper_shows_strip_and_top_as_the_face_is_seen(face: str, edge: str) -> None:
    """Seen from the back, the strip of the front's left edge is on the right."""
    looks, _ = orchard()
    root = read(paper_picture(looks, looks.batch.papers[0], face))  # type: ignore[arg-type]
    shaded = [rect.attrib for rect in root.iter(f"{SVG}rect") if rect.attrib["fill"] == "#cccccc"]
    whole = float(root.attrib["width"].removesuffix("pt"))
    assert (float(shaded[0]["x"]) < whole / 2) == (edge == "left")
    title = root.findtext(f"{SVG}title", "")
    assert f"1/2 in of barcode strip along the {edge} edge" in title
    assert ("is the top of the print" in title) == (face == "back")


def test_prints_differ_without_colour() -> None:
    """Four-way, one-way, two-way and plain faces have other marks, or none."""
    looks, _ = orchard()
    pears, cream = looks.batch.papers
    paths = {
        (paper.name, face): re.findall('<path d="([^"]*)"', paper_picture(looks, paper, face))
        for paper in (replace(pears, barcode_strip=None), cream)
        for face in ("front", "back")
    }
    assert paths.pop(("cream", "front")) == []
    assert len({tuple(found) for found in paths.values()}) == 3


def test_a_layout_has_every_letter_and_size() -> None:
    """Each blank of the sheet has its letter; sheet, strip and offcuts are those of the page."""
    plan = harvest_plan()
    for layout in plan.layouts:
        root = read(layout_picture(plan, layout))
        texts = [text.text or "" for text in root.iter(f"{SVG}text")]
        for placed in layout.blanks:
            letter = plan.piece(placed.node.piece).letter  # type: ignore[union-attr]
            assert letter in texts
        assert layout.paper in root.findtext(f"{SVG}title", "")


STRIPED = """\
batch: Orchard supper
unit: in
papers:
  pear toss:
    {sheet: 12 x 12, have: 1, barcode strip: {edge: bottom, width: 1/2, beyond the sheet: true}}
pieces:
  - {name: panel, size: 12 x 11 1/4, paper: pear toss, count: 1}
"""


def numbers_of(layout: Layout) -> range:
    """The numbers of all strokes of a layout."""
    return range(1, 1 + sum(len(step.strokes) for step in steps_of(layout, harvest_plan().asked)))


def test_a_stroke_shows_its_ruler_setting_and_what_drops_off() -> None:
    """Every stroke has its setting in the largest type, and says in words what falls."""
    plan = harvest_plan()
    for layout in plan.layouts:
        for number in numbers_of(layout):
            root = read(stroke_picture(plan, layout, number))
            large = [t for t in root.iter(f"{SVG}text") if float(t.attrib["font-size"]) > 40]
            title = root.findtext(f"{SVG}title", "")
            assert title.startswith(f"Stroke {number}: ruler at {large[0].text}; ")
            assert "drops off: " in title


def test_all_that_is_said_of_a_stroke_is_inside_its_picture() -> None:
    """A kept offcut with its barcode strip on takes two lines."""
    batch = read_draft(STRIPED, "supper.yaml").batch
    assert batch is not None
    plan = nesting.solve(batch)
    root = read(stroke_picture(plan, plan.layouts[0], 1))
    left, top, width, height = map(float, root.attrib["viewBox"].split())
    lines = [t for t in root.iter(f"{SVG}text") if t.attrib["font-size"] == f"{SIZE:g}"][-2:]
    assert " ".join(t.text or "" for t in lines).startswith("drops off: offcut 12 x 3/4, with its")
    for text in lines:
        x, y, half = (
            float(text.attrib["x"]),
            float(text.attrib["y"]),
            text_width(text.text or "", SIZE) / 2,
        )
        assert left <= x - half < x + half <= left + width
        assert top <= y - SIZE < y + SIZE / 3 <= top + height


def test_what_drops_off_is_where_the_blade_leaves_it() -> None:
    """Held on the ruler's side the part beyond the blade is grey, and the other way round."""
    plan = harvest_plan()
    (layout, *_) = plan.layouts
    for step in steps_of(layout, plan.asked):
        for stroke in step.strokes:
            root = read(stroke_picture(plan, layout, stroke.number))
            rects = [r.attrib for r in root.iter(f"{SVG}rect") if "x" in r.attrib]
            grey = next(rect for rect in rects if rect["fill"] == "#cccccc")
            beyond = float(grey["x"]) > float(rects[0]["x"]) + 0.1
            assert beyond == step.falls_beyond(stroke)


def test_there_is_no_stroke_after_the_last() -> None:
    """A number that no stroke has is a KeyError."""
    plan = harvest_plan()
    with pytest.raises(KeyError):
        stroke_picture(plan, plan.layouts[0], 999)


def test_a_hatch_stays_in_its_box() -> None:
    """No line of a hatch ends outside, however long or narrow the box is."""
    for width, height in ((100.0, 8.0), (8.0, 100.0), (50.0, 50.0)):
        surface = ScreenSurface(200, 200)
        surface.box(Box(40, 30, width, height), hatch=(0, 0, 0))
        path = re.search('<path d="([^"]*)"', surface.svg("bin"))
        assert path is not None
        for x, y in re.findall(r"([\d.]+),([\d.]+)", path[1]):
            assert 39.99 <= float(x) <= 40.01 + width
            assert 169.99 - height <= float(y) <= 170.01


def test_the_words_of_an_aslant_band_have_room_and_lead_to_it() -> None:
    """The line beside a size ends inside the band; no size is cut off at the picture's edge."""
    looks, card = orchard()
    band = replace(card.layers[2], at=None, angle=-22_500)
    root = drawn(looks, replace(card, layers=(*card.layers[:2], band, card.layers[3])))
    text = next(one for one in root.iter(f"{SVG}text") if "anticlockwise" in (one.text or ""))
    assert text.text == "1 in wide, 22.5° anticlockwise"
    room = float(root.attrib["width"].removesuffix("pt")) - float(text.attrib["x"])
    assert room >= 0.6 * 12 * len(text.text)
    outline = shapely.Polygon(points_of(layers_of(root)["band"].findall(f"{SVG}polygon")[-1]))
    lines = [points_of(line)[0] for line in root.iter(f"{SVG}polyline")]
    moon = layers_of(root)["moon"].findall(f"{SVG}circle")[-1].attrib
    disc = shapely.Point(float(moon["cx"]), float(moon["cy"])).buffer(float(moon["r"]))
    assert sum(outline.difference(disc).contains(shapely.Point(line)) for line in lines) == 1


def test_a_belt_is_drawn_across_the_back() -> None:
    """Over what lies there, at the other side than on the front, and not as a layer to be moved."""
    looks, card = orchard()
    belt = Layer(
        "belt", "pear toss", "front", "card", width=inches("1"), belt=0, at=At(left=inches("1/2"))
    )
    label = replace(card.layers[4], name="label", where="behind")
    root = drawn(looks, replace(card, layers=(belt, label)), where="behind")
    assert list(layers_of(root)) == ["label"]
    last = list(root.iter(f"{SVG}rect"))[-1].attrib
    label_box = layers_of(root)["label"].findall(f"{SVG}rect")[-1].attrib
    scale = float(label_box["width"]) / 3.75
    left = float(label_box["x"]) - scale / 4
    assert float(last["x"]) - left == pytest.approx(2.75 * scale, abs=0.02)
    assert float(last["width"]) == pytest.approx(scale, abs=0.02)
