"""Cut files read back by readers of other origin: sizes, places, every edge once."""

import shutil
import subprocess
from collections import Counter
from fractions import Fraction
from io import BytesIO
from itertools import pairwise
from pathlib import Path

import pytest
from cutfile_cases import (
    NM_PER_INCH,
    SETUPS,
    SVG_SPACE,
    Read,
    base_batch,
    batches,
    boxes_by_svgelements,
    circle,
    nanometres,
    parsed,
    plan_of_batch,
    plum_batch,
    read_exactly,
    rectangle,
    sound,
)
from hypothesis import HealthCheck, assume, given, settings
from PIL import Image
from shapely import Point, box, unary_union

import nesting
from nesting.batch import Batch
from nesting.cutfile import CutFileError, cut_file
from nesting.cutfile.carrier import Setup
from nesting.cutfile.document import drawing_of
from nesting.cutfile.shapes import PlacedPiece, shapes_of, sheetful_of
from nesting.cutfile.squares import squares_document
from nesting.cutfile.svg import COLOURS, Drawing, Trace, write_svg
from nesting.layouts import Layout
from nesting.plan import Plan

#: A hair: what the readers may be off by, in inches and in nm.
HAIR = 0.0005
GAP = 3_175_000


def seen(shape: PlacedPiece, layout: Layout, *, back_up: bool) -> tuple[int, int, int, int]:
    """Left, low, right and top of a shape as the sheet lies, in nm."""
    left, right = shape.x, shape.x + shape.width
    if back_up:
        left, right = layout.width - right, layout.width - left
    return left, shape.y, right, shape.y + shape.height


def has_line(read: Read, start: tuple[int, int], end: tuple[int, int]) -> bool:
    """Whether a straight line of the outlines covers the way from one point to another."""
    return any(
        line.start <= min(start, end)
        and max(start, end) <= line.end
        and (line.start[0] == line.end[0] == start[0] or line.start[1] == line.end[1] == start[1])
        for line in read.lines("outlines")
    )


def assert_as_planned(plan: Plan, layout: Layout, *, back_up: bool) -> None:
    """Every edge of every piece is in the file once, every circle true, and nothing else."""
    document = cut_file(layout, plan, back_up=back_up)
    read = read_exactly(document)
    assert (read.width, read.height) == (layout.width, layout.height)
    shapes = shapes_of(plan, layout)
    straight = [seen(s, layout, back_up=back_up) for s in shapes if not s.is_round]
    for left, low, right, top in straight:
        corners = [(left, low), (right, low), (right, top), (left, top)]
        for start, end in zip(corners, corners[1:] + corners[:1], strict=True):
            assert has_line(read, start, end)
    union = unary_union([box(*edges).exterior for edges in straight])
    total = sum((line.length for line in read.lines("outlines")), Fraction(0))
    assert float(total) == pytest.approx(union.length, rel=1e-12)
    rings = Counter(
        ((Fraction(left + right, 2), Fraction(low + top, 2)), shape.piece.width)
        for shape in shapes
        if shape.is_round
        for left, low, right, top in [seen(shape, layout, back_up=back_up)]
    )
    assert Counter(((x, y), across) for x, y, across in read.rings.get("outlines", [])) == rings


@pytest.mark.parametrize("back_up", [False, True])
def test_every_edge_is_there_once_where_the_plan_has_it(back_up: bool) -> None:
    """The orchard's own kinds of piece, from three papers, front up and back up."""
    plan = plan_of_batch(base_batch())
    assert len(plan.layouts) >= 3
    for layout in plan.layouts:
        assert_as_planned(plan, layout, back_up=back_up)


@settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck))
@given(batches(), SETUPS)
def test_random_plans_come_out_as_planned(batch: Batch, setup: Setup) -> None:
    """Each edge once without a gap; with one, each outline closed and the gap kept."""
    assume(sound(batch))
    plan = plan_of_batch(batch)
    for layout in plan.layouts:
        if not setup.gap:
            assert_as_planned(plan, layout, back_up=setup.back_up)
            continue
        try:
            document = cut_file(layout, plan, gap=setup.gap, back_up=setup.back_up)
        except CutFileError:
            continue
        read = read_exactly(document)
        shapes = shapes_of(plan, layout)
        assert not read.open_.get("outlines")
        other = read_exactly(cut_file(layout, plan, gap=setup.gap, back_up=not setup.back_up))
        assert places(read) == places(other, mirrored=True)
        sizes = Counter(
            tuple(sorted(max(axis) - min(axis) for axis in zip(*way, strict=True)))
            for way in read.closed.get("outlines", [])
        )
        assert sizes == Counter(  # a piece that may turn may be turned to make room
            tuple(sorted((s.width, s.height))) for s in shapes if not s.is_round
        )
        assert len(read.rings.get("outlines", [])) == sum(s.is_round for s in shapes)
        assert_apart(read, setup.gap)


