"""What is said on the pages."""

from dataclasses import replace

import pytest
from draw_plans import BIN, crowded, many_pieces, metric, sparse, two_faced
from pack_cases import solved
from plans import inches
from test_pack_choosing import market, panel_of, sheets

from nesting.batch import Aim, Card, Trimmer
from nesting.draw.canvas.lettering import TIE
from nesting.draw.pages.answer_words import answer_line
from nesting.draw.pages.plan_words import (
    bound_words,
    keep_words,
    source_words,
    use_words,
    whole_cards_words,
)
from nesting.draw.sheet.cautions import find_cautions
from nesting.draw.sheet.subject import Subject
from nesting.draw.sheet.words import (
    CAUTIONS,
    caution,
    count_words,
    face_words,
    kept_words,
    layout_shares,
    legend_words,
    offcut_words,
    piece_size,
    share_words,
    sheet_words,
)
from nesting.layouts import Blank, Cut, EdgeTrim, Source
from nesting.papers import BarcodeStrip, Face, Paper, Sheet
from nesting.pieces import Use
from nesting.plan import Bound, CardCount, Plan, Uncut, WholeCards


def first(plan: Plan) -> Subject:
    """A plan's first layout, front up."""
    return Subject(plan, plan.layouts[0])


def watched(plan: Plan) -> str:
    """All cautions of a plan's first layout."""
    return " ".join(find_cautions(plan, plan.layouts[0]))


def test_sheet_words_say_the_nominal_size_and_the_strip() -> None:
    """A strip beyond the sheet adds to its size, one inside is part of it."""
    plan = two_faced()
    assert sheet_words(first(plan)) == (
        "Sheet 12 x 12 in (12 x 12 1/2 in with the 1/2 in barcode strip at the bottom)"
    )
    paper = replace(
        plan.asked.papers[0],
        barcode_strip=BarcodeStrip("left", inches("1/4"), beyond_the_sheet=False),
    )
    inside = replace(plan, asked=replace(plan.asked, papers=(paper,)))
    assert sheet_words(Subject(inside, plan.layouts[0])) == (
        "Sheet 12 x 12 1/2 in, including the 1/4 in barcode strip at the left"
    )
    assert sheet_words(first(metric())) == "Sheet 210 x 297 mm"


def test_count_words_say_size_counts_and_need() -> None:
    """Each piece of a layout has its size, its counts against the need, and its specialities."""
    plan = two_faced()
    assert dict(count_words(first(plan))) == {
        "A": f"panel, 3 3/4 x 5: 4 here x 2 alike = 8{TIE}of{TIE}8",
        "B": f"band, 3 3/4 x 1 1/4, back: 3 here x 2 alike = 6{TIE}of{TIE}8",
        "C": f"moon, 2 1/2 circle: 4 here x 2 alike = 8{TIE}of{TIE}16; cut 2 3/4 x 2 3/4, "
        "1/8 in left all round for the die",
    }
    plan = sparse()
    assert dict(count_words(Subject(plan, replace(plan.layouts[0], alike=1)))) == {
        "A": f"base, 8 1/2 x 5 1/2: 1 here = 1{TIE}of{TIE}32; score at 4 1/4"
    }


def test_kept_and_legend_words() -> None:
    """Kept offcuts are listed, equal ones once; the marks that are there are explained."""
    plan = two_faced()
    assert (
        kept_words([replace(plan.layouts[0], alike=1)], plan.asked.papers[0], "in")
        == "Offcuts to keep: 2 x 3 3/4 (2 of them)."
    )
    assert legend_words(first(plan)) == (
        "Dashed: an offcut to keep. Hatched: to the bin. What stays round a circle counts as waste. "
        "Small arrow: to the top of the piece. "
        "Arrow with two heads: the print runs along it and is right either way up. "
        "Back: the piece's face is underneath."
    )
    assert (
        kept_words(crowded().layouts, crowded().asked.papers[0], "in")
        == "Offcuts to keep: 12 x 2 (2 of them)."
    )
    assert kept_words(many_pieces().layouts, many_pieces().asked.papers[0], "in") == ""
    assert "edge trim" in legend_words(first(metric()))


