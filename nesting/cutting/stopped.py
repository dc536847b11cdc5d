"""The strokes of a pinwheel: two that stop inside the sheet, then three that run through.

Two is the fewest: nothing comes off before an arm is free on both its inner sides, and both of these
lines end inside the sheet. The first arm is free after two stopped strokes. What is left has lost a
corner, so that the line beside it now runs through, and so does the one after that. The last stroke
goes on where the second one stopped. Every line is measured from the outer edge of the arm behind it,
which it makes as wide as it has to be.
"""

from dataclasses import dataclass, field
from typing import NamedTuple

from nesting.batch import Trimmer
from nesting.cutting.parallel_cuts import Part
from nesting.cutting.steps import Line, Step, Stop, Stroke
from nesting.layouts import Blank, Offcut
from nesting.papers import Axis, Edge

#: The arms in the order of ``Part.parts`` of a pinwheel, the centre after them.
_ARMS: tuple[Edge, ...] = ("bottom", "left", "top", "right")
_CENTRE = 4
#: The arms in the order in which each line ends at the next.
_ROUND: dict[str, tuple[Edge, ...]] = {
    "clockwise": ("bottom", "left", "top", "right"),
    "anticlockwise": ("bottom", "right", "top", "left"),
}


class _Stage(NamedTuple):
    """One stroke of a pinwheel: the line behind ``arm``, and what is then free (None: nothing)."""

    arm: Edge
    frees: int | None


@dataclass(slots=True)
class PinwheelJob:
    """Equal pinwheels to cut apart, stroke by stroke on all of them."""

    rows: list[Part]
    trimmer: Trimmer
    made: int = 0
    stages: tuple[_Stage, ...] = field(init=False)

    def __post_init__(self) -> None:
        """Choose the arm that is cut free first: the one where overrunning hurts least."""
        whole = self.rows[0]
        order = _round(whole)
        first = max(range(4), key=lambda n: (_spare(whole, order, n), -n))
        one, following, across, before = (order[(first + n) % 4] for n in range(4))
        self.stages = (
            _Stage(one, None),
            _Stage(following, _ARMS.index(one)),
            _Stage(before, _ARMS.index(before)),
            _Stage(across, _ARMS.index(across)),
            _Stage(following, _CENTRE),
        )

    @property
    def ended(self) -> bool:
        """Whether nothing is left to cut."""
        return self.made == len(self.stages)

    @property
    def begins(self) -> Edge:
        """The edge that the next stroke is measured from."""
        return self.stages[self.made].arm

    @property
    def axis(self) -> Axis:
        """The axis that the next stroke's line is constant on."""
        return _axis(self.begins)

    @property
    def setting(self) -> int:
        """The ruler setting of the next stroke, in nm."""
        return _wide(self.rows[0], self.begins)

    @property
    def length(self) -> int:
        """How long the next stroke is, in nm."""
        line = self._line(self.rows[0])
        return line.high - line.low

    def in_order(self, row: Part) -> tuple[Part, ...]:
        """The arms in the order in which they come free, the centre last but one."""
        free = [stage.frees for stage in self.stages if stage.frees is not None]
        last = next(n for n in range(5) if n not in free)
        return tuple(row.parts[n] for n in (*free, last))

    def next_step(self, made: int) -> Step:
        """Make the next stroke on every pinwheel; ``made`` strokes are before."""
        strokes = tuple(self._stroke(row, made + n) for n, row in enumerate(self.rows, 1))
        beside = strokes[0].whole.extent(self.axis) - self.setting - _cut_width(self.rows[0])
        step = Step(
            setting=self.setting,
            measured=self.begins,
            times=1,
            strokes=strokes,
            by_knife=int(max(self.setting, beside) < self.trimmer.narrowest_hold),
        )
        self.made += 1
        return step

    def _stroke(self, row: Part, number: int) -> Stroke:
        stage = self.stages[self.made]
        whole = self._together(row, self.made)
        taken = Part(row.x, row.y, 0, 0) if stage.frees is None else row.parts[stage.frees]
        rest = self._together(row, self.made + 1)
        line = self._line(row)
        return Stroke(number, self.axis, _at(row, stage.arm), whole, taken, rest, line)

    def _together(self, row: Part, made: int) -> Part:
        """What still hangs together after so many strokes."""
        if not made:
            return row
        gone = {stage.frees for stage in self.stages[:made]}
        left = [part for n, part in enumerate(row.parts) if n not in gone]
        if len(left) == 1:
            return left[0]
        x, y = min(part.x for part in left), min(part.y for part in left)
        right = max(part.x + part.width for part in left)
        top = max(part.y + part.height for part in left)
        return Part(x, y, right - x, top - y, parts=tuple(left))

    def _line(self, row: Part) -> Line:
        """Where the next stroke begins and ends."""
        order = _round(row)
        place = order.index(self.begins)
        begins = order[place - 1]
        (low, high), cut_width = _ends(row, self.begins), _cut_width(row)
        if self.made == 0:
            stop = Stop(high - low, _spare(row, order, place), meets=False)
            return Line(low, high, cut_width, begins, stop)
        # The second stroke goes as far as the first arm is wide, the last one along the rest.
        wide = _wide(row, self.stages[0].arm)
        from_low = begins in ("left", "bottom")
        if self.made == 1:
            ends = (low, low + wide) if from_low else (high - wide, high)
            return Line(*ends, cut_width, begins, Stop(wide, high - low - wide, meets=True))
        if self.made == 4:
            low, high = (low + wide, high) if from_low else (low, high - wide)
        return Line(low, high, cut_width, begins)


