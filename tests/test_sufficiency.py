"""Have I enough: the trade's worked values, what limits a card, and what is left for more."""

import json
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from project import SAMPLES
from pypdf import PdfReader

from nesting.advice.sufficiency import enough, left_over
from nesting.batch import Base, Batch, Card, Layer, LoosePiece
from nesting.checker import check
from nesting.cli import main
from nesting.draw import A4_PAGE, draw_pdf, draw_shopping
from nesting.draw.pages.answer_words import answer_line
from nesting.draw.pages.shopping import total_words
from nesting.files import read_batch
from nesting.needs import Needs
from nesting.pack import Seconds
from nesting.papers import Edges, Paper, Sheet
from nesting.typed_lengths import parse_length, parse_size

LETTER = parse_length("8 1/2", "in"), parse_length("11", "in")
TWELVE = parse_length("12", "in")
TAG = LoosePiece("tag", "bee stripe", 1, *parse_size("2 x 3", "in"), face="front")
EIGHTH = Edges(*[parse_length("1/8", "in")] * 4)


def a2_cards(make: int = 24, **papers: Sheet) -> Batch:
    """A2 cards: base and mat from letter, a panel of 3 3/4 x 5 from 12 x 12."""
    sheets = {
        "cream cardstock": Sheet(*LETTER, have=0, price=30),
        "brick cardstock": Sheet(*LETTER, have=2, price=40),
        "pear toss": Sheet(TWELVE, TWELVE, have=1, price=125),
    } | papers
    size = parse_length("4 1/4", "in"), parse_length("5 1/2", "in")
    layers = (
        Layer("mat", "brick cardstock", reveal=EIGHTH),
        Layer("panel", "pear toss", reveal=EIGHTH),
    )
    card = Card("windfall", make, *size, Base("cream cardstock"), layers)
    names = tuple(Paper(name, (sheet,)) for name, sheet in sheets.items())
    return Batch("Harvest supper", "in", names, (card,))


def cannot_buy(batch: Batch, *names: str) -> Batch:
    """The batch with some papers that nobody sells any more."""
    papers = tuple(replace(p, buy=False) if p.name in names else p for p in batch.papers)
    return replace(batch, papers=papers)


def test_worked_values_of_the_trade() -> None:
    """24 A2 cards take 12 sheets for bases, 6 for mats, 4 for panels (yields of 2, 4 and 6 a sheet)."""
    needs = enough(a2_cards())
    assert {paper.paper: paper.needed for paper in needs.papers} == {
        "cream cardstock": 12,
        "brick cardstock": 6,
        "pear toss": 4,
    }
    assert {paper.paper: paper.price for paper in needs.papers} == {
        "cream cardstock": 12 * 30,
        "brick cardstock": 4 * 40,
        "pear toss": 3 * 125,
    }
    assert needs.price == 12 * 30 + 4 * 40 + 3 * 125
    assert needs.proven


def test_a_price_that_is_not_given_leaves_the_sum_open() -> None:
    """A sum without one of its prices would be too small."""
    needs = enough(a2_cards(**{"cream cardstock": Sheet(*LETTER, have=0)}))
    assert needs.price is None
    assert enough(a2_cards(4, **{"cream cardstock": Sheet(*LETTER, have=2)})).price == 0


def short_of_two() -> Batch:
    """Two papers that are gone: brick gives eight mats, pear toss six panels."""
    return cannot_buy(a2_cards(12), "brick cardstock", "pear toss")


def test_what_limits_a_card_is_what_more_of_would_help() -> None:
    """Six panels limit the cards though eight mats are too few, too; with one more sheet the mats do."""
    (card,) = enough(short_of_two()).made
    assert (card.made.complete, card.limited_by) == (6, ("pear toss",))
    more = cannot_buy(
        a2_cards(12, **{"pear toss": Sheet(TWELVE, TWELVE, have=2)}), "brick cardstock"
    )
    (card,) = enough(more).made
    assert (card.made.complete, card.limited_by) == (8, ("brick cardstock",))


def test_the_summary_counts_the_sheets_that_are_lacking() -> None:
    """Three sheets of brick are needed and two there; as four panels make four cards, one of them is cut."""
    small = Sheet(TWELVE, parse_length("8", "in"), have=1)
    needs = enough(cannot_buy(a2_cards(12, **{"pear toss": small}), "brick cardstock", "pear toss"))
    (brick,) = (paper for paper in needs.plan.papers if paper.paper == "brick cardstock")
    assert (brick.needed, brick.have, brick.used) == (3, 2, 1)
    text = PdfReader(BytesIO(draw_pdf(needs.plan, only=("summary",)))).pages[0].extract_text()
    said = " ".join(text.split())
    assert said.count("1 more sheet would be needed to cut everything") == 1
    assert "fewer are used, as not all is made." in said


