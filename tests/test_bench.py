"""The bench's own sets: reproducible, like the trade, and honest about what it measures."""

import json
import math
from dataclasses import replace
from pathlib import Path

import pytest

from nesting.batch import Batch
from nesting.bench.batches import (
    card_batch,
    few_batch,
    full_batch,
    grown,
    growth_batch,
    planted_batch,
    tight_batch,
)
from nesting.bench.leaving_out import stage_names, without_stages
from nesting.bench.literature import InstanceError, published, read_instances, sheets_instances
from nesting.bench.run import (
    Result,
    RunSettings,
    bench_many,
    bench_planted,
    bench_single,
    run_batch,
    totals,
)
from nesting.cards.resolving import resolve
from nesting.cli.bench_tables import rows_table
from nesting.pack import Limit, Rounds, solve
from nesting.pack.search import schedule
from nesting.plan import Plan

OUTSIDE = Path(__file__).parent / "outside"


def planted(seed: int) -> Batch:
    """The pieces of sheets that were cut up."""
    return planted_batch(seed)[0]


@pytest.mark.parametrize("seed", range(12))
def test_random_batches_can_be_planned_and_come_again(seed: int) -> None:
    """Each generator gives the same sound batch for the same seed, and others for other seeds."""
    for make in (card_batch, few_batch, tight_batch, planted):
        batch = make(seed)
        assert resolve(batch).faults == ()
        assert batch == make(seed)
        assert batch != make(seed + 1)


def test_cards_are_like_those_of_the_trade() -> None:
    """3 to 12 designs, 6 to 50 cards of each, prints with and without a direction."""
    batches = [card_batch(seed) for seed in range(30)]
    assert all(3 <= len(batch.cards) <= 12 for batch in batches)
    assert all(6 <= card.make <= 50 for batch in batches for card in batch.cards)
    prints = {paper.front.print for batch in batches for paper in batch.papers}
    assert prints == {"plain", "four-way", "two-way", "one-way"}


def test_growth_asks_for_the_same_pieces() -> None:
    """A thousand times as many cards are the same pieces, a thousand times as often."""
    small, large = (resolve(grown(growth_batch(), factor)).pieces() for factor in (1, 1000))
    assert sum(card.make for card in growth_batch().cards) == 32
    assert [1000 * piece.demand for piece in small] == [piece.demand for piece in large]


def test_nearly_full_is_nearly_full() -> None:
    """The areas come to at most 1, 2 or 3 sheets, and to most of it."""
    for seed in range(12):
        batch = tight_batch(seed)
        sheet = batch.papers[0].sheets[0]
        area = sum((p.width or 0) * (p.height or 0) * p.count for p in batch.pieces)
        sheets = area / (sheet.width * sheet.height)
        assert sheets <= 3
        assert sheets / math.ceil(sheets) > 0.9


@pytest.mark.parametrize("seed", range(6))
def test_sheets_cut_up_are_nearly_full(seed: int) -> None:
    """The pieces fill nine tenths of the sheets that they were cut from, and no fewer hold them."""
    batch, sheets = planted_batch(seed)
    sheet = batch.papers[0].sheets[0]
    area = sum((p.width or 0) * (p.height or 0) * p.count for p in batch.pieces)
    assert 0.9 * sheets < area / (sheet.width * sheet.height) <= sheets
    assert run_batch(batch, RunSettings(Rounds(0))).result >= sheets


@pytest.mark.parametrize("seed", range(12))
def test_sheets_cut_up_in_full_are_full(seed: int) -> None:
    """13 to 50 kinds of pieces, their sides within the range, fill 1 to 8 sheets to the last bit."""
    batch, sheets = full_batch(seed, turned=False)
    sheet = batch.papers[0].sheets[0]
    assert 1 <= sheets <= 8
    assert 13 <= len(batch.pieces) <= 50
    sides = {side for p in batch.pieces for side in (p.width or 0, p.height or 0)}
    assert sheet.width / 8 <= min(sides) <= max(sides) <= sheet.width / 2
    area = sum((p.width or 0) * (p.height or 0) * p.count for p in batch.pieces)
    assert area == sheets * sheet.width * sheet.height
    assert resolve(batch).faults == ()
    turned, same = full_batch(seed, turned=True)
    assert same == sheets
    assert {p.turn for p in turned.pieces} == {"may"}
    assert [p.width for p in turned.pieces] == [p.width for p in batch.pieces]