def places(read: Read, *, mirrored: bool = False) -> set[tuple[Fraction, ...]]:
    """The corners of closed outlines and the middles of circles, as seen, or from the other side."""
    points = {point for way in read.closed.get("outlines", []) for point in way}
    points |= {(x, y) for x, y, _ in read.rings.get("outlines", [])}
    return {(read.width - x, y) if mirrored else (x, y) for x, y in points}


def assert_apart(read: Read, gap: int) -> None:
    """All closed outlines are within the sheet and the gap apart, as shapely has it."""
    bodies = [
        box(*map(float, (min(x), min(y), max(x), max(y))))
        for way in read.closed.get("outlines", [])
        for x, y in [tuple(zip(*way, strict=True))]
    ]
    rings = read.rings.get("outlines", [])
    cores = [*bodies, *(Point(float(x), float(y)) for x, y, _ in rings)]
    around = [0.0] * len(bodies) + [float(across) / 2 for *_, across in rings]
    sheet = box(0, 0, float(read.width), float(read.height))
    for number, core in enumerate(cores):
        assert sheet.covers(box(*core.bounds))
        left, low, right, top = core.bounds
        assert (
            min(left, low, sheet.bounds[2] - right, sheet.bounds[3] - top) >= around[number] - 0.5
        )
        for other in range(number):
            least = around[number] + around[other] + gap
            assert core.distance(cores[other]) >= least - 0.01


@pytest.mark.parametrize("gap", [0, GAP])
def test_svgelements_reads_the_same_within_a_hair(gap: int) -> None:
    """A general reader, at one pixel to the inch, finds every circle and closed outline in place."""
    batch = plum_batch(rectangle("3 x 4", 3), circle("2 1/2", 5), rectangle("5 x 1", 2))
    plan = plan_of_batch(batch)
    (layout,) = plan.layouts
    document = cut_file(layout, plan, gap=gap)
    found = boxes_by_svgelements(document)["outlines"]
    sizes = sorted((right - left, low - top) for left, top, right, low in found)
    read = read_exactly(document)
    exact = [
        tuple(float(max(axis) - min(axis)) / NM_PER_INCH for axis in zip(*way, strict=True))
        for way in [*read.closed.get("outlines", []), *read.open_.get("outlines", [])]
    ] + [(float(across) / NM_PER_INCH,) * 2 for *_, across in read.rings["outlines"]]
    assert len(sizes) == len(exact) > 5
    for one, other in zip(sizes, sorted(exact), strict=True):
        assert one == pytest.approx(other, abs=HAIR)
    circles = [s for s in shapes_of(plan, layout) if s.is_round]
    if not gap:
        for shape in circles:
            left, top = (
                shape.x / NM_PER_INCH,
                (layout.height - shape.y - shape.height) / NM_PER_INCH,
            )
            assert any(abs(f[0] - left) < HAIR and abs(f[1] - top) < HAIR for f in found)


def test_sizes_are_physical_and_units_are_mm() -> None:
    """Inches for a batch in inches, mm where inches do not come out; one unit of the file is 1 mm."""
    plan = plan_of_batch(base_batch())
    layout = plan.layouts_of("pear toss")[0]
    root = parsed(cut_file(layout, plan))
    assert (root.get("width"), root.get("height")) == ("12in", "12.5in")
    assert root.get("viewBox") == "0 0 304.8 317.5"
    odd = write_svg(Drawing("", "", 210_000_001, 297_000_000, "in", {}))
    root = parsed(odd)
    assert (root.get("width"), root.get("height")) == ("210.000001mm", "297mm")


def test_groups_say_what_a_line_is_and_inner_ones_come_first() -> None:
    """Score lines before outlines, windows between them, lettering only when asked for."""
    plan = plan_of_batch(base_batch())
    layout = plan.layouts_of("cream")[0]
    ids = [group.get("id") for group in parsed(cut_file(layout, plan)).iter(SVG_SPACE + "g")]
    assert ids == ["score-lines", "outlines"]
    lettered = parsed(cut_file(layout, plan, lettering=True))
    assert [g.get("id") for g in lettered.iter(SVG_SPACE + "g")] == ["lettering", *ids]
    line = (Trace(((0, 0), (1_000_000, 0))),)
    lines = {"outlines": line, "windows": line, "score-lines": line, "lettering": line}
    every = parsed(write_svg(Drawing("", "", 10, 10, "mm", lines)))
    order = [group.get("id") for group in every.iter(SVG_SPACE + "g")]
    assert order == ["lettering", "score-lines", "windows", "outlines"]


