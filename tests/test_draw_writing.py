"""Figures as files: a picture keeps its colours, and has a byte for each dot."""

from io import BytesIO

from PIL import Image

from nesting.draw.canvas.palette import HATCH, INK, QUIET, SHADE, WHITE, shades, tint
from nesting.draw.canvas.surface import LETTER_PAGE, Box, Surface, house_style
from nesting.draw.canvas.writing import picture_file


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
