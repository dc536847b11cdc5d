"""Where a piece is folded to go round an edge, and where the ends of a belt meet."""

from collections.abc import Mapping

from nesting.batch import Batch
from nesting.cards.covering import Span, hidden_along, layers_above
from nesting.cards.placing import PlacedLayer
from nesting.papers import Axis
from nesting.pieces import Piece, Score


def folds_of(
    placed: Mapping[str, PlacedLayer], name: str, pieces: tuple[Piece, ...], batch: Batch
) -> tuple[tuple[Score, ...], str]:
    """Where the flat piece of a layer is folded behind, and the layer under which a belt closes.

    Of a layer that is cut as two ends no flat piece is drawn. The ends of a belt meet under the layer
    above that hides all of their lap with most to spare; where there is none, or a joint may lie there,
    they meet in the middle of the back, and the name is empty.
    """
    layer, piece = placed[name], pieces[0]
    if len(pieces) > 1:
        return (), ""
    if layer.layer.belt is not None:
        return _belt_folds(placed, name, piece, batch)
    if layer.slant:  # it is folded along an edge that lies aslant to its own
        return (), ""
    behind = layer.behind
    folds = (
        *((Score("x", behind.left),) if behind.left else ()),
        *((Score("x", piece.width - behind.right),) if behind.right else ()),
        *((Score("y", behind.bottom),) if behind.bottom else ()),
        *((Score("y", piece.height - behind.top),) if behind.top else ()),
    )
    return folds, ""


def _belt_folds(
    placed: Mapping[str, PlacedLayer], name: str, piece: Piece, batch: Batch
) -> tuple[tuple[Score, ...], str]:
    """The folds of a belt laid flat, from the end that is left, or below.

    Round each edge goes the thickness of the card. The lap is what the piece has more than that.
    """
    belt, marks = placed[name], batch.trimmer.marks
    thick = belt.layer.belt or 0
    length = piece.width if belt.runs_across else piece.height
    once = belt.width if belt.runs_across else belt.height
    axis: Axis = "x" if belt.runs_across else "y"
    lap = length - 2 * (once + thick)
    cover, (low, high) = "", (0, 0)
    if belt.layer.join == "never":
        cover, (low, high) = _best_cover(placed, belt, axis, -(-lap // 2), marks)
    if not cover:
        first = (length - once) // 2 // marks * marks
        return (Score(axis, first), Score(axis, first + once)), cover
    upper_end = (low + high + lap) // 2  # on the front, of the end that comes from the low side
    first = once + lap - upper_end
    on_mark = (first + marks // 2) // marks * marks
    if low <= once + lap - on_mark - lap // 2 <= high:
        first = on_mark
    return (Score(axis, first), Score(axis, first + once + 2 * thick)), cover


def _best_cover(
    placed: Mapping[str, PlacedLayer], belt: PlacedLayer, axis: Axis, lap: int, marks: int
) -> tuple[str, Span]:
    """The layer above that hides a joint with most to spare, and where the joint may lie under it."""
    names = [one.layer.name for one in layers_above(placed, belt.layer.name)]
    best, widest = "", (0, -1)
    for name in names:
        others = [other for other in names if other != name]
        for span in hidden_along(placed, belt.layer.name, axis, lap, marks, others):
            if span[1] - span[0] > widest[1] - widest[0]:
                best, widest = name, span
    return best, widest
