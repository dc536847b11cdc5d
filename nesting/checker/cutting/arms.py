"""Pinwheels cut apart again, stroke by stroke.

Of a pinwheel, one arm is cut free by two strokes that stop: first the line behind it, as long as the arm,
then the line at which that one ends, as far as the arm is wide. Then the arms that lie before it, going
round against the way in which each line ends at the next, come free one after the other; at last the
centre and the arm that is left are parted.
"""

from dataclasses import dataclass, field, replace

from nesting.checker.cutting.slabs import Slab
from nesting.layouts import Blank, Offcut
from nesting.papers import Edge

#: The arms of a pinwheel as they stand in its parts.
_ARMS: tuple[Edge, ...] = ("bottom", "left", "top", "right")


@dataclass(slots=True)
class Arms:
    """Equal pinwheels, and how many strokes are made on each.

    ``going_round`` has the arms as each line ends at the next, the one that is cut free first at its
    beginning.
    """

    rows: list[Slab]
    made: int = 0
    going_round: list[Edge] = field(init=False)

    def __post_init__(self) -> None:
        wheel = self.rows[0].wheel
        order = list(_ARMS)
        if wheel is not None and wheel.way == "anticlockwise":
            order = [order[0], *reversed(order[1:])]
        rounds = [order[n:] + order[:n] for n in range(4)]
        self.going_round = max(rounds, key=lambda one: _overrun(self.rows[0], one[0], one[1]))

    @property
    def ends(self) -> int:
        """How many strokes are left."""
        return 5 - self.made

    @property
    def begins(self) -> Edge:
        """The outer edge of the arm whose line is next; all is measured from there."""
        first, second, third, fourth = self.going_round
        return (first, second, fourth, third, second)[self.made]

    def setting(self) -> int:
        """How wide that arm is."""
        rect = self.rows[0].parts[_ARMS.index(self.begins)].rect
        return rect.width if self.begins in ("left", "right") else rect.height

    def measured(self) -> Edge:
        """The edge that the next stroke is measured from."""
        return self.begins

    def turn(self) -> tuple[int, int, int]:
        """What decides where no ruler is set: the longest cut, then the highest, furthest left."""
        row = self.rows[0]
        long = _along(row, self.begins)
        before = self.rows[0].parts[_ARMS.index(self.going_round[0])].rect
        wide = before.width if self.going_round[0] in ("left", "right") else before.height
        if self.made == 1:
            long = wide
        elif self.made == 4:
            long -= wide
        return -long, -row.rect.y, row.rect.x

    def cut(self) -> bool:
        """Make the next stroke on each; the one after it is always set anew."""
        self.made += 1
        return False

    def ordered(self, row: Slab) -> tuple[Slab, ...]:
        """The parts as they come free."""
        first, second, third, fourth = (row.parts[_ARMS.index(one)] for one in self.going_round)
        return first, fourth, third, row.parts[4], second

    def in_hand(self, row: Slab) -> tuple[Slab, ...]:
        """What still hangs together; it is no rectangle, but falls into some."""
        if not self.made:
            return (row,)
        left = self.ordered(row)[max(0, self.made - 1) :]
        return tuple(replace(part, joined=len(left) > 1) for part in left)

    def on_table(self, row: Slab) -> tuple[Slab, ...]:
        """What there is of a pinwheel."""
        return (*self.in_hand(row), *self.ordered(row)[: max(0, self.made - 1)])


def _blade(row: Slab) -> int:
    """The cut width: what parts the bottom arm from the centre."""
    return row.parts[4].rect.y - row.parts[0].rect.y - row.parts[0].rect.height


def _along(row: Slab, arm: Edge) -> int:
    """How long an arm is, and the line behind it."""
    rect = row.parts[_ARMS.index(arm)].rect
    return rect.height if arm in ("left", "right") else rect.width


def _overrun(row: Slab, arm: Edge, beyond: Edge) -> int:
    """How far the line behind an arm may run on into the arm beyond its end.

    As far as a blank or an offcut to keep that it would run into; what it only touches, it does not harm.
    """
    own, other = (row.parts[_ARMS.index(one)] for one in (arm, beyond))
    upright = arm in ("left", "right")
    at = {
        "left": own.rect.x + own.rect.width,
        "right": own.rect.x - _blade(row),
        "bottom": own.rect.y + own.rect.height,
        "top": own.rect.y - _blade(row),
    }[arm]
    least = other.rect.height if upright else other.rect.width
    for part in other.finished():
        if not any(isinstance(n, Blank) or n == Offcut(keep=True) for n, _ in part.leaves):
            continue
        rect = part.rect
        low, high = (rect.x, rect.x + rect.width) if upright else (rect.y, rect.y + rect.height)
        if low < at + _blade(row) and high > at:
            # The arm beyond begins where the line ends: at its edge opposite its own outer end.
            gap = {
                "top": other.rect.y + other.rect.height - rect.y - rect.height,
                "bottom": rect.y - other.rect.y,
                "left": rect.x - other.rect.x,
                "right": other.rect.x + other.rect.width - rect.x - rect.width,
            }[_INNER[beyond]]
            least = min(least, gap)
    return least


#: The inner edge of an arm.
_INNER: dict[Edge, Edge] = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}
