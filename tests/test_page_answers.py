"""What the page's workers find: a quick answer, the whole one, small changes; all of it checked."""

import pytest
from project import SAMPLES

import nesting
from nesting.advice import comparison
from nesting.advice.comparison import PlanFaultError
from nesting.checker.fault import PlanFault
from nesting.page.workers.answers import Answer, Suggestions, find_answer, find_suggestions


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
