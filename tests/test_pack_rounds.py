"""Rounds of several papers: beside one another as one after the other, restarts, tidy plans."""

from concurrent.futures import Future, ThreadPoolExecutor
from random import Random

import pytest
from pack_cases import asked, problem_of, sheet_batch, solved

from nesting.batch import Batch
from nesting.bench.batches import card_batch, few_batch
from nesting.check import check
from nesting.pack import Rounds, solve
from nesting.pack.search import Search
from nesting.pack.tidy import tidy


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
        problem = problem_of(batch) if paper == batch.papers[0] else None
        if problem is None:
            continue
        search = Search(problem, "0")
        for _ in search.improve():
            if search.rounds > 60:
                break
        cost, layouts = search.cost, len({used.column for used in search.best})
        tidy(search)
        assert search.cost == cost
        assert len({used.column for used in search.best}) <= layouts
        for kind, needed in enumerate(problem.demand):
            assert sum(used.column.counts[kind] * used.count for used in search.best) >= needed


def test_folds_keep_to_the_grain_where_that_costs_nothing() -> None:
    """24 bases from long-grain letter paper: all folded along the grain, though either way fits."""
    rng = Random(0)
    batch = card_batch(rng.randrange(10))
    plan = solved(batch)
    bases = [piece for piece in plan.pieces if piece.grain is not None]
    warned = [w for w in plan.warnings if "across the grain" in w]
    across = 0
    for layout in plan.layouts:
        grain = batch.paper(layout.paper).grain_axis
        for placed in layout.blanks:
            piece = plan.piece(placed.node.piece)  # type: ignore[union-attr]
            across += piece.folds_across(grain, turned=placed.node.turned)  # type: ignore[union-attr]
    assert bool(warned) == bool(across)
    assert bases or not warned


def test_an_optional_cluster_gives_the_same_plan() -> None:
    """A dask client's executor will do (where dask is installed; it is no dependency)."""
    distributed = pytest.importorskip("distributed", reason="dask is not installed")
    batch, limit = hard_batch(), Rounds(90)
    with (
        distributed.LocalCluster(n_workers=1, processes=False, dashboard_address=None) as cluster,
        distributed.Client(cluster) as client,
    ):
        assert solve(batch, limit, executor=client.get_executor()) == solve(batch, limit)