@pytest.mark.parametrize(
    ("letter", "others", "short"),
    [(0, ("4 x 5 1/4", 12, True), False), (2, ("4 x 5", 9, False), True)],
)
def test_a_paper_of_several_sizes_is_short_only_where_it_does_not_suffice(
    letter: int, others: tuple[str, int, bool], short: bool
) -> None:
    """Six panels are cut. Twelve offcuts give the twelve mats; two sheets give eight, smaller ones none."""
    asked = cannot_buy(a2_cards(12), "brick cardstock", "pear toss")
    size, have, offcut = others
    sheets = (Sheet(*LETTER, have=letter), Sheet(*parse_size(size, "in"), have, offcut=offcut))
    papers = tuple(replace(p, sheets=sheets) if p.name[0] == "b" else p for p in asked.papers)
    needs = {need.paper: need for need in enough(replace(asked, papers=papers)).papers}
    assert needs["brick cardstock"].lacking == 0
    assert needs["brick cardstock"].short is short
    assert needs["pear toss"].short


def test_papers_that_limit_a_card_only_together() -> None:
    """Four mats and four panels: more of one of them alone makes no more cards."""
    small = Sheet(TWELVE, parse_length("8", "in"), have=1)
    scarce = {"pear toss": small, "brick cardstock": Sheet(*LETTER, have=1)}
    batch = cannot_buy(a2_cards(12, **scarce), "pear toss", "brick cardstock")
    (card,) = enough(batch).made
    assert (card.made.complete, card.limited_by) == (4, ("brick cardstock", "pear toss"))


@pytest.mark.parametrize("name", ["orchard", "orchard-short", "cider"])
def test_more_cards_are_planned_for_real(name: str) -> None:
    """What is left over gives so many more cards, and proven: one more is not to be had of it."""
    needs = enough(read_batch(SAMPLES / f"{name}.yaml"))
    assert needs.proven
    left = tuple(p for p in left_over(needs.plan))
    for need, card in zip(needs.made, needs.plan.asked.cards, strict=False):
        assert need.more is not None
        for extra in (0, 1):
            asked = replace(card, make=need.more + extra, spares=0)
            if not asked.make:
                continue
            alone = replace(needs.plan.asked, papers=left, cards=(asked,), pieces=())
            again = enough(alone).plan
            assert check(again.asked, again) == ()
            assert again.cards[0].complete == need.more
            assert not any(figures.to_buy for figures in again.papers)


def test_of_papers_in_plenty_there_is_no_end() -> None:
    """Where every paper is there in plenty, no number of more cards is told."""
    plenty = {
        "cream cardstock": Sheet(*LETTER),
        "brick cardstock": Sheet(*LETTER),
        "pear toss": Sheet(TWELVE, TWELVE),
    }
    (card,) = enough(a2_cards(**plenty)).made
    assert (card.more, card.most_more) == (None, None)


def loose_batch(*pieces: LoosePiece, **changes: Any) -> Batch:
    """Loose pieces of a paper that nobody sells any more: one sheet of 12 x 12 is left."""
    paper = Paper("pear toss", (Sheet(TWELVE, TWELVE, have=1),), buy=False)
    return Batch("Tags", "in", (replace(paper, **changes),), pieces=pieces)


def loose(name: str, size: str, count: int) -> LoosePiece:
    """A loose piece of pear toss, of a size in inches."""
    width, height = parse_size(size, "in")
    return LoosePiece(name, "pear toss", count, width, height)


def counts(needs: Needs) -> list[tuple[str, str, int, int, tuple[str, ...], int | None]]:
    """What is told of each thing that is asked for."""
    return [
        (n.made.kind, n.made.name, n.made.asked, n.made.complete, n.limited_by, n.more)
        for n in needs.made
    ]


def test_a_batch_of_loose_pieces_only() -> None:
    """A sheet gives nine of twelve tags of 4 x 4; when six are asked for, half a sheet gives three more."""
    needs = enough(loose_batch(loose("tag", "4 x 4", 12)))
    assert counts(needs) == [("loose piece", "tag", 12, 9, ("pear toss",), 0)]
    assert (needs.papers[0].lacking, needs.proven) == (1, True)
    needs = enough(loose_batch(loose("tag", "4 x 4", 6)))
    assert counts(needs) == [("loose piece", "tag", 6, 6, (), 3)]
    assert needs.proven


def test_loose_pieces_of_one_name_are_told_apart() -> None:
    """Two sizes called tag are counted by themselves, by their letters; equal ones are one."""
    pieces = (loose("tag", "4 x 4", 2), loose("tag", "6 x 12", 2), loose("tag", "4 x 4", 1))
    needs = enough(loose_batch(*pieces))
    assert [(n.made.letter, n.made.asked, n.made.complete, n.more) for n in needs.made] == [
        ("A", 3, 3, 0),
        ("B", 2, 1, 0),
    ]
    text = PdfReader(BytesIO(draw_shopping(needs))).pages[0].extract_text()
    assert "tag (A)" in text
    assert "tag (B)" in text


