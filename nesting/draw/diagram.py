"""One layout on one page: what it is, the picture, what to know about it."""

from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING, Literal

from nesting.draw.lettering import (
    BODY,
    HEADING,
    LEADING,
    SMALLEST,
    TITLE,
    isolated,
    text_width,
    wrap,
)
from nesting.draw.palette import QUIET
from nesting.draw.picture import draw_picture
from nesting.draw.surface import (
    LETTER_PAGE,
    Box,
    Page,
    Surface,
    house_style,
)
from nesting.draw.view import View
from nesting.draw.watch import find_cautions
from nesting.draw.words import (
    DRAWN_SMALLER,
    SIZES_IN,
    caution,
    count_words,
    face_words,
    kept_words,
    layout_shares,
    legend_words,
    ruler_words,
    share_words,
    sheet_words,
)
from nesting.plan import Layout, Plan
from nesting.units import NANOMETRES

if TYPE_CHECKING:
    from matplotlib.figure import Figure

#: More sheets alike than this are tallied on a line instead of ticked in boxes.
MOST_BOXES = 12
_BOX = 13.0
#: Room for the scale bar, and white above and below the picture, in points.
_SCALE_BAR = 32.0
_WHITE = 14.0


def layout_figure(plan: Plan, layout: Layout, page: Page = LETTER_PAGE) -> "Figure":
    """Draw one layout on a page of its exact size.

    Parameters
    ----------
    plan
        The plan the layout is of.
    layout
        One of ``plan.layouts``.
    page
        ``LETTER_PAGE`` or ``A4_PAGE``.

    Returns
    -------
    matplotlib.figure.Figure
        A figure without axes: everything on it is drawn in points from the lower left corner.
    """
    with house_style():
        surface = Surface(page)
        area = _draw_head(surface, plan, layout, surface.print_area)
        notes = _set_notes(plan, layout, area.width)
        below = notes.height + _SCALE_BAR
        picture = Box(area.x, area.y + below, area.width, area.height - below)
        view = draw_picture(surface, plan, layout, picture)
        _draw_scale(surface, plan, view, Box(area.x, area.y + notes.height, area.width, _SCALE_BAR))
        notes.draw(surface, area)
    return surface.figure


def draw_layout(
    plan: Plan,
    layout: Layout,
    format: Literal["png", "svg"] = "png",  # noqa: A002 - the word for it
    page: Page = LETTER_PAGE,
) -> bytes:
    """Draw one layout as a picture file: the same plan gives the same bytes.

    Parameters
    ----------
    plan, layout, page
        As for ``layout_figure``.
    format
        ``png`` (150 dots to the inch) or ``svg`` (names stay text).

    Examples
    --------
    In a notebook, ``IPython.display.Image(draw_layout(plan, plan.layouts[0]))`` shows it.
    """
    return picture_file(layout_figure(plan, layout, page), plan.tool, format)


def picture_file(figure: "Figure", tool: str, format: Literal["png", "svg"]) -> bytes:  # noqa: A002 - as above
    """Write a figure of ``layout_figure`` as a picture file, made by ``tool``."""
    out = BytesIO()
    with house_style():
        if format == "png":  # pressed lightly: a page is small, and pressing takes longest
            pressed = {"compress_level": 1}
            figure.savefig(
                out, format=format, dpi=150, metadata={"Software": tool}, pil_kwargs=pressed
            )
        else:
            figure.savefig(out, format=format, metadata={"Creator": tool, "Date": None})
    return out.getvalue()


def _draw_head(surface: Surface, plan: Plan, layout: Layout, area: Box) -> Box:
    """Say which layout this is; the area that is left below."""
    y = area.top
    number = f"layout {plan.layouts.index(layout) + 1} of {len(plan.layouts)}"
    beside = text_width(number, HEADING, bold=True) + 18
    surface.text(area.right, y - TITLE * 0.76, number, HEADING, bold=True, align="right")
    for line in wrap(plan.asked.name, area.width - beside, TITLE, bold=True, most=2):
        surface.text(area.x, y - TITLE * 0.76, line, TITLE, bold=True)
        y -= TITLE * 1.25
    y -= 4
    for line in _paper_lines(plan, layout, area.width):
        surface.text(area.x, y - HEADING * 0.76, line, HEADING, bold=True)
        y -= HEADING * LEADING
    for line in wrap(f"{sheet_words(plan, layout)}.", area.width, BODY):
        surface.text(area.x, y - BODY * 0.76, line, BODY)
        y -= BODY * LEADING
    y = _draw_alike(surface, layout, Box(area.x, area.y, area.width, y - 4 - area.y))
    return Box(area.x, area.y, area.width, y - _WHITE - area.y)


