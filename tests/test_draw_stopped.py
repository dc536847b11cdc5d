"""Stopped cuts as they are said and drawn: where to begin, where to stop, what is left of the sheet."""

from dataclasses import replace

import pytest
from plans import inches, stopped_batch, stopped_plan

from nesting.draw.canvas.surface import Box
from nesting.draw.sheet.numbers import place_numbers
from nesting.draw.sheet.step_words import step_lines
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.view import far_room, place_sheet, sheet_box
from nesting.draw.sheet.words import legend_words
from nesting.layouts import Cut, Offcut
from nesting.page.pictures.stroke_svg import stroke_picture
from nesting.plan import Plan


def subject(plan: Plan | None = None, *, back_up: bool = False) -> Subject:
    """The one layout of the plan by hand."""
    plan = plan or stopped_plan()
    return Subject(plan, plan.layouts[0], back_up)


def cut_with(**trimmer: object) -> Plan:
    """The plan by hand with another trimmer."""
    batch = stopped_batch()
    other = replace(batch.trimmer, **trimmer)  # type: ignore[arg-type]
    return replace(stopped_plan(), asked=replace(batch, trimmer=other))


def said(one: Subject, step: int) -> str:
    """All that the table says of a step, counted from 1."""
    return " ".join(words for words, _ in step_lines(one, step - 1))


def test_the_table_says_where_to_begin_and_where_to_stop() -> None:
    """The arms come off one after the other; what is left lacks a corner until the last stroke."""
    lines = [said(subject(), number) for number in range(1, 6)]
    assert lines == [
        (
            "Begin at the left edge and stop at 8: mark first. Nothing is spare: stop short, and finish with "
            "knife and steel rule. Take the sheet. Left edge to the guide edge. Nothing drops off yet."
        ),
        (
            "Begin at the bottom edge and stop at 5, where it meets the other stopped cut. Go on with the "
            "rest. Bottom edge to the guide edge. Drops off: B. Measure the first B: 8 x 5."
        ),
        "Go on with the rest. Top edge to the guide edge. Drops off: A.",
        "Go on with the rest. Right edge to the guide edge. Drops off: A.",
        (
            "Go on with the rest. Bottom edge to the guide edge. Drops off: C. Still in one piece: offcut "
            "4 x 7, keep."
        ),
    ]


@pytest.mark.parametrize(
    ("right", "kind", "words"),
    [
        (Offcut(keep=True), "sliding", "Nothing is spare: stop short, and finish with knife and steel rule."),
        (Offcut(keep=True), "knife", "Nothing is spare."),
        (Offcut(keep=False), "sliding", "Up to 4 more hurts nothing."),
        (Cut("x", inches("1/2"), Offcut(keep=False), Offcut(keep=True)), "sliding", "Up to 1/2 more hurts nothing."),
    ],
)  # fmt: skip
def test_how_far_the_first_stroke_may_overrun(right: object, kind: str, words: str) -> None:
    """Into waste as far as it goes, into an offcut to keep not at all: then a knife finishes the cut."""
    plan = cut_with(kind=kind)
    tree = replace(plan.layouts[0].tree, right=right)  # type: ignore[type-var]
    one = subject(replace(plan, layouts=(replace(plan.layouts[0], tree=tree),)))
    first = said(one, 1)
    assert f"and stop at 8: mark first. {words}" in first
    assert "Nothing drops off yet." in first


def test_from_the_back_the_first_stroke_begins_on_the_other_side() -> None:
    """Left and right change places, as when a page is turned."""
    assert said(subject(back_up=True), 1).startswith("Begin at the right edge and stop at 8")


def test_the_legend_names_the_dot() -> None:
    """Only where a cut stops."""
    words = "Dot on a line: the cut stops there."
    assert words in legend_words(subject())
    tree = stopped_plan().layouts[0].tree.bottom  # type: ignore[union-attr]
    plain = replace(stopped_plan(), layouts=(replace(stopped_plan().layouts[0], tree=tree),))
    assert words not in legend_words(subject(plain))


@pytest.mark.parametrize("back_up", [False, True])
def test_lines_end_where_the_strokes_do(*, back_up: bool) -> None:
    """Drawn to scale: the first is 8 in long and has its dot at its end, the last is 2 in long."""
    one = subject(back_up=back_up)
    view = place_sheet(one, Box(0, 0, 400, 400), 6)
    lengths = []
    for stroke in one.strokes:
        (x, y), (x_end, y_end) = view.stroke_line(stroke)
        lengths.append(round((abs(x_end - x) + abs(y_end - y)) / view.scale / inches("1"), 6))
    assert lengths == [8, 5, 7, 7, 2]
    first, second, *others = (view.stop_of(stroke) for stroke in one.strokes)
    assert first is not None
    assert second == pytest.approx(first)
    assert others == [None] * 3
    assert first == pytest.approx(view.at(inches("8"), inches("5")))


def test_numbers_stand_where_the_blade_begins() -> None:
    """Round the sheet, each outside the edge where its stroke starts; the last one inside."""
    one = subject()
    view = place_sheet(one, Box(0, 0, 400, 400), 6)
    sheet = sheet_box(one.layout, view)
    numbers = {number.text: number.centre for number in place_numbers(one, view, sheet, 1)}
    assert numbers["1"][0] < sheet.x
    assert numbers["2"][1] < sheet.y
    assert numbers["3"][1] > sheet.top
    assert numbers["4"][0] > sheet.right
    assert sheet.y < numbers["5"][1] < sheet.top
    assert far_room(one) > far_room(Subject(plain_plan(), plain_plan().layouts[0]))


def plain_plan() -> Plan:
    """The sheet whole, as an offcut."""
    plan = stopped_plan()
    return replace(plan, layouts=(replace(plan.layouts[0], tree=Offcut(keep=True)),))


def test_the_page_shows_where_a_stroke_stops() -> None:
    """In the picture's title and as a dot; a stroke that runs through has neither."""
    plan = stopped_plan()
    pictures = [stroke_picture(plan, plan.layouts[0], number) for number in range(1, 6)]
    assert "stop at 8: mark first" in pictures[0]
    assert "nothing drops off yet" in pictures[0]
    assert "7 x 12 less a corner in hand" in pictures[3]
    assert ["<circle" in picture for picture in pictures] == [True, True, False, False, False]
