"""The picture of one stroke: how the part lies, where the blade is, what drops off."""

from nesting.cutting.parallel_cuts import Part
from nesting.cutting.steps import Step, Stroke
from nesting.draw.canvas.lettering import LETTER, MIDDLE, SIZE, text_width, wrap
from nesting.draw.canvas.palette import HATCH, SHADE
from nesting.draw.canvas.surface import Box
from nesting.draw.sheet.picture import paper_tint
from nesting.draw.sheet.step_words import part_size, part_words, setting_words, stop_words
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.turns import (
    LyingPart,
    Turned,
    draw_stop,
    draw_top,
    lay_part,
    lie_of,
    ruler_side,
)
from nesting.layouts import Blank, Layout, Offcut
from nesting.page.pictures.screen import ScreenSurface
from nesting.plan import Plan
from nesting.units import with_unit

_WIDTH, _HEIGHT = 480.0, 400.0
#: The ruler setting is read from where the hands are.
_SETTING = 44.0
#: The triangle at the edge that is the top of the layout's picture.
_TOP = 12.0
#: White at both sides, above the part for the ruler setting, and below it for what drops off.
_ASIDE, _ABOVE, _BELOW = 24.0, 92.0, 60.0


def stroke_picture(plan: Plan, layout: Layout, number: int) -> str:
    """Draw one stroke of a layout, as SVG; ``number`` counts from 1 in the order of the page.

    Raises
    ------
    KeyError
        The layout has no stroke of that number.
    """
    subject = Subject(plan, layout)
    step, stroke = _numbered(subject, number)
    surface = ScreenSurface(_WIDTH, _HEIGHT)
    room = Box(_ASIDE, _BELOW, _WIDTH - 2 * _ASIDE, _HEIGHT - _ABOVE - _BELOW)
    lying = lay_part(subject, step, stroke, room)
    for piece in lying.pieces:
        surface.box(piece, fill=paper_tint(plan, layout.paper), weight=1.6)
    if lying.falls.width:
        surface.box(lying.falls, fill=SHADE, weight=1.2)
    turned = Turned(stroke.whole, lying.box, lie_of(subject, step).turns, mirrored=False)
    for part in stroke.whole.finished():
        _draw_inside(surface, subject, part, turned.box(part))
    draw_top(surface, lying.box, lie_of(subject, step), _TOP)
    _draw_blade(surface, subject, step, lying)
    draw_stop(surface, lying, 5.0)
    _write_falls(surface, subject, stroke, lying)
    return surface.svg(_title(subject, step, stroke), lying.box.y - _BELOW)


def _numbered(subject: Subject, number: int) -> tuple[Step, Stroke]:
    """The stroke of that number, and the step it is part of."""
    for step in subject.steps:
        for stroke in step.strokes:
            if stroke.number == number:
                return step, stroke
    raise KeyError(number)


def _draw_inside(surface: ScreenSurface, subject: Subject, part: Part, box: Box) -> None:
    """Draw the outline and the letter of what a part of the sheet ends up as."""
    surface.box(box, weight=0.6)
    node = part.leaves[0].node
    word = ""
    if isinstance(node, Blank):
        word = subject.plan.piece(node.piece).letter
    elif isinstance(node, Offcut):
        word = "keep" if node.keep else "bin"
    size = LETTER if isinstance(node, Blank) else SIZE
    if word and box.height > size and box.width > text_width(word, size, bold=True) + 2:
        x, y = box.centre
        surface.text(x, y - size * MIDDLE, word, size, bold=isinstance(node, Blank), align="center")


def _draw_blade(surface: ScreenSurface, subject: Subject, step: Step, lying: LyingPart) -> None:
    """Draw guide edge, blade and, above them, the ruler setting in large numbers."""
    guide, trimmer = lying.box.top, subject.plan.asked.trimmer
    from_left = ruler_side(trimmer.hand) == "left"
    start = lying.box.x if from_left else lying.box.right
    if trimmer.kind != "knife":
        surface.line([(4, guide + 2), (_WIDTH - 4, guide + 2)], 3.0, colour=HATCH)
    surface.line([(start, guide + 10), (lying.blade, guide + 10)], 3.0)
    for x in (start, lying.blade):
        surface.line([(x, guide + 4), (x, guide + 16)], 1.6)
    surface.line([(lying.blade, lying.box.y - 8), (lying.blade, guide + 4)], 2.2, dash=(7.0, 4.0))
    words = _setting(subject, step)
    width = text_width(words, _SETTING, bold=True)
    middle = min(max((start + lying.blade) / 2, width / 2 + 4), _WIDTH - width / 2 - 4)
    surface.text(middle, guide + 28, words, _SETTING, bold=True, align="center")


def _setting(subject: Subject, step: Step) -> str:
    return with_unit(setting_words(subject, step), subject.unit)


def _write_falls(
    surface: ScreenSurface, subject: Subject, stroke: Stroke, lying: LyingPart
) -> None:
    """Write below the part what drops off."""
    lines = wrap(_falls_words(subject, stroke), _WIDTH - 8, SIZE)
    half = max(text_width(line, SIZE) for line in lines) / 2
    middle = min(max(lying.falls.centre[0], half + 4), _WIDTH - half - 4)
    for number, line in enumerate(lines):
        surface.text(middle, lying.box.y - 28 - 1.25 * SIZE * number, line, SIZE, align="center")


def _falls_words(subject: Subject, stroke: Stroke) -> str:
    falls = stroke.falls
    if stroke.stops and not falls.width:
        return "nothing drops off yet"
    if not falls.width or not falls.height:
        return "only as much as the cut is wide comes off"
    return f"drops off: {part_words(subject, falls)}"


def _title(subject: Subject, step: Step, stroke: Stroke) -> str:
    """What the picture shows, in one sentence."""
    guide = f"its {lie_of(subject, step).guide} edge at the guide edge; "
    if subject.plan.asked.trimmer.kind == "knife":
        guide = ""
    stop = stop_words(subject, step)
    return (
        f"Stroke {stroke.number}: ruler at {_setting(subject, step)}; "
        f"{part_size(subject, stroke.whole)} in hand; {guide}{_falls_words(subject, stroke)}."
        + (f" {stop}" if stop else "")
    )
