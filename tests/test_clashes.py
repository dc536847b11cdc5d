"""What does not go together in a layer is one message each."""

from dataclasses import replace

import pytest
from test_resolving import all_round, at_layer, batch, card, faults, inches, mat

from nesting.batch import ON_CARD, At, Edges, Fault, Layer
from nesting.resolving import resolve

BELT = Layer("belt", "cream", height=inches("1"), belt=inches("1/16"))


@pytest.mark.parametrize(
    ("changes", "key", "read"),
    [
        ({"where": "inside"}, "where", "a belt with where: inside"),
        ({"over": "mat"}, "over", "a belt over mat"),
        ({"wrap": 1}, "wrap", "'wrap' beside 'belt'"),
        ({"wrap": Edges(top=1)}, "wrap", "'wrap' beside 'belt'"),
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
