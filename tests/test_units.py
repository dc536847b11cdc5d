"""Lengths: what is read, what is refused, how they are printed back."""

import doctest
import importlib
from collections.abc import Iterator
from contextlib import suppress
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

import nesting
from nesting.typed_lengths import LengthError, parse_length, parse_point, parse_size
from nesting.units import (
    NANOMETRES,
    Unit,
    format_length,
    format_size,
    neighbouring_marks,
    with_unit,
)

INCH = 25_400_000
SIXTY_FOURTH = 396_875
HUNDREDTH_MM = 10_000

#: ISO 216 trimmed sizes, and ANSI/ASME Y14.1 size A, as written, with what they are in nm.
STANDARD_SIZES = {
    "297 x 420 mm": (297_000_000, 420_000_000),  # ISO A3
    "210 x 297 mm": (210_000_000, 297_000_000),  # ISO A4
    "148 x 210 mm": (148_000_000, 210_000_000),  # ISO A5
    "10.5 x 14.8 cm": (105_000_000, 148_000_000),  # ISO A6
    "74 x 105 mm": (74_000_000, 105_000_000),  # ISO A7
    "176 x 250 mm": (176_000_000, 250_000_000),  # ISO B5
    "125 x 176 mm": (125_000_000, 176_000_000),  # ISO B6
    "8 1/2 x 11 in": (215_900_000, 279_400_000),  # ANSI A
    "11 x 17 in": (279_400_000, 431_800_000),  # ANSI B
}


def modules_with_examples() -> Iterator[str]:
    """Name every module whose docstrings show something that can be run."""
    package = Path(nesting.__file__).parent
    for path in package.rglob("*.py"):
        if ">>> " in path.read_text(encoding="utf-8"):
            parts = path.relative_to(package.parent).with_suffix("").parts
            yield ".".join(parts).removesuffix(".__init__")


units = st.sampled_from(["in", "mm", "cm"])


@pytest.mark.parametrize(
    "text",
    [
        "4 1/4",
        "4-1/4",
        "4 - 1/4",
        "4–1/4",
        "4.25",
        "4,25",
        "04.250",
        "17/4",
        "4¼",
        "4 ¼",
        "4-¼",
        "4 1⁄4",
        "4\u00a01/4",
        "  4\t1 / 4 ",
        "4 2/8",
        '4 1/4"',
        "4¼″",
        "4 1/4 ”",
        "4.25''",
        "4.25’’",
        "4.25in",
        "4.25 IN.",
        "4 1/4 inch",
        "4 1/4 inches",
        "107.95 mm",
        "107,95mm",
        "10.795 cm",
        "10.795 CM",
    ],
)
def test_every_form_of_a_length_is_the_same_length(text: str) -> None:
    """Four and a quarter inches are 107 950 000 nm, however they are written."""
    assert parse_length(text, "in") == 107_950_000


@pytest.mark.parametrize(
    ("text", "nanometres"),
    [
        ("½", 12_700_000),
        (".5", 12_700_000),
        (",5", 12_700_000),
        ("1/64", 396_875),
        ("0.015625", 396_875),
        ("0,125", 3_175_000),
        ("¾ in", 19_050_000),
        ("⅛", 3_175_000),
        ("5⅞", 149_225_000),
        ("0", 0),
        ("12", 304_800_000),
        ("1000 mm", 1_000_000_000),
    ],
)
def test_short_forms_are_read(text: str, nanometres: int) -> None:
    """Fractions by themselves, decimals without a zero and whole numbers are lengths too."""
    assert parse_length(text, "in") == nanometres


def test_the_inch_is_that_of_1959() -> None:
    """One inch is 25.4 mm exactly (international yard and pound agreement, 1959)."""
    assert parse_length("1", "in") == parse_length("25.4", "mm") == parse_length("2.54", "cm")
    assert NANOMETRES == {"in": 25_400_000, "mm": 1_000_000, "cm": 10_000_000}


def test_ruler_marks_are_whole_nanometres() -> None:
    """The finest marks of both systems are exact, so that fits are exact."""
    assert parse_length("1/64", "in") == SIXTY_FOURTH
    assert parse_length("0.01", "mm") == HUNDREDTH_MM
    assert 3 * parse_length("4", "in") == parse_length("12", "in")


