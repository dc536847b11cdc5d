"""What the page's workers find: a quick answer, the whole one, small changes; all of it checked."""

from dataclasses import replace

import pytest
from pack_cases import asked, sheet_batch
from project import SAMPLES

import nesting
from nesting.advice import comparison
from nesting.advice.comparison import PlanFaultError
from nesting.cards.resolving import resolve
from nesting.checker.fault import PlanFault
from nesting.page.steps import my_plan
from nesting.page.workers.answers import Answer, Suggestions, find_answer, find_suggestions
from nesting.page.workers.searches import LongWork


def test_a_quick_answer_comes_first() -> None:
    """Then comes the whole answer, which is that of the command line, and nothing between them."""
    batch = nesting.read_batch(SAMPLES / "orchard-short.yaml")
    sent: list[object] = []
    find_answer(sent.append, batch)
    quick, whole = sent
    assert isinstance(quick, Answer)
    assert isinstance(whole, Answer)
    assert quick.needs is None
    assert nesting.check(batch, quick.plan) == ()
    assert whole.plan == nesting.solve(batch)
    assert whole.needs == nesting.enough(batch)


def test_what_stopped_cuts_would_save_comes_last() -> None:
    """Four 5 x 7 from 12 x 12 take two sheets from edge to edge; the page says that one would do."""
    sent: list[object] = []
    find_answer(sent.append, resolve(sheet_batch("12 x 12", asked("5 x 7", 4))).batch)
    _, whole, last = sent
    assert isinstance(whole, Answer)
    assert last == replace(whole, stopping={"pear toss": 1})
    before, after = (my_plan.view(LongWork(one), None)["sentences"] for one in (whole, last))
    words = "pear toss: 1 sheet fewer with a trimmer that can stop a cut part-way."
    assert [one for one in after if one not in before] == [words]


def test_suggestions_are_those_of_the_command_line() -> None:
    """Small changes that save come with their plans, after words of how far it is."""
    batch = nesting.read_batch(SAMPLES / "cider.yaml")
    sent: list[object] = []
    find_suggestions(sent.append, batch)
    (found,) = (one for one in sent if not isinstance(one, str))
    assert isinstance(found, Suggestions)
    assert found.all == nesting.suggest(batch)


def test_a_wrong_plan_is_not_sent(monkeypatch: pytest.MonkeyPatch) -> None:
    """A plan that fails its check is an error, and no answer."""
    batch = nesting.read_batch(SAMPLES / "cider.yaml")
    sent: list[object] = []

    def wrong_after_the_first(asked: nesting.Batch, plan: nesting.Plan) -> tuple[PlanFault, ...]:
        return (PlanFault("test", "layout 1", "is wrong"),) if sent else ()

    monkeypatch.setattr(comparison, "check", wrong_after_the_first)
    with pytest.raises(PlanFaultError, match="layout 1: is wrong"):
        find_answer(sent.append, batch)
    assert len([one for one in sent if isinstance(one, Answer)]) == 1
