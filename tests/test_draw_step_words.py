"""The stroke table's words, read as a maker reads them: a sheet is cut by them alone."""

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from random import Random

import pytest
from pack_cases import solved

from nesting.batch import Batch, Trimmer
from nesting.bench.batches import few_batch
from nesting.draw.sheet.step_words import setting_words, step_lines
from nesting.draw.sheet.subject import Subject
from nesting.layouts import Blank, Cut, EdgeTrim, Offcut, Placed, Strip
from nesting.papers import BarcodeStrip, Edge
from nesting.plan import Plan
from nesting.typed_lengths import parse_length

_LENGTH = r"\d+(?: \d+/\d+)?|\d+/\d+"
_SIZE = rf"(?:{_LENGTH}) x (?:{_LENGTH})"
_LETTERS = r"(?:\d+ )?[A-Z]+(?:, (?:\d+ )?[A-Z]+)*"

#: Each sentence that a step may have, in its order.
_STEP = re.compile(
    rf"(?:Between the marks (?:{_LENGTH}) and (?:{_LENGTH})\. )?"
    rf"(?:Too little to hold at a trimmer: with knife and steel rule measure (?P<knife>{_LENGTH}) "
    r"from the (?P<knife_edge>\w+) edge\. "
    r"|The last (?:stroke|\d+ strokes)(?: on each)? leaves? too little to hold at a trimmer: with "
    rf"knife and steel rule measure (?P<last>{_LENGTH}) from the (?P<last_edge>\w+) edge\. "
    r"|Narrow: hold it under a steel rule\. "
    r"|The last (?:stroke|\d+ strokes)(?: on each)?: narrow: hold it under a steel rule\. )?"
    r"(?:Take (?P<whole>the sheet)\. |Go on with the rest(?P<rests> of each)?\. (?P<same>)"
    rf"|Take (?P<many>the|both parts of|\d+ parts of) (?P<size>{_SIZE})(?: for (?P<inside>[^.]+))?\. )"
    r"(?:(?P<guide>\w+) edge to the guide edge\. "
    rf"|Measure (?P<measure>{_LENGTH}) from the (?P<measure_edge>\w+) edge\. )?"
    r"(?:Cut(?P<each> each)?(?: (?:(?P<twice>twice)|(?P<times>\d+) times))?(?:, [^.]* at once)?\. )?"
    r"(?:Drops off: (?P<drops>[^.]+)\. |Only as much as the cut is wide comes off\. )"
    r"(?:The last time hold (?P<held>[^;.]+); "
    r"(?:drops off: (?P<at_last>[^.]+)|only as much as the cut is wide comes off)\. )?"
    rf"(?:A shave: surer with knife and steel rule, measure (?P<shave>{_LENGTH}) "
    r"from the (?P<shave_edge>\w+) edge\. )?"
    r"(?:Still in one piece: (?P<still>[^.]+)\. )?"
    rf"(?:Measure the first [^:]+: {_SIZE}\. )?"
)
#: The edge on the ruler's side, by the edge that lies at the guide edge, away from the reader.
_RULER_LEFT: dict[str, Edge] = {
    "top": "left", "right": "top", "bottom": "right", "left": "bottom",
}  # fmt: skip
_OPPOSITE: dict[Edge, Edge] = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}


@dataclass(frozen=True, slots=True)
class Paper:
    """A rectangle in the maker's hands or on the table, and what was said of it, if anything."""

    x: int
    y: int
    width: int
    height: int
    said: str = ""

    @property
    def area(self) -> int:
        """In nm²."""
        return self.width * self.height


