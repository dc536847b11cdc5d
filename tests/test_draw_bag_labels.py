"""Labels: one for each piece, counts that add up, sizes to be read, marks to cut at."""

import itertools
from collections import Counter
from dataclasses import replace
from functools import cache
from re import findall

import pytest
from card_plans import CARD_PLANS, many_cards, orchard, short
from draw_plans import PLANS
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon
from test_draw_pages import assert_well_set, texts_of

from nesting.draw import LETTER_PAGE, PAGES, Page
from nesting.draw.canvas.lettering import LETTER, SIZE
from nesting.draw.canvas.surface import EDGE
from nesting.draw.card.bag_labels import label_figures
from nesting.plan import Plan

ALL = CARD_PLANS | {f"plan {name}": make for name, make in PLANS.items()}


@cache
def pages(name: str, page: Page = LETTER_PAGE) -> list[Figure]:
    """The pages of labels of a plan."""
    return list(label_figures(ALL[name](), page))


def letters_of(figure: Figure) -> list[tuple[str, float]]:
    """The large letters of a page, with their sizes."""
    texts = [text for text, _ in texts_of(figure)]
    return [
        (text.get_text(), text.get_fontsize())
        for text in texts
        if text.get_fontsize() >= LETTER
        and text.get_fontweight() == "bold"
        and text.get_text().isalpha()
        and text.get_text().isupper()
    ]


@pytest.mark.parametrize("name", ALL)
def test_every_piece_has_exactly_one_label(name: str) -> None:
    """The letters on all pages of labels are those of the pieces cut, in order, each once."""
    found = [letter for figure in pages(name) for letter, _ in letters_of(figure)]
    plan = ALL[name]()
    uncut = {(missing.piece, missing.count) for missing in plan.uncut}
    assert found == [piece.letter for piece in plan.pieces if (piece.id, piece.demand) not in uncut]


@pytest.mark.parametrize("page", PAGES.values(), ids=PAGES)
@pytest.mark.parametrize("name", CARD_PLANS)
def test_every_page_is_readable(name: str, page: Page) -> None:
    """Texts are large enough, on the page and clear of each other, letters 18 pt and sizes 14 pt."""
    for figure in pages(name, page):
        assert_well_set(figure)
        for text, _ in texts_of(figure):
            if text.get_text()[:1].isdigit() and text.get_fontweight() == "bold":
                assert text.get_fontsize() >= SIZE


def counts(plan: Plan) -> tuple[Counter[str], int]:
    """How many pieces the labels of a plan say are cut, by card, and in all."""
    texts = [text.get_text() for figure in label_figures(plan) for text, _ in texts_of(figure)]
    total = sum(int(text.split()[0]) for text in texts if text.endswith((" piece", " pieces")))
    names = "|".join(["loose", *(card.name for card in plan.asked.cards)])
    cards: Counter[str] = Counter()
    for card, number in findall(rf"\b({names}) (\d+)", " ".join(texts)):
        cards[card] += int(number)
    return cards, total


def test_the_counts_add_up() -> None:
    """What the labels say is cut for each card is what is asked, and adds up to all pieces."""
    plan = orchard()
    cards, total = counts(plan)
    # windfall: base, mat, panel, band, moon, message of 8; market: base, mat, panel, band, apple
    # of 8; belly band with a spare set: band, ribbon, stamp of 5, dots 3 on each
    assert cards == {"windfall": 48, "cider market": 40, "belly band": 30, "loose": 12}
    assert total == sum(piece.demand for piece in plan.pieces) == cards.total()


def test_what_is_not_cut_is_not_counted() -> None:
    """A label says how many of how many there are in the bag, in all and for the card."""
    plan = short()
    cards, total = counts(plan)
    assert total == sum(piece.demand for piece in plan.pieces) - 3
    assert cards["windfall"] == 45
    texts = [text.get_text() for figure in label_figures(plan) for text, _ in texts_of(figure)]
    assert "5 of 8 pieces" in texts
    assert "for windfall 5 of 8" in texts


def test_a_label_says_face_print_score_and_die_allowance() -> None:
    """All that tells one piece in a bag from another, in words."""
    texts = [text.get_text() for figure in pages("orchard") for text, _ in texts_of(figure)]
    said = {text.partition("; mark ")[0] for text in texts}
    assert {
        "pear toss, back", "top of the print up", "score 4 1/4 from the left", "2 circle",
        "cut 2 1/4 x 2 1/4, 1/8 in left all round for the die", "loose 12", "print across",
    } <= said  # fmt: skip


def test_pieces_with_a_direction_have_an_arrow() -> None:
    """One arrow head for a one-way print, two for a two-way print, none without a direction."""
    plan = orchard()
    directed = {"one-way": 1, "two-way": 2}
    for piece in plan.pieces:
        (figure,) = label_figures(replace(plan, pieces=(piece,)))
        assert len(figure.findobj(Polygon)) == directed.get(piece.print, 0), piece.name


def rows_and_columns(figure: Figure) -> tuple[list[float], list[float]]:
    """Where the marks at the edges say to cut: heights and places across, in points."""
    lines = [line.get_xydata() for line in figure.findobj(Line2D)]
    level = sorted({start[1] for start, *_, end in lines if end[0] < EDGE})
    upright = sorted({start[0] for start, *_, end in lines if start[1] == level[-1] < end[1]})
    return level, upright


@pytest.mark.parametrize("name", ["orchard", "odd_names", "many_cards"])
def test_marks_lie_between_the_labels(name: str) -> None:
    """No text crosses a line that is marked to be cut, and each label has one letter."""
    for figure in pages(name):
        level, upright = rows_and_columns(figure)
        assert len(upright) == 3
        texts = [(text, box) for text, box in texts_of(figure) if box.y1 < level[-1]]
        for _, box in texts:
            assert not any(box.y0 < y < box.y1 for y in level)
            assert not any(box.x0 < x < box.x1 for x in upright)
        assert (len(level) - 1) * 2 - 1 <= len(letters_of(figure)) <= (len(level) - 1) * 2


def test_a_fuller_label_takes_more_room() -> None:
    """The base of forty designs has a longer label than a panel of one; all names are on it."""
    figures = pages("many_cards")
    level, _ = rows_and_columns(figures[0])
    heights = [high - low for low, high in itertools.pairwise(level)]
    assert heights[-1] > 2 * heights[0]
    said = " ".join(text.get_text() for figure in figures for text, _ in texts_of(figure))
    for card in many_cards().asked.cards:
        assert said.count(f"{card.name} 2") == 3, card.name  # base, mat, panel


def test_a_plan_without_pieces_has_no_labels() -> None:
    """Nothing to label is no page."""
    assert list(label_figures(replace(orchard(), pieces=()))) == []