def _round(row: Part) -> tuple[Edge, ...]:
    return _ROUND["clockwise" if row.wheel is None else row.wheel.way]


def _axis(arm: Edge) -> Axis:
    return "x" if arm in ("left", "right") else "y"


def _across(axis: Axis) -> Axis:
    return "y" if axis == "x" else "x"


def _wide(row: Part, arm: Edge) -> int:
    """How wide an arm is, from its outer edge to the line behind it."""
    return row.parts[_ARMS.index(arm)].extent(_axis(arm))


def _at(row: Part, arm: Edge) -> int:
    """Where the line behind an arm is: the low edge of its cut width."""
    part, axis = row.parts[_ARMS.index(arm)], _axis(arm)
    if arm in ("left", "bottom"):
        return part.high(axis)
    return part.low(axis) - _cut_width(row)


def _cut_width(row: Part) -> int:
    """The cut width: what lies between the bottom arm and the centre."""
    return row.parts[_CENTRE].y - row.parts[0].high("y")


def _ends(row: Part, arm: Edge) -> tuple[int, int]:
    """From where to where the whole line behind an arm goes: it is as long as the arm."""
    part, along = row.parts[_ARMS.index(arm)], _across(_axis(arm))
    return part.low(along), part.high(along)


def _spare(row: Part, order: tuple[Edge, ...], place: int) -> int:
    """How far the line behind an arm may overrun before it harms a blank or an offcut to keep.

    Beyond its end it runs into the next arm. Where it lies between two of what that arm ends up as, it
    harms neither.
    """
    arm, following = order[place], row.parts[_ARMS.index(order[(place + 1) % 4])]
    at, along, cut_width = _at(row, arm), _across(_axis(arm)), _cut_width(row)
    onwards = order[place - 1] in ("left", "bottom")
    spare = following.extent(along)
    for part in following.finished():
        crossed = part.low(_axis(arm)) < at + cut_width and part.high(_axis(arm)) > at
        if crossed and _is_of_use(part):
            spare = min(
                spare,
                part.low(along) - following.low(along)
                if onwards
                else following.high(along) - part.high(along),
            )
    return spare


def _is_of_use(part: Part) -> bool:
    nodes = [leaf.node for leaf in part.leaves]
    return Offcut(keep=True) in nodes or any(isinstance(node, Blank) for node in nodes)
