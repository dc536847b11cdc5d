"""``stash``: what lies in the drawer, put in, taken, counted, listed, and undone."""

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from nesting.cli.options import FileName, page_option
from nesting.cli.running import refuse, refusing, stop_at_faults

if TYPE_CHECKING:
    from nesting.batch import FaceName, Paper
    from nesting.stash import Offcut, Stash
    from nesting.units import Unit

_EDGES = click.Choice(["left", "right", "top", "bottom"])
_STRIP = click.Choice(["left", "right", "top", "bottom", "none"])
_PRINTS = click.Choice(["plain", "four-way", "two-way", "one-way"])

stash_option = click.option(
    "--stash", "place", type=FileName(), help="The file of the stash; the usual one unless given."
)
why_option = click.option("--why", default="", help="A word for the history.")
unit_option = click.option(
    "--unit",
    type=click.Choice(["in", "mm", "cm"]),
    default="in",
    show_default=True,
    help="The unit of a length that does not carry its own.",
)
note_option = click.option("--note", help="What to remember of the offcut.")
strip_option = click.option(
    "--strip", type=_STRIP, help="The edge of the offcut along which the barcode strip is still on."
)
top_option = click.option(
    "--top",
    type=_EDGES,
    help="The edge of the offcut, front up, that is the top of the print; as the paper has it unless given.",
)


@click.group()
def stash() -> None:
    """Keep on record what is at hand: papers, sheets, offcuts."""


def _paper_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """What is said of a paper."""
    for option in reversed(
        (
            click.option("--front", type=_PRINTS, help="The print of the front."),
            click.option("--front-up", type=_EDGES, help="The sheet edge that is its top."),
            click.option("--back", type=_PRINTS, help="The print of the back."),
            click.option("--back-up", type=_EDGES, help="The sheet edge that is its top."),
            click.option("--grain", type=click.Choice(["long", "short"])),
            click.option("--buy/--no-buy", default=None, help="Whether more may be bought."),
            click.option(
                "--barcode-strip",
                nargs=2,
                help='Its edge and width: --barcode-strip bottom "1/2".',
            ),
            click.option(
                "--beyond/--inside",
                default=None,
                help="Whether the strip comes on top of the sheet's size, or is part of it.",
            ),
            click.option("--edge-trim", help="What is trimmed off all edges of a new sheet."),
        )
    ):
        command = option(command)
    return command


@stash.command()
@click.argument("paper")
@click.argument("size")
@click.option("--count", default="1", show_default=True, help="How many; plenty of whole sheets.")
@click.option("--price", help="Of one new sheet.")
@click.option("--offcut", "is_offcut", is_flag=True, help="These are offcuts.")
@strip_option
@top_option
@note_option
@_paper_options
@unit_option
@why_option
@stash_option
def add(
    paper: str,
    size: str,
    count: str,
    price: str | None,
    is_offcut: bool,
    strip: Any,
    top: Any,
    note: str | None,
    unit: "Unit",
    why: str,
    place: Path | None,
    **said: Any,
) -> None:
    """Put whole sheets of a PAPER in, SIZE width x height, or offcuts.

    A new paper is put on record with its first sheets; say what its faces are like.
    """
    from nesting.lying import top_of
    from nesting.stash import Offcut

    with _opened(place) as opened:
        many, lying = _count(count), _size(size, unit)
        if not is_offcut and (strip or top or note):
            refuse("--strip, --top and --note go with --offcut")
        _put_on_record(opened, _name(paper), said, unit, is_offcut=is_offcut)
        if is_offcut:
            if many is None or many < 1 or price is not None:
                refuse("an offcut has no price, and is counted from 1: neither fits --offcut")
            lies = top or top_of(opened.paper(paper))
            new = Offcut(0, paper, *lying, strip or "none", lies, _note(note))
            numbers = opened.add_offcuts(new, many, why)
            click.echo(f"Put in: {paper}, offcut {', '.join(map(str, numbers))}.")
        else:
            opened.add_sheets(paper, lying, many, _price(price), why)
            click.echo(f"Put in: {paper}, {count} of {size}.")


