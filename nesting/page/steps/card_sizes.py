"""Sizes that cards are sold and cut in, by the names they go by; upright, width first.

The trade's sizes are those of makers' and sellers' own tables; the others are ISO 216's, and parts
of its A4. Two sizes share some of the names, so each stands with its measures.
"""

from collections.abc import Iterator

from nesting.typed_lengths import TWO_SIZES, parse_size
from nesting.units import NAMED_SIZES, Unit, format_size

#: Sold by the inch.
_TRADE = {
    "A2": TWO_SIZES["A2"][0],
    "A7": TWO_SIZES["A7"][0],
    "A6 of the trade": TWO_SIZES["A6"][0],
    "A1, also 4-bar": TWO_SIZES["A1"][0],
    "A8": TWO_SIZES["A8"][0],
    "A9": TWO_SIZES["A9"][0],
    "#10": parse_size("3 7/8 x 9 1/4", "in"),
    "slimline": parse_size("3 1/2 x 8 1/2", "in"),
    "mini slimline": parse_size("3 1/2 x 6 1/4", "in"),
    "mini slimline, shorter": parse_size("3 1/2 x 6", "in"),
    "mini slimline, narrower": parse_size("3 1/4 x 6 1/4", "in"),
    "4 by 6": parse_size("4 x 6", "in"),
    "square 5": parse_size("5 x 5", "in"),
    "square 5 1/4": parse_size("5 1/4 x 5 1/4", "in"),
    "square 5 1/2": parse_size("5 1/2 x 5 1/2", "in"),
    "square 6": parse_size("6 x 6", "in"),
}
_METRIC = {
    "A6 of ISO": NAMED_SIZES["A6"],
    "a quarter of A4": parse_size("105 x 148.5", "mm"),
    "A5": NAMED_SIZES["A5"],
    "A7 of ISO": NAMED_SIZES["A7"],
    "a third of A4": parse_size("99 x 210", "mm"),
    "square 144 mm": parse_size("144 x 144", "mm"),
    "square 148 mm": parse_size("148 x 148", "mm"),
}


def size_text(width: int, height: int, of: Unit, unit: Unit) -> str:
    """A size as a file in ``unit`` has it: with its own unit, where that is another."""
    text = format_size(width, height, of)
    return text if of == unit else f"{text} {of}"


def named_sizes(unit: Unit) -> Iterator[tuple[str, dict[str, str]]]:
    """Groups of sizes, those in the file's unit first: what is written of each, and its words."""
    own: Unit = "cm" if unit == "cm" else "mm"
    groups: list[tuple[str, dict[str, tuple[int, int]], Unit]] = [
        ("sold by the inch", _TRADE, "in"),
        ("ISO 216", _METRIC, own),
    ]
    for words, sizes, of in groups if unit == "in" else groups[::-1]:
        yield (
            words,
            {
                size_text(*size, of, unit): f"{name}: {format_size(*size, of)} {of}"
                for name, size in sizes.items()
            },
        )


def laid_down(size: str) -> str:
    """A size as written, lying on its side.

    Examples
    --------
    >>> laid_down("4 1/4 x 5 1/2"), laid_down("105 x 148 mm")
    ('5 1/2 x 4 1/4', '148 x 105 mm')
    """
    measures, space, unit = (
        size.rpartition(" ") if size.endswith((" in", " mm")) else (size, "", "")
    )
    width, _, height = measures.partition(" x ")
    return f"{height} x {width}{space}{unit}"
