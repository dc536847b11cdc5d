"""What is said of a plan that goes on from another."""

from dataclasses import replace

import pytest
from draw_plans import sparse

from nesting.batch import Batch, Begun, Card, Layer, Moved
from nesting.draw.canvas.lettering import TIE
from nesting.draw.sheet.begun_words import (
    bags_words,
    finish_words,
    left_over_words,
    record_lines,
)
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.words import count_words, mark_words, sheet_words
from nesting.mark import mark_of
from nesting.needs import made_of_bags
from nesting.pack import solve
from nesting.papers import Edges, Paper, Sheet
from nesting.plan import Earlier, Plan
from nesting.record import Record, RecordError, read_record

MM = 1_000_000
PAPER = Paper("pear toss", (Sheet(120 * MM, 100 * MM, have=2),), buy=False)
PANEL = Layer("panel", "pear toss", width=40 * MM, height=50 * MM)


def card(name: str, make: int, *layers: Layer) -> Card:
    """A card of some layers."""
    return Card(name, make, 60 * MM, 80 * MM, layers=layers or (PANEL,))


def market(*cards: Card, have: int = 2) -> Batch:
    """Cards of panels, six from a sheet."""
    paper = replace(PAPER, sheets=(replace(PAPER.sheets[0], have=have),))
    return Batch("Orchard market", "mm", (paper,), cards)


def begun(batch: Batch, **in_bags: int) -> Plan:
    """The plan of a batch of which so many of each piece are in the bags, by letter."""
    pieces = tuple(
        replace(piece, demand=0, uses=(), in_bags=in_bags.get(piece.letter, 0))
        for piece in solve(batch).pieces
    )
    return solve(replace(batch, begun=Begun(pieces, Moved(), batch.papers)))


def test_nothing_is_said_at_first() -> None:
    """A plan that goes on from none has no words about bags."""
    plan = solve(market(card("windfall", 20)))
    assert [*bags_words(plan), *left_over_words(plan), *finish_words(plan)] == []
    assert "goes on from" not in mark_words(plan)


def test_the_bags_and_what_is_to_cut() -> None:
    """Each with its letter; what stays uncut is not to be cut."""
    plan = begun(market(card("windfall", 20), have=1), A=5)
    assert list(bags_words(plan)) == ["In the bags: 5 A panel; to cut: 6 A panel."]
    done = begun(market(card("windfall", 5)), A=5)
    assert list(bags_words(done)) == ["In the bags: 5 A panel; to cut: nothing."]
    none = begun(market(card("windfall", 5)))
    assert list(bags_words(none)) == ["In the bags: nothing; to cut: 5 A panel."]


def test_which_cards_to_finish_first() -> None:
    """Only where some cards of a design can be finished and others not."""
    short = begun(market(card("windfall", 20), have=1), A=5)
    assert list(finish_words(short)) == [
        (
            "Of windfall, 11 of 20 can be finished; first 5, for which all is in the bags; "
            "the others take layout 1."
        )
    ]
    assert list(finish_words(begun(market(card("windfall", 20), have=1)))) == [
        "Of windfall, 6 of 20 can be finished; they take layout 1."
    ]
    bags = begun(market(card("windfall", 20), have=0), A=5)
    assert list(finish_words(bags)) == [
        "Of windfall, 5 of 20 can be finished; first 5, for which all is in the bags."
    ]
    assert list(finish_words(begun(market(card("windfall", 7)), A=5))) == []


def test_a_piece_in_the_bags_makes_one_card() -> None:
    """Of two designs with the same panel, one put first takes it; two a card make half as many."""
    twice = replace(PANEL, each=2)
    batch = market(card("windfall", 4), card("cider", 4, twice))
    assert made_of_bags(begun(batch, A=5)) == {"windfall": 4, "cider": 0}
    first = replace(batch, first=("cider",))
    assert made_of_bags(begun(first, A=5)) == {"cider": 2, "windfall": 1}
    bough = Layer("bough", "pear toss", width=30 * MM, height=50 * MM)
    both = market(card("windfall", 4, PANEL, bough))
    assert made_of_bags(begun(both, A=3, B=2)) == {"windfall": 2}


def test_what_is_left_over() -> None:
    """More than is asked for, and pieces that are not asked for at all, with their size."""
    plan = begun(market(card("windfall", 2)), A=5)
    gone = replace(plan.pieces[0], letter="Z", width=41 * MM, demand=0, uses=(), in_bags=1)
    before = plan.asked.begun
    assert before is not None
    asked = replace(plan.asked, begun=replace(before, pieces=(*before.pieces, gone)))
    (words,) = left_over_words(replace(plan, asked=asked))
    assert words == (
        "Left over in the bags, as this plan has no need of them: "
        "3 A panel, 40 x 50 mm of pear toss; 1 Z panel, 41 x 50 mm of pear toss."
    )


def test_a_layout_says_what_is_in_the_bags() -> None:
    """Beside the count against the need."""
    plan = begun(market(card("windfall", 8)), A=5)
    ((letter, words),) = count_words(Subject(plan, plan.layouts[0]))
    assert letter == "A"
    assert words == f"panel, 40 x 50: 3 here = 3{TIE}of{TIE}8 (5 in the bags)"


def test_a_page_says_which_plan_it_goes_on_from() -> None:
    """The latest one."""
    after = (Earlier("Fefari 75", "", "1", ""), Earlier("Samisa 49", "", "2", ""))
    plan = replace(solve(market(card("windfall", 8))), after=after)
    assert mark_words(plan) == f"Mark of this plan: {mark_of(plan)}; it goes on from Samisa 49."


def test_a_part_that_is_not_trimmed_is_said_to_be_so() -> None:
    """It is larger than what it gives."""
    paper = replace(PAPER, edge_trim=Edges(*(4 * [2 * MM])), sheets=(Sheet(124 * MM, 104 * MM, 1),))
    plan = solve(replace(market(card("windfall", 6)), papers=(paper,)))
    lines = list(record_lines(plan, read_record("1: step 1")))
    assert any("edges not trimmed" in line for line in lines if line.startswith("left to cut from"))
    asked = plan.asked
    source = replace(plan.layouts[0].source, kind="offcut", trim=asked.papers[0].edge_trim)
    part = replace(plan.layouts[0], source=source)
    words = sheet_words(Subject(replace(plan, layouts=(part,)), part))
    assert words == "Offcut 124 x 104 mm, its edges still to be trimmed"


def test_strokes_are_said_back() -> None:
    """How far a sheet is cut within a step, and which part of one is lost."""
    plan = solve(market(card("windfall", 12)))
    assert plan.layouts[0].alike == 2
    record = read_record("1: stroke 4 of 1 sheet", "1: stroke 5 of 1 sheet")
    assert next(record_lines(plan, record)) == (
        "layout 1, pear toss: 1 sheet cut up to stroke 4, 1 sheet whose part in hand at stroke 5 is lost"
    )


def test_a_sheet_lost_before_its_first_stroke_is_lost_whole() -> None:
    """Whether its first step is named or none."""
    plan = solve(market(card("windfall", 6)))
    for words in ("1", "1: step 1"):
        assert list(record_lines(plan, read_record(spoilt=words))) == [
            "layout 1, pear toss: 1 sheet lost whole"
        ]
    with pytest.raises(RecordError):
        list(record_lines(plan, read_record("3")))
    assert list(record_lines(sparse(), Record())) == []
