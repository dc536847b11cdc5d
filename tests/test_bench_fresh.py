"""Fresh instances of the published classes."""

from collections import Counter
from collections.abc import Iterator
from itertools import groupby

import pytest

from nesting.bench.fresh import fresh_instances
from nesting.bench.run import RunSettings, bench_many
from nesting.pack import Rounds


def shares(turned: bool = False) -> Iterator[tuple[int, list[tuple[float, float]]]]:
    """Each class with the sides of all its pieces as shares of the sheet's."""
    by_class = groupby(fresh_instances(3, turned=turned), key=lambda one: int(one.cell[5:7]))
    for class_, instances in by_class:
        batches = [instance.batch for instance in instances]
        yield (
            class_,
            [
                ((piece.width or 0) / sheet.width, (piece.height or 0) / sheet.height)
                for batch in batches
                for sheet in batch.papers[0].sheets
                for piece in batch.pieces
            ],
        )


def test_there_are_fifty_of_each_class() -> None:
    """Ten instances of 20, 40, 60, 80 and 100 pieces in each cell; others for another seed."""
    instances = list(fresh_instances(3, turned=True))
    cells = Counter(one.cell for one in instances)
    assert len(cells) == 50
    assert set(cells.values()) == {10}
    assert all(len(one.batch.pieces) == int(one.cell[-3:]) for one in instances)
    assert {piece.turn for one in instances for piece in one.batch.pieces} == {"may"}
    assert instances == list(fresh_instances(3, turned=True))
    assert instances[0] != next(fresh_instances(4, turned=True))


@pytest.mark.parametrize(
    ("class_", "longest"), [(1, 1), (2, 1 / 3), (3, 35 / 40), (4, 0.35), (5, 1), (6, 1 / 3)]
)
def test_sides_of_the_first_six_classes(class_: int, longest: float) -> None:
    """Both sides of all pieces reach from nearly nothing to a part of the sheet (Berkey and Wang 1987)."""
    sides = [side for one in dict(shares())[class_] for side in one]
    assert max(sides) == longest
    assert min(sides) <= 0.1
    assert sum(sides) / len(sides) == pytest.approx(longest / 2, abs=0.06)


def test_types_of_the_last_four_classes() -> None:
    """Seven of ten pieces are wide, high, large and small, in this order (Martello and Vigo 1998)."""
    kinds = {
        7: lambda w, h: w >= 2 / 3 and h <= 1 / 2,
        8: lambda w, h: w <= 1 / 2 and h >= 2 / 3,
        9: lambda w, h: w >= 1 / 2 and h >= 1 / 2,
        10: lambda w, h: w <= 1 / 2 and h <= 1 / 2,
    }
    found = dict(shares())
    for class_, is_of in kinds.items():
        own = sum(is_of(*sides) for sides in found[class_]) / len(found[class_])
        assert own == pytest.approx(0.7, abs=0.03)
        assert sum(any(kind(*sides) for kind in kinds.values()) for sides in found[class_]) == len(
            found[class_]
        )


def test_the_many_sets_are_made_anew_without_data() -> None:
    """As many as are asked for, evenly drawn, by the seed of the run."""
    rows = list(bench_many(None, RunSettings(Rounds(0), seed=3), turned=False, count=2))
    assert [row.cell for row in rows] == ["class01-020", "class06-020"]
    assert all(row.known is None and not row.faults for row in rows)
