"""The stash against plain Python: whatever is done in whatever order, both have the same in them."""

import tempfile
from copy import deepcopy
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from nesting.papers import BarcodeStrip, Face, Paper, Sheet
from nesting.stash import Stash, StashError, StashOffcut, read_table, write_table

NAMES = st.sampled_from(["plum dots", "pear toss"])
SIZES = st.tuples(st.integers(1, 3), st.integers(1, 3)).map(
    lambda size: (size[0] * 25_400_000, size[1] * 10_000_001)
)
EDGES = st.sampled_from(["left", "right", "top", "bottom"])
COUNTS = st.one_of(st.none(), st.integers(0, 4))


class InPlainPython(RuleBasedStateMachine):
    """A stash, and the same as dictionaries with a copy for every change."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.path = Path(self.folder.name) / "s.sqlite"
        self.stash = Stash(self.path)
        self.papers: dict[str, Paper] = {}
        self.sheets: dict[tuple[str, int, int], tuple[int | None, int | None]] = {}
        self.offcuts: dict[int, StashOffcut] = {}
        self.next = 1
        self.before: list[object] = []

    def teardown(self) -> None:
        """Close the file."""
        self.stash.close()
        self.folder.cleanup()

    def keep(self) -> None:
        """Remember how things were."""
        self.before.append(deepcopy((self.papers, self.sheets, self.offcuts)))

    @rule(name=NAMES, up=EDGES, buy=st.booleans(), strip=st.booleans())
    def say(self, name: str, up: str, buy: bool, strip: bool) -> None:
        """Say what a paper is like."""
        paper = Paper(
            name, (), buy, Face("one-way", up), barcode_strip=BarcodeStrip() if strip else None
        )  # type: ignore[arg-type]
        self.keep()
        self.stash.put_paper(paper, "said")
        self.papers[name] = paper

    @rule(name=NAMES, size=SIZES, count=COUNTS, price=COUNTS)
    def add(self, name: str, size: tuple[int, int], count: int | None, price: int | None) -> None:
        """Put whole sheets in."""
        if name not in self.papers:
            with pytest.raises(StashError, match="not in the stash"):
                self.stash.add_sheets(name, size, count, price)
            return
        self.keep()
        self.stash.add_sheets(name, size, count, price)
        have, cost = self.sheets.get((name, *size), (0, None))
        total = None if have is None or count is None else have + count
        self.sheets[name, *size] = total, cost if price is None else price

    @rule(name=NAMES, size=SIZES, count=st.integers(1, 3))
    def take(self, name: str, size: tuple[int, int], count: int) -> None:
        """Take whole sheets out, unless there are fewer."""
        have, cost = self.sheets.get((name, *size), (0, None))
        if (name, *size) not in self.sheets or (have is not None and have < count):
            with pytest.raises(StashError):
                self.stash.take_sheets(name, size, count)
            return
        self.keep()
        self.stash.take_sheets(name, size, count)
        self.sheets[name, *size] = None if have is None else have - count, cost

    @rule(
        name=NAMES,
        size=SIZES,
        top=EDGES,
        count=st.integers(1, 2),
        note=st.text("aé,;\"'", max_size=3),
    )
    def add_offcuts(
        self, name: str, size: tuple[int, int], top: str, count: int, note: str
    ) -> None:
        """Put offcuts in; no number is given twice."""
        offcut = StashOffcut(0, name, *size, top=top, note=note)  # type: ignore[arg-type]
        if name not in self.papers:
            with pytest.raises(StashError):
                self.stash.add_offcuts(offcut, count)
            return
        self.keep()
        for number in self.stash.add_offcuts(offcut, count):
            assert number >= self.next
            self.next = number + 1
            self.offcuts[number] = replace(offcut, number=number)

    @precondition(lambda self: self.offcuts)
    @rule(data=st.data())
    def take_offcut(self, data: st.DataObject) -> None:
        """Take one out."""
        number = data.draw(st.sampled_from(sorted(self.offcuts)))
        self.keep()
        self.stash.take_offcuts((number,))
        del self.offcuts[number]

    @precondition(lambda self: self.offcuts)
    @rule(data=st.data(), size=SIZES)
    def change_offcut(self, data: st.DataObject, size: tuple[int, int]) -> None:
        """Say anew how large one is."""
        number = data.draw(st.sampled_from(sorted(self.offcuts)))
        self.keep()
        new = replace(self.offcuts[number], width=size[0], height=size[1])
        self.stash.change_offcut(new)
        self.offcuts[number] = new

    @rule(old=NAMES, new=NAMES)
    def rename(self, old: str, new: str) -> None:
        """Give a paper another name."""
        if old not in self.papers or new in self.papers:
            with pytest.raises(StashError):
                self.stash.rename_paper(old, new)
            return
        self.keep()
        self.stash.rename_paper(old, new)
        self.papers[new] = replace(self.papers.pop(old), name=new)
        self.sheets = {
            (new if name == old else name, *size): has
            for (name, *size), has in self.sheets.items()  # type: ignore[misc]
        }
        self.offcuts = {
            number: replace(offcut, paper=new if offcut.paper == old else offcut.paper)
            for number, offcut in self.offcuts.items()
        }

    @precondition(lambda self: self.before)
    @rule()
    def undo(self) -> None:
        """Take the latest change back."""
        self.stash.undo()
        self.papers, self.sheets, self.offcuts = self.before.pop()  # type: ignore[misc]

    @rule()
    def open_anew(self) -> None:
        """Close the file and open it again."""
        self.stash.close()
        self.stash = Stash(self.path)

    @rule()
    def there_and_back(self) -> None:
        """Write everything as a table and read that into an empty stash."""
        text = write_table(self.stash)
        with Stash(
            Path(self.folder.name) / f"{len(list(Path(self.folder.name).iterdir()))}-copy"
        ) as copy:
            read_table(copy, text)
            assert (copy.papers(), copy.offcuts()) == (self.stash.papers(), self.stash.offcuts())
            assert write_table(copy) == text
            assert read_table(copy, text) == 0

    @invariant()
    def same(self) -> None:
        """Both have the same in them."""
        papers = self.stash.papers()
        assert {p.name: replace(p, sheets=()) for p in papers} == self.papers
        sheets = {(p.name, s.width, s.height): (s.have, s.price) for p in papers for s in p.sheets}
        assert sheets == self.sheets
        assert {offcut.number: offcut for offcut in self.stash.offcuts()} == self.offcuts
        for name in self.papers:
            there = self.stash.at_hand(name)
            assert there is not None
            assert sum(s.have or 0 for s in there.sheets if s.offcut) == sum(
                offcut.paper == name for offcut in self.offcuts.values()
            )


InPlainPython.TestCase.settings = settings(max_examples=25, stateful_step_count=30, deadline=None)
TestInPlainPython = InPlainPython.TestCase


def test_an_earlier_change_is_undone_unless_its_rows_have_changed(tmp_path: Path) -> None:
    """An entry is undone by number; one that a later one builds on is refused; an undoing is undone."""
    with Stash(tmp_path / "s.sqlite") as stash:
        stash.put_paper(Paper("plum dots", (Sheet(1, 1, 2), Sheet(2, 2, 2))), "a paper")
        stash.add_sheets("plum dots", (1, 1), 3)
        stash.add_sheets("plum dots", (2, 2), 3, why="a gift")
        stash.undo(2)
        assert [sheet.have for sheet in stash.paper("plum dots").sheets] == [5, 2]
        with pytest.raises(StashError, match="undone already"):
            stash.undo(2)
        with pytest.raises(StashError, match="changed since"):
            stash.undo(1)
        with pytest.raises(StashError, match="no entry 9"):
            stash.undo(9)
        stash.undo(4)
        assert [sheet.have for sheet in stash.paper("plum dots").sheets] == [5, 5]
        assert [entry.undone for entry in stash.history()] == [False, False, False, True, False]
        assert stash.history()[2].why == "a gift"
