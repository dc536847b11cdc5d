"""The stroke table: what is said of each step, and how the part lies."""

from collections.abc import Iterator
from dataclasses import replace
from io import BytesIO
from itertools import combinations

import pytest
from draw_plans import (
    BIN,
    KEEP,
    PLANS,
    crowded,
    layout,
    many_pieces,
    metric,
    piece,
    plan_of,
    two_faced,
)
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle
from matplotlib.text import Text
from pack_cases import solved
from plans import inches
from pypdf import PdfReader
from test_draw_pages import HALF_A_POINT, assert_well_set, points, texts_of

from nesting import read_batch
from nesting.batch import Batch, Trimmer
from nesting.draw import PAGES, Page, draw_pdf, layout_figures
from nesting.draw.canvas.lettering import NUMBER, TITLE
from nesting.draw.sheet.step_words import NARROW, number_words, step_lines
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.turns import Lie, lie_of
from nesting.layouts import Blank, Cut, Node
from nesting.papers import Edge, Paper, Sheet
from nesting.plan import Plan

SIX = ("A", "mat", inches("4"), inches("5 1/4"))


def six_mats(**trimmer: object) -> Plan:
    """Two rows of three mats and an offcut of 12 x 1 1/2, on two sheets alike."""
    paper = Paper("cream cardstock", (Sheet(inches("12"), inches("12"), have=2),))
    row: Node = Cut(
        "x", inches("4"), Blank("mat"), Cut("x", inches("4"), Blank("mat"), Blank("mat"))
    )
    tree = Cut("y", inches("6 3/4"), Cut("y", inches("1 1/2"), KEEP, row), row)
    one = layout(paper, tree, inches("12"), inches("12"), alike=2)
    batch = Batch("Orchard market", "in", (paper,), trimmer=Trimmer(**trimmer))  # type: ignore[arg-type]
    return plan_of(batch, [piece(*SIX, paper=paper.name)], [one])


def said(plan: Plan, *, back_up: bool = False) -> list[list[str]]:
    """The lines of each step of a plan's first layout."""
    subject = Subject(plan, plan.layouts[0], back_up)
    return [[words for words, _ in step_lines(subject, n)] for n in range(len(subject.steps))]


def texts(figure: Figure) -> Iterator[Text]:
    """Every text on a page."""
    for text in figure.findobj(Text):
        assert isinstance(text, Text)
        if text.get_text():
            yield text


def test_six_mats_are_told_in_two_steps() -> None:
    """What to take, how it lies, what drops off, what is held, and to measure the first piece."""
    row = "12 x 5 1/4 for 3\N{NO-BREAK SPACE}A"
    assert said(six_mats()) == [
        [
            "Take the sheet. Right edge to the guide edge.",
            f"Cut twice. Drops off: {row}. The last time hold {row}; drops off: offcut 12 x 1 1/2, keep.",
        ],
        [
            "Take both parts of 12 x 5 1/4. Top edge to the guide edge.",
            "Cut each twice. Drops off: A.",
            "Still in one piece: A.",
            "Measure the first A: 4 x 5 1/4.",
        ],
    ]


def test_settings_between_marks_are_said_with_both_marks() -> None:
    """A ruler setting that has no mark is named with its neighbours, in bold."""
    subject = Subject(metric(), metric().layouts[0])
    lines = [line for n in range(len(subject.steps)) for line in step_lines(subject, n)]
    assert ("Between the marks 98 and 99.", True) in lines
    assert not any("Between" in words for step in said(six_mats()) for words in step)


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        (
            "sliding",
            "Too little to hold at a trimmer: with knife and steel rule measure 1/4 from the left edge.",
        ),
        ("knife", NARROW),
    ],
)
def test_narrow_holds_are_said(kind: str, words: str) -> None:
    """Where nothing wide enough is left in any order, a knife and a steel rule are asked for."""
    paper = Paper("cream cardstock", (Sheet(inches("1/2"), inches("5"), have=1),))
    tree = Cut("x", inches("1/4"), Blank("edging"), Blank("edging"))
    one = layout(paper, tree, inches("1/2"), inches("5"))
    batch = Batch(
        "Orchard market", "in", (paper,), trimmer=Trimmer(kind, narrowest_hold=inches("1"))
    )  # type: ignore[arg-type]
    plan = plan_of(batch, [piece("A", "edging", inches("1/4"), inches("5"))], [one])
    assert words in said(plan)[0]
    assert not any(words in lines for lines in said(six_mats()))


