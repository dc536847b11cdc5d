"""Plans side by side in one picture: every sheet of every variant at one scale."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from nesting.draw.canvas.lettering import (
    ASCENT,
    BODY,
    HEADING,
    LEADING,
    MIDDLE,
    SMALLEST,
    TITLE,
    shorten,
    text_width,
    wrap,
)
from nesting.draw.canvas.palette import INK, QUIET
from nesting.draw.canvas.surface import (
    EDGE,
    POINTS_PER_INCH,
    Box,
    Page,
    Surface,
    box_at,
    house_style,
)
from nesting.draw.canvas.writing import picture_file
from nesting.draw.sheet.bearings import between, score_lines
from nesting.draw.sheet.picture import draw_leaf
from nesting.draw.sheet.view import View, discs_of, sheet_leaves
from nesting.draw.sheet.words import DRAWN_SMALLER, SIZES_IN, piece_size
from nesting.layouts import Blank, Layout, Placed
from nesting.needs import complete_of
from nesting.papers import Axis
from nesting.plan import Plan
from nesting.units import NANOMETRES, format_share

if TYPE_CHECKING:
    from matplotlib.figure import Figure

#: Points per nm: a sheet of 12 in is a third of a hand wide.
_SCALE = 9.0 / NANOMETRES["in"]
#: Sheets beside one another in a column, and the white between them and between columns.
_BESIDE = 2
_GAP = 12.0
_COLUMN_GAP = 30.0
_PITCH = SMALLEST * LEADING
_OUTLINE = 1.4
#: White round a letter.
_CLEAR = 1.0


@dataclass(frozen=True, slots=True)
class _Grid:
    """Where everything goes, in points: the width of a column, the height of each part."""

    column: float
    heading: float
    sheet_rows: dict[str, float]
    bands: dict[str, float]
    key: float

    @property
    def height(self) -> float:
        """From the headings to the end of the keys."""
        return self.heading + sum(self.bands.values()) + self.key


def side_by_side_figure(
    title: str, plans: Sequence[tuple[str, Plan]], quiet: Collection[str] = ()
) -> "Figure":
    """Draw the layouts of some plans, a column for each plan and a band for each paper.

    Parameters
    ----------
    title
        What stands above them.
    plans
        The name of each, and the plan.
    quiet
        The names of those that another is better than, which are set in grey.

    Returns
    -------
    matplotlib.figure.Figure
        As large as it has to be: every sheet is drawn at the same scale.
    """
    grid = _measure(plans)
    words = f"All sheets at one scale, {DRAWN_SMALLER}; {SIZES_IN[plans[0][1].asked.unit]}"
    columns = len(plans) * (grid.column + _COLUMN_GAP) - _COLUMN_GAP
    width = max(columns, text_width(words, BODY))
    top = TITLE * LEADING + BODY * LEADING + 10
    inch = NANOMETRES["in"] / POINTS_PER_INCH
    page = Page(
        "side by side",
        round((width + 2 * EDGE) * inch),
        round((top + grid.height + 2 * EDGE) * inch),
    )
    with house_style():
        surface = Surface(page)
        area = surface.print_area
        surface.text(
            area.x,
            area.top - TITLE * ASCENT,
            shorten(title, width, TITLE, bold=True),
            TITLE,
            bold=True,
        )
        surface.text(area.x, area.top - TITLE * LEADING - BODY * ASCENT, words, BODY, colour=QUIET)
        for number, (name, plan) in enumerate(plans):
            left = area.x + number * (grid.column + _COLUMN_GAP)
            column = Box(left, area.y, grid.column, grid.height)
            _draw_column(surface, name, plan, column, grid, quiet=name in quiet)
    return surface.figure


def draw_side_by_side(
    title: str,
    plans: Sequence[tuple[str, Plan]],
    quiet: Collection[str] = (),
    format: Literal["png", "svg"] = "png",  # noqa: A002 - the word for it
) -> bytes:
    """Draw plans side by side as a picture file: the same plans give the same bytes.

    Parameters
    ----------
    title
        What stands above them.
    plans
        Each plan with its name, in order; every sheet of all of them is drawn at one scale.
    quiet
        As for ``side_by_side_figure``.
    format
        ``png`` (150 dots to the inch) or ``svg`` (names stay text).

    Examples
    --------
    >>> import nesting
    >>> plan = nesting.solve(nesting.read_batch("samples/cider.yaml"))
    >>> draw_side_by_side("Cider", [("as it is", plan)])[1:4]
    b'PNG'
    """
    return picture_file(side_by_side_figure(title, plans, quiet), plans[0][1].tool, format)


def _measure(plans: Sequence[tuple[str, Plan]]) -> _Grid:
    layouts = [layout for _, plan in plans for layout in plan.layouts]
    widest = max((layout.width * _SCALE for layout in layouts), default=0)
    most = max(
        (len(plan.layouts_of(paper)) for _, plan in plans for paper in _papers(plans)), default=1
    )
    column = max(min(most, _BESIDE) * (widest + _GAP) - _GAP, 170.0)
    rows = {
        paper: max(
            (layout.height * _SCALE for layout in layouts if layout.paper == paper), default=0
        )
        + _PITCH
        + _GAP
        for paper in _papers(plans)
    }
    bands = {
        paper: HEADING * LEADING
        + BODY * LEADING
        + rows[paper] * max(-(-len(plan.layouts_of(paper)) // _BESIDE) for _, plan in plans)
        + _GAP
        for paper in rows
    }
    headings = max(len(_heading(name, column)) for name, _ in plans)
    key = max(len(plan.pieces) for _, plan in plans) * _PITCH
    return _Grid(column, headings * HEADING * LEADING + BODY * LEADING + _GAP, rows, bands, key)


def _papers(plans: Sequence[tuple[str, Plan]]) -> list[str]:
    """Every paper that one of them needs, in the order they come up."""
    return list(dict.fromkeys(f.paper for _, plan in plans for f in plan.papers))


def _heading(name: str, width: float) -> list[str]:
    return wrap(name, width, HEADING, bold=True, most=3)


def _draw_column(
    surface: Surface, name: str, plan: Plan, area: Box, grid: _Grid, *, quiet: bool
) -> None:
    """Draw one plan from the top to the bottom: name, papers with their sheets, key."""
    colour = QUIET if quiet else INK
    y = area.top
    for line in _heading(name, area.width):
        surface.text(area.x, y - HEADING * ASCENT, line, HEADING, bold=True, colour=colour)
        y -= HEADING * LEADING
    complete, asked = complete_of(plan)["card" if plan.cards else "loose piece"]
    words = f"{complete} of {asked} {'cards' if plan.cards else 'pieces'}" if asked else ""
    if quiet:
        words += ("; " if words else "") + "another is better"
    surface.text(area.x, y - BODY * ASCENT, words, BODY, colour=colour)
    y = area.top - grid.heading
    for paper, height in grid.bands.items():
        _draw_band(surface, plan, paper, Box(area.x, y - height, area.width, height), grid)
        y -= height
    for piece in plan.pieces:
        surface.text(area.x, y - SMALLEST * ASCENT, piece.letter, SMALLEST, bold=True)
        words = f"{piece_size(piece, plan.asked.unit)}, {piece.name}"
        shown = shorten(words, area.width - 22, SMALLEST)
        surface.text(area.x + 22, y - SMALLEST * ASCENT, shown, SMALLEST)
        y -= _PITCH


def _draw_band(surface: Surface, plan: Plan, paper: str, area: Box, grid: _Grid) -> None:
    """Draw what one plan cuts from one paper."""
    surface.line([(area.x, area.top), (area.right, area.top)], 0.6, colour=QUIET)
    y = area.top - 4 - HEADING * ASCENT
    surface.text(area.x, y, shorten(paper, area.width, BODY, bold=True), BODY, bold=True)
    figures = next((f for f in plan.papers if f.paper == paper), None)
    words = "none"
    if figures is not None:
        words = f"needs {figures.needed}, waste {format_share(figures.waste)}"
    surface.text(area.x, y - BODY * LEADING, words, BODY)
    top = area.top - HEADING * LEADING - BODY * LEADING - 4
    for number, layout in enumerate(plan.layouts_of(paper)):
        row, place = divmod(number, _BESIDE)
        step = (area.width + _GAP) / _BESIDE
        x, high = area.x + place * step, top - row * grid.sheet_rows[paper]
        view = View(x, high - layout.height * _SCALE, _SCALE, layout.width)
        _draw_sheet(surface, plan, layout, view)
        many = f"{layout.alike} alike" if layout.alike > 1 else "1 sheet"
        if layout.to_buy:
            many += f", {layout.to_buy} to buy"
        shown = shorten(many, step - 4, SMALLEST)
        surface.text(x, view.y - 3 - SMALLEST * ASCENT, shown, SMALLEST)


def _draw_sheet(surface: Surface, plan: Plan, layout: Layout, view: View) -> None:
    """Draw one sheet with the letters of its blanks."""
    for placed in sheet_leaves(layout):
        draw_leaf(surface, plan, placed, view)
    surface.box(view.box(Placed(layout.tree, 0, 0, layout.width, layout.height)), weight=_OUTLINE)
    for placed in layout.blanks:
        if isinstance(placed.node, Blank):
            piece = plan.piece(placed.node.piece)
            scores = score_lines(piece, placed, turned=placed.node.turned)
            whole = Placed(placed.node, *between(scores)) if piece.scores else placed
            discs = discs_of(piece, placed, view)
            boxes = [box_at(centre, 2 * radius, 2 * radius) for centre, radius in discs]
            for box in boxes or [_off_score(view.box(whole), scores)]:
                _draw_letter(surface, piece.letter, box)


def _off_score(box: Box, scores: list[tuple[Axis, int]]) -> Box:
    """The half of a blank on one side of its score line, if it has one: the left or the upper."""
    if len(scores) != 1:
        return box
    if scores[0][0] == "x":
        return Box(box.x, box.y, box.width / 2, box.height)
    return Box(box.x, box.y + box.height / 2, box.width, box.height / 2)


def _draw_letter(surface: Surface, letter: str, box: Box) -> None:
    """Write a letter in the middle of a box, where there is room for one."""
    wide = text_width(letter, SMALLEST, bold=True) + 2 * _CLEAR
    if box.height >= SMALLEST * ASCENT + 2 * _CLEAR and box.width >= wide:
        x, y = box.centre
        surface.text(x, y - SMALLEST * MIDDLE, letter, SMALLEST, bold=True, align="center")
