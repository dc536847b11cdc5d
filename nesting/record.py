"""The record of a plan: which of its strokes are done, and which parts were spoilt.

It is written in a few words that are kept by hand beside the trimmer: ``1-3, 4: 1 sheet, 5: step 4``.
"""

import re
from dataclasses import dataclass

from nesting.errors import NestingError
from nesting.units import counted

_READS = re.compile(
    r"(?P<first>\d+)"
    r"(?: *- *(?P<last>\d+)"
    r"| *: *(?P<sheets>\d+) +sheets?"
    r"| *: *(?:step +(?P<step>\d+)|stroke +(?P<stroke>\d+))(?: +of +(?P<of>\d+) +sheets?)?)?",
    re.ASCII,
)
#: No layout, step or sheet has a number of more figures.
_MOST_FIGURES = 9


class RecordError(NestingError, ValueError):
    """Words that are no record, or none of this plan; a line for each has the nearest that reads."""


@dataclass(frozen=True, slots=True)
class Entry:
    """What is said of the layouts from ``first`` to ``last``: of one, or of all sheets of several.

    It goes up to a ``step``, or up to a ``stroke`` within one; neither means every step. ``sheets`` None
    means all the sheets that are cut alike.
    """

    first: int
    last: int
    step: int | None = None
    sheets: int | None = None
    stroke: int | None = None

    def __str__(self) -> str:
        if self.first != self.last:
            return f"{self.first}-{self.last}"
        sheets = "" if self.sheets is None else counted(self.sheets, "sheet")
        far = f"step {self.step}" if self.step else f"stroke {self.stroke}" if self.stroke else ""
        words = " of ".join(one for one in (far, sheets) if one)
        return f"{self.first}: {words}" if words else str(self.first)


@dataclass(frozen=True, slots=True)
class Record:
    """What was done of a plan, and what was spoilt.

    Of a layout that is ``done`` up to a step, that step is done, too. Of one that is ``spoilt`` at a
    step, the steps before it are done, and the parts in hand at that step are lost. A stroke is told in
    the same way: where one spoilt something, the part that it was made on is lost alone.
    """

    done: tuple[Entry, ...] = ()
    spoilt: tuple[Entry, ...] = ()


def read_record(done: str = "", spoilt: str = "") -> Record:
    """Read the words of a record; no words say nothing.

    Parameters
    ----------
    done
        What is done: ``1-3, 4: 1 sheet, 5: step 4``.
    spoilt
        What is spoilt, in the same words.

    Raises
    ------
    RecordError
        Something else was read.

    Examples
    --------
    >>> read_record("5: step 4", "6: step 3 of 1 sheet").spoilt
    (Entry(first=6, last=6, step=3, sheets=1, stroke=None),)
    >>> read_record("1-3, 4 1 sheet")
    Traceback (most recent call last):
    nesting.record.RecordError: '4 1 sheet'; the nearest that reads is '4: 1 sheet'
    """
    return Record(read_entries(done), read_entries(spoilt))


def read_entries(text: str) -> tuple[Entry, ...]:
    """Read the words for what is done, or for what is spoilt.

    Raises
    ------
    RecordError
        Something else was read.
    """
    entries, faults = [], []
    for words in filter(None, map(str.strip, text.split(","))):
        try:
            entries.append(_read_entry(words))
        except RecordError as error:
            faults.append(str(error))
    if faults:
        raise RecordError("\n".join(faults))
    return tuple(entries)


def entries_text(entries: tuple[Entry, ...]) -> str:
    """Write entries as they are read: they read as the same again.

    Examples
    --------
    >>> entries_text(read_entries("1 -3,4:1 sheet"))
    '1-3, 4: 1 sheet'
    """
    return ", ".join(map(str, entries))


def _read_entry(words: str) -> Entry:
    match = _READS.fullmatch(words)
    numbers = [int(one) for one in match.groups() if one] if match and _sensible(words) else []
    if match is None or not all(numbers) or not numbers:
        raise _refused(words, _nearest(words))
    first = numbers[0]
    if match["last"]:
        if numbers[1] < first:
            raise _refused(words, str(Entry(numbers[1], first)))
        return Entry(first, numbers[1])
    if match["step"] or match["stroke"]:
        step, stroke = (numbers[1] if match[word] else None for word in ("step", "stroke"))
        return Entry(first, first, step, numbers[2] if match["of"] else None, stroke)
    return Entry(first, first, None, numbers[1] if match["sheets"] else None)


def _refused(words: str, nearest: str) -> RecordError:
    """An error that shows what was read, cut short, and what would read."""
    read = words if len(words) <= 40 else f"{words[:39]}…"
    return RecordError(f"{read!r}; the nearest that reads is {nearest!r}")


def _sensible(words: str) -> bool:
    return all(len(digits) <= _MOST_FIGURES for digits in re.findall("[0-9]+", words))


def _nearest(words: str) -> str:
    """The entry that has the numbers of the words, taken by the words that stand beside them."""
    said = words.lower()
    numbers = [
        min(max(1, int(d[:_MOST_FIGURES])), 10**_MOST_FIGURES - 1)
        for d in re.findall("[0-9]+", said)
    ]
    if not numbers:
        return str(Entry(1, 1))
    if re.fullmatch(r"\d+(?:\s*(?:and|&|\+|;)\s*\d+)+", said, re.ASCII):
        return entries_text(tuple(Entry(number, number) for number in numbers))
    first, *others = numbers
    steps, sheets = re.search("st|cut|line", said), "sh" in said
    if re.match(r"\D*\d+\s*(?:-|–|—|\.\.|to\b)\s*\d", said) and len(numbers) == 2:
        return str(Entry(min(numbers), max(numbers)))
    if not others:
        return str(Entry(first, first))
    if steps or not sheets:
        of = others[1] if len(others) > 1 else None
        step_last = steps and sheets and of and said.find("sh") < steps.start()
        far, of = (of, others[0]) if step_last else (others[0], of)
        is_stroke = "stro" in said
        return str(Entry(first, first, None if is_stroke else far, of, far if is_stroke else None))
    return str(Entry(first, first, None, others[-1]))
