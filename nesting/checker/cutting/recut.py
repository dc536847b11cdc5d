"""A sheet cut again as its stroke table says, stroke by stroke, and what is on the table before each.

The table says: all equal rows are cut together, as soon as all of them are there. Of the rows that
are ready those come first for which the ruler is set already, of them those that lie as the last
ones lay; then those with the longest cut; then the one that lies highest, and furthest left.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import chain

from nesting.batch import Trimmer
from nesting.checker.cutting.arms import Arms
from nesting.checker.cutting.cut_sheets import CutLeaf, Rect, cut_up, parts_of_pinwheel
from nesting.checker.cutting.recounted_strokes import corner_of, parts_of, row_members
from nesting.checker.cutting.slabs import Slab
from nesting.layouts import Blank, Cut, Layout, Node, Pinwheel
from nesting.papers import Axis, Edge, Paper


@dataclass(frozen=True, slots=True)
class OnTable:
    """What there is of a sheet before a stroke of a step: its parts, and which of them that takes.

    ``step_takes`` are those that all its step takes, before its first stroke. After the last stroke both
    are empty, and the ``step`` is one more than there are.
    """

    step: int
    parts: tuple[Slab, ...]
    taken: tuple[Slab, ...] = ()
    step_takes: tuple[Slab, ...] = ()


def cut_again(layout: Layout, paper: Paper, trimmer: Trimmer) -> list[OnTable]:
    """What is on the table before the first stroke and after each."""
    one = cut_up(layout)
    whole = _slab(layout.tree, Rect(0, 0, layout.width, layout.height), one.made, layout.cut_width)
    return list(_states(whole, corner_of(one, paper, trimmer), trimmer))


def _slab(node: Node, rect: Rect, made: set[tuple[int, Rect]], cut_width: int) -> Slab:
    """A node of the tree, its parallel neighbours beside it."""
    if isinstance(node, Pinwheel):
        inside = parts_of_pinwheel(node, rect, cut_width)
        five = tuple(_slab(one, at, made, cut_width) for one, at in inside)
        kind = (rect.width, rect.height, node.way, tuple(part.kind for part in five))
        return Slab(rect, None, five, (), kind, node)
    if not isinstance(node, Cut):
        return _finished(rect, ((node, rect),))
    parts = []
    for (low, high), members in parts_of(row_members(node, rect, made, cut_width), node.axis):
        if len(members) == 1:
            parts.append(_slab(*members[0], made, cut_width))
        else:
            leaves = tuple((one, at) for one, at in members if not isinstance(one, Cut | Pinwheel))
            parts.append(_finished(_between(rect, node.axis, low, high), leaves))
    return parts[0] if len(parts) == 1 else _row(rect, node.axis, tuple(parts))


def _finished(rect: Rect, leaves: tuple[tuple[CutLeaf, Rect], ...]) -> Slab:
    told = tuple((n.piece, n.turned) if isinstance(n, Blank) else n for n, _ in leaves)
    return Slab(rect, None, (), leaves, (rect.width, rect.height, None, told))


def _row(rect: Rect, axis: Axis, parts: tuple[Slab, ...]) -> Slab:
    kind = (rect.width, rect.height, axis, tuple(part.kind for part in parts))
    return Slab(rect, axis, parts, (), kind)


def _between(rect: Rect, axis: Axis, low: int, high: int) -> Rect:
    if axis == "x":
        return Rect(low, rect.y, high - low, rect.height)
    return Rect(rect.x, low, rect.width, high - low)


@dataclass(slots=True)
class _Work:
    """Equal rows, each from the edge where measures start, and what is still to be cut of them.

    ``ends`` says for each stroke whether the near part comes off or the far one; the parts from
    ``first`` up to ``last`` are still together.
    """

    rows: list[Slab]
    begins: Edge
    trimmer: Trimmer
    first: int = 0
    last: int = field(init=False)
    ends: list[bool] = field(init=False)

    def __post_init__(self) -> None:
        self.last = len(self.rows[0].parts)
        self.ends = self._ends()

    @property
    def axis(self) -> Axis:
        return self.rows[0].axis or "x"

    def ordered(self, row: Slab) -> tuple[Slab, ...]:
        return row.parts if self.begins in ("left", "bottom") else row.parts[::-1]

    def on_table(self, row: Slab) -> tuple[Slab, ...]:
        """What there is of a row."""
        return (*self.in_hand(row), *self.apart(row))

    def in_hand(self, row: Slab) -> tuple[Slab, ...]:
        """What the next stroke is made on."""
        return (self.together(row),)

    def turn(self) -> tuple[int, int, int]:
        """What decides where no ruler is set: the longest cut, then the highest, furthest left."""
        rect = self.rows[0].rect
        return -(rect.height if self.axis == "x" else rect.width), -rect.y, rect.x

    def together(self, row: Slab) -> Slab:
        """What of a row is still in one piece."""
        parts = self.ordered(row)[self.first : self.last]
        if len(parts) == len(row.parts):
            return row
        return parts[0] if len(parts) == 1 else _row(_round(parts), self.axis, parts)

    def apart(self, row: Slab) -> tuple[Slab, ...]:
        """What came off a row."""
        parts = self.ordered(row)
        return parts[: self.first] + parts[self.last :]

    def setting(self) -> int:
        """The ruler setting of the next stroke: to its line, or to the cut's other side at an edge."""
        parts = self.ordered(self.rows[0])[self.first : self.last]
        split = 1 if self.ends[0] else len(parts) - 1
        return _long(parts[:split], self.axis) or _long(parts[split:], self.axis)

    def measured(self) -> Edge:
        """The edge that the next stroke is measured from; the other where there is nothing to measure."""
        parts = self.ordered(self.rows[0])[self.first : self.last]
        if _long(parts[:1] if self.ends[0] else parts[:-1], self.axis):
            return self.begins
        others: dict[Edge, Edge] = {
            "left": "right", "right": "left", "top": "bottom", "bottom": "top",
        }  # fmt: skip
        return others[self.begins]

    def cut(self) -> bool:
        """Make the next stroke on every row; whether the one after it needs nothing set anew."""
        setting, near = self.setting(), self.ends[0]
        self.first, self.last = self.first + near, self.last - (not near)
        del self.ends[0]
        return bool(self.ends) and self.ends[0] == near and self.setting() == setting

    def _ends(self) -> list[bool]:
        """From which end each part comes off, so that enough is held where any order holds enough."""
        parts = self.ordered(self.rows[0])
        sizes = [_long((part,), self.axis) for part in parts]
        last = len(parts) - 1
        near = self.trimmer.repeat == "same ruler setting"
        if near:
            held = [max(sizes[n], _long(parts[n + 1 :], self.axis)) for n in range(last)]
        else:
            held = [max(sizes[n + 1], _long(parts[: n + 1], self.axis)) for n in range(last)]
        least, widest = self.trimmer.narrowest_hold, max(sizes)
        if widest < least or min(held) >= least:
            return [near] * last
        large = sizes.index(widest)
        return [True] * large + [False] * (last - large)


