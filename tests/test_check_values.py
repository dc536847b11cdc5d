"""The most value of a sheet, against trying every cut."""

from functools import cache
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plans import inches

from nesting.checker import most_value
from nesting.checker.rules import rectangle_value


def brute_force(
    width: int,
    height: int,
    values: dict[tuple[int, int], int],
    cut_width: int,
    longest_cut: int | None,
) -> int:
    """The most value of a rectangle, trying every cut at every whole number."""

    @cache
    def most(width: int, height: int) -> int:
        best = values.get((width, height), 0)
        if longest_cut is None or height <= longest_cut:
            for at in range(1, width):
                best = max(best, most(at, height) + most(max(0, width - at - cut_width), height))
        if longest_cut is None or width <= longest_cut:
            for at in range(1, height):
                best = max(best, most(width, at) + most(width, max(0, height - at - cut_width)))
        return best

    return most(width, height)


sides = st.integers(1, 14)
some_values = st.dictionaries(
    st.tuples(st.integers(1, 9), st.integers(1, 9)), st.integers(0, 30), max_size=5
)


@settings(max_examples=300, deadline=None)
@given(sides, sides, some_values, st.integers(0, 3))
def test_most_value_is_exact(
    width: int, height: int, values: dict[tuple[int, int], int], cut_width: int
) -> None:
    """The dynamic programme finds what trying every cut finds."""
    assert most_value(width, height, values, cut_width) == brute_force(
        width, height, values, cut_width, None
    )


@settings(max_examples=300, deadline=None)
@given(sides, sides, some_values, st.integers(0, 2), st.integers(1, 14))
def test_most_value_with_short_cuts_is_never_too_low(
    width: int, height: int, values: dict[tuple[int, int], int], cut_width: int, longest: int
) -> None:
    """With a longest cut it lies between what can be cut and what could be without."""
    low = brute_force(width, height, values, cut_width, longest)
    found = most_value(width, height, values, cut_width, longest)
    assert found is not None
    assert low <= found <= brute_force(width, height, values, cut_width, None)


lengths = st.integers(3, 40)


@settings(max_examples=200, deadline=None)
@given(
    st.integers(40, 120),
    st.integers(40, 120),
    st.dictionaries(st.tuples(lengths, lengths), st.integers(0, 2000), min_size=1, max_size=8),
    st.integers(0, 3),
)
def test_fewer_cut_points_suffice(
    width: int, height: int, values: dict[tuple[int, int], int], cut_width: int
) -> None:
    """The highest points in each remainder find what all sums of lengths find."""
    all_points = most_value(width, height, values, cut_width, longest_cut=width + height)
    assert most_value(width, height, values, cut_width) == all_points


@pytest.mark.parametrize("seed", range(3))
def test_fewer_cut_points_suffice_on_a_whole_sheet(seed: int) -> None:
    """The same on a sheet of 12 x 12 in, with twelve pieces that may turn and a cut width."""
    rng = Random(seed)
    side, sixteenth = inches("12"), inches("1/16")
    values: dict[tuple[int, int], int] = {}
    for _ in range(12):
        width, height = rng.randint(16, 96), rng.randint(16, 112)
        for size in ((width, height), (height, width)):
            values[size[0] * sixteenth, size[1] * sixteenth] = width * height + rng.randint(0, 99)
    found = most_value(side, side, values, inches("1/64"))
    assert found == most_value(side, side, values, inches("1/64"), longest_cut=side)


def test_blanks_worth_nothing_add_no_lines_to_look_at() -> None:
    """Sizes without a value are as good as offcuts: a table with pinwheels stays small enough."""
    fine = {(inches(f"{k}/64"), inches(f"{k}/64")): 0 for k in range(20, 40)}
    bands = {(inches("3 3/4"), inches("1 3/4")): 1, (inches("1 3/4"), inches("3 3/4")): 1}
    sheet = inches("6"), inches("12")
    assert most_value(*sheet, bands | fine, stopped=True) == most_value(*sheet, bands, stopped=True)
    assert most_value(*sheet, fine, stopped=True) == 0


def test_a_longest_cut_that_no_sheet_reaches_adds_no_lines(monkeypatch: pytest.MonkeyPatch) -> None:
    """It changes nothing, so the fewer lines do; a sheet that is longer has a line at every sum."""
    values = {(inches(str(w / 16)), inches("5")): w for w in range(60, 75)}
    sheet = inches("12"), inches("11")
    monkeypatch.setattr(rectangle_value, "_MOST_CELLS", 100)
    assert most_value(*sheet, values, longest_cut=inches("12")) == most_value(*sheet, values)
    assert most_value(*sheet, values) is not None
    assert most_value(*sheet, values, longest_cut=inches("11")) is None


def test_longest_cut_matters() -> None:
    """Where no cut is short enough, nothing smaller than the sheet comes out of it."""
    assert most_value(10, 10, {(5, 10): 1, (10, 5): 1}, longest_cut=9) == 0
    assert most_value(10, 10, {(5, 10): 1, (10, 5): 1}, longest_cut=10) == 2


@pytest.mark.parametrize("seed", range(5))
def test_huge_values_are_exact(seed: int) -> None:
    """Values beyond 64 bits are added up as exactly as small ones."""
    rng = Random(seed)
    values = {(rng.randint(2, 9), rng.randint(2, 9)): rng.randint(1, 99) for _ in range(5)}
    scaled = {size: value * 10**30 + 1 for size, value in values.items()}
    found = most_value(20, 17, scaled)
    assert found == brute_force(20, 17, scaled, 0, None)


def test_known_counts() -> None:
    """Four of 4 1/4 x 5 1/2 in, three of 5 x 7 in, and six of 4 x 5 1/4 in come out of 12 x 12 in."""
    counts: list[tuple[str, str, int]] = [("4 1/4", "5 1/2", 4), ("5", "7", 3), ("4", "5 1/4", 6)]
    for width, height, count in counts:
        sides = inches(width), inches(height)
        both: dict[tuple[int, int], int] = {sides: 1, sides[::-1]: 1}
        assert most_value(inches("12"), inches("12"), both) == count
