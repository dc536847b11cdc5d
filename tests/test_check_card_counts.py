"""The proof that no plan makes more whole cards: a wrong one is named."""

from dataclasses import replace
from functools import cache

import pytest
from check_cases import rules
from pack_cases import MM, solved

from nesting.batch import Batch, Card, Layer
from nesting.checker import check
from nesting.papers import Paper, Sheet
from nesting.plan import HeldValue, Plan, WholeCards


def orchard(**asked: object) -> Batch:
    """Two designs from one paper of two sheets: by areas thirteen cards, of edge-to-edge cuts twelve."""
    paper = Paper("pear toss", (Sheet(12 * MM, 12 * MM, have=2),), buy=False)
    cards = tuple(
        Card(name, 8, 4 * MM, 5 * MM, layers=(Layer("panel", "pear toss", width=4 * MM, height=5 * MM, turn=turn),))
        for name, turn in (("windfall", "never"), ("cider", "must"))
    )  # fmt: skip
    return replace(Batch("Orchard market", "mm", (paper,), cards), **asked)  # type: ignore[arg-type]


@cache
def plan() -> Plan:
    """Its plan."""
    return solved(orchard())


def with_entry(**changes: object) -> Plan:
    """The plan with its entry changed."""
    return replace(plan(), whole_cards=(replace(plan().whole_cards[0], **changes),))  # type: ignore[arg-type]


def test_the_proof_is_by_values() -> None:
    """Twelve cards, proven in whole numbers."""
    (entry,) = plan().whole_cards
    assert (entry.asked, entry.made, entry.most, entry.by) == (16, 12, 12, "values")


HELD = HeldValue("pear toss", 12 * MM, 12 * MM, 6)
GOOD = {"by": "values", "values": {"windfall/panel": 1, "cider/panel": 1}, "held": (HELD,)}


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({}, None),
        ({"held": (replace(HELD, value=5),)}, "can hold a value of 6, not 5 at most."),
        ({"held": (replace(HELD, value=7),)}, "the proof is of 14."),
        ({"held": (replace(HELD, value=6.0),)}, "whole numbers of 0 or more."),
        ({"held": ()}, "is no piece of its papers."),
        ({"held": (HELD, HELD)}, "two values for a size of sheet."),
        ({"held": (replace(HELD, width=MM),)}, "one value for each size of 'pear toss'."),
        ({"held": (replace(HELD, paper="plum"),)}, "counts the sheets of 'plum'"),
        ({"values": {"windfall/panel": 1, "cider/panel": 0}}, "the proof is of 16."),
        ({"values": {"windfall/panel": 1, "cider/panel": -1}}, "whole numbers of 0 or more."),
        ({"values": {"windfall/panel": 1, "pip": 1}}, "gives a value to 'pip'"),
        ({"by": "area"}, "the proof is of 14."),
        ({"by": "asked"}, "12 is not what is asked for, 16."),
        ({"by": "search"}, None),
        ({"by": "search", "cuts": "stopped"}, "patterns with cuts that stop are not all searched"),
        ({"by": "faith"}, "'faith' is no kind of proof."),
    ],
)
def test_a_wrong_proof_is_named(changes: dict[str, object], said: str | None) -> None:
    """A proof that proves less, or nothing, is refused; one found by search is taken on trust."""
    faults = check(orchard(), with_entry(**(GOOD | changes)))
    assert {fault.rule for fault in faults} == ({"whole cards"} if said else set())
    assert said is None or any(said in fault.said for fault in faults)


def test_stopped_cuts_may_give_more() -> None:
    """Of 5 x 7 mm a sheet gives three edge to edge, and four round a centre."""
    batch = orchard(
        papers=(replace(orchard().papers[0], sheets=(Sheet(12 * MM, 12 * MM, have=1),)),)
    )
    panel = Layer("panel", "pear toss", width=5 * MM, height=7 * MM, turn="may")
    batch = replace(batch, cards=(Card("windfall", 5, 5 * MM, 7 * MM, layers=(panel,)),))
    three = solved(batch)
    values = {"by": "values", "values": {"windfall/panel": 1}, "held": (replace(HELD, value=3),)}
    for cuts, said in (("edge-to-edge", []), ("stopped", ["a value of 4, not 3 at most."])):
        entry = replace(three.whole_cards[0], cuts=cuts, **values)
        faults = check(batch, replace(three, whole_cards=(entry,)))
        assert [fault.said.partition("hold ")[2] for fault in faults] == said


def test_more_cannot_be_said_to_be_possible_than_is_asked() -> None:
    """Between what is made and what is asked for lies what can be made."""
    for most in (11, 17):
        assert rules(orchard(), with_entry(most=most)) >= {"whole cards"}


def test_sheets_in_plenty_prove_nothing() -> None:
    """What can be bought, or is there in plenty, limits nothing."""
    for changes in ({"buy": True}, {"sheets": (Sheet(12 * MM, 12 * MM, have=None),)}):
        papers = (replace(orchard().papers[0], **changes),)  # type: ignore[arg-type]
        batch = orchard(papers=papers)
        faults = check(batch, replace(with_entry(**GOOD), asked=batch))
        assert "the proof counts the sheets of 'pear toss', which is not limited." in {
            fault.said for fault in faults
        }


def test_the_first_designs_have_entries_of_their_own() -> None:
    """The entry of the others is held against what the first ones take."""
    batch = orchard(first=("cider",))
    after = solved(batch)
    assert [(e.cards, e.made, e.most) for e in after.whole_cards] == [
        (("cider",), 8, 8),
        (("windfall",), 3, 3),  # a layout of both designs is worse: eleven cards, not twelve
    ]
    swapped = replace(after, whole_cards=after.whole_cards[::-1])
    assert rules(batch, swapped) == {"whole cards"}
    loose: WholeCards = replace(after.whole_cards[1], most=2, made=2)
    assert "whole cards" in rules(batch, replace(after, whole_cards=(after.whole_cards[0], loose)))
