"""Prices: one way to read them and one to write them, wherever they stand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.prices import format_price, parse_price


@given(st.integers(0, 999_999_999))
def test_a_price_is_read_as_it_is_written(price: int) -> None:
    """There and back it is the same, with a comma, too."""
    assert parse_price(format_price(price)) == price
    assert parse_price(format_price(price).replace(".", ",")) == price


@pytest.mark.parametrize(
    "text", ["", "²", "1.²", ".5", "1.", "1.234", "12345678", "-1", "1 000", "2 in"]
)
def test_what_is_no_price(text: str) -> None:
    """Digits are those of prices: a raised two is none, though Python calls it a digit."""
    assert parse_price(text) is None
