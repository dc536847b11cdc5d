"""Changes of a batch by their place in the file."""

import pytest
from project import SAMPLES

from nesting import Change, Edges, Variant, read_batch
from nesting.advice.variants import with_changes
from nesting.batch import Batch, BatchError
from nesting.cards.resolving import resolve
from nesting.typed_lengths import parse_length, parse_size

SUPPER = ("cards", "windfall supper")


@pytest.fixture(scope="module")
def orchard() -> Batch:
    """The orchard sample."""
    return read_batch(SAMPLES / "orchard.yaml")


def size(text: str) -> tuple[int, int]:
    """A size in inches, in nm."""
    return parse_size(text, "in")


def sizes(batch: Batch) -> dict[str, tuple[int, int]]:
    """Every piece's size by card and layer."""
    return {
        f"{use.card}/{use.layer}": (piece.width, piece.height)
        for piece in resolve(batch).pieces()
        for use in piece.uses
    }


def test_what_derives_from_a_size_follows_it(orchard: Batch) -> None:
    """A card 1/4 in narrower has a base 1/2 in narrower, and layers 1/4 in narrower; its circle stays."""
    before, after = (
        sizes(orchard),
        sizes(with_changes(orchard, (Change((*SUPPER, "size"), size("4 x 5 1/2")),))),
    )
    moved = {name for name in before if before[name] != after[name]}
    assert moved == {f"windfall supper/{n}" for n in ("base", "mat", "panel", "band", "inside")}
    assert after["windfall supper/base"] == size("8 x 5 1/2")
    assert after["windfall supper/panel"] == size("3 1/2 x 5")
    assert after["windfall supper/band"] == size("3 1/2 x 1 1/4")


def test_a_larger_reveal_of_an_inner_layer_carries_through(orchard: Batch) -> None:
    """The panel keeps its reveal on a smaller mat: two reveals, of 1/8 and 1/4 in."""
    wide = Edges(*4 * [parse_length("1/4", "in")])
    after = sizes(with_changes(orchard, (Change((*SUPPER, "layers", "mat", "reveal"), wide),)))
    assert after["windfall supper/mat"] == size("3 3/4 x 5")
    assert after["windfall supper/panel"] == size("3 1/2 x 4 3/4")


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("prefer",), "big-offcut"),
        (("spares",), 2),
        (("trimmer", "longest cut"), parse_length("15", "in")),
        ((*SUPPER, "make"), 3),
        ((*SUPPER, "layers", 1, "paper"), "bee stripe"),
        ((*SUPPER, "layers", "panel", "turn"), "never"),
        (("pieces", "jar tag", "count"), 3),
        (("papers", "pear toss", "have"), 9),
    ],
)
def test_every_kind_of_change_is_made_once(
    orchard: Batch, path: tuple[str | int, ...], value: object
) -> None:
    """The changed batch differs, and the change back gives the first again."""
    once = with_changes(orchard, (Change(path, value),))
    assert once != orchard
    assert with_changes(once, (Change(path, value),)) == once


def test_the_sheet_of_a_paper(orchard: Batch) -> None:
    """A paper with one size of sheets takes another."""
    after = with_changes(orchard, (Change(("papers", "pear toss", "sheet"), size("8 1/2 x 11")),))
    (sheet,) = after.paper("pear toss").sheets
    assert ((sheet.width, sheet.height), sheet.have) == (size("8 1/2 x 11"), 3)


@pytest.mark.parametrize(
    "path",
    [
        ("cards", "windfal", "make"),
        ("cards", "windfall supper", "layers", 9, "reveal"),
        ("cards", "windfall supper", "colour"),
        ("prefers",),
        ("unit", "size"),
    ],
)
def test_a_change_of_nothing_is_refused(orchard: Batch, path: tuple[str | int, ...]) -> None:
    """The error names the place that is not there."""
    with pytest.raises(BatchError, match=str(path[-1])):
        with_changes(orchard, (Change(path, 1),))


def test_another_batch_in_its_place(orchard: Batch) -> None:
    """A variant may be a batch of its own, with or without changes."""
    other = read_batch(SAMPLES / "cider.yaml")
    assert Variant("cider", batch=other).of(orchard) is other
    more = Variant("more", (Change(("spares",), 1),), other).of(orchard)
    assert (more.name, more.spares) == (other.name, 1)
