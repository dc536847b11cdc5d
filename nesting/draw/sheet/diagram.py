"""One layout on its page: its title, the picture, the stroke table, notes."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Literal

from nesting.draw.canvas.lettering import (
    ASCENT,
    BODY,
    HEADING,
    LEADING,
    MIDDLE,
    SMALLEST,
    TITLE,
    isolated,
    shorten,
    text_width,
    wrap,
)
from nesting.draw.canvas.lines import write_lines
from nesting.draw.canvas.palette import QUIET
from nesting.draw.canvas.surface import (
    LETTER_PAGE,
    Box,
    Page,
    Surface,
    house_style,
)
from nesting.draw.canvas.writing import picture_file
from nesting.draw.sheet.centres import CentreGroup, draw_groups, groups_of
from nesting.draw.sheet.middle_words import window_words
from nesting.draw.sheet.notes import KeyEntry, Notes, draw_key, set_notes
from nesting.draw.sheet.picture import Place, draw_picture, place_picture
from nesting.draw.sheet.stroke_table import draw_table
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.tick_boxes import SIDE, boxes_width, draw_boxes
from nesting.draw.sheet.view import View
from nesting.draw.sheet.words import (
    DRAWN_SMALLER,
    SIZES_IN,
    face_words,
    mark_words,
    sheet_words,
)
from nesting.layouts import Layout
from nesting.plan import Plan
from nesting.units import NANOMETRES

if TYPE_CHECKING:
    from matplotlib.figure import Figure

#: What is written behind it, by hand, is for ``--spoilt``.
SPOILT = "spoilt:"
#: What a page says that is not the last one of its layout.
MORE_PAGES = "More of this layout on the next page."
#: Room for the word and for what is written by hand behind it, in points: the least and the most.
_BY_HAND, _MOST_BY_HAND = 110.0, 200.0
#: Room for the scale bar, and white above and below the picture, in points.
_SCALE_BAR = 40.0
_WHITE = 14.0
#: Width of the stroke table and the white beside it; the part of a further page's height that the
#: small diagram takes.
_TABLE = 206.0
_GUTTER = 14.0
_SMALL = 0.4
#: The table goes on below the notes where there is so much room, in points.
_LEAST_COLUMN = 110
#: The first page has so much of the table, in points, before groups of circles get their room.
_LEAST_TABLE = 240


def layout_figures(
    plan: Plan, layout: Layout, page: Page = LETTER_PAGE, *, back_up: bool = False
) -> "tuple[Figure, ...]":
    """Draw one layout on pages of exact size: the diagram and, beside it, the stroke table.

    Parameters
    ----------
    plan
        The plan the layout is of.
    layout
        One of ``plan.layouts``.
    page
        ``LETTER_PAGE`` or ``A4_PAGE``.
    back_up
        Draw the sheet as it lies with its back up.

    Returns
    -------
    tuple of matplotlib.figure.Figure
        Figures without axes: everything is drawn in points from the lower left corner. One, or
        more where the stroke table is long: the further ones have the diagram again, small.

    Examples
    --------
    >>> import nesting
    >>> plan = nesting.solve(nesting.read_batch("samples/cider.yaml"))
    >>> page, *_ = layout_figures(plan, plan.layouts[0])
    >>> [float(side) for side in page.get_size_inches()]
    [8.5, 11.0]
    """
    subject, foot = Subject(plan, layout, back_up), mark_words(plan)
    with house_style():
        surface = Surface(page, foot)
        area = _draw_title(surface, subject, surface.print_area)
        table = Box(area.right - _TABLE, area.y, _TABLE, area.height)
        left = _draw_head(
            surface, subject, Box(area.x, area.y, table.x - _GUTTER - area.x, area.height)
        )
        notes, key, place = _set_below(subject, left)
        below = left.height - place.area.height
        end = draw_picture(surface, subject, place)
        _draw_scale(
            surface, subject, place.view, Box(left.x, end - _SCALE_BAR, left.width, _SCALE_BAR)
        )
        write_lines(surface, notes.lines, Box(left.x, end - below, left.width, notes.height))
        spare = Box(left.x, left.y, left.width, end - below - _WHITE - left.y)
        groups, table = draw_groups(surface, subject, groups_of(subject), table, _LEAST_TABLE)
        columns = [table, spare] if spare.height > _LEAST_COLUMN else [table]
        done = draw_table(surface, subject, columns, 0)
        figures = [surface.figure]
        while key or groups or done < len(subject.steps):
            _draw_more(surface)
            surface = Surface(page, foot)
            number = len(figures) + 1
            key, groups, done = _draw_further(surface, subject, key, groups, done, number)
            figures.append(surface.figure)
    return tuple(figures)


def _set_below(subject: Subject, left: Box) -> tuple[Notes, Sequence[KeyEntry], Place]:
    """The notes below the picture, the entries of the key left over, the place of the picture.

    Whether there is a leader to explain is known only when the picture has its room.
    """
    for leaders in (False, True):
        notes, key = set_notes(subject, left.width, leaders=leaders)
        below = notes.height + _SCALE_BAR
        picture = Box(left.x, left.y + below, left.width, left.height - below)
        place = place_picture(subject, picture)
        if leaders or not place.leaders:
            break
    return notes, key, place


def _draw_further(
    surface: Surface,
    subject: Subject,
    key: Sequence[KeyEntry],
    groups: Sequence[CentreGroup],
    first: int,
    page: int,
) -> tuple[Sequence[KeyEntry], Sequence[CentreGroup], int]:
    """A further page: the diagram, small, what is left of key, centres and stroke table.

    Returns
    -------
    tuple
        The entries of the key, the groups and the first step that have no room here either.
    """
    area = surface.print_area
    words = f"{isolated(subject.plan.asked.name)}, {isolated(subject.layout.paper)}"
    number = f"{_number_words(subject)}, page {page}"
    beside = area.width - text_width(number, HEADING, bold=True) - 18
    y = area.top - HEADING
    surface.text(area.right, y, number, HEADING, bold=True, align="right")
    surface.text(area.x, y, shorten(words, beside, HEADING, bold=True), HEADING, bold=True)
    width, height = (area.width - _GUTTER) / 2, y - _WHITE - area.y
    picture = Box(area.x, area.y + (1 - _SMALL) * height, width, _SMALL * height)
    since = 1 + sum(len(step.strokes) for step in subject.steps[:first])
    place = place_picture(subject, picture, since=since)
    end = draw_picture(surface, subject, place, since=since)
    columns = [
        Box(area.x, area.y, width, end - _WHITE - area.y),
        Box(area.x + width + _GUTTER, area.y, width, height),
    ]
    groups, columns[1] = draw_groups(surface, subject, groups, columns[1], _LEAST_COLUMN)
    while key and columns:
        key, used = draw_key(surface, key, columns[0])
        column = columns.pop(0)
        if not key:
            columns.insert(0, Box(column.x, column.y, width, column.height - used - _WHITE))
    done = draw_table(surface, subject, columns, first) if columns else first
    return key, groups, done


def draw_layout(
    plan: Plan,
    layout: Layout,
    format: Literal["png", "svg"] = "png",  # noqa: A002 - the word for it
    page: Page = LETTER_PAGE,
    *,
    back_up: bool = False,
) -> bytes:
    """Draw the first page of a layout as a picture file: the same plan gives the same bytes.

    Parameters
    ----------
    plan, layout, page, back_up
        As for ``layout_figures``.
    format
        ``png`` (150 dots to the inch) or ``svg`` (names stay text).

    Examples
    --------
    In a notebook, ``IPython.display.Image(draw_layout(plan, plan.layouts[0]))`` shows it.

    >>> import nesting
    >>> plan = nesting.solve(nesting.read_batch("samples/cider.yaml"))
    >>> draw_layout(plan, plan.layouts[0])[1:4]
    b'PNG'
    """
    figures = layout_figures(plan, layout, page, back_up=back_up)
    return picture_file(figures[0], plan.tool, format)


def draw_pictures(
    plan: Plan,
    layout: Layout,
    formats: Sequence[Literal["png", "svg"]],
    page: Page = LETTER_PAGE,
    *,
    back_up: bool = False,
) -> Iterator[tuple[int, Literal["png", "svg"], bytes]]:
    """Draw every page of a layout as picture files, composed once for all formats.

    Yields
    ------
    tuple
        The number of the page, from 0, the format and the file.
    """
    with house_style():
        for number, figure in enumerate(layout_figures(plan, layout, page, back_up=back_up)):
            for kind in formats:
                yield number, kind, picture_file(figure, plan.tool, kind)


def _number_words(subject: Subject) -> str:
    plan = subject.plan
    return f"layout {plan.layouts.index(subject.layout) + 1} of {len(plan.layouts)}"


def _draw_title(surface: Surface, subject: Subject, area: Box) -> Box:
    """Write which batch and which layout this is; return the area left below."""
    y = area.top
    number = _number_words(subject)
    beside = text_width(number, HEADING, bold=True) + 18
    surface.text(area.right, y - TITLE * ASCENT, number, HEADING, bold=True, align="right")
    name = subject.plan.asked.name
    for line in wrap(name, area.width - beside, TITLE, bold=True, most=2):
        surface.text(area.x, y - TITLE * ASCENT, line, TITLE, bold=True)
        y -= TITLE * 1.25
    return Box(area.x, area.y, area.width, y - 4 - area.y)


def _draw_head(surface: Surface, subject: Subject, area: Box) -> Box:
    """Write which sheet this is and how many are cut alike; return the area left below."""
    y = area.top
    for line in _paper_lines(subject, area.width):
        surface.text(area.x, y - HEADING * ASCENT, line, HEADING, bold=True)
        y -= HEADING * LEADING
    words = (f"{sheet_words(subject)}.", *window_words(subject.plan, subject.layout))
    for line in wrap(" ".join(words), area.width, BODY):
        surface.text(area.x, y - BODY * ASCENT, line, BODY)
        y -= BODY * LEADING
    y = _draw_alike(surface, subject.layout, Box(area.x, area.y, area.width, y - 4 - area.y))
    return Box(area.x, area.y, area.width, y - _WHITE - area.y)


def _paper_lines(subject: Subject, width: float) -> list[str]:
    """The paper's name, however long, and which way the sheet lies."""
    face = face_words(subject)
    lines = wrap(subject.layout.paper, width, HEADING, bold=True, most=2)
    together = f"{isolated(lines[-1])}, {face}"
    if text_width(together, HEADING, bold=True) <= width:
        return [*lines[:-1], together]
    return [*lines, face]


