"""What layers hide: spans for joints and covered middles, against brute force on small cards."""

import random
from collections.abc import Mapping
from dataclasses import replace
from itertools import product

import pytest
import shapely

from nesting.batch import ON_CARD, At, Card, Layer, Where
from nesting.cards.covering import hidden_along, layers_above
from nesting.cards.largest_middle import Rectangle, covered_middle
from nesting.cards.placing import PlacedLayer, place_layers
from nesting.papers import Axis

#: On these small cards a mark is 1 nm, so that every place can be tried.
Shape = tuple[int, int, int, int, bool]


def card_of(host: Shape, *covers: Shape, size: int = 30) -> Mapping[str, PlacedLayer]:
    """A card with a host, and layers above it from the bottom up: x, y, width, height, round."""
    placed = {ON_CARD: PlacedLayer(Layer(ON_CARD, ""), 0, 0, size, size)}
    for number, (x, y, width, height, is_round) in enumerate((host, *covers)):
        name = f"cover {number}" if number else "host"
        layer = Layer(name, "paper", circle=width if is_round else None)
        placed[name] = PlacedLayer(layer, x, y, width, height)
    return placed


def changed(
    placed: Mapping[str, PlacedLayer], name: str, *, each: int = 1, where: Where = "outside"
) -> Mapping[str, PlacedLayer]:
    """The same card with one layer several times, or on another side."""
    one = placed[name]
    layer = Layer(name, "paper", circle=one.layer.circle, each=each, where=where)
    return {**placed, name: PlacedLayer(layer, one.x, one.y, one.width, one.height)}


def random_shapes(chance: random.Random, most: int, *, discs: bool) -> list[Shape]:
    """Some layers that lie anywhere on the card."""
    shapes = []
    for _ in range(chance.randint(1, most)):
        width, height = chance.randint(2, 16), chance.randint(2, 16)
        is_round = discs and chance.random() < 0.4
        corner = chance.randint(0, 14), chance.randint(0, 14)
        shapes.append((*corner, width, width if is_round else height, is_round))
    return shapes


def distance_within(shape: Shape, x: float, y: float, lap: int) -> bool:
    """Whether a point lies at least a lap inside a shape's edge."""
    left, low, width, height, is_round = shape
    if is_round:
        radius = width / 2 - lap
        off = (x - left - width / 2) ** 2 + (y - low - width / 2) ** 2
        return radius > 0 and off <= radius**2
    return left + lap <= x <= left + width - lap and low + lap <= y <= low + height - lap


def touched(shape: Shape, box: tuple[int, int, int, int]) -> bool:
    """Whether a box has anything of the inside of a shape."""
    left, low, width, height, is_round = shape
    x0, y0, x1, y1 = box
    if is_round:
        x = min(max(left + width / 2, x0), x1)
        y = min(max(low + width / 2, y0), y1)
        return (x - left - width / 2) ** 2 + (y - low - width / 2) ** 2 < width**2 / 4
    return x0 < left + width and left < x1 and y0 < low + height and low < y1


def held_by(under: Shape, cover: Shape) -> bool:
    """Whether a layer lies wholly on another."""
    x, y, width, height, is_round = cover
    if is_round and under[4]:
        off = (x + width / 2 - under[0] - under[2] / 2) ** 2
        off += (y + width / 2 - under[1] - under[2] / 2) ** 2
        return under[2] >= width and off <= ((under[2] - width) / 2) ** 2
    return all(distance_within(under, *c, 0) for c in product((x, x + width), (y, y + height)))


