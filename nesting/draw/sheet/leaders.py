"""Words beside the sheet, with a fine line to parts too small for their letter or size."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, combinations, product

from nesting.draw.canvas.lettering import text_width
from nesting.draw.canvas.palette import INK, QUIET
from nesting.draw.canvas.surface import AnySurface, Box, Dash
from nesting.draw.sheet.labels import Word
from nesting.draw.sheet.view import Segment, View
from nesting.layouts import Placed

#: The least room for the words, on the side opposite the starting corner.
LEADERS_ROOM = 48.0
_FROM_SHEET = 12.0
#: Dotted and grey: a leader must not be taken for a cut.
_DOTS: Dash = (1.5, 1.8)
#: How far the words may stand above or below their line, in points, where another is in the way; not
#: above or below the sheet, where other words are.
_SHIFTS = (0.0, *(way * by for by in (10, 20, 32, 44, 60, 80, 110, 140, 170) for way in (1, -1)))
#: How far above the lower edge of the words their line begins, as a part of their height.
_ABOVE = 0.6
#: How much worse it is for words to cover something than for a line to cross it.
_WORSE = 10


@dataclass(frozen=True, slots=True)
class Leader:
    """Words beside the sheet, their lines, and a dot in each blank or offcut they are for."""

    words: tuple[Word, ...]
    name: Box
    lines: tuple[Segment, ...]
    dots: tuple[tuple[float, float], ...]

    @property
    def boxes(self) -> list[Box]:
        """The room it takes."""
        return [self.name, *(_line_box(line) for line in self.lines)]

    @property
    def at_edge(self) -> tuple[float, float]:
        """Where its first line comes to the edge of the sheet."""
        return self.lines[0][1]


def _line_box(line: Segment) -> Box:
    (x, y), (x_end, y_end) = line
    return Box(min(x, x_end) - 1, min(y, y_end) - 1, abs(x_end - x) + 2, abs(y_end - y) + 2)


#: Rows of words, and what in the picture is too small for them.
Pointed = tuple[tuple[Word, ...], Placed]


def _extent(words: tuple[Word, ...]) -> tuple[float, float]:
    width = max(text_width(word.text, word.size, bold=word.bold) for word in words)
    return width, sum(word.size for word in words)


def leaders_room(leaders: Sequence[Leader]) -> float:
    """The width that some leaders take beside the sheet."""
    return max(LEADERS_ROOM, *(_FROM_SHEET + leader.name.width + 1 for leader in leaders))


def place_leaders(
    tiny: Sequence[Pointed],
    view: View,
    sheet: Box,
    taken: Sequence[Box],
    *,
    right: bool,
) -> list[Leader]:
    """Find a place for the words of each row of equal tiny parts, clear of what is taken."""
    leaders: list[Leader] = []
    busy = list(taken)
    for words, run in _runs(tiny):
        leader = _clearest(words, [view.box(placed) for placed in run], sheet, busy, right=right)
        leaders.append(leader)
        busy += leader.boxes
    return leaders


def apart(leaders: Sequence[Leader], low: float, high: float, *, right: bool) -> list[Leader]:
    """The same leaders; where words are on others, all lie as near their lines as there is room.

    That is from ``low`` to ``high``. If it is not enough for all, they are smaller; no line crosses
    another on its way to the sheet.
    """
    if not any(one.name.meets(other.name) for one, other in combinations(leaders, 2)):
        return list(leaders)
    in_order = sorted(leaders, key=lambda leader: leader.at_edge[1])
    share = min(1.0, (high - low) / sum(leader.name.height for leader in in_order))
    rows = [tuple(replace(word, size=share * word.size) for word in one.words) for one in in_order]
    heights = [_extent(words)[1] for words in rows]
    wished = [
        leader.at_edge[1] - height * _ABOVE
        for leader, height in zip(in_order, heights, strict=True)
    ]
    lows = _on_one_another(wished, heights, low, high)
    return [
        _moved(leader, words, y, right=right)
        for leader, words, y in zip(in_order, rows, lows, strict=True)
    ]


def _on_one_another(
    wished: Sequence[float], heights: Sequence[float], low: float, high: float
) -> Iterator[float]:
    """Where boxes begin that lie on one another in this order, as near to where they should as can be.

    Those that would meet form a pile, which lies where its boxes wish on average.
    """
    piles: list[tuple[float, list[float]]] = []  # where each begins, and the heights of its boxes
    for wish, height in zip(wished, heights, strict=True):
        start, pile = wish, [height]
        while True:
            start = max(low, min(start, high - sum(pile)))
            if not piles or piles[-1][0] + sum(piles[-1][1]) <= start:
                break
            below, under = piles.pop()
            start -= sum(under)
            start = (below * len(under) + start * len(pile)) / (len(under) + len(pile))
            pile = under + pile
        piles.append((start, pile))
    for start, pile in piles:
        yield from accumulate(pile[:-1], initial=start)


def _moved(leader: Leader, words: tuple[Word, ...], y: float, *, right: bool) -> Leader:
    """A leader with its words from another height on; only the first line is another."""
    width, height = _extent(words)
    name = Box(leader.name.x if right else leader.name.right - width, y, width, height)
    first = _start(name, right=right), leader.at_edge
    return replace(leader, words=words, name=name, lines=(first, *leader.lines[1:]))


def _start(name: Box, *, right: bool) -> tuple[float, float]:
    """Where the line from some words begins."""
    return (name.x - 3 if right else name.right + 3), name.y + name.height * _ABOVE


def _clearest(
    words: tuple[Word, ...], boxes: list[Box], sheet: Box, busy: list[Box], *, right: bool
) -> Leader:
    """The first of the leaders to some parts that overlap least of what is there."""
    width, height = _extent(words)
    x = sheet.right + _FROM_SHEET if right else sheet.x - _FROM_SHEET - width
    edge = sheet.right if right else sheet.x
    low, high = min(edge, x) - 1, max(edge, x + width) + 1
    beside = [box for box in busy if box.x < high and low < box.right]
    crossed: dict[float, int] = {}
    found: list[Leader] = []
    least = float("inf")
    for shift, y in product(_SHIFTS, _heights(boxes)):
        name = Box(x, y + shift - height * _ABOVE, width, height)
        if shift and not (sheet.y <= name.y and name.top <= sheet.top):
            continue
        leader = _leader(words, name, boxes, (edge, y))
        _, first, *others = leader.boxes
        if y not in crossed:  # only the first line is another for another shift
            crossed[y] = sum(line.meets(box) for line in others for box in busy)
        met = crossed[y]
        if met < least:
            met += _WORSE * sum(map(name.meets, beside))
        if met < least:
            met += sum(map(first.meets, beside))
        if met < least:
            found.append(leader)
            least = met
        if not least:
            break
    return found[-1]


def _runs(tiny: Sequence[Pointed]) -> Iterator[tuple[tuple[Word, ...], list[Placed]]]:
    """Groups of equal parts that lie side by side or one above the other, the largest first."""
    alike: dict[tuple[Word, ...], list[Placed]] = {}
    for words, placed in tiny:
        alike.setdefault(words, []).append(placed)
    for words, left in alike.items():
        rest = left
        while rest:
            run = max((*_rows(rest), *_columns(rest)), key=len)
            yield words, run
            rest = [placed for placed in rest if placed not in run]


def _rows(parts: list[Placed]) -> Iterator[list[Placed]]:
    """Parts of equal height side by side, with no room for another between."""
    rows: dict[tuple[int, int], list[Placed]] = {}
    for part in sorted(parts, key=lambda part: part.x):
        row = rows.setdefault((part.y, part.height), [])
        if row and part.x - row[-1].x >= 2 * row[-1].width:
            yield row
            row = rows[part.y, part.height] = []
        row.append(part)
    yield from rows.values()


def _columns(parts: list[Placed]) -> Iterator[list[Placed]]:
    """The same of equal width one above the other."""
    turned = [Placed(part.node, part.y, part.x, part.height, part.width) for part in parts]
    for row in _rows(turned):
        yield [Placed(part.node, part.y, part.x, part.height, part.width) for part in row]


def _heights(boxes: list[Box]) -> list[float]:
    """The heights at which a line can reach blanks, the middle of each first."""
    return [box.y + box.height * part for part in (0.5, 0.3, 0.7, 0.15, 0.85) for box in boxes]


def _leader(
    words: tuple[Word, ...], name: Box, boxes: list[Box], at: tuple[float, float]
) -> Leader:
    """A line from the words over the sheet's edge at ``at`` to the farthest part at its height.

    Each part has a dot; those above and below hang on a second line across the first.
    """
    edge, y = at
    right = name.x > edge
    level = [box for box in boxes if box.y <= y <= box.top]
    others = [box for box in boxes if not box.y <= y <= box.top]
    near = level[0].right - 8 if right else level[0].x + 8
    dots = [(near if others else box.centre[0], y) for box in level]
    ends = [x for x, _ in dots]
    lines: list[Segment] = [
        (_start(name, right=right), at),
        (at, (min(ends) if right else max(ends), y)),
    ]
    dots += [(near, box.centre[1]) for box in others]
    if others:
        heights = [height for _, height in dots]
        lines.append(((near, min(heights)), (near, max(heights))))
    return Leader(words, name, tuple(lines), tuple(dots))


def draw_leader(surface: AnySurface, leader: Leader) -> None:
    """Draw words with their lines and dots."""
    for line in leader.lines:
        surface.line(line, 0.8, dash=_DOTS, colour=QUIET)
    for dot in leader.dots:
        surface.disc(dot, 1.8, fill=INK)
    y = leader.name.top
    for word in leader.words:
        y -= word.size
        surface.text(leader.name.x, y + word.size * 0.235, word.text, word.size, bold=word.bold)
