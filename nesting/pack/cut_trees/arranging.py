"""How the sheets of a paper are cut: for easy cutting or for one big offcut, and what either costs."""

from collections.abc import Sequence
from dataclasses import dataclass

from nesting.batch import Batch
from nesting.pack.cut_trees.big_offcut import area_over, compact, gathered, one_large_offcut, overs
from nesting.pack.cut_trees.easy_trees import Way, easy_to_cut, few_settings, find_ways, ways_of
from nesting.pack.cut_trees.sheet_groups import Alike, alike_sheets
from nesting.pack.cut_trees.slicing_tree import Slice, ordered
from nesting.pack.cut_trees.stroke_count import Laid, count_strokes, ruler_settings, with_lasts
from nesting.pack.cut_trees.usable_area import Room, room_of
from nesting.pack.model.columns import Used
from nesting.pack.model.deadline import TimeIsUpError, stop_if_late
from nesting.pack.model.pattern import Pattern
from nesting.pack.model.problem import Problem
from nesting.papers import Sheet


@dataclass(frozen=True, slots=True)
class Arranged:
    """The sheets of a paper, a cut tree for each as rows of parts, and their figures together.

    ``exact`` counts the axes along which blanks fill a sheet from edge to edge. ``offcut`` is the
    width and height of the largest kept offcut in nm, None where none is kept.
    """

    sheets: tuple[Alike, ...]
    parts: tuple[Slice, ...]
    exact: int
    strokes: int
    ruler_settings: int
    offcut: tuple[int, int] | None


class Arranging:
    """Both ways to arrange the sheets of one paper, at the same cost.

    Results for sheets that occur in both are kept.
    """

    def __init__(self, plan: tuple[Used, ...], problem: Problem, batch: Batch) -> None:
        self.problem = problem
        self.sheets = alike_sheets(plan, problem)
        self._rooms = {
            one.sheet: room_of(problem, one.sheet, batch.keep_from) for one in self.sheets
        }
        self._ways: dict[tuple[Sheet, tuple[Pattern, ...]], list[Way]] = {}
        self._easy: dict[tuple[Sheet, tuple[Pattern, ...]], list[Laid]] = {}

    def both(self) -> tuple[Arranged, Arranged]:
        """For easy cutting and for one big offcut; equal where a larger offcut costs nothing.

        Where it is late, both use the trees of the patterns as they are.
        """
        easy = self._arranged(self.sheets, [self._easy_for(one) for one in self.sheets])
        try:
            return self._easy_or_big(easy)
        except TimeIsUpError:
            return easy, easy

    def _easy_or_big(self, easy: Arranged) -> tuple[Arranged, Arranged]:
        """Both ways, given the one for easy cutting."""
        rooms = [self._room(one) for one in self.sheets]
        moved = gathered(self.sheets, rooms, self.problem)
        big = min(easy, self._gathered(moved), key=_wish)
        if big is easy and moved != self.sheets:
            big = min(easy, self._gathered(self.sheets), key=_wish)
        return easier(big, easy), big

    def _gathered(self, sheets: tuple[Alike, ...]) -> Arranged:
        emptiest = max(sheets, key=lambda one: area_over(one.patterns[0], self._room(one)))
        choices = []
        for one in sheets:
            stop_if_late()
            if one is emptiest:
                room = self._room(one)
                ways = [
                    *self._ways_for(one),
                    *ways_of(room, map(ordered, compact(room, one.patterns[0]))),
                ]
                choices.append(one_large_offcut(ways, room))
            else:
                choices.append(self._easy_for(one))
        return self._arranged(sheets, choices)

    def _room(self, one: Alike) -> Room:
        return self._rooms[one.sheet]

    def _ways_for(self, one: Alike) -> list[Way]:
        key = one.sheet, one.patterns
        if key not in self._ways:
            self._ways[key] = find_ways(self._room(one), one.patterns)
        return self._ways[key]

    def _easy_for(self, one: Alike) -> list[Laid]:
        key = one.sheet, one.patterns
        if key not in self._easy:
            self._easy[key] = easy_to_cut(self._ways_for(one), self._room(one))
        return self._easy[key]

    def _arranged(self, sheets: tuple[Alike, ...], choices: Sequence[Sequence[Laid]]) -> Arranged:
        chosen = few_settings(choices)
        settings = ruler_settings(chosen)
        rooms = [self._room(one) for one in sheets]
        offcuts = [
            (
                room.kept(over.width, over.height),
                over.width - room.cut_width,
                over.height - room.cut_width,
            )
            for laid, room in zip(chosen, rooms, strict=True)
            for over in overs(laid.part)
        ]
        area, *size = max(offcuts, default=(0, 0, 0))
        return Arranged(
            sheets=sheets,
            parts=tuple(
                with_lasts(laid.part, settings, room)
                for laid, room in zip(chosen, rooms, strict=True)
            ),
            exact=sum(one.alike * min(way.exact for way in self._ways_for(one)) for one in sheets),
            strokes=sum(
                one.alike * count_strokes(laid.part, room)
                for one, laid, room in zip(sheets, chosen, rooms, strict=True)
            ),
            ruler_settings=len(settings),
            offcut=(size[0], size[1]) if area else None,
        )


def _wish(arranged: Arranged) -> tuple[int, int, int, int]:
    """The order of wishes for one big offcut."""
    width, height = arranged.offcut or (0, 0)
    return arranged.exact, -width * height, arranged.strokes, arranged.ruler_settings


def easier(one: Arranged, other: Arranged) -> Arranged:
    """Which of two is easier to cut; the first where both are alike."""
    return min(one, other, key=_effort)


def _effort(arranged: Arranged) -> tuple[int, int, int, int]:
    """The order of wishes for easy cutting."""
    return arranged.exact, len(arranged.sheets), arranged.strokes, arranged.ruler_settings
