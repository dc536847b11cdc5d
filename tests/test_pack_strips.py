"""Sheets with a barcode strip or edge trim against every way to cut them, by a blade of some width."""

from dataclasses import replace
from functools import cache
from itertools import product
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from pack_cases import MM, Case, asked, sheet_batch, solved
from pack_exact import Counts, clipped, largest

from nesting.advice.sufficiency import left_over
from nesting.batch import Batch, LoosePiece
from nesting.cards.resolving import resolve
from nesting.checker import check
from nesting.cutting.parallel_cuts import kept_offcuts
from nesting.cutting.strokes import steps_of
from nesting.draw.sheet.words import kept_words, offcut_words
from nesting.files import read_batch
from nesting.files.plan_json import plan_from_data, plan_to_data
from nesting.layouts import Blank, Cut, Offcut, Source, Strip
from nesting.papers import BarcodeStrip, Edge, Edges, Sheet
from nesting.sheets import full_size
from nesting.sources import nominal_size, starting_corner
from nesting.typed_lengths import parse_length, parse_size
from nesting.units import format_size

FOUND = Path(__file__).parent / "found"
EDGES: tuple[Edge, ...] = ("left", "right", "top", "bottom")


@pytest.mark.parametrize(
    ("name", "needed"),
    [
        ("kerf-proof", 1),
        ("kerf-strip", 2),
        ("kerf-beyond", 2),
        ("kerf-trim", 2),
        ("nokerf-strip", 2),
    ],
)
def test_the_blade_runs_in_strip_and_trim(name: str, needed: int) -> None:
    """What strip or trim leave of a sheet is all for pieces, and that no fewer sheets do is proven."""
    plan = solved(read_batch(FOUND / f"{name}.yaml"))
    (figures,) = plan.papers
    assert (figures.needed, figures.proven, plan.uncut) == (needed, True, ())


@pytest.mark.parametrize(("edge", "at"), [("bottom", "7/16"), ("top", "11 1/2")])
def test_the_cut_lies_in_the_strip(edge: Edge, at: str) -> None:
    """The ruler is set to the piece; the cut, 1/16 wide, ends or begins where the strip does."""
    batch = read_batch(FOUND / "kerf-strip.yaml")
    strip = BarcodeStrip(edge, parse_length("1/2", "in"), beyond_the_sheet=False)
    batch = replace(batch, papers=(replace(batch.papers[0], barcode_strip=strip),))
    plan = solved(batch)
    (layout,) = plan.layouts
    sides = (Strip(), Blank("a")) if edge == "bottom" else (Blank("a"), Strip())
    assert layout.tree == Cut("y", parse_length(at, "in"), *sides)
    (step,) = steps_of(layout, plan.asked)
    measured: Edge = "top" if edge == "bottom" else "bottom"
    assert (step.setting, step.measured) == (parse_length("11 1/2", "in"), measured)


@pytest.mark.parametrize("edge", EDGES)
@pytest.mark.parametrize("width", [1, 2])
def test_a_blade_as_wide_as_strip_or_trim_leaves_nothing_of_it(edge: Edge, width: int) -> None:
    """Of a strip or trim of 2 a cut of 2 leaves nothing, and of one of 1 it takes 1 more: 18 of 20."""
    upright = edge in ("left", "right")
    batch = Case(
        ((20, 20, None),), ((18, 20, 2, "never" if upright else "must"),), cut_width=2
    ).batch()
    for changes in (
        {"barcode_strip": BarcodeStrip(edge, width * MM, beyond_the_sheet=False)},
        {"edge_trim": Edges(**{edge: width * MM})},
    ):
        plan = solved(replace(batch, papers=(replace(batch.papers[0], **changes),)))  # type: ignore[arg-type]
        assert plan.papers[0].needed == 2
        (layout,) = plan.layouts
        assert [placed.node for placed in layout.walk() if placed.width * placed.height] == [
            layout.tree,
            layout.blanks[0].node,
        ]
        assert {step.setting for step in steps_of(layout, plan.asked)} == {18 * MM}