@stash.command()
@click.argument("paper", required=False)
@click.argument("size", required=False)
@click.option("--count", type=click.IntRange(min=1), default=1, show_default=True)
@click.option(
    "--offcut", "numbers", type=int, multiple=True, help="Its number; may be given again."
)
@click.option("--all", "everything", is_flag=True, help="The paper is no longer kept.")
@unit_option
@why_option
@stash_option
def take(
    paper: str | None,
    size: str | None,
    count: int,
    numbers: tuple[int, ...],
    everything: bool,
    unit: "Unit",
    why: str,
    place: Path | None,
) -> None:
    """Take whole sheets of a PAPER out, or offcuts by number."""
    with _opened(place) as opened:
        if numbers and paper is None:
            opened.take_offcuts(tuple(dict.fromkeys(numbers)), why)
            click.echo(f"Taken: offcut {', '.join(map(str, numbers))}.")
        elif paper is not None and size is not None and not numbers and not everything:
            opened.take_sheets(paper, _size(size, unit), count, why)
            click.echo(f"Taken: {paper}, {count} of {size}.")
        elif paper is not None and size is None and everything:
            opened.forget_paper(paper, why)
            click.echo(f"{paper} is no longer kept.")
        else:
            raise click.UsageError("Give PAPER and SIZE, PAPER and --all, or --offcut NUMBER.")


@stash.command()
@click.argument("paper", required=False)
@click.argument("size", required=False)
@click.option("--offcut", "number", type=int, help="The number of the offcut to change.")
@click.option("--count", help="How many whole sheets there are.")
@click.option("--price", help="Of one new sheet.")
@strip_option
@top_option
@note_option
@_paper_options
@unit_option
@why_option
@stash_option
def change(
    paper: str | None,
    size: str | None,
    number: int | None,
    count: str | None,
    price: str | None,
    strip: Any,
    top: Any,
    note: str | None,
    unit: "Unit",
    why: str,
    place: Path | None,
    **said: Any,
) -> None:
    """Say anew what a PAPER is like, how many whole sheets of a SIZE there are, or what an offcut is.

    With --offcut, what is given in place of PAPER is its size.
    """
    from nesting.batch import Sheet
    from nesting.stash import Offcut

    of_paper = any(value is not None for value in said.values())
    of_sheet, of_offcut = count or price, strip or top or note is not None
    with _opened(place) as opened:
        if number is not None and not (size or of_paper or of_sheet):
            old = opened.offcut(number)
            width, height = _size(paper, unit) if paper else (old.width, old.height)
            noted = old.note if note is None else _note(note)
            edges = (strip or old.strip, top or old.top)
            opened.change_offcut(Offcut(number, old.paper, width, height, *edges, noted), why)
        elif number is None and paper and size and of_sheet and not (of_paper or of_offcut):
            sizes = {(one.width, one.height): one for one in opened.paper(paper).sheets}
            lying = _size(size, unit)
            now = sizes.get(lying) or Sheet(*lying)
            have = _count(count) if count else now.have
            cost = _price(price) if price else now.price
            opened.change_sheets(paper, lying, have, cost, why)
        elif number is None and paper and not size and of_paper and not (of_sheet or of_offcut):
            new_paper = _described(opened.paper(paper), said, unit)
            opened.put_paper(new_paper, f"{paper} described anew", why)
        else:
            raise click.UsageError(
                "Give PAPER and what it is like, PAPER, SIZE and --count or --price, or --offcut NUMBER."
            )
    click.echo("Changed.")


@stash.command(name="list")
@click.option("--paper", help="Of this paper only.")
@click.option("--holds", help="Only what a piece of this size, width x height, can be cut from.")
@click.option("--json", "as_json", is_flag=True, help="Print the list as JSON.")
@unit_option
@stash_option
def list_(
    paper: str | None, holds: str | None, as_json: bool, unit: "Unit", place: Path | None
) -> None:
    """List what there is: whole sheets, then offcuts by number."""
    with _opened(place) as opened:
        size = None if holds is None else _size(holds, unit)
        papers = [opened.paper(paper)] if paper is not None else list(opened.papers())
        offcuts = opened.offcuts(paper)
    if size is not None:
        papers, offcuts = _holding(papers, offcuts, size)
    if as_json:
        told = {
            "papers": [asdict(one) for one in papers],
            "offcuts": [asdict(one) for one in offcuts],
        }
        click.echo(json.dumps(told, ensure_ascii=False, indent=1))
    else:
        _print_list(papers, offcuts)


def _holding(
    papers: "list[Paper]", offcuts: "tuple[Offcut, ...]", size: tuple[int, int]
) -> "tuple[list[Paper], tuple[Offcut, ...]]":
    """What a piece can be cut from, whole sheets that are there and offcuts."""
    from nesting.stash import holds

    known = {paper.name: paper for paper in papers}
    found = []
    for paper in papers:
        there = [sheet for sheet in paper.sheets if sheet.have != 0]
        sheets = tuple(sheet for sheet in there if holds(paper, sheet, *size))
        found += [replace(paper, sheets=sheets)] if sheets else []
    fitting = (
        one for one in offcuts if holds(known[one.paper], one.on_sheet(known[one.paper]), *size)
    )
    return found, tuple(fitting)