def _long(parts: Sequence[Slab], axis: Axis) -> int:
    """How long some neighbours are, with the cuts between them."""
    rect = _round(parts)
    return rect.width if axis == "x" else rect.height


def _round(parts: Sequence[Slab]) -> Rect:
    rects = [part.rect for part in parts]
    x, y = min(r.x for r in rects), min(r.y for r in rects)
    right, top = max(r.x + r.width for r in rects), max(r.y + r.height for r in rects)
    return Rect(x, y, right - x, top - y)


def _states(whole: Slab, corner: tuple[Edge, Edge], trimmer: Trimmer) -> Iterator[OnTable]:
    """The parts on the table, and those to take next, before each stroke; at last without any."""
    equal = Counter(row.kind for row in _rows(whole))
    work: list[_Work | Arms] = []
    done: list[Slab] = []
    _add(work, done, [whole], corner, trimmer)
    setting, measured, step = -1, "", 1
    while work:
        ready = [one for one in work if len(one.rows) == equal[one.rows[0].kind]]
        one = min(ready, key=lambda one: _turn(one, setting, measured))
        setting, measured = one.setting(), one.measured()
        aside = [part for w in work if w is not one for row in w.rows for part in w.on_table(row)]
        yield from _states_of_step(step, one, (*done, *aside))
        step += 1
        if not one.ends:
            work.remove(one)
            _add(work, done, [p for row in one.rows for p in one.ordered(row)], corner, trimmer)
    yield OnTable(step, tuple(done))


def _states_of_step(step: int, one: _Work | Arms, aside: tuple[Slab, ...]) -> Iterator[OnTable]:
    """Make a step, all its strokes on one row after the other; what is on the table before each."""
    hands = [[one.in_hand(row) for row in one.rows]]
    rows = [[one.on_table(row) for row in one.rows]]
    again = True
    while again:
        again = one.cut()
        hands.append([one.in_hand(row) for row in one.rows])
        rows.append([one.on_table(row) for row in one.rows])
    step_takes = tuple(chain.from_iterable(hands[0]))
    for number in range(len(one.rows)):
        for made in range(len(rows) - 1):
            there = (*rows[-1][:number], rows[made][number], *rows[0][number + 1 :])
            parts = (*aside, *chain.from_iterable(there))
            yield OnTable(step, parts, hands[made][number], step_takes)


def _rows(whole: Slab) -> Iterator[Slab]:
    todo = [whole]
    while todo:
        one = todo.pop()
        if one.parts:
            yield one
        todo += one.parts


def _add(
    work: list[_Work | Arms],
    done: list[Slab],
    parts: list[Slab],
    corner: tuple[Edge, Edge],
    trimmer: Trimmer,
) -> None:
    """Put rows with the equal ones that wait; what is no row is finished."""
    for part in parts:
        if not part.parts:
            done.append(part)
            continue
        for one in work:
            if one.rows[0].kind == part.kind:
                one.rows.append(part)
                break
        else:
            work.append(
                Arms([part])
                if part.wheel is not None
                else _Work([part], corner[part.axis == "y"], trimmer)
            )


def _turn(one: _Work | Arms, setting: int, measured: str) -> tuple[bool, bool, int, int, int]:
    same = one.setting() == setting
    return not same, not (same and one.begins == measured), *one.turn()
