"""Variants side by side: measures, the best, the beaten, the same plans wherever they are made."""

import pickle
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace

import pytest
from pack_cases import asked, sheet_batch
from plans import inches
from project import SAMPLES

import nesting.advice.comparison as comparing
from nesting import Change, Edges, Variant, read_batch
from nesting.advice.comparison import AS_IT_IS, PlanFaultError, compare, measures_of
from nesting.batch import Batch, BatchError
from nesting.cards.resolving import resolve
from nesting.checker import check
from nesting.checker.fault import PlanFault
from nesting.pack import Rounds, solve
from nesting.papers import Paper, Sheet
from nesting.plan import Plan
from nesting.typed_lengths import parse_size


def panels(count: int = 24, size: str = "4 1/4 x 5 1/2", **paper: object) -> Batch:
    """Panels from 12 x 12 in."""
    return resolve(sheet_batch("12 x 12", asked(size, count), **paper)).batch


def size_of(size: str) -> Change:
    """Another size of the panels."""
    return Change(("pieces", 0, "size"), parse_size(size, "in"))


class Pickling(ThreadPoolExecutor):
    """Threads that are handed copies only, as processes are."""

    def submit(self, task: object, /, *words: object, **named: object) -> Future[object]:  # type: ignore[override]
        """Hand over what a pickle holds."""
        task, words = pickle.loads(pickle.dumps((task, words)))  # noqa: S301 - our own
        return super().submit(task, *words, **named)  # type: ignore[arg-type]


def test_a_batch_beside_itself_shows_no_difference() -> None:
    """No measure is better or worse, and the plan is the same."""
    batch = panels()
    comparison = compare(batch, [Variant("again"), Variant("once more", batch=panels())])
    assert [row.name for row in comparison.rows] == [AS_IT_IS, "again", "once more"]
    assert len({row.plan.layouts for row in comparison.rows}) == 1
    assert comparison.best == (frozenset(),) * 3
    assert comparison.beaten == (False,) * 3


def test_six_from_a_sheet_beat_four() -> None:
    """24 panels of 4 x 5 1/2 in take 4 sheets of 12 x 12 in, of 4 1/4 x 5 1/2 in 6."""
    comparison = compare(panels(), [Variant("narrower", (size_of("4 x 5 1/2"),))])
    assert [row.measures.sheets for row in comparison.rows] == [{"pear toss": 6}, {"pear toss": 4}]
    first, second = comparison.best
    assert "sheets of pear toss" in second - first


def test_every_plan_passes_the_check() -> None:
    """The plans are of their variants, and the checker finds nothing wrong with them."""
    batch = read_batch(SAMPLES / "orchard-short.yaml")
    thin = Edges(*4 * [inches("1/16")])
    change = Change(("cards", "windfall supper", "layers", "mat", "reveal"), thin)
    rows = compare(batch, [Variant("thin", (change,))], Rounds(20)).rows
    for row, of in zip(rows, (batch, Variant("thin", (change,)).of(batch)), strict=True):
        assert check(of, row.plan) == ()


def test_handed_to_an_executor_the_plans_are_the_same() -> None:
    """One job for each variant, in its own copy, gives what is found here."""
    batch = read_batch(SAMPLES / "cider.yaml")
    variants = [
        Variant(f"{make} tickets", (Change(("cards", "tasting ticket", "make"), make),))
        for make in (20, 30)
    ]
    here = compare(batch, variants, Rounds(30))
    with Pickling(2) as executor:
        there = compare(batch, variants, Rounds(30), executor=executor)
    assert here == there


def test_progress_counts_each_distinct_batch_once() -> None:
    """A variant that changes nothing is not planned again."""
    told: list[tuple[str, int, int]] = []
    variants = [Variant("same"), Variant("fewer", (Change(("pieces", 0, "count"), 6),))]
    compare(panels(), variants, report=lambda *words: told.append(words))
    assert told == [(AS_IT_IS, 1, 2), ("fewer", 2, 2)]


def test_a_variant_that_cannot_be_planned_is_named() -> None:
    """Every fault says of which variant it is, before anything is planned."""
    large = Variant("posters", (size_of("13 x 13"),))
    with pytest.raises(BatchError) as raised:
        compare(panels(), [large], report=lambda *_: pytest.fail("planned"))
    assert [fault.read.split(":")[0] for fault in raised.value.faults] == ["posters"]


def test_beaten_and_best_by_hand() -> None:
    """Measures made up: the one that is nowhere better and once worse is beaten."""
    base = compare(panels(4), []).rows[0]
    better = replace(base, name="better", measures=replace(base.measures, strokes=3))
    worse = replace(base, name="worse", measures=replace(base.measures, strokes=9))
    one = {kind: base.measures.complete | {kind: (1, 1)} for kind in ("card", "spare set")}
    odd = replace(base, name="odd", measures=replace(worse.measures, complete=one["card"]))
    spare = replace(base, name="spare", measures=replace(worse.measures, complete=one["spare set"]))
    comparison = comparing.Comparison((better, worse, odd, spare))
    assert comparison.beaten == (False, True, False, False)
    assert comparison.best == (
        frozenset({"strokes"}), frozenset(), frozenset({"complete cards"}), frozenset({"complete spare sets"}),
    )  # fmt: skip


