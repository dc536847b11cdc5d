"""Of all cut trees for the same blanks on the same sheets, those that are easy to cut.

In this order: few blanks from edge to edge of a sheet (exact fits), few strokes, few ruler
settings over all layouts of a paper, and what is over in large pieces. No tree takes more strokes
than the packer's own.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import islice

from nesting.batch import Axis, Edge, Sheet, starting_edges, taken_off, usable_size
from nesting.pack.content import Content, Leaf
from nesting.pack.effort import (
    Laid,
    exact_fits,
    measured,
    more_settings,
    ruler_settings,
    strokes_of,
    with_lasts,
)
from nesting.pack.peel import Blanks, Peeling
from nesting.pack.problem import Problem
from nesting.pack.rows import Part, Room, Row, lay_out

#: Steps that the search may take for one layout.
_STEPS = 1200
#: How many trees of one layout are looked at for each number of strokes, and kept for the choice.
_MOST_TREES, _MOST_CHOICES = 12, 6
#: How often each layout of a paper is looked at again for few ruler settings.
_TURNS = 3


def room_of(problem: Problem, sheet: Sheet, keep_from: tuple[tuple[int, int], ...]) -> Room:
    """The usable rectangle of a sheet of a problem's paper."""
    paper, cut_width = problem.paper, problem.trimmer.cut_width
    width, height = usable_size(paper, sheet, cut_width)
    corner: tuple[Edge, Edge] = starting_edges(paper, offcut=sheet.offcut)
    taken = taken_off(paper, sheet)
    last: Axis | None = None
    ends: list[str] = []
    for edge, _, what in reversed(taken):
        axis: Axis = "x" if edge in ("left", "right") else "y"
        if last not in (None, axis):
            break
        last = axis
        if edge not in corner:
            ends.append(what)
    return Room(
        width=width + cut_width,
        height=height + cut_width,
        unit=problem.unit,
        cut_width=cut_width,
        longest=problem.trimmer.longest_cut,
        keep_from=keep_from,
        far=last if ends else None,
        strip=ends == ["strip"],
    )


def choose_trees(layouts: Sequence[tuple[Room, Sequence[Content]]]) -> tuple[Part, ...]:
    """Choose a cut tree for each layout of a paper.

    Parameters
    ----------
    layouts
        For each the room on its sheet, and the packer's ways to lay the same blanks on it.
    """
    choices = [_choices(room, contents) for room, contents in layouts]
    chosen = _few_settings(choices)
    settings = ruler_settings(chosen)
    return tuple(
        with_lasts(laid.part, settings, room)
        for laid, (room, _) in zip(chosen, layouts, strict=True)
    )


@dataclass(frozen=True, slots=True, order=True)
class _Way:
    """A way to cut a sheet by what comes first: exact fits, then strokes."""

    exact: int
    strokes: int
    part: Row | Leaf = field(compare=False)


def _choices(room: Room, contents: Sequence[Content]) -> list[Laid]:
    """The best trees of one layout, of equal strokes, the one with fewest ruler settings first."""
    ways = _ways(room, contents)
    most = min(way.strokes for way in ways)
    ways += _searched(room, contents[0], most)
    best = min(way for way in ways if way.strokes <= most)
    laid = (measured(way.part, room) for way in ways if way == best)
    distinct: dict[tuple[object, object], Laid] = {}
    for one in sorted(
        laid, key=lambda one: (more_settings(one, frozenset()), -one.largest, -one.kept)
    ):
        distinct.setdefault((one.settings, one.rows), one)
    return list(islice(distinct.values(), _MOST_CHOICES))


def _searched(room: Room, content: Content, most: int) -> list[_Way]:
    """Trees with as few strokes as can be found, and with more where that takes an exact fit away."""
    blanks = Blanks(content, room.unit)
    number = len(content.kinds)
    if number == 1 or not blanks.countable:
        return []
    least = int(blanks.area(blanks.all) < room.width * room.height)
    search = Peeling(blanks, room, _STEPS)
    found: list[_Way] = []
    for budget in range(least, most - number + 2):
        found += _ways(room, islice(search.trees(budget), _MOST_TREES))
        if found and not min(way.exact for way in found):
            break
    return found


def _ways(room: Room, contents: Iterable[Content]) -> list[_Way]:
    """Every way to cut off what is over beside some contents; the blanks lie the same in all of them."""
    found: list[_Way] = []
    for content in contents:
        parts = lay_out(content, room)
        exact = exact_fits(parts[0], content, room) if parts else 0
        found += [_Way(exact, strokes_of(part, room), part) for part in parts]
    return found


def _few_settings(choices: Sequence[Sequence[Laid]]) -> list[Laid]:
    """One tree for each layout, so that few ruler settings do for all of them.

    Each layout in turn takes the tree that needs fewest beyond what the others need, those with
    least choice first, until nothing changes.
    """
    chosen = [own[0] for own in choices]
    order = sorted(
        (n for n, own in enumerate(choices) if len(own) > 1), key=lambda n: len(choices[n])
    )
    for _ in range(_TURNS):
        before = list(chosen)
        for number in order:
            others = ruler_settings(chosen[:number] + chosen[number + 1 :])
            chosen[number] = min(
                choices[number], key=lambda one: (more_settings(one, others), -one.largest)
            )
        if chosen == before:
            break
    return chosen