@st.composite
def cases(draw: st.DrawFn) -> Batch:
    """One size of sheet, up to 9 x 9, with a strip and trims no narrower than the cut; two pieces."""
    cut_width = draw(st.integers(0, 2))
    wide = st.integers(max(1, cut_width), 3)
    side = st.integers(1, 7)
    pieces = [
        (draw(side), draw(side), draw(st.integers(1, 3)), draw(st.sampled_from(["may", "never"])))
        for _ in range(draw(st.integers(1, 2)))
    ]
    sheet = draw(st.integers(6, 9)), draw(st.integers(6, 9)), None
    batch = Case((sheet,), tuple(pieces), cut_width=cut_width).batch()
    strip = None
    if draw(st.booleans()):
        strip = BarcodeStrip(
            draw(st.sampled_from(EDGES)), draw(wide) * MM, beyond_the_sheet=draw(st.booleans())
        )
    trims = [draw(st.one_of(st.just(0), st.just(0), wide)) * MM for _ in EDGES]
    paper = replace(batch.papers[0], barcode_strip=strip, edge_trim=Edges(*trims))
    return replace(batch, papers=(paper,))


def layouts_of(batch: Batch) -> frozenset[Counts]:
    """What one sheet gives, by trying every cut at every whole millimetre of all of it.

    Strip and trim are paper like any other, but for blanks, which keep off them.
    """
    (paper,), cut_width = batch.papers, batch.trimmer.cut_width // MM
    (sheet,), strip = paper.sheets, paper.barcode_strip
    off = {edge: getattr(paper.edge_trim, edge) // MM for edge in EDGES}
    width, height = sheet.width // MM, sheet.height // MM
    if strip is not None:
        off[strip.edge] += strip.width // MM
        more = strip.width // MM if strip.beyond_the_sheet else 0
        upright = strip.edge in ("left", "right")
        width, height = (width + more, height) if upright else (width, height + more)
    demand = tuple(piece.count for piece in batch.pieces)
    first = 0 if cut_width else 1  # a cut may take all of a strip or trim

    @cache
    def held(left: int, bottom: int, right: int, top: int) -> frozenset[Counts]:
        found = {(0,) * len(demand)}
        clear = left >= off["left"] and bottom >= off["bottom"]
        if clear and right <= width - off["right"] and top <= height - off["top"]:
            found |= {
                tuple(int(n == kind) for n in range(len(demand)))
                for kind, piece in enumerate(batch.pieces)
                if lies(piece, (right - left) * MM, (top - bottom) * MM)
            }
        parts = [
            (held(left, bottom, x, top), held(min(x + cut_width, right), bottom, right, top))
            for x in range(left + first, right)
        ]
        parts += [
            (held(left, bottom, right, y), held(left, min(y + cut_width, top), right, top))
            for y in range(bottom + first, top)
        ]
        for low, high in parts:
            found |= {clipped(one, other, demand) for one, other in product(low, high)}
        return largest(found)

    return held(0, 0, width, height)


def lies(piece: LoosePiece, width: int, height: int) -> bool:
    """Whether a piece fills a rectangle, the way round that it may lie."""
    size = piece.width, piece.height
    return size == (width, height) or (piece.turn == "may" and size == (height, width))


def sheets_needed(batch: Batch) -> int | None:
    """The fewest sheets; None where a piece cannot be cut at all."""
    demand = tuple(piece.count for piece in batch.pieces)
    layouts = layouts_of(batch)
    if not all(any(counts[n] for counts in layouts) for n in range(len(demand))):
        return None
    reached, sheets = {(0,) * len(demand)}, 0
    while demand not in reached:
        reached = {clipped(one, other, demand) for one, other in product(reached, layouts)}
        sheets += 1
    return sheets


@given(cases())
@settings(max_examples=60)
def test_as_few_sheets_as_any_way_to_cut_them(batch: Batch) -> None:
    """What is proven are the fewest sheets; refused is exactly what no way of cutting yields."""
    fewest = sheets_needed(batch)
    assert bool(resolve(batch).faults) == (fewest is None)
    assume(fewest is not None)
    (figures,) = solved(batch).papers
    assert figures.bound.value <= (fewest or 0) <= figures.needed
    if figures.proven:
        assert figures.needed == fewest


def tags(edge: Edge, beyond: bool, cut_width: str, size: str) -> str:
    """A batch file of one tag from a sheet of 12 x 12 with a barcode strip of 5/8."""
    return f"""\
batch: Orchard tags
unit: in
trimmer: {{cut width: {cut_width}}}
papers:
  pear toss:
    sheets: [{{size: 12 x 12, have: 1}}]
    buy: false
    barcode strip: {{edge: {edge}, width: 5/8, beyond the sheet: {str(beyond).lower()}}}
pieces:
  - {{name: tag, size: {size}, paper: pear toss, count: 1, turn: never}}
"""


@pytest.mark.parametrize("edge", EDGES)
@pytest.mark.parametrize("beyond", [True, False])
@pytest.mark.parametrize("cut_width", ["0", "1/16", "5/8", "3/4"])
def test_an_offcut_goes_back_to_the_batch_file_as_it_is_printed(
    tmp_path: Path, edge: Edge, beyond: bool, cut_width: str
) -> None:
    """What a page says of an offcut with its strip on is asked for again, for all that it gives."""
    file = tmp_path / "batch.yaml"
    size = "4 x 12" if edge in ("left", "right") else "12 x 4"
    file.write_text(tags(edge, beyond, cut_width, size))
    plan = solved(read_batch(file))
    ((layout,), (paper,)) = plan.layouts, plan.asked.papers
    (kept,) = kept_offcuts(layout, paper)
    assert replace(kept, have=1) in left_over(plan)[0].sheets
    words = offcut_words(kept, paper, "in")
    assert words in kept_words(plan.layouts, paper, "in")
    printed, said = words.split(", ")
    assert said.startswith(
        "with its barcode strip (5/8)" if beyond else "including its barcode strip (5/8)"
    )
    (unused,) = (placed for placed in layout.offcuts if placed.node == Offcut(keep=True))
    size = format_size(unused.width, unused.height, "in")
    file.write_text(
        tags(edge, beyond, cut_width, size).replace(
            "[{size: 12 x 12, have: 1}]",
            f"[{{size: 12 x 12, have: 0}}, {{size: {printed}, have: 1, offcut: true, strip: {edge}}}]",
        )
    )
    again = solved(read_batch(file))
    (second,) = again.layouts
    assert (again.uncut, second.source) == ((), Source("offcut", f"{printed} in", edge))
    assert nominal_size(second, paper) == parse_size(printed, "in")
    assert (second.width, second.height) == full_size(paper, kept)
    assert [type(placed.node) for placed in second.walk()].count(Strip) == 1
    assert starting_corner(second, paper, plan.asked.trimmer) == starting_corner(
        layout, paper, plan.asked.trimmer
    )
    assert plan_from_data(plan_to_data(again), "plan.json") == again


def test_a_strip_says_which_of_two_offcuts_is_cut() -> None:
    """Both are 12 x 8 5/8 on the table; only the one without its strip gives 12 x 8 5/8."""
    strip = BarcodeStrip("bottom", parse_length("5/8", "in"))
    offcuts = (
        Sheet(*parse_size("12 x 8", "in"), have=1, offcut=True, strip="bottom"),
        Sheet(*parse_size("12 x 8 5/8", "in"), have=1, offcut=True),
    )
    batch = sheet_batch("12 x 12", asked("12 x 8 5/8", 1), asked("12 x 8", 1), barcode_strip=strip)
    paper = batch.papers[0]
    plan = solved(replace(batch, papers=(replace(paper, sheets=(*paper.sheets, *offcuts)),)))
    cut = {(one.source.strip, one.blanks[0].height) for one in plan.layouts}
    assert cut == {("bottom", offcuts[0].height), (None, offcuts[1].height)}
    assert {(one.width, one.height) for one in plan.layouts} == {parse_size("12 x 8 5/8", "in")}
    forged = tuple(replace(one, source=replace(one.source, strip="none")) for one in plan.layouts)
    assert {"at hand", "strip"} <= {
        fault.rule for fault in check(plan.asked, replace(plan, layouts=forged))
    }
