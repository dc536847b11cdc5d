"""The page beside the cut files: what the lines are, how to check the scale, how sheets lie."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import cos, pi, sin

from nesting.cutfile.arrangement import Arrangement
from nesting.cutfile.carrier import Area, Mounting, Setup, lie_on_carrier
from nesting.cutfile.page_words import (
    CAUTION,
    FINISH_WORDS,
    GROUP_WORDS,
    TEST_WORDS,
    by_hand_words,
    carrier_words,
    lacking_words,
    lying_words,
    order_words,
    outline_words,
    saving_words,
    scale_rows,
)
from nesting.cutfile.shapes import Sheetful
from nesting.cutfile.svg import COLOURS, Drawing, LineKind, Ring
from nesting.cutfile.windows import windows_of
from nesting.draw.canvas.lettering import (
    ASCENT,
    BODY,
    HEADING,
    SMALLEST,
    TITLE,
    isolated,
    shorten,
    wrap,
)
from nesting.draw.canvas.lines import set_lines, write_lines
from nesting.draw.canvas.palette import INK, QUIET, SHADE, WHITE, Colour
from nesting.draw.canvas.surface import Box, Page, Surface, house_style
from nesting.draw.canvas.writing import pdf_file
from nesting.draw.sheet.bearings import WAYS
from nesting.draw.sheet.words import mark_words
from nesting.papers import Face, FaceName
from nesting.plan import Plan
from nesting.units import size_words

_SWATCH, _NAMES = 34.0, 128.0
_COLUMNS = (0.0, 78.0, 156.0)
#: The pictures of the files: so many beside each other, and their heights with the words below.
_ACROSS, _PICTURE, _WORDS, _GUTTER = 3, 128.0, 98.0, 18.0
#: More sheets alike than this are told by their number, without boxes to tick.
_MOST_BOXES = 12


@dataclass(frozen=True, slots=True)
class FileRow:
    """A cut file on the page, with what it shows."""

    name: str
    sheetful: Sheetful
    drawing: Drawing


def page_pdf(
    plan: Plan,
    entries: Sequence[FileRow],
    arrangements: Sequence[Arrangement],
    setup: Setup,
    page: Page,
) -> bytes:
    """Draw the page that goes with the cut files of a plan, as a PDF.

    One page of words, then the files, each with a picture that shows which way the sheet lies.
    """
    with house_style():
        surface = Surface(page, mark_words(plan))
        y = _draw_words(surface, plan, entries, arrangements, setup)
        surfaces = list(_draw_files(surface, y, plan, entries, setup, page))
    return pdf_file((one.figure for one in surfaces), f"{plan.asked.name}: cut files", plan.tool)


def _draw_words(
    surface: Surface,
    plan: Plan,
    entries: Sequence[FileRow],
    arrangements: Sequence[Arrangement],
    setup: Setup,
) -> float:
    """Everything that holds for all files; where it ends."""
    area, unit = surface.print_area, plan.asked.unit
    title = shorten(f"{isolated(plan.asked.name)}: cut files", area.width, TITLE, bold=True)
    surface.text(area.x, area.top - TITLE, title, TITLE, bold=True)
    y = _paragraph(surface, CAUTION, area.top - TITLE * 1.7)
    groups = [
        group for group in COLOURS if any(entry.drawing.lines.get(group) for entry in entries)
    ]
    y = _heading(surface, "What the lines are", y)
    for group in groups:
        y = _draw_group(surface, group, y)
    _, by_hand = windows_of(plan, [entry.sheetful for entry in entries])
    words = (order_words(groups), by_hand_words(by_hand), outline_words(setup, unit), FINISH_WORDS)
    y = _paragraph(surface, " ".join(filter(None, words)), y - 4)
    y = _heading(surface, "Check the scale", y)
    y = _draw_scales(surface, _paragraph(surface, TEST_WORDS, y))
    if arrangements:
        y = _heading(surface, "Sheets", y)
        for arrangement in arrangements:
            y = _paragraph(surface, saving_words(arrangement), y)
    y = _heading(surface, "How the sheets lie", y)
    return _paragraph(surface, lying_words(setup), y) - 10


def _heading(surface: Surface, text: str, y: float) -> float:
    lines, down = set_lines([text], HEADING, bold=True, down=14)
    write_lines(surface, lines, Box(surface.print_area.x, y, 0, 0))
    return y - down


def _paragraph(surface: Surface, text: str, y: float, *, left: float = 0) -> float:
    """Write text over the width of the page from its top ``y``; where it ends."""
    area = surface.print_area
    lines, down = set_lines(wrap(text, area.width - left, BODY), BODY, right=left)
    write_lines(surface, lines, Box(area.x, y, 0, 0))
    return y - down - 3


def _draw_group(surface: Surface, group: LineKind, y: float) -> float:
    """A line in the group's colour, its name, what it is for."""
    x, base = surface.print_area.x, y - BODY * ASCENT
    middle = base + BODY * 0.28
    surface.line([(x, middle), (x + _SWATCH - 8, middle)], 2.4, colour=_colour(group))
    surface.text(x + _SWATCH, base, group, BODY, bold=True)
    return _paragraph(surface, GROUP_WORDS[group], y, left=_NAMES)