@pytest.mark.parametrize(("unit", "nanometres"), [("in", 127_000_000), ("mm", 5_000_000)])
def test_a_text_without_unit_takes_the_unit_of_the_file(unit: Unit, nanometres: int) -> None:
    """The default unit holds where a text has none, and only there."""
    assert parse_length("5", unit) == nanometres
    assert parse_length("5 cm", unit) == 50_000_000


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "in",
        "four",
        "4 1",
        "4.",
        ".",
        "4..5",
        "4.2.5",
        "1.000,5",
        "+4",
        "4 -",
        "4/",
        "/4",
        "1/4/2",
        "4 1/4 1/4",
        "4.5 1/4",
        "4²",
        "4¹/4",
        "1e3",
        "1_000",
        "0x10",
        "nan",
        "inf",
        "4 mm in",
        "4 x 5",
        "4;",
        "4\n5",
        "≈3.18",
        "9" * 5000,
        "1/" + "9" * 5000,
        "0." + "1" * 100_000,
    ],
)
def test_what_is_no_length_is_refused_in_one_short_sentence(text: str) -> None:
    """The message has what was read and examples of what would do, on one line."""
    with pytest.raises(LengthError) as caught:
        parse_length(text, "in")
    assert caught.value.read == text
    assert "expected a length such as 4 1/4, 4-1/4, 4.25, 17/4, 4¼, 108 mm" in str(caught.value)
    assert len(str(caught.value)) < 220
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("1/0", "a fraction whose lower number is not zero"),
        ("4 1/0 in", "a fraction whose lower number is not zero"),
        ("4 5/4", "a fraction of less than one after a whole number"),
        ("4 4/4", "a fraction of less than one after a whole number"),
        ("51/2", "25 1/2, or 5 1/2"),
        ("11/2 in", "5 1/2, or 1 1/2"),
        ("121/16", "7 9/16, or 12 1/16"),
        ("24/8", "3, or 2 4/8"),
        ("1,000", "a decimal point (1.000) or no separator of thousands (1000)"),
        ("4,125 in", "a decimal point (4.125) or no separator of thousands (4125)"),
        ("100 000 m", "a length such as 4 1/4, 4-1/4, 4.25, 17/4, 4¼, 108 mm or 10.8 cm"),
        ("100001 mm", "a length of at most 100 metres"),
        ("1 ft", "inches, of which a foot has 12"),
        ("1 1/2'", "inches, of which a foot has 12"),
        ("1' 2 1/2\"", "inches, of which a foot has 12"),
    ],
)
def test_lengths_that_may_be_slips_are_refused(text: str, expected: str) -> None:
    """Each slip has a sentence of its own that says what would do."""
    with pytest.raises(LengthError) as caught:
        parse_length(text, "in")
    assert str(caught.value) == f"{text!r}; expected {expected}"
    assert caught.value.expected == expected


@pytest.mark.parametrize("text", ["1/3", "4 1/7", "0.00000001", "0.0000001 mm", "1/3 mm"])
def test_a_length_that_is_not_whole_nanometres_is_refused(text: str) -> None:
    """A rounded length could hide a misfit, so there is no rounding."""
    with pytest.raises(LengthError, match=r"a length that a ruler shows exactly, such as "):
        parse_length(text, "in")


@pytest.mark.parametrize(
    ("text", "unit", "nearest"),
    [
        ("1/3", "in", "21/64 in (the nearest 64th)"),
        ("4 1/7", "in", "4 9/64 in (the nearest 64th)"),
        ("1/3", "mm", "0.33 mm (the nearest 0.01 mm)"),
        ("1/3", "cm", "0.333 cm (the nearest 0.01 mm)"),
        ("1/3 mm", "in", "0.33 mm (the nearest 0.01 mm)"),
        ("0.00000001", "in", "1/64 in (the nearest 64th)"),
    ],
)
def test_the_nearest_length_of_a_ruler_is_offered(text: str, unit: Unit, nearest: str) -> None:
    """A card maker is told a length to write instead, in the unit it was written in."""
    with pytest.raises(LengthError) as caught:
        parse_length(text, unit)
    expected = f"a length that a ruler shows exactly, such as {nearest}"
    assert caught.value.expected == expected
    assert parse_length(nearest.partition(" (")[0], "cm") > 0


