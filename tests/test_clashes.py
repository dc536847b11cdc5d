"""What does not go together in a layer is one message each."""

from dataclasses import replace

import pytest
from test_resolving import (
    CREAM,
    all_round,
    at_layer,
    batch,
    card,
    faults,
    inches,
    mat,
    rectangle,
)

from nesting.batch import ON_CARD, At, Fault, Layer
from nesting.cards.resolving import resolve
from nesting.papers import Edges, Face, Print

BELT = Layer("belt", "cream", height=inches("1"), belt=inches("1/16"))


@pytest.mark.parametrize(
    ("changes", "key", "read"),
    [
        ({"where": "inside"}, "where", "a belt with where: inside"),
        ({"over": "mat"}, "over", "a belt over mat"),
        ({"wrap": 1}, "wrap", "'wrap' beside 'belt'"),
        ({"wrap": Edges(top=1)}, "wrap", "'wrap' beside 'belt'"),
        ({"angle": 30_000}, "angle", "'angle' beside 'belt'"),
        ({"width": 1}, "belt", "a belt without one of width and height alone"),
        ({"height": None}, "belt", "a belt without one of width and height alone"),
        (
            {"height": None, "reveal": all_round("1/8")},
            "belt",
            "a belt without one of width and height alone",
        ),
        (
            {"height": None, "circle": inches("1")},
            "belt",
            "a belt without one of width and height alone",
        ),
    ],
)
def test_what_does_not_go_with_a_belt(changes: dict[str, object], key: str, read: str) -> None:
    """Another side, a layer underneath, ends folded behind, and a size that is there already."""
    (fault,) = faults(card(mat(), replace(BELT, **changes)))  # type: ignore[arg-type]
    assert (fault.path, fault.read) == (at_layer(1, key), read)


@pytest.mark.parametrize(
    ("belt", "key", "free"),
    [
        (Layer("belt", "cream", height=1, belt=0, at=At(left=0)), "left", "top or bottom"),
        (Layer("belt", "cream", height=1, belt=0, at=At(centre=(1, 1))), "centre", "top or bottom"),
        (Layer("belt", "cream", width=1, belt=0, at=At(top=0)), "top", "left or right"),
    ],
)
def test_a_belt_has_no_place_along_its_length(belt: Layer, key: str, free: str) -> None:
    """It goes all round, and so there is nothing to measure from."""
    (fault,) = faults(card(belt))
    path = (*at_layer(0, "at"), key)
    expected = f"{free} alone: the other way it goes all round"
    assert fault == Fault(path, f"{key!r} in the place of a belt", expected)


def test_a_belt_lies_on_the_card_and_what_follows_on_the_belt() -> None:
    """Nothing has to be said for it, whatever stands before it in the list."""
    asked = card(mat(), BELT, Layer("seal", "cream", circle=inches("1")))
    assert not faults(asked)
    layers = resolve(batch(asked)).batch.cards[0].layers
    assert [layer.over for layer in layers] == [ON_CARD, ON_CARD, "belt"]


SASH = Layer("sash", "cream", height=inches("1"), angle=30_000)


@pytest.mark.parametrize(
    ("changes", "key", "read"),
    [
        ({"height": None, "circle": inches("1")}, "angle", "'angle' beside 'circle'"),
        ({"height": None, "reveal": all_round("1/8")}, "angle", "'angle' beside 'reveal'"),
        ({"height": None}, "angle", "'angle' without a size"),
        ({"angle": 90_000}, "angle", "an angle of 90 degrees or more"),
        ({"angle": -90_000}, "angle", "an angle of 90 degrees or more"),
        ({"width": inches("2"), "wrap": 1}, "wrap", "'wrap' of an aslant layer with a size"),
        (
            {"at": At(centre=(inches("9"), inches("9")))},
            "at",
            "an aslant strip that misses mat, which it",
        ),
    ],
)
def test_what_does_not_go_with_an_angle(changes: dict[str, object], key: str, read: str) -> None:
    """What is round or sized by what shows, a wrap of what has a size, and a place beside the host."""
    (fault,) = faults(card(mat(), replace(SASH, **changes)))  # type: ignore[arg-type]
    assert fault.path == at_layer(1, key)
    assert fault.read.startswith(read)


@pytest.mark.parametrize("edge", ["left", "right", "top", "bottom"])
def test_what_lies_aslant_is_placed_by_its_centre(edge: str) -> None:
    """It has no edge that lies level, to measure to."""
    (fault,) = faults(card(replace(SASH, at=At(**{edge: 1}))))
    assert fault.path == (*at_layer(0, "at"), edge)
    assert "centre: X x Y" in fault.expected


@pytest.mark.parametrize(
    ("strip", "edge", "ends"),
    [
        (replace(SASH, wrap=Edges(top=1)), "top", "left or right"),
        (replace(SASH, height=None, width=1, wrap=Edges(left=1)), "left", "bottom or top"),
    ],
)
def test_an_aslant_strip_is_wrapped_at_its_ends(strip: Layer, edge: str, ends: str) -> None:
    """Its sides lie on what is below."""
    (fault,) = faults(card(strip))
    assert fault.path == (*at_layer(0, "wrap"), edge)
    assert fault.expected.startswith(ends)


@pytest.mark.parametrize(
    ("layer", "key"),
    [
        (mat(over="sash"), "reveal"),
        (Layer("top", "cream", over="sash", height=inches("1/2")), "over"),
        (replace(SASH, name="top", over="sash", height=inches("1/2")), "over"),
        (Layer("top", "cream", over="sash", width=1, height=1, wrap=1), "wrap"),
    ],
)
def test_what_cannot_lie_on_an_aslant_layer(layer: Layer, key: str) -> None:
    """What takes its size from what is below needs an upright layer there, and so does a wrap."""
    (fault,) = faults(card(SASH, layer))
    assert fault.path == at_layer(1, key)
    assert "aslant" in fault.read


def test_tags_and_circles_lie_on_an_aslant_layer_in_the_middle_of_what_is_seen_of_it() -> None:
    """A strip across a corner is centred on what is left of its middle line."""
    corner = replace(SASH, angle=45_000, at=At(centre=(0, inches("5 1/2"))))
    moon = Layer("moon", "cream", circle=inches("1"))
    asked = card(replace(corner, at=At(centre=(inches("1"), 0))), moon)
    assert not faults(asked)
    # from (0, 1) to (1, 0): its middle is half an inch from both edges
    assert rectangle(asked) == (0, 0, inches("1"), inches("1"))


@pytest.mark.parametrize(
    ("face", "angle", "refused"),
    [("plain", 30_000, False), ("four-way", 30_000, True), ("one-way", 1, True),
     ("one-way", 0, False)],
)  # fmt: skip
def test_a_print_cannot_stand_upright_on_an_aslant_layer(
    face: Print, angle: int, *, refused: bool
) -> None:
    """Cuts run along the sheet's edges; where nothing is printed or turned, nothing is to be seen."""
    paper = replace(CREAM, front=Face(face))
    asked = batch(card(replace(SASH, angle=angle, print="upright")), papers=(paper,))
    found = resolve(asked).faults
    assert [fault.path for fault in found] == [at_layer(0, "print")] * refused
