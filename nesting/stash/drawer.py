"""What lies in the drawer: papers, whole sheets by count and size, offcuts by number."""

from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, replace
from itertools import groupby
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from nesting.lying import top_of, turned
from nesting.nearest import Nearest
from nesting.papers import BarcodeStrip, Edge, Edges, Face, Paper, Sheet, StripEdge
from nesting.sheets import usable_size
from nesting.stash.database import StashError, connect, transaction
from nesting.stash.journal import JournalEntry, Row, Writer, entries, take_back
from nesting.typed_lengths import exact_size
from nesting.units import or_plenty

#: More of anything than that is a slip.
_MOST = 999_999
#: No blade takes more for its own width.
_WIDEST_CUT = 5_000_000


@dataclass(frozen=True, slots=True)
class StashOffcut:
    """An offcut by its number: its size in hand, front up, without a barcode strip beyond it.

    ``strip`` is the edge along which the strip is still on, ``top`` the one that is the top of the
    print (``lying.top_of`` says of which face).
    """

    number: int
    paper: str
    width: int
    height: int
    strip: StripEdge = "none"
    top: Edge = "top"
    note: str = ""

    def on_sheet(self, paper: Paper) -> Sheet:
        """The offcut as its paper's sheets lie."""
        width, height, strip = turned(self.width, self.height, self.strip, self.top, top_of(paper))
        edge = None if strip == "none" else strip
        return Sheet(width, height, 1, offcut=True, strip=edge, name=str(self.number))


