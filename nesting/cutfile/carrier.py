"""The carrier a cutting machine moves the sheet on, and how far its blade reaches."""

from collections.abc import Iterator
from dataclasses import dataclass

from nesting.batch import Batch
from nesting.cutfile.shapes import PlacedPiece, Sheetful
from nesting.errors import NestingError
from nesting.papers import EDGES, Edge
from nesting.units import Unit, enumerated, length_words, size_words

#: What most machines do not reach along each edge of their carrier, as it is typed.
USUAL_EDGE: dict[Unit, str] = {"in": "1/4", "mm": "6", "cm": "0.6"}


class CutFileError(NestingError, ValueError):
    """No cut file can be made of the plan this way; ``messages`` has every reason."""

    def __init__(self, *messages: str) -> None:
        super().__init__("\n".join(messages))
        self.messages = messages


@dataclass(frozen=True, slots=True)
class Setup:
    """How the files are wanted.

    ``gap`` is between the outlines of pieces; ``carrier`` is its width and height (None: as large
    as the sheet), ``edge`` what the blade cannot reach along each of its edges; all in nm.
    """

    gap: int = 0
    carrier: tuple[int, int] | None = None
    edge: int = 0
    back_up: bool = False
    lettering: bool = False

    def carries(self, width: int, height: int) -> bool:
        """Whether a sheet of this size fits on the carrier."""
        return self.carrier is None or (width <= self.carrier[0] and height <= self.carrier[1])


@dataclass(frozen=True, slots=True)
class Area:
    """A rectangle on the sheet, in nm from its lower left corner."""

    x: int
    y: int
    width: int
    height: int

    def mirrored(self, sheet_width: int) -> "Area":
        """The same seen from the back, as when a page is turned."""
        return Area(sheet_width - self.x - self.width, self.y, self.width, self.height)

    def holds(self, shape: PlacedPiece) -> bool:
        """Whether a shape lies within it."""
        return not any(_edges_beyond(shape, self))


@dataclass(frozen=True, slots=True)
class Mounting:
    """Where a sheet lies on the carrier, and what of the sheet the blade reaches.

    ``right`` and ``down`` are from the carrier's top left corner to the sheet's, in nm, as the
    sheet lies; ``reach`` is on the sheet with its front up.
    """

    right: int
    down: int
    reach: Area


def mounting_of(wanted: Area, width: int, height: int, setup: Setup) -> Mounting:
    """Lay a sheet on the carrier so that the blade reaches as much of a box as can be.

    In the carrier's top left corner, and from there only as far to the right and down as brings
    the box's left and top edges within reach: moving on loses at the other edge what is won here.
    The sheet has to fit on the carrier.
    """
    seen = wanted.mirrored(width) if setup.back_up else wanted
    across, along = setup.carrier or (width, height)
    right = _offset(seen.x, width, across, setup.edge)
    down = _offset(height - seen.y - seen.height, height, along, setup.edge)
    left, end = _reach(right, width, across, setup.edge)
    top, foot = _reach(down, height, along, setup.edge)
    reach = Area(left, height - foot, end - left, foot - top)
    return Mounting(right, down, reach.mirrored(width) if setup.back_up else reach)


def _offset(low: int, sheet: int, carrier: int, edge: int) -> int:
    return min(max(0, edge - low), carrier - sheet)


def _reach(offset: int, sheet: int, carrier: int, edge: int) -> tuple[int, int]:
    """From where to where the blade reaches, measured on the sheet."""
    low = max(0, edge - offset)
    return low, max(low, min(sheet, carrier - edge - offset))


def bounds_of(shapes: tuple[PlacedPiece, ...]) -> Area:
    """The smallest box round one or more shapes."""
    lefts, lows, rights, tops = zip(*(shape.extent for shape in shapes), strict=True)
    x, y = min(lefts), min(lows)
    return Area(x, y, max(rights) - x, max(tops) - y)


def lie_on_carrier(sheetful: Sheetful, setup: Setup) -> Mounting:
    """Where a sheet lies: all of it within reach as far as can be, or at least its shapes."""
    width, height = sheetful.width, sheetful.height
    lie = mounting_of(Area(0, 0, width, height), width, height, setup)
    if all(map(lie.reach.holds, sheetful.shapes)):
        return lie
    return mounting_of(bounds_of(sheetful.shapes), width, height, setup)


def find_misfit(sheetful: Sheetful, setup: Setup, asked: Batch) -> str | None:
    """Say that a sheet does not fit on the carrier, and what to do; None where it does."""
    unit, paper = asked.unit, asked.paper(sheetful.paper)
    width, height = sheetful.width, sheetful.height
    if setup.carrier is None or setup.carries(width, height):
        return None
    sheet, carrier = (size_words(*size, unit) for size in ((width, height), setup.carrier))
    if width <= setup.carrier[1] and height <= setup.carrier[0]:
        across, along = setup.carrier
        mend = f"the carrier turned, {size_words(along, across, unit)}, on which it fits"
    else:
        strip = " without its barcode strip" if paper.barcode_strip else " cut to fit it"
        mend = f"a larger carrier, or a plan with the sheet{strip}"
    return f"{_where(sheetful)}: the sheet of {sheet} on a carrier of {carrier}; expected {mend}"


def find_out_of_reach(sheetful: Sheetful, setup: Setup, unit: Unit) -> Iterator[str]:
    """Say for each piece that the blade does not reach all of, at which edges, and what to do."""
    lie = lie_on_carrier(sheetful, setup)
    beyond: dict[str, set[str]] = {}
    for shape in sheetful.shapes:
        if not lie.reach.holds(shape):
            name = f"{shape.piece.letter} {shape.piece.name}"
            beyond.setdefault(name, set()).update(_edges_beyond(shape, lie.reach))
    if beyond:
        names = ", ".join(beyond)
        edges = [e for e in EDGES if any(e in s for s in beyond.values())]
        reach = size_words(lie.reach.width, lie.reach.height, unit)
        sheet = size_words(sheetful.width, sheetful.height, unit)
        yield (
            f"{_where(sheetful)}: {names} at the {enumerated(edges)} of the sheet, where the blade does not "
            f"reach ({reach} of {sheet} with an edge of {length_words(setup.edge, unit)}); expected "
            "a smaller edge, a larger carrier, no straight cuts, which arranges the pieces "
            "within reach, or as much edge trim on the paper in the batch"
        )


def _edges_beyond(shape: PlacedPiece, reach: Area) -> Iterator[Edge]:
    """The edges of a box that a shape reaches beyond."""
    left, low, right, top = shape.extent
    if left < reach.x:
        yield "left"
    if right > reach.x + reach.width:
        yield "right"
    if top > reach.y + reach.height:
        yield "top"
    if low < reach.y:
        yield "bottom"


def _where(sheetful: Sheetful) -> str:
    return f"layout {sheetful.number} ({sheetful.paper})"
