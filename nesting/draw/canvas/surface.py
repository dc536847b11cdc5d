"""A page to draw on, in points from its lower left corner."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import count
from math import cos, radians, sin
from typing import TYPE_CHECKING, Literal, Protocol

from nesting.draw.canvas.lettering import BODY, run_width, text_width
from nesting.draw.canvas.palette import INK, Colour
from nesting.draw.canvas.typefaces import drawable, runs_of
from nesting.units import NAMED_SIZES, NANOMETRES

if TYPE_CHECKING:
    from matplotlib.artist import Artist

POINTS_PER_INCH = 72
#: White kept all round a page, in points: no printer reaches the edge.
EDGE = 36.0

Dash = tuple[float, ...]
#: The foot of a page is read after all else on it: more is never drawn.
_LAST = 10**9


@dataclass(frozen=True, slots=True)
class Page:
    """A sheet of printer paper, upright; ``width`` and ``height`` in nm."""

    name: str
    width: int
    height: int


LETTER_PAGE = Page("letter", *NAMED_SIZES["letter"])
A4_PAGE = Page("A4", *NAMED_SIZES["A4"])
#: The pages a plan can be printed on, by name.
PAGES: dict[str, Page] = {page.name: page for page in (LETTER_PAGE, A4_PAGE)}


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on the page, in points."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """The x of the right edge."""
        return self.x + self.width

    @property
    def top(self) -> float:
        """The y of the top edge."""
        return self.y + self.height

    @property
    def centre(self) -> tuple[float, float]:
        """The middle."""
        return self.x + self.width / 2, self.y + self.height / 2

    def inset(self, by: float) -> "Box":
        """The box with ``by`` points off each side."""
        return Box(self.x + by, self.y + by, self.width - 2 * by, self.height - 2 * by)

    def meets(self, other: "Box") -> bool:
        """Whether two boxes have more than an edge in common."""
        # Not by ``right`` and ``top``: with many words in a picture most of its time goes here.
        return (
            self.x < other.x + other.width
            and other.x < self.x + self.width
            and self.y < other.y + other.height
            and other.y < self.y + self.height
        )


def box_at(centre: tuple[float, float], width: float, height: float) -> Box:
    """The box of that size round a centre."""
    return Box(centre[0] - width / 2, centre[1] - height / 2, width, height)


class AnySurface(Protocol):
    """What is drawn on, in points, y up: a printed page, or a picture for the screen.

    What is drawn later lies on top.
    """

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        *,
        bold: bool = False,
        align: Literal["left", "center", "right"] = "left",
        rotation: float = 0,
        colour: Colour = INK,
    ) -> None:
        """Write a line of text with its baseline at ``y``; nothing in it is markup."""

    def line(
        self,
        points: Sequence[tuple[float, float]],
        weight: float,
        *,
        dash: Dash = (),
        colour: Colour = INK,
    ) -> None:
        """Draw a line through points; ``dash`` is lengths of line and gap in turn."""

    def box(
        self,
        box: Box,
        *,
        fill: Colour | None = None,
        weight: float = 0,
        dash: Dash = (),
        colour: Colour = INK,
        hatch: Colour | None = None,
    ) -> None:
        """Draw a rectangle: filled, hatched, outlined, or more than one of these."""

    def disc(
        self,
        centre: tuple[float, float],
        radius: float,
        *,
        fill: Colour | None = None,
        weight: float = 0,
    ) -> None:
        """Draw a circle."""

    def shape(
        self,
        corners: Sequence[tuple[float, float]],
        *,
        fill: Colour | None,
        weight: float = 0,
        dash: Dash = (),
    ) -> None:
        """Draw a closed shape with straight sides."""


#: Makes SVG's identifiers the same every time, and tells our settings from others.
_SALT = "nesting"


@contextmanager
def house_style() -> Iterator[None]:
    """Matplotlib's own defaults, whatever the reader's settings, and ours for files.

    Text stays text in SVG, fonts are embedded in PDF, and the same drawing gives the same bytes.
    """
    import matplotlib as mpl

    if mpl.rcParams["svg.hashsalt"] == _SALT:  # already within it: entering takes a while
        yield
        return
    with mpl.rc_context():
        mpl.rcdefaults()
        mpl.rcParams.update(
            {
                "pdf.fonttype": 42,
                "svg.fonttype": "none",
                "font.sans-serif": ["sans-serif"],  # as SVG spells it: for readers without our font
                "svg.hashsalt": _SALT,
                "lines.scale_dashes": False,
                "text.hinting": "none",
                "hatch.linewidth": 0.6,
            }
        )
        yield


class Surface:
    """A figure of a page's exact size; what is drawn later lies on top.

    ``foot`` is written in the white at its lower edge, which belongs to no other text.
    """

    def __init__(self, page: Page, foot: str = "") -> None:
        from matplotlib.figure import Figure
        from matplotlib.transforms import Affine2D

        inch = NANOMETRES["in"]
        self.figure: Figure = Figure(figsize=(page.width / inch, page.height / inch), dpi=100)
        self._points = Affine2D().scale(1 / POINTS_PER_INCH) + self.figure.dpi_scale_trans
        self._order = count(_LAST)
        width, height = (side / inch * POINTS_PER_INCH for side in (page.width, page.height))
        self.print_area = Box(0, 0, width, height).inset(EDGE)
        if foot:
            self.text(self.print_area.x, self.foot_baseline, foot, BODY)
        self._order = count(1)

    @property
    def foot_baseline(self) -> float:
        """Where what stands in the white at the lower edge is written."""
        return self.print_area.y - BODY

    def _add(self, artist: "Artist") -> None:
        artist.set_transform(self._points)
        artist.set_zorder(next(self._order))
        self.figure.add_artist(artist)

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        *,
        bold: bool = False,
        align: Literal["left", "center", "right"] = "left",
        rotation: float = 0,
        colour: Colour = INK,
    ) -> None:
        """Write a line of text with its baseline at ``y``; nothing in it is markup."""
        from nesting.draw.canvas.line_of_text import LineOfText

        runs = runs_of(drawable(text), size, bold=bold)
        along = 0.0
        if len(runs) > 1:  # each begins where the one before it ends
            shift = {"left": 0.0, "center": 0.5, "right": 1.0}[align]
            along, align = -shift * text_width(text, size, bold=bold), "left"
        turn = radians(rotation)
        for run, font in runs:
            line = LineOfText(
                x + along * cos(turn),
                y + along * sin(turn),
                run,
                fontproperties=font,
                color=colour,
                horizontalalignment=align,
                verticalalignment="baseline",
                rotation=rotation,
                rotation_mode="anchor",
                parse_math=False,
                width=run_width(run, font) if align != "left" else 0.0,
            )
            self._add(line)
            if len(runs) > 1:
                along += run_width(run, font)

    def line(
        self,
        points: Sequence[tuple[float, float]],
        weight: float,
        *,
        dash: Dash = (),
        colour: Colour = INK,
    ) -> None:
        """Draw a line through points; ``dash`` is lengths of line and gap in turn."""
        from matplotlib.lines import Line2D

        line = Line2D(
            [x for x, _ in points],
            [y for _, y in points],
            linewidth=weight,
            color=colour,
            solid_capstyle="butt",
            solid_joinstyle="miter",
            linestyle=(0, dash) if dash else "solid",
        )
        self._add(line)

    def box(
        self,
        box: Box,
        *,
        fill: Colour | None = None,
        weight: float = 0,
        dash: Dash = (),
        colour: Colour = INK,
        hatch: Colour | None = None,
    ) -> None:
        """Draw a rectangle: filled, hatched, outlined, or more than one of these."""
        from matplotlib.patches import Rectangle

        if hatch is not None:  # the edge colour is also the hatch's: an outline is drawn apart
            self._add(
                Rectangle(
                    (box.x, box.y),
                    box.width,
                    box.height,
                    facecolor=fill or "none",
                    edgecolor=hatch,
                    linewidth=0,
                    hatch="////",
                )
            )
            fill = None
        if fill is not None or weight:
            self._add(
                Rectangle(
                    (box.x, box.y),
                    box.width,
                    box.height,
                    facecolor=fill or "none",
                    edgecolor=colour if weight else "none",
                    linewidth=weight,
                    linestyle=(0, dash) if dash else "solid",
                    joinstyle="miter",
                )
            )

    def disc(
        self,
        centre: tuple[float, float],
        radius: float,
        *,
        fill: Colour | None = None,
        weight: float = 0,
    ) -> None:
        """Draw a circle."""
        from matplotlib.patches import Circle

        self._add(
            Circle(
                centre,
                radius,
                facecolor=fill or "none",
                edgecolor=INK if weight else "none",
                linewidth=weight,
            )
        )

    def shape(
        self,
        corners: Sequence[tuple[float, float]],
        *,
        fill: Colour | None,
        weight: float = 0,
        dash: Dash = (),
    ) -> None:
        """Draw a closed shape with straight sides."""
        from matplotlib.patches import Polygon

        self._add(
            Polygon(
                list(corners),
                closed=True,
                facecolor=fill or "none",
                edgecolor=INK if weight else "none",
                linewidth=weight,
                linestyle=(0, dash) if dash else "solid",
                joinstyle="miter",
            )
        )
