"""What may not be meant: said plainly, kept in the plan, never a reason to refuse."""

from collections.abc import Iterator
from math import isqrt

from nesting.batch import ON_CARD, Batch, Card, FaceName, Layer, Piece
from nesting.layers import PlacedLayer, face_of, overs_of, pieces_of, place_layers
from nesting.units import Unit, format_length, neighbouring_marks, with_unit


def find_warnings(batch: Batch) -> tuple[str, ...]:
    """Say plainly what may not be meant.

    Layers that stick out, plain sides of printed papers, sizes off the marks, folds. The batch must
    be free of faults.
    """
    found: list[str] = []
    for card in batch.cards:
        found.extend(_sticking_out(card, batch.unit))
        if card.base is not None and card.base.fold == "top":
            paper = batch.paper(card.base.paper)
            face = face_of(paper, card.base.face)
            if paper.face(face).print == "one-way":
                found.append(
                    f"{card.name}, base: folded at the top, the one-way print of {paper.name} "
                    f"({face}) stands upside down on the back of the card"
                )
    for piece in pieces_of(batch):
        found.extend(_plain_side(piece, batch))
        found.extend(_off_marks(piece, batch))
    return tuple(found)


def _plain_side(piece: Piece, batch: Batch) -> Iterator[str]:
    """A face that is plain, of a paper whose other face is printed."""
    paper = batch.paper(piece.paper)
    other: FaceName = "back" if piece.face == "front" else "front"
    if paper.face(piece.face).print == "plain" and paper.face(other).print != "plain":
        yield (
            f"{piece.letter} {piece.name}: shows the {piece.face} of {paper.name}, which is plain; "
            f"the {other} is printed"
        )


def _sticking_out(card: Card, unit: Unit) -> Iterator[str]:
    """Layers beyond the card, or else beyond what they lie on."""
    placed = {ON_CARD: PlacedLayer(Layer(ON_CARD, ""), 0, 0, card.width, card.height)}
    for layer, over in zip(place_layers(card), overs_of(card), strict=True):
        placed[layer.layer.name] = layer
        for name in dict.fromkeys((ON_CARD, over)):
            beyond = _beyond(layer, placed[name])
            if beyond:
                what = "the card" if name == ON_CARD else f"{name} underneath"
                edges = ", ".join(
                    f"{with_unit(format_length(out, unit), unit)} at the {edge}"
                    for edge, out in beyond
                )
                yield f"{card.name}, {layer.layer.name}: sticks out of {what} by {edges}"
                break


def _beyond(upper: PlacedLayer, under: PlacedLayer) -> list[tuple[str, int]]:
    """How far a layer sticks out of what it lies on, edge by edge; a round edge counts as one."""
    if under.layer.circle is not None:
        out = _out_of_circle(upper, under)
        return [("round edge", out)] if out > 0 else []
    sides = [
        ("left", under.x - upper.x),
        ("right", upper.x + upper.width - under.x - under.width),
        ("top", upper.y + upper.height - under.y - under.height),
        ("bottom", under.y - upper.y),
    ]
    return [(edge, out) for edge, out in sides if out > 0]


def _out_of_circle(upper: PlacedLayer, under: PlacedLayer) -> int:
    """How far a layer reaches beyond a disc, rounded up to whole nm; 0 or less is inside."""
    radius = under.width  # of twice the size, so that centres are whole numbers
    dx = abs(2 * upper.x + upper.width - 2 * under.x - under.width)
    dy = abs(2 * upper.y + upper.height - 2 * under.y - under.height)
    if upper.layer.circle is not None:
        squared, more = dx * dx + dy * dy, upper.width
    else:
        squared, more = (dx + upper.width) ** 2 + (dy + upper.height) ** 2, 0
    reach = isqrt(squared - 1) + 1 + more if squared else more
    return -(-(reach - radius) // 2)


def _off_marks(piece: Piece, batch: Batch) -> Iterator[str]:
    """Sizes of a blank that lie between two marks of the trimmer's ruler."""
    width, height = piece.on_sheet(turned=piece.up in ("left", "right"))
    unit, marks = batch.unit, batch.trimmer.marks
    sizes = {"width": width, "height": height}
    if width == height:
        sizes = {"diameter" if piece.shape == "circle" else "side": width}
    allowance = " with the die allowance" if piece.die_allowance else ""
    for word, length in sizes.items():
        below, above = neighbouring_marks(length, marks)
        if below != above:
            nearest = below if length - below <= above - length else above
            yield (
                f"{piece.letter} {piece.name}: its {word}{allowance}, "
                f"{with_unit(format_length(length, unit), unit)}, lies between the marks "
                f"{format_length(below, unit)} and {format_length(above, unit)}; "
                f"the nearest is {format_length(nearest, unit)}"
            )
