"""What lies aslant: lengths worked out by hand, covered for certain, laid by two marks."""

from dataclasses import replace
from math import cos, pi, radians, sin, sqrt

import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import affinity
from test_resolving import CREAM, batch, card, inches, mat, size

from nesting.batch import At, Batch, Card, Layer, Trimmer
from nesting.cards.aslant import Ground, Point, Slant
from nesting.cards.merging import TRIMMED, cut_size
from nesting.cards.placing import PlacedLayer
from nesting.cards.resolving import resolve
from nesting.checker.asked.parts import parts_of
from nesting.papers import Edges, Sheet
from nesting.units import Unit

SASH = Layer("sash", "cream", height=inches("1"), angle=30_000)


def laid(*layers: Layer, finished: str = "4 1/4 x 5 1/2", unit: Unit = "in") -> PlacedLayer:
    """The topmost of some layers in its place."""
    width, height = size(finished, unit)
    asked = batch(Card("windfall", 8, width, height, layers=layers), unit=unit)
    resolved = resolve(asked)
    assert not resolved.faults
    return resolved.placed[0][layers[-1].name]


def slant_of(placed: PlacedLayer) -> Slant:
    """How a layer lies that lies aslant."""
    assert placed.slant is not None
    return placed.slant


# Lengths worked out by hand. A strip of height h from the left to the right edge of what is W wide
# reaches W / cos + h x tan: its middle line, and half its height times the tangent at both ends.


@pytest.mark.parametrize(
    ("layers", "cut"),
    [
        # 4 1/4 / cos 30 + 1 x tan 30 = 4.90748 + 0.57735 = 5.48483; with 2 x 1/4: 5.98483
        ([SASH], "6 x 1"),
        # the other way round it is as long
        ([replace(SASH, angle=-30_000)], "6 x 1"),
        # on a mat of 4 in: 4.61880 + 0.57735 + 0.5 = 5.69615
        ([mat(), SASH], "5 3/4 x 1"),
        # a band that runs upwards: 5 1/2 / cos 15 + 1/2 x tan 15 = 5.69403 + 0.13397 + 0.5 = 6.32800
        ([Layer("sash", "cream", width=inches("1/2"), angle=15_000)], "1/2 x 6 3/8"),
        # folded behind by 1 in at both ends: 5.48483 + 2
        ([replace(SASH, wrap=inches("1"))], "7 1/2 x 1"),
        # folded behind by 2 in at the left, trimmed at the right: 5.48483 + 2 + 1/4
        ([replace(SASH, wrap=Edges(left=inches("2")))], "7 3/4 x 1"),
        # across a corner of the card at 45 degrees: its lower side, which is the longer, goes from
        # (0, 1 + a) to (1 + a, 0) with a = 1/2 x sqrt 2: 1.70711 x sqrt 2 = 2.41421, with 1/2: 2.91421
        ([replace(SASH, angle=45_000, at=At(centre=(inches("1"), 0)))], "2 15/16 x 1"),
        # through the middle of a disc of 2 in: 2 + 1/2, at any angle
        ([Layer("moon", "cream", circle=inches("2")), SASH], "2 1/2 x 1"),
        # what has a size keeps it
        ([replace(SASH, width=inches("2"))], "2 x 1"),
    ],
)
def test_lengths_worked_out_by_hand(layers: list[Layer], cut: str) -> None:
    """What the strip covers, 1/4 in to trim at each end, rounded up to sixteenths."""
    assert cut_size(laid(*layers), batch(card())) == size(cut)


def test_a_metric_strip_has_six_millimetres_to_trim() -> None:
    """105 / cos 15 + 20 x tan 15 = 108.704 + 5.359 = 114.063; with 2 x 6: 126.063, on marks of 1 mm."""
    sash = Layer("sash", "cream", height=20_000_000, angle=15_000)
    metric = batch(card(), unit="mm", trimmer=Trimmer(marks=1_000_000))
    assert cut_size(laid(sash, finished="105 x 148", unit="mm"), metric) == size("127 x 20", "mm")


def test_a_strip_beside_the_middle_of_a_disc_reaches_as_far_as_its_longer_side() -> None:
    """On a disc of 2 in, sides 1/2 and 1 in above the middle: 2 x sqrt(1 - 1/4) = 1.73205 in."""
    strip = Layer(
        "sash", "cream", over="moon", height=inches("1/2"), angle=60_000,
        at=At(centre=(
            inches("2 1/8") + round(inches("3/4") * sin(radians(60))),
            inches("2 3/4") + round(inches("3/4") * cos(radians(60))),
        )),
    )  # fmt: skip
    placed = laid(Layer("moon", "cream", circle=inches("2")), strip)
    assert slant_of(placed).reach == pytest.approx(sqrt(3) * inches("1"), abs=5)