def largest_middle(host: Shape, covers: list[Shape], lap: int, frame: int, size: int) -> int:
    """The area of the largest middle by trying every rectangle."""
    lying: list[Shape] = []
    for cover in covers:
        if not any(held_by(under, cover) for under in lying):
            lying.append(cover)
    best = 0
    left, low, width, height, _ = host
    for x0, x1 in product(range(left, left + width), range(left + 1, left + width + 1)):
        for y0, y1 in product(range(low, low + height), range(low + 1, low + height + 1)):
            area = (x1 - x0) * (y1 - y0)
            if x0 >= x1 or y0 >= y1 or area <= best or x1 > size or y1 > size:
                continue
            corners = list(product((x0, x1), (y0, y1)))
            if not all(distance_within(host, x, y, frame) for x, y in corners):
                continue
            inside = [all(distance_within(one, x, y, lap) for x, y in corners) for one in lying]
            beside = [not touched(one, (x0, y0, x1, y1)) for one in lying]
            if any(inside) and all(a or b for a, b in zip(inside, beside, strict=True)):
                best = area
    return best


@pytest.mark.parametrize("seed", range(60))
def test_a_middle_is_the_largest_there_is(seed: int) -> None:
    """On small cards with rectangles and discs, brute force finds no larger rectangle."""
    chance = random.Random(seed)
    host = (chance.randint(0, 3), chance.randint(0, 3), chance.randint(8, 17), 17, False)
    if seed % 5 == 0:
        host = (*host[:2], 17, 17, True)
    covers = random_shapes(chance, 3, discs=True)
    lap, frame = chance.randint(1, 2), chance.randint(1, 2)
    found = covered_middle(card_of(host, *covers, size=18), "host", lap, frame, 1)
    area = found.width * found.height if found else 0
    assert area == largest_middle(host, covers, lap, frame, 18)


@pytest.mark.parametrize("seed", range(40))
def test_nothing_of_a_middle_is_seen(seed: int) -> None:
    """By a general geometry library, a middle lies under the union of the layers, a lap inside."""
    chance = random.Random(seed)
    host = (chance.randint(0, 40), chance.randint(0, 40), 230, 250, False)
    covers = [
        (x * 14 + 1, y * 14, w * 16, h * 16, r)
        for x, y, w, h, r in random_shapes(chance, 4, discs=True)
    ]
    found = covered_middle(card_of(host, *covers, size=300), "host", 7, 9, 3)
    if found is None:
        return
    x, y = host[0] + found.x, host[1] + found.y
    hole = shapely.box(x, y, x + found.width, y + found.height)
    shapes = [
        shapely.Point(x + w / 2, y + w / 2).buffer(w / 2, quad_segs=2_000)
        if is_round
        else shapely.box(x, y, x + w, y + h)
        for x, y, w, h, is_round in covers
    ]
    assert shapely.difference(hole, shapely.union_all(shapes).buffer(-6.99)).area < 1e-3
    assert {found.x % 3, found.y % 3, found.width % 3, found.height % 3} == {0}


def test_the_middle_of_the_trade() -> None:
    """A 4 x 5 1/4 mat under a 3 3/4 x 5 panel gives 3 1/4 x 4 1/2 with a lap of 1/4 (in 1/8 in)."""
    placed = card_of((1, 1, 32, 42, False), (2, 2, 30, 40, False), size=44)
    assert covered_middle(placed, "host", 2, 2, 1) == Rectangle(3, 3, 26, 36)


def test_two_layers_side_by_side_are_each_held() -> None:
    """Under two layers side by side the middle lies under one, a lap from the line between them."""
    placed = card_of((0, 0, 30, 20, False), (1, 1, 14, 18, False), (15, 1, 14, 18, False))
    assert covered_middle(placed, "host", 2, 2, 1) == Rectangle(3, 3, 10, 14)


def test_what_lies_on_a_layer_above_needs_nothing_of_the_host() -> None:
    """A tag that lies wholly on the panel is held by the panel, and the mat keeps its middle."""
    placed = card_of((0, 0, 30, 20, False), (1, 1, 28, 18, False), (10, 5, 8, 8, True))
    assert covered_middle(placed, "host", 2, 2, 1) == Rectangle(3, 3, 24, 14)


def test_the_card_is_behind_a_middle() -> None:
    """Of a layer that sticks out of the card, only what lies on the card gives a middle."""
    placed = card_of((10, 0, 30, 20, False), (11, 1, 28, 18, False))
    assert covered_middle(placed, "host", 2, 2, 1) == Rectangle(3, 3, 17, 14)


