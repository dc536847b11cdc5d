"""Laws that hold for the plan of any batch."""

from collections import Counter
from dataclasses import fields, is_dataclass, replace
from itertools import combinations
from math import prod
from typing import Any, TypeVar

import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from pack_cases import MM, cost_of, solved

from nesting.batch import Base, Batch, Card, Layer, LoosePiece, Trimmer
from nesting.cards.resolving import resolve
from nesting.checker import check
from nesting.layouts import Blank, Cut, EdgeTrim, Layout, Node, Offcut, Strip
from nesting.pack import FirstOf, NoGain, Rounds, solve
from nesting.papers import BarcodeStrip, Edge, Edges, Face, FaceName, Paper, Print, Sheet
from nesting.pieces import Piece
from nesting.plan import Plan
from nesting.sheets import full_size

LIMIT = FirstOf((Rounds(12), NoGain(6)))
LENGTHS = {
    "width", "height", "circle", "die_allowance", "left", "right", "top", "bottom", "centre", "wrap",
    "marks", "longest_cut", "narrowest_hold", "cut_width", "keep_from", "lap", "at", "circles",
}  # fmt: skip

T = TypeVar("T")
NAMES = ("pear toss", "cream cardstock")
EDGES: st.SearchStrategy[Edge] = st.sampled_from(["left", "right", "top", "bottom"])
PRINTS: st.SearchStrategy[Print] = st.sampled_from(["plain", "four-way", "two-way", "one-way"])
FACE_NAMES: st.SearchStrategy[FaceName] = st.sampled_from(["front", "back"])


def mm(low: int, high: int) -> st.SearchStrategy[int]:
    """A whole number of millimetres."""
    return st.integers(low, high).map(lambda length: length * MM)


@st.composite
def papers(draw: st.DrawFn, name: str) -> Paper:
    """A paper with one or two sizes of sheets, perhaps offcuts, strip, trims, prints and grain."""
    have = st.one_of(st.none(), st.integers(0, 4))
    price = draw(st.sampled_from([None, 120]))
    sheets = [Sheet(draw(mm(60, 120)), draw(mm(60, 120)), draw(have), price)]
    if draw(st.integers(0, 3)) == 0:
        sheets.append(Sheet(draw(mm(60, 150)), draw(mm(60, 120)), draw(have), price))
    if draw(st.integers(0, 3)) == 0:
        sheets.append(
            Sheet(draw(mm(20, 80)), draw(mm(20, 80)), draw(st.integers(1, 2)), offcut=True)
        )
    strip = None
    if draw(st.booleans()):
        strip = BarcodeStrip(draw(EDGES), draw(mm(3, 9)), beyond_the_sheet=draw(st.booleans()))
    trims = [0] * 4
    if draw(st.integers(0, 2)) == 0:
        trims = [draw(mm(0, 3)) for _ in range(4)]
    oblong = all(sheet.width != sheet.height for sheet in sheets)
    return Paper(
        name,
        tuple(sheets),
        buy=draw(st.booleans()),
        front=Face(draw(PRINTS), draw(EDGES)),
        back=Face(draw(PRINTS), draw(EDGES)),
        grain=draw(st.sampled_from([None, "long", "short"])) if oblong else None,
        barcode_strip=strip,
        edge_trim=Edges(*trims),
    )


@st.composite
def cards(draw: st.DrawFn, name: str) -> Card:
    """A card with a base, a mat, and perhaps a band or a circle."""
    face = draw(FACE_NAMES)
    reveal = Edges(*[draw(mm(1, 4))] * 4)
    layers = [Layer("mat", draw(st.sampled_from(NAMES)), face, reveal=reveal)]
    if draw(st.booleans()):
        other = draw(st.sampled_from(NAMES))
        layers.append(
            Layer("band", other, face, height=draw(mm(5, 12)), each=draw(st.integers(1, 2)))
        )
    if draw(st.booleans()):
        other = draw(st.sampled_from(NAMES))
        allowance = draw(mm(0, 3))
        layers.append(Layer("moon", other, face, circle=draw(mm(8, 20)), die_allowance=allowance))
    base = None
    if draw(st.booleans()):
        base = Base(
            draw(st.sampled_from(NAMES)), face, draw(st.sampled_from(["left", "top", "none"]))
        )
    return Card(
        name,
        draw(st.integers(1, 6)),
        draw(mm(20, 30)),
        draw(mm(20, 40)),
        base,
        tuple(layers),
        draw(st.integers(0, 1)),
    )


