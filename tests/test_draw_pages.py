"""Pages and diagrams, asserted on what is drawn, never on pixels."""

import json
import os
import random
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from hashlib import sha256
from io import BytesIO
from itertools import combinations
from xml.etree import ElementTree as ET

import pytest
from card_plans import long_names
from draw_plans import (
    BIN,
    KEEP,
    PLANS,
    crowded,
    layout,
    mm,
    odd_names,
    piece,
    plan_of,
    strip_above,
    two_faced,
)
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon, Rectangle
from matplotlib.text import Text
from matplotlib.textpath import TextPath
from matplotlib.transforms import Bbox
from plans import inches
from pypdf import PdfReader

from nesting.batch import Batch
from nesting.draw import (
    A4_PAGE,
    LETTER_PAGE,
    PAGES,
    Page,
    draw_card,
    draw_layout,
    draw_pdf,
    draw_pictures,
    layout_figures,
)
from nesting.draw.canvas.lettering import LETTER, NUMBER, SIZE, SMALLEST
from nesting.draw.card.bag_labels import label_figures
from nesting.draw.card.recipe import recipe_figures
from nesting.draw.pages.summary import summary_figures
from nesting.draw.sheet.diagram import MORE_PAGES
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.words import DRAWN_SMALLER
from nesting.files import plan_to_json
from nesting.layouts import Blank, Cut, Node
from nesting.papers import Paper, Sheet
from nesting.plan import Plan

CUT_WEIGHT = 1.6
HALF_A_POINT = 0.5
#: Dots to the point when measuring.
FINE = 10


def texts_of(figure: Figure) -> list[tuple[Text, Bbox]]:
    """Every text of a figure with its extent in points, measured finely: hinting widens type."""
    figure.set_dpi(72 * FINE)
    renderer = RendererAgg(1, 1, 72 * FINE)
    found = [text for text in figure.findobj(Text) if isinstance(text, Text) and text.get_text()]
    return [
        (text, inked(text, in_points(text.get_window_extent(renderer))).padded(-HALF_A_POINT))
        for text in found
    ]


@cache
def rise_and_depth(character: str, typeface: FontProperties) -> tuple[float, float]:
    """How far the ink of a character reaches above its baseline, and where it begins."""
    ink = TextPath((0, 0), character, prop=typeface).get_extents()
    return ink.y1, ink.y0


def inked(text: Text, box: Bbox) -> Bbox:
    """The extent without the white above and below the ink of a text."""
    x, y = text.get_position()
    typeface = text.get_fontproperties()
    seen = (one for one in text.get_text() if one.isprintable() and not one.isspace())
    inks = [rise_and_depth(one, typeface) for one in seen]
    top, bottom = max(rise for rise, _ in inks), min(depth for _, depth in inks)
    if text.get_rotation():
        return Bbox.from_extents(x - top, box.y0, x - bottom, box.y1)
    return Bbox.from_extents(box.x0, y + bottom, box.x1, y + top)


def in_points(box: Bbox) -> Bbox:
    """An extent in fine dots, in points."""
    return Bbox(box.get_points() / FINE)


def points(line: Line2D) -> Bbox:
    """The extent of a straight line in points."""
    dots = Bbox(line.get_transform().transform(line.get_xydata()))
    return in_points(dots).padded(CUT_WEIGHT / 4)


def pages_of(plan: Plan, page: Page) -> Iterator[Figure]:
    """Every page of a plan as a figure."""
    yield from summary_figures(plan, page)
    for one in plan.layouts:
        yield from layout_figures(plan, one, page)


def assert_well_set(figure: Figure) -> None:
    """No text below the least size, off the page, or over another; none crossed by a cut."""
    texts = texts_of(figure)
    page = in_points(figure.bbox)
    for text, box in texts:
        assert text.get_fontsize() >= SMALLEST
        assert not text.get_parse_math()
        assert page.x0 + 18 <= box.x0, text
        assert box.x1 <= page.x1 - 18, text
        assert page.y0 + 18 <= box.y0, text
        assert box.y1 <= page.y1 - 18, text
    for (first, box), (second, other) in combinations(texts, 2):
        assert not box.overlaps(other), (first.get_text(), second.get_text())
    cuts = [
        points(line)
        for line in figure.findobj(Line2D)
        if isinstance(line, Line2D) and line.get_linewidth() == CUT_WEIGHT
    ]
    for text, box in texts:
        if not text.get_text().isdigit():  # a cut's number lies on its line
            assert not any(box.overlaps(cut) for cut in cuts), text.get_text()


