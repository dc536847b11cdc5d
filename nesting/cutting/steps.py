"""A stroke and a step: one pass of the blade, and equal ones at one ruler setting."""

from collections.abc import Iterable
from dataclasses import dataclass

from nesting.cutting.parallel_cuts import Part
from nesting.papers import Axis, Edge


@dataclass(frozen=True, slots=True)
class Stop:
    """Where a stroke ends inside the sheet: ``after`` this length, in nm, from where it begins.

    Going on for up to ``spare`` nm more hurts nothing that is kept. ``meets`` says that an earlier
    stroke ends there.
    """

    after: int
    spare: int
    meets: bool


@dataclass(frozen=True, slots=True)
class Line:
    """How far a stroke goes that does not cross the whole part: from ``low`` to ``high``, in nm.

    The blade begins at its end on the side of ``begins``, and takes ``cut_width``.
    """

    low: int
    high: int
    cut_width: int
    begins: Edge
    stop: Stop | None = None


@dataclass(frozen=True, slots=True)
class Stroke:
    """One cut through one part of a sheet.

    ``number`` counts from 1 in the order of the page. The line is ``axis`` = ``at`` (nm, the low
    edge of the cut width) across ``whole``. ``taken`` is the part at the row's end that it parts
    from ``rest``. Of a pinwheel, ``line`` says how far the stroke goes, and the first of its strokes
    takes nothing: ``taken`` has no size then.
    """

    number: int
    axis: Axis
    at: int
    whole: Part
    taken: Part
    rest: Part
    line: Line | None = None

    @property
    def stops(self) -> bool:
        """Whether it ends inside the sheet."""
        return self.line is not None and self.line.stop is not None

    @property
    def held(self) -> Part:
        """The part under the hand or clamp: the larger of both; of two alike the rest of the row."""
        longer = self.taken.extent(self.axis) > self.rest.extent(self.axis)
        return self.taken if longer else self.rest

    @property
    def falls(self) -> Part:
        """The part that drops off."""
        return self.rest if self.held is self.taken else self.taken

    @property
    def hold(self) -> int:
        """How wide the part under the hand or clamp is, across the line, in nm."""
        return self.held.extent(self.axis)


@dataclass(frozen=True, slots=True)
class Step:
    """A line of the stroke table: one ruler setting, ``times`` on each of some equal parts.

    ``measured`` is the edge of the part in hand that the ruler setting (nm) is measured from. The
    last ``by_knife`` of the strokes on each part leave less to hold than the trimmer's narrowest
    hold, in whatever order the row is cut.
    """

    setting: int
    measured: Edge
    times: int
    strokes: tuple[Stroke, ...]
    by_knife: int

    @property
    def axis(self) -> Axis:
        """The axis that the line is constant on."""
        return self.strokes[0].axis

    @property
    def parts(self) -> int:
        """How many equal parts of one sheet it is made on."""
        return len(self.strokes) // self.times

    @property
    def in_hand(self) -> Part:
        """The first of the equal parts, before the first of its strokes."""
        return self.strokes[0].whole

    @property
    def last(self) -> Stroke:
        """The last stroke on the first of the equal parts."""
        return self.strokes[self.times - 1]

    @property
    def stop(self) -> Stop | None:
        """Where its strokes end inside the sheet; None where they run through."""
        line = self.strokes[0].line
        return None if line is None else line.stop

    def falls_beyond(self, stroke: Stroke) -> bool:
        """Whether what drops off at one of its strokes lies beyond the line, not on the measured side."""
        if self.measured in ("left", "bottom"):
            return stroke.falls.low(self.axis) != stroke.whole.low(self.axis)
        return stroke.falls.high(self.axis) != stroke.whole.high(self.axis)

    def passes(self, alike: int, stack: int) -> int:
        """How often the blade is moved for so many sheets alike, ``stack`` on top of one another.

        Two rows on each of three sheets, cut twice, two at once, take 2 x 3 passes.
        """
        return self.times * -(-self.parts * alike // stack)


def steps_before(steps: Iterable[Step], stroke: int) -> int:
    """How many steps come before the one that has a stroke."""
    return sum(step.strokes[-1].number < stroke for step in steps)
