"""Prices as people write them, in hundredths of whatever money is meant."""

import re

_PRICE = re.compile(r"([0-9]{1,7})(?:[.,]([0-9]{1,2}))?")


def parse_price(text: str) -> int | None:
    """Read a price without a sign of money, in hundredths; None where the text is none.

    Examples
    --------
    >>> parse_price("2"), parse_price("1,5"), parse_price("0.95"), parse_price("1.205")
    (200, 150, 95, None)
    """
    match = _PRICE.fullmatch(text)
    return None if match is None else 100 * int(match[1]) + int((match[2] or "").ljust(2, "0"))


def format_price(price: int) -> str:
    """Write a price in hundredths as it is read.

    Examples
    --------
    >>> format_price(150)
    '1.50'
    """
    return f"{price // 100}.{price % 100:02d}"
