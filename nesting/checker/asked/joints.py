"""Where a layer that is cut as two ends may have its joint, and how long the ends are, worked out again."""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import isqrt

from nesting.batch import Batch, Card, Layer
from nesting.checker.asked.places import Shape, shapes_of
from nesting.papers import Edge, Edges

#: The most rows that a disc is taken as.
_MOST_ROWS = 200


def ends_of(card: Card, layer: Layer, batch: Batch) -> list[tuple[tuple[Edge, int], ...]]:
    """Every joint of a layer: of both ends, the edge that it reaches to and its length as cut, in nm.

    From each place where something begins to hide the layer, it is followed how far all of its width
    stays hidden. Where one joint has both ends longer than another has, the other is meant.
    """
    shapes, marks, lap = shapes_of(card), batch.trimmer.marks, batch.lap
    host = shapes[layer.name]
    later = card.layers[[one.name for one in card.layers].index(layer.name) + 1 :]
    covers = [
        shapes[one.name]
        for one in later
        if one.where == layer.where and one.each == 1 and one.belt is None and not one.angle
    ]
    if host.is_round or layer.each > 1 or layer.angle:
        return []
    across = runs_across(layer, host.width, host.height)
    before, after = _behind(layer, host, batch, across=across)
    if not across:
        host, covers = _flipped(host), [_flipped(cover) for cover in covers]
    lengths: set[tuple[int, int]] = set()
    for start, end in _hidden(host, covers, marks):
        if (start <= 0 and not before) or (end >= host.width and not after):
            continue  # an end that nobody sees at all is none
        low, high = before + start + lap, before + end - lap
        whole = before + host.width + after
        first, second = -(-low // marks) * marks, -((high - whole) // marks) * marks
        if low <= high and first + second <= whole:
            lengths.add((first, second))
    edges: tuple[Edge, Edge] = ("left", "right") if across else ("bottom", "top")
    return [
        tuple(zip(edges, both, strict=True))
        for both in sorted(lengths)
        if not any(
            other != both and other[0] <= both[0] and other[1] <= both[1] for other in lengths
        )
    ]


def runs_across(layer: Layer, width: int, height: int) -> bool:
    """Whether a layer's ends are left and right: the axis left open, or else the longer one."""
    open_width, open_height = layer.width is None, layer.height is None
    return open_width if open_width != open_height else width >= height


def _behind(layer: Layer, host: Shape, batch: Batch, *, across: bool) -> tuple[int, int]:
    """What goes behind at the first and at the second end: of a belt, half of what is not in front."""
    wrap = layer.wrap
    if layer.belt is not None:
        shown = host.width if across else host.height
        rest = shown + 2 * layer.belt + batch.lap
        behind = rest + -(shown + rest) % batch.trimmer.marks
        return behind // 2, behind - behind // 2
    if not isinstance(wrap, Edges):
        return wrap, wrap
    return (wrap.left, wrap.right) if across else (wrap.bottom, wrap.top)


def _flipped(shape: Shape) -> Shape:
    return Shape(shape.y, shape.x, shape.height, shape.width, shape.is_round)


def _hidden(host: Shape, covers: Sequence[Shape], marks: int) -> list[tuple[int, int]]:
    """From where to where all the width of a host is hidden, from its own low end; the widest alone."""
    rows = [list(_spans(host, covers, low, high)) for low, high in _rows(host, covers, marks)]
    starts = {0} | {start for spans in rows for start, _ in spans}
    found = {(start, min(_reached(spans, start) for spans in rows)) for start in starts}
    return [
        (start, end)
        for start, end in found
        if start < end
        and not any(a <= start and end <= b for a, b in found if (a, b) != (start, end))
    ]


def _rows(host: Shape, covers: Sequence[Shape], marks: int) -> Iterator[tuple[int, int]]:
    """Rows of the host between heights at which covers change, and the lines between two rows."""
    top = host.y + host.height
    heights = {host.y, top}
    for cover in covers:
        heights |= {cover.y, cover.y + cover.height}
        if cover.is_round:
            step = marks * max(1, -(-cover.height // (marks * _MOST_ROWS)))
            heights |= set(range(cover.y, cover.y + cover.height, step))
    ordered = sorted(height for height in heights if host.y <= height <= top)
    yield from pairwise(ordered)
    yield from zip(ordered[1:-1], ordered[1:-1], strict=True)


def _spans(host: Shape, covers: Sequence[Shape], low: int, high: int) -> Iterator[tuple[int, int]]:
    """What each cover hides of a row, from the host's low end."""
    for cover in covers:
        bottom, top = cover.y, cover.y + cover.height
        if not (bottom < low < top if low == high else bottom <= low and high <= top):
            continue
        start, end = cover.x, cover.x + cover.width
        if cover.is_round:
            half = isqrt(min(cover.width**2 - (2 * at - bottom - top) ** 2 for at in (low, high)))
            middle = start + end
            start, end = -((half - middle) // 2), (middle + half) // 2
        start, end = max(start - host.x, 0), min(end - host.x, host.width)
        if start < end:
            yield start, end


def _reached(spans: Sequence[tuple[int, int]], start: int) -> int:
    """How far a row is hidden from a place on; where two covers only touch, the line is seen."""
    at = start
    for low, high in sorted(spans):
        if low < at or low == at == start:
            at = max(at, high)
    return at
