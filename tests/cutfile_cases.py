"""Plans to make cut files of, and readers of cut files that share nothing with the writer."""

import io
import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import pairwise
from xml.etree import ElementTree as ET

from hypothesis import strategies as st
from pack_cases import solved
from plans import inches
from svgelements import SVG, Circle, Group, Path, Title

from nesting.batch import Base, Batch, Card, LoosePiece, Trimmer
from nesting.cards.resolving import resolve
from nesting.cutfile.carrier import Setup
from nesting.pack import Rounds
from nesting.papers import BarcodeStrip, Edges, Face, Paper, Sheet
from nesting.plan import Plan
from nesting.typed_lengths import parse_length, parse_size

SVG_SPACE = "{http://www.w3.org/2000/svg}"
NM_PER_INCH = 25_400_000


def rectangle(size: str, count: int, **more: object) -> LoosePiece:
    """Loose rectangles of plum dots, which may be turned unless said otherwise."""
    name = str(more.pop("name", size))
    more = {"turn": "may", "face": "front", **more}
    return LoosePiece(name, "plum dots", count, *parse_size(size, "in"), **more)  # type: ignore[arg-type]


def circle(diameter: str, count: int, **more: object) -> LoosePiece:
    """Loose circles of plum dots."""
    across = parse_length(diameter, "in")
    return LoosePiece(f"round {diameter}", "plum dots", count, circle=across, **more)  # type: ignore[arg-type]


def plum_batch(*pieces: LoosePiece, sheet: str = "12 x 12", **paper: object) -> Batch:
    """Pieces from plain plum dots, with plenty of sheets of one size."""
    dots = Paper("plum dots", (Sheet(*parse_size(sheet, "in")),), **paper)  # type: ignore[arg-type]
    return Batch("Orchard market", "in", (dots,), (), pieces)


@cache
def plan_of_batch(batch: Batch) -> Plan:
    """The plan of a batch, checked, made once."""
    return solved(batch, Rounds(1))


def base_batch() -> Batch:
    """Folded bases, two-faced panels and circles from three papers."""
    pear = Paper(
        "pear toss",
        (Sheet(inches("12"), inches("12"), have=4),),
        front=Face("one-way", "left"),
        back=Face("two-way"),
        barcode_strip=BarcodeStrip(),
    )
    cream = Paper("cream", (Sheet(inches("8 1/2"), inches("11")),), grain="long")
    plum = Paper(
        "plum dots", (Sheet(inches("6"), inches("6")),), edge_trim=Edges(left=inches("1/4"))
    )
    card = Card("windfall", 5, inches("4 1/4"), inches("5 1/2"), base=Base("cream"))
    panel = LoosePiece("panel", "pear toss", 7, inches("3 3/4"), inches("5"), face="front")
    band = LoosePiece("band", "pear toss", 5, inches("3 3/4"), inches("1 1/4"), face="back")
    return Batch(
        "Harvest supper", "in", (pear, cream, plum), (card,), (panel, band, circle("1 3/4", 5))
    )


_LENGTHS = st.integers(8, 90).map(lambda halves: halves * 500_000)


@st.composite
def batches(draw: st.DrawFn) -> Batch:
    """A paper in mm with one size of sheets, strip and trim, and pieces of every kind."""
    faces = st.builds(
        Face,
        st.sampled_from(["plain", "two-way", "one-way"]),
        st.sampled_from(["top", "left", "right", "bottom"]),
    )
    strips = st.none() | st.builds(
        BarcodeStrip,
        st.sampled_from(["bottom", "left"]),
        st.just(12_000_000),
        st.booleans(),
    )
    paper = Paper(
        "plum dots",
        (Sheet(draw(_LENGTHS) + 60_000_000, draw(_LENGTHS) + 60_000_000),),
        front=draw(faces),
        back=draw(faces),
        barcode_strip=draw(strips),
        edge_trim=Edges(top=draw(st.sampled_from([0, 3_000_000]))),
    )
    pieces = []
    for number in range(draw(st.integers(1, 4))):
        width, height = draw(_LENGTHS), draw(_LENGTHS)
        count, allowance = draw(st.integers(1, 9)), draw(st.sampled_from([0, 0, 2_000_000]))
        size = (
            {"circle": min(width, height) + 1}
            if draw(st.booleans())
            else {"width": width, "height": height}
        )
        face = draw(st.sampled_from(["front", "back"]))
        turn = draw(st.sampled_from(["never", "may", "must"]))
        pieces.append(
            LoosePiece(
                f"piece {number}",
                "plum dots",
                count,
                **size,
                face=face,
                turn=turn,
                die_allowance=allowance,
            )
        )
    return Batch("Orchard market", "mm", (paper,), (), tuple(pieces), Trimmer(marks=1_000_000))


