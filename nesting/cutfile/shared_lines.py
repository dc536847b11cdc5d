"""Shared edges as one run, collinear runs joined: no line lies under another."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from nesting.cutfile.shapes import PlacedPiece
from nesting.papers import Axis


@dataclass(frozen=True, slots=True, order=True)
class LineRun:
    """A straight line: ``axis`` x is the line x = ``at``, from ``low`` to ``high`` along y, in nm."""

    axis: Axis
    at: int
    low: int
    high: int

    @property
    def ends(self) -> tuple[tuple[int, int], tuple[int, int]]:
        """Both ends."""
        if self.axis == "x":
            return (self.at, self.low), (self.at, self.high)
        return (self.low, self.at), (self.high, self.at)


def edges(shapes: Iterable[PlacedPiece]) -> Iterator[LineRun]:
    """The four edges of each rectangle; circles have none."""
    for shape in shapes:
        if not shape.is_round:
            right, top = shape.x + shape.width, shape.y + shape.height
            yield from (LineRun("x", at, shape.y, top) for at in (shape.x, right))
            yield from (LineRun("y", at, shape.x, right) for at in (shape.y, top))


def joined(runs: Iterable[LineRun]) -> tuple[LineRun, ...]:
    """The same lines, each point of them once: what overlaps or touches end to end is one run.

    Examples
    --------
    >>> joined([LineRun("x", 0, 0, 5), LineRun("x", 0, 5, 9), LineRun("x", 0, 2, 4), LineRun("y", 0, 5, 9)])
    (LineRun(axis='x', at=0, low=0, high=9), LineRun(axis='y', at=0, low=5, high=9))
    """
    out: list[LineRun] = []
    for run in sorted(runs):
        last = out[-1] if out else None
        if last and (last.axis, last.at) == (run.axis, run.at) and run.low <= last.high:
            out[-1] = LineRun(run.axis, run.at, last.low, max(last.high, run.high))
        else:
            out.append(run)
    return tuple(out)