def test_a_cost_that_is_not_known_is_not_the_least() -> None:
    """Costs are compared where all variants leave out the same papers: a price that is not given is not nought."""
    base = compare(panels(4), []).rows[0]
    rows = [
        replace(base, measures=replace(base.measures, cost=cost, unpriced=unpriced))
        for cost, unpriced in ((720, ()), (None, ("pear toss",)))
    ]
    assert comparing.Comparison(tuple(rows)).best == (frozenset(), frozenset())
    assert comparing.Comparison(tuple(rows)).beaten == (False, False)
    same = [replace(row, measures=replace(row.measures, unpriced=("pear toss",))) for row in rows]
    assert comparing.Comparison(tuple(same)).best == (frozenset(), frozenset({"cost"}))


def test_loose_pieces_that_are_not_cut_count_against_a_plan() -> None:
    """Two sheets give eight panels of nine; a variant that asks for eight is no better by that."""
    batch = panels(9, buy=False)
    short = replace(batch.papers[0], sheets=(Sheet(inches("12"), inches("12"), have=2),))
    batch = replace(batch, papers=(short,))
    variant = Variant("a seven", (Change(("pieces", 0, "count"), 7),))
    comparison = compare(batch, [variant])
    counts = [row.measures.complete["loose piece"] for row in comparison.rows]
    assert counts == [(8, 9), (7, 7)]
    assert "complete loose pieces" in comparison.best[0]
    assert not comparison.beaten[0]


def test_cost_is_of_the_whole_sheets_that_are_cut() -> None:
    """Six sheets at 1.20 cost 7.20; a paper without a price is named, and left out."""
    priced = Paper("bee stripe", (Sheet(inches("12"), inches("12"), have=2, price=120),))
    tag = replace(asked("4 1/4 x 5 1/2", 24), paper="bee stripe")
    batch = panels(4)
    batch = resolve(
        replace(batch, papers=(*batch.papers, priced), pieces=(*batch.pieces, tag))
    ).batch
    measures = measures_of(solve(batch))
    assert (measures.cost, measures.unpriced) == (720, ("pear toss",))
    assert measures_of(solve(panels(4))).cost is None


def test_the_largest_offcut_is_the_one_with_the_most_area() -> None:
    """One 6 x 12 in piece leaves the other half of a 12 x 12 in sheet."""
    measures = measures_of(solve(panels(1, "6 x 12")))
    assert sorted(measures.largest_offcut or ()) == [inches("6"), inches("12")]
    assert measures.waste == 0
    assert measures_of(solve(panels(2, "6 x 12"))).largest_offcut is None


def test_waste_of_all_papers_is_by_area() -> None:
    """Shares of papers of other sizes are weighed with their sheets, not averaged."""
    small = Paper("bee stripe", (Sheet(inches("6"), inches("6")),))
    tag = replace(asked("5 3/4 x 6", 1), paper="bee stripe")
    batch = panels(2, "6 x 12")
    batch = resolve(
        replace(batch, papers=(*batch.papers, small), pieces=(*batch.pieces, tag))
    ).batch
    wasted = inches("1/4") * inches("6") / (inches("12") ** 2 + inches("6") ** 2)
    assert measures_of(solve(batch)).waste == pytest.approx(wasted, abs=1e-6)


def test_a_covered_middle_is_no_sheet_of_which_something_is_wasted() -> None:
    """What is cut from a middle counts as part of the sheet that its host came from, and no area twice."""
    plan = solve(read_batch(SAMPLES / "orchard-hidden.yaml"), Rounds(60))
    assert any(layout.source.kind == "middle" for layout in plan.layouts)
    area: dict[str, int] = {figures.paper: 0 for figures in plan.papers}
    for layout in plan.layouts:
        sheet = plan.asked.paper(layout.paper).sheets[0]
        if layout.source.kind == "sheet":
            area[layout.paper] += layout.alike * sheet.width * sheet.height
    wasted = sum(figures.waste * area[figures.paper] for figures in plan.papers)
    assert measures_of(plan).waste == pytest.approx(wasted / sum(area.values()), abs=2e-6)


def test_a_plan_with_a_fault_is_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    """What fails its check is never compared."""

    def found(batch: Batch, plan: Plan) -> tuple[PlanFault, ...]:
        return (PlanFault("size", "layout 1", "a blank is too small"),)

    monkeypatch.setattr(comparing, "check", found)
    with pytest.raises(PlanFaultError, match="a blank is too small"):
        compare(panels(4), [])


def test_ctrl_c_ends_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """A search that was cut short is not compared with others: all of it ends."""
    cut_short = replace(solve(panels(4)), ended="interrupted")
    monkeypatch.setattr(comparing, "solve", lambda *_: cut_short)
    with pytest.raises(KeyboardInterrupt):
        compare(panels(4), [])
