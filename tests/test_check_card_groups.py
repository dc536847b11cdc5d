"""As many cards as possible, checked from scratch: what is forged is named."""

from dataclasses import replace
from functools import cache

import pytest
from check_cases import rules
from pack_cases import MM, solved

from nesting.batch import Batch, Card, Layer, LoosePiece
from nesting.checker import check
from nesting.papers import Paper, Sheet
from nesting.pieces import Use
from nesting.plan import CardCount, Plan, Uncut


def orchard(**asked: object) -> Batch:
    """Two designs from two sheets of one paper, six a sheet, after a tag and a design with a number."""
    paper = Paper("pear toss", (Sheet(12 * MM, 12 * MM, have=2),))
    cards = tuple(
        Card(name, make, 4 * MM, 5 * MM, layers=(Layer("panel", "pear toss", width=4 * MM, height=5 * MM, turn=turn),))
        for name, make, turn in (("windfall", None, "never"), ("cider", None, "must"), ("plum", 1, "may"))
    )  # fmt: skip
    tag = LoosePiece("tag", "pear toss", 1, 4 * MM, 5 * MM)
    return replace(Batch("Orchard market", "mm", (paper,), cards, (tag,)), **asked)  # type: ignore[arg-type]


def two_sizes() -> Batch:
    """The same with a size of sheets of which there is none."""
    (paper,) = orchard().papers
    small = Sheet(4 * MM, 5 * MM, have=0)
    return orchard(papers=(replace(paper, sheets=(*paper.sheets, small)),))


@cache
def plan(*, even: bool = False) -> Plan:
    """Its plan."""
    return solved(orchard(aim="even" if even else "most cards"))


def test_the_proof_is_by_values() -> None:
    """What has a number is taken off before the others are counted."""
    assert [(e.cards, e.asked, e.made, e.most) for e in plan().whole_cards] == [
        (("plum",), 1, 1, 1),
        (("windfall", "cider"), None, 10, 10),
    ]
    assert plan().whole_cards[1].by == "values"
    assert [(e.of, e.made, e.most) for e in plan(even=True).whole_cards] == [
        ("all", 1, 1),
        ("each", 5, 5),
    ]


@pytest.mark.parametrize("even", [False, True])
@pytest.mark.parametrize(
    "changes",
    [
        {"most": 4},
        {"made": 11},
        {"asked": 10},
        {"by": "asked"},
        {"by": "area", "most": 5},
        {"values": {}},
        {"held": ()},
    ],
)
def test_a_wrong_entry_is_named(even: bool, changes: dict[str, object]) -> None:
    """Numbers that are not the plan's, and proofs that prove less."""
    first, entry = plan(even=even).whole_cards
    forged = replace(plan(even=even), whole_cards=(first, replace(entry, **changes)))  # type: ignore[arg-type]
    assert rules(forged.asked, forged) >= {"whole cards"}


def test_an_entry_is_of_what_the_batch_aims_at() -> None:
    """The number of all of them, or the fewest of any; and no entry may be left out."""
    first, entry = plan().whole_cards
    for entries in ((first,), (entry,), (), (entry, first), (first, replace(entry, of="each"))):
        assert rules(orchard(), replace(plan(), whole_cards=entries)) >= {"whole cards"}


def test_numbers_are_those_of_the_pieces_cut() -> None:
    """More or fewer than are cut, or beyond what was asked, is a fault."""
    counts = plan().cards
    for changes, rule in (({"asked": 9}, "cards"), ({"asked": 9, "complete": 9}, "demand")):
        forged = replace(plan(), cards=(replace(counts[0], **changes), *counts[1:]))
        assert rules(orchard(), forged) >= {rule}
    assert rules(orchard(), replace(plan(), cards=counts[1:])) >= {"cards"}
    assert CardCount("plum", 1, 1) in counts


