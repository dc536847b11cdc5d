"""The usable rectangle of a sheet, and the rules for cutting on it."""

from dataclasses import dataclass

from nesting.pack.model.problem import Problem
from nesting.papers import Axis, Sheet
from nesting.sheets import is_kept, starting_edges, strip_of, taken_off, usable_size


@dataclass(frozen=True, slots=True)
class Room:
    """The usable rectangle of a sheet, in nm, with the cut width added to all its lengths.

    ``far`` is the axis at whose far end something comes off in the same row of cuts. ``strip`` says
    that it is the barcode strip, which stays on any offcut beside it; edge trim stays on waste.
    ``far_low`` says that this end is the left or the bottom one: a cut that takes a whole remainder
    leaves nothing there. ``marks`` says that the ruler is set to descending marks. ``keep_from``
    and ``longest`` are without the cut width.
    """

    width: int
    height: int
    unit: int
    cut_width: int
    longest: int | None
    keep_from: tuple[tuple[int, int], ...]
    far: Axis | None = None
    strip: bool = False
    far_low: bool = False
    marks: bool = False

    def size(self, axis: Axis) -> int:
        """Its length along an axis."""
        return self.width if axis == "x" else self.height

    def may_cut(self, length: int) -> bool:
        """Whether the trimmer can make a cut of this length."""
        return self.longest is None or length - self.cut_width <= self.longest

    def kept(self, width: int, height: int) -> int:
        """The area of an offcut in nm², 0 if it is not kept."""
        width, height = width - self.cut_width, height - self.cut_width
        return width * height if is_kept(width, height, self.keep_from) else 0


def room_of(problem: Problem, sheet: Sheet, keep_from: tuple[tuple[int, int], ...]) -> Room:
    """The room on a sheet of a problem's paper."""
    paper, trimmer = problem.paper, problem.trimmer
    width, height = usable_size(paper, sheet, trimmer.cut_width)
    corner = starting_edges(strip_of(paper, sheet), trimmer.hand)
    last: Axis | None = None
    ends: dict[str, str] = {}
    for edge, _, what in reversed(taken_off(paper, sheet, trimmer.cut_width)):
        axis: Axis = "x" if edge in ("left", "right") else "y"
        if last not in (None, axis):
            break
        last = axis
        if edge not in corner:
            ends.setdefault(edge, what)
    return Room(
        width=width + trimmer.cut_width,
        height=height + trimmer.cut_width,
        unit=problem.unit,
        cut_width=trimmer.cut_width,
        longest=trimmer.longest_cut,
        keep_from=keep_from,
        far=last if ends else None,
        strip=list(ends.values()) == ["strip"],
        far_low=not ends.keys().isdisjoint(("left", "bottom")),
        marks=trimmer.repeat == "descending marks",
    )