# Covered for certain, with shapely.

LENGTHS = st.integers(inches("1/8"), inches("6"))
ANGLES = st.integers(-89_000, 89_000).filter(lambda angle: abs(angle) > 500)


@st.composite
def strips(draw: st.DrawFn) -> tuple[Card, Batch]:
    """A card with a host, square or round, and a strip that crosses it, trimmed or folded behind."""
    width, height = draw(LENGTHS), draw(LENGTHS)
    left, low = draw(st.integers(0, inches("2"))), draw(st.integers(0, inches("2")))
    is_round = draw(st.booleans())
    host = Layer("host", "cream", at=At(left=left, bottom=low))
    host = replace(host, **({"circle": width} if is_round else {"width": width, "height": height}))
    wide, wrap = draw(LENGTHS), draw(st.sampled_from([0, inches("1/2")]))
    across = draw(st.booleans())
    x = left + draw(st.integers(0, width))
    y = low + draw(st.integers(0, width if is_round else height))
    strip = Layer(
        "strip", "cream", wrap=wrap, angle=draw(ANGLES), at=At(centre=(x, y)),
        height=wide if across else None, width=None if across else wide,
    )  # fmt: skip
    one = Card("windfall", 1, inches("9"), inches("9"), layers=(host, strip))
    large = replace(CREAM, sheets=(Sheet(inches("400"), inches("400")),))
    unit: Unit = draw(st.sampled_from(["in", "mm"]))
    return one, Batch("Orchard", unit, (large,), (one,))


def host_shape(host: PlacedLayer) -> shapely.Polygon:
    """What a strip lies on; a disc by points on its edge."""
    if host.layer.circle is None:
        return shapely.box(host.x, host.y, host.x + host.width, host.y + host.height)
    middle = shapely.Point(host.x + host.width / 2, host.y + host.height / 2)
    return middle.buffer(host.width / 2, quad_segs=200)


def paper_of(slant: Slant, layer: Layer, length: float) -> shapely.Polygon:
    """So much of the strip's length as it lies on the card, about the middle of what is seen."""
    wide = layer.height or layer.width or 0
    width, height = (length, wide) if layer.width is None else (wide, length)
    upright = shapely.box(-width / 2, -height / 2, width / 2, height / 2)
    return affinity.translate(affinity.rotate(upright, -layer.angle / 1000, (0, 0)), *slant.middle)


@given(strips())
def test_the_length_is_certainly_enough_and_a_mark_at_most_more(asked: tuple[Card, Batch]) -> None:
    """Without what is trimmed or goes behind, the strip still covers all that lies below it."""
    _, whole = asked
    resolved = resolve(whole)
    if resolved.faults:  # it misses a disc in whose square its centre lies
        assert [fault.path[-1] for fault in resolved.faults] == ["at"]
        return
    host, placed = resolved.placed[0]["host"], resolved.placed[0]["strip"]
    slant, layer = slant_of(placed), placed.layer
    length = cut_size(placed, whole)[0 if layer.width is None else 1]
    spare = 2 * (layer.wrap or TRIMMED[whole.unit])
    endless = paper_of(slant, layer, inches("100"))
    below = host_shape(host).intersection(endless)
    covers = paper_of(slant, layer, length - spare).buffer(2)  # nm
    assert below.difference(covers).is_empty
    assert length - spare - slant.reach < whole.trimmer.marks
    shorter = paper_of(slant, layer, slant.reach - 20_000)  # by 1/50 mm: then it does not
    assert not below.difference(shorter).is_empty


@given(strips())
def test_what_is_seen_is_what_lies_on_the_host(asked: tuple[Card, Batch]) -> None:
    """The outline is the strip cut off at the edge; both marks lie on that edge and one of its sides."""
    _, whole = asked
    resolved = resolve(whole)
    assume(not resolved.faults)
    host, placed = resolved.placed[0]["host"], resolved.placed[0]["strip"]
    slant = slant_of(placed)
    below = host_shape(host).intersection(paper_of(slant, placed.layer, inches("100")))
    seen = shapely.Polygon(slant.outline)
    points = len(Ground(0, 0, 1, 1, is_round=True).outline)
    # The edge of a disc is drawn by points on it, and is off by no more than their chords are.
    off = host.width / 2 * (1 - cos(pi / points)) if host.layer.circle else 0
    assert seen.symmetric_difference(below).area <= (off + 20) * below.length + 1e-6 * below.area
    strip = paper_of(slant, placed.layer, inches("100"))
    for mark in map(shapely.Point, slant.marks):
        assert strip.exterior.distance(mark) < 5
        edge = host_shape(host).exterior
        assert edge.distance(mark) < (inches("1/1000") if host.layer.circle else 2)


