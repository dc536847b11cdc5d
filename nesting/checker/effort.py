"""Cuts and ruler settings, counted again from the rows of parallel cuts of each tree."""

from itertools import pairwise

from nesting.batch import Axis, Edge, Paper, Trimmer
from nesting.checker.cutting import CutUp, Rect
from nesting.plan import Cut, EdgeTrim, Node, Offcut, Strip


def cuts_and_settings(one: CutUp, paper: Paper, trimmer: Trimmer) -> tuple[int, set[int]]:
    """How many cuts one sheet takes, and the distances that the ruler is set to, in nm.

    Parallel cuts beside one another make a row of parts. Its parts are cut off from the side of
    the starting corner, each at its own size, or from the far side at descending marks. A barcode
    strip stays on an offcut beside it, and so does edge trim on waste.
    """
    made = {(id(cut), rect) for cut, rect in one.cuts}  # equal rows may be one object
    corner = _corner(one, paper, trimmer)
    cuts = 0
    settings: set[int] = set()
    todo: list[tuple[Node, Rect]] = [
        (one.layout.tree, Rect(0, 0, one.layout.width, one.layout.height))
    ]
    while todo:
        node, rect = todo.pop()
        if not isinstance(node, Cut) or (id(node), rect) not in made:
            continue
        row = _row_of(node, rect, made, one.layout.cut_width)
        todo += row
        spans = _spans(row, node.axis)
        cuts += len(spans) - 1
        settings |= _settings(spans, corner[node.axis == "y"], trimmer)
    return cuts, settings


def _corner(one: CutUp, paper: Paper, trimmer: Trimmer) -> tuple[Edge, Edge]:
    """The corner that all measures start from: at the top, on the side of the hand that cuts not.

    Where a whole sheet's barcode strip lies along one of its edges, the opposite edge.
    """
    edges: tuple[Edge, ...] = ("left", "right", "top", "bottom")
    if trimmer.hand == "left":
        edges = ("right", "left", "top", "bottom")
    if paper.barcode_strip is not None and one.layout.source.kind == "sheet":
        edges = tuple(edge for edge in edges if edge != paper.barcode_strip.edge)
    across, up = ("left", "right"), ("top", "bottom")
    return next(e for e in edges if e in across), next(e for e in edges if e in up)


def _row_of(
    cut: Cut, rect: Rect, made: set[tuple[int, Rect]], cut_width: int
) -> list[tuple[Node, Rect]]:
    """The members of the row that a cut and its parallel neighbours make, from the low edge.

    A neighbour that is clipped belongs to no row but its own.
    """
    row: list[tuple[Node, Rect]] = []
    todo: list[tuple[Node, Rect]] = _halves(cut, rect, cut_width)
    while todo:
        node, within = todo.pop()
        extent = within.width if cut.axis == "x" else within.height
        if (
            isinstance(node, Cut)
            and node.axis == cut.axis
            and node.at + cut_width <= extent
            and (id(node), within) in made
        ):
            todo += _halves(node, within, cut_width)
        else:
            row.append((node, within))
    return row


def _halves(cut: Cut, rect: Rect, cut_width: int) -> list[tuple[Node, Rect]]:
    """Both sides of a cut, the high one first."""
    x, y, width, height = rect
    if cut.axis == "x":
        past = min(width, cut.at + cut_width)
        high, low = Rect(x + past, y, width - past, height), Rect(x, y, cut.at, height)
    else:
        past = min(height, cut.at + cut_width)
        high, low = Rect(x, y + past, width, height - past), Rect(x, y, width, cut.at)
    return [(cut.high, high), (cut.low, low)]


def _spans(row: list[tuple[Node, Rect]], axis: Axis) -> list[tuple[int, int]]:
    """Where each part of a row begins and ends; what stays together is one."""
    ends = [
        (rect.x, rect.x + rect.width) if axis == "x" else (rect.y, rect.y + rect.height)
        for _, rect in row
    ]
    spans = ends[:1]
    for (before, after), (low, high) in zip(
        pairwise(node for node, _ in row), ends[1:], strict=True
    ):
        if _left_whole(before, after):
            spans[-1] = spans[-1][0], high
        else:
            spans.append((low, high))
    return spans


def _left_whole(before: Node, after: Node) -> bool:
    """Whether nothing is to be gained by a cut: between strip and offcut, or waste and waste."""
    if isinstance(before, Strip) or isinstance(after, Strip):
        other = after if isinstance(before, Strip) else before
        return isinstance(other, Offcut | EdgeTrim)
    trimmed = isinstance(before, EdgeTrim) or isinstance(after, EdgeTrim)
    return trimmed and all(n in (EdgeTrim(), Offcut(keep=False)) for n in (before, after))


def _settings(spans: list[tuple[int, int]], begins: Edge, trimmer: Trimmer) -> set[int]:
    """The ruler settings that cut a row apart.

    Where the usual order would leave too little to hold and a part is wide enough, it is what is
    held: what lies before it is cut off on its side of the row, and what lies behind it from the
    far side.
    """
    if begins in ("right", "top"):
        spans = [(-high, -low) for low, high in reversed(spans)]
    sizes = [high - low for low, high in spans]
    end, last = spans[-1][1], len(spans) - 1
    by_size = {size or end - spans[n + 1][0] for n, size in enumerate(sizes[:last])}
    by_mark = {spans[n][1] - spans[0][0] or sizes[n + 1] for n in range(last)}
    beyond = [end - low for low, _ in spans[1:]]
    marks = [high - spans[0][0] for _, high in spans[:last]]
    if trimmer.repeat == "same ruler setting":
        usual = by_size
        held = [max(pair) for pair in zip(sizes[:last], beyond, strict=True)]
    else:
        usual = by_mark
        held = [max(pair) for pair in zip(marks, sizes[1:], strict=True)]
    least = trimmer.narrowest_hold
    if max(sizes) < least or all(width >= least for width in held):
        return usual
    widest = sizes.index(max(sizes))
    before = {size or end - spans[n + 1][0] for n, size in enumerate(sizes[:widest])}
    return before | {spans[n][1] - spans[widest][0] for n in range(widest, last)}