def _draw_scales(surface: Surface, y: float) -> float:
    """The table of what the squares measure, and what that means."""
    area = surface.print_area
    y -= 4
    heads = ("1 in square", "20 mm square", "what the program did", "set the scale to")
    for number, cells in enumerate((heads, *scale_rows())):
        base = y - SMALLEST * 1.05
        colour = QUIET if number == 0 else INK
        for x, cell in zip(_COLUMNS, cells[:3], strict=True):
            surface.text(area.x + x, base, cell, SMALLEST, bold=number == 1, colour=colour)
        surface.text(
            area.x + 420, base, cells[3], SMALLEST, bold=number > 0, align="right", colour=colour
        )
        y -= SMALLEST * 1.55
        surface.line([(area.x, y), (area.x + 420, y)], 0.4, colour=QUIET)
    return y - 2


def _draw_files(
    surface: Surface,
    y: float,
    plan: Plan,
    entries: Sequence[FileRow],
    setup: Setup,
    page: Page,
) -> Iterator[Surface]:
    """The files row by row, each with its picture; further pages where they are needed."""
    area = surface.print_area
    width = (area.width - _GUTTER * (_ACROSS - 1)) / _ACROSS
    for start in range(0, len(entries), _ACROSS):
        if y - _PICTURE - _WORDS < area.y:
            yield surface
            surface = Surface(page, mark_words(plan))
            y = area.top
        for number, entry in enumerate(entries[start : start + _ACROSS]):
            left = area.x + number * (width + _GUTTER)
            _draw_file(surface, plan, entry, setup, Box(left, y - _PICTURE, width, _PICTURE))
        y -= _PICTURE + _WORDS
    yield surface


def _draw_file(surface: Surface, plan: Plan, entry: FileRow, setup: Setup, at: Box) -> None:
    """One file: its picture, its name, its size, how many alike, where it lies."""
    sheetful = entry.sheetful
    lie = lie_on_carrier(sheetful, setup)
    _draw_thumbnail(surface, plan, entry, setup, lie, at)
    y = at.y - 6 - BODY * ASCENT
    surface.text(at.x, y, shorten(entry.name, at.width, BODY, bold=True), BODY, bold=True)
    for words in _file_words(plan, sheetful, lie, setup):
        for line in wrap(words, at.width, SMALLEST, most=2):
            y -= SMALLEST * 1.3
            surface.text(at.x, y, line, SMALLEST)
    if 1 < sheetful.alike <= _MOST_BOXES:
        for number in range(sheetful.alike):
            surface.box(Box(at.x + 13 * number, y - 16, 9, 9), weight=0.8)


def _file_words(plan: Plan, sheetful: Sheetful, lie: Mounting, setup: Setup) -> Iterator[str]:
    unit = plan.asked.unit
    size = size_words(sheetful.width, sheetful.height, unit)
    yield isolated(sheetful.paper)
    yield f"opens as {size}"
    again = plan.asked.paper(sheetful.paper).buy
    buy = f", {lacking_words(sheetful.to_buy, again=again)}" if sheetful.to_buy else ""
    yield f"cut {sheetful.alike} alike{buy}" if sheetful.alike > 1 else f"cut once{buy}"
    if setup.carrier is not None:
        yield carrier_words(lie, unit)


