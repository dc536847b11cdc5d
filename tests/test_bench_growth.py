"""What grows in the bench, and how a row of it is measured and drawn."""

from itertools import groupby
from pathlib import Path

import pytest

from nesting.batch import Batch
from nesting.bench import growth
from nesting.bench.growth import GrowthRow, bench_growth, growing, growth_figure, many_sizes
from nesting.bench.run import RunSettings
from nesting.cards.resolving import resolve
from nesting.cli import main
from nesting.pack import Rounds
from nesting.typed_lengths import parse_length


def in_it(what: str, batch: Batch) -> int:
    """How many of what grows a batch has."""
    pieces = resolve(batch).pieces()
    return {
        "cards": sum(card.make or 0 for card in batch.cards),
        "kinds": len({(piece.width, piece.height) for piece in pieces}),
        "circles": sum(piece.demand for piece in pieces if piece.shape == "circle"),
        "sheet sizes": len({(s.width, s.height) for paper in batch.papers for s in paper.sheets}),
        "papers": len({piece.paper for piece in pieces}),
    }[what]


def test_only_one_thing_grows() -> None:
    """Each batch has as many as it says, and can be planned; all growth is at least tenfold."""
    for what, own in groupby(growing(), key=lambda row: row[0]):
        rows = list(own)
        assert [in_it(what, batch) for _, _, batch in rows] == [number for _, number, _ in rows]
        assert all(resolve(batch).faults == () for _, _, batch in rows)
        assert rows[-1][1] >= 100 * rows[0][1]


def test_sheet_sizes_are_off_any_grid() -> None:
    """Tenths of millimetres are all that the sides of sheets and pieces have in common."""
    batch = many_sizes(10)
    sides = {
        side
        for one in (*batch.papers[0].sheets, *batch.pieces)
        for side in (one.width, one.height)
        if side is not None
    }
    tenth = parse_length("0.1", "mm")
    assert all(side % tenth == 0 for side in sides)
    assert all(any(side % (tenth * prime) for side in sides) for prime in (2, 3, 5, 7))


@pytest.fixture
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two batches of ten grow no further."""
    rows = [row for row in growing() if row[1] == 10 and row[0] in ("kinds", "circles")]
    monkeypatch.setattr(growth, "growing", lambda: iter(rows))


@pytest.mark.parametrize("workers", [1, 2])
@pytest.mark.usefixtures("small")
def test_a_batch_is_measured_in_a_process_of_its_own(workers: int) -> None:
    """Plan, bound, and what the process took, with workers of its own or without; not what we have."""
    ours = bytearray(500_000_000)
    rows = list(bench_growth(RunSettings(Rounds(5), workers=workers)))
    assert [(row.what, row.number) for row in rows] == [("kinds", 10), ("circles", 10)]
    for row in rows:
        assert row.faults == 0
        assert row.bound <= row.result
        assert row.seconds > 0
        assert 10 < row.memory < 500
    assert ours


def row(what: str, number: int, result: int) -> GrowthRow:
    """A measured row."""
    return GrowthRow(what, number, 5, result, 4, 1, 0, 0, 1.0, number / 2, number * 3)


def test_the_picture_has_a_line_for_each_thing_that_grows() -> None:
    """Time, memory and gap above one another, over how many there are."""
    figure = growth_figure([row("kinds", 2, 4), row("kinds", 20, 5), row("papers", 1, 8)])
    drawn = [
        [(line.get_label(), *map(list, line.get_data())) for line in axes.lines]
        for axes in figure.axes
    ]
    assert drawn == [
        [("kinds", [2, 20], [1, 10]), ("papers", [1], [0.5])],
        [("kinds", [2, 20], [6, 60]), ("papers", [1], [3])],
        [("kinds", [2, 20], [0, 25]), ("papers", [1], [100])],
    ]


@pytest.mark.usefixtures("small")
def test_growth_is_printed_and_drawn(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A table, the curves as a picture, and every row as CSV."""
    picture, table = tmp_path / "curves.svg", tmp_path / "rows.csv"
    words = ["--rounds", "5", "--picture", str(picture), "--csv", str(table)]
    with pytest.raises(SystemExit) as ended:
        main(["bench", "growth", *words])
    assert ended.value.code == 0
    assert "kinds" in capsys.readouterr().out
    assert picture.read_text().startswith("<?xml")
    assert len(table.read_text().splitlines()) == 3


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["growth", "--picture", "curves.txt"], "expected .png or .svg or .pdf"),
        (["growth", "--seeds", "2"], "growth takes one seed and one limit"),
        (["strokes", "--seconds", "1", "--seconds", "2"], "strokes takes one seed and one limit"),
        (["few", "--seconds", "nan"], "'nan'; expected a number, 0 or more."),
        (["single-bounded"], "single-bounded needs --data FILE"),
    ],
)
def test_what_cannot_be_measured_is_refused(
    words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Before anything is measured, in one sentence."""
    with pytest.raises(SystemExit) as ended:
        main(["bench", *words])
    assert ended.value.code == 2
    assert said in " ".join(capsys.readouterr().err.split())