class Maker:
    """Someone who knows the page's words, the ruler's side and the sheet, and nothing else."""

    def __init__(self, plan: Plan, sheet: Paper) -> None:
        trimmer = plan.asked.trimmer
        self.left_handed = trimmer.hand == "left"
        self.cut_width = trimmer.cut_width
        # Of two alike the small picture shows which one is grey.
        self.measured_drops = trimmer.repeat == "same ruler setting"
        self.table = [sheet]
        self.in_hand: list[Paper] = []
        self.edge: Edge = "top"

    def follow(self, setting: str, lines: str) -> None:
        """Make all strokes of one step."""
        read = _STEP.fullmatch(lines + " ")
        assert read is not None, lines
        self._take(read)
        times = 2 if read["twice"] else int(read["times"] or 1)
        self._lay(read, setting)
        drops = expanded(read["drops"], times - (read["held"] is not None))
        if read["held"] is not None:
            drops.append(read["at_last"] or "")
        rests = []
        for rest in self.in_hand:
            for drop in drops:
                rest = self._cut(rest, parse_length(setting, "in"), drop)  # noqa: PLW2901
            rests.append(replace(rest, said=read["held"] or read["still"] or ""))
        self.in_hand = rests
        self.table += [rest for rest in rests if rest.said]

    def _take(self, read: re.Match[str]) -> None:
        """Take in hand what the words say; exactly those, or there is a doubt."""
        if read["whole"]:
            self.in_hand = self.table
            self.table = []
        elif read["size"]:
            width, height = (parse_length(side, "in") for side in read["size"].split(" x "))
            named = read["inside"] and f"{read['size']} for {read['inside']}"
            fitting = [
                part
                for part in self.table
                if (part.width, part.height) == (width, height)
                and " for " in part.said
                and (not named or part.said == named)
            ]
            count = {"the": 1, "both parts of": 2}.get(read["many"]) or int(read["many"].split()[0])
            assert len({part.said for part in fitting}) == 1, read.string
            assert len(fitting) >= count, read.string
            self.in_hand = fitting[:count]
            for part in self.in_hand:
                self.table.remove(part)
        else:
            assert bool(read["rests"]) == (len(self.in_hand) > 1)
            self.table = [part for part in self.table if part not in self.in_hand]
        assert bool(read["each"]) == (len(self.in_hand) > 1)

    def _lay(self, read: re.Match[str], setting: str) -> None:
        """Lay an edge at the guide edge, or measure from one; what goes on lies as it lay."""
        guide = read["guide"]
        for way in ("knife", "measure", "last", "shave"):
            assert read[way] in (None, setting)
        edge = read["knife_edge"] or read["measure_edge"]
        if guide:
            by_ruler = _RULER_LEFT[guide.lower()]
            self.edge = _OPPOSITE[by_ruler] if self.left_handed else by_ruler
        elif edge:
            self.edge = edge  # type: ignore[assignment]
        else:
            assert read["same"] is not None, read.string
        for other in (read["last_edge"], read["shave_edge"]):
            assert other in (None, self.edge)

    def _cut(self, part: Paper, setting: int, drop: str) -> Paper:
        """Cut and hold the larger part; the smaller drops off and is what the words say."""
        sideways = self.edge in ("left", "right")
        length = part.width if sideways else part.height
        beyond = max(0, length - setting - self.cut_width)
        low, high = (setting, beyond) if self.edge in ("left", "bottom") else (beyond, setting)
        if sideways:
            first = replace(part, width=low)
            second = replace(part, x=part.x + length - high, width=high)
        else:
            first = replace(part, height=low)
            second = replace(part, y=part.y + length - high, height=high)
        measured, far = (first, second) if self.edge in ("left", "bottom") else (second, first)
        held, falls = measured, far
        if (far.area, self.measured_drops) > (measured.area, False):
            held, falls = far, measured
        assert (falls.area == 0) == (drop == "")
        if drop:
            self.table.append(replace(falls, said=drop))
        return held


def expanded(drops: str | None, count: int) -> list[str]:
    """What drops off each time."""
    if drops is None:
        return [""] * count
    drops, nothing_at_last, _ = drops.partition("; the last time only as much as the cut is wide")
    if nothing_at_last:
        return [*expanded(drops, count - 1), ""]
    size, _, inside = drops.partition(" each time, in turn for ")
    if inside:
        said = [f"{size} for {letters}" for letters in inside.split("; ")]
    else:
        said = []
        for words in re.split(r"; (?:then )?", drops):
            repeated = re.fullmatch(r"(\d+) (?:times )?([A-Z]+|\d.* x .*|offcut .*)", words)
            if repeated and (" times " in words or repeated[2].isalpha()):
                said += [repeated[2]] * int(repeated[1])
            else:
                said.append(words)
        said *= count if len(said) == 1 else 1
    assert len(said) == count, drops
    return said


def cut_by_words(plan: Plan, number: int) -> list[Paper]:
    """What is on the table when the stroke table of a layout is worked through."""
    layout = plan.layouts[number]
    subject = Subject(plan, layout)
    maker = Maker(plan, Paper(0, 0, layout.width, layout.height))
    for position, step in enumerate(subject.steps):
        lines = " ".join(words for words, _ in step_lines(subject, position))
        maker.follow(setting_words(subject, step), lines.replace("\N{NO-BREAK SPACE}", " "))
    return maker.table


def wanted(plan: Plan, placed: Placed) -> str:
    """What the words have to call a leaf of the layout."""
    match placed.node:
        case Blank(piece=id_, circles=circles):
            return f"{plan.piece(id_).letter} {max(1, len(circles))}"
        case Offcut(keep=keep):
            return "keep" if keep else "to the bin"
        case Strip():
            return "the barcode strip"
    return "edge trim"