@pytest.mark.parametrize(
    ("hand", "back_up", "edges"),
    [
        ("right", False, {"left": (0, "top"), "top": (3, "right")}),
        ("left", False, {"right": (0, "top"), "top": (1, "left")}),
        ("right", True, {"left": (2, "bottom"), "top": (3, "right")}),
    ],
)
def test_the_measured_edge_is_on_the_side_of_the_ruler(
    hand: str, back_up: bool, edges: dict[Edge, tuple[int, Edge]]
) -> None:
    """As drawn, a quarter turn, or half round; the edge at the guide edge follows."""
    plan = six_mats(hand=hand)
    subject = Subject(plan, plan.layouts[0], back_up)
    lies = {step.measured: lie_of(subject, step) for step in subject.steps}
    assert lies == {edge: Lie(*lie) for edge, lie in edges.items()}


def test_a_left_handed_page_starts_at_the_right() -> None:
    """The mark of the starting corner stands right of the sheet's middle, else left."""
    middles = {}
    for hand in ("right", "left"):
        plan = six_mats(hand=hand)
        (figure,) = layout_figures(plan, plan.layouts[0])
        (start,) = [text for text in texts(figure) if text.get_text() == "start"]
        middles[hand] = start.get_position()[0]
    assert middles["right"] < 100
    assert middles["left"] > 250


def test_the_back_is_drawn_turned_over() -> None:
    """Back up, the first panel stands on the other side, its letter readable, its face named."""
    plan = two_faced()
    places = {}
    for back_up in (False, True):
        figure = layout_figures(plan, plan.layouts[0], back_up=back_up)[0]
        found = {text.get_text() for text in texts(figure)}
        assert ("windfall orchard at dusk, back up" in found) == back_up
        places[back_up] = sorted(
            text.get_position()[0] for text in texts(figure) if text.get_text() == "bin"
        )
    assert places[False][0] > 250
    assert places[True][0] < 150


@pytest.mark.parametrize("name", PLANS)
def test_numbers_in_the_table_are_those_on_the_lines(name: str) -> None:
    """Each stroke has one number on a line, and the steps name all of them in order."""
    plan = PLANS[name]()
    subject = Subject(plan, plan.layouts[0])
    figures = layout_figures(plan, plan.layouts[0])
    on_lines = [int(t.get_text()) for t in texts(figures[0]) if is_number(t)]
    assert sorted(on_lines) == [stroke.number for stroke in subject.strokes]
    in_table = [
        text.get_text()
        for figure in figures
        for text in texts(figure)
        if text.get_fontsize() == NUMBER and text.get_horizontalalignment() == "left"
    ]
    assert [words for words in in_table if words != "start"] == [
        number_words(step) for step in subject.steps
    ]


def is_number(text: Text) -> bool:
    """Whether a text is the number on a line."""
    return (
        text.get_text().isdigit()
        and text.get_horizontalalignment() == "center"
        and text.get_fontsize() <= NUMBER
    )


def test_ruler_settings_are_large_and_every_step_has_its_box() -> None:
    """20 pt or more in bold, one for each step, and a box to tick where sheets are cut at once."""
    plan = six_mats(stack=2)
    (figure,) = layout_figures(plan, plan.layouts[0])
    large = [text.get_text() for text in texts(figure) if text.get_fontsize() >= TITLE >= 20]
    assert large[-2:] == ["5 1/4", "4"]
    assert len(boxes_in(figure)) == 2 + 2  # two sheets alike, two steps


def boxes_in(figure: Figure) -> list[Rectangle]:
    """The boxes to tick on a page."""
    return [
        patch
        for patch in figure.findobj(Rectangle)
        if isinstance(patch, Rectangle) and patch.get_width() == patch.get_height() == 13.0
    ]


@pytest.mark.parametrize("page", PAGES.values(), ids=PAGES)
@pytest.mark.parametrize("alike", [1, 2, 4, 9, 12])
def test_each_step_has_a_box_for_each_sheet_that_is_cut_alone(alike: int, page: Page) -> None:
    """However many they are, boxes stand on the page, clear of each other and of all words."""
    plan = six_mats()
    one = replace(plan.layouts[0], alike=alike)
    (figure,) = layout_figures(replace(plan, layouts=(one,)), one, page)
    boxes = [box.get_bbox() for box in boxes_in(figure)]
    assert len(boxes) == 3 * alike
    words = [box for text, box in texts_of(figure)]
    for box, other in combinations(boxes, 2):
        assert not box.padded(-HALF_A_POINT).overlaps(other.padded(-HALF_A_POINT))
    for box in boxes:
        assert not any(box.overlaps(other) for other in words)
        assert box.x0 >= 36
        assert box.x1 <= 72 * figure.get_figwidth() - 35.5
    assert_well_set(figure)


