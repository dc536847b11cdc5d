"""The document: true-scale SVG, every number an exact decimal."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal
from xml.etree import ElementTree as ET

from nesting.units import NANOMETRES, Unit

LineKind = Literal["lettering", "score-lines", "windows", "outlines"]


@dataclass(frozen=True, slots=True)
class Trace:
    """A line through points, in nm from the lower left corner; ``name`` is of a closed outline."""

    points: tuple[tuple[int, int], ...]
    closed: bool = False
    name: str = ""


@dataclass(frozen=True, slots=True)
class Ring:
    """A circle: its centre and its diameter, in nm."""

    x: int
    y: int
    diameter: int
    name: str = ""


@dataclass(frozen=True, slots=True)
class Drawing:
    """What a cut file shows: the lines by what they are, on a sheet of this size in nm."""

    title: str
    made_by: str
    width: int
    height: int
    unit: Unit
    lines: dict[LineKind, tuple[Trace | Ring, ...]]


#: The groups in the order they are worked in, inner lines before outer ones, and their colours,
#: from light to dark: they differ in lightness by 15 or more of CIE 1976 L* (ISO/CIE 11664-4).
COLOURS: dict[LineKind, str] = {
    "lettering": "#d9a441",
    "score-lines": "#2a9178",
    "windows": "#a3123f",
    "outlines": "#1b1f3b",
}
#: How thick lines are drawn, in mm: about a dot of a screen, whose colour can be told.
_WEIGHT = "0.25"
#: By this the files of an earlier run are known.
MARK = "Cut file made by"


def write_svg(drawing: Drawing) -> bytes:
    """Write a drawing as an SVG 1.1 document, UTF-8.

    Width and height are physical; the ``viewBox`` is in mm, so that a unit of the document is
    1 mm. Groups without lines are left out. No transforms, styles, text, fills or references.

    References
    ----------
    W3C, Scalable Vector Graphics (SVG) 1.1 (Second Edition), 2011: sections 7.7 (viewBox),
    7.10 (units), 9 (basic shapes).
    """
    root = ET.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "version": "1.1",
            "width": physical(drawing.width, drawing.unit),
            "height": physical(drawing.height, drawing.unit),
            "viewBox": f"0 0 {in_mm(drawing.width)} {in_mm(drawing.height)}",
        },
    )
    ET.SubElement(root, "title").text = xml_text(drawing.title)
    ET.SubElement(root, "desc").text = xml_text(f"{MARK} {drawing.made_by}.")
    for group, colour in COLOURS.items():
        lines = drawing.lines.get(group, ())
        if lines:
            look = {"id": group, "fill": "none", "stroke": colour, "stroke-width": _WEIGHT}
            element = ET.SubElement(root, "g", look)
            for line in lines:
                _add_line(element, line, drawing.height)
    ET.indent(root, " ")
    document: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return document + b"\n"


def _add_line(group: ET.Element, line: Trace | Ring, height: int) -> None:
    """Add one line; SVG counts downwards."""
    if isinstance(line, Ring):
        radius = Fraction(line.diameter, 2)
        place = {"cx": in_mm(line.x), "cy": in_mm(height - line.y), "r": in_mm(radius)}
        element = ET.SubElement(group, "circle", place)
    else:
        points = (f"{in_mm(x)} {in_mm(height - y)}" for x, y in line.points)
        way = f"M{' L'.join(points)}{' Z' if line.closed else ''}"
        element = ET.SubElement(group, "path", {"d": way})
    if line.name:
        ET.SubElement(element, "title").text = xml_text(line.name)


def in_mm(length: int | Fraction) -> str:
    """A length in nm, or half nm, as an exact decimal of mm.

    Examples
    --------
    >>> in_mm(304_800_000), in_mm(396_875), in_mm(Fraction(1, 2))
    ('304.8', '0.396875', '0.0000005')
    """
    return _decimal(Fraction(length, NANOMETRES["mm"]))


def _decimal(value: Fraction) -> str:
    """A fraction as a decimal, which has to end: nothing is rounded."""
    number = Decimal(value.numerator) / Decimal(value.denominator)
    if Fraction(number) != value:
        raise ValueError(f"{value} is no decimal that ends")
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def physical(length: int, unit: Unit) -> str:
    """A length with its unit as CSS has it: inches where they come out exact, else mm.

    Examples
    --------
    >>> physical(317_500_000, "in"), physical(210_000_000, "in"), physical(210_000_000, "cm")
    ('12.5in', '210mm', '210mm')
    """
    inches = Fraction(length, NANOMETRES["in"])
    if unit == "in" and (inches * 10**6).denominator == 1:
        return f"{_decimal(inches)}in"
    return f"{in_mm(length)}mm"


def xml_text(text: str) -> str:
    r"""Replace characters that XML has no place for; the writer escapes the others.

    References
    ----------
    W3C, Extensible Markup Language (XML) 1.0 (Fifth Edition), 2008: section 2.2, production 2.

    Examples
    --------
    >>> xml_text("pear\x07 & plum")
    'pear\ufffd & plum'
    """
    return "".join(c if _is_xml(ord(c)) else "\N{REPLACEMENT CHARACTER}" for c in text)


def _is_xml(code: int) -> bool:
    return (
        code in (0x9, 0xA, 0xD)
        or 0x20 <= code <= 0xD7FF
        or 0xE000 <= code <= 0xFFFD
        or code >= 0x10000
    )
