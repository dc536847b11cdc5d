"""What a cutting machine cuts out: each piece where it lies, a circle as a circle."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace

from nesting.layouts import Blank, Layout, Placed, Source
from nesting.papers import Window
from nesting.pieces import Piece
from nesting.plan import Plan


@dataclass(frozen=True, slots=True)
class PlacedPiece:
    """A piece where it lies: the rectangle it fills, in nm, front up, from the lower left corner.

    A rectangle has its die allowance round it: a die finishes it. A circle has none, as the
    machine finishes it, and lies in the middle of its rectangle, whose side is its diameter, or 1 nm
    more where that is odd: so its centre is a whole number. A ``window`` is cut out of it for its
    covered middle.
    """

    piece: Piece
    turned: bool
    x: int
    y: int
    width: int
    height: int
    window: Window | None = None

    @property
    def is_round(self) -> bool:
        """Whether it is a circle."""
        return self.piece.shape == "circle"

    @property
    def centre(self) -> tuple[int, int]:
        """The middle, to the nanometre below; exact for a circle."""
        return self.x + self.width // 2, self.y + self.height // 2

    @property
    def extent(self) -> tuple[int, int, int, int]:
        """Left, low, right and top of what has to be within reach.

        1 nm less all round for a circle of an odd diameter: the plan rounds its centre.
        """
        odd = self.piece.width % 2 if self.is_round else 0
        right, top = self.x + self.width - odd, self.y + self.height - odd
        return self.x + odd, self.y + odd, right, top

    @property
    def placed(self) -> Placed:
        """The same as a leaf of a cut tree."""
        blank = Blank(self.piece.id, self.turned)
        return Placed(blank, self.x, self.y, self.width, self.height)

    def moved(self, x: int, y: int) -> "PlacedPiece":
        """The shape that much further to the right and up."""
        return replace(self, x=self.x + x, y=self.y + y)


@dataclass(frozen=True, slots=True)
class Sheetful:
    """The shapes on one sheet, and how many sheets are cut alike.

    ``number`` is that of the layout, or of the sheet in the arrangement.
    """

    number: int
    paper: str
    source: Source
    width: int
    height: int
    alike: int
    to_buy: int
    shapes: tuple[PlacedPiece, ...]


def shape_size(piece: Piece, *, turned: bool) -> tuple[int, int]:
    """Width and height of a piece's shape on the sheet, in nm."""
    if piece.shape == "circle":
        side = piece.width + piece.width % 2
        return side, side
    return piece.on_sheet(turned=turned)


def shapes_of(plan: Plan, layout: Layout) -> tuple[PlacedPiece, ...]:
    """The shapes of a layout, where the plan has them."""
    shapes: list[PlacedPiece] = []
    for placed in layout.blanks:
        if not isinstance(placed.node, Blank):
            continue
        piece, turned = plan.piece(placed.node.piece), placed.node.turned
        size = shape_size(piece, turned=turned)
        corners = [(placed.x, placed.y)]
        if piece.shape == "circle":
            corners = [(x - size[0] // 2, y - size[1] // 2) for x, y in placed.node.circles]
        shapes.extend(PlacedPiece(piece, turned, *corner, *size) for corner in corners)
    return tuple(shapes)


def sheetful_of(layout: Layout, shapes: tuple[PlacedPiece, ...]) -> Sheetful:
    """The sheet of a layout with these shapes on it."""
    return Sheetful(
        number=layout.id,
        paper=layout.paper,
        source=layout.source,
        width=layout.width,
        height=layout.height,
        alike=layout.alike,
        to_buy=layout.to_buy,
        shapes=shapes,
    )


def count_pieces(shapes: Iterable[PlacedPiece]) -> Counter[str]:
    """How many shapes there are of each piece, by its id."""
    return Counter(shape.piece.id for shape in shapes)