def test_layers_on_another_side_hide_nothing() -> None:
    """What is glued inside the card hides nothing of what is outside."""
    placed = changed(
        card_of((0, 0, 30, 20, False), (1, 1, 28, 18, False)), "cover 1", where="inside"
    )
    assert covered_middle(placed, "host", 2, 2, 1) is None
    assert hidden_along(placed, "host", "x", 2, 1) == ()


@pytest.mark.parametrize("several", ["host", "cover 1"])
def test_several_on_a_card_promise_nothing(several: str) -> None:
    """Of a layer with several copies the place of one is known: no middle, and no joint."""
    placed = changed(card_of((0, 5, 30, 10, False), (1, 1, 28, 18, False)), several, each=2)
    assert covered_middle(placed, "host", 2, 2, 1) is None
    assert hidden_along(placed, "host", "x", 2, 1) == ()


@pytest.mark.parametrize("axis", ["x", "y"])
@pytest.mark.parametrize("seed", range(40))
def test_spans_for_joints_are_hidden_and_no_hidden_one_is_missing(seed: int, axis: Axis) -> None:
    """Every point of a span lies inside a cover; without discs, no other place does."""
    chance = random.Random(seed)
    discs = seed % 2 == 0
    host = (chance.randint(0, 4), chance.randint(4, 10), 20, chance.randint(1, 6), False)
    covers = random_shapes(chance, 4, discs=discs)
    if axis == "y":
        host = (host[1], host[0], host[3], host[2], False)
    found = hidden_along(card_of(host, *covers), "host", axis, 0, 1)
    start, length = (host[0], host[2]) if axis == "x" else (host[1], host[3])
    across = range(4 * host[1], 4 * (host[1] + host[3]) + 1)
    if axis == "y":
        across = range(4 * host[0], 4 * (host[0] + host[2]) + 1)
    for at in (start + (2 * n + 1) / 4 for n in range(2 * length)):
        points = [(at, side / 4) if axis == "x" else (side / 4, at) for side in across]
        hidden = all(any(distance_within(c, *point, 0) for c in covers) for point in points)
        said = any(low <= at - start <= high for low, high in found)
        assert hidden or not said
        if not discs and hidden and not said:
            assert touching(covers)


def touching(covers: list[Shape]) -> bool:
    """Whether two covers have edges on one line, so that they may only touch."""
    across = [{x, x + w} for x, _, w, _, _ in covers], [{y, y + h} for _, y, _, h, _ in covers]
    return any(len(set().union(*ends)) < sum(map(len, ends)) for ends in across)


def test_a_lap_is_kept_on_both_sides_of_a_joint() -> None:
    """A band under a seal of 10 may be joined where the seal reaches 2 beyond on both sides."""
    placed = card_of((0, 12, 30, 6, False), (10, 10, 10, 10, False))
    assert hidden_along(placed, "host", "x", 2, 1) == ((12, 18),)
    assert hidden_along(placed, "host", "x", 5, 1) == ((15, 15),)
    assert hidden_along(placed, "host", "x", 6, 1) == ()


def test_a_disc_hides_what_its_chord_does() -> None:
    """Under a disc of 10, a band of 6 in the middle is hidden for exactly 8."""
    placed = card_of((0, 12, 30, 6, False), (10, 10, 10, 10, True))
    assert hidden_along(placed, "host", "x", 0, 1) == ((11, 19),)


def test_covers_that_overlap_hide_together_and_those_that_touch_do_not() -> None:
    """One span under two overlapping covers; a line between two that touch counts as seen."""
    for first, spans in ((12, ((5, 20),)), (10, ((5, 10), (10, 20)))):
        row = (5, 10, first - 5, 9, False), (10, 10, 10, 9, False)
        assert hidden_along(card_of((0, 12, 30, 6, False), *row), "host", "x", 0, 1) == spans
    above = (5, 10, 10, 5, False), (5, 15, 10, 5, False)
    assert hidden_along(card_of((0, 12, 30, 6, False), *above), "host", "x", 0, 1) == ()
    above = (5, 10, 10, 6, False), (5, 15, 10, 5, False)
    assert hidden_along(card_of((0, 12, 30, 6, False), *above), "host", "x", 0, 1) == ((5, 15),)