def named(plan: Plan, number: int, table: list[Paper]) -> Iterator[tuple[str, Paper]]:
    """The leaves that each part on the table is, as its words say."""
    layout = plan.layouts[number]
    leaves = [p for p in layout.walk() if not isinstance(p.node, Cut) and p.width and p.height]
    # A plan has a cut that takes all that is left over on the high side, wherever the ruler lies.
    lower = [(0, 0), (layout.cut_width, 0), (0, layout.cut_width)]
    for one in table:
        for x, y in lower:
            part = replace(one, x=one.x - x, y=one.y - y)
            inside = [leaf for leaf in leaves if is_inside(leaf, part)]
            if inside and spanned(inside) == (part.x, part.y, part.width, part.height):
                break
        else:
            raise AssertionError(one)
        names = [wanted(plan, leaf) for leaf in inside]
        circles = re.fullmatch(rf"{_SIZE} for (\d+) ([A-Z]+)", part.said)
        if circles:
            assert names == [f"{circles[2]} {circles[1]}"]
        elif part.said.isalpha():
            assert names == [f"{part.said} 1"]
        elif part.said.endswith(", keep"):
            assert "keep" in names
            assert (set(names) == {"keep", "the barcode strip"}) == ("strip" in part.said)
        elif part.said.endswith(", to the bin"):
            assert {type(leaf.node) for leaf in inside} <= {Offcut, EdgeTrim, Strip}
            assert "keep" not in names
        else:
            assert names == [part.said]
        yield from ((name, part) for name in names)


def is_inside(leaf: Placed, part: Paper) -> bool:
    """Whether a leaf of the layout lies on a part."""
    return (
        part.x <= leaf.x
        and part.y <= leaf.y
        and leaf.x + leaf.width <= part.x + part.width
        and leaf.y + leaf.height <= part.y + part.height
    )


def spanned(leaves: list[Placed]) -> tuple[int, int, int, int]:
    """What leaves that stay together fill, with the width of the cut that is not made between them."""
    x, y = min(leaf.x for leaf in leaves), min(leaf.y for leaf in leaves)
    right = max(leaf.x + leaf.width for leaf in leaves)
    return x, y, right - x, max(leaf.y + leaf.height for leaf in leaves) - y


def random_batch(seed: int) -> Batch:
    """A list of pieces, any trimmer, a barcode strip on some papers."""
    chance, batch = Random(f"words {seed}"), few_batch(seed)
    half = parse_length("1/2", "in")
    trimmer = Trimmer(
        kind=chance.choice(["sliding", "knife", "lever"]),
        narrowest_hold=chance.choice([half, 2 * half, 4 * half]),
        stack=chance.choice([1, 1, 2, 3]),
        hand=chance.choice(["right", "left"]),
        repeat=chance.choice(["same ruler setting", "descending marks"]),
        cut_width=chance.choice([0, 0, parse_length("1/32", "in")]),
    )
    (paper,) = batch.papers
    if chance.random() < 0.5:
        edge = chance.choice(["left", "right", "top", "bottom"])
        beyond = chance.choice([True, False])
        paper = replace(paper, barcode_strip=BarcodeStrip(edge, half, beyond_the_sheet=beyond))
    return replace(batch, trimmer=trimmer, papers=(paper,))


@pytest.mark.parametrize("seed", range(30))
def test_a_sheet_cut_by_the_words_gives_its_layout(seed: int) -> None:
    """Exactly the blanks and offcuts of each layout, each called what it is, and no doubt on the way."""
    plan = solved(random_batch(seed))
    assert plan.layouts
    for number, layout in enumerate(plan.layouts):
        leaves = [p for p in layout.walk() if not isinstance(p.node, Cut) and p.width and p.height]
        if len(leaves) > 1:
            found = Counter(name for name, _ in named(plan, number, cut_by_words(plan, number)))
            assert found == Counter(wanted(plan, leaf) for leaf in leaves)


@pytest.mark.parametrize("seed", [7073, 7102])
def test_nothing_of_no_width_drops_off(seed: int) -> None:
    """Where the last of equal cuts takes only as much as it is wide, the words say so, not 0 x 6."""
    plan = solved(random_batch(seed))
    subject = Subject(plan, plan.layouts[-1])
    words = [w for n in range(len(subject.steps)) for w, _ in step_lines(subject, n)]
    assert any("; the last time only as much as the cut is wide." in one for one in words)
    assert not any(re.search(r"\b0 x | x 0\b", one) for one in words)