def _draw_thumbnail(
    surface: Surface, plan: Plan, entry: FileRow, setup: Setup, lie: Mounting, at: Box
) -> None:
    """The lines on the sheet, and the sheet on the carrier, as they lie before the blade."""
    sheetful = entry.sheetful
    across, along = setup.carrier or (sheetful.width, sheetful.height)
    room = at.inset(5)
    scale = min((room.width - 46) / across, room.height / along)
    carrier = Box(room.x, room.top - along * scale, across * scale, along * scale)
    if setup.carrier:
        surface.box(carrier, weight=0.6, colour=QUIET, dash=(1.5, 2.0))
    left, top = carrier.x + lie.right * scale, carrier.top - lie.down * scale
    sheet = Box(
        left, top - sheetful.height * scale, sheetful.width * scale, sheetful.height * scale
    )
    surface.box(sheet, fill=SHADE, weight=0.6, colour=QUIET)
    for shape in sheetful.shapes:  # white where pieces are: what is left over stays shaded
        box = Area(shape.x, shape.y, shape.width, shape.height)
        box = box.mirrored(sheetful.width) if setup.back_up else box
        corner = (sheet.x + box.x * scale, sheet.y + box.y * scale)
        if shape.is_round:
            radius = box.width * scale / 2
            surface.disc((corner[0] + radius, corner[1] + radius), radius, fill=WHITE)
        else:
            surface.box(Box(*corner, box.width * scale, box.height * scale), fill=WHITE)
    for group in COLOURS:
        for line in entry.drawing.lines.get(group, ()):
            points = _ring_points(line) if isinstance(line, Ring) else list(line.points)
            if not isinstance(line, Ring) and line.closed:
                points.append(line.points[0])
            placed = [(sheet.x + x * scale, sheet.y + y * scale) for x, y in points]
            surface.line(placed, 0.8, colour=_colour(group))
    leg = min(10.0, sheet.width / 3, sheet.height / 3)
    x, y = sheet.x - 2.5, sheet.top + 2.5
    surface.line([(x + leg, y), (x, y), (x, y - leg)], 2.2)
    _draw_tops(surface, plan, sheetful, setup, (carrier.right + 13, carrier.top))


def _draw_tops(
    surface: Surface, plan: Plan, sheetful: Sheetful, setup: Setup, at: tuple[float, float]
) -> None:
    """Small arrows to the tops of the prints: of the face to the blade, and of the other if it shows."""
    paper = plan.asked.paper(sheetful.paper)
    up: FaceName = "back" if setup.back_up else "front"
    names: tuple[FaceName, ...] = ("front", "back")
    shown = {shape.piece.face for shape in sheetful.shapes}
    x, top = at
    for name in sorted(names, key=lambda name: name != up):
        face = paper.face(name)
        if face.directed and (name == up or name in shown):
            words = ("up",) if name == up else ("top of", f"the {name}")
            _draw_top(surface, face, Box(x, top - 18, 18, 18), words, mirrored=setup.back_up)
            top -= 26 + SMALLEST * len(words)


def _draw_top(
    surface: Surface, face: Face, at: Box, words: tuple[str, ...], *, mirrored: bool
) -> None:
    """An arrow to the top of a print, two-headed where both ways are up; what it is below it."""
    way_x, way_y = WAYS[face.up]
    way_x = -way_x if mirrored else way_x
    (x, y), half = at.centre, at.width / 2

    def turned(along: float, aside: float) -> tuple[float, float]:
        return x + way_x * along - way_y * aside, y + way_y * along + way_x * aside

    for way in (1, -1) if face.print == "two-way" else (1,):
        head = (turned(way * half, 0), turned(way * 2, 4.5), turned(way * 2, -4.5))
        surface.shape(head, fill=INK)
    surface.line([turned(-half, 0), turned(half - 4, 0)], 2.2)
    for number, word in enumerate(words, 1):
        surface.text(x, at.y - number * SMALLEST, word, SMALLEST, align="center")


def _ring_points(ring: Ring) -> list[tuple[float, float]]:
    steps = 48
    turns = [2 * pi * step / steps for step in range(steps + 1)]
    radius = ring.diameter / 2
    return [(ring.x + radius * cos(turn), ring.y + radius * sin(turn)) for turn in turns]


def _colour(group: LineKind) -> Colour:
    """The group's colour as matplotlib has it."""
    code = COLOURS[group]
    red, green, blue = (int(code[at : at + 2], 16) / 255 for at in (1, 3, 5))
    return red, green, blue