def test_a_layer_that_does_not_count_hides_nothing() -> None:
    """Named as one that does not count, a cover leaves its joint to be seen."""
    placed = card_of((0, 12, 30, 6, False), (10, 10, 10, 10, False))
    assert hidden_along(placed, "host", "x", 2, 1, without={"cover 1"}) == ()


def aslant_card(chance: random.Random, *, several: bool) -> Mapping[str, PlacedLayer]:
    """A host, and layers above it of which at least one lies aslant, in nm."""
    host = Layer("host", "paper", width=3_000_000, height=chance.choice([300_000, 2_500_000]))
    layers = [host]
    for number in range(chance.randint(2, 3) if several else 1):
        at = At(centre=(chance.randint(500_000, 3_500_000), chance.randint(1_500_000, 2_500_000)))
        wide, tall = chance.randint(400_000, 2_900_000), chance.randint(400_000, 2_900_000)
        layer = Layer(f"cover {number}", "paper", over="host", height=tall, at=at)
        kind = (
            chance.choice(["strip", "tag", "disc"]) if number else chance.choice(["strip", "tag"])
        )
        angle = chance.randint(-89_000, 89_000) or 1
        layers.append({
            "strip": replace(layer, angle=angle),
            "tag": replace(layer, width=wide, angle=angle),
            "disc": replace(layer, height=None, circle=wide),
        }[kind])  # fmt: skip
    return place_layers(Card("card", 1, 4_000_000, 4_000_000, layers=tuple(layers)))


def seen_shape(one: PlacedLayer) -> shapely.Polygon:
    """What is seen of a layer."""
    if one.layer.circle is not None:
        middle = shapely.Point(one.x + one.width / 2, one.y + one.width / 2)
        return middle.buffer(one.width / 2, quad_segs=2_000)
    return shapely.Polygon(one.corners)


@pytest.mark.parametrize("seed", range(120))
def test_aslant_layers_hide_no_more_than_they_do(seed: int) -> None:
    """By a general geometry library: joints are hidden with their lap, middles all round."""
    placed = aslant_card(random.Random(seed), several=seed % 3 > 0)
    lap, marks = 100_000, 20_000
    host = placed["host"]
    hidden = shapely.union_all([seen_shape(one) for one in layers_above(placed, "host")])
    for axis in ("x", "y"):
        for low, high in hidden_along(placed, "host", axis, lap, marks):
            along = {"x": (low - lap, 0, high + lap, host.height)}
            along["y"] = (0, low - lap, host.width, high + lap)
            x0, y0, x1, y1 = along[axis]
            part = shapely.box(host.x + x0, host.y + y0, host.x + x1, host.y + y1)
            assert part.difference(hidden.buffer(0.01)).is_empty
    found = covered_middle(placed, "host", lap, 50_000, marks)
    if found is not None:
        x, y = host.x + found.x, host.y + found.y
        hole = shapely.box(x, y, x + found.width, y + found.height)
        assert hole.difference(hidden.buffer(-lap + 2)).is_empty
        covers = list(map(seen_shape, layers_above(placed, "host")))
        for number, cover in enumerate(covers):
            if any(under.covers(cover) for under in covers[:number]):
                continue  # it is held by that
            beside = hole.intersection(cover).area < 1
            assert beside or hole.difference(cover.buffer(-lap + 2)).is_empty


def test_aslant_layers_hide_what_they_can() -> None:
    """A joint under a strip over all of a band, and a middle under a large tag."""
    band = Layer("band", "paper", height=500_000)
    sash = Layer("sash", "paper", over="card", width=2_000_000, angle=20_000)
    placed = place_layers(Card("card", 1, 4_000_000, 4_000_000, layers=(band, sash)))
    ((low, high),) = hidden_along(placed, "band", "x", 0, 1)
    # 2 / cos 20 across, less what it goes aside over the band's height: 0.5 x tan 20
    assert high - low == pytest.approx(2_128_356 - 181_985, abs=10)
    assert low + high == pytest.approx(4_000_000, abs=2)


