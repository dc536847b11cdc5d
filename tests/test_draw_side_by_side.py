"""Plans side by side: every sheet at one scale, each variant with its papers and its key."""

import pytest
from matplotlib.patches import Circle, Rectangle
from matplotlib.text import Text
from project import SAMPLES

from nesting import Change, Variant, read_batch, solve
from nesting.advice.comparison import Comparison, compare
from nesting.batch import Batch, LoosePiece
from nesting.draw import draw_side_by_side, side_by_side_figure
from nesting.draw.canvas.lettering import text_width
from nesting.draw.canvas.palette import QUIET
from nesting.pack import Rounds
from nesting.papers import Paper, Sheet
from nesting.typed_lengths import parse_length, parse_size


@pytest.fixture(scope="module")
def comparison() -> Comparison:
    """The cider sample, with A3 sheets for one paper, and with fewer tickets."""
    batch = read_batch(SAMPLES / "cider.yaml")
    large = Change(("papers", "oat cardstock", "sheet"), parse_size("297 x 420 mm", "mm"))
    fewer = Change(("cards", "tasting ticket", "make"), 6)
    return compare(batch, [Variant("A3", (large,)), Variant("fewer", (fewer,))], Rounds(20))


def plans(comparison: Comparison) -> list[tuple[str, object]]:
    """The names and plans."""
    return [(row.name, row.plan) for row in comparison.rows]


def test_every_sheet_is_drawn_at_one_scale(comparison: Comparison) -> None:
    """The outlines are as large as their sheets, all by the same factor."""
    figure = side_by_side_figure("Cider", plans(comparison))  # type: ignore[arg-type]
    outlines = [
        (patch.get_width(), patch.get_height())
        for patch in figure.findobj(Rectangle)
        if patch.get_linewidth() == pytest.approx(1.4)
    ]
    sheets = [(one.width, one.height) for row in comparison.rows for one in row.plan.layouts]
    assert len(outlines) == len(sheets)
    scales = {
        round(drawn / life * 1e6, 6)
        for outline, sheet in zip(sorted(outlines), sorted(sheets), strict=True)
        for drawn, life in zip(outline, sheet, strict=True)
    }
    assert len(scales) == 1


def test_names_cards_and_needs_are_written(comparison: Comparison) -> None:
    """Each variant has its name and cards, each paper what it needs; the beaten are grey, and say so."""
    figure = side_by_side_figure("Cider", plans(comparison), ["fewer"])  # type: ignore[arg-type]
    texts = {text.get_text(): text for text in figure.findobj(Text)}
    for row in comparison.rows:
        assert row.name in texts
        for figures in row.plan.papers:
            assert any(f"needs {figures.needed}, waste" in words for words in texts)
    assert texts["fewer"].get_color() == QUIET
    assert "24 of 24 cards; another is better" in texts
    assert texts["A3"].get_color() != QUIET


def test_circles_that_share_a_blank_have_a_letter_each() -> None:
    """No letter stands between two circles, and loose pieces are counted where there are no cards."""
    paper = Paper("holly gold", (Sheet(*parse_size("12 x 12", "in"), have=1),))
    disc = LoosePiece("disc", paper.name, 20, circle=parse_length("2 1/2", "in"))
    plan = solve(Batch("Orchard discs", "in", (paper,), (), (disc,)))
    assert len(plan.layouts[0].blanks[0].node.circles) == 20  # type: ignore[union-attr]
    figure = side_by_side_figure("Discs", [("as it is", plan)])
    centres = {patch.center for patch in figure.findobj(Circle)}
    letters = {
        text.get_position()[0]
        for text in figure.findobj(Text)
        if text.get_text() == "A" and text.get_horizontalalignment() == "center"
    }
    assert {round(x, 3) for x in letters} == {round(x, 3) for x, _ in centres}
    assert "20 of 20 pieces" in {text.get_text() for text in figure.findobj(Text)}


@pytest.mark.parametrize("columns", [1, 2, 3])
def test_no_text_leaves_the_picture(comparison: Comparison, columns: int) -> None:
    """Every text lies within the picture, however narrow its columns are together."""
    figure = side_by_side_figure("Cider", plans(comparison)[:columns])  # type: ignore[arg-type]
    width, height = figure.get_size_inches() * 72
    for text in figure.findobj(Text):
        (x, y), wide = text.get_position(), text_width(text.get_text(), text.get_fontsize())
        assert x >= 0
        assert x + wide <= width
        assert 0 <= y <= height - text.get_fontsize()


def test_the_same_plans_give_the_same_bytes(comparison: Comparison) -> None:
    """PNG and SVG, twice; names are text in SVG, never markup."""
    named = [("a <b> & c", row.plan) for row in comparison.rows]
    assert draw_side_by_side("Cider", named) == draw_side_by_side("Cider", named)
    svg = draw_side_by_side("Cider", named, format="svg")
    assert svg == draw_side_by_side("Cider", named, format="svg")
    assert b"a &lt;b&gt; &amp; c" in svg