@given(strips())
def test_the_checker_comes_to_the_same_size_by_itself(asked: tuple[Card, Batch]) -> None:
    """By turning the card back, to the nanometre."""
    _, whole = asked
    resolved = resolve(whole)
    assume(not resolved.faults)
    parts = parts_of(resolved.batch.cards[0], whole)
    found = [(part.kind.width, part.kind.height) for part in parts]
    assert found == [
        (piece.width, piece.height) for piece in (one.piece for one in resolved.requests)
    ]


@pytest.mark.parametrize("angle", [-75_000, -30_000, 12_500, 45_000, 60_000])
@pytest.mark.parametrize("centre", ["2 x 2 1/2", "1 x 1", "3 1/2 x 5", "1/2 x 4"])
def test_laid_by_the_marks_of_the_ruler_it_still_covers(angle: int, centre: str) -> None:
    """Each mark may be half a sixteenth off: what is trimmed makes up for it."""
    sash = replace(SASH, angle=angle, at=At(centre=size(centre)))
    placed = laid(mat(), sash)
    slant = slant_of(placed)
    sixteenth = inches("1/16")
    first, second = (
        tuple(round(length / sixteenth) * sixteenth for length in mark) for mark in slant.marks
    )
    host = shapely.box(*[inches("1/8")] * 2, inches("4 1/8"), inches("5 3/8"))
    line = shapely.LineString([first, second])
    length, wide = cut_size(placed, batch(card()))
    endless = shapely.LineString([
        affinity.scale(line, 100, 100).coords[0], affinity.scale(line, 100, 100).coords[1],
    ])  # fmt: skip
    middle = shapely.Point(slant.middle)
    side = wide if endless.buffer(wide, single_sided=True).covers(middle) else -wide
    below = endless.buffer(side, single_sided=True).intersection(host)
    along = [endless.project(shapely.Point(corner)) for corner in below.exterior.coords]
    assert max(along) - min(along) <= length


# Marks, by hand.


def test_the_marks_of_a_strip_across_a_panel() -> None:
    """The upper side at 30 degrees: 1/2 / cos 30 above the middle line, which falls by 2 x tan 30.

    On a mat of 4 x 5 1/4 in with its middle at 2 3/4 in: 2.75 + 1.15470 + 0.57735 = 4.48205 at the
    left edge, and 2.75 - 1.15470 + 0.57735 = 2.17265 at the right one.
    """
    slant = slant_of(laid(mat(), SASH))
    assert slant.edge == "top"
    (x, y), (to_x, to_y) = slant.marks
    assert (x, to_x) == (inches("1/8"), inches("4 1/8"))
    assert y == pytest.approx(4.48205 * inches("1"), abs=200)
    assert to_y == pytest.approx(2.17265 * inches("1"), abs=200)


@pytest.mark.parametrize(
    ("angle", "across", "edges"),
    [
        (10_000, True, {"top", "bottom"}),
        (80_000, True, {"left", "right"}),
        (-80_000, False, {"top", "bottom"}),
        (10_000, False, {"left", "right"}),
    ],
)
def test_an_edge_is_named_as_it_is_seen(angle: int, across: bool, edges: set[str]) -> None:
    """The upper edge of a strip that is turned by 80 degrees is seen at the right."""
    wide = {"height": inches("1")} if across else {"width": inches("1")}
    assert slant_of(laid(Layer("sash", "cream", angle=angle, **wide))).edge in edges


def test_what_lies_on_an_aslant_layer_has_no_marks() -> None:
    """Nobody measures along an edge that runs aslant."""
    tag = Layer("tag", "cream", over="sash", width=inches("1"), height=inches("1/2"), angle=30_000)
    assert slant_of(laid(SASH, tag)).marks == ()


def test_a_strip_that_covers_all_has_no_marks() -> None:
    """Neither of its long edges crosses what it lies on."""
    assert slant_of(laid(mat(), replace(SASH, height=inches("8")))).marks == ()


def corners_in_inches(slant: Slant) -> list[Point]:
    """The corners of what is seen, in thousandths of an inch."""
    return [(round(x / 25_400), round(y / 25_400)) for x, y in slant.outline]


def test_a_tag_lies_about_its_centre() -> None:
    """2 x 1 in, turned by 90 degrees less a hair, is 1 x 2 in; its centre stays where it was said."""
    tag = Layer(
        "tag", "cream", width=inches("2"), height=inches("1"), angle=89_999,
        at=At(centre=(inches("2"), inches("3"))),
    )  # fmt: skip
    slant = slant_of(laid(tag))
    assert sorted(corners_in_inches(slant)) == [
        (1500, 2000), (1500, 4000), (2500, 2000), (2500, 4000),
    ]  # fmt: skip
    assert slant.centre == slant.middle == (inches("2"), inches("3"))
