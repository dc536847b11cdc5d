"""Offcuts of the stash: how one lies, what it holds, how it is told."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Self

from nesting.papers import Edge, Paper, Sheet, StripEdge
from nesting.sheets import turned, usable_size
from nesting.typed_lengths import exact_size


@dataclass(frozen=True, slots=True)
class StashOffcut:
    """An offcut by its number: its size in hand, front up, without a barcode strip beyond it.

    ``strip`` is the edge along which the strip is still on, ``top`` the one that is the top of the
    print (``Paper.top`` says of which face).
    """

    number: int
    paper: str
    width: int
    height: int
    strip: StripEdge = "none"
    top: Edge = "top"
    note: str = ""

    @classmethod
    def of(cls, paper: Paper, sheet: Sheet, note: str = "") -> Self:
        """What is left of a paper, lying as its sheets do, before it has a number."""
        strip = sheet.strip or "none"
        return cls(0, paper.name, sheet.width, sheet.height, strip, paper.top, note)

    @property
    def label(self) -> tuple[int, str, str, Edge, StripEdge]:
        """What is said on its label: number, paper, size, edges of the top of the print and of the strip."""
        return self.number, self.paper, exact_size(self.width, self.height), self.top, self.strip

    def on_sheet(self, paper: Paper) -> Sheet:
        """The offcut as its paper's sheets lie."""
        width, height, strip = turned(self.width, self.height, self.strip, self.top, paper.top)
        edge = None if strip == "none" else strip
        return Sheet(width, height, 1, offcut=True, strip=edge, name=str(self.number))

    def find_strip_faults(self, paper: Paper) -> Iterator[tuple[str, str]]:
        """Find, as what was read and expected, a strip that the paper has not, or that is all of the offcut."""
        strip = paper.barcode_strip
        if self.strip == "none":
            return
        across = self.width if self.strip in ("left", "right") else self.height
        if strip is None:
            yield f"a strip on an offcut of {paper.name}", "none, as the paper has no barcode strip"
        elif not strip.beyond_the_sheet and across <= strip.width:
            yield f"an offcut of {paper.name} as narrow as its barcode strip", "more than the strip"


def holds(paper: Paper, sheet: Sheet, width: int, height: int) -> bool:
    """Whether a piece as seen upright can be cut from a sheet, as the print of one of the faces allows."""
    usable = usable_size(paper, sheet, cut_width=0)
    for face in map(paper.face, paper.printed_faces or (paper.default_face,)):
        own, other, _ = turned(*usable, "none", face.up, "top")
        if own >= width and other >= height:
            return True
        if not face.directed and own >= height and other >= width:
            return True
    return False


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