def _draw_alike(surface: Surface, layout: Layout, area: Box) -> float:
    """Write how many sheets are cut this way, with boxes to tick, and a line for what is spoilt.

    Returns
    -------
    float
        The height left.
    """
    many = f"cut {layout.alike} sheets alike" if layout.alike > 1 else "cut 1 sheet"
    pitch, y = HEADING * LEADING, area.top - HEADING * ASCENT
    surface.text(area.x, y, many, HEADING, bold=True)
    x = area.x + text_width(many, HEADING, bold=True) + 12
    boxes = boxes_width(layout.alike)
    if x + boxes > area.right:
        x, y = area.x, y - pitch
    draw_boxes(surface, layout.alike, Box(x, y - 1.5, area.right - x, SIDE))
    x += boxes + 12
    if x + _BY_HAND > area.right:
        x, y = area.x, y - pitch
    end = min(area.right, x + _MOST_BY_HAND)
    surface.text(x, y, SPOILT, BODY)
    surface.line([(x + text_width(SPOILT, BODY) + 4, y - 2), (end, y - 2)], 0.8)
    if layout.to_buy:
        sheets = f"{layout.to_buy} sheets" if layout.to_buy > 1 else "a sheet"
        words = f"needs {sheets} you do not have yet"
        if end + 12 + text_width(words, HEADING, bold=True) <= area.right:
            surface.text(area.right, y, words, HEADING, bold=True, align="right")
        else:
            y -= pitch
            surface.text(area.x, y, words, HEADING, bold=True)
    return y + HEADING * ASCENT - pitch


def _draw_more(surface: Surface) -> None:
    """Say in the lower edge that the layout has another page: a page taped up alone looks whole."""
    right, y = surface.print_area.right, surface.foot_baseline
    surface.text(right, y, MORE_PAGES, BODY, bold=True, align="right")


def _draw_scale(surface: Surface, subject: Subject, view: View, area: Box) -> None:
    """A bar of 1 in or 20 mm at the scale of the picture, a word against measuring, the unit."""
    number = {"in": 1, "mm": 20, "cm": 2}[subject.unit]
    length = number * NANOMETRES[subject.unit] * view.scale
    x, y = area.x, area.top - 14
    surface.line([(x, y), (x + length, y)], 1.2)
    for end in (x, x + length):
        surface.line([(end, y - 4), (end, y + 4)], 1.2)
    words = f"{number} {subject.unit}; {DRAWN_SMALLER}"
    surface.text(x + length + 8, y - SMALLEST * MIDDLE, words, SMALLEST, colour=QUIET)
    surface.text(x, y - 9 - SMALLEST, SIZES_IN[subject.unit], SMALLEST)