@st.composite
def loose(draw: st.DrawFn, name: str) -> LoosePiece:
    """Loose rectangles with or without a turn of their own."""
    return LoosePiece(
        name,
        draw(st.sampled_from(NAMES)),
        draw(st.integers(1, 9)),
        draw(mm(8, 45)),
        draw(mm(8, 45)),
        face=draw(FACE_NAMES),
        turn=draw(st.sampled_from([None, "never", "may", "must"])),
        die_allowance=draw(st.sampled_from([0, 0, 2 * MM])),
    )


@st.composite
def batches(draw: st.DrawFn) -> Batch:
    """A batch that can be planned."""
    trimmer = Trimmer(
        marks=MM,
        cut_width=draw(st.sampled_from([0, 0, MM, 2 * MM])),
        longest_cut=draw(st.one_of(st.none(), mm(60, 160))),
    )
    batch = Batch(
        "Orchard supper",
        "mm",
        tuple(draw(papers(name)) for name in NAMES),
        tuple(draw(cards(f"card {n}")) for n in range(draw(st.integers(1, 2)))),
        tuple(draw(loose(f"tag {n}")) for n in range(draw(st.integers(0, 3)))),
        trimmer,
        keep_from=((20 * MM, 30 * MM),),
    )
    assume(not resolve(batch).faults)
    return batch


def planned(batch: Batch) -> Plan:
    """The plan of a batch, checked."""
    return solved(batch, LIMIT)


def is_group(blank: Blank) -> bool:
    """Whether it is a blank of several circles, whose size is its own."""
    return len(blank.circles) > 1


def cut_count(plan: Plan) -> Counter[str]:
    """How many of each piece are cut, by piece id."""
    found: Counter[str] = Counter()
    for layout in plan.layouts:
        for placed in layout.blanks:
            assert isinstance(placed.node, Blank)
            found[placed.node.piece] += layout.alike * max(1, len(placed.node.circles))
    return found


def times(what: T, factor: int) -> T:
    """The same thing with all its lengths multiplied."""
    if isinstance(what, tuple):
        return tuple(times(one, factor) for one in what)  # type: ignore[return-value]
    if not is_dataclass(what):
        return what
    changed: dict[str, Any] = {}
    for field in fields(what):
        value = getattr(what, field.name)
        changed[field.name] = (
            longer(value, factor) if field.name in LENGTHS else times(value, factor)
        )
    return replace(what, **changed)  # type: ignore[type-var]


def longer(value: Any, factor: int) -> Any:
    """A length, or lengths in tuples, multiplied; what is no length is looked into."""
    if isinstance(value, int):
        return value * factor
    return (
        tuple(longer(one, factor) for one in value)
        if isinstance(value, tuple)
        else times(value, factor)
    )


def area_of(node: Node, width: int, height: int, cut_width: int) -> Counter[str]:
    """Areas by what they become, the cuts' own among them, in nm²."""
    if not isinstance(node, Cut):
        return Counter({type(node).__name__: width * height})
    if node.axis == "x":
        end = min(node.at + cut_width, width)
        found = area_of(node.low, node.at, height, cut_width)
        found += area_of(node.high, width - end, height, cut_width)
        return found + Counter({"cut width": (end - node.at) * height})
    end = min(node.at + cut_width, height)
    found = area_of(node.low, width, node.at, cut_width)
    found += area_of(node.high, width, height - end, cut_width)
    return found + Counter({"cut width": (end - node.at) * width})