def _print_list(papers: "list[Paper]", offcuts: "tuple[Offcut, ...]") -> None:
    """Print a line for each size of whole sheets and each offcut, in columns as wide as they need."""
    from rich.cells import cell_len  # a table of rich takes seconds for thousands of lines

    from nesting.units import exact_size

    rows = [("number", "at hand", "size", "paper", "strip", "top of the print", "note")]
    for paper in papers:
        for sheet in paper.sheets:
            have = "plenty" if sheet.have is None else str(sheet.have)
            rows.append(("", have, exact_size(sheet.width, sheet.height), paper.name, "", "", ""))
    for one in offcuts:
        size, strip = exact_size(one.width, one.height), one.strip.replace("none", "")
        rows.append((str(one.number), "1", size, one.paper, strip, one.top, one.note))
    if len(rows) == 1:
        click.echo("Nothing.")
        return
    widths = [max(map(cell_len, column)) for column in zip(*rows, strict=True)]
    for number, have, *rest in rows:
        cells = [number.rjust(widths[0]), have.rjust(widths[1])]
        cells += [c + " " * (w - cell_len(c)) for c, w in zip(rest, widths[2:], strict=True)]
        click.echo("  ".join(cells).rstrip())


@stash.command()
@stash_option
def history(place: Path | None) -> None:
    """List every change: its number, when, what and why."""
    with _opened(place) as opened:
        for entry in opened.history():
            why = f" ({entry.why})" if entry.why else ""
            undone = " - undone" if entry.undone else ""
            click.echo(f"{entry.entry}  {entry.time}  {entry.what}{why}{undone}")


@stash.command()
@click.argument("entry", type=int, required=False)
@why_option
@stash_option
def undo(entry: int | None, why: str, place: Path | None) -> None:
    """Take a change back: the latest, or the one with the number that history gives."""
    with _opened(place) as opened:
        click.echo(f"{opened.undo(entry, why).what}.")


@stash.command(name="export")
@click.argument("table", type=FileName())
@click.option("--force", is_flag=True, help="Overwrite a file that is there.")
@stash_option
def export(table: Path, force: bool, place: Path | None) -> None:
    """Write everything as one table (CSV)."""
    from nesting.files import write_whole
    from nesting.stash import write_table

    if table.exists() and not force:
        refuse(f"{table}: is there already; expected another name, or --force")
    with _opened(place) as opened:
        write_whole({table: write_table(opened)})
    click.echo(f"Written to {table}.")


@stash.command(name="import")
@click.argument("table", type=FileName())
@unit_option
@why_option
@stash_option
def import_(table: Path, unit: "Unit", why: str, place: Path | None) -> None:
    """Put in everything that a table (CSV) lists, as export writes it."""
    from nesting.files import read_text
    from nesting.stash import read_table

    with refusing():
        text = read_text(table, "a table (CSV)")
    with _opened(place) as opened:
        new = read_table(opened, text, unit, str(table), why)
    click.echo(f"{new} rows put in.")


@stash.command()
@click.argument("plan", type=FileName())
@click.option(
    "--done", help='The layouts that are cut, such as "1-3, 4: 1 sheet"; all of them unless given.'
)
@why_option
@stash_option
def use(plan: Path, done: str | None, why: str, place: Path | None) -> None:
    """Take out what was cut from a PLAN (plan.json), and put the offcuts that are kept in.

    A record goes on from earlier ones of the same plan: say all that is cut so far. What is on
    record already is not taken again.
    """
    from nesting.files import read_plan
    from nesting.stash import parse_done, use_plan
    from nesting.units import exact_size

    with refusing():
        answer = read_plan(plan)
    stop_at_faults(answer.asked, answer, "The plan has faults; the stash is as it was.")
    with _opened(place) as opened:
        taken = use_plan(opened, answer, None if done is None else parse_done(done, answer), why)
    for paper, size, count in taken.sheets:
        click.echo(f"Taken: {paper}, {count} of {exact_size(*size)}.")
    if taken.offcuts:
        click.echo(f"Taken: offcut {', '.join(map(str, taken.offcuts))}.")
    for one in taken.kept:
        click.echo(
            f"Put in: offcut {one.number}, {one.paper}, {exact_size(one.width, one.height)}."
        )
    for paper in taken.unknown:
        click.echo(f"{paper} is not in the stash: nothing of it was taken or put in.")


