"""Figures as files: a picture keeps its colours, and has a byte for each dot."""

import re
from io import BytesIO
from typing import Literal

import pytest
from PIL import Image, ImageOps
from pypdf import PdfReader

from nesting.draw.canvas.lettering import isolated, text_width
from nesting.draw.canvas.palette import HATCH, INK, QUIET, SHADE, WHITE, shades, tint
from nesting.draw.canvas.surface import LETTER_PAGE, Box, Surface, house_style
from nesting.draw.canvas.writing import pdf_file, picture_file


def test_a_picture_has_room_for_every_colour() -> None:
    """A table of a PNG has at most 256 colours, and every plain one is among them."""
    assert len(shades()) <= 256
    assert {INK, QUIET, WHITE, SHADE, HATCH, *map(tint, range(7))} <= set(shades())


def test_a_png_keeps_the_colours_and_has_a_byte_for_each_dot() -> None:
    """Plain areas have exactly their colour, 150 dots to the inch, and the tool is named."""
    plain = [INK, QUIET, WHITE, SHADE, HATCH, *map(tint, range(7))]
    with house_style():
        surface = Surface(LETTER_PAGE)
        for number, colour in enumerate(plain):
            surface.box(Box(36, 48 * number, 48, 48), fill=colour)
        picture = Image.open(BytesIO(picture_file(surface.figure, "nesting 1", "png")))
    assert (picture.mode, picture.size) == ("P", (1275, 1650))
    assert picture.info["Software"] == "nesting 1"
    seen = picture.convert("RGB")
    for number, colour in enumerate(plain):
        dot = seen.getpixel((125, 1650 - 100 * number - 50))
        assert isinstance(dot, tuple)
        assert max(abs(255 * part - one) for part, one in zip(colour, dot, strict=True)) <= 1


@pytest.mark.parametrize("align", ["left", "center", "right"])
@pytest.mark.parametrize("rotation", [0, 90])
def test_a_png_has_text_where_it_was_measured(
    align: Literal["left", "center", "right"], rotation: int
) -> None:
    """The ink of a line begins and ends where its anchor and its width put it, to a point."""
    words, size = "HILL H", 40.0
    with house_style():
        surface = Surface(LETTER_PAGE)
        surface.text(300, 400, words, size, align=align, rotation=rotation)
        picture = Image.open(BytesIO(picture_file(surface.figure, "", "png")))
    ink = ImageOps.invert(picture.convert("L")).getbbox()
    assert ink is not None
    left, top, right, bottom = (dots * 72 / 150 for dots in ink)
    start = {"left": 0.0, "center": -0.5, "right": -1.0}[align] * text_width(words, size)
    along = (792 - bottom - 400, 792 - top - 400) if rotation else (left - 300, right - 300)
    foot = right - 300 if rotation else bottom - 392
    side = 0.1 * size  # the white beside an H
    assert along[0] == pytest.approx(start + side, abs=1)
    assert along[1] == pytest.approx(start + text_width(words, size) - side, abs=1)
    assert foot == pytest.approx(0, abs=1)


def test_a_pdf_has_the_lines_of_a_hatch_within_its_box() -> None:
    """A hatch is clipped to its box, in its own colour."""
    with house_style():
        surface = Surface(LETTER_PAGE)
        surface.box(Box(100, 200, 150, 30), hatch=HATCH)
        read = PdfReader(BytesIO(pdf_file([surface.figure], "hatch", "nesting 1"))).pages[0]
    contents = read.get_contents()
    assert contents is not None
    hatch = re.search(
        r"100 200 m\n250 200 l\n250 230 l\n100 230 l\nh\nW\nn\n0.55 0.55 0.55 RG\n0.6 w\n(.*?)\nS\n",
        contents.get_data().decode(),
        re.DOTALL,
    )
    assert hatch is not None
    assert len(hatch[1].split("\n")) > 40


def test_a_pdf_moves_letters_as_they_are_kerned() -> None:
    """Letters of a pair stand closer by a number between them, and the line is copied whole."""
    with house_style():
        surface = Surface(LETTER_PAGE)
        surface.text(100, 200, "To AV", 20)
        read = PdfReader(BytesIO(pdf_file([surface.figure], "kerning", "nesting 1"))).pages[0]
    contents = read.get_contents()
    assert contents is not None
    assert re.search(
        rb"\[<[0-9a-f]{4}>169\.9<[0-9a-f]{12}>64\.0<[0-9a-f]{4}>\] TJ", contents.get_data()
    )
    assert read.extract_text() == "To AV"


def test_a_name_from_the_right_leaves_every_character_its_meaning() -> None:
    """The marks that hold its direction are no glyphs: words after it are copied with their spaces."""
    with house_style():
        surface = Surface(LETTER_PAGE)
        surface.text(100, 300, f"{isolated('אגס')}, one (two) three", 20)
        surface.text(100, 200, "four (five) six", 20)
        read = PdfReader(BytesIO(pdf_file([surface.figure], "marks", "nesting 1"))).pages[0]
    assert read.extract_text().splitlines()[-1] == "four (five) six"
    assert "\N{LEFT-TO-RIGHT MARK}" not in read.extract_text()


def test_an_invisible_character_leaves_every_other_its_meaning() -> None:
    """It is drawn as a space without width: spaces are copied as spaces all the same."""
    with house_style():
        surface = Surface(LETTER_PAGE)
        surface.text(100, 300, "a\N{COMBINING GRAPHEME JOINER}b", 20)
        surface.text(100, 200, "one two", 20)
        read = PdfReader(BytesIO(pdf_file([surface.figure], "joiner", "nesting 1"))).pages[0]
    assert read.extract_text().splitlines()[-1] == "one two"
