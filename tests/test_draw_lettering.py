"""Type: what can be drawn, how wide it is, where it breaks."""

import itertools

import pytest

from nesting.draw.canvas import lettering
from nesting.draw.canvas.lettering import (
    TIE,
    isolated,
    shorten,
    text_width,
    wrap,
)
from nesting.draw.canvas.typefaces import SUBSTITUTE, drawable


@pytest.mark.parametrize(
    ("name", "drawn"),
    [
        ("two\nlines\tand a tab", "two lines and a tab"),
        ("\N{RIGHT-TO-LEFT OVERRIDE}egap", "egap"),
        ("a\x01b\ud800", f"a{SUBSTITUTE}b{SUBSTITUTE}"),
        ("<b>&$x$", "<b>&$x$"),
    ],
)
def test_drawable_keeps_text_on_one_line_and_replaces_what_has_no_glyph(
    name: str, drawn: str
) -> None:
    """What the typeface lacks becomes a visible square; controls and line breaks go."""
    assert drawable(name) == drawn


def test_names_from_the_right_keep_the_words_after_them_on_the_right() -> None:
    """A mark on both sides keeps a sentence with a right-to-left name in order."""
    mark = "\N{LEFT-TO-RIGHT MARK}"
    assert drawable(isolated("תפוח") + ", 3") == f"{mark}תפוח{mark}, 3"
    assert isolated("apple") == "apple"


def test_width_grows_with_size_and_weight() -> None:
    """Width is measured, in proportion to the size, and bold is wider."""
    assert text_width("", 14) == 0
    assert text_width("panel", 28) == pytest.approx(2 * text_width("panel", 14), rel=0.01)
    assert text_width("panel", 14, bold=True) > text_width("panel", 14)


def test_wrap_breaks_between_words_and_keeps_every_line_within_the_width() -> None:
    """Lines fit, nothing is lost, and a word too long for a line is cut short."""
    text = "windfall apples under the old tree in the last light of the year"
    lines = wrap(text, 120, 10.5)
    assert len(lines) > 2
    assert " ".join(lines) == text
    assert all(text_width(line, 10.5) <= 120 for line in lines)
    assert text_width(wrap("p" * 100, 120, 10.5)[0], 10.5) <= 120


def test_wrap_ends_the_last_line_allowed_with_an_ellipsis() -> None:
    """A text with more lines than allowed shows that it goes on."""
    lines = wrap("one two three four five six seven", 60, 10.5, most=2)
    assert len(lines) == 2
    assert lines[1].endswith("\N{HORIZONTAL ELLIPSIS}")


def test_shorten_leaves_a_text_that_fits() -> None:
    """Only a text that is too wide is cut short."""
    assert shorten("pear", 200, 14) == "pear"
    assert shorten("pear and plum", 50, 14).endswith("\N{HORIZONTAL ELLIPSIS}")


@pytest.mark.parametrize("name", ["w" * 1_000_000, "word " * 200_000])
def test_a_very_long_name_is_hardly_measured(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """However long it is, the line it ends in takes a few hundred characters to find."""
    measured: list[str] = []
    monkeypatch.setattr(
        lettering, "text_width", lambda text, *_, **__: measured.append(text) or 5.0 * len(text)
    )
    assert lettering.shorten(name, 300, 10.5).startswith(name[:59])
    assert len(lettering.wrap(name, 300, 10.5, most=2)) == (1 if " " not in name else 2)
    assert sum(map(len, measured)) < 20_000


def test_a_name_in_a_sentence_is_cut_short() -> None:
    """Sixty characters are enough to know a paper by."""
    assert isolated("pear " * 12) == "pear " * 12
    assert isolated("pear " * 200) == "pear " * 11 + "pear\N{HORIZONTAL ELLIPSIS}"


def test_a_size_is_never_broken_over_two_lines() -> None:
    """However narrow the lines, a whole number stays with its fraction and a width with its height."""
    text = "the nearest is 2 3/8; cut 3 1/4 x 4 1/2 in or 60 x 30 mm, 8 1/2 in wide"
    lines = wrap(text, 110, 10.0)
    assert " ".join(lines) == text
    for size in ("2 3/8;", "3 1/4 x 4 1/2 in", "60 x 30 mm,", "8 1/2 in"):
        assert any(size in line for line in lines), size


def test_a_size_without_room_is_broken_between_its_lengths() -> None:
    """Nothing of a size is cut off: the second length goes below the first."""
    width = text_width("10 15/16 x 12", 18, bold=True)
    lines = wrap("cut 10 15/16 x 12 11/16", width, 18, bold=True)
    assert lines == ["cut 10 15/16", "x 12 11/16"]


def test_a_tie_holds_two_words_together() -> None:
    """A name and its count stay on one line."""
    assert wrap(f"pruning day{TIE}8, cider market{TIE}8", 60, 10.0) == [
        "pruning", "day 8, cider", "market 8",
    ]  # fmt: skip


def test_the_mark_after_a_name_stays_with_it() -> None:
    """Where a line has lost its name to the one before, the mark that belongs to it is gone, too."""
    mark = "\N{LEFT-TO-RIGHT MARK}"
    assert drawable(f"orchard{mark} 9") == "orchard 9"
    assert mark in drawable(f"תפוח{mark} 9")


def test_breaking_word_by_word_is_breaking_by_the_line() -> None:
    """Every line is as long as the width lets it be, and never longer by more than a hair."""
    words = "AV To 1/8 from the left, Wye of it shows all round; on panel " * 6
    for width in (60.0, 90.0, 151.0, 240.0):
        lines = wrap(words, width, 10.5)
        assert " ".join(lines) == words.strip()
        for line, after in itertools.pairwise(lines):
            assert text_width(line, 10.5) <= width + 0.5
            more = f"{line} {after.split()[0]}"
            assert text_width(more, 10.5) > width - 0.5
