"""The words of stopped cuts, followed on a sheet that is a polygon (shapely): it falls apart as planned."""

import re
from dataclasses import dataclass, field
from random import Random

import pytest
from pack_cases import solved
from plans import inches
from shapely import Polygon, box

from nesting.batch import Batch, LoosePiece, Trimmer
from nesting.draw.sheet.step_words import setting_words, step_lines
from nesting.draw.sheet.subject import Subject
from nesting.layouts import Layout
from nesting.papers import Paper, Sheet
from nesting.plan import Plan

_LENGTH = r"(\d+/\d+|\d+(?: \d+/\d+)?)"
_SIZE = rf"{_LENGTH} x {_LENGTH}"
#: The edge on the ruler's side, by the edge that lies at the guide edge; from the right for the left hand.
_RULER = {"top": "left", "left": "bottom", "bottom": "right", "right": "top"}
_FROM_RIGHT = {"top": "right", "right": "bottom", "bottom": "left", "left": "top"}
#: A blade as thin as this (nm) parts a polygon, and no size is told from one that differs by so much.
_THIN, _ALIKE = 1, 20
_FAR = 10**10


@dataclass(slots=True)
class PolygonMaker:
    """Someone who knows the words, the ruler's side and the pieces by letter, and cuts a polygon by them.

    ``overruns``: a stopped cut goes on as far as is said to hurt nothing.
    """

    plan: Plan
    in_hand: Polygon
    overruns: bool
    table: list[Polygon] = field(default_factory=list)
    blanks: list[tuple[str, Polygon]] = field(default_factory=list)
    guide: str = ""

    def follow(self, setting: int, words: str) -> None:
        """Make one step, of one stroke."""
        assert "Cut" not in words, words
        taken = re.search(rf"Take the {_SIZE}", words)
        if taken:
            self.table.append(self.in_hand)
            size = [inches(length) for length in taken.groups()]
            self.in_hand = next(part for part in self.table if alike(extent(part), size))
            self.table.remove(self.in_hand)
        side = self._laid(words)
        parts = [
            part
            for part in polygons(self.in_hand.difference(self._blade(side, setting, words)))
            if min(extent(part)) > _ALIKE
        ]
        drop = re.search(r"Drops off: ([^.]+)\.", words)
        if drop is None:
            assert len(parts) == 1, words
            (self.in_hand,) = parts
        else:
            parts.sort(key=lambda part: part.area)
            if len(parts) > 2:  # a cut that overran into what goes to the bin has parted it
                assert self.overruns
                assert drop[1].endswith(", to the bin")
                *_, self.in_hand = parts
            else:
                parts.sort(key=lambda part: not self._is(part, drop[1]))
                falls, self.in_hand = parts
                assert self._is(falls, drop[1]), words
                self._lay_aside(falls, drop[1])
        still = re.search(r"Still in one piece: ([A-Z])\.", words)
        if still:
            self._lay_aside(self.in_hand, still[1])

    def _laid(self, words: str) -> str:
        """The edge that the setting is measured from."""
        measured = re.search(rf"easure {_LENGTH} from the (\w+) edge", words)
        laid = re.search(r"(\w+) edge to the guide edge", words)
        self.guide = laid[1].lower() if laid else self.guide
        if measured and "shave" not in words:
            return measured[2]
        left_handed = self.plan.asked.trimmer.hand == "left"
        return (_FROM_RIGHT if left_handed else _RULER)[self.guide]

    def _blade(self, side: str, setting: int, words: str) -> Polygon:
        """What the blade takes away: from the edge where it begins to where it stops."""
        left, low, right, top = self.in_hand.bounds
        width = self.plan.asked.trimmer.cut_width or _THIN
        x, y = (-_FAR, _FAR), (-_FAR, _FAR)
        if side in ("left", "right"):
            start = left + setting if side == "left" else right - setting - width
            x = (start, start + width)
        else:
            start = low + setting if side == "bottom" else top - setting - width
            y = (start, start + width)
        stop = re.search(rf"Begin at the (\w+) edge and stop at {_LENGTH}[,:]", words)
        if stop:
            spare = re.search(rf"Up to {_LENGTH} more", words)
            reach = inches(stop[2]) + (inches(spare[1]) if spare and self.overruns else 0)
            assert stop[1] == self.guide or not self.guide
            match stop[1]:
                case "left":
                    x = (-_FAR, left + reach)
                case "right":
                    x = (right - reach, _FAR)
                case "bottom":
                    y = (-_FAR, low + reach)
                case "top":
                    y = (top - reach, _FAR)
        return box(x[0], y[0], x[1], y[1])

    def _is(self, part: Polygon, said: str) -> bool:
        """Whether a part is what the words call it, a piece by its letter or a part by its size."""
        size = re.search(_SIZE, said)
        if size:
            return alike(extent(part), [inches(length) for length in size.groups()])
        piece = next(piece for piece in self.plan.pieces if piece.letter == said)
        own = [piece.width, piece.height]
        return alike(extent(part), own) or alike(extent(part), own[::-1])

    def _lay_aside(self, part: Polygon, said: str) -> None:
        if said.isalpha():
            self.blanks.append((said, part))
        else:
            self.table.append(part)