def _paper_lines(plan: Plan, layout: Layout, width: float) -> list[str]:
    """The paper's name, however long, and which way the sheet lies."""
    face = face_words(plan, layout)
    lines = wrap(layout.paper, width, HEADING, bold=True, most=2)
    together = f"{isolated(lines[-1])}, {face}"
    if text_width(together, HEADING, bold=True) <= width:
        return [*lines[:-1], together]
    return [*lines, face]


def _draw_alike(surface: Surface, layout: Layout, area: Box) -> float:
    """How many sheets are cut this way, with boxes to tick; the height that is left."""
    many = f"cut {layout.alike} sheets alike" if layout.alike > 1 else "cut 1 sheet"
    y = area.top - HEADING * 0.76
    surface.text(area.x, y, many, HEADING, bold=True)
    x = area.x + text_width(many, HEADING, bold=True) + 12
    if layout.alike > MOST_BOXES:
        surface.text(x, y, "tally", BODY, colour=QUIET)
        x += text_width("tally", BODY) + 6
        surface.line([(x, y - 2), (area.right, y - 2)], 0.8)
        x = area.right
    for _ in range(layout.alike if layout.alike <= MOST_BOXES else 0):
        surface.box(Box(x, y - 1.5, _BOX, _BOX), weight=1.0)
        x += _BOX + 6
    if not layout.to_buy:
        return area.top - HEADING * LEADING
    sheets = f"{layout.to_buy} sheets" if layout.to_buy > 1 else "a sheet"
    words = f"needs {sheets} you do not have yet"
    if x + 12 + text_width(words, HEADING, bold=True) <= area.right:
        surface.text(area.right, y, words, HEADING, bold=True, align="right")
        return area.top - HEADING * LEADING
    surface.text(area.x, y - HEADING * LEADING, words, HEADING, bold=True)
    return area.top - 2 * HEADING * LEADING


@dataclass(frozen=True, slots=True)
class _Notes:
    """Lines below the picture: height above the foot, indent, text, weight."""

    size: float
    height: float
    lines: tuple[tuple[float, float, str, bool], ...]

    def draw(self, surface: Surface, area: Box) -> None:
        for down, right, text, bold in self.lines:
            surface.text(area.x + right, area.y + self.height - down, text, self.size, bold=bold)


def _set_notes(plan: Plan, layout: Layout, width: float) -> _Notes:
    """Set what is said below the picture, smaller where there is much of it."""
    for size in (BODY, 9.75, SMALLEST):
        notes = _set_notes_at(plan, layout, width, size)
        if notes.height < 200:
            break
    return notes


def _set_notes_at(plan: Plan, layout: Layout, width: float, size: float) -> _Notes:
    """The counts in one column or two, then one paragraph for each thing to know."""
    lines: list[tuple[float, float, str, bool]] = []
    pitch, gap = size * LEADING, size * 0.4
    counts = list(count_words(plan, layout))
    columns = 2 if len(counts) > 5 else 1
    column = (width - 18 * (columns - 1)) / columns
    indent = 6 + max(text_width(letter, size, bold=True) for letter, _ in counts) if counts else 0
    top = deepest = 0.0
    left, down = 0.0, top
    for number, (letter, words) in enumerate(counts):
        if columns == 2 and number == (len(counts) + 1) // 2:
            left, down = column + 18, top
        lines.append((down + size * 0.76, left, letter, True))
        for line in wrap(words, column - indent, size):
            lines.append((down + size * 0.76, left + indent, line, False))
            down += pitch
        deepest = max(deepest, down)
    down = deepest + gap
    paragraphs = [(text, True) for text in find_cautions(plan, layout)]
    paragraphs += [
        (ruler_words(plan, layout), False),
        (kept_words(plan, layout), False),
        (legend_words(plan, layout), False),
        (share_words(layout_shares(plan, layout)), False),
        (caution(plan.asked.trimmer), False),
    ]
    for text, bold in paragraphs:
        for line in wrap(text, width, size, bold=bold):
            lines.append((down + size * 0.76, 0.0, line, bold))
            down += pitch
    return _Notes(size, down, tuple(lines))


def _draw_scale(surface: Surface, plan: Plan, view: View, area: Box) -> None:
    """A bar of 1 in or 20 mm at the scale of the picture, a word against measuring, the unit."""
    unit = plan.asked.unit
    number = {"in": 1, "mm": 20, "cm": 2}[unit]
    length = number * NANOMETRES[unit] * view.scale
    x, y = area.x, area.y + area.height / 2
    surface.line([(x, y), (x + length, y)], 1.2)
    for end in (x, x + length):
        surface.line([(end, y - 4), (end, y + 4)], 1.2)
    words = f"{number} {unit}; {DRAWN_SMALLER}"
    surface.text(x + length + 8, y - BODY * 0.365, words, BODY, colour=QUIET)
    surface.text(area.right, y - BODY * 0.365, SIZES_IN[unit], BODY, align="right")