def test_dots_are_explained_by_what_they_part() -> None:
    """Edge trim and bin that no cut parts are no barcode strip, and nothing of them is kept."""
    bare, trimmed = sparse(), metric()
    kept = "Dotted at the barcode strip: no cut, the strip names the paper."
    binned = "Dotted in what goes to the bin: no cut."
    whole = replace(bare.layouts[0], tree=Cut("y", inches("10"), Blank("base"), BIN))
    assert "Dotted" not in legend_words(Subject(replace(bare, layouts=(whole,)), whole))
    trim = Cut("y", inches("1"), EdgeTrim(), Cut("y", inches("1"), BIN, Blank("base")))
    beside = replace(bare.layouts[0], tree=trim)
    assert binned in legend_words(Subject(replace(bare, layouts=(beside,)), beside))
    assert kept not in legend_words(Subject(replace(bare, layouts=(beside,)), beside))
    assert kept not in legend_words(first(trimmed))


def test_an_offcut_that_keeps_its_strip_says_so() -> None:
    """First its size as a batch file has it, then what the strip makes of it, or is of it."""
    strip = BarcodeStrip("left", inches("5/8"))
    offcut = Sheet(inches("8"), inches("12"), offcut=True, strip="bottom")
    striped = Paper("pear toss", (), barcode_strip=strip)
    assert offcut_words(offcut, striped, "in") == "8 x 12, with its barcode strip (5/8) 8 x 12 5/8"
    inside = replace(striped, barcode_strip=replace(strip, beyond_the_sheet=False))
    assert offcut_words(offcut, inside, "in") == "8 x 12, including its barcode strip (5/8)"
    assert offcut_words(replace(offcut, strip="none"), inside, "in") == "8 x 12"


def test_shares_add_up_to_a_hundred() -> None:
    """The three shares are one sentence, and what is rounded still adds up."""
    plan = crowded()
    shares = layout_shares(first(plan))
    assert share_words(shares) == "In pieces 83.3 %, offcuts kept 16.7 %, waste 0 %."
    thirds = replace(shares, in_pieces=1 / 3, kept=1 / 3, waste=1 / 3)
    assert share_words(thirds) == "In pieces 33.4 %, offcuts kept 33.3 %, waste 33.3 %."


@pytest.mark.parametrize(
    ("bound", "proven", "words"),
    [
        (Bound(2, "sheets", "area"), True, "Proven: no plan of edge-to-edge cuts needs fewer new sheets."),
        (Bound(2, "sheets", "search"), True, "Found by search: no plan of edge-to-edge cuts needs fewer new sheets."),
        (Bound(1, "sheets", "values"), False, "At least 1 sheet is needed (proven); this plan needs 2."),
        (Bound(9, "cost", "values"), True, "Proven: no plan of edge-to-edge cuts costs less."),
        (Bound(9, "cost", "values"), False, "Not proven: a plan of edge-to-edge cuts that costs less may exist."),
    ],
)  # fmt: skip
def test_bound_words_claim_only_what_is_proven(bound: Bound, proven: bool, words: str) -> None:
    """A proof, a search and an open question are told apart."""
    figures = replace(crowded().papers[0], bound=bound, proven=proven)
    assert bound_words(figures, Trimmer()) == words


@pytest.mark.parametrize(
    ("bound", "proven", "words"),
    [
        (Bound(2, "sheets", "area"), True, "Proven: no plan of edge-to-edge or stopped cuts needs fewer new sheets."),
        (Bound(2, "sheets", "values", cuts="stopped"), True, "Proven: no plan of edge-to-edge or stopped cuts needs fewer new sheets."),
        (Bound(2, "sheets", "values"), True, "Proven: no plan of edge-to-edge cuts needs fewer new sheets; one with stopped cuts may."),
        (Bound(1, "sheets", "values"), False, "At least 1 sheet is needed (proven, with edge-to-edge cuts); this plan needs 2."),
        (Bound(1, "sheets", "area"), False, "At least 1 sheet is needed (proven); this plan needs 2."),
        (Bound(9, "cost", "values"), True, "Proven: no plan of edge-to-edge cuts costs less; one with stopped cuts may."),
    ],
)  # fmt: skip
def test_bound_words_say_whether_stopped_cuts_are_ruled_out(
    bound: Bound, proven: bool, words: str
) -> None:
    """With a trimmer that can stop, a proof for edge-to-edge cuts alone claims no more than that."""
    figures = replace(crowded().papers[0], bound=bound, proven=proven)
    assert bound_words(figures, Trimmer(can_stop=True)) == words
    assert bound_words(figures, Trimmer(kind="knife")) == words


