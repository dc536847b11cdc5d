"""The words of a record: read, written, refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.record import Entry, Record, RecordError, entries_text, read_entries, read_record

NUMBERS = st.integers(1, 999_999_999)
ENTRIES = st.one_of(
    st.lists(NUMBERS, min_size=2, max_size=2).map(lambda two: Entry(min(two), max(two))),
    st.builds(
        lambda layout, far, sheets: Entry(layout, layout, sheets=sheets, **far),
        NUMBERS,
        st.dictionaries(st.sampled_from(["step", "stroke"]), NUMBERS, max_size=1),
        st.none() | NUMBERS,
    ),
)


def test_every_form_is_read() -> None:
    """A layout, several, some sheets of one, steps and strokes of all its sheets and of some."""
    words = "1-3, 4: 1 sheet, 5: step 4, 7, 9: stroke 12"
    record = read_record(words, "6: step 3 of 2 sheets, 8: stroke 7 of 1 sheet")
    done = (Entry(1, 3), Entry(4, 4, None, 1), Entry(5, 5, 4), Entry(7, 7), Entry(9, 9, stroke=12))
    assert record == Record(done, (Entry(6, 6, 3, 2), Entry(8, 8, sheets=1, stroke=7)))


def test_no_words_say_nothing() -> None:
    """A record without words has no entries."""
    assert read_record() == Record() == read_record("", " ")


@given(st.lists(ENTRIES).map(tuple))
def test_what_is_written_reads_as_the_same(entries: tuple[Entry, ...]) -> None:
    """Entries to text and back are equal, and so is the text."""
    text = entries_text(entries)
    assert read_entries(text) == entries
    assert entries_text(read_entries(text)) == text


@pytest.mark.parametrize(
    ("words", "nearest"),
    [
        ("4 1 sheet", "4: 1 sheet"),
        ("4: sheet 1", "4: 1 sheet"),
        ("5 step 4", "5: step 4"),
        ("5: 4", "5: step 4"),
        ("5.4", "5: step 4"),
        ("5: Step 4", "5: step 4"),
        ("5: steps 1-4", "5: step 1 of 4 sheets"),
        ("6: step 3 on 1 sheet", "6: step 3 of 1 sheet"),
        ("6 Stroke 7", "6: stroke 7"),
        ("6: 1 sheet to stroke 7", "6: stroke 7 of 1 sheet"),
        ("6: 1 sheet to step 3", "6: step 3 of 1 sheet"),
        ("layout 6", "6"),
        ("3-1", "1-3"),
        ("1–3", "1-3"),
        ("1 to 3", "1-3"),
        ("2 and 3", "2, 3"),
        ("2;3 & 5", "2, 3, 5"),
        ("0", "1"),
        ("4: 0 sheets", "4: 1 sheet"),
        ("all", "1"),
        ("-3", "3"),
        ("1234567890", "123456789"),
        ("٤", "1"),
    ],
)
def test_anything_else_is_refused_with_the_nearest(words: str, nearest: str) -> None:
    """What does not read is shown with what would, and that does."""
    with pytest.raises(RecordError) as caught:
        read_entries(f"1, {words}")
    assert str(caught.value) == f"{words!r}; the nearest that reads is {nearest!r}"
    assert entries_text(read_entries(nearest)) == nearest


def test_all_that_does_not_read_is_told_at_once() -> None:
    """A comma too many is none of it."""
    with pytest.raises(RecordError) as caught:
        read_entries("1, x, 4 1 sheet,")
    assert str(caught.value).splitlines() == [
        "'x'; the nearest that reads is '1'",
        "'4 1 sheet'; the nearest that reads is '4: 1 sheet'",
    ]
    assert read_entries("1-3,, 5,") == (Entry(1, 3), Entry(5, 5))


@given(st.text())
def test_any_text_is_read_or_refused_with_words_that_read(text: str) -> None:
    """Whatever is typed, the answer is a record or an error with an entry that reads."""
    try:
        entries = read_entries(text)
    except RecordError as error:
        entries = read_entries(str(error).rsplit("'", 2)[1])
    assert read_entries(entries_text(entries)) == entries