def areas_add_up_to_the_sheet(batch: Batch, plan: Plan) -> None:
    """Blanks, offcuts, strip, edge trim and cut width are the whole sheet, exactly."""
    for layout in plan.layouts:
        found = area_of(layout.tree, layout.width, layout.height, layout.cut_width)
        assert found.total() == layout.width * layout.height
        paper = batch.paper(layout.paper)
        sheets = [s for s in paper.sheets if s.offcut == (layout.source.kind == "offcut")]
        assert (layout.width, layout.height) in [full_size(paper, sheet) for sheet in sheets]
        area = 0
        for placed in layout.blanks:
            assert isinstance(placed.node, Blank)
            size = plan.piece(placed.node.piece).on_sheet(turned=placed.node.turned)
            area += prod((placed.width, placed.height) if is_group(placed.node) else size)
        assert found["Blank"] == area


def every_piece_is_cut_or_listed_and_none_beyond_need(batch: Batch, plan: Plan) -> None:
    """What is cut and what is listed as uncut add up to the demand of each piece."""
    cut, uncut = cut_count(plan), Counter({one.piece: one.count for one in plan.uncut})
    for piece in plan.pieces:
        assert cut[piece.id] + uncut[piece.id] == piece.demand
    lacking = [one for one in plan.uncut if not batch.paper(plan.piece(one.piece).paper).buy]
    assert bool(lacking) == bool(plan.uncut)  # of a card that lacks paper, nothing is cut of others


def directions_are_kept(batch: Batch, plan: Plan) -> None:
    """A blank of a directed face stands along the print's up unless asked to lie across it."""
    for layout in plan.layouts:
        for placed in layout.blanks:
            assert isinstance(placed.node, Blank)
            piece = plan.piece(placed.node.piece)
            if is_group(placed.node):
                continue
            standing = height_axis(piece, turned=placed.node.turned)
            size = {"x": placed.width, "y": placed.height}
            assert size[standing] == piece.height + 2 * piece.die_allowance
            assert size["x" if standing == "y" else "y"] == piece.width + 2 * piece.die_allowance
            if piece.turn != "may":
                assert placed.node.turned == (piece.turn == "must")


def height_axis(piece: Piece, *, turned: bool) -> str:
    """The sheet axis along which the piece's height lies."""
    along_up = "x" if piece.up in ("left", "right") else "y"
    across_up = "y" if along_up == "x" else "x"
    return across_up if turned else along_up