def test_what_lies_aslant_is_held_and_hides_no_middle() -> None:
    """A tag is held all over the rectangle round it, or by the panel that it lies on."""
    tag = Layer("tag", "paper", width=1_000_000, height=1_000_000, angle=45_000)
    beside = replace(tag, over="mat", at=At(centre=(1_000_000, 2_000_000)))
    panel = Layer("panel", "paper", over="mat", width=3_000_000, height=3_000_000)
    mat = Layer("mat", "paper", width=4_000_000, height=4_000_000)

    def middle_under(*layers: Layer) -> Rectangle | None:
        placed = place_layers(Card("card", 1, 4_000_000, 4_000_000, layers=(mat, *layers)))
        return covered_middle(placed, "mat", 100_000, 100_000, 10_000)

    assert middle_under(replace(tag, over="mat")) is None
    whole = Rectangle(600_000, 600_000, 2_800_000, 2_800_000)
    assert middle_under(panel) == middle_under(panel, replace(tag, over="panel")) == whole
    # half a diagonal beside its centre, at 1.707107 of 4, the tag on the mat ends
    assert middle_under(panel, beside) == Rectangle(1_710_000, 600_000, 1_690_000, 2_800_000)


def test_what_lies_aslant_on_a_disc_is_held_by_it() -> None:
    """Its corners lie on the disc, although the upright rectangle round it reaches beyond."""
    mat = Layer("mat", "paper", width=4_000_000, height=4_000_000)
    disc = Layer("disc", "paper", circle=3_000_000)
    tag = Layer("tag", "paper", over="disc", width=1_000_000, height=2_300_000, angle=45_000)
    wide = replace(tag, width=2_000_000)
    upright = replace(tag, width=400_000, height=3_400_000, angle=10_000)
    middles = []
    for above in ((), (tag,), (wide,), (upright,)):
        layers = (mat, disc, *above)
        placed = place_layers(Card("card", 1, 4_000_000, 4_000_000, layers=layers))
        middles.append(covered_middle(placed, "mat", 100_000, 100_000, 10_000))
    assert middles[0] is not None
    # the upright tag reaches beyond the disc: the middle ends beside it, at 2 - 0.492 of 4
    beside = Rectangle(880_000, 1_160_000, 620_000, 1_680_000)
    assert middles[1:] == [middles[0], None, beside]


def test_a_strip_is_held_by_what_it_lies_on() -> None:
    """On the panel it leaves the mat its middle; on the mat or the card it takes it away."""
    sash = Layer("sash", "paper", over="panel", height=500_000, angle=20_000)
    panel = Layer("panel", "paper", over="mat", width=3_000_000, height=3_000_000)
    mat = Layer("mat", "paper", width=4_000_000, height=4_000_000)
    found = {}
    for over in ("panel", "mat", ON_CARD):
        layers = (mat, panel, replace(sash, over=over))
        placed = place_layers(Card("card", 1, 4_000_000, 4_000_000, layers=layers))
        found[over] = covered_middle(placed, "mat", 100_000, 100_000, 10_000)
    whole = Rectangle(600_000, 600_000, 2_800_000, 2_800_000)
    assert found == {"panel": whole, "mat": None, ON_CARD: None}


def test_an_aslant_layer_itself_promises_nothing() -> None:
    """Neither a joint nor a middle is looked for in what lies aslant."""
    sash = Layer("sash", "paper", height=1_000_000, angle=20_000)
    tag = Layer("tag", "paper", over="card", width=3_000_000, height=3_000_000)
    placed = place_layers(Card("card", 1, 4_000_000, 4_000_000, layers=(sash, tag)))
    assert hidden_along(placed, "sash", "x", 0, 1) == ()
    assert covered_middle(placed, "sash", 1, 1, 1) is None
