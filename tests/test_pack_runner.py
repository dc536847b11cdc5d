"""Rounds of several papers: beside one another as one after the other, restarts, break_ties plans."""

from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace

import pytest
from pack_cases import asked, sheet_batch, solved

from nesting.batch import Base, Batch, Card
from nesting.bench.batches import card_batch, few_batch
from nesting.bench.fresh import fresh_instances
from nesting.cards.resolving import resolve
from nesting.checker import check
from nesting.layouts import Blank
from nesting.pack import Rounds, State, solve
from nesting.pack.model.problem import make_problem
from nesting.pack.search.incumbent import Search
from nesting.pack.search.schedule import improve
from nesting.pack.search.tie_break import break_ties
from nesting.papers import Paper, Sheet
from nesting.typed_lengths import parse_size


def hard_batch() -> Batch:
    """A batch of which a paper is not proven within a few rounds."""
    return few_batch(1)


def test_an_executor_gives_the_same_plan() -> None:
    """Handed to threads or run here, with restarts: the same plan under a limit of rounds."""
    batch, limit = hard_batch(), Rounds(90)
    here = solve(batch, limit, restarts=1)
    with ThreadPoolExecutor(2) as executor:
        there = solve(batch, limit, restarts=1, executor=executor)
    assert here == there
    assert check(batch, there) == ()


def test_many_kinds_on_a_sheet_are_mostly_for_ruin_and_recreate() -> None:
    """Sixty kinds fill two sheets to 97 %: values prove no more there than the area does.

    The instance is one of the ten classes (see ``bench.fresh``).
    """
    (one,) = (i for i in fresh_instances(14, turned=False) if i.batch.name == "class04-060-07")
    figures = solve(one.batch, Rounds(300)).papers[0]
    assert (figures.needed, figures.proven) == (2, True)


def hard_papers(number: int) -> Batch:
    """The hard batch's pieces, from each of some papers."""
    hard = hard_batch()
    names = [f"paper {n}" for n in range(number)]
    return replace(
        hard,
        papers=tuple(replace(hard.papers[0], name=name) for name in names),
        pieces=tuple(replace(piece, paper=name) for name in names for piece in hard.pieces),
    )


def test_many_papers_share_the_processors(monkeypatch: pytest.MonkeyPatch) -> None:
    """After a round or two here each processor has half of the papers; the plan is that of here."""
    monkeypatch.setattr("os.cpu_count", lambda: 2)
    monkeypatch.setattr("nesting.pack.search.runner._FIRST_OF_ALL", 7)
    batch, limit, handed = hard_papers(5), Rounds(40), []
    rounds: list[int] = []

    class Noting(ThreadPoolExecutor):
        def submit(self, work, tasks, *args):  # type: ignore[no-untyped-def,override]
            handed.append(list(tasks))
            return super().submit(work, tasks, *args)

    def noted(_: str, state: State) -> None:
        rounds.append(state.rounds)

    here = solve(batch, limit, restarts=1)
    with Noting(2) as executor:
        assert solve(batch, limit, restarts=1, executor=executor, report=noted) == here
    assert max(rounds) == 2
    odd, even = (["paper 1", "paper 3"], ["paper 0", "paper 2", "paper 4"])
    assert handed == [even, even, odd, odd]


def test_an_executor_is_not_troubled_with_what_is_proven_at_once() -> None:
    """A plan that meets its bound in the first rounds is not handed over."""

    class Refusing(ThreadPoolExecutor):
        def submit(self, *args: object, **kwargs: object) -> Future[object]:  # type: ignore[override]
            raise AssertionError("handed over")

    with Refusing(1) as executor:
        plan = solve(sheet_batch("12 x 12", asked("4 x 5 1/4", 24)), executor=executor)
    assert plan.ended == "proven"


def test_ctrl_c_while_an_executor_works_leaves_a_plan() -> None:
    """The first rounds' plan is kept, and says that it was interrupted."""

    class Interrupted(ThreadPoolExecutor):
        def submit(self, *args: object, **kwargs: object) -> Future[object]:  # type: ignore[override]
            raise KeyboardInterrupt

    batch = hard_batch()
    with Interrupted(1) as executor:
        plan = solve(batch, Rounds(90), executor=executor)
    assert plan.ended == "interrupted"
    assert check(batch, plan) == ()


def test_a_restart_does_not_depend_on_what_an_earlier_one_found() -> None:
    """The second restart is the same, here and in an executor, where the first found a better plan."""
    batch, limit = card_batch(8), Rounds(1)
    plans = [solve(batch, limit, restarts=restarts) for restarts in range(3)]
    found = [sum(figures.needed for figures in plan.papers) for plan in plans]
    assert found[0] > found[1]
    with ThreadPoolExecutor(2) as executor:
        assert solve(batch, limit, restarts=2, executor=executor) == plans[2]


def test_restarts_never_make_a_plan_worse() -> None:
    """More chance gives no more sheets and no smaller bound."""
    batch = hard_batch()
    once = solve(batch, Rounds(30)).papers[0]
    thrice = solve(batch, Rounds(30), restarts=2).papers[0]
    assert thrice.needed <= once.needed
    assert thrice.bound.value >= once.bound.value


@pytest.mark.parametrize("seed", [3, 6])
def test_tidying_keeps_cost_and_lessens_layouts(seed: int) -> None:
    """A tidied plan costs the same, meets the demand, and has no more layouts."""
    batch = card_batch(seed)
    for paper in batch.papers:
        problem = make_problem(paper, resolve(batch).pieces(), batch.trimmer)
        search = Search(problem, "0")
        for _ in improve(search):
            if search.rounds > 60:
                break
        cost, layouts = search.cost, len({used.column for used in search.best})
        break_ties(search)
        assert search.cost == cost
        assert len({used.column for used in search.best}) <= layouts
        for kind, needed in enumerate(problem.demand):
            assert sum(used.column.counts[kind] * used.count for used in search.best) >= needed


def test_folds_keep_to_the_grain_where_that_costs_nothing() -> None:
    """24 bases from long-grain letter paper: all folded along the grain, though either way fits."""
    sheet = Sheet(*parse_size("8 1/2 x 11", "in"))
    paper = Paper("cream cardstock", (sheet,), grain="long")
    card = Card("windfall", 24, *parse_size("4 1/4 x 5 1/2", "in"), Base(paper.name, fold="left"))
    plan = solved(Batch("Orchard supper", "in", (paper,), (card,)))
    assert plan.papers[0].needed == 12
    assert not any("across the grain" in warning for warning in plan.warnings)
    (base,) = plan.pieces
    turned = [
        b.node.turned for one in plan.layouts for b in one.blanks if isinstance(b.node, Blank)
    ]
    assert turned
    assert not any(base.folds_across(paper.grain_axis, turned=turn) for turn in turned)