def whole_cards_are_told_truthfully(batch: Batch, plan: Plan) -> None:
    """A design is as complete as its scarcest piece allows, and no more than asked."""
    for told, card in zip(plan.cards, batch.cards, strict=True):
        complete = card.make
        for piece in plan.pieces:
            for use in piece.uses:
                if use.card != card.name:
                    continue
                missing = sum(
                    lost.count
                    for one in plan.uncut
                    if one.piece == piece.id
                    for lost in one.uses
                    if (lost.card, lost.layer) == (use.card, use.layer)
                )
                each = use.count // (card.make + card.spares)
                complete = min(complete, (use.count - missing) // each)
        assert (told.card, told.asked, told.complete) == (card.name, card.make, complete)


def no_bound_exceeds_the_cost(batch: Batch, plan: Plan) -> None:
    """Of a paper of which all is cut, the bound is at most the cost, and equal where proven."""
    lacking = {plan.piece(one.piece).paper for one in plan.uncut}
    for figures in plan.papers:
        if figures.bound.of == "sheets":
            assert figures.bound.value <= figures.needed
        if figures.paper not in lacking:
            cost = cost_of(plan, figures.paper)
            assert figures.bound.value <= cost
            assert figures.proven == (figures.bound.value == cost)


def no_cut_is_longer_than_the_trimmer(batch: Batch, plan: Plan) -> None:
    """Every cut is as long as the rectangle that it divides, at most the longest cut."""
    for layout in plan.layouts:
        for placed in layout.cuts:
            assert isinstance(placed.node, Cut)
            length = placed.height if placed.node.axis == "x" else placed.width
            assert batch.trimmer.longest_cut is None or length <= batch.trimmer.longest_cut


def blanks_lie_apart_within_the_sheet(batch: Batch, plan: Plan) -> None:
    """As polygons the leaves do not overlap and lie in the sheet, and discs do so in their blanks."""
    for layout in plan.layouts:
        for placed in layout.blanks:
            assert isinstance(placed.node, Blank)
            piece = plan.piece(placed.node.piece)
            blank = shapely.box(0, 0, placed.width, placed.height)
            discs = [
                shapely.Point(x - placed.x, y - placed.y).buffer(piece.width / 2)
                for x, y in placed.node.circles
            ]
            assert all(disc.difference(blank).area < 1e-6 * disc.area for disc in discs)
            apart = (one.distance(other) for one, other in combinations(discs, 2))
            assert all(gap >= piece.die_allowance for gap in apart)
        sheet = shapely.box(0, 0, layout.width, layout.height)
        leaves = [
            shapely.box(p.x, p.y, p.x + p.width, p.y + p.height)
            for p in layout.walk()
            if isinstance(p.node, Blank | Offcut | Strip | EdgeTrim) and p.width and p.height
        ]
        assert all(sheet.covers(leaf) for leaf in leaves)
        assert all(one.intersection(other).area == 0 for one, other in combinations(leaves, 2))


LAWS = (
    areas_add_up_to_the_sheet,
    every_piece_is_cut_or_listed_and_none_beyond_need,
    directions_are_kept,
    whole_cards_are_told_truthfully,
    no_bound_exceeds_the_cost,
    no_cut_is_longer_than_the_trimmer,
    blanks_lie_apart_within_the_sheet,
)


@given(batches())
@settings(max_examples=100)
def test_every_plan_keeps_every_law(batch: Batch) -> None:
    """All that holds for the plan of any batch."""
    plan = planned(batch)
    for law in LAWS:
        law(batch, plan)


@given(batches(), st.integers(0, 3))
@settings(max_examples=30)
def test_the_same_seed_gives_the_same_plan(batch: Batch, seed: int) -> None:
    """Chance is all in the seed."""
    assert solved(batch, LIMIT, seed) == solved(batch, LIMIT, seed)


@given(batches())
@settings(max_examples=30)
def test_sheets_cut_as_they_were_found_have_the_same_numbers(batch: Batch) -> None:
    """A plan that is not arranged is sound, and differs in nothing but how its sheets are cut."""
    plan, quick = planned(batch), solve(batch, LIMIT, arranged=False)
    assert check(quick.asked, quick) == ()
    assert (quick.cards, quick.uncut, quick.ended) == (plan.cards, plan.uncut, plan.ended)
    for found, arranged in zip(quick.papers, plan.papers, strict=True):
        same = "paper", "needed", "used", "to_buy", "bound", "proven", "in_pieces"
        assert [getattr(found, name) for name in same] == [getattr(arranged, name) for name in same]


@given(batches(), st.sampled_from([2, 4]))
@settings(max_examples=30)
def test_longer_lengths_give_the_same_plan_larger(batch: Batch, factor: int) -> None:
    """With all lengths multiplied every cut moves out as far, and the figures stay."""
    plan, larger = planned(batch), solved(times(batch, factor), LIMIT)
    assert [nameless(layout) for layout in larger.layouts] == [
        nameless(times(layout, factor)) for layout in plan.layouts
    ]
    for before, after in zip(plan.papers, larger.papers, strict=True):
        assert replace(after, bound=before.bound) == before
        assert after.bound.value == before.bound.value
    assert (larger.uncut, larger.cards, larger.ended) == (plan.uncut, plan.cards, plan.ended)


def nameless(layout: Layout) -> Layout:
    """A layout without the words for its sheet's size, and without centres rounded to a nanometre."""
    return replace(
        layout, source=replace(layout.source, name=""), tree=without_centres(layout.tree)
    )


def without_centres(node: Node) -> Node:
    """The same tree, its groups of circles without the centres; how many there are stays."""
    if isinstance(node, Cut):
        return replace(node, low=without_centres(node.low), high=without_centres(node.high))
    if isinstance(node, Blank) and is_group(node):
        return replace(node, circles=((0, 0),) * len(node.circles))
    return node
