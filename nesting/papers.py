"""Papers and their sheets: what there is to cut from.

Lengths are integer nanometres. Edges are named with the front of the sheet towards you.
"""

from dataclasses import dataclass, field
from typing import Literal, get_args

Edge = Literal["left", "right", "top", "bottom"]
EDGES: tuple[Edge, ...] = get_args(Edge)
#: The edges as a clock's hand passes them.
CLOCKWISE: tuple[Edge, ...] = ("top", "right", "bottom", "left")
#: Along which edge of a sheet its barcode strip still is.
StripEdge = Literal["left", "right", "top", "bottom", "none"]
Print = Literal["plain", "four-way", "two-way", "one-way"]
FaceName = Literal["front", "back"]
Turn = Literal["never", "may", "must"]
Axis = Literal["x", "y"]
Grain = Literal["long", "short"]

#: Of a field that came later and is written only where it is other than its default.
ONLY_WHERE_SAID = {"later": True, "only where said": True}


@dataclass(frozen=True, slots=True)
class Edges:
    """One length for each edge."""

    left: int = 0
    right: int = 0
    top: int = 0
    bottom: int = 0

    @property
    def even(self) -> bool:
        """Whether it is the same all round."""
        return self.left == self.right == self.top == self.bottom


@dataclass(frozen=True, slots=True)
class Face:
    """A side of a paper; ``up`` is the sheet edge that is the top of the print."""

    print: Print = "plain"
    up: Edge = "top"

    @property
    def directed(self) -> bool:
        """Whether a quarter turn shows."""
        return self.print in ("one-way", "two-way")

    @property
    def default_turn(self) -> Turn:
        """How a piece may be turned unless it says so itself."""
        return "never" if self.directed else "may"


@dataclass(frozen=True, slots=True)
class BarcodeStrip:
    """The maker's printed strip along one edge, inside the sheet's size or beyond it."""

    edge: Edge = "bottom"
    width: int = 12_700_000
    beyond_the_sheet: bool = True
    back_usable: bool = False


@dataclass(frozen=True, slots=True)
class Window:
    """What a covered middle leaves in a layer: a hole, in nm from the piece's lower left corner.

    The piece is upright, its face towards you, with its wrapped ends and without its die allowance.
    """

    card: str
    layer: str
    x: int
    y: int
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class Sheet:
    """A size of paper to cut from, without a strip beyond it.

    ``have`` is None for plenty. ``price`` is of one new sheet, in hundredths of the user's money.
    An offcut cannot be bought, and has no edge trim but ``trim``, which is what is still on a part in
    hand. ``strip`` is the edge along which the paper's barcode strip is still on; None is the paper's
    own edge, and of an offcut none. ``name`` has the numbers of equal offcuts in the stash, with
    commas between. A covered middle is an offcut with ``windows``: the layers that give such a middle,
    each where it is cut out.
    """

    width: int
    height: int
    have: int | None = None
    price: int | None = None
    offcut: bool = False
    strip: StripEdge | None = field(default=None, metadata={"later": True})
    name: str | None = field(default=None, metadata={"later": True})
    trim: Edges | None = field(default=None, metadata=ONLY_WHERE_SAID)
    windows: tuple[Window, ...] = field(default=(), metadata=ONLY_WHERE_SAID)

    @property
    def numbers(self) -> tuple[int, ...]:
        """The numbers that equal offcuts have in the stash."""
        numbers = (self.name or "").split(", ")
        return tuple(int(one) for one in numbers if one.isascii() and one.isdigit())


@dataclass(frozen=True, slots=True)
class Paper:
    """A kind of paper: its sheets and faces."""

    name: str
    sheets: tuple[Sheet, ...]
    buy: bool = True
    front: Face = field(default_factory=Face)
    back: Face = field(default_factory=Face)
    grain: Grain | None = None
    barcode_strip: BarcodeStrip | None = None
    edge_trim: Edges = field(default_factory=Edges)

    def face(self, name: FaceName) -> Face:
        """The face of that name."""
        return self.front if name == "front" else self.back

    @property
    def top(self) -> Edge:
        """The edge of a sheet that is the top of its print: of the front, unless only the back has one."""
        only_back = self.back.directed and not self.front.directed
        return self.back.up if only_back else self.front.up

    @property
    def grain_axis(self) -> Axis | None:
        """The sheet axis along which the grain runs, where it is the same on all whole sheets."""
        axes: set[Axis] = {
            "y" if (sheet.height > sheet.width) == (self.grain == "long") else "x"
            for sheet in self.sheets
            if self.grain and not sheet.offcut
        }
        return axes.pop() if len(axes) == 1 else None

    @property
    def printed_faces(self) -> tuple[FaceName, ...]:
        """The names of the faces that are not plain."""
        names: tuple[FaceName, ...] = ("front", "back")
        return tuple(name for name in names if self.face(name).print != "plain")

    @property
    def default_face(self) -> FaceName:
        """The face that is meant where none is asked for: the only printed one, or the front."""
        printed = self.printed_faces
        return printed[0] if len(printed) == 1 else "front"


@dataclass(frozen=True, slots=True)
class SheetCount:
    """So many sheets of a paper, alike; ``have`` of the sheet says nothing."""

    paper: str
    sheet: Sheet
    count: int


@dataclass(frozen=True, slots=True)
class Supply:
    """Sheets of one size that a paper can be cut from at one cost.

    ``count`` None means without limit; ``bought`` says that they are not at hand.
    """

    sheet: Sheet
    bought: bool
    count: int | None
    cost: int
