"""The record sheet: every code on it is one that the record of its plan reads."""

import re
from dataclasses import replace

import pytest
from draw_plans import PLANS
from matplotlib.figure import Figure
from matplotlib.text import Text
from test_draw_pages import assert_well_set
from test_draw_table import six_mats

from nesting.cutting.progress import progress_of
from nesting.cutting.strokes import steps_of
from nesting.draw import PAGES, Page
from nesting.draw.pages.record_sheet import record_figures
from nesting.layouts import Blank
from nesting.plan import Plan
from nesting.record import Record, RecordError, read_record

CODE = re.compile(r"\d+(: (step \d+( of 1 sheet)?|\d+ sheets?))?")


def rows_of(figures: list[Figure]) -> list[list[str]]:
    """The rows of codes: head, if there is one, and codes; with the lines to write on."""
    rows: dict[tuple[int, float], list[str]] = {}
    for number, figure in enumerate(figures):
        for text in figure.findobj(Text):
            assert isinstance(text, Text)
            rows.setdefault((number, text.get_position()[1]), []).append(text.get_text())
    return [row for row in rows.values() if any(CODE.fullmatch(one) for one in row)]


def alike(count: int) -> Plan:
    """Two rows of three mats on some sheets alike, then a sheet that is used whole."""
    plan = six_mats()
    first = replace(plan.layouts[0], alike=count)
    whole = replace(first, id=2, alike=1, tree=Blank("mat"))
    return replace(plan, layouts=(first, whole))


def test_the_codes_are_in_the_order_of_work() -> None:
    """Steps of all sheets, then all; sheets one by one; what was spoilt at each step."""
    assert rows_of(list(record_figures(alike(3)))) == [
        ["done", "1: step 1", "1"],
        ["one by one", "1: 1 sheet", "1: 2 sheets"],
        ["spoilt", "1: step 1 of 1 sheet", "1: step 2 of 1 sheet"],
        ["done", "2"],
        ["spoilt", "2"],
    ]


@pytest.mark.parametrize("name", [*PLANS, 3, 30])
def test_every_code_is_read_as_a_record_of_its_plan(name: str | int) -> None:
    """Read alone as done or spoilt, each code is one of the plan, and each row goes further than the last."""
    plan = alike(name) if isinstance(name, int) else PLANS[name]()
    spoilt, read = False, 0
    for row in rows_of(list(record_figures(plan))):
        spoilt = row[0] == "spoilt" or (spoilt and CODE.fullmatch(row[0]) is not None)
        codes = [words for words in row if words not in ("done", "one by one", "spoilt")]
        for code in codes:
            record = read_record("", code) if spoilt else read_record(code)
            (entry,) = record.spoilt if spoilt else record.done
            assert str(entry) == code
            assert progress_of(plan, record).cut_into
            read += 1
    steps = sum(len(steps_of(layout, plan.asked)) for layout in plan.layouts)
    assert read >= max(2 * steps, 2 * len(plan.layouts))


def test_of_a_ticked_row_the_last_code_says_all() -> None:
    """A step stands for those before it, and the layout's own number for all its steps."""
    plan = alike(1)
    bags = [
        progress_of(plan, read_record(code)).bags.get("mat", 0) for code in ("1: step 1", "1", "2")
    ]
    assert bags == [0, 6, 1]


def test_a_spoilt_sheet_is_to_be_named_once() -> None:
    """Codes ticked in both rows of its one sheet are refused, so the sheet says to name it as spoilt alone."""
    plan = alike(1)
    with pytest.raises(RecordError, match="not named as done"):
        progress_of(plan, read_record("1: step 1", "1: step 2"))
    words = " ".join(text.get_text() for text in next(record_figures(plan)).findobj(Text))
    assert "A spoilt sheet is named under --spoilt alone" in words


def test_many_sheets_have_no_code_for_each() -> None:
    """Of thirty sheets alike no number has a box: it is written by hand."""
    words = [one for row in rows_of(list(record_figures(alike(30)))) for one in row]
    assert "one by one" not in words
    assert "1: step 2 of 1 sheet" in words


@pytest.mark.parametrize("page", PAGES.values(), ids=PAGES)
@pytest.mark.parametrize("name", PLANS)
def test_the_record_sheet_is_readable(name: str, page: Page) -> None:
    """Texts are large enough, on the page, and clear of each other."""
    for figure in record_figures(PLANS[name](), page):
        assert_well_set(figure)


def test_a_plan_that_cuts_nothing_has_no_record_sheet() -> None:
    """There is nothing to tick."""
    assert list(record_figures(replace(six_mats(), layouts=()))) == []
    assert progress_of(six_mats(), Record()).cut_into == {}
