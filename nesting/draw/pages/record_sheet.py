"""The record sheet: for each layout codes to tick by hand, just as ``--done`` and ``--spoilt`` read them."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from nesting.cutting.strokes import steps_of
from nesting.draw.canvas.lettering import (
    ASCENT,
    BODY,
    HEADING,
    SMALLEST,
    TITLE,
    isolated,
    text_width,
)
from nesting.draw.canvas.lines import Line
from nesting.draw.canvas.page_rows import PageRow, continued, note, paragraph, row_pages
from nesting.draw.canvas.surface import LETTER_PAGE, Page, Surface
from nesting.draw.sheet.tick_boxes import MOST_BOXES
from nesting.draw.sheet.words import mark_words
from nesting.layouts import Layout
from nesting.plan import Plan
from nesting.record import Entry
from nesting.units import counted

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_BOX, _AFTER_BOX, _BETWEEN = 9.0, 4.0, 12.0
_PITCH = 15.0
#: Room at the left for the head of a row of codes.
_INDENT = 78.0
#: The heads: all sheets together, sheet after sheet, what went wrong.
_DONE, _ONE_BY_ONE, _SPOILT = "done", "one by one", "spoilt"

_TICK_DONE = (
    f"Tick under {_DONE!r} each step that is made on all sheets: a step is a numbered line of the layout's "
    "stroke table, and the layout's own number says that all of it is cut. Where sheets are cut one after "
    f"the other instead, tick under {_ONE_BY_ONE!r} how many are."
)
_TICK_SPOILT = (
    f"Tick under {_SPOILT!r} at which step something went wrong: the parts in hand are lost, the steps "
    "before it are done."
)
_GO_ON = (
    'To plan the rest: nesting plan BATCH --after plan.json --done "…" --spoilt "…", with the last code '
    "that is done of each layout and all that are spoilt, a comma between them. A spoilt sheet is named "
    "under --spoilt alone, not under --done."
)
_BY_HAND = (
    "More can be said in the same way: 1-3 is all of the layouts 1, 2 and 3; 5: step 4 of 2 sheets, "
    "5: step 3 of 1 sheet, where not all sheets are equally far; 6: stroke 7 under 'spoilt', where only the "
    "part that is cut at that number of the diagram is lost."
)


def record_figures(plan: Plan, page: Page = LETTER_PAGE) -> "Iterator[Figure]":
    """Draw the record sheet of a plan, on as many pages as it needs; none where nothing is cut.

    Yields
    ------
    matplotlib.figure.Figure
        One figure for each page.
    """
    if not plan.layouts:
        return
    width = Surface(page).print_area.width
    head = continued(plan.asked.name, "record", width)
    yield from row_pages(_rows(plan, width), head, page, mark_words(plan))


def codes_of(layout: Layout, steps: int) -> dict[str, list[str]]:
    """What can be said of a layout, by the head of the row where it is ticked, in the order of work."""
    number, one = layout.id, 1 if layout.alike > 1 else None
    codes = {
        # With its last step a layout is done.
        _DONE: [*(Entry(number, number, step) for step in range(1, steps)), Entry(number, number)],
        _ONE_BY_ONE: [Entry(number, number, None, sheets) for sheets in range(1, layout.alike)],
        _SPOILT: [Entry(number, number, step, one) for step in range(1, steps + 1)]
        or [Entry(number, number, None, one)],
    }
    if layout.alike > MOST_BOXES:  # their number is tallied on the layout's page
        codes[_ONE_BY_ONE] = []
    return {head: list(map(str, entries)) for head, entries in codes.items() if entries}


def _rows(plan: Plan, width: float) -> Iterator[PageRow]:
    """Everything on the record sheet, from the top."""
    yield paragraph(f"Record of {isolated(plan.asked.name)}", width, TITLE, bold=True, most=2)
    for words in (_TICK_DONE, _TICK_SPOILT, _GO_ON):
        yield paragraph(words, width, SMALLEST)
    for layout in plan.layouts:
        yield _layout_head(layout, width)
        for words, codes in codes_of(layout, len(steps_of(layout, plan.asked))).items():
            yield from _code_rows(words, codes, width)
    by_hand = ((0.0, _DONE), (width / 2, _SPOILT))  # a line for what no code says
    heads = (Line(x, 22, f"{head}:", BODY, bold=True) for x, head in by_hand)
    yield PageRow(26, tuple(heads), rule=True)
    yield note(_BY_HAND, width)


def _layout_head(layout: Layout, width: float) -> PageRow:
    """The number of a layout, its paper, its sheets."""
    words = f"layout {layout.id}"
    beside = f"{isolated(layout.paper)}, {counted(layout.alike, 'sheet')}"
    x = text_width(words, HEADING, bold=True) + 10
    down = 12 + HEADING * ASCENT
    texts = (
        Line(0, down, words, HEADING, bold=True),
        *(
            replace(text, right=x, down=down)
            for text in paragraph(beside, width - x, BODY, most=1).texts
        ),
    )
    return PageRow(12 + HEADING * 1.3, texts, follows=4 * _PITCH)


def _code_rows(words: str, codes: Sequence[str], width: float) -> Iterator[PageRow]:
    """Codes with a box to tick before each, in columns."""
    widest = max(text_width(code, BODY) for code in codes)
    cell = _BOX + _AFTER_BOX + widest + _BETWEEN
    across = max(1, int((width - _INDENT + _BETWEEN) / cell))
    for first in range(0, len(codes), across):
        texts = [] if first else [Line(0, BODY, words, BODY, bold=True)]
        boxes = []
        for number, code in enumerate(codes[first : first + across]):
            x = _INDENT + number * cell
            boxes.append((x, BODY, _BOX))
            texts.append(Line(x + _BOX + _AFTER_BOX, BODY, code, BODY))
        yield PageRow(_PITCH, tuple(texts), boxes=tuple(boxes))