@pytest.mark.parametrize("text", ["-4", "-1/4", "- 4 1/4 in", "−4.25", "-1/3"])
def test_a_length_below_zero_says_what_is_needed(text: str) -> None:
    """A minus is understood, and refused in words that fit the key."""
    for or_zero, needs in ((True, "zero or more"), (False, "more than zero")):
        with pytest.raises(LengthError) as caught:
            parse_length(text, "in", or_zero=or_zero)
        assert caught.value.expected == f"a length of {needs}"


def test_zero_is_a_length_only_where_it_will_do() -> None:
    """A reveal may be zero, a circle may not."""
    assert parse_length("0 mm", "in") == 0
    with pytest.raises(LengthError, match="a length of more than zero"):
        parse_length("0 mm", "in", or_zero=False)


def test_the_longest_length_is_a_hundred_metres() -> None:
    """A hundred metres pass; one nanometre more does not."""
    assert parse_length("10000 cm", "in") == 100_000_000_000
    with pytest.raises(LengthError, match="at most 100 metres"):
        parse_length("100000.000001 mm", "in")


@pytest.mark.parametrize(
    "text",
    [
        "4 1/4 x 5 1/2",
        "4 1/4x5 1/2",
        "4 1/4 X 5 1/2",
        "4¼ × 5½",
        "4.25×5.5",
        "4-1/4 x 5-1/2",
        "17/4 x 5.5",
        '4 1/4" x 5 1/2"',
        "4.25 in x 5.5 in",
        "4 1/4 x 5 1/2 in",
        "107.95 x 139.7 mm",
        "107.95 mm x 13.97 cm",
        "10.795 x 13,97 cm",
        " 4 1/4  x\t5 1/2 ",
    ],
)
def test_every_form_of_a_size_is_the_same_size(text: str) -> None:
    """Width stands first; a unit written once holds for both lengths."""
    assert parse_size(text, "in") == (107_950_000, 139_700_000)


@pytest.mark.parametrize(("text", "size"), STANDARD_SIZES.items())
@pytest.mark.parametrize("unit", ["in", "mm", "cm"])
def test_standard_sizes_are_exact(text: str, size: tuple[int, int], unit: Unit) -> None:
    """Sizes of ISO 216 and ANSI/ASME Y14.1 are whole nanometres whatever the file's unit."""
    assert parse_size(text, unit) == size


def test_each_iso_size_is_half_the_one_before_rounded_down() -> None:
    """ISO 216 halves the longer side and drops the half millimetre: A4 cut in two is not A5."""
    a3, a4, a5, a6 = (
        parse_size(text, "mm") for text in ("297 x 420", "210 x 297", "148 x 210", "105 x 148")
    )
    for (width, height), smaller in [(a3, a4), (a4, a5), (a5, a6)]:
        half = height // 2
        assert smaller == (half - half % 1_000_000, width)
    assert format_length(a4[1] // 2, "mm") == "148.5"


def test_a_size_may_be_written_as_it_is_said() -> None:
    """``by`` parts two lengths as the x does; feet are asked about in a size, too."""
    assert parse_size("4 1/4 by 5 1/2 in", "mm") == parse_size("4 1/4 x 5 1/2", "in")
    with pytest.raises(LengthError, match="inches, of which a foot has 12"):
        parse_size("1 ft x 12 in", "in")


def test_two_lengths_with_units_of_their_own_keep_them() -> None:
    """A size may mix units, and each length is read in its own."""
    assert parse_size("4 in x 100 mm", "cm") == (101_600_000, 100_000_000)


@pytest.mark.parametrize(
    ("text", "lengths"),
    [
        ("A3", "297 x 420 mm"),
        ("a4", "210 x 297 mm"),
        (" A5 ", "148 x 210 mm"),
        ("A6", "105 x 148 mm"),
        ("A7", "74 x 105 mm"),
        ("Letter", "8 1/2 x 11 in"),
    ],
)
@pytest.mark.parametrize("unit", ["in", "mm", "cm"])
def test_sizes_of_the_standards_have_a_name(text: str, lengths: str, unit: Unit) -> None:
    """ISO 216 and ANSI/ASME Y14.1 A lie upright under their names, whatever the file's unit."""
    assert parse_size(text, unit) == parse_size(lengths, unit)


@pytest.mark.parametrize(
    "text",
    [
        "A",
        "A 4",
        "4A",
        "",
        "4",
        "x",
        "4 x",
        "x 4",
        "4 x 5 x 6",
        "4 * 5",
        "mm x 4",
    ],
)
def test_what_is_not_two_lengths_is_no_size(text: str) -> None:
    """A size has exactly two lengths with an x between them."""
    with pytest.raises(LengthError) as caught:
        parse_size(text, "in")
    assert str(caught.value) == (
        f"{text!r}; expected a size, width first, such as 4 1/4 x 5 1/2, 105 x 148 mm, A4 or letter"
    )


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("a4 landscape", "A4, which stands upright, or 297 x 210 mm for one that lies"),
        ("US Letter", "letter, which stands upright, or 11 x 8 1/2 in for one that lies"),
    ],
)
def test_a_name_beside_other_words_is_told_as_it_is_typed(text: str, expected: str) -> None:
    """A sheet that lies is typed in numbers."""
    with pytest.raises(LengthError) as caught:
        parse_size(text, "mm")
    assert caught.value.expected == expected


