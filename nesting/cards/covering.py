"""What layers cover of those below, and where along a layer those above hide it.

Covers are rectangles, discs and what is seen of aslant layers, all of them convex. They are never made
larger than they are: every length is a whole number of nanometres, and what is not sure to be hidden
counts as seen.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import isqrt
from typing import Self

from nesting.cards.aslant import Point, box_round
from nesting.cards.placing import PlacedLayer
from nesting.papers import Axis

#: A low and a high end, in nm.
Span = tuple[int, int]

#: More nm than the edge of a shape whose corners are rounded may be off.
_UNSURE = 3

#: The most rows that a disc is taken as.
_MOST_ROWS = 200


@dataclass(frozen=True, slots=True)
class Outline:
    """A rectangle on the card, or the disc in a square, in nm from the card's lower left corner.

    Where there are ``corners``, it is the convex shape that has them; they are rounded to whole nm,
    so that what lies within a few of its edge is not sure to lie inside.
    """

    x: int
    y: int
    width: int
    height: int
    is_round: bool = False
    corners: tuple[Point, ...] = ()

    @property
    def top(self) -> int:
        """The high edge."""
        return self.y + self.height

    def shrunk(self, by: int) -> Self | None:
        """What lies at least so far inside its edge; None where nothing does, or it has corners."""
        if self.corners:
            return None
        width, height = self.width - 2 * by, self.height - 2 * by
        if width <= 0 or height <= 0:
            return None
        return type(self)(self.x + by, self.y + by, width, height, self.is_round)

    def flipped(self) -> Self:
        """Itself with left to right and bottom to top exchanged."""
        corners = tuple((y, x) for x, y in self.corners)
        return type(self)(self.y, self.x, self.height, self.width, self.is_round, corners)

    def within(self, low: int, high: int) -> Span | None:
        """From where to where a row from ``low`` to ``high`` lies inside, edges included.

        A disc's ends are rounded inwards, and so are those of a shape with corners.
        """
        if low < self.y or high > self.top:
            return None
        if self.corners:
            (left, right), (other_left, other_right) = self._chord(low), self._chord(high)
            left, right = max(left, other_left) + _UNSURE, min(right, other_right) - _UNSURE
            return (left, right) if left <= right else None
        if not self.is_round:
            return self.x, self.x + self.width
        half = isqrt(min(self._chord_squared(2 * low), self._chord_squared(2 * high)))
        middle = 2 * self.x + self.width
        left, right = -((half - middle) // 2), (middle + half) // 2
        return (left, right) if left <= right else None

    def reached(self, low: int, high: int) -> Span | None:
        """From where to where it has anything between these heights; None where it has nothing.

        A disc's ends are rounded outwards, and a shape with corners counts as the rectangle round it.
        """
        if high <= self.y or low >= self.top:
            return None
        if not self.is_round:
            return self.x, self.x + self.width
        nearest = min(max(2 * self.y + self.height, 2 * low), 2 * high)
        squared = self._chord_squared(nearest)
        half = isqrt(squared - 1) + 1 if squared else 0
        middle = 2 * self.x + self.width
        return (middle - half) // 2, -((-middle - half) // 2)

    def holds(self, other: Self) -> bool:
        """Whether all of another lies inside; of a shape with corners that is not looked at."""
        if self.corners:
            return False
        if self.is_round and other.is_round:
            across = 2 * (other.x - self.x) + other.width - self.width
            along = 2 * (other.y - self.y) + other.height - self.height
            slack = self.width - other.width
            return slack >= 0 and across * across + along * along <= slack * slack
        if self.is_round and other.corners:
            x, y = 2 * self.x + self.width, 2 * self.y + self.height
            return all(
                (2 * a - x) ** 2 + (2 * b - y) ** 2 <= self.width**2 for a, b in other.corners
            )
        span = self.within(other.y, other.top)
        return span is not None and span[0] <= other.x and other.x + other.width <= span[1]

    def _chord(self, at: int) -> Span:
        """From where to where a shape with corners lies on a line at a height, ends rounded."""
        ends = []
        for (x, y), (to_x, to_y) in pairwise([*self.corners, self.corners[0]]):
            if y == at:
                ends.append(x)
            if min(y, to_y) < at < max(y, to_y):
                ends.append(x + (to_x - x) * (at - y) // (to_y - y))
        return min(ends), max(ends)

    def _chord_squared(self, at: int) -> int:
        """The square of a disc's width at a height that is given twice."""
        off = at - 2 * self.y - self.height
        return max(0, self.width * self.width - off * off)