@stash.command()
@click.argument("out", type=FileName())
@click.option("--offcut", "numbers", type=int, multiple=True, help="A number; may be given again.")
@click.option("--paper", help="Of this paper only.")
@click.option("--force", is_flag=True, help="Overwrite a file that is there.")
@page_option
@stash_option
def labels(
    out: Path,
    numbers: tuple[int, ...],
    paper: str | None,
    force: bool,
    page: str,
    place: Path | None,
) -> None:
    """Draw labels for offcuts as a PDF: number, paper, size, arrow to the top of the print."""
    from nesting.draw import PAGES, draw_offcut_labels
    from nesting.files import write_whole
    from nesting.units import exact_size
    from nesting.version import __version__

    if out.exists() and not force:
        refuse(f"{out}: is there already; expected another name, or --force")
    with _opened(place) as opened:
        chosen = tuple(map(opened.offcut, numbers)) if numbers else opened.offcuts(paper)
        if not chosen:
            refuse("there is no such offcut in the stash")
        drawn = draw_offcut_labels(
            [(o.number, o.paper, exact_size(o.width, o.height), o.top, o.strip) for o in chosen],
            f"nesting {__version__}",
            PAGES[page],
        )
        write_whole({out: drawn})
    click.echo(f"Written to {out}.")


@contextmanager
def _opened(place: Path | None) -> "Iterator[Stash]":
    """The stash, open; what it refuses is said, and nothing has changed."""
    from nesting.stash import Stash, usual_place
    from nesting.units import LengthError

    with refusing():
        try:
            with Stash(place or usual_place()) as opened:
                yield opened
        except LengthError as error:
            refuse(str(error))


def _put_on_record(
    opened: "Stash", name: str, said: dict[str, Any], unit: "Unit", *, is_offcut: bool
) -> None:
    """Make sure that a paper is on record; what it is like is said once."""
    from nesting.batch import Paper

    known = any(paper.name == name for paper in opened.papers())
    given = any(value is not None for value in said.values())
    if known and given:
        refuse(f"{name} is on record: say what it is like with nesting stash change")
    if not known and is_offcut and not given:
        opened.paper(name)  # a slip in the name is likelier than a new paper
    if not known:
        paper = _described(Paper(name, ()), said, unit)
        opened.put_paper(paper, f"{name} put on record")


def _described(paper: "Paper", said: dict[str, Any], unit: "Unit") -> "Paper":
    """A paper with what was said of it in place of what was known."""
    from nesting.batch import BarcodeStrip, Edges, Face
    from nesting.units import parse_length

    def face(name: "FaceName") -> Face:
        old = paper.face(name)
        return Face(said[name] or old.print, said[f"{name}_up"] or old.up)

    strip = paper.barcode_strip
    if said["barcode_strip"]:
        edge, width = said["barcode_strip"]
        if edge not in _EDGES.choices or said["beyond"] is None:
            refuse("--barcode-strip: expected an edge, a width, and --beyond or --inside")
        strip = BarcodeStrip(edge, parse_length(width, unit, or_zero=False), said["beyond"])
    elif said["beyond"] is not None:
        refuse("--beyond and --inside go with --barcode-strip")
    trim = paper.edge_trim
    if said["edge_trim"]:
        trim = Edges(*[parse_length(said["edge_trim"], unit)] * 4)
    return replace(
        paper,
        buy=paper.buy if said["buy"] is None else said["buy"],
        front=face("front"),
        back=face("back"),
        grain=said["grain"] or paper.grain,
        barcode_strip=strip,
        edge_trim=trim,
    )


def _size(text: str, unit: "Unit") -> tuple[int, int]:
    from nesting.units import parse_size

    return parse_size(text, unit)


def _count(text: str) -> int | None:
    """A number of sheets; None is plenty."""
    if text.strip().lower() == "plenty":
        return None
    if not (text.isascii() and text.isdigit()) or len(text) > 6:
        refuse(f"--count {text}: expected a whole number, or plenty")
    return int(text)


def _price(text: str | None) -> int | None:
    """A price in hundredths."""
    if text is None:
        return None
    whole, _, part = text.replace(",", ".").partition(".")
    if not whole or not (whole + part).isdigit() or len(part) > 2 or len(whole) > 7:
        refuse(f"--price {text}: expected a price such as 0.95")
    return 100 * int(whole) + int(part.ljust(2, "0"))


def _name(text: str) -> str:
    """A paper's name, as a batch file may have it."""
    if not text.strip() or text != text.strip() or not text.isprintable():
        refuse(f"{text!r}: expected the name of a paper, on one line")
    return text


def _note(text: str | None) -> str:
    if text and not text.isprintable():
        refuse("--note: expected a text on one line")
    return text or ""
