"""The page beside the cut files: what it says, and that nothing of it is cut off."""

from fractions import Fraction
from io import BytesIO

import pytest
from cutfile_cases import base_batch, circle, plan_of_batch, plum_batch, rectangle
from plans import inches
from pypdf import PdfReader

from nesting.cutfile import CutFileError
from nesting.cutfile.arrangement import arrange
from nesting.cutfile.carrier import Area, Mounting, Setup
from nesting.cutfile.page_words import carrier_words, saving_words, scale_rows
from nesting.cutfile.written_files import cut_files
from nesting.draw import A4_PAGE, LETTER_PAGE, Page
from nesting.mark import mark_of


def pages_of(data: bytes) -> list[str]:
    """The text of each page, its lines joined."""
    return [" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(data)).pages]


@pytest.mark.parametrize("page", [LETTER_PAGE, A4_PAGE])
def test_the_page_says_what_has_to_be_known(page: Page) -> None:
    """Every group that is there, the scale, the corner, the face, every file; in its exact size."""
    plan = plan_of_batch(base_batch())
    made = cut_files(plan, Setup(), page)
    reader = PdfReader(BytesIO(made.files["cut-files.pdf"]))
    size = reader.pages[0].mediabox
    assert float(size.width) == pytest.approx(page.width / 25_400_000 * 72, abs=0.01)
    text = " ".join(pages_of(made.files["cut-files.pdf"]))
    for word in (
        "score-lines",
        "outlines",
        "front up",
        "test-squares.svg",
        "heavy corner",
        "72",
        "90",
    ):
        assert word in text
    assert "windows" not in text  # only what is there
    for name in made.files:
        assert name in text or name == "cut-files.pdf"
    assert all(mark_of(plan) in page for page in pages_of(made.files["cut-files.pdf"]))


def test_back_up_is_said_with_how_to_turn() -> None:
    """The sheet is turned like a page, and the person mirrors nothing."""
    plan = plan_of_batch(base_batch())
    text = pages_of(cut_files(plan, Setup(back_up=True), LETTER_PAGE).files["cut-files.pdf"])[0]
    assert "back up" in text
    assert "mirror nothing yourself" in text


def test_the_scale_table_has_the_known_factors() -> None:
    """Written at 96 and read at 72 or 90: factors 4/3 and 16/15."""
    rows = {words: (inch, twenty, mend) for inch, twenty, words, mend in scale_rows()}
    assert rows["all is well"] == ("1 in", "20 mm", "100 %")
    assert rows["96 units to the inch, shown at 72"] == ("1.333 in", "26.7 mm", "75 %")
    assert rows["96 units to the inch, shown at 90"] == ("1.067 in", "21.3 mm", "93.75 %")
    for units in (72, 90, 96):
        inch, _, mend = rows[f"mm taken for units of 1/{units} in"]
        factor = Fraction("25.4") / units
        assert float(inch.split()[0]) == pytest.approx(float(factor), abs=0.0005)
        assert float(mend.split()[0]) * float(factor) == pytest.approx(100, abs=0.01)


def test_savings_and_bounds_are_said_as_they_are() -> None:
    """Saved, the same, or more; proven only where the bound is met."""
    setups = {
        "saved": (plum_batch(circle("2", 36), circle("3/4", 25)), Setup()),
        "same": (plum_batch(rectangle("4 x 5 1/4", 7)), Setup()),
        "more": (plum_batch(rectangle("6 x 6", 4)), Setup(gap=inches("1/8"))),
    }
    said = {}
    for name, (batch, setup) in setups.items():
        plan = plan_of_batch(batch)
        said[name] = saving_words(arrange(plan, plan.asked.papers[0], setup))
    assert said["saved"].startswith("plum dots: 1 whole sheet where straight cuts take 2: 1 saved.")
    assert "Proven by area" in said["saved"]
    assert "as many as with straight cuts" in said["same"]
    assert "4 whole sheets, 3 more than the plan" in said["more"]
    assert "Proven by large pieces" in said["more"]


def test_where_the_corner_lies_is_said() -> None:
    """In the carrier's corner, or so far from it."""
    box = Area(0, 0, 1, 1)
    assert carrier_words(Mounting(0, 0, box), "in") == "corner in the carrier's top left corner"
    assert (
        carrier_words(Mounting(0, inches("1/2"), box), "in")
        == "corner 1/2 in down from the carrier's"
    )
    words = carrier_words(Mounting(inches("1/4"), inches("1/2"), box), "in")
    assert words == "corner 1/4 in right and 1/2 in down from the carrier's"


def test_many_files_go_on_further_pages() -> None:
    """More files than a page has room for: every one is on some page, and no page is empty."""
    sizes = (
        "5 x 7",
        "4 x 5 1/4",
        "3 x 3",
        "2 1/2 x 8",
        "6 x 7 1/4",
        "7 1/2 x 4",
        "9 x 2",
        "10 x 1",
    )
    plan = plan_of_batch(plum_batch(*(rectangle(size, 11) for size in sizes), sheet="8 1/2 x 11"))
    setup = Setup(carrier=(inches("12"), inches("24")), edge=inches("1/4"), gap=inches("1/8"))
    made = cut_files(plan, setup, LETTER_PAGE, straight=False)
    pages = pages_of(made.files["cut-files.pdf"])
    assert len(pages) >= 2
    assert all(pages)
    assert all(
        any(name in page for page in pages) for name in made.files if name != "cut-files.pdf"
    )


def test_the_same_plan_gives_the_same_files() -> None:
    """Byte for byte, the page too."""
    plan = plan_of_batch(base_batch())
    first, second = (cut_files(plan, Setup(), LETTER_PAGE, straight=False).files for _ in range(2))
    assert first == second


def test_what_cannot_be_arranged_is_said_of_all_papers() -> None:
    """Pieces of two papers out of reach: both are named, and nothing is made."""
    plan = plan_of_batch(base_batch())
    with pytest.raises(CutFileError) as error:
        cut_files(plan, Setup(edge=inches("2 1/2")), LETTER_PAGE, straight=False)
    papers = {message.split(":")[0] for message in error.value.messages}
    assert papers == {"cream", "plum dots"}