def outline_of(placed: PlacedLayer) -> Outline:
    """What a layer covers as it is placed; wrapped ends do not count."""
    if placed.slant:
        return Outline(*box_round(placed.corners), corners=placed.corners)
    is_round = placed.layer.circle is not None
    return Outline(placed.x, placed.y, placed.width, placed.height, is_round)


def layers_above(placed: Mapping[str, PlacedLayer], name: str) -> list[PlacedLayer]:
    """The layers on the same side of the card that lie higher than a layer, from the bottom up."""
    names = list(placed)
    return [
        placed[other]
        for other in names[names.index(name) + 1 :]
        if placed[other].layer.where == placed[name].layer.where
    ]


def hidden_along(
    placed: Mapping[str, PlacedLayer],
    name: str,
    axis: Axis,
    lap: int,
    marks: int,
    without: Collection[str] = (),
) -> tuple[Span, ...]:
    """Where along a layer the layers above hide it over its full width, less a lap at both ends.

    What is promised: a joint across the layer anywhere in one of these spans, its ends included, is
    hidden from edge to edge, and so is the layer for at least ``lap`` on both sides of it. Covers
    that overlap hide together; where two only touch, the line between them counts as seen. Covers
    that are discs are taken as rows no higher than ``marks`` where several hide together, and never
    as more than they are; a disc alone is exact. A layer that each card has several of covers
    nothing and is hidden by nothing, as the place of only one is known.

    Parameters
    ----------
    placed
        The card itself and its layers, from bottom to top (``placing.place_layers``).
    name
        The layer that is looked at. Nothing is promised of a round one, or one that lies aslant.
    axis
        The direction of its length.
    lap
        How far it has to reach under the cover on both sides, in nm.
    marks
        How high the rows are that discs are taken as, in nm.
    without
        Layers above that do not count as covers, such as those that are open themselves.

    Returns
    -------
    tuple
        Spans from low to high, in nm from the layer's low edge on that axis.

    Examples
    --------
    >>> import nesting
    >>> from nesting.cards.resolving import resolve
    >>> placed = resolve(nesting.read_batch("samples/orchard.yaml")).placed[0]
    >>> hidden_along(placed, "mat", "x", lap=6_350_000, marks=1_587_500)
    ()
    """
    host = placed[name]
    if host.layer.circle is not None or host.slant or host.layer.each > 1:
        return ()
    outline = outline_of(host)
    covers = [
        outline_of(one)
        for one in layers_above(placed, name)
        if one.layer.each == 1 and one.layer.name not in without
    ]
    if axis == "y":
        outline, covers = outline.flipped(), [cover.flipped() for cover in covers]
    spans: list[Span] = [(outline.x, outline.x + outline.width)]
    for row in _rows(outline, covers, marks):
        spans = common(spans, _united(_hidden_in(row, covers)))
    return tuple(
        (low + lap - outline.x, high - lap - outline.x)
        for low, high in spans
        if low + lap <= high - lap
    )


def _rows(outline: Outline, covers: Iterable[Outline], marks: int) -> Iterator[Span]:
    """The rows of an outline, and the lines between them, so that covers begin and end on lines."""
    lines = {outline.y, outline.top}
    for cover in covers:
        lines |= {cover.y, cover.top, *(y for _, y in cover.corners)}
        if cover.is_round or cover.corners:
            lines.update(range(cover.y, cover.top, _row_height(cover, marks)))
    inside = sorted(line for line in lines if outline.y <= line <= outline.top)
    yield from pairwise(inside)
    yield from ((line, line) for line in inside[1:-1])


def _row_height(cover: Outline, marks: int) -> int:
    """The height of the rows of a disc: the marks, or a multiple of them."""
    return marks * max(1, -(-cover.height // (marks * _MOST_ROWS)))


def _hidden_in(row: Span, covers: Iterable[Outline]) -> Iterator[Span]:
    """What each cover hides of a row; of a line between two rows, only what lies inside covers it."""
    low, high = row
    for cover in covers:
        span = cover.within(low, high)
        if span is not None and (low < high or cover.y < low < cover.top):
            yield span


def _united(spans: Iterable[Span]) -> list[Span]:
    """Spans that overlap as one; those that only touch stay apart."""
    united: list[Span] = []
    for low, high in sorted(spans):
        if united and low < united[-1][1]:
            united[-1] = (united[-1][0], max(united[-1][1], high))
        else:
            united.append((low, high))
    return united


def common(some: Iterable[Span], others: Sequence[Span]) -> list[Span]:
    """What lies in a span of each."""
    both = ((max(a, c), min(b, d)) for a, b in some for c, d in others)
    return [(low, high) for low, high in both if low < high]
