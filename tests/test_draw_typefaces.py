"""Typefaces: another of the machine's for what ours lacks, a clear substitute where there is none."""

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import pytest
from draw_plans import layout, piece, plan_of
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont
from matplotlib.font_manager import FontEntry, fontManager
from plans import inches
from pypdf import PdfReader

from nesting.batch import Batch
from nesting.draw import draw_layout, draw_pdf
from nesting.draw.canvas import lettering, typefaces
from nesting.draw.canvas.lettering import text_width
from nesting.draw.canvas.typefaces import SUBSTITUTES, drawable, is_drawable, runs_of
from nesting.layouts import Blank
from nesting.papers import Paper, Sheet
from nesting.plan import Plan

PLUM_BLOSSOM = "梅の花"


def font_of(characters: str, path: Path, *, drawn: bool = True) -> FontEntry:
    """A font that has some characters as squares, or as nothing at all."""
    pen = TTGlyphPen(None)
    if drawn:
        pen.moveTo((100, 0))
        for corner in ((100, 700), (900, 700), (900, 0)):
            pen.lineTo(corner)
        pen.closePath()
    names = {ord(c): f"uni{ord(c):04X}" for c in characters}
    glyphs = {".notdef": TTGlyphPen(None).glyph(), **dict.fromkeys(names.values(), pen.glyph())}
    font = FontBuilder(1000, isTTF=True)
    font.setupGlyphOrder(list(glyphs))
    font.setupCharacterMap(names)
    font.setupGlyf(glyphs)
    font.setupHorizontalMetrics(dict.fromkeys(glyphs, (1000, 0)))
    font.setupHorizontalHeader(ascent=800, descent=-200)
    font.setupNameTable({"familyName": path.stem, "styleName": "Regular"})
    font.setupOS2()
    font.setupPost()
    font.save(path)
    return FontEntry(fname=str(path), name=path.stem, style="normal", weight=400)


def with_other_outlines(path: Path) -> FontEntry:
    """The font with outlines as OpenType may have them instead of TrueType's."""
    entry = font_of(PLUM_BLOSSOM, path)
    font = TTFont(path)
    names = font.getGlyphOrder()
    pen = T2CharStringPen(1000, None)
    pen.moveTo((100, 0))
    for corner in ((100, 700), (900, 700), (900, 0)):
        pen.lineTo(corner)
    pen.closePath()
    square = pen.getCharString()
    other = FontBuilder(font=font)
    del font["glyf"], font["loca"]
    other.isTTF = False
    other.setupCFF(path.stem, {}, dict.fromkeys(names, square), {})
    other.font.sfntVersion = "OTTO"
    other.font.save(path)
    return entry


def forget() -> None:
    """Look at the machine's fonts anew."""
    for cached in (typefaces._other_files, typefaces._other_file, text_width, lettering.run_width):
        cached.cache_clear()


@pytest.fixture
def fonts(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[FontEntry]]:
    """The machine's fonts, none to begin with."""
    found: list[FontEntry] = []
    monkeypatch.setattr(fontManager, "ttflist", found)
    forget()
    yield found
    forget()


def named(name: str) -> Plan:
    """A sheet used whole, its batch, paper and piece of one name."""
    paper = Paper(name, (Sheet(inches("4"), inches("6"), have=1),))
    tag = piece("A", name, inches("4"), inches("6"), paper=name, demand=1)
    one = layout(paper, Blank(name), inches("4"), inches("6"))
    return plan_of(Batch(name, "in", (paper,)), [tag], [one])