@pytest.mark.parametrize("text", ["0 x 5", "5 x 0", "0 x 0 mm", "-4 x 5", "4 x -1/2"])
def test_a_size_of_nothing_is_refused(text: str) -> None:
    """Both lengths of a size are more than zero."""
    with pytest.raises(LengthError, match="two lengths of more than zero"):
        parse_size(text, "in")


@pytest.mark.parametrize("text", ["4 x five", "-4 x 5", "4 x 1/0", "1,000 x 5", "4 x 1/3"])
def test_a_size_with_a_wrong_length_says_the_whole_text(text: str) -> None:
    """A fault in one of the two lengths is told with the text as it stands in the file."""
    with pytest.raises(LengthError) as caught:
        parse_size(text, "in")
    assert str(caught.value).startswith(f"{text!r}; expected ")


def test_a_place_may_be_at_the_very_edge() -> None:
    """A place is two lengths, and unlike a size either may be zero."""
    assert parse_point("0 x 2 1/8", "in") == (0, 53_975_000)
    with pytest.raises(LengthError, match="two lengths of zero or more"):
        parse_point("0 x -2", "in")
    with pytest.raises(LengthError, match="a place, from the left first"):
        parse_point("2 1/8", "in")


@given(st.integers(0, 64 * 200))
def test_sixty_fourths_come_back_from_inches(count: int) -> None:
    """Every multiple of 1/64 in is printed so that it reads as itself, without decimals."""
    length = count * SIXTY_FOURTH
    text = format_length(length, "in")
    assert parse_length(text, "in") == length
    assert not set(text) - set("0123456789 /")


@given(st.integers(0, 500_000), units)
@example(10_855, "cm")
@example(12_700, "in")
def test_hundredths_of_a_millimetre_come_back_in_every_unit(count: int, unit: Unit) -> None:
    """Every multiple of 0.01 mm is printed so that it reads as itself, never rounded."""
    length = count * HUNDREDTH_MM
    assert parse_length(format_length(length, unit), unit) == length


@given(st.integers(0, 10**11), units)
def test_a_printed_length_is_exact_or_says_that_it_is_not(length: int, unit: Unit) -> None:
    """A length that cannot be printed in full has ≈ before it, and is off by at most 0.005 mm."""
    text = format_length(length, unit)
    if text.startswith("≈"):
        assert abs(parse_length(text[1:], unit) - length) <= HUNDREDTH_MM // 2
    else:
        assert parse_length(text, unit) == length


@given(st.integers(0, 10**9), st.integers(1, 63), st.sampled_from(["", " in", '"', " inches"]))
def test_the_ways_to_write_a_mixed_number_agree(whole: int, top: int, ending: str) -> None:
    """A mixed number with a blank, with a hyphen, and as a decimal are one length."""
    assume(whole <= 3000)
    value = whole + Fraction(top, 64)
    texts = [f"{whole} {top}/64", f"{whole}-{top}/64", f"{float(value)}"]
    assert {parse_length(text + ending, "in") for text in texts} == {value * INCH}


