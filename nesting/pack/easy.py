"""Of all cut trees for the same blanks on the same sheets, those that are easy to cut.

In this order: few blanks from edge to edge of a sheet (exact fits), few strokes, few ruler
settings over all layouts of a paper, and what is over in large pieces. No tree takes more strokes
than the packer's own.
"""

from collections.abc import Iterable, Sequence
from itertools import islice

from nesting.batch import Axis, Edge, Sheet, starting_edges, taken_off, usable_size
from nesting.pack.content import Content, leaves
from nesting.pack.effort import Laid, measured, more_settings, ruler_settings, with_lasts
from nesting.pack.peel import Blanks, Peeling
from nesting.pack.problem import Problem
from nesting.pack.rows import Part, Room, lay_out

#: Steps that the search may take for one layout.
_STEPS = 1200
#: How many trees of one layout are looked at for each number of strokes, and kept for the choice.
_MOST_TREES, _MOST_CHOICES = 40, 8
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


def _choices(room: Room, contents: Sequence[Content]) -> list[Laid]:
    """The best trees of one layout, of equal strokes, the one with fewest ruler settings first."""
    laid = _laid(room, contents)
    most = min(one.strokes for one in laid)
    laid += _searched(room, contents[0], laid)
    best = min((one.exact, one.strokes) for one in laid if one.strokes <= most)
    ordered = sorted(
        (one for one in laid if (one.exact, one.strokes) == best),
        key=lambda one: (len(ruler_settings((one,))), -one.largest, -one.kept),
    )
    distinct: dict[tuple[object, object], Laid] = {}
    for one in ordered:
        distinct.setdefault((one.settings, one.rows), one)
    return list(islice(distinct.values(), _MOST_CHOICES))


def _searched(room: Room, content: Content, known: Sequence[Laid]) -> list[Laid]:
    """Trees with as few strokes as can be found, and with more where that takes an exact fit away."""
    blanks = Blanks(content, room.unit)
    number = sum(1 for _ in leaves(content))
    if number == 1 or not blanks.countable:
        return []
    most = min(one.strokes for one in known) - (number - 1)
    least = int(blanks.area(blanks.all) < room.width * room.height)
    search = Peeling(blanks, room, _STEPS)
    found: list[Laid] = []
    for budget in range(least, most + 1):
        found += _laid(room, islice(search.trees(budget), _MOST_TREES))
        if found and not min(one.exact for one in found):
            break
    return found


def _laid(room: Room, contents: Iterable[Content]) -> list[Laid]:
    return [measured(part, room) for content in contents for part in lay_out(content, room)]


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
