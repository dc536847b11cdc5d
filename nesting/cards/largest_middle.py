"""The largest rectangle that can be cut out of a layer before what hides it is glued on."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from nesting.cards.covering import Outline, Span, common, layers_above, outline_of
from nesting.cards.placing import PlacedLayer

#: A layer that lies on another, and what it hides of that for good, the glue lap off.
_Lying = tuple[Outline, Outline | None]


class Rectangle(NamedTuple):
    """A part of a layer, in nm from the lower left corner of the layer as it is placed."""

    x: int
    y: int
    width: int
    height: int


def covered_middle(
    placed: Mapping[str, PlacedLayer], name: str, lap: int, frame: int, marks: int
) -> Rectangle | None:
    """The largest rectangle that can be cut out of a layer before what hides it is glued on.

    What is promised:

    - It lies wholly under one layer that lies on this one, at least ``lap`` inside its edge, so that
      nothing of it is seen.
    - Any other layer that lies on this one lies beside it, or covers it in the same way, so that each
      is held by at least ``lap`` of this layer under all its edges.
    - ``frame`` of this layer stays all round, and the card is behind all of it.
    - Its place and its size are on the marks, counted from the layer's lower left corner.

    A layer that lies wholly on another one above is held by that one. One that has a covered middle
    of its own covers all the same, as what lies on it hides its middle. A belt needs no hold, and hides
    nothing for sure, as it can be moved. What lies aslant is held all over the rectangle round it; a
    strip is held by what it lies on.

    Nothing is cut out of a layer that each card has several of, nor from under one, as the place of
    only one is known; out of a belt, what lies aslant, or a liner, as both sides of an envelope are
    seen; under a layer that may be cut as two ends, as both are to be held; or where what a strip lies
    on is not among the layers above.

    Returns
    -------
    Rectangle or None
        The first of the largest from the bottom, then from the left; None where there is none.

    Examples
    --------
    >>> import nesting
    >>> from nesting.cards.resolving import resolve
    >>> placed = resolve(nesting.read_batch("samples/orchard.yaml")).placed[0]
    >>> middle = covered_middle(placed, "mat", 6_350_000, 6_350_000, 1_587_500)
    >>> middle.width / 25_400_000, middle.height / 25_400_000
    (3.25, 4.5)
    """
    host = placed[name]
    above = [one for one in layers_above(placed, name) if one.layer.belt is None]
    strips = [one for one in above if one.slant is not None and one.slant.strip]
    names = {one.layer.name for one in above}
    if (
        host.layer.where == "envelope"
        or host.layer.belt is not None
        or host.slant is not None
        or any(one.layer.each > 1 for one in (host, *above))
        or any(one.layer.over not in names for one in strips)
    ):
        return None
    outline = outline_of(host)
    inside = outline.shrunk(frame)
    covers = _lying_on((one for one in above if one not in strips), max(1, lap))
    best: Rectangle | None = None
    for number, (_, under) in enumerate(covers):
        if inside is None or under is None:
            continue
        others = [other for n, other in enumerate(covers) if n != number]
        bounds = (under, inside, outline_of(placed[host.layer.ground]))
        for found in _rectangles(outline, bounds, others, marks):
            if best is None or _order(found) < _order(best):
                best = found
    return best


def _lying_on(layers: Iterable[PlacedLayer], lap: int) -> list[_Lying]:
    """Those of some layers, from the bottom up, that do not lie wholly on one of the others."""
    lying: list[_Lying] = []
    for one in layers:
        cover = outline_of(one)
        if not any(under.holds(cover) for under, _ in lying):
            lying.append((cover, cover.shrunk(lap) if one.layer.join == "never" else None))
    return lying


def _order(one: Rectangle) -> tuple[int, int, int]:
    return -one.width * one.height, one.y, one.x


def _rectangles(
    host: Outline, bounds: Sequence[Outline], others: Sequence[_Lying], marks: int
) -> Iterator[Rectangle]:
    """For each row between two lines, the widest rectangle inside the bounds and clear of the others."""
    shapes = [shape for lying in others for shape in lying if shape is not None]
    lines = _lines(host, (*bounds, *shapes), marks)
    for number, low in enumerate(lines):
        for high in lines[number + 1 :]:
            spans: list[Span] = [(host.x, host.x + host.width)]
            for bound in bounds:
                span = bound.within(low, high)
                spans = common(spans, [span] if span else [])
            for other, inner in others:
                if spans and (reached := other.reached(low, high)) is not None:
                    spans = common(spans, list(_clear_of(inner, reached, low, high)))
            on_marks = [_on_marks(span, host.x, marks) for span in spans]
            left, right = max(on_marks, key=lambda span: span[1] - span[0], default=(0, 0))
            if left < right:
                yield Rectangle(left - host.x, low - host.y, right - left, high - low)


def _lines(host: Outline, outlines: Iterable[Outline], marks: int) -> list[int]:
    """The heights at which a largest rectangle may begin or end, on the marks of the host."""
    heights: set[int] = set()
    for one in outlines:
        heights |= {one.y, one.top}
        if one.is_round:
            heights.update(range(one.y, one.top, marks))
    lines = {
        host.y + mark * marks
        for height in heights
        for mark in ((height - host.y) // marks, -((host.y - height) // marks))
    }
    return sorted(line for line in lines if host.y < line < host.top)


def _clear_of(inner: Outline | None, reached: Span, low: int, high: int) -> Iterator[Span]:
    """Where a row lies beside a layer, or inside what it hides for good."""
    far = 1 << 62
    yield -far, reached[0]
    span = inner.within(low, high) if inner else None
    if span is not None:
        yield span
    yield reached[1], far


def _on_marks(span: Span, start: int, marks: int) -> Span:
    """A span rounded inwards to the marks, which are counted from ``start``."""
    low, high = span
    return start - (start - low) // marks * marks, start + (high - start) // marks * marks
