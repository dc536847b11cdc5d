"""Pages of rows: where a page is full the next one begins, unless a little less white spares it."""

from itertools import pairwise

from matplotlib.figure import Figure
from matplotlib.text import Text

from nesting.draw.canvas.lettering import BODY
from nesting.draw.canvas.page_rows import PageRow, paragraph, row_pages
from nesting.draw.canvas.surface import LETTER_PAGE, Surface

AREA = Surface(LETTER_PAGE).print_area
ROW = paragraph("plum", AREA.width, BODY)
FIT = int(AREA.height // ROW.height)


def lines_of(figure: Figure) -> list[float]:
    """How far up the lines of a page are."""
    return [text.get_position()[1] for text in figure.findobj(Text) if text.get_text() == "plum"]


def pages(rows: int) -> list[list[float]]:
    """The lines of each page of so many rows."""
    head: PageRow = paragraph("continued", AREA.width, BODY)
    return [lines_of(figure) for figure in row_pages([ROW] * rows, head)]


def test_one_row_too_many_makes_all_of_them_move_closer() -> None:
    """The rows of one page are a little closer together, evenly, and all within its print area."""
    (lines,) = pages(FIT + 1)
    assert len(lines) == FIT + 1
    gaps = {round(above - below, 6) for above, below in pairwise(lines)}
    (gap,) = gaps
    assert ROW.height - 1.5 <= gap < ROW.height
    assert min(lines) >= AREA.y


def test_a_third_page_is_spared_in_the_same_way() -> None:
    """The second page begins with a head as high as a row; what is more than both hold moves up."""
    assert [len(lines) for lines in pages(2 * FIT - 1)] == [FIT, FIT - 1]
    first, second = pages(2 * FIT)
    assert len(first) + len(second) == 2 * FIT
    for lines in (first, second):
        assert ROW.height - 1.5 <= round(lines[0] - lines[1], 6) < ROW.height
        assert min(lines) >= AREA.y


def test_where_that_is_not_enough_rows_keep_their_distance() -> None:
    """Many more rows go on to a second page, none of them closer."""
    first, second = pages(FIT * 3 // 2)
    assert len(first) + len(second) == FIT * 3 // 2
    assert round(first[0] - first[1], 6) == round(ROW.height, 6)
