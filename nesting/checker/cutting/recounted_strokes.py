"""Strokes and ruler settings, counted again from the rows of parallel cuts and pinwheels of each tree."""

from collections import Counter

from nesting.batch import Trimmer
from nesting.checker.cutting.cut_sheets import CutUp, Rect, parts_of_pinwheel
from nesting.checker.cutting.sheets import strip_of_layout
from nesting.layouts import Blank, Cut, EdgeTrim, Node, Offcut, Pinwheel, Strip
from nesting.papers import Axis, Edge, Paper

_Row = list[tuple[Node, Rect]]
#: A row that is cut apart, or a pinwheel, with its members.
_Divided = tuple[Cut | Pinwheel, Rect, _Row]
#: A pinwheel is cut apart by four lines, one of them in two strokes.
_STROKES_OF_PINWHEEL = 5


def strokes_and_settings(one: CutUp, paper: Paper, trimmer: Trimmer) -> tuple[int, set[int]]:
    """The strokes for all equal sheets of a layout, and the ruler settings, in nm.

    Neighbouring parallel cuts divide a row of parts. The parts are cut off from the side of the
    starting corner, each at its own size, or from the far side at descending marks. A barcode strip
    stays on an offcut beside it, and edge trim on waste. Equal rows of all sheets are stacked, as
    many as the trimmer cuts at once. Of a pinwheel, the ruler is set to how wide each arm is.
    """
    corner = corner_of(one, paper, trimmer)
    rows = _rows_of(one)
    strokes = 0
    for kind, count in Counter(_kinds_of(rows)).items():
        _, way, parts = kind
        each = len(parts) - 1 if way in ("x", "y") else _STROKES_OF_PINWHEEL
        strokes += each * -(-count * one.layout.alike // trimmer.stack)
    settings: set[int] = set()
    for cut, _, row in rows:
        if isinstance(cut, Cut):
            settings |= _settings(_spans(row, cut.axis), corner[cut.axis == "y"], trimmer)
        else:
            (_, bottom), (_, left), (_, top), (_, right), _ = row
            settings |= {bottom.height, left.width, top.height, right.width}
    return strokes, settings


def _rows_of(one: CutUp) -> list[_Divided]:
    """Every row or pinwheel that is cut apart, one before those inside it."""
    made, cut_width = one.made, one.layout.cut_width
    rows: list[_Divided] = []
    todo: _Row = [(one.layout.tree, Rect(0, 0, one.layout.width, one.layout.height))]
    while todo:
        node, rect = todo.pop()
        if isinstance(node, Cut | Pinwheel) and (id(node), rect) in made:
            row = (
                row_members(node, rect, made, cut_width)
                if isinstance(node, Cut)
                else parts_of_pinwheel(node, rect, cut_width)
            )
            rows.append((node, rect, row))
            todo += row
    return rows


def corner_of(one: CutUp, paper: Paper, trimmer: Trimmer) -> tuple[Edge, Edge]:
    """The corner from which all is measured: at the top, on the side of the idle hand.

    Where the sheet's barcode strip lies along one of these edges, the opposite edge.
    """
    edges: tuple[Edge, ...] = ("left", "right", "top", "bottom")
    if trimmer.hand == "left":
        edges = ("right", "left", "top", "bottom")
    strip = strip_of_layout(one.layout, paper)
    if strip is not None:
        edges = tuple(edge for edge in edges if edge != strip.edge)
    across, up = ("left", "right"), ("top", "bottom")
    return next(e for e in edges if e in across), next(e for e in edges if e in up)


#: What makes rows equal: their size, their axis, and for each part its length and what it holds: the
#: number of a kind of row, or the leaves that stay together. A pinwheel has its way round for an axis.
_Kind = tuple[tuple[int, int], str, tuple[tuple[object, object], ...]]


def _kinds_of(rows: list[_Divided]) -> list[_Kind]:
    """The kind of each row; rows of one kind are cut with the same strokes."""
    numbers: dict[_Kind, int] = {}
    held: dict[tuple[int, Rect], object] = {}
    kinds: list[_Kind] = []
    for cut, rect, row in reversed(rows):
        parts: list[tuple[object, tuple[object, ...]]] = []
        if isinstance(cut, Pinwheel):
            for node, within in row:
                size = within.width, within.height
                parts.append((size, (_held(node, within, held),)))
        else:
            for (low, high), members in parts_of(row, cut.axis):
                inside = tuple(_held(node, within, held) for node, within in members)
                parts.append((high - low, inside))
        way = cut.way if isinstance(cut, Pinwheel) else cut.axis
        kind = (rect.width, rect.height), way, tuple(parts)
        number = numbers.setdefault(kind, len(numbers))
        held[id(cut), rect] = number if len(parts) > 1 else parts[0][1]
        kinds.append(kind)
    return kinds


def _held(node: Node, rect: Rect, rows: dict[tuple[int, Rect], object]) -> object:
    """What tells one member of a row from another."""
    if isinstance(node, Cut | Pinwheel):
        return rows.get((id(node), rect), "no cut")
    return (node.piece, node.turned) if isinstance(node, Blank) else node


def row_members(cut: Cut, rect: Rect, made: set[tuple[int, Rect]], cut_width: int) -> _Row:
    """The members of the row that a cut and its parallel neighbours make, from the low edge.

    A neighbour that is clipped belongs to no row but its own.
    """
    row: _Row = []
    todo = _halves(cut, rect, cut_width)
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


def _halves(cut: Cut, rect: Rect, cut_width: int) -> _Row:
    """Both sides of a cut, the high one first."""
    x, y, width, height = rect
    if cut.axis == "x":
        past = min(width, cut.at + cut_width)
        high, low = Rect(x + past, y, width - past, height), Rect(x, y, cut.at, height)
    else:
        past = min(height, cut.at + cut_width)
        high, low = Rect(x, y + past, width, height - past), Rect(x, y, width, cut.at)
    return [(cut.high, high), (cut.low, low)]


def _spans(row: _Row, axis: Axis) -> list[tuple[int, int]]:
    """Where each part of a row begins and ends; what stays together is one."""
    return [span for span, _ in parts_of(row, axis)]


def parts_of(row: _Row, axis: Axis) -> list[tuple[tuple[int, int], _Row]]:
    """Each part of a row: where it begins and ends, and its members that stay together."""
    parts: list[tuple[tuple[int, int], _Row]] = []
    before: Node | None = None
    for node, rect in row:
        low, length = (rect.x, rect.width) if axis == "x" else (rect.y, rect.height)
        if before is not None and _left_whole(before, node):
            (first, _), members = parts[-1]
            parts[-1] = (first, low + length), [*members, (node, rect)]
        else:
            parts.append(((low, low + length), [(node, rect)]))
        before = node
    return parts


def _left_whole(before: Node, after: Node) -> bool:
    """Whether a cut between two parts would gain nothing: strip and offcut, or waste and waste."""
    if isinstance(before, Strip) or isinstance(after, Strip):
        other = after if isinstance(before, Strip) else before
        return isinstance(other, Offcut | EdgeTrim)
    trimmed = isinstance(before, EdgeTrim) or isinstance(after, EdgeTrim)
    return trimmed and all(n in (EdgeTrim(), Offcut(keep=False)) for n in (before, after))


def _settings(spans: list[tuple[int, int]], begins: Edge, trimmer: Trimmer) -> set[int]:
    """The ruler settings that cut a row apart.

    Where the usual order would leave too little to hold and some part is wide enough, that part is
    held: parts before it are cut off from its near side, parts behind it from the far side.
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
