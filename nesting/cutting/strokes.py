"""The strokes of a layout in the order they are made, and the ruler settings they need.

A row of parts is cut apart one part at a time, and the rule of the trade for each stroke is to
hold the large part and to let the small one fall. Long cuts come first, and one ruler setting is
used on all equal parts before it is changed. The tree is not changed here: only the order in which
its cuts are made.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

from nesting.batch import Batch, Trimmer
from nesting.cutting.parallel_cuts import Part, span, whole_part
from nesting.cutting.steps import Step, Stroke
from nesting.cutting.stopped import PinwheelJob
from nesting.layouts import Layout
from nesting.papers import Axis, Edge
from nesting.sources import starting_corner

_OPPOSITE: dict[Edge, Edge] = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}
_End = Literal["start", "far"]


@dataclass(frozen=True, slots=True)
class Effort:
    """What it takes to cut some layouts: passes of the blade, distinct ruler settings."""

    strokes: int
    ruler_settings: int


def steps_of(layout: Layout, batch: Batch) -> tuple[Step, ...]:
    """Put the cuts of a layout in the order in which they are made.

    Long cuts come first; once the ruler is set, every part that is cut at that setting is cut
    before it is moved. Equal rows wait for one another, so that they lie in one stack. A row of
    equal parts is cut at the same ruler setting again and again, or at descending marks from the
    edge where measures start, as the trimmer's ``repeat`` says. Where that would leave less than
    the narrowest hold under the hand, the row is cut from its ends towards its largest part
    instead. No cut parts what stays together (``nesting.cutting.parallel_cuts``).

    Examples
    --------
    Six blanks of 4 x 5 1/4 on 12 x 12, two rows of three and an offcut of 12 x 1 1/2: the ruler at
    5 1/4 twice, then at 4 twice on each row; six strokes, two ruler settings.
    """
    corner = starting_corner(layout, batch.paper(layout.paper), batch.trimmer)
    whole = whole_part(layout)
    equal = Counter(row.pattern for row in whole.rows())
    jobs = _jobs([whole], corner, batch.trimmer)
    steps: list[Step] = []
    made = 0
    while jobs:
        latest = steps[-1] if steps else None
        all_there = [job for job in jobs if len(job.rows) == equal[job.rows[0].pattern]]
        job = min(all_there, key=lambda job: _turn(job, latest))
        steps.append(job.next_step(made))
        made += len(steps[-1].strokes)
        if job.ended:
            jobs.remove(job)
            parts = [part for row in job.rows for part in job.in_order(row)]
            _add(jobs, _jobs(parts, corner, batch.trimmer))
    return tuple(steps)


def effort(layouts: Sequence[Layout], batch: Batch) -> Effort:
    """Count strokes and ruler settings over some layouts and all their sheets alike."""
    strokes = 0
    settings: set[int] = set()
    for layout in layouts:
        for step in steps_of(layout, batch):
            strokes += step.passes(layout.alike, batch.trimmer.stack)
            settings.add(step.setting)
    return Effort(strokes, len(settings))


@dataclass(slots=True)
class _Job:
    """Equal rows to cut apart, along ``axis`` from the edge ``begins``.

    ``takes`` says from which end each next part is taken, at least one in a new job; the parts
    from ``first`` up to ``last``, counted from that edge, are still together. ``setting`` is the
    ruler setting of the next stroke, in nm.
    """

    rows: list[Part]
    axis: Axis
    begins: Edge
    takes: list[_End]
    first: int
    last: int
    least: int
    setting: int = field(init=False)

    def __post_init__(self) -> None:
        """Work the first ruler setting out."""
        self.setting = self._next_setting()

    def next_step(self, made: int) -> Step:
        """Make the next stroke, as often as it repeats, on every row; ``made`` strokes are before."""
        end, setting = self.takes[0], self.setting
        divided: list[list[tuple[Part, Part, Part]]] = []
        while self.takes and self.takes[0] == end and self.setting == setting:
            divided.append([self._divided(row) for row in self.rows])
            self.first, self.last = self.first + (end == "start"), self.last - (end == "far")
            del self.takes[0]
            if self.takes:
                self.setting = self._next_setting()
        strokes: list[Stroke] = []
        for row in zip(*divided, strict=True):
            for whole, taken, rest in row:
                at = min(taken.high(self.axis), rest.high(self.axis))
                number = made + 1 + len(strokes)
                strokes.append(Stroke(number, self.axis, at, whole, taken, rest))
        near = strokes[0].taken if end == "start" else strokes[0].rest
        nothing_there = near.extent(self.axis) == 0  # the cut takes all of it: measure the other
        return Step(
            setting=setting,
            measured=_OPPOSITE[self.begins] if nothing_there else self.begins,
            times=len(divided),
            strokes=tuple(strokes),
            by_knife=sum(stroke.hold < self.least for stroke in strokes[: len(divided)]),
        )

    def _next_setting(self) -> int:
        left = self._left(self.rows[0])
        near, other = (left[:1], left[1:]) if self.takes[0] == "start" else (left[:-1], left[-1:])
        return _reach(near[0], near[-1], self.axis) or _reach(other[0], other[-1], self.axis)

    @property
    def ended(self) -> bool:
        """Whether nothing is left to cut."""
        return not self.takes

    def in_order(self, row: Part) -> tuple[Part, ...]:
        """The parts of a row, from the edge where measures start."""
        return _from_start(row.parts, self.begins)

    @property
    def length(self) -> int:
        """How long its cuts are, in nm."""
        return self.rows[0].extent("y" if self.axis == "x" else "x")

    def _left(self, row: Part) -> tuple[Part, ...]:
        """The parts of a row that are still together, from the edge where measures start."""
        return self.in_order(row)[self.first : self.last]

    def _divided(self, row: Part) -> tuple[Part, Part, Part]:
        """What is together now, the next part that is taken, what remains."""
        left = self._left(row)
        whole = row if len(left) == len(row.parts) else span(left, self.axis)
        if self.takes[0] == "start":
            return whole, left[0], span(left[1:], self.axis)
        return whole, left[-1], span(left[:-1], self.axis)


_AnyJob = _Job | PinwheelJob


def _from_start(parts: tuple[Part, ...], begins: Edge) -> tuple[Part, ...]:
    """The parts of a row, from the edge where measures start."""
    return parts if begins in ("left", "bottom") else parts[::-1]


def _jobs(parts: list[Part], corner: tuple[Edge, Edge], trimmer: Trimmer) -> list[_AnyJob]:
    """The parts that are cut up, equal ones together."""
    equal: dict[tuple[object, ...], list[Part]] = {}
    for part in parts:
        if part.parts:
            equal.setdefault(part.pattern, []).append(part)
    jobs: list[_AnyJob] = []
    for rows in equal.values():
        if rows[0].wheel is not None:
            jobs.append(PinwheelJob(rows, trimmer))
            continue
        axis: Axis = rows[0].axis or "x"
        begins = corner[axis == "y"]
        row = _from_start(rows[0].parts, begins)
        takes = _take_order(row, axis, trimmer)
        jobs.append(_Job(rows, axis, begins, takes, 0, len(row), trimmer.narrowest_hold))
    return jobs


def _add(jobs: list[_AnyJob], more: list[_AnyJob]) -> None:
    """Add jobs; equal rows are cut together."""
    waiting = {job.rows[0].pattern: job for job in jobs}
    for job in more:
        equal = waiting.get(job.rows[0].pattern)
        if equal is None:
            jobs.append(job)
        else:
            equal.rows += job.rows


def _take_order(row: Sequence[Part], axis: Axis, trimmer: Trimmer) -> list[_End]:
    """From which end each part of a row is cut off; the row from the edge where measures start.

    The usual order, if it leaves enough to hold or none does: where no part is wide enough, the
    last cut between two of them is narrow in any order. Each stroke holds the larger of both parts.
    """
    last = len(row) - 1
    sizes = [part.extent(axis) for part in row]
    usual: _End
    if trimmer.repeat == "same ruler setting":
        usual = "start"
        held = [max(sizes[n], _reach(row[n + 1], row[-1], axis)) for n in range(last)]
    else:
        usual = "far"
        held = [max(sizes[n + 1], _reach(row[0], row[n], axis)) for n in range(last)]
    widest = max(sizes)
    if widest < trimmer.narrowest_hold or min(held) >= trimmer.narrowest_hold:
        return [usual] * last
    largest = sizes.index(widest)
    before: list[_End] = ["start"] * largest
    after: list[_End] = ["far"] * (last - largest)
    return before + after


def _reach(first: Part, second: Part, axis: Axis) -> int:
    """The length from the outer edge of one part of a row to that of another, in nm."""
    return max(first.high(axis), second.high(axis)) - min(first.low(axis), second.low(axis))


def _turn(job: _AnyJob, latest: Step | None) -> tuple[bool, bool, int, int, int]:
    """Whose turn it is: the ruler as it is set, the sheet as it lies, then the longest cut."""
    first = job.rows[0]
    same = latest is not None and job.setting == latest.setting
    as_it_lies = latest is not None and job.begins == latest.measured
    return not same, not (same and as_it_lies), -job.length, -first.y, first.x