def polygons(shape: object) -> list[Polygon]:
    """The polygons that a shape consists of."""
    return list(getattr(shape, "geoms", [shape]))


def extent(part: Polygon) -> tuple[float, float]:
    """Width and height."""
    left, low, right, top = part.bounds
    return right - left, top - low


def alike(one: tuple[float, float], other: list[int]) -> bool:
    """Whether two sizes cannot be told apart."""
    return all(abs(a - b) < _ALIKE for a, b in zip(one, other, strict=True))


def pinwheel_batch(seed: int) -> Batch:
    """Four pieces that fit one sheet round a centre, at most to the edge, and a trimmer that can stop."""
    rng = Random(seed)

    def eighths(low: float, high: float) -> int:
        return rng.randint(int(low * 8), int(high * 8)) * inches("1/8")

    cut_width = rng.choice([0, 0, inches("1/32")])
    trimmer = Trimmer(
        kind=rng.choice(["sliding", "rotary", "knife"]), hand=rng.choice(["left", "right"]),
        marks=inches("1/16"), cut_width=cut_width, can_stop=True,
    )  # fmt: skip
    sheet, less = inches("12"), inches("1/16") if cut_width else 0
    across, up = eighths(6.5, 8), eighths(3.5, 5)
    left, far = eighths(3, 5.5), eighths(6, 7.5)
    sizes = [
        (across, up), (sheet - across, far), (sheet - left, sheet - far), (left, sheet - up),
    ]  # fmt: skip
    pieces = tuple(
        LoosePiece(f"board {n}", "pear toss", 1, width - less, height - less, turn="may")
        for n, (width, height) in enumerate(sizes, 1)
    )
    return Batch(
        "Orchard boards",
        "in",
        (Paper("pear toss", (Sheet(sheet, sheet, have=1),)),),
        (),
        pieces,
        trimmer,
    )


@pytest.mark.parametrize("seed", [1, 2, 4, 5, 10, 18, 20, 24, 26, 27])
@pytest.mark.parametrize("overruns", [False, True])
def test_the_sheet_falls_apart_as_the_words_say(seed: int, *, overruns: bool) -> None:
    """Where each blank lies in the plan it comes off, a rectangle, whether a stopped cut overruns or not."""
    plan = solved(pinwheel_batch(seed))
    (layout,) = plan.layouts
    blanks, words = cut_by_words(plan, layout, overruns=overruns)
    assert "and stop at" in words
    assert len(blanks) == len(plan.pieces)
    for letter, part in blanks:
        assert abs(part.area - box(*part.bounds).area) < 1e-9 * part.area
        left, low, *_ = part.bounds
        (placed,) = (
            one
            for one in layout.blanks
            if plan.piece(one.node.piece).letter == letter  # type: ignore[union-attr]
        )
        assert alike((left, low), [placed.x, placed.y])
        assert alike(extent(part), [placed.width, placed.height])


def cut_by_words(
    plan: Plan, layout: Layout, *, overruns: bool
) -> tuple[list[tuple[str, Polygon]], str]:
    """The blanks that come of a layout when its steps are followed, and all words of these."""
    subject = Subject(plan, layout)
    maker = PolygonMaker(plan, box(0, 0, layout.width, layout.height), overruns)
    said = []
    for position, step in enumerate(subject.steps):
        words = " ".join(text for text, _ in step_lines(subject, position))
        said.append(words.replace("\N{NO-BREAK SPACE}", " "))
        maker.follow(inches(setting_words(subject, step)), said[-1])
    return maker.blanks, " ".join(said)
