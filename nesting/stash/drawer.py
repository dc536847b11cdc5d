"""What lies in the drawer: papers, whole sheets by count and size, offcuts by number."""

import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, replace
from pathlib import Path
from types import TracebackType
from typing import Self

from nesting.nearest import Nearest
from nesting.papers import Paper, Sheet
from nesting.stash.database import StashError, connect, transaction
from nesting.stash.journal import JournalEntry, Row, Writer, entries, take_back
from nesting.stash.offcuts import StashOffcut, offcut_told, offcuts_told
from nesting.stash.rows import add_offcut, find_capitals, read_paper, write_paper, write_sheet
from nesting.typed_lengths import exact_size
from nesting.units import or_plenty

#: More of anything than that is a slip.
_MOST = 999_999
#: No blade takes more for its own width.
_WIDEST_CUT = 5_000_000


class Stash:
    """A stash that is open; every change is one transaction, on record with the words for it.

    Raises
    ------
    StashError
        The file is no stash, or cannot be used.
    """

    def __init__(self, path: str | Path) -> None:
        self.path = Path(path)
        self.connection = connect(self.path)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        self.connection.close()

    @contextmanager
    def writing(self) -> Iterator[Writer]:
        """Change rows, all or none, and enter them in the journal."""
        with transaction(self.connection, self.path):
            yield Writer(self.connection)

    def papers(self) -> tuple[Paper, ...]:
        """Every paper with its whole sheets, by name."""
        sheets: defaultdict[str, list[sqlite3.Row]] = defaultdict(list)
        for row in self.connection.execute("SELECT * FROM sheets ORDER BY width DESC, height DESC"):
            sheets[row["paper"]].append(row)
        rows = self.connection.execute("SELECT * FROM papers ORDER BY name").fetchall()
        return tuple(read_paper(row, sheets[row["name"]]) for row in rows)

    def paper(self, name: str) -> Paper:
        """The paper of that name, with its whole sheets.

        Raises
        ------
        StashError
            There is none; the message has the nearest name.
        """
        row = self.connection.execute("SELECT * FROM papers WHERE name = ?", (name,)).fetchone()
        if row is None:
            names = [one[0] for one in self.connection.execute("SELECT name FROM papers")]
            known = Nearest().words(name, names) if names else "there is none yet"
            raise StashError(f"paper {name!r} is not in the stash; {known}")
        sheets = self.connection.execute(
            "SELECT * FROM sheets WHERE paper = ? ORDER BY width DESC, height DESC", (name,)
        )
        return read_paper(row, sheets)

    def offcuts(self, paper: str | None = None) -> tuple[StashOffcut, ...]:
        """The offcuts of a paper, or of all, by number."""
        where, values = ("", ()) if paper is None else ("WHERE paper = ?", (paper,))
        rows = self.connection.execute(f"SELECT * FROM offcuts {where} ORDER BY number", values)  # noqa: S608 - no text of the user's
        return tuple(StashOffcut(**row) for row in rows)

    def offcut(self, number: int) -> StashOffcut:
        """The offcut of that number.

        Raises
        ------
        StashError
            There is none.
        """
        row = self.connection.execute(
            "SELECT * FROM offcuts WHERE number = ?", (number,)
        ).fetchone()
        if row is None:
            raise StashError(f"there is no offcut {number} in the stash")
        return StashOffcut(**row)

    def at_hand(self, name: str) -> Paper | None:
        """A paper with all that there is of it to cut from; None where it is not in the stash.

        Offcuts lie as the sheets do, and those alike are one entry with the numbers of all. Where there
        are only offcuts, a size of whole sheets is added, none at hand nor to buy: what is lacking is
        counted in sheets of that size.
        """
        if name not in (row[0] for row in self.connection.execute("SELECT name FROM papers")):
            return None
        paper = self.paper(name)
        alike: dict[Sheet, list[str]] = {}
        for offcut in self.offcuts(name):
            sheet = offcut.on_sheet(paper)
            alike.setdefault(replace(sheet, name=None), []).append(str(offcut.number))
        offcuts = tuple(
            replace(sheet, have=len(numbers), name=", ".join(numbers))
            for sheet, numbers in alike.items()
        )
        if offcuts and not paper.sheets:
            return replace(paper, sheets=(_whole_round(paper, offcuts), *offcuts), buy=False)
        return replace(paper, sheets=paper.sheets + offcuts)

    def put_paper(self, paper: Paper, what: str, why: str = "") -> None:
        """Put a paper on record, or what is said of it anew, with its sizes and counts of sheets.

        Raises
        ------
        StashError
            The name of another differs in capitals alone.
        """
        with self.writing() as writer:
            _refuse(find_capitals(writer, paper.name))
            write_paper(writer, paper)
            for sheet in paper.sheets:
                write_sheet(writer, paper.name, sheet)
            writer.enter(what, why)

    def rename_paper(self, old: str, new: str, why: str = "") -> None:
        """Give a paper another name, with all that there is of it.

        Raises
        ------
        StashError
            There is no such paper, or another has the name, in whichever capitals.
        """
        with self.writing() as writer:
            paper = self.paper(old)
            if writer.row("papers", (new,)) is not None:
                raise StashError(f"there is a paper {new} in the stash already")
            _refuse(find_capitals(writer, new, old))
            write_paper(writer, replace(paper, name=new))
            for offcut in self.offcuts(old):
                writer.put("offcuts", asdict(replace(offcut, paper=new)))
            for sheet in paper.sheets:
                write_sheet(writer, new, sheet)
                writer.remove("sheets", (old, sheet.width, sheet.height))
            writer.remove("papers", (old,))
            writer.enter(f"{old} is now called {new}", why)

    def forget_paper(self, name: str, why: str = "") -> None:
        """Take a paper off the record.

        Raises
        ------
        StashError
            There is something of it.
        """
        with self.writing() as writer:
            paper = self.paper(name)
            if any(sheet.have != 0 for sheet in paper.sheets) or self.offcuts(name):
                raise StashError(f"there is still some {name} in the stash; take that first")
            for sheet in paper.sheets:
                writer.remove("sheets", (name, sheet.width, sheet.height))
            writer.remove("papers", (name,))
            writer.enter(f"{name} is no longer kept", why)

    def add_sheets(
        self,
        paper: str,
        size: tuple[int, int],
        count: int | None,
        price: int | None = None,
        why: str = "",
    ) -> None:
        """Put whole sheets in; None is plenty."""
        with self.writing() as writer:
            self.paper(paper)
            there = self._sheet(writer, paper, size)
            before = 0 if there is None else there["count"]
            have = None if count is None or before is None else int(before) + count
            if have is not None and have > _MOST:
                raise StashError(f"{have} sheets of {paper}; expected at most {_MOST}")
            known = None if there is None else there["price"]
            cost = price if price is not None or known is None else int(known)
            write_sheet(writer, paper, Sheet(*size, have, cost))
            many = or_plenty(count)
            writer.enter(f"{paper}: {many} of {exact_size(*size)} put in", why)

    def take_sheets(self, paper: str, size: tuple[int, int], count: int, why: str = "") -> None:
        """Take whole sheets out.

        Raises
        ------
        StashError
            There are fewer.
        """
        with self.writing() as writer:
            self.paper(paper)
            self.take_rows(writer, paper, size, count)
            writer.enter(f"{paper}: {count} of {exact_size(*size)} taken", why)

    def take_rows(self, writer: Writer, paper: str, size: tuple[int, int], count: int) -> None:
        """Take whole sheets out inside a change that is being made."""
        there = self._sheet(writer, paper, size)
        words = f"{exact_size(*size)} of {paper}"
        if there is None:
            raise StashError(f"there is no whole sheet {words} in the stash")
        have = there["count"]
        if have is None:
            return
        if int(have) < count:
            raise StashError(f"{count} of the sheets {words}; the stash has {have}")
        writer.put("sheets", {**there, "count": int(have) - count})

    def take_up_to(
        self, writer: Writer, paper: str, size: tuple[int, int], count: int, leave: int = 0
    ) -> int:
        """Take so many whole sheets out, or all but those to leave; how many that is."""
        there = self._sheet(writer, paper, size)
        if there is None:
            return 0
        taken = count
        if there["count"] is not None:
            taken = max(0, min(count, int(there["count"]) - leave))
        self.take_rows(writer, paper, size, taken)
        return taken

    def change_sheets(
        self, paper: str, size: tuple[int, int], count: int | None, price: int | None, why: str = ""
    ) -> None:
        """Say anew how many whole sheets there are, and what a new one costs."""
        with self.writing() as writer:
            self.paper(paper)
            if self._sheet(writer, paper, size) is None:
                raise StashError(f"there is no whole sheet {exact_size(*size)} of {paper}")
            write_sheet(writer, paper, Sheet(*size, count, price))
            many = or_plenty(count)
            writer.enter(f"{paper}: {many} of {exact_size(*size)} counted", why)

    def add_offcuts(self, offcut: StashOffcut, count: int = 1, why: str = "") -> tuple[int, ...]:
        """Put offcuts in, which get numbers that none ever had."""
        with self.writing() as writer:
            _refuse(offcut.find_strip_faults(self.paper(offcut.paper)))
            numbers = tuple(add_offcut(writer, offcut) for _ in range(count))
            writer.enter(f"{offcuts_told(numbers)} put in: {offcut_told(offcut)}", why)
        return numbers

    def take_offcuts(self, numbers: tuple[int, ...], why: str = "") -> None:
        """Take offcuts out."""
        with self.writing() as writer:
            for number in numbers:
                self.offcut(number)
                writer.remove("offcuts", (number,))
            writer.enter(f"{offcuts_told(numbers)} taken", why)

    def change_offcut(self, offcut: StashOffcut, why: str = "") -> None:
        """Say anew what an offcut is like."""
        with self.writing() as writer:
            self.offcut(offcut.number)
            _refuse(offcut.find_strip_faults(self.paper(offcut.paper)))
            writer.put("offcuts", asdict(offcut))
            writer.enter(f"offcut {offcut.number} is now {offcut_told(offcut)}", why)

    def history(self) -> tuple[JournalEntry, ...]:
        """Every change, the first one first."""
        return entries(self.connection)

    def undo(self, entry: int | None = None, why: str = "") -> JournalEntry:
        """Take a change back: the latest that stands, or the one of that number."""
        with transaction(self.connection, self.path):
            return take_back(self.connection, entry, why)

    @staticmethod
    def _sheet(writer: Writer, paper: str, size: tuple[int, int]) -> Row | None:
        return writer.row("sheets", (paper, *size))


def _refuse(faults: Iterable[tuple[str, str]]) -> None:
    for read, expected in faults:
        raise StashError(f"{read}; expected {expected}")


def _whole_round(paper: Paper, offcuts: tuple[Sheet, ...]) -> Sheet:
    """A whole sheet, none at hand, that each offcut could have been cut from."""
    trim, strip = paper.edge_trim, paper.barcode_strip
    off = {"width": [trim.left, trim.right], "height": [trim.top, trim.bottom]}
    if strip is not None and not strip.beyond_the_sheet:
        off["width" if strip.edge in ("left", "right") else "height"].append(strip.width)
    size = {
        side: max(getattr(sheet, side) for sheet in offcuts)
        + sum(width + _WIDEST_CUT for width in widths if width)
        for side, widths in off.items()
    }
    return Sheet(size["width"], size["height"], have=0)