def holds(paper: Paper, sheet: Sheet, width: int, height: int) -> bool:
    """Whether a piece as seen upright can be cut from a sheet, turned only where the print may be."""
    usable = usable_size(paper, sheet, cut_width=0)
    own, other, _ = turned(*usable, "none", top_of(paper), "top")
    if own >= width and other >= height:
        return True
    directed = paper.front.directed or paper.back.directed
    return not directed and own >= height and other >= width


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
        sheets: defaultdict[str, list[Sheet]] = defaultdict(list)
        for row in self.connection.execute(
            "SELECT * FROM sheets ORDER BY paper, width DESC, height DESC"
        ):
            sheets[row["paper"]].append(
                Sheet(row["width"], row["height"], row["count"], row["price"])
            )
        rows = self.connection.execute("SELECT * FROM papers ORDER BY name").fetchall()
        return tuple(_paper(dict(row), tuple(sheets[row["name"]])) for row in rows)

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
        return _paper(
            dict(row), tuple(Sheet(s["width"], s["height"], s["count"], s["price"]) for s in sheets)
        )

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

        Offcuts lie as the sheets do. Those alike are one entry, which has the numbers of all. A paper
        of which there are offcuts alone has a size of whole sheets as well, none of them at hand nor to
        buy: what is lacking is counted in sheets of that size.
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
        """Put a paper on record, or what is said of it anew, with its sizes and counts of sheets."""
        with self.writing() as writer:
            write_paper(writer, paper)
            for sheet in paper.sheets:
                write_sheet(writer, paper.name, sheet)
            writer.enter(what, why)

    def rename_paper(self, old: str, new: str, why: str = "") -> None:
        """Give a paper another name, with all that there is of it.

        Raises
        ------
        StashError
            There is no such paper, or another has the name.
        """
        with self.writing() as writer:
            paper = self.paper(old)
            if writer.row("papers", (new,)) is not None:
                raise StashError(f"there is a paper {new} in the stash already")
            write_paper(writer, replace(paper, name=new))
            for offcut in self.offcuts(old):
                writer.put("offcuts", asdict(replace(offcut, paper=new)))
            for sheet in paper.sheets:
                write_sheet(writer, new, sheet)
                writer.remove("sheets", (old, sheet.width, sheet.height))
            writer.remove("papers", (old,))
            writer.enter(f"{old} is now called {new}", why)

    def forget_paper(self, name: str, why: str = "") -> None:
        """Take a paper off the record, of which nothing is left.

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
            _refuse_strip(self.paper(offcut.paper), offcut)
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
            _refuse_strip(self.paper(offcut.paper), offcut)
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


def _whole_round(paper: Paper, offcuts: tuple[Sheet, ...]) -> Sheet:
    """A whole sheet of which none is there, from which each offcut could have been cut."""
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


def offcuts_told(numbers: tuple[int, ...]) -> str:
    """Offcuts by their numbers.

    Examples
    --------
    >>> offcuts_told((3,)), offcuts_told((3, 4, 6, 7, 8))
    ('offcut 3', 'offcuts 3, 4, 6-8')
    """
    told: list[str] = []
    for _, run in groupby(enumerate(numbers), lambda one: one[1] - one[0]):
        own = [number for _, number in run]
        told += [f"{own[0]}-{own[-1]}"] if len(own) > 2 else map(str, own)
    return f"offcut{'s' if len(numbers) > 1 else ''} {', '.join(told)}"


def offcut_told(offcut: StashOffcut) -> str:
    """An offcut in a few words."""
    words = f"{offcut.paper}, {exact_size(offcut.width, offcut.height)}"
    strip = "" if offcut.strip == "none" else f", strip at the {offcut.strip}"
    return f"{words}{strip}, top of the print at the {offcut.top}"


def _refuse_strip(paper: Paper, offcut: StashOffcut) -> None:
    """No strip on an offcut of a paper that has none, or as wide as the offcut."""
    if offcut.strip == "none":
        return
    strip = paper.barcode_strip
    if strip is None:
        raise StashError(f"a strip on an offcut of {paper.name}, which has no barcode strip")
    across = offcut.width if offcut.strip in ("left", "right") else offcut.height
    if not strip.beyond_the_sheet and across <= strip.width:
        raise StashError(f"an offcut of {paper.name} that is nothing but its barcode strip")


def write_paper(writer: Writer, paper: Paper) -> None:
    """Write what is said of a paper, its sheets apart."""
    strip, trim = paper.barcode_strip, paper.edge_trim
    writer.put(
        "papers",
        {
            "name": paper.name,
            "buy": int(paper.buy),
            "front": paper.front.print,
            "front_up": paper.front.up,
            "back": paper.back.print,
            "back_up": paper.back.up,
            "grain": paper.grain,
            "strip_edge": strip.edge if strip else None,
            "strip_width": strip.width if strip else None,
            "strip_beyond": int(strip.beyond_the_sheet) if strip else None,
            "strip_back_usable": int(strip.back_usable) if strip else None,
            "trim_left": trim.left,
            "trim_right": trim.right,
            "trim_top": trim.top,
            "trim_bottom": trim.bottom,
        },
    )


def write_sheet(writer: Writer, paper: str, sheet: Sheet) -> None:
    """Write how many whole sheets of a size there are."""
    writer.put(
        "sheets",
        {
            "paper": paper,
            "width": sheet.width,
            "height": sheet.height,
            "count": sheet.have,
            "price": sheet.price,
        },
    )


def add_offcut(writer: Writer, offcut: StashOffcut) -> int:
    """Write a new offcut; its number."""
    row = asdict(offcut)
    del row["number"]
    return writer.add_offcut(row)


def _paper(row: dict[str, Any], sheets: tuple[Sheet, ...]) -> Paper:
    strip = None
    if row["strip_edge"] is not None:
        beyond, usable = bool(row["strip_beyond"]), bool(row["strip_back_usable"])
        strip = BarcodeStrip(row["strip_edge"], row["strip_width"], beyond, usable)
    return Paper(
        row["name"],
        sheets,
        bool(row["buy"]),
        Face(row["front"], row["front_up"]),
        Face(row["back"], row["back_up"]),
        row["grain"],
        strip,
        Edges(row["trim_left"], row["trim_right"], row["trim_top"], row["trim_bottom"]),
    )