def test_planted_batches_are_measured_fixed_and_turned() -> None:
    """One row for each, which knows how many sheets were cut up, and no plan takes fewer."""
    rows = list(bench_planted(2, RunSettings(Rounds(0))))
    assert [row.cell for row in rows] == ["fixed", "fixed", "turned", "turned"]
    assert all(row.known == row.bound <= row.result and not row.faults for row in rows)


@pytest.mark.parametrize("name", stage_names())
def test_a_stage_left_out_is_in_no_phase(name: str) -> None:
    """All others still are; afterwards the schedule is whole again."""
    whole = schedule.SCHEDULE
    with without_stages([name]):
        left = {turn.stage.__name__ for phase in schedule.SCHEDULE for turn in phase.turns}
        assert left == set(stage_names()) - {name}
    assert schedule.SCHEDULE is whole


def test_without_any_stage_the_quick_plan_stays() -> None:
    """Nothing is found in a hundred rounds that was not found in none."""
    every = tuple(stage_names())
    few = [few_batch(seed) for seed in range(12)]
    quick = [run_batch(batch, RunSettings(Rounds(0))).result for batch in few]
    without = [run_batch(batch, RunSettings(Rounds(100), without=every)).result for batch in few]
    whole = [run_batch(batch, RunSettings(Rounds(100))).result for batch in few]
    assert without == quick
    assert sum(whole) < sum(quick)


def row(result: int, seconds: float, proven: int = 1, baseline: int | None = None) -> Result:
    """A measured batch."""
    return Result("cell", "name", 10, result, 5, None, baseline, 1, proven, 0, seconds)


def test_totals() -> None:
    """Sums, the median, the 95th percentile, and how often rectpack was better."""
    rows = [row(5, n, baseline=6) for n in range(1, 20)] + [row(7, 100, proven=0, baseline=6)]
    sums = totals(rows)
    assert (sums.rows, sums.result, sums.proven) == (20, 5 * 19 + 7, 19)
    assert sums.worse_than_baseline == 1
    assert (sums.median_seconds, sums.high_seconds, sums.worst_seconds) == (10.5, 100, 100)


def test_totals_of_several_seeds() -> None:
    """The mean of the sums, and the largest of them."""
    rows = [replace(row(n, 1), again=n % 2) for n in (5, 6, 5, 8)]
    sums = totals(rows)
    assert (sums.result, sums.worst, sums.bound, sums.rows) == (12, 14, 10, 4)


def test_another_seed_searches_the_same_batch_in_another_way() -> None:
    """The batch is the same, and the search's seed is none that the set has for another batch."""
    seeds: list[int] = []

    def noted(batch: Batch, limit: Limit, seed: int, *, executor: None) -> Plan:
        seeds.append(seed)
        return solve(batch, limit, seed, executor=executor)

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("nesting.pack.solve", noted)
        rows = [
            one for again in (0, 1) for one in bench_planted(2, RunSettings(Rounds(0), again=again))
        ]
    assert len({one.name for one in rows}) == 2
    assert len(set(seeds)) == 4
    assert [one.again for one in rows] == 4 * [0] + 4 * [1]


def test_seeds_and_limits_have_their_lines() -> None:
    """For each cell and limit a line with mean and worst; totals of each limit at the end."""
    rows = [
        replace(row(n, 1), cell=cell, allowed=seconds, again=again)
        for cell, seconds, again, n in [
            ("fixed", 1, 0, 8), ("fixed", 1, 1, 9), ("fixed", 10, 0, 8), ("fixed", 10, 1, 8),
            ("turned", 1, 0, 7), ("turned", 1, 1, 7), ("turned", 10, 0, 6), ("turned", 10, 1, 7),
        ]
    ]  # fmt: skip
    table = rows_table("bench", rows, {})
    lines = list(zip(*(list(column.cells) for column in table.columns[:5]), strict=True))
    assert [column.header for column in table.columns[:5]] == [
        "cell", "limit", "pieces", "result", "worst seed",
    ]  # fmt: skip
    assert lines == [
        ("fixed", "1 s", "10", "8.5", "9"), ("fixed", "10 s", "10", "8.0", "8"),
        ("turned", "1 s", "10", "7.0", "7"), ("turned", "10 s", "10", "6.5", "7"),
        ("all", "1 s", "20", "15.5", "16"), ("all", "10 s", "20", "14.5", "15"),
    ]  # fmt: skip


