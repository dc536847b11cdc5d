"""Text shaped: kerning, ligatures, and what each glyph stands for."""

import pytest

from nesting.draw.canvas.shaping import shaped
from nesting.draw.canvas.typefaces import typeface

OURS = str(typeface(10.0).get_file())


def width(run: str) -> float:
    """The width of a run in thousandths of its size."""
    return sum(glyph.advance for glyph in shaped(run, OURS))


def test_letters_are_kerned_and_spaces_are_not() -> None:
    """A pair that would gape stands closer; a line is as wide as its words and spaces."""
    assert width("To") < width("T") + width("o") - 100
    assert width("To AV") == pytest.approx(width("To") + width(" ") + width("AV"))


@pytest.mark.parametrize("run", ["office fish", "cafe\u0301 ½", "שלום (12) plum", "تفاح 3"])
def test_glyphs_stand_for_all_of_the_text(run: str) -> None:
    """Nothing of a text is lost to who searches or copies, ligatures are one glyph."""
    texts = [glyph.text for glyph in shaped(run, OURS)]
    assert sorted("".join(texts)) == sorted(run)
    assert ("ffi" in texts) == ("ffi" in run)


def test_nothing_has_no_glyphs() -> None:
    """An empty text takes no room."""
    assert shaped("", OURS) == ()
