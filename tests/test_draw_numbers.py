"""Numbers of the strokes, and letters beside the sheet, where cuts lie closer than either is wide."""

from itertools import combinations
from random import Random

import pytest
from draw_plans import thin_strips
from matplotlib.lines import Line2D
from matplotlib.patches import Circle
from pack_cases import asked, sheet_batch, solved

from nesting.draw.canvas.palette import WHITE
from nesting.draw.canvas.surface import Box
from nesting.draw.sheet.diagram import layout_figures
from nesting.draw.sheet.numbers import place_numbers
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.texts import compose
from nesting.draw.sheet.view import place_sheet, sheet_box


@pytest.mark.parametrize("number", [0, 1])
def test_no_number_covers_another(number: int) -> None:
    """The first and the last of each step are there, clear of all others, also where the picture is small."""
    plan = thin_strips()
    subject = Subject(plan, plan.layouts[number])
    for wide, high in ((230, 230), (300, 300), (400, 600)):
        view = place_sheet(subject, Box(40, 40, wide, high), 0)
        numbers = place_numbers(subject, view, sheet_box(subject.layout, view), 1)
        assert not any(one.covers(other) for one, other in combinations(numbers, 2))
        ends = {str(step.strokes[n].number) for step in subject.steps for n in (0, -1)}
        assert ends <= {one.text for one in numbers}


def test_no_line_to_a_number_runs_over_another() -> None:
    """What is drawn later lies on top: every circle after every line."""
    plan = thin_strips()
    (figure,) = layout_figures(plan, plan.layouts[0])
    circles = [one for one in figure.findobj(Circle) if one.get_facecolor()[:3] == WHITE]
    lines = [one for one in figure.findobj(Line2D) if one.get_linewidth() == 0.8]
    assert len(circles) == 25
    assert max(one.get_zorder() for one in lines) < min(one.get_zorder() for one in circles)


def test_a_column_of_equal_parts_has_one_letter_beside_the_sheet() -> None:
    """Two columns of twelve have two letters, beside the sheet and not above or below it."""
    plan = thin_strips()
    subject = Subject(plan, plan.layouts[1])
    view = place_sheet(subject, Box(40, 40, 300, 300), 50)
    sheet = sheet_box(subject.layout, view)
    leaders = compose(subject, view, [], 1, right=True).leaders
    assert [[word.text for word in leader.words] for leader in leaders] == [["B"], ["B"]]
    assert [len(leader.dots) for leader in leaders] == [12, 12]
    assert all(sheet.y - 12 < one.name.y and one.name.top < sheet.top + 12 for one in leaders)


@pytest.mark.parametrize(("number", "right"), [(12, True), (12, False), (30, True), (60, False)])
def test_no_letter_beside_the_sheet_covers_another(number: int, right: bool) -> None:
    """Many parts too small for their letters lie close together; letters are smaller where there are too many."""
    rng = Random(number)
    tags = [asked(f"{rng.randint(200, 600) / 10} x {n / 10 + 2} mm", 1) for n in range(number)]
    plan = solved(sheet_batch("300 x 300 mm", asked("300 x 150 mm", 1), *tags))
    subject = Subject(plan, plan.layouts[0])
    view = place_sheet(subject, Box(40, 40, 300, 300), 50)
    sheet = sheet_box(subject.layout, view)
    beside = Box(sheet.right + 10 if right else sheet.x - 50, sheet.top - 70, 40, 70)
    leaders = compose(subject, view, [beside], 1, right=right).leaders
    assert len(leaders) > number / 2
    assert not any(one.name.meets(beside) for one in leaders)
    assert not any(one.name.meets(other.name) for one, other in combinations(leaders, 2))
    for one in leaders:
        assert sheet.y - 0.01 <= one.name.y <= one.name.top <= sheet.top + 0.01
        assert one.name.x > sheet.right if right else one.name.right < sheet.x