def test_numbers_beyond_all_sense_are_named_at_once() -> None:
    """A list of as many sheets took all memory."""
    many = 10**14
    for batch in (orchard(), two_sizes()):
        sound = solved(batch)
        (figures,) = sound.papers
        forged = replace(
            sound,
            cards=(replace(sound.cards[0], asked=many), *sound.cards[1:]),
            papers=(replace(figures, needed=many, bound=replace(figures.bound, value=many)),),
        )
        assert rules(batch, forged) >= {"cards", "bound"}


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"paper": "plum dots"}, "it is not said of each size of the sheets that limit"),
        ({"width": 11 * MM}, "it is not said of each size of the sheets that limit"),
        ({"made": {"windfall": 1}}, "are not those of the batch: windfall, cider, plum."),
        ({"made": {"windfall": 9, "cider": 7, "plum": 2}}, "it would give 2 of plum."),
        ({"made": {"windfall": -1, "cider": 12, "plum": 1}}, "it would give -1 of windfall."),
        (
            {"made": {"windfall": 5, "cider": 5, "plum": 1}},
            "it is said to help, and gives no card more.",
        ),
    ],
)
def test_one_more_sheet_is_one_that_counts(changes: dict[str, object], said: str) -> None:
    """A paper, a size or a design that the batch does not have, and more cards than are asked for."""
    (more,) = plan().one_more
    faults = check(orchard(), replace(plan(), one_more=(replace(more, **changes),)))  # type: ignore[arg-type]
    assert {fault.rule for fault in faults} == {"one more"}
    assert any(said in fault.said for fault in faults)


def test_a_sheet_that_gives_more_cards_is_not_said_to_be_of_no_use() -> None:
    """The pages would not name the paper that limits what is made; spare sets or tags may count first."""
    batch = orchard(pieces=())
    sound = solved(batch)
    (more,) = sound.one_more
    assert rules(batch, replace(sound, one_more=(replace(more, better=False),))) == {"one more"}
    assert not rules(orchard(), replace(plan(), one_more=(replace(more, better=False),)))


def test_what_one_more_sheet_gives_is_said_of_every_size_or_of_none() -> None:
    """With the sheet that helps left out, the pages would say that none does."""
    batch = two_sizes()
    whole = solved(batch)
    first, second = whole.one_more
    for told, expected in (
        ((first, second), set()),
        ((), set()),
        ((first,), {"one more"}),
        ((second,), {"one more"}),
        ((first, first, second), {"one more"}),
    ):
        assert rules(batch, replace(whole, one_more=told)) == expected


def test_of_papers_that_limit_nothing_no_more_is_looked_at() -> None:
    """Not of one that is sold, nor of one that nothing is cut from."""
    plum, idle, sold = (
        Paper(name, (Sheet(12 * MM, 12 * MM, have=1),), buy=name == "kraft")
        for name in ("plum dots", "oat", "kraft")
    )
    tags = tuple(LoosePiece(f"{one.name} tag", one.name, 1, MM, MM) for one in (plum, sold))
    whole = solved(orchard(papers=(*orchard().papers, plum, idle, sold), pieces=tags))
    assert [more.paper for more in whole.one_more] == ["pear toss", "plum dots"]


def test_a_card_that_the_batch_does_not_have_is_named() -> None:
    """Also where the proof counts what is made of other designs."""
    counts = plan().cards
    wrong = replace(plan(), cards=(*counts[:-1], replace(counts[-1], card="medlar")))
    assert "cards" in rules(orchard(), wrong)


def test_uncut_pieces_that_the_plan_does_not_have_are_named() -> None:
    """Also where what is cut of loose pieces counts in the proof."""
    wrong = replace(plan(), uncut=(Uncut("pip", 1, (Use(None, "pip", 1),)),))
    assert "uncut" in rules(orchard(), wrong)


@pytest.mark.parametrize(
    ("limits", "said"),
    [
        ({"at_most": 3}, "are made; at most 3 are asked for."),
        ({"at_least": 9}, "at least 9 asked for."),
    ],
)
def test_limits_are_kept(limits: dict[str, int], said: str) -> None:
    """A plan for the batch without limits is none for one with them."""
    cards = tuple(replace(c, **limits) if c.make is None else c for c in orchard().cards)  # type: ignore[arg-type]
    batch = orchard(cards=cards)
    faults = check(batch, replace(plan(), asked=batch))
    assert any(said in fault.said for fault in faults)


def test_nothing_is_bought_for_it() -> None:
    """A sheet to buy of a paper that only counts as far as it is at hand."""
    (layout, *rest) = plan().layouts
    bought = replace(plan(), layouts=(replace(layout, to_buy=1), *rest))
    said = {fault.said for fault in check(orchard(), bought)}
    assert "1 sheets are to buy, and it cannot be bought." in said


@pytest.mark.parametrize(
    "changes",
    [
        {"make": 3, "at_most": 4},
        {"make": 3, "at_least": 1},
        {"spares": 1},
        {"at_most": 1, "at_least": 2},
    ],
)
def test_a_batch_that_says_two_things_is_refused(changes: dict[str, int]) -> None:
    """A limit beside a number, spares beside as many as possible, more at least than at most."""
    cards = (replace(orchard().cards[0], **changes), *orchard().cards[1:])  # type: ignore[arg-type]
    assert rules(orchard(cards=cards), plan()) == {"batch"}