def test_exact_fit_needs_two_blanks_from_edge_to_edge() -> None:
    """Twelve tags across twelve inches are an exact fit; a single blank as wide as its sheet is not."""
    assert "Nothing to spare from left to right: measure every sheet first." in watched(crowded())
    assert "Nothing to spare from left to right and from top to bottom" in watched(many_pieces())
    assert watched(sparse()) == ""


def test_folds_across_the_grain_are_said() -> None:
    """A turned base on long-grain cardstock folds across the grain, and the page says so."""
    plan = sparse()
    tree = Cut("x", inches("5 1/2"), Blank("base", turned=True), BIN)
    turned = replace(plan.layouts[0], tree=tree)
    (found,) = find_cautions(replace(plan, layouts=(turned,)), turned)
    assert found == "A base folds across the grain here: score it well."


@pytest.mark.parametrize("kind", sorted(CAUTIONS))
def test_caution_defers_to_the_tool(kind: str) -> None:
    """Each kind of trimmer has its line, and its own instructions come first."""
    assert caution(Trimmer(kind)).endswith("own instructions come first.")  # type: ignore[arg-type]


def test_other_words() -> None:
    """The rule for offcuts, the direction of the paper, sizes and uses in plain words."""
    plan = crowded()
    assert keep_words(plan.asked) == (
        "An offcut is kept from 1/2 x 4 or 2 x 2 in; anything smaller goes to the bin."
    )
    assert face_words(first(plan)) == "front up, any way round"
    assert face_words(first(two_faced())) == "front up"
    assert piece_size(two_faced().pieces[2], "in") == "2 1/2 circle"
    assert use_words(plan.pieces[0]) == f"windfall{TIE}24"
    loose = tuple(replace(use, card=None) for use in plan.pieces[0].uses)
    assert use_words(replace(plan.pieces[0], uses=loose)) == "loose"


def test_answer_words_say_what_matters_first() -> None:
    """What is complete, which paper is lacking, what is to be bought, in one line."""
    plan = crowded()
    (figures,) = plan.papers
    cards = (Card("windfall", 31, 1, 1), Card("cider market", 1, 1, 1))
    made = (CardCount("windfall", 31, 31), CardCount("cider market", 1, 1))
    at_hand = replace(
        plan,
        asked=replace(plan.asked, cards=cards),
        cards=made,
        uncut=(),
        papers=(replace(figures, to_buy=0),),
    )
    assert answer_line(at_hand) == "All 32 cards; nothing to buy."
    layouts = (replace(plan.layouts[0], to_buy=2, alike=2),)
    buying = replace(at_hand, layouts=layouts, papers=(replace(figures, to_buy=2),))
    assert answer_line(buying) == f"All 32 cards; to buy: 2 sheets of {figures.paper}."
    gone = replace(plan.asked, cards=cards, papers=(replace(plan.asked.papers[0], buy=False),))
    short = replace(
        at_hand,
        asked=gone,
        cards=(CardCount("windfall", 31, 30), made[1]),
        uncut=(Uncut(plan.pieces[0].id, 1, (Use("windfall", "panel", 1),)),),
        papers=(replace(figures, to_buy=0, have=2, needed=3),),
    )
    assert answer_line(short) == f"31 of 32 cards; {figures.paper} lacks 1 sheet."
    many = replace(short, papers=4 * short.papers)
    assert answer_line(many) == "31 of 32 cards; not enough of 4 papers."


def test_source_words_say_which_sheets_to_buy_and_which_offcuts_are_used() -> None:
    """Sheets to buy are counted by size; a sheet at hand needs no words."""
    plan = crowded()
    one = plan.layouts[0]
    assert list(source_words(plan, one.paper)) == []
    offcut = replace(one, source=Source("offcut", "12 x 12"), alike=3)
    lacking = replace(plan, layouts=(replace(one, to_buy=2), offcut))
    assert list(source_words(lacking, one.paper)) == [
        "To buy: 2 sheets of 12 x 12 in.",
        "Also used: 3 offcuts at hand.",
    ]