def test_a_measured_batch_is_checked_and_compared() -> None:
    """Sheets, bound and rectpack's sheets of a small batch stand in order, without faults."""
    measured = run_batch(few_batch(0), RunSettings(Rounds(30), baseline=True))
    assert measured.faults == 0
    assert measured.baseline is not None
    assert measured.bound <= measured.result <= measured.baseline


def test_single_sheets_meet_their_published_optima(tmp_path: Path) -> None:
    """Beasley's instances, fixed and turned: value, bound and known optimum are one number."""
    file = tmp_path / "gcut.json"
    data = json.loads((OUTSIDE / "gcut.json").read_text())["instances"]
    for instance in data:
        keys = ("width", "height", "value")
        instance["items"] = [dict(zip(keys, item, strict=True)) for item in instance["items"]]
    file.write_text(json.dumps(data))
    rows = list(bench_single(file, RunSettings(Rounds(30)), bounded=False))
    assert len(rows) == 12
    assert all(one.result == one.bound == one.known and not one.faults for one in rows)


def test_many_sheets_are_read_and_measured(tmp_path: Path) -> None:
    """An instance of the format becomes a batch; its cell is the name without the number."""
    file = tmp_path / "many.json"
    pieces = [[6, 4, 2], [4, 6, 1], [5, 5, 2], [6, 4, 1]]
    instance = {"name": "class01-020-03", "width": 10, "height": 10, "pieces": pieces}
    file.write_text(json.dumps([instance | {"lower_bound_fixed": 2}] * 5))
    assert len(list(bench_many(file, RunSettings(Rounds(0)), turned=False, count=2))) == 2
    file.write_text(json.dumps([instance | {"lower_bound_fixed": 2}]))
    (one,) = bench_many(file, RunSettings(Rounds(30)), turned=False)
    assert (one.cell, one.pieces, one.known, one.faults) == ("class01-020", 6, 2, 0)
    assert one.bound <= one.result
    (read,) = sheets_instances(file, turned=True)
    assert all(piece.turn == "may" for piece in read.batch.pieces)


@pytest.mark.parametrize("text", ["", "{}", "[1]", '[{"name": "a"}]'])
def test_a_file_of_something_else_is_refused(tmp_path: Path, text: str) -> None:
    """One clear sentence with the file's name."""
    file = tmp_path / "many.json"
    file.write_text(text)
    with pytest.raises(InstanceError, match=r"many\.json"):
        read_instances(file)
    with pytest.raises(InstanceError, match="cannot be read"):
        read_instances(tmp_path / "nowhere.json")


@pytest.mark.parametrize("columns", ["group,pieces,other,fewest", "class,n,other,ub_best"])
def test_published_totals(tmp_path: Path, columns: str) -> None:
    """The best published total of each cell, under our names or theirs; the sum of all is no cell."""
    file = tmp_path / "published.csv"
    file.write_text(f"{columns}\n1,20,72,71\n10,100,0,9\ntotal,,72,80\n")
    assert published(file) == {"class01-020": 71, "class10-100": 9}


@pytest.mark.parametrize("text", ["group,pieces\n1,20\n", "class,n,ub_best\none,20,71\n"])
def test_published_totals_of_something_else_are_refused(tmp_path: Path, text: str) -> None:
    """One clear sentence with the file's name and the columns."""
    file = tmp_path / "published.csv"
    file.write_text(text)
    with pytest.raises(InstanceError, match=r"published\.csv: expected .* group, pieces, fewest"):
        published(file)
    with pytest.raises(InstanceError, match="cannot be read"):
        published(tmp_path / "nowhere.csv")
