"""Layers that are cut as two ends: where a joint lies hidden, and how long its ends are."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from nesting.batch import Batch
from nesting.cards.covering import Span, hidden_along, layers_above
from nesting.cards.placing import PlacedLayer, belt_length
from nesting.papers import Axis, Edge
from nesting.units import length_words


@dataclass(frozen=True, slots=True)
class Joint:
    """One way to cut a layer as two ends: their sizes as cut, in nm, left or bottom end first.

    ``edges`` are those that the ends reach to. ``under`` names the layers that hide the joint, from
    the bottom up.
    """

    edges: tuple[Edge, Edge]
    sizes: tuple[tuple[int, int], tuple[int, int]]
    under: tuple[str, ...]


def joints_of(placed: Mapping[str, PlacedLayer], name: str, batch: Batch) -> tuple[Joint, ...]:
    """Find every joint that a layer may have: one under each cover that hides one.

    Each end is as short as the cover and the marks allow: it reaches under by the lap at least, and
    its length is on the marks. Between the ends there may be a gap. An end that would lie wholly
    under the cover is none. A joint is left out where another has both ends shorter.

    Parameters
    ----------
    placed
        The card itself and its layers, from bottom to top (``placing.place_layers``).
    name
        The layer that may have a joint.
    batch
        Its lap and the marks of its trimmer count.

    Returns
    -------
    tuple
        The joints from left to right, or from bottom to top.
    """
    one, marks, lap = placed[name], batch.trimmer.marks, batch.lap
    across = one.runs_across
    behind = one.behind
    size = one.width + behind.left + behind.right, one.height + behind.bottom + behind.top
    shown, wide = (one.width, size[1]) if across else (one.height, size[0])
    before, after = _behind(one, batch)
    whole = before + shown + after
    edges: tuple[Edge, Edge] = ("left", "right") if across else ("bottom", "top")
    lengths: dict[tuple[int, int], Span] = {}
    for low, high in _hidden(placed, name, batch, ()):
        if (low <= lap and not before) or (high >= shown - lap and not after):
            continue
        first = _up(before + low, marks)
        second = _up(after + shown - high, marks)
        if first + second <= whole:
            lengths.setdefault((first, second), (low, high))
    return tuple(
        Joint(
            edges,
            ((first, wide), (second, wide)) if across else ((wide, first), (wide, second)),
            _hiding(placed, name, batch, span),
        )
        for (first, second), span in lengths.items()
        if not any(
            other != (first, second) and other[0] <= first and other[1] <= second
            for other in lengths
        )
    )


def hiding_words(batch: Batch) -> str:
    """How much of a layer has to be hidden for a joint, and where: an end all of which is, is none."""
    least = length_words(2 * batch.lap, batch.unit)
    width = f"its full width over {least} or more" if batch.lap else "its full width"
    return f"{width}, away from its ends"


def _behind(one: PlacedLayer, batch: Batch) -> tuple[int, int]:
    """What of each end goes behind; the ends of a belt that has a joint meet in the middle of the back."""
    if one.layer.belt is not None:
        rest = belt_length(one, batch) - (one.width if one.runs_across else one.height)
        return rest // 2, rest - rest // 2
    behind = one.behind
    return (behind.left, behind.right) if one.runs_across else (behind.bottom, behind.top)


def _up(length: int, marks: int) -> int:
    """A length rounded up to the marks."""
    return -(-length // marks) * marks


def _hidden(
    placed: Mapping[str, PlacedLayer], name: str, batch: Batch, without: tuple[str, ...]
) -> tuple[Span, ...]:
    """Where a joint is hidden without some of the layers above.

    Other belts never count, as they can be moved, nor what lies aslant, which may be laid a little off.
    """
    axis: Axis = "x" if placed[name].runs_across else "y"
    never = (
        one.layer.name
        for one in layers_above(placed, name)
        if one.layer.belt is not None or one.layer.angle
    )
    return hidden_along(placed, name, axis, batch.lap, batch.trimmer.marks, (*without, *never))


def _hiding(
    placed: Mapping[str, PlacedLayer], name: str, batch: Batch, span: Span
) -> tuple[str, ...]:
    """The layer that hides a joint anywhere in a span by itself, or else all that help to."""
    names = tuple(other.layer.name for other in layers_above(placed, name))
    for cover in names:
        alone = _hidden(placed, name, batch, tuple(other for other in names if other != cover))
        if any(low <= span[0] and span[1] <= high for low, high in alone):
            return (cover,)
    helping = (cover for cover in names if span not in _hidden(placed, name, batch, (cover,)))
    return tuple(helping) or names


def ways_of(
    placed: Mapping[str, PlacedLayer], name: str, batch: Batch
) -> Iterator[tuple[tuple[Edge | None, tuple[int, int] | None], ...]]:
    """Every way in which a layer may be cut: whole first, where it may be, then as two ends.

    A way is what is cut: of each end the edge that it reaches to and its size; None twice is the
    whole layer.
    """
    join = placed[name].layer.join
    if join != "must":
        yield ((None, None),)
    if join != "never":
        for joint in joints_of(placed, name, batch):
            yield tuple(zip(joint.edges, joint.sizes, strict=True))