@given(st.text(max_size=30), units)
@example("4 1/4 x", "in")
@example("1/0 x 1/0", "mm")
def test_any_text_is_read_or_refused(text: str, unit: Unit) -> None:
    """No text brings anything but a length or a LengthError, and no length is below nothing."""
    for parse in (parse_length, parse_size, parse_point):
        with suppress(LengthError):
            read = parse(text, unit)
            assert min(read if isinstance(read, tuple) else (read,)) >= 0


@pytest.mark.parametrize(
    ("length", "unit", "text"),
    [
        (133_350_000, "in", "5 1/4"),
        (12_700_000, "in", "1/2"),
        (304_800_000, "in", "12"),
        (0, "in", "0"),
        (SIXTY_FOURTH, "in", "1/64"),
        (2_540_000, "in", "0.1"),
        (122_936_000, "in", "4.84"),
        (148_000_000, "in", "148 mm"),
        (148_500_000, "mm", "148.5"),
        (100_000_000, "mm", "100"),
        (100_000_000, "cm", "10"),
        (3_175_000, "mm", "≈3.18"),
        (3_175_000, "cm", "≈0.318"),
        (108_550_000, "cm", "10.855"),
        (1, "in", "≈0 mm"),
    ],
)
def test_lengths_are_printed_the_way_the_trade_writes_them(
    length: int, unit: Unit, text: str
) -> None:
    """Inches are reduced fractions, millimetres decimals; what inches cannot say is in mm."""
    assert format_length(length, unit) == text


@pytest.mark.parametrize(
    ("size", "unit", "text", "whole"),
    [
        ((107_950_000, 139_700_000), "in", "4 1/4 x 5 1/2", "4 1/4 x 5 1/2 in"),
        ((105_000_000, 148_500_000), "mm", "105 x 148.5", "105 x 148.5 mm"),
        ((105_000_000, 148_500_000), "cm", "10.5 x 14.85", "10.5 x 14.85 cm"),
        ((105_000_000, 148_000_000), "in", "105 x 148 mm", "105 x 148 mm"),
        ((105_000_000, 127_000_000), "in", "105 mm x 5 in", "105 mm x 5 in"),
        ((127_000_000, 105_000_000), "in", "5 in x 105 mm", "5 in x 105 mm"),
    ],
)
def test_a_printed_size_has_each_unit_once(
    size: tuple[int, int], unit: Unit, text: str, whole: str
) -> None:
    """A size never reads "105 mm in", nor lets the unit of one length pass for the other's."""
    assert format_size(*size, unit) == text
    assert with_unit(text, unit) == whole


@given(st.integers(1, 10**5), st.integers(1, 10**5), st.booleans(), st.booleans(), units)
def test_a_printed_size_reads_as_itself(
    width: int, height: int, wide: bool, high: bool, unit: Unit
) -> None:
    """Sizes come back whatever mix of sixty-fourths and hundredths they are."""
    size = (
        width * (SIXTY_FOURTH if wide else HUNDREDTH_MM),
        height * (SIXTY_FOURTH if high else HUNDREDTH_MM),
    )
    text = format_size(*size, unit)
    assume("≈" not in text)
    assert parse_size(text, unit) == size
    assert parse_size(with_unit(text, unit), "cm") == size


@given(st.integers(0, 10**9), st.integers(1, 10**8))
def test_marks_enclose_a_length(length: int, marks: int) -> None:
    """The marks about a length are one apart, or both the length itself where it is on a mark."""
    below, above = neighbouring_marks(length, marks)
    assert below % marks == above % marks == 0
    if length % marks:
        assert below < length < above == below + marks
    else:
        assert below == above == length


@pytest.mark.parametrize("name", sorted(modules_with_examples()))
def test_the_examples_in_the_docstrings_run(name: str) -> None:
    """What the docstrings of the whole package show is what happens."""
    failed, tried = doctest.testmod(importlib.import_module(name))
    assert tried
    assert not failed


def test_a_unit_after_the_first_length_only_is_refused() -> None:
    """Nobody knows whether 14,8 cm x 105 means cm twice: a guess would ruin paper."""
    with pytest.raises(LengthError, match="after the second length, for both, or after each"):
        parse_size("14,8 cm x 105", "mm")
