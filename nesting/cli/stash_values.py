"""What the commands of the stash share: the stash, open, and what they are told of sizes, prices, papers."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any
from unicodedata import normalize

import click

from nesting.cli.running import refuse, refusing

if TYPE_CHECKING:
    from nesting.papers import FaceName, Paper
    from nesting.stash import Stash, StashOffcut
    from nesting.units import Unit

EDGES = click.Choice(["left", "right", "top", "bottom"])
STRIP = click.Choice(["left", "right", "top", "bottom", "none"])
_PRINTS = click.Choice(["plain", "four-way", "two-way", "one-way"])


length_unit_option = click.option(
    "--unit",
    type=click.Choice(["in", "mm", "cm"]),
    default="in",
    show_default=True,
    help="The unit of a length that does not carry its own.",
)


def paper_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """What is said of a paper."""
    for option in reversed(
        (
            click.option("--front", type=_PRINTS, help="The print of the front."),
            click.option(
                "--front-up", type=EDGES, help="The sheet edge that is the top of that print."
            ),
            click.option("--back", type=_PRINTS, help="The print of the back."),
            click.option(
                "--back-up", type=EDGES, help="The sheet edge that is the top of that print."
            ),
            click.option(
                "--grain",
                type=click.Choice(["long", "short"]),
                help="Along which side of an oblong sheet the grain runs.",
            ),
            click.option("--buy/--no-buy", default=None, help="Whether more may be bought."),
            click.option(
                "--barcode-strip",
                nargs=2,
                help='The edge and width of the barcode strip: --barcode-strip bottom "1/2".',
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


def put_on_record(
    opened: "Stash", name: str, said: dict[str, Any], unit: "Unit", *, is_offcut: bool
) -> bool:
    """Make sure that a paper is on record; what it is like is said once. Returns whether it is new."""
    from nesting.papers import Paper

    known = any(paper.name == name for paper in opened.papers())
    given = any(value is not None for value in said.values())
    if known and given:
        refuse(f"{name} is on record: say what it is like with nesting stash change")
    if not known and is_offcut and not given:
        opened.paper(name)  # a slip in the name is likelier than a new paper
    if not known:
        paper = paper_with(Paper(name, ()), said, unit)
        opened.put_paper(paper, f"{name} put on record")
    return not known


def paper_with(paper: "Paper", said: dict[str, Any], unit: "Unit") -> "Paper":
    """A paper with what was said of it in place of what was known."""
    from nesting.papers import BarcodeStrip, Edges, Face
    from nesting.typed_lengths import parse_length

    def face(name: "FaceName") -> Face:
        old = paper.face(name)
        return Face(said[name] or old.print, said[f"{name}_up"] or old.up)

    strip = paper.barcode_strip
    if said["barcode_strip"]:
        edge, width = said["barcode_strip"]
        if edge not in EDGES.choices or said["beyond"] is None:
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


def refuse_larger(paper: "Paper", offcut: "StashOffcut") -> None:
    """Refuse an offcut that cannot have been cut from any size of sheets that its paper has."""
    from nesting.sheets import too_large_words
    from nesting.typed_lengths import exact_size

    directed = paper.front.directed or paper.back.directed
    top = f", top of the print at the {offcut.top}" if directed else ""
    told = exact_size(offcut.width, offcut.height) + top
    words = too_large_words(paper, offcut.on_sheet(paper), told, exact_size)
    if words is not None:
        refuse("{}; expected {}".format(*words))


def refuse_unfit(opened: "Stash", name: str, unit: "Unit") -> None:
    """Refuse a paper with a strip or edge trim as wide as its sheets; ask about sizes that look like slips.

    A grain that only some of its sizes have is no fault here: a batch may take one size alone.
    """
    from nesting.batch import Batch
    from nesting.cards.fitting import find_sheet_faults
    from nesting.cards.warnings import find_slips

    paper = opened.at_hand(name)
    if paper is None or not paper.sheets:
        return
    batch = Batch(name, unit, (replace(paper, grain=None),))
    faults = [f"{fault.read}; expected {fault.expected}" for fault in find_sheet_faults(batch)]
    if faults:
        refuse(*faults)
    for _, words in find_slips(batch):
        click.echo(words, err=True)


def parsed_size(text: str, unit: "Unit") -> tuple[int, int]:
    """Width and height in nm."""
    from nesting.typed_lengths import parse_size

    return parse_size(text, unit)


def count_of(text: str) -> int | None:
    """A number of sheets; None is plenty."""
    if text.strip().lower() == "plenty":
        return None
    if not (text.isascii() and text.isdigit()) or len(text) > 6:
        refuse(f"--count {text}: expected a whole number, or plenty")
    return int(text)


def price_of(text: str | None) -> int | None:
    """A price in hundredths."""
    from nesting.prices import parse_price

    if text is None:
        return None
    price = parse_price(text)
    if price is None:
        refuse(f"--price {text}: expected a price such as 0.95")
    return price


def paper_name(text: str) -> str:
    """A paper's name with each letter and its accent as one character, as in batch files."""
    return normalize("NFC", text)


def name_of(text: str) -> str:
    """A paper's name, as a batch file may have it."""
    if not text.strip() or text != text.strip() or not text.isprintable():
        refuse(f"{text!r}: expected the name of a paper, on one line")
    return text


def note_of(text: str | None) -> str:
    """What to remember of an offcut, on one line."""
    if text and not text.isprintable():
        refuse("--note: expected a text on one line")
    return text or ""


@contextmanager
def opened_stash(stash: Path | None) -> "Iterator[Stash]":
    """The stash, open; what it refuses is said, and nothing has changed."""
    from nesting.stash import Stash, usual_place
    from nesting.typed_lengths import LengthError

    with refusing():
        try:
            with Stash(stash or usual_place()) as opened:
                yield opened
        except LengthError as error:
            refuse(str(error))
