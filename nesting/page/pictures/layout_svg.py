"""The picture of a layout for the screen: the same as on its printed page."""

from nesting.draw.canvas.surface import Box
from nesting.draw.sheet.picture import draw_picture, place_picture
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.words import count_words, face_words, sheet_words
from nesting.layouts import Layout
from nesting.page.pictures.screen import ScreenSurface
from nesting.plan import Plan

#: Room for the sheet with its numbers and arrows, in points.
_WIDTH, _HEIGHT = 500.0, 560.0


def layout_picture(plan: Plan, layout: Layout) -> str:
    """Draw how a sheet is cut, as SVG: letters and sizes, strip, what is kept, what goes to the bin."""
    subject = Subject(plan, layout)
    surface = ScreenSurface(_WIDTH, _HEIGHT)
    place = place_picture(subject, Box(0, 0, _WIDTH, _HEIGHT))
    end = draw_picture(surface, subject, place)
    return surface.svg(_title(subject), max(0.0, end - 2))


def _title(subject: Subject) -> str:
    """What the picture shows, in one sentence."""
    number = subject.plan.layouts.index(subject.layout) + 1
    pieces = "; ".join(f"{letter}, {words}" for letter, words in count_words(subject))
    return (
        f"Layout {number} of {len(subject.plan.layouts)}, {subject.layout.paper}, "
        f"{face_words(subject)}. {sheet_words(subject)}. {pieces}"
    )