def test_the_colours_differ_in_lightness_too() -> None:
    """15 of CIE 1976 L* or more from one group to the next: told apart without colour."""

    def lightness(code: str) -> float:
        shares = [int(code[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        linear = [s / 12.92 if s <= 0.04045 else ((s + 0.055) / 1.055) ** 2.4 for s in shares]
        luminance = sum(w * s for w, s in zip((0.2126, 0.7152, 0.0722), linear, strict=True))
        return 116 * luminance ** (1 / 3) - 16  # all are well above CIE's linear part

    steps = sorted(map(lightness, COLOURS.values()))
    assert len(steps) == 4
    assert all(b - a >= 15 for a, b in pairwise(steps))
    assert steps[-1] <= 80  # and all are seen on white


def test_score_lines_lie_in_the_middle_of_the_bases() -> None:
    """A book-fold base is scored across its middle, once, joined over bases that stand in a row."""
    plan = plan_of_batch(base_batch())
    for layout in plan.layouts_of("cream"):
        read = read_exactly(cut_file(layout, plan))
        bases = shapes_of(plan, layout)
        total = sum((line.length for line in read.lines("score-lines")), Fraction(0))
        assert total == sum(min(s.width, s.height) for s in bases)  # 8 1/2 x 5 1/2, at 4 1/4
        for line in read.lines("score-lines"):
            axis = 0 if line.start[0] == line.end[0] else 1
            middles = {(s.x + s.width / 2, s.y + s.height / 2)[axis] for s in bases}
            assert float(line.start[axis]) in middles


def test_nothing_is_in_the_file_that_a_reader_could_take_for_a_line() -> None:
    """Only groups, paths and circles, and titles; no transform, style, class or reference."""
    plan = plan_of_batch(base_batch())
    for layout in plan.layouts:
        document = cut_file(layout, plan, gap=0, lettering=True)
        tags = {element.tag.removeprefix(SVG_SPACE) for element in parsed(document).iter()}
        assert tags <= {"svg", "title", "desc", "g", "path", "circle"}
        assert not {b"transform", b"style", b"class", b"href", b"%"} & set(document.split(b'="'))


def test_names_are_text_and_never_markup() -> None:
    """A name with markup, quotes and characters that XML has no place for comes back as text."""
    name = 'plum <g/> & "stone" \x07\ud800'
    plan = plan_of_batch(plum_batch(rectangle("3 x 4", 2, name=name)))
    document = cut_file(plan.layouts[0], plan, gap=GAP)
    titles = [element.text for element in parsed(document).iter(SVG_SPACE + "title")]
    assert 'A plum <g/> & "stone" \ufffd\ufffd' in titles
    assert len(list(parsed(document).iter(SVG_SPACE + "g"))) == 1


def test_letters_stand_upright_within_their_pieces_and_are_never_mirrored() -> None:
    """Front up and back up, a letter's strokes keep within its piece, and the same way round."""
    plan = plan_of_batch(plum_batch(rectangle("5 x 1", 1, turn="never"), circle("1/2", 1)))
    (layout,) = plan.layouts
    ways = {}
    for back_up in (False, True):
        setup = Setup(back_up=back_up, lettering=True)
        shapes = shapes_of(plan, layout)
        for shape in shapes:
            one = sheetful_of(layout, (shape,))
            strokes = [
                trace.points
                for trace in drawing_of(one, plan, setup).lines["lettering"]
                if isinstance(trace, Trace)
            ]
            left, low, right, top = seen(shape, layout, back_up=back_up)
            points = [point for stroke in strokes for point in stroke]
            assert all(left < x < right and low < y < top for x, y in points)
            middle = (left + right) // 2, (low + top) // 2
            ways[shape.piece.letter, back_up] = [
                [(x - middle[0], y - middle[1]) for x, y in stroke] for stroke in strokes
            ]
    for letter in ("A", "B"):
        assert ways[letter, False] == ways[letter, True]
    heights = [y for stroke in ways["A", False] for _, y in stroke]
    (apex,) = [p for p in ways["A", False][0] if p[1] == max(heights)]
    assert abs(apex[0]) <= 1  # an A has its point at the top, in the middle


def test_letters_of_turned_pieces_lie_as_the_pieces_do() -> None:
    """A turned piece has its top at the right, and at the left seen from the back; the letter too."""
    plan = plan_of_batch(plum_batch(rectangle("5 x 1", 1, turn="must")))
    (layout,) = plan.layouts
    for back_up, way in ((False, 1), (True, -1)):
        drawing = drawing_of(
            sheetful_of(layout, shapes_of(plan, layout)),
            plan,
            Setup(back_up=back_up, lettering=True),
        )
        legs, bar = (
            trace.points for trace in drawing.lines["lettering"] if isinstance(trace, Trace)
        )
        foot, apex, other = legs  # of an A, from its left foot over the top to its right one
        assert foot[0] == other[0]
        assert way * (apex[0] - foot[0]) > 0
        assert way * (foot[1] - other[1]) > 0  # its left is up on the sheet where its top is right
        assert abs(bar[0][1] - bar[1][1]) < abs(foot[1] - other[1])


def test_a_gap_that_the_sheet_has_no_room_for_is_said() -> None:
    """Four squares of half the sheet fit exactly; with a gap they do not, and the ways out are said."""
    plan = plan_of_batch(plum_batch(rectangle("6 x 6", 4)))
    with pytest.raises(
        CutFileError, match="4 pieces with a gap of 1/8 in take 12 1/8 x 12 1/8 in"
    ) as e:
        cut_file(plan.layouts[0], plan, gap=GAP)
    assert "no straight cuts" in str(e.value)
    assert len(read_exactly(cut_file(plan.layouts[0], plan)).lines("outlines")) == 6


def test_the_test_file_has_a_square_of_one_inch_and_one_of_20_mm() -> None:
    """Both closed, apart from each other, in any unit of the batch."""
    for unit in ("in", "mm"):
        read = read_exactly(squares_document(unit, "nesting"))
        sides = [
            {line.length for line in read.lines("outlines")[4 * n : 4 * n + 4]} for n in (0, 1)
        ]
        assert sides == [{Fraction(NM_PER_INCH)}, {Fraction(20_000_000)}]
        assert not read.open_
        assert_apart(read, 5_000_000)


def test_chromium_shows_the_inch_at_96_pixels(chromium: str, tmp_path: Path) -> None:
    """CSS counts 96 px to the inch (CSS Values and Units, section 6.2); so does a browser."""
    square, shot = tmp_path / "test-squares.svg", tmp_path / "shot.png"
    document = squares_document("in", "nesting")
    square.write_bytes(document)
    subprocess.run(
        [
            chromium, "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
            "--force-device-scale-factor=1", f"--user-data-dir={tmp_path / 'profile'}",
            "--window-size=400,300", f"--screenshot={shot}", square.as_uri(),
        ],
        check=True, capture_output=True, timeout=120,
    )  # fmt: skip
    picture = Image.open(BytesIO(shot.read_bytes())).convert("L")
    px = 96 / NM_PER_INCH
    read = read_exactly(document)
    inch, small = read.closed["outlines"]
    for way, expected in ((inch, 96.0), (small, 20 / 25.4 * 96)):
        xs, ys = ([float(value) * px for value in axis] for axis in zip(*way, strict=True))
        row = round(float(read.height) * px - (min(ys) + max(ys)) / 2)
        left, right = (ink_centre(picture, row, round(x)) for x in (min(xs), max(xs)))
        assert right - left == pytest.approx(expected, abs=0.35)


def ink_centre(picture: Image.Image, row: int, near: int) -> float:
    """Where the ink of an upright line near a column is, by its weight."""
    ink = {x: 255 - int(picture.getpixel((x, row))) for x in range(near - 3, near + 4)}  # type: ignore[arg-type]
    assert max(ink.values()) > 100
    return sum((x + 0.5) * weight for x, weight in ink.items()) / sum(ink.values())


def test_xmllint_finds_nothing_wrong(tmp_path: Path) -> None:
    """Well-formed by libxml2, without a network or a warning."""
    xmllint = shutil.which("xmllint")
    if xmllint is None:
        pytest.skip("no xmllint on this machine: apt-get install libxml2-utils")
    plan = plan_of_batch(base_batch())
    names = []
    for layout in plan.layouts:
        name = tmp_path / f"{layout.id}.svg"
        name.write_bytes(cut_file(layout, plan, lettering=True))
        names.append(name)
    run = subprocess.run(
        [xmllint, "--noout", "--nonet", *names], capture_output=True, text=True, check=False
    )
    assert (run.returncode, run.stdout, run.stderr) == (0, "", "")


def test_the_same_layout_gives_the_same_bytes() -> None:
    """Through the public name, twice."""
    plan = plan_of_batch(base_batch())
    first, second = (nesting.cut_file(plan.layouts[0], plan, lettering=True) for _ in range(2))
    assert first == second
    assert nanometres("1in") == NM_PER_INCH
