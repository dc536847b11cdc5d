"""Joints under the layers above: where they may lie, how long the ends are, what cannot be joined."""

from dataclasses import replace
from random import Random

import pytest
from pack_cases import MM, solved
from plans import inches

from nesting.batch import At, Batch, Card, Fault, Layer, LoosePiece, Trimmer
from nesting.cards.joining import Joint, joints_of
from nesting.cards.placing import place_layers
from nesting.cards.resolving import resolve
from nesting.cards.warnings import find_warnings
from nesting.checker import check
from nesting.checker.asked.joints import ends_of
from nesting.papers import Edges, Face, Paper, Sheet

#: What lies above the host of a small card: x, y, width, height, and whether it is a disc.
Cover = tuple[int, int, int, int, bool]


def small_card(rng: Random) -> tuple[Card, list[Cover]]:
    """A band across a card, some layers over it; lengths of a few units, so that all can be tried."""
    covers = []
    for _ in range(rng.randint(1, 4)):
        width, height = rng.randint(3, 14), rng.randint(3, 14)
        is_round = rng.random() < 0.25
        at = rng.randint(0, 16), rng.randint(0, 12)
        covers.append((*at, width, width if is_round else height, is_round))
    band = Layer(
        "band", "pear toss", width=rng.randint(14, 24), height=rng.randint(2, 6), join="may",
        at=At(left=rng.randint(0, 4), bottom=rng.randint(4, 8)), wrap=rng.choice((0, 0, 3)),
    )  # fmt: skip
    layers = [
        Layer(
            f"cover {n}", "pear toss", over="card", width=None if disc else w, height=None if disc else h,
            circle=w if disc else None,
            at=At(centre=(x + w // 2, y + h // 2)) if disc else At(left=x, bottom=y),
        )
        for n, (x, y, w, h, disc) in enumerate(covers)
    ]  # fmt: skip
    return Card("windfall", 1, 30, 24, layers=(replace(band, over="card"), *layers)), covers


def small_batch(card: Card, lap: int, marks: int) -> Batch:
    """A batch of one small card, with a glue lap and marks of a few units."""
    paper = Paper("pear toss", (Sheet(100, 100),))
    return Batch("Orchard market", "mm", (paper,), (card,), trimmer=Trimmer(marks=marks), lap=lap)


def is_seen(card: Card, band: Layer, low: int, high: int) -> bool:
    """Whether something between two places of a band, from its left end, is under no layer for sure."""
    placed = place_layers(card)
    host = placed[band.name]
    covers = [placed[layer.name] for layer in card.layers[1:]]
    points = 4  # a place is looked at in quarters of a unit, and never on the line between two
    for step in range(points * low, points * high):
        x = host.x + (step + 0.5) / points
        for rise in range(points * host.height):
            y = host.y + (rise + 0.5) / points
            hidden = any(
                (x - c.x - c.width / 2) ** 2 + (y - c.y - c.width / 2) ** 2 <= c.width**2 / 4
                if c.layer.circle
                else c.x <= x <= c.x + c.width and c.y <= y <= c.y + c.height
                for c in covers
            )
            if not hidden:
                return True
    return False


@pytest.mark.parametrize("seed", range(60))
def test_no_joint_is_seen_and_none_is_missed_under_rectangles(seed: int) -> None:
    """Every pair of ends on the marks is tried: what is found is hidden, and the shortest there is."""
    rng = Random(f"joining {seed}")
    card, covers = small_card(rng)
    lap, marks = rng.randint(1, 2), rng.randint(1, 3)
    batch = resolve(small_batch(card, lap, marks)).batch
    card = batch.cards[0]
    band = card.layers[0]
    host = place_layers(card)[band.name]
    found = joints_of(place_layers(card), band.name, batch)
    behind = band.wrap if isinstance(band.wrap, int) else 0
    for joint in found:
        (first, _), (second, _) = joint.sizes
        low, high = first - behind - lap, host.width + behind - second + lap
        assert not is_seen(card, band, low, high)
        assert first % marks == second % marks == 0
        assert joint.under
    assert [tuple(end for end in ends) for ends in ends_of(card, band, batch)] == sorted(
        (("left", joint.sizes[0][0]), ("right", joint.sizes[1][0])) for joint in found
    )
    if any(disc for *_, disc in covers) or abutting(covers):
        return
    whole = host.width + 2 * behind
    legal = {
        (first, second)
        for first in range(marks, whole, marks)
        for second in range(marks, whole - first + 1, marks)
        if first - behind - lap >= 0 and second - behind - lap >= 0
        and (behind or first > lap) and (behind or second > lap)
        and not is_seen(card, band, first - behind - lap, host.width + behind - second + lap)
    }  # fmt: skip
    lengths = [(joint.sizes[0][0], joint.sizes[1][0]) for joint in found]
    for first, second in legal:
        wholly = not behind and (
            not is_seen(card, band, 0, first)
            or not is_seen(card, band, host.width - second, host.width)
        )
        assert wholly or any(a <= first and b <= second for a, b in lengths)


def abutting(covers: list[Cover]) -> bool:
    """Whether two covers may only touch, so that the line between them counts as seen."""
    edges = [{x, x + w} for x, _, w, _, _ in covers], [{y, y + h} for _, y, _, h, _ in covers]
    return any(
        bool(axis[a] & axis[b])
        for axis in edges
        for a in range(len(covers))
        for b in range(a + 1, len(covers))
    )


def orchard_card(**band: object) -> Batch:
    """A band of 12 in round a card of 7 in, joined under a seal of 3 in in the middle."""
    sheet = Sheet(inches("8 1/2"), inches("11"), have=2)
    paper = Paper("pear toss", (sheet,), buy=False, front=Face("one-way"))
    oat = Paper("oat cardstock", (Sheet(inches("8 1/2"), inches("11")),))
    layers = (
        Layer(
            "band", "pear toss", over="card",
            **{"height": inches("2"), "wrap": inches("3 1/2"), "join": "must"} | band,
        ),  # type: ignore[arg-type]
        Layer("seal", "oat cardstock", over="card", width=inches("3"), height=inches("3")),
    )  # fmt: skip
    card = Card("windfall", 2, inches("7"), inches("5"), layers=layers)
    return Batch("Orchard suppers", "in", (paper, oat), (card,))


def test_a_band_longer_than_any_sheet_goes_round_a_card() -> None:
    """14 in round a card, from sheets of 11 in: two ends of 5 3/4 in, both upright, under the seal."""
    plan = solved(orchard_card())
    ends = [piece for piece in plan.pieces if piece.paper == "pear toss"]
    assert [(piece.width, piece.height, piece.demand) for piece in ends] == [
        (inches("5 3/4"), inches("2"), 4)
    ]
    assert [(use.end, use.count) for use in ends[0].uses] == [("left", 2), ("right", 2)]
    assert ends[0].turn == "never"
    assert plan.cards[0].complete == 2
    (joint,) = joints_of(place_layers(plan.asked.cards[0]), "band", plan.asked)
    assert joint == Joint(("left", "right"), ((inches("5 3/4"), inches("2")),) * 2, ("seal",))


def test_a_whole_that_no_sheet_gives_is_left_out() -> None:
    """A band that may be joined and is too long in one piece is joined, and no fault."""
    plan = solved(orchard_card(join="may"))
    assert {use.end for piece in plan.pieces for use in piece.uses if use.layer == "band"} == {
        "left",
        "right",
    }


def faults_of(**band: object) -> tuple[Fault, ...]:
    """What is wrong with the band."""
    return resolve(orchard_card(**band)).faults


@pytest.mark.parametrize(
    ("band", "said"),
    [
        ({"height": None, "circle": inches("2"), "wrap": 0}, "join on a circle"),
        ({"die_allowance": inches("1/8")}, "'join' beside 'die allowance'"),
        ({"each": 2}, "'join' beside 'each: 2'"),
        ({"angle": 30_000}, "'join' beside 'angle'"),
        ({"height": inches("4")}, "join: a joint of band that would be seen"),
    ],
)
def test_what_cannot_be_joined_is_refused(band: dict[str, object], said: str) -> None:
    """One fault for each, at the key."""
    faults = [fault for fault in faults_of(**band) if fault.path[-1] == "join"]
    assert [fault.read for fault in faults] == [said]


def test_a_joint_that_nothing_hides_is_warned_of() -> None:
    """A band that may be joined is cut whole where no layer hides its joint, and that is said."""
    asked = resolve(orchard_card(join="may", height=inches("4"), wrap=0))
    (said,) = (one for one in find_warnings(asked, asked.pieces()) if "join" in one)
    assert said.startswith("windfall, band: ")
    assert "covers its full width over 1/2 in or more, away from its ends;" in said


def test_without_a_lap_no_length_is_asked_of_what_hides_a_joint() -> None:
    """It has to hide the full width, over however little."""
    (fault,) = resolve(replace(orchard_card(height=inches("4"), wrap=0), lap=0)).faults
    assert fault.expected == "a layer above that hides its full width, away from its ends"


def test_a_cover_that_reaches_to_an_end_hides_no_joint() -> None:
    """One end would lie wholly under it: the message says so, as the full width is hidden."""
    batch = orchard_card(wrap=0)
    band, seal = batch.cards[0].layers
    seal = replace(seal, at=At(left=0))
    (fault,) = resolve(replace(batch, cards=(replace(batch.cards[0], layers=(band, seal)),))).faults
    hidden = "a layer above that hides its full width over 1/2 in or more, away from its ends"
    assert fault.expected == hidden


def test_two_covers_that_only_touch_hide_no_joint_between_them() -> None:
    """The line between them would be seen; where they overlap, they hide together."""
    batch = orchard_card()
    band, seal = batch.cards[0].layers
    for at, count in (("3 1/2", 0), ("3 3/8", 1)):
        left = replace(seal, name="leaf", width=inches("3/8"), at=At(right=inches("3 1/2")))
        right = replace(seal, width=inches("3/8"), at=At(left=inches(at)))
        card = replace(batch.cards[0], layers=(band, left, right))
        placed = resolve(replace(batch, cards=(card,))).placed[0]
        joints = joints_of(placed, "band", replace(batch, lap=inches("1/4")))
        assert [joint.under for joint in joints] == [("leaf", "seal")] * count


def test_more_folded_behind_at_one_edge_is_more_of_that_end() -> None:
    """An end is as long as what goes behind, what shows of it, and the lap under the cover."""
    asked = resolve(orchard_card(wrap=Edges(left=inches("2"), right=inches("1"))))
    (joint,) = joints_of(asked.placed[0], "band", asked.batch)
    assert [width for width, _ in joint.sizes] == [inches("4 1/4"), inches("3 1/4")]


def test_what_is_folded_behind_along_a_joint_is_part_of_both_ends() -> None:
    """An upright layer that goes behind at the left and the right is joined across: both ends are wider."""
    batch = orchard_card(
        wrap=Edges(left=inches("1/2"), right=inches("1")), width=inches("4"), height=inches("5")
    )
    band, seal = batch.cards[0].layers
    seal = replace(seal, width=inches("6"), height=inches("2"))
    batch = resolve(replace(batch, cards=(replace(batch.cards[0], layers=(band, seal)),))).batch
    (joint,) = joints_of(place_layers(batch.cards[0]), "band", batch)
    assert joint.edges == ("bottom", "top")
    assert [width for width, _ in joint.sizes] == [inches("5 1/2")] * 2
    assert check(batch, solved(batch)) == ()


def test_marks_of_a_metric_ruler_round_the_ends_up() -> None:
    """Ends lie on the marks although the card does not: 6 mm under the cover at least."""
    batch = replace(orchard_card(), unit="mm", lap=6 * MM, trimmer=Trimmer(marks=MM))
    asked = resolve(batch)
    (joint,) = joints_of(asked.placed[0], "band", asked.batch)
    lap = 6 * MM
    exact = inches("5 1/2") + lap
    assert {width for width, _ in joint.sizes} == {-(-exact // MM) * MM}


def test_nothing_is_cut_out_under_a_layer_that_may_be_joined() -> None:
    """Both of its ends are to be held: a mat gives the middle under its panel, or none where that may."""
    mat = Layer("mat", "oat cardstock", over="card", width=60 * MM, height=80 * MM)
    panel = Layer("panel", "pear toss", over="mat", width=56 * MM, height=76 * MM)
    leaf = Layer("leaf", "pear toss", over="panel", width=58 * MM, height=20 * MM)
    tag = LoosePiece("tag", "oat cardstock", 4, width=30 * MM, height=20 * MM)
    papers = tuple(
        Paper(name, (Sheet(130 * MM, 90 * MM),)) for name in ("pear toss", "oat cardstock")
    )
    for join, count in (("never", 1), ("may", 0)):
        layers = (mat, replace(panel, join=join), leaf)  # type: ignore[arg-type]
        card = Card("windfall", 2, 64 * MM, 84 * MM, layers=layers)
        batch = Batch(
            "Cellar market", "mm", papers, (card,), (tag,), trimmer=Trimmer(marks=MM), lap=6 * MM,
            save_middles=True,
        )  # fmt: skip
        assert len(solved(batch).middles) == count


def test_a_belt_longer_than_any_sheet_is_joined_in_front_and_closes_behind() -> None:
    """Round a card of 7 in go 14 3/8: half of the 7 3/8 behind at each end, and on to under the seal.

    The seal of 2 in hides 1.73 in of a band of 1 in; each end reaches under it by 1/4, up to the marks.
    """
    batch = orchard_card(belt=inches("1/16"), wrap=0, height=inches("1"))
    band, seal = batch.cards[0].layers
    seal = replace(seal, width=None, height=None, circle=inches("2"))
    card = replace(batch.cards[0], layers=(band, seal))
    batch = resolve(replace(batch, cards=(card,))).batch
    (joint,) = joints_of(place_layers(batch.cards[0]), "band", batch)
    assert joint.sizes == ((inches("6 5/8"), inches("1")),) * 2
    assert ends_of(batch.cards[0], batch.cards[0].layers[0], batch) == [
        (("left", inches("6 5/8")), ("right", inches("6 5/8")))
    ]
    assert check(batch, solved(batch)) == ()


@pytest.mark.parametrize("seed", range(30))
def test_the_check_finds_the_ends_of_random_belts_by_itself(seed: int) -> None:
    """The same joints, worked out in two ways."""
    rng = Random(f"belts {seed}")
    card, _ = small_card(rng)
    belt = replace(card.layers[0], width=None, wrap=0, at=None, belt=rng.randint(0, 3))
    card = replace(card, layers=(belt, *card.layers[1:]))
    batch = resolve(small_batch(card, rng.randint(1, 2), rng.randint(1, 3))).batch
    card = batch.cards[0]
    found = joints_of(place_layers(card), belt.name, batch)
    assert ends_of(card, card.layers[0], batch) == sorted(
        (("left", joint.sizes[0][0]), ("right", joint.sizes[1][0])) for joint in found
    )