def test_more_sheets_are_tallied() -> None:
    """Of twenty sheets neither the page nor a step has a box for each: a line is there to tally on."""
    plan = six_mats()
    one = replace(plan.layouts[0], alike=20)
    (figure,) = layout_figures(replace(plan, layouts=(one,)), one)
    assert not boxes_in(figure)
    assert [text.get_text() for text in texts(figure)].count("tally") == 3


@pytest.mark.parametrize("alike", [1, 9, 20])
def test_every_layout_page_has_a_line_for_what_is_spoilt(alike: int) -> None:
    """The word once, and a line behind it that is long enough to write on."""
    plan = six_mats()
    one = replace(plan.layouts[0], alike=alike)
    (figure,) = layout_figures(replace(plan, layouts=(one,)), one)
    ((_, box),) = [(t, box) for t, box in texts_of(figure) if t.get_text() == "spoilt:"]
    lines = [
        points(line)
        for line in figure.findobj(Line2D)
        if isinstance(line, Line2D) and len(line.get_xydata()) == 2
    ]
    (length,) = [
        line.width for line in lines if box.x1 < line.x0 < box.x1 + 6 and abs(line.y0 - box.y0) < 5
    ]
    assert length > 60


def test_steps_are_numbered_as_a_record_names_them() -> None:
    """``step 2`` on the page is the second step of ``steps_of``, whatever its strokes' numbers."""
    plan = six_mats()
    (figure,) = layout_figures(plan, plan.layouts[0])
    words = [text.get_text() for text in texts(figure)]
    assert [one for one in words if one.startswith("step ")] == ["step 1", "step 2"]
    assert "3\N{EN DASH}6" in words


def test_a_stroke_is_explained_once_and_sheets_alike_go_together() -> None:
    """The head of the table says what a stroke is, and to make each step on both sheets."""
    plan = six_mats(stack=2)
    words = " ".join(text.get_text() for text in texts(layout_figures(plan, plan.layouts[0])[0]))
    assert words.count("one pass of the blade") == 1
    assert "6 for both sheets, 2 ruler" in words
    assert "Make each step on both sheets, both at once, before the next." in words


def test_sheets_cut_at_once_are_said() -> None:
    """Two sheets under a blade that cuts three: both at once, and of four halves three at once."""
    plan = solved(read_batch("tests/found/stack.yaml"))
    (figure,) = layout_figures(plan, plan.layouts[0])
    words = " ".join(text.get_text() for text in texts(figure))
    assert "3 for both sheets, 1 ruler setting." in words
    assert "Make each step on both sheets, both at once, before the next." in words
    assert said(plan)[1][1].startswith("Cut each, 3 of the 4 at once.")


# What is held.


def first_words(sizes: list[str], **trimmer: object) -> list[list[str]]:
    """What is said of a row of blanks side by side, the last of them waste where it is below 1/2 in."""
    paper = Paper("cream cardstock", (Sheet(inches("12"), inches("12"), have=1),))
    *before, last = [
        BIN if inches(size) < inches("1/2") else Blank(f"tag {size}") for size in sizes
    ]
    tree: Node = last
    for size, node in zip(reversed(sizes[:-1]), reversed(before), strict=True):
        tree = Cut("x", inches(size), node, tree)
    one = layout(paper, tree, sum(map(inches, sizes)), inches("5"))
    batch = Batch("Orchard market", "in", (paper,), trimmer=Trimmer(**trimmer))  # type: ignore[arg-type]
    named = sorted({size for size in sizes if inches(size) >= inches("1/2")}, key=sizes.index)
    pieces = [
        piece(chr(65 + n), f"tag {size}", inches(size), inches("5"), paper=paper.name)
        for n, size in enumerate(named)
    ]
    return said(plan_of(batch, pieces, [one]))


def test_the_larger_part_is_held_the_last_time() -> None:
    """Three of 3 in and a sliver: at the last stroke the third is held and the sliver drops off."""
    (step,) = first_words(["3", "3", "3", "1/4"])
    assert step[:2] == [
        "Take the sheet. Top edge to the guide edge.",
        "Cut 3 times. Drops off: A. The last time hold A; drops off: 1/4 x 5, to the bin.",
    ]
    assert not any(words.startswith("Still") for words in step)