@pytest.mark.parametrize("page", PAGES.values(), ids=PAGES)
@pytest.mark.parametrize("name", PLANS)
def test_every_page_is_readable(name: str, page: Page) -> None:
    """Texts are large enough, on the page, and clear of each other and of the cuts."""
    for figure in pages_of(PLANS[name](), page):
        assert_well_set(figure)


def random_plan(seed: int) -> Plan:
    """A sheet cut up at random, a piece for every other part."""
    chance = random.Random(seed)
    pieces = []

    def split(width: int, height: int, depth: int) -> Node:
        longer: str = "x" if width >= height else "y"
        side = max(width, height)
        if depth == 0 or side < inches("1 1/2"):
            what = chance.random()
            if what < 0.7 and width and height:
                name = f"piece {len(pieces)}"
                directed = "one-way" if chance.random() < 0.5 else "plain"
                pieces.append(
                    piece(chr(65 + len(pieces) % 26), name, width, height, print=directed)
                )
                return Blank(name)
            return KEEP if what < 0.85 else BIN
        at = chance.randrange(side // inches("1/4")) * inches("1/4") or inches("1/4")
        at = min(max(at, inches("3/4")), side - inches("3/4"))
        rest = (width - at, height) if longer == "x" else (width, height - at)
        first = (at, height) if longer == "x" else (width, at)
        return Cut(longer, at, split(*first, depth - 1), split(*rest, depth - 1))  # type: ignore[arg-type]

    paper = Paper("paper", (Sheet(inches("12"), inches("12"), have=1),))
    tree = split(inches("12"), inches("12"), chance.randrange(1, 5))
    one = layout(paper, tree, inches("12"), inches("12"), alike=chance.randrange(1, 14))
    return plan_of(Batch("Orchard market", "in", (paper,)), pieces, [one])


@pytest.mark.parametrize("seed", range(24))
def test_a_sheet_cut_at_random_is_readable(seed: int) -> None:
    """Whatever the cuts, no text leaves the page, covers another, or is crossed by a cut."""
    plan = random_plan(seed)
    assert_well_set(layout_figures(plan, plan.layouts[0], A4_PAGE if seed % 2 else LETTER_PAGE)[0])


def test_letters_and_sizes_keep_their_least_size_in_the_picture() -> None:
    """Every blank has its letter in 18 pt bold or more; sizes have 14 pt or more, or are in the key."""
    plan = crowded()
    texts = [text for text, _ in texts_of(layout_figures(plan, plan.layouts[0])[0])]
    letters = [t for t in texts if t.get_text() == "A" and t.get_fontsize() >= LETTER]
    assert len(letters) == 60
    assert all(letter.get_fontweight() == "bold" for letter in letters)
    assert any(t.get_text().startswith("tag, 1 x 2: 60 here") for t in texts), "the key"
    sizes = [t for t in texts if t.get_text() == "12 x 2"]
    assert sizes
    assert all(t.get_fontsize() >= SIZE for t in sizes)


def test_every_cut_has_its_number() -> None:
    """The numbers of a crowded sheet run from 1 to the last cut, each once."""
    plan = crowded()
    texts = [text for text, _ in texts_of(layout_figures(plan, plan.layouts[0])[0])]
    numbers = sorted(
        int(t.get_text()) for t in texts if t.get_fontsize() == NUMBER and t.get_text().isdigit()
    )
    assert numbers == list(range(1, len(plan.layouts[0].cuts) + 1))


def test_a_layout_page_says_what_it_is() -> None:
    """The head names batch, layout, paper and way up, and what is lacking; the foot has the rest."""
    plan = two_faced()
    lacking = replace(plan.layouts[0], to_buy=2)
    plan = replace(plan, layouts=(lacking,))
    said = {text.get_text() for text, _ in texts_of(layout_figures(plan, lacking)[0])}
    assert {
        "Windfall supper", "layout 1 of 1", "windfall orchard at dusk, front up", "cut 2 sheets alike",
        "needs 2 sheets you do not have yet", "start", "up", "back", "barcode strip", "bin",
        "1 in; drawn smaller than life; do not measure from it",
    } <= said  # fmt: skip


def test_names_are_drawn_as_they_are_written() -> None:
    """Markup, dollars, other scripts and emoji are text; SVG escapes them."""
    plan = odd_names()
    said = [text.get_text() for text, _ in texts_of(layout_figures(plan, plan.layouts[0])[0])]
    assert any("<b>&$x$ [red apple]" in text for text in said)
    svg = draw_layout(plan, plan.layouts[0], "svg")
    root = ET.fromstring(svg)  # noqa: S314 - our own file
    assert root.tag.endswith("svg")
    assert b"&lt;b&gt;&amp;$x$" in svg
    assert b"<b>" not in svg


def test_lengths_of_two_units_keep_both_in_two_rows() -> None:
    """A narrow blank and an offcut with a leader: the inches are not taken for millimetres."""
    paper = Paper("paper", (Sheet(inches("12"), inches("12"), have=2),))
    panel = piece("A", "panel", inches("4"), mm(130), demand=2)
    thin = Cut("y", mm(100), KEEP, BIN)
    tree = Cut(
        "x",
        inches("1/4"),
        thin,
        Cut("x", inches("4"), Cut("y", mm(130), Blank("panel"), BIN), BIN),
    )
    plan = plan_of(
        Batch("Market", "in", (paper,), keep_from=((inches("1/8"), inches("1")),)),
        [panel],
        [layout(paper, tree, inches("12"), inches("12"))],
    )
    root = ET.fromstring(draw_layout(plan, plan.layouts[0], "svg"))  # noqa: S314 - our own file
    said = [text.text for text in root.iter() if text.tag.endswith("text")]
    assert said[said.index("x 130 mm") - 1] == "4 in"
    assert said[said.index("100 mm") - 1] == "1/4 in x"


@pytest.mark.parametrize("page", PAGES.values(), ids=PAGES)
def test_pdf_pages_have_exactly_the_size_asked_for(page: Page) -> None:
    """Every page is letter or A4 to a thousandth of a point; fonts are embedded, names are text."""
    reader = PdfReader(BytesIO(draw_pdf(two_faced(), page)))
    assert len(reader.pages) == 4  # summary, layout, record sheet, labels
    for one in reader.pages:
        assert float(one.mediabox.width) == pytest.approx(page.width / 25.4e6 * 72, abs=0.001)
        assert float(one.mediabox.height) == pytest.approx(page.height / 25.4e6 * 72, abs=0.001)
    assert "windfall orchard at dusk, front up" in reader.pages[1].extract_text()
    assert reader.metadata is not None
    assert reader.metadata.title == "Windfall supper"
    assert reader.metadata.creation_date is None


def test_only_the_chosen_pages_are_drawn() -> None:
    """Layouts are chosen by their numbers; summary, record, labels and recipes by name."""
    plan = two_faced()
    summary, layout_page, record, labels = _texts(draw_pdf(plan))
    assert _texts(draw_pdf(plan, only=(1, "labels"))) == [layout_page, labels]
    assert _texts(draw_pdf(plan, only=("record",))) == [record]
    assert _texts(draw_pdf(plan, only=("summary", "recipes"))) == [summary]


def _texts(pdf: bytes) -> list[str]:
    """What is written on each page."""
    return [page.extract_text() for page in PdfReader(BytesIO(pdf)).pages]


@pytest.mark.parametrize("name", ["pear " * 1000, "w" * 1000], ids=["words", "word"])
def test_names_longer_than_a_page_are_cut_short(name: str) -> None:
    """Every kind of page comes to its end, readable, with an ellipsis where a name goes on."""
    plan = long_names(name.strip())
    pages = [
        *summary_figures(plan),
        *layout_figures(plan, plan.layouts[0]),
        *label_figures(plan),
        *recipe_figures(plan),
    ]
    assert len(pages) == 4
    for figure in pages:
        assert_well_set(figure)
        assert any("\N{HORIZONTAL ELLIPSIS}" in text.get_text() for text, _ in texts_of(figure))
    assert draw_card(plan, plan.asked.cards[0].name)
    assert json.loads(plan_to_json(plan))["batch"] == name.strip()


def test_of_paper_that_is_not_cut_no_shares_are_said() -> None:
    """All of it may be in the bags: then nothing is shared out."""
    plan = PLANS["many_pieces"]()
    pages = (summary_figures(one, LETTER_PAGE) for one in (plan, replace(plan, layouts=())))
    said = [" ".join(text.get_text() for text, _ in texts_of(next(iter(page)))) for page in pages]
    assert ["In pieces" in words for words in said] == [True, False]


def test_a_long_summary_flows_onto_further_pages() -> None:
    """Forty pieces take more than one page, with the head of the table on each."""
    figures = list(summary_figures(PLANS["many_pieces"](), LETTER_PAGE))
    assert len(figures) > 1
    said = [{text.get_text() for text, _ in texts_of(figure)} for figure in figures]
    assert "Orchard market, summary continued" in said[1]
    assert all("piece" in words for words in said)
    assert any(word.startswith("1 of KK layer 36") for words in said for word in words)


def digests() -> str:
    """The fingerprints of one plan in all three formats."""
    plan = odd_names()
    files = (
        draw_pdf(plan),
        draw_layout(plan, plan.layouts[0]),
        draw_layout(plan, plan.layouts[0], "svg"),
    )
    return " ".join(sha256(file).hexdigest() for file in files)


def test_the_same_plan_gives_the_same_bytes() -> None:
    """Twice here and once in another process with other hashes: the files do not differ."""
    once = digests()
    assert digests() == once
    code = "import sys; sys.path.insert(0, sys.argv[1]); import test_draw_pages as t; print(t.digests())"
    here = os.path.dirname(__file__)  # noqa: PTH120 - for a command line
    env = {**os.environ, "PYTHONHASHSEED": "7"}
    done = subprocess.run(
        [sys.executable, "-c", code, here], env=env, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == once


def test_drawing_all_formats_at_once_changes_no_byte() -> None:
    """A layout composed once for all formats gives the files that each format gives alone."""
    plan = two_faced()
    one = plan.layouts[0]
    assert list(draw_pictures(plan, one, ("png", "svg"), A4_PAGE)) == [
        (0, "png", draw_layout(plan, one, "png", A4_PAGE)),
        (0, "svg", draw_layout(plan, one, "svg", A4_PAGE)),
    ]


def test_narrow_bands_and_offcuts_have_their_size_in_the_picture() -> None:
    """An inch of a 12 in sheet is room enough for letter, size, and keep."""
    paper = Paper("paper", (Sheet(inches("12"), inches("12"), have=1),))
    band = piece("A", "band", inches("5 1/2"), inches("1"), print="one-way")
    first = Cut("x", inches("5 1/2"), Blank("band"), KEEP)
    tree = Cut("y", inches("1"), first, BIN)
    one = layout(paper, tree, inches("12"), inches("12"))
    plan = plan_of(Batch("Orchard market", "in", (paper,)), [band], [one])
    said = {(t.get_text(), t.get_fontsize()) for t, _ in texts_of(layout_figures(plan, one)[0])}
    assert {("A", LETTER), ("5 1/2 x 1", SIZE), ("6 1/2 x 1 keep", SIZE)} <= said


@pytest.mark.parametrize("page", PAGES.values(), ids=PAGES)
def test_the_size_of_a_narrow_offcut_is_clear_of_its_dashes(page: Page) -> None:
    """Half an inch of a 12 in sheet is room enough for small type that touches neither dashed edge."""
    paper = Paper("paper", (Sheet(inches("12"), inches("12"), have=1),))
    panel = piece("A", "panel", inches("12"), inches("11 1/2"))
    one = layout(paper, Cut("y", inches("1/2"), KEEP, Blank("panel")), inches("12"), inches("12"))
    plan = plan_of(Batch("Orchard market", "in", (paper,)), [panel], [one])
    (figure,) = layout_figures(plan, one, page)
    (size,) = (box for text, box in texts_of(figure) if text.get_text() == "12 x 1/2")
    (dashes,) = (
        in_points(patch.get_extents()).padded(-patch.get_linewidth() / 2)
        for patch in figure.findobj(Rectangle)
        if isinstance(patch, Rectangle) and patch.get_linestyle() != "solid"
    )
    ink = size.padded(HALF_A_POINT)
    assert dashes.y0 < ink.y0
    assert ink.y1 < dashes.y1


@pytest.mark.parametrize("page", PAGES.values(), ids=PAGES)
def test_the_dashes_of_a_narrow_offcut_do_not_merge_with_the_outline(page: Page) -> None:
    """At its ends white stays between them; along it, where the type takes the room, the lines hardly touch."""
    paper = Paper("paper", (Sheet(inches("12"), inches("12"), have=1),))
    panel = piece("A", "panel", inches("12"), inches("11 1/2"))
    one = layout(paper, Cut("y", inches("1/2"), KEEP, Blank("panel")), inches("12"), inches("12"))
    plan = plan_of(Batch("Orchard market", "in", (paper,)), [panel], [one])
    (figure,) = layout_figures(plan, one, page)
    texts_of(figure)
    drawn = [one for one in figure.findobj(Rectangle) if isinstance(one, Rectangle)]
    (dashes,) = (
        in_points(one.get_extents()).padded(one.get_linewidth() / 2)
        for one in drawn
        if one.get_linestyle() != "solid"
    )
    heaviest = max(drawn, key=Rectangle.get_linewidth)
    outline = in_points(heaviest.get_extents()).padded(-heaviest.get_linewidth() / 2)
    assert outline.y0 - dashes.y0 < HALF_A_POINT / 2
    assert dashes.x0 - outline.x0 > 2
    assert outline.x1 - dashes.x1 > 2


def test_every_kept_offcut_has_its_size_and_every_mark_its_words() -> None:
    """One too narrow for any type has a leader; a legend explains what is drawn, and only that."""
    paper = Paper("paper", (Sheet(inches("12"), inches("12"), have=1),))
    panel = piece("A", "panel", inches("5 11/16"), inches("11 13/16"), demand=2)
    tree = Cut(
        "y",
        inches("11 13/16"),
        Cut("x", inches("5 11/16"), Blank("panel"), Cut("x", inches("5/8"), KEEP, Blank("panel"))),
        KEEP,
    )
    one = layout(paper, tree, inches("12"), inches("12"))
    batch = Batch("Orchard market", "in", (paper,))
    said = [
        t.get_text() for t, _ in texts_of(layout_figures(plan_of(batch, [panel], [one]), one)[0])
    ]
    assert {"12 x", "3/16"} <= set(said)
    assert "5/8 x 11 13/16" in said
    words = " ".join(said)
    assert "Dashed: an offcut to keep. Dotted lines lead from words to their part." in words
    assert "Hatched" not in words
    assert "Long dashes" not in words


def test_what_stands_below_a_sheet_is_clear_of_the_scale() -> None:
    """Where measuring starts at the bottom, its mark and the cuts' numbers lie above the scale."""
    plan = strip_above()
    boxes = texts_of(layout_figures(plan, plan.layouts[0])[0])
    (scale,) = [box for text, box in boxes if DRAWN_SMALLER in text.get_text()]
    (start,) = [box for text, box in boxes if text.get_text() == "start"]
    numbers = [box for text, box in boxes if text.get_text() in {"2", "3", "4", "5"}]
    assert len(numbers) >= 4
    assert all(box.y0 > scale.y1 for box in (start, *numbers))


def test_a_page_says_that_its_layout_goes_on() -> None:
    """Every page of a layout but the last says so, and a further one which it is."""
    plan = PLANS["metric"]()
    pages = [
        {text.get_text() for text, _ in texts_of(figure)}
        for figure in layout_figures(plan, plan.layouts[0])
    ]
    assert len(pages) > 1
    assert [MORE_PAGES in said for said in pages] == [True] * (len(pages) - 1) + [False]
    assert "layout 1 of 1, page 2" in pages[1]


def test_a_small_arrow_on_a_layout_has_one_head() -> None:
    """It points to a piece's top; two heads are for a print that runs both ways, on the big arrow."""
    plan = odd_names()
    figure = layout_figures(plan, plan.layouts[0])[0]
    shapes = [p.get_xy() for p in figure.findobj(Polygon)]
    steps = len(Subject(plan, plan.layouts[0]).steps)  # each has a triangle in its small picture
    assert sum(len(shape) == 4 for shape in shapes) == 2 + 4 + steps
    assert sum(len(shape) == 12 for shape in shapes) == 1


def test_matplotlib_is_loaded_when_something_is_drawn_and_pyplot_never() -> None:
    """Importing the package is cheap, and no global figure state is touched."""
    code = (
        "import sys, nesting.draw as d; assert 'matplotlib' not in sys.modules\n"
        "sys.path.insert(0, sys.argv[1]); from draw_plans import sparse; d.draw_pdf(sparse())\n"
        "assert 'matplotlib.pyplot' not in sys.modules"
    )
    here = os.path.dirname(__file__)  # noqa: PTH120 - for a command line
    subprocess.run([sys.executable, "-c", code, here], check=True)