def sound(batch: Batch) -> bool:
    """Whether a batch can be planned at all."""
    return not resolve(batch).faults


SETUPS = st.builds(
    Setup,
    gap=st.sampled_from([0, 0, 1_000_000, 2_500_000]),
    back_up=st.booleans(),
    lettering=st.booleans(),
)


@dataclass(frozen=True)
class Line:
    """A straight line of a document, in nm from the lower left corner, the lesser end first."""

    start: tuple[Fraction, Fraction]
    end: tuple[Fraction, Fraction]

    @property
    def length(self) -> Fraction:
        """Its length, along x or y."""
        (x, y), (a, b) = self.start, self.end
        assert x == a or y == b
        return abs(a - x) + abs(b - y)


@dataclass(frozen=True)
class Read:
    """A document as read with exact arithmetic: lengths in nm, y upwards.

    ``closed`` has the corners of closed outlines, ``open_`` straight lines, ``rings`` centre and
    diameter; each by group.
    """

    width: Fraction
    height: Fraction
    closed: dict[str, list[list[tuple[Fraction, Fraction]]]]
    open_: dict[str, list[list[tuple[Fraction, Fraction]]]]
    rings: dict[str, list[tuple[Fraction, Fraction, Fraction]]]

    def lines(self, group: str) -> list[Line]:
        """Every straight line of a group, sides of closed outlines among them."""
        ways = [[*way, way[0]] for way in self.closed.get(group, [])] + self.open_.get(group, [])
        return [Line(*sorted(ends)) for way in ways for ends in pairwise(way)]


def parsed(document: bytes) -> ET.Element:
    """The root of an XML document."""
    return ET.fromstring(document)  # noqa: S314 - written a moment ago


def read_exactly(document: bytes) -> Read:
    """Read a document by the XML and SVG standards alone; anything unforeseen is an error."""
    root = parsed(document)
    assert root.tag == SVG_SPACE + "svg"
    assert set(root.attrib) == {"width", "height", "viewBox", "version"}
    x, y, *size = map(Fraction, root.attrib["viewBox"].split())
    assert x == y == 0
    mm = Fraction(1_000_000)
    physical = [nanometres(root.attrib[side]) for side in ("width", "height")]
    assert physical == [side * mm for side in size]
    read = Read(physical[0], physical[1], {}, {}, {})

    def point(text: str) -> tuple[Fraction, Fraction]:
        left, down = map(Fraction, text.split())
        return left * mm, read.height - down * mm

    for group in root.findall(SVG_SPACE + "g"):
        assert set(group.attrib) == {"id", "fill", "stroke", "stroke-width"}
        assert group.attrib["fill"] == "none"
        for element in group:
            name = group.attrib["id"]
            if element.tag == SVG_SPACE + "circle":
                assert set(element.attrib) == {"cx", "cy", "r"}
                place = point(f"{element.attrib['cx']} {element.attrib['cy']}")
                across = 2 * mm * Fraction(element.attrib["r"])
                read.rings.setdefault(name, []).append((*place, across))
                continue
            assert element.tag == SVG_SPACE + "path"
            assert set(element.attrib) == {"d"}
            way = re.fullmatch(r"M([^A-Z]+(?:L[^A-Z]+)+)(Z?)", element.attrib["d"])
            assert way is not None, element.attrib["d"]
            to = read.closed if way[2] else read.open_
            to.setdefault(name, []).append([point(text) for text in way[1].split("L")])
    return read


def nanometres(text: str) -> Fraction:
    """A physical length as CSS has it, exactly."""
    number, unit = text[:-2], text[-2:]
    return Fraction(number) * {"in": NM_PER_INCH, "mm": 1_000_000}[unit]


def boxes_by_svgelements(document: bytes) -> dict[str, list[tuple[float, float, float, float]]]:
    """The extent of every shape, by its group, in inches from the upper left corner.

    svgelements resolves units and viewBox at one pixel to the inch.
    """
    found: dict[str, list[tuple[float, float, float, float]]] = {}
    svg = SVG.parse(io.BytesIO(document), ppi=1.0)
    for group in svg:
        for element in group if isinstance(group, Group) else ():
            if isinstance(element, Title):
                continue
            assert isinstance(element, Circle | Path)
            found.setdefault(str(group.id), []).append(tuple(element.bbox()))
    return found
