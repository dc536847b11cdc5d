"""All equal cut trees: the fewest strokes and ruler settings, against every tree with cuts anywhere."""

import math
from collections.abc import Iterator
from functools import cache
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.bench.batches import small_batch
from nesting.bench.equal_trees import EqualTrees
from nesting.bench.run import RunSettings
from nesting.bench.stroke_counts import StrokesRow, bench_strokes
from nesting.cards.resolving import resolve
from nesting.cli.bench_tables import strokes_table
from nesting.pack import Rounds

Size = tuple[int, int]


@cache
def fewest_offcuts(width: int, height: int, blanks: tuple[Size, ...]) -> float:
    """The fewest offcuts of all trees, with every cut at every whole number; infinite for no tree."""
    if not blanks:
        return 1
    if sum(w * h for w, h in blanks) > width * height:
        return math.inf
    if blanks == ((width, height),):
        return 0
    ways = [((at, height), (width - at, height)) for at in range(1, width)]
    ways += [((width, at), (width, height - at)) for at in range(1, height)]
    return min(
        (
            fewest_offcuts(*low, some) + fewest_offcuts(*high, rest)
            for low, high in ways
            for some, rest in halves(blanks)
        ),
        default=math.inf,
    )


def halves(blanks: tuple[Size, ...]) -> Iterator[tuple[tuple[Size, ...], tuple[Size, ...]]]:
    """Every choice of some blanks, and the others."""
    for count in range(len(blanks) + 1):
        for chosen in combinations(range(len(blanks)), count):
            yield (
                tuple(blanks[n] for n in chosen),
                tuple(b for n, b in enumerate(blanks) if n not in chosen),
            )


SIZES = st.lists(st.tuples(st.integers(1, 3), st.integers(1, 3)), min_size=1, max_size=4)


@given(SIZES, st.integers(2, 5), st.integers(2, 5))
@settings(max_examples=40)
def test_fewest_strokes_of_all_trees(sizes: list[Size], width: int, height: int) -> None:
    """As few strokes as the best of all trees that there are, wherever their cuts lie."""
    fewest = fewest_offcuts(width, height, tuple(sizes))
    found = EqualTrees(width, height, sizes)
    if fewest < math.inf:
        assert found.fewest_strokes == len(sizes) + fewest - 1
    else:
        with pytest.raises(ValueError, match="cannot be cut"):
            assert found.fewest_offcuts


@pytest.mark.parametrize(
    ("sheet", "blanks", "strokes", "settings_"),
    [
        ((48, 48), [(16, 21)] * 6, 6, 2),
        ((48, 48), [(24, 24)] * 4, 3, 1),
        ((44, 16), [(16, 16), (12, 16)], 2, 1),
        ((12, 12), [(12, 12)], 0, 0),
    ],
)
def test_worked_counts(sheet: Size, blanks: list[Size], strokes: int, settings_: int) -> None:
    """Six 4 x 5 1/4 from 12 x 12 take 6 strokes and 2 ruler settings; and some more by hand.

    The third has what is over 16 wide, too: both are cut off at 16, and 12 is what is left.
    """
    found = EqualTrees(*sheet, blanks)
    assert (found.fewest_strokes, found.fewest_settings) == (strokes, settings_)


def test_small_layouts_are_small() -> None:
    """Batches of 2 to 7 blanks that can be planned, the same for the same seed."""
    for seed in range(20):
        batch = small_batch(seed)
        assert resolve(batch).faults == ()
        assert 1 <= sum(piece.count for piece in batch.pieces) <= 7
        assert batch == small_batch(seed)


def test_layouts_are_measured_against_all_trees() -> None:
    """No stored tree takes fewer strokes than the fewest; there are as many rows as asked for."""
    rows = list(bench_strokes(4, RunSettings(Rounds(20), seed=30)))
    assert len(rows) == 4
    assert all(row.strokes >= row.fewest_strokes for row in rows)
    assert all(
        row.settings >= row.fewest_settings for row in rows if row.strokes == row.fewest_strokes
    )
    assert not any(row.faults for row in rows)


def test_the_table_says_how_much_more() -> None:
    """11 strokes where 10 would do, 4 ruler settings where 4 do: 10 % and 0 % more."""
    rows = [
        StrokesRow("small 1, layout 1", 5, 6, 5, 2, 2, 0.25, 0),
        StrokesRow("small 2", 5, 5, 5, 2, 2, 0.35, 0),
    ]
    table = strokes_table("bench strokes, seed 0", rows)
    assert [list(column.cells)[-1] for column in table.columns] == [
        "all", "2", "11", "10", "10 %", "4", "4", "0 %", "0.30", "0",
    ]  # fmt: skip
