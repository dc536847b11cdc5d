"""How a face of a paper looks in a picture: its photo, or its tint with marks for its print."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from nesting.batch import Batch
from nesting.draw.canvas.palette import HATCH, tint
from nesting.draw.canvas.surface import Box
from nesting.draw.sheet.bearings import WAYS, quarter_turns, seen_edge
from nesting.page.pictures.screen import ScreenSurface
from nesting.papers import Edge, FaceName, Paper

#: Where a photo of a face of a paper is served.
Photos = Mapping[tuple[str, FaceName], str]
#: How far apart the marks of a print are, in points, and how large one is.
_PITCH, _MARK = 15.0, 3.0

Points = list[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class FaceLook:
    """How a face of a paper looks: ``number`` is the paper's in the batch, which gives its tint."""

    paper: Paper
    face: FaceName
    number: int
    photo: str | None

    def fill(self, surface: ScreenSurface, box: Box, scale: float, top: Edge) -> None:
        """Fill a box with the face, the top of its print at that edge; ``scale`` is points per nm."""
        surface.box(box, fill=tint(self.number))
        if self.photo is None:
            surface.lines(_marks(self.paper, self.face, box, top), 1.0, HATCH)
            return
        sheet = self.paper.sheets[0]
        up = seen_edge(self.paper.face(self.face).up, back_up=self.face == "back")
        size = sheet.width * scale, sheet.height * scale
        surface.photo(self.photo, size, box, quarter_turns(up, top))


@dataclass(frozen=True, slots=True)
class Looks:
    """How the papers of a batch look."""

    batch: Batch
    photos: Photos

    def of(self, name: str, face: FaceName | None) -> FaceLook:
        """The look of a paper's face, None being the one that is meant where none is asked for."""
        number = [one.name for one in self.batch.papers].index(name)
        paper = self.batch.papers[number]
        face = face or paper.default_face
        return FaceLook(paper, face, number, self.photos.get((name, face)))


def _marks(paper: Paper, face: FaceName, box: Box, top: Edge) -> Iterator[Points]:
    """The marks that tell the prints apart: crosses, stripes, or arrowheads that have to stand."""
    way_x, way_y = WAYS[top]

    def point(x: float, y: float, aside: float, up: float) -> tuple[float, float]:
        return x + aside * way_y + up * way_x, y - aside * way_x + up * way_y

    match paper.face(face).print:
        case "two-way":
            yield from _stripes(box, upright=way_x == 0)
        case "one-way":
            for x, y in _spots(box):
                ends = ((-_MARK, -_MARK), (0.0, _MARK), (_MARK, -_MARK))
                yield [point(x, y, aside, up) for aside, up in ends]
        case "four-way":
            for x, y in _spots(box):
                yield [(x - _MARK, y), (x + _MARK, y)]
                yield [(x, y - _MARK), (x, y + _MARK)]
        case _:
            pass


def _stripes(box: Box, *, upright: bool) -> Iterator[Points]:
    along = _PITCH / 2
    while along < (box.width if upright else box.height):
        if upright:
            yield [(box.x + along, box.y), (box.x + along, box.top)]
        else:
            yield [(box.x, box.y + along), (box.right, box.y + along)]
        along += _PITCH


def _spots(box: Box) -> Iterator[tuple[float, float]]:
    """Places all over a box, every other row between those of the row before."""
    y, shifted = box.top - _PITCH / 2, False
    while y - _MARK > box.y:
        x = box.x + _PITCH / 2 * (2 if shifted else 1)
        while x + _MARK < box.right:
            yield x, y
            x += _PITCH
        y, shifted = y - _PITCH, not shifted