@pytest.mark.parametrize(
    ("name", "drawn"),
    [
        ("\N{PEAR} pears", "[pear] pears"),
        (PLUM_BLOSSOM, "□□□"),
        ("\N{HEAVY BLACK HEART}\N{VARIATION SELECTOR-16} tag", "\N{HEAVY BLACK HEART} tag"),
        ("Ünïcödé ½ — тест ✓", "Ünïcödé ½ — тест ✓"),
    ],
)
def test_what_no_typeface_has_is_named_or_a_square(
    fonts: list[FontEntry], name: str, drawn: str
) -> None:
    """A symbol is called by its name, and the summary and the layout say what stands for what."""
    assert drawable(name) == drawn
    assert is_drawable(name) == (name[0] == drawn[0])
    pages = [page.extract_text() for page in PdfReader(BytesIO(draw_pdf(named(name)))).pages]
    for page in pages[:2]:
        assert drawn in page
        assert (SUBSTITUTES.split(";")[0][:20] in page) == (name[0] != drawn[0])


def test_another_typeface_of_the_machine_draws_what_ours_lacks(
    fonts: list[FontEntry], tmp_path: Path
) -> None:
    """The name stands in all three formats, can be copied, and is as wide as its runs together."""
    fonts.append(font_of(PLUM_BLOSSOM, tmp_path / "blossom.ttf"))
    name = f"{PLUM_BLOSSOM} plum"
    assert is_drawable(name)
    assert [run for run, _ in runs_of(name, 10.0, bold=True)] == [PLUM_BLOSSOM, " plum"]
    assert text_width(PLUM_BLOSSOM, 10.0) == pytest.approx(30.0, abs=0.3)
    with_space = text_width("o plum", 10.0) - text_width("o", 10.0)
    assert text_width(name, 10.0) == pytest.approx(30.0 + with_space, abs=0.3)
    plan = named(name)
    assert name in PdfReader(BytesIO(draw_pdf(plan))).pages[0].extract_text()
    assert PLUM_BLOSSOM.encode() in draw_layout(plan, plan.layouts[0], "svg")
    assert draw_layout(plan, plan.layouts[0]) == draw_layout(plan, plan.layouts[0])


def test_outlines_of_both_kinds_are_embedded(fonts: list[FontEntry], tmp_path: Path) -> None:
    """A font may have either kind of outlines: its letters can be copied from the PDF."""
    fonts.append(with_other_outlines(tmp_path / "blossom.otf"))
    (summary, *_) = PdfReader(BytesIO(draw_pdf(named(PLUM_BLOSSOM)))).pages
    assert PLUM_BLOSSOM in summary.extract_text()
    embedded = {
        str(key)
        for font in summary["/Resources"]["/Font"].values()  # type: ignore[index]
        for key in font["/DescendantFonts"][0]["/FontDescriptor"]
        if str(key).startswith("/FontFile")
    }
    assert embedded == {"/FontFile2", "/FontFile3"}


def test_a_typeface_without_lines_is_passed_over(fonts: list[FontEntry], tmp_path: Path) -> None:
    """One that has a character but draws nothing leaves it to the next, or to a substitute."""
    fonts.append(font_of(PLUM_BLOSSOM + "桜", tmp_path / "pictures.ttf", drawn=False))
    fonts.append(font_of(PLUM_BLOSSOM, tmp_path / "blossom.ttf"))
    assert drawable(PLUM_BLOSSOM + "桜") == PLUM_BLOSSOM + "□"


def test_a_font_that_is_gone_is_passed_over(fonts: list[FontEntry], tmp_path: Path) -> None:
    """The list of fonts may be older than the last font that was removed."""
    fonts.append(font_of(PLUM_BLOSSOM, tmp_path / "blossom.ttf"))
    Path(fonts[0].fname).unlink()
    assert drawable("梅") == "□"
    (tmp_path / "damaged.ttf").write_bytes(b"no font")
    fonts.append(FontEntry(fname=str(tmp_path / "damaged.ttf"), style="normal", weight=400))
    forget()
    assert drawable("梅") == "□"


def test_words_of_the_pdf_are_copied_in_order(fonts: list[FontEntry]) -> None:
    """Accents, ligatures and fractions come out of the file as they went in."""
    name = "Crème brûlée, office affair ½ à 3¼"
    text = PdfReader(BytesIO(draw_pdf(named(name)))).pages[1].extract_text()
    assert f"{name}\nfront up, any way round" in text
    assert f"A {name}, 4 x 6: 1 here = 1 of 1" in text