def test_circles_with_a_die_allowance_are_counted_as_they_are_cut() -> None:
    """Of nine places of 4 x 4, a circle of 3 1/2 with 1/4 all round takes one each."""
    half, quarter = parse_length("3 1/2", "in"), parse_length("1/4", "in")
    dot = LoosePiece("dot", "pear toss", 3, circle=half, die_allowance=quarter)
    needs = enough(loose_batch(dot))
    assert counts(needs) == [("loose piece", "dot", 3, 3, (), 6)]


def test_more_ribbons_where_a_joint_saves() -> None:
    """Two ends of 2 1/4 in take half the paper of a whole ribbon: eighteen more, where areas of whole ones give nine."""
    two = parse_length("2", "in")
    ribbon = Layer("ribbon", "pear toss", height=two, join="may")
    label = Layer("label", "cream", over="card", width=5 * two // 2, height=3 * two // 2)
    size = parse_size("9 x 4", "in")
    papers = (
        Paper("pear toss", (Sheet(TWELVE, two, have=8),), buy=False),
        Paper("cream", (Sheet(TWELVE, TWELVE),)),
    )
    batch = Batch("Ribbons", "in", papers, (Card("long", 1, *size, layers=(ribbon, label)),))
    (need,) = enough(batch).made
    assert (need.made.complete, need.more, need.most_more) == (1, 18, 18)


def test_more_circles_than_squares_of_their_size() -> None:
    """A sheet gives at least 150 of 1 in in staggered rows, though 144 squares of that size are its area."""
    dot = LoosePiece("dot", "pear toss", 150, circle=parse_length("1", "in"))
    (need,) = enough(loose_batch(dot, sheets=(Sheet(TWELVE, TWELVE, have=2),))).made
    assert need.more is not None
    assert need.more >= 150


def test_of_several_sizes_no_number_is_said_to_be_lacking() -> None:
    """Four tags take four large sheets, and none is there: a small one at hand is of no use."""
    sheets = (Sheet(TWELVE, TWELVE, have=0), Sheet(*parse_size("6 x 6", "in"), have=1))
    needs = enough(loose_batch(loose("tag", "7 x 7", 4), sheets=sheets))
    (paper,) = needs.papers
    assert (paper.needed, paper.have, paper.lacking, paper.short) == (4, 1, 0, True)
    assert answer_line(needs.plan) == "0 of 4 loose pieces; not enough pear toss."


def test_a_batch_from_offcuts_only() -> None:
    """Two offcuts of 4 x 8 give four of five tags; the third offcut is too small and stays unused."""
    sheets = (
        Sheet(TWELVE, TWELVE, have=0),
        Sheet(*parse_size("4 x 8", "in"), have=2, offcut=True),
        Sheet(*parse_size("3 x 3", "in"), have=1, offcut=True),
    )
    needs = enough(loose_batch(loose("tag", "4 x 4", 5), sheets=sheets))
    assert counts(needs) == [("loose piece", "tag", 5, 4, ("pear toss",), 0)]
    (paper,) = needs.papers
    assert (paper.have, paper.offcuts, paper.offcuts_used, paper.lacking) == (0, 3, 2, 1)
    few = enough(loose_batch(loose("tag", "4 x 4", 2), sheets=sheets))
    assert counts(few) == [("loose piece", "tag", 2, 2, (), 2)]
    assert (few.papers[0].offcuts_used, few.plan.all_cut) == (1, True)


def test_spare_sets_and_loose_pieces_after_the_cards() -> None:
    """A sheet gives six panels: five cards and one of two spare sets, and no tag."""
    batch = cannot_buy(a2_cards(5, **{"brick cardstock": Sheet(*LETTER)}), "pear toss")
    (card,) = batch.cards
    batch = replace(batch, cards=(replace(card, spares=2),), pieces=(loose("tag", "3 x 3", 4),))
    needs = enough(batch)
    assert counts(needs) == [
        ("card", "windfall", 5, 5, (), 0),
        ("spare set", "windfall", 2, 1, ("pear toss",), None),
        ("loose piece", "tag", 4, 0, ("pear toss",), 0),
    ]
    text = " ".join(PdfReader(BytesIO(draw_shopping(needs))).pages[0].extract_text().split())
    assert "windfall, spare sets" in text
    assert "5 cards, 1 of 2 spare sets, 0 of 4 loose pieces; pear toss lacks 1 sheet" in text


def test_seconds_are_for_the_whole_answer() -> None:
    """Where no time is left, no more pieces are promised, and the areas say how many at most."""
    batch = loose_batch(loose("tag", "4 x 4", 5))
    (need,) = enough(batch, Seconds(0)).made
    assert (need.made.complete, need.more, need.most_more) == (5, 0, 4)


def test_what_is_left_for_loose_pieces_is_planned_for_real() -> None:
    """So many more tags come out of what is left, and one more does not."""
    needs = enough(replace(read_batch(SAMPLES / "orchard-short.yaml"), pieces=(TAG,)))
    more = needs.made[-1].more
    assert more is not None
    for extra in (0, 1):
        tags = (replace(TAG, count=more + extra),)
        batch = replace(needs.plan.asked, papers=left_over(needs.plan), cards=(), pieces=tags)
        (again,) = enough(batch).made
        assert again.made.complete == more


def run(*arguments: str) -> Result:
    """Run the command line."""
    return CliRunner().invoke(main, arguments, terminal_width=100)


def needs_of_sample() -> Needs:
    """The answer for the sample that is short of paper."""
    return enough(read_batch(SAMPLES / "orchard-short.yaml"))


def test_the_command_tells_what_is_short() -> None:
    """On the terminal stand papers, cards, what limits them and what is proven; exit code 1."""
    result = run("enough", str(SAMPLES / "orchard-short.yaml"))
    assert result.exit_code == 1, result.output
    for words in (
        "31 of 32 cards; pear toss lacks 1 sheet.",
        "31 of 32 cards; proven: no plan of edge-to-edge cuts makes 32.",
        "Needed is for all that is asked, to buy for what can be made of it.",
        "Lacking sheets are of papers that cannot be bought again, or",
    ):
        assert words in " ".join(result.output.split())
    assert run("enough", str(SAMPLES / "orchard.yaml")).exit_code == 0


def test_a_price_is_said_where_one_is_given() -> None:
    """What is known, and of which papers it is not; nothing where no price is given at all."""
    asked = a2_cards(
        **{"cream cardstock": Sheet(*LETTER, have=0), "brick cardstock": Sheet(*LETTER, have=2)}
    )
    more = "cream cardstock and brick cardstock, which is not given."
    assert [*total_words(enough(asked))] == [f"In all 3.75 and the price of {more}"]
    papers = tuple(replace(p, sheets=(replace(p.sheets[0], price=None),)) for p in asked.papers)
    assert [*total_words(enough(replace(asked, papers=papers)))] == []


def test_the_answer_as_json() -> None:
    """The same as data."""
    result = run("enough", str(SAMPLES / "orchard-short.yaml"), "--json")
    data = json.loads(result.stdout)
    assert data["proven"]
    assert data["papers"][0]["lacking"] == 1
    assert data["cards"][0] == {
        "card": "windfall supper", "asked": 8, "complete": 7, "limited_by": ["pear toss"],
        "more": 0, "most_more": 0,
    }  # fmt: skip
    assert data["pieces"] == [
        {
            "piece": "jar tag", "asked": 12, "complete": 12, "limited_by": [],
            "more": None, "most_more": None,
        }
    ]  # fmt: skip


def test_the_page_is_written_and_never_over_another(tmp_path: Path) -> None:
    """The page to take shopping goes where it is asked to, and not over what is there."""
    out = tmp_path / "shopping.pdf"
    batch = str(SAMPLES / "orchard-short.yaml")
    assert run("enough", batch, "--out", str(out)).exit_code == 1
    first = out.read_bytes()
    refused = run("enough", batch, "--out", str(out))
    assert (refused.exit_code, out.read_bytes()) == (2, first)
    assert run("enough", batch, "--out", str(out), "--force").exit_code == 1
    assert out.read_bytes() == first


def test_unusable_input_is_refused(tmp_path: Path) -> None:
    """What is no batch file is one message and exit code 2."""
    path = tmp_path / "supper.yaml"
    path.write_text("batch: x\n")
    assert run("enough", str(path)).exit_code == 2


def test_the_page_says_what_to_buy() -> None:
    """Each size to buy has its number and price; the same answer gives the same bytes."""
    needs = enough(a2_cards())
    page = draw_shopping(needs, A4_PAGE)
    assert page == draw_shopping(needs, A4_PAGE)
    (read,) = PdfReader(BytesIO(page)).pages
    text = read.extract_text()
    for words in (
        "12 x 12 in",
        "8 1/2 x 11 in",
        "3.75",
        "In all 8.95.",
        "All 24 cards; to buy: 12 sheets of",
    ):
        assert words in text
    short = PdfReader(BytesIO(draw_shopping(needs_of_sample()))).pages[0].extract_text()
    assert "To buy" not in short
    assert "31 of 32 cards" in short