def test_a_rest_that_drops_off_is_taken_again() -> None:
    """Where the part that is cut off is the larger, it is held; the smaller rest is then another part."""
    first, second = first_words(["5", "1", "1"])
    assert first[1:3] == [
        "Drops off: 2 x 5 for 2\N{NO-BREAK SPACE}B.",
        "Still in one piece: A.",
    ]
    assert second[0] == "Take the 2 x 5. Top edge to the guide edge."


def test_the_guide_edge_is_said_of_every_part_that_is_taken() -> None:
    """Not only where it is another edge than before; only what stays in hand lies as it lies."""
    for lines in said(crowded()):
        take = next(words for words in lines if words.startswith(("Take", "Go on")))
        assert take.startswith("Go on with the rest") or "edge to the guide edge" in take


def test_a_knife_has_no_guide_edge() -> None:
    """With a steel rule each measure has the edge that it starts from."""
    lines = first_words(["5", "1", "1"], kind="knife")
    assert [step[0] for step in lines] == [
        "Take the sheet. Measure 5 from the left edge.",
        "Take the 2 x 5. Measure 1 from the left edge.",
    ]


def test_a_last_stroke_by_knife_says_from_where_to_measure() -> None:
    """Four of 1/2 in with 1 in to hold: the last stroke is made with knife and steel rule."""
    (step,) = first_words(["1/2", "1/2", "1/2", "1/2"], narrowest_hold=inches("1"))
    assert step[0] == (
        "The last stroke leaves too little to hold at a trimmer: with knife and steel rule "
        "measure 1/2 from the left edge."
    )


def test_a_long_table_runs_on_with_the_diagram_again() -> None:
    """Twelve different rows do not fit; the further page has the rest of the steps, and a picture."""
    paper = Paper("cream cardstock", (Sheet(inches("12"), inches("12"), have=1),))
    tree: Node = BIN
    pieces = []
    for number in range(14):
        width = inches("6") - number * inches("1/4")
        pieces.append(
            piece(chr(65 + number), f"band {number}", width, inches("3/4"), paper=paper.name)
        )
        tree = Cut("y", inches("3/4"), Cut("x", width, Blank(f"band {number}"), BIN), tree)
    one = layout(paper, tree, inches("12"), inches("12"))
    plan = plan_of(Batch("Orchard market", "in", (paper,)), pieces, [one])
    figures = layout_figures(plan, one)
    assert len(figures) > 1
    heads = [{text.get_text() for text in texts(figure)} for figure in figures]
    assert "Strokes, continued" in heads[1]
    assert "Orchard market, cream cardstock" in heads[1]
    assert "start" in heads[1]
    settings = [t.get_text() for f in figures for t in texts(f) if t.get_fontsize() == TITLE]
    assert len(settings) == 1 + len(Subject(plan, one).steps)  # with the title


@pytest.mark.parametrize("page", PAGES.values(), ids=PAGES)
def test_the_table_is_text_in_the_pdf(page: object) -> None:
    """Searched in the file, the ruler settings and what is said of them are found."""
    reader = PdfReader(BytesIO(draw_pdf(six_mats(), page)))  # type: ignore[arg-type]
    words = reader.pages[1].extract_text()
    assert "5 1/4" in words
    assert "Measure the first A" in words
    assert "offcut 12 x 1 1/2, keep" in words


def test_many_pieces_keep_their_key() -> None:
    """Thirty-six letters have their names: what has no room below the picture is on the next page."""
    plan = many_pieces()
    figures = layout_figures(plan, plan.layouts[0])
    words = [text.get_text() for figure in figures for text in texts(figure)]
    here = {blank.node.piece for blank in plan.layouts[0].blanks if isinstance(blank.node, Blank)}
    assert len(here) == 36
    for one in (plan.piece(id_) for id_ in here):
        assert any(line.startswith(f"{one.name}, ") for line in words), one.name
    assert "The other letters are on the next page." in words


def test_sixty_small_blanks_take_one_page() -> None:
    """One page for a layout, however many blanks: 60 of 1 x 2."""
    plan = crowded()
    (figure,) = layout_figures(plan, plan.layouts[0])
    assert sum(text.get_text() == "A" for text in texts(figure)) >= 60


def test_a_sheet_used_whole_needs_no_stroke() -> None:
    """No steps, and the table says so."""
    plan = six_mats()
    whole = replace(plan.layouts[0], tree=Blank("mat"))
    (figure,) = layout_figures(replace(plan, layouts=(whole,)), whole)
    assert "No stroke: the sheet is used whole." in {text.get_text() for text in texts(figure)}