def test_a_four_way_front_does_not_free_a_sheet_that_shows_its_one_way_back() -> None:
    """Where the back has a direction, or the paper a grain, the sheet lies only as it is drawn."""
    plan = two_faced()
    paper = replace(plan.asked.papers[0], front=Face("four-way"), back=Face("one-way"))
    backed = replace(plan, asked=replace(plan.asked, papers=(paper,)))
    assert face_words(Subject(backed, plan.layouts[0])) == "front up"
    fronts = tuple(replace(piece, face="front") for piece in plan.pieces)
    assert (
        face_words(Subject(replace(backed, pieces=fronts), plan.layouts[0]))
        == "front up, any way round"
    )


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        (
            WholeCards(("windfall",), 32, 29, 29, "values"),
            ["29 of 32 cards; proven: no plan of edge-to-edge cuts makes 30."],
        ),
        (
            WholeCards(("windfall",), 32, 29, 29, "search"),
            ["29 of 32 cards; found by search: no plan of edge-to-edge cuts makes 30."],
        ),
        (
            WholeCards(("windfall",), 32, 29, 31, "area"),
            ["29 of 32 cards were found; proven: no plan of edge-to-edge cuts makes 32."],
        ),
        (
            WholeCards(("windfall",), 32, 29, 32, "asked"),
            ["29 of 32 cards were found; more may be possible."],
        ),
        (WholeCards(("windfall",), 32, 32, 32, "asked"), []),
    ],
)
def test_whole_cards_are_said_with_their_proof(entry: WholeCards, words: list[str]) -> None:
    """Only what is proven is called proven, and what was found by search says so."""
    plan = replace(two_faced(), whole_cards=(entry,))
    assert list(whole_cards_words(plan)) == words


@pytest.mark.parametrize(
    ("aim", "said"),
    [
        (
            "most cards",
            [
                "As many as possible: 4 of cider and 3 of windfall; proven: no plan of edge-to-edge cuts makes 8.",
                "Limited by pear toss: one more sheet would give 7 of cider and 7 of windfall.",
            ],
        ),
        (
            "even",
            [
                "As many as possible: 4 of cider and 3 of windfall; proven: no plan of edge-to-edge cuts makes 4 of each.",
                "Limited by pear toss: one more sheet would give 7 of cider and 7 of windfall.",
            ],
        ),
    ],
)
def test_as_many_as_possible_is_said(aim: Aim, said: list[str]) -> None:
    """How many of each, what is proven, what limits it and what one more sheet would give."""
    batch = market(sheets("pear toss", 1))
    cards = tuple(replace(batch.cards[0], name=name) for name in ("cider", "windfall"))
    plan = solved(replace(batch, cards=cards, aim=aim))
    words = list(whole_cards_words(plan))
    made = {count.card: count.complete for count in plan.cards}
    assert sorted(made.values()) == [3, 4]
    if made["cider"] == 3:  # which of the two has one more is open
        words = [w.replace("3 of cider and 4 of", "4 of cider and 3 of") for w in words]
    assert words == said
    assert answer_line(plan) == "7 cards; nothing to buy."


def test_a_bound_beside_what_is_asked_at_least_says_so() -> None:
    """Three of each could be made, but not where six of one are asked for."""
    batch = market(sheets("pear toss", 1))
    card = batch.cards[0]
    cards = replace(card, name="cider"), replace(card, name="windfall", at_least=6)
    plan = solved(replace(batch, cards=cards, aim="even"))
    assert next(iter(whole_cards_words(plan))) == (
        "As many as possible: 1 of cider and 6 of windfall; proven: no plan of edge-to-edge cuts "
        "with what is asked at least makes 2 of each."
    )


def test_one_sheet_more_may_give_no_more() -> None:
    """Two papers that run out together: more of either alone is no use."""
    batch = market(sheets("pear toss", 1), sheets("bee stripe", 1))
    layers = panel_of("pear toss"), replace(panel_of("bee stripe"), name="mat")
    plan = solved(replace(batch, cards=(replace(batch.cards[0], layers=layers),)))
    assert list(whole_cards_words(plan))[1:] == [
        "No single sheet more, of any paper, makes more cards."
    ]
