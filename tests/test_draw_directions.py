"""Which way the parts of a line read, by the Unicode Bidirectional Algorithm."""

import pytest

from nesting.draw.canvas.directions import directed


@pytest.mark.parametrize(
    ("line", "seen"),
    [
        ("", ""),
        ("pear 3 1/4 x 5", "pear 3 1/4 x 5"),
        ("crème ½ тест", "crème ½ тест"),
        ("אגס", "<אגס>"),
        ("אגס, 3 x 4", "3<אגס, > x 4"),
        ("אגס\N{LEFT-TO-RIGHT MARK}, 3 x 4", "<אגס>, 3 x 4"),
        ("שלום 12 אגסים", "< אגסים>12<שלום >"),
        ("שלום (יפה), plum", "<שלום (יפה)>, plum"),
        ("plum (יפה) 3", "plum (<יפה>) 3"),
        ("עברית 12,5% end", "12,5%<עברית > end"),
        ("عيد 25-3", "3<->25<عيد >"),
        ("تفاح\u0651 b", "<تفاح\u0651> b"),
    ],
)
def test_parts_stand_in_the_order_in_which_they_are_seen(line: str, seen: str) -> None:
    """What reads from the right is in < >; numbers within it read from the left, and follow on its left."""
    said = (f"<{part}>" if way == "rtl" else part for part, way in directed(line))
    assert "".join(said) == seen
