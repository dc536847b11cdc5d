"""What may not be meant: said plainly, kept in the plan, never a reason to refuse."""

from collections.abc import Iterator, Mapping
from dataclasses import asdict
from math import hypot, isqrt

from nesting.batch import ENVELOPE, ON_CARD, At, Batch, Card, KeyPath, Layer
from nesting.cards.enclosing import enclosed
from nesting.cards.joining import hiding_words
from nesting.cards.placing import PlacedLayer, place
from nesting.cards.resolving import Resolved
from nesting.nearest import Nearest
from nesting.papers import FaceName, Paper
from nesting.pieces import Piece
from nesting.units import (
    NANOMETRES,
    Unit,
    format_length,
    length_words,
    neighbouring_marks,
    size_words,
)

#: A wider reveal all round is asked about.
_WIDEST_REVEAL: dict[Unit, int] = {"in": 12_700_000, "mm": 12_000_000, "cm": 12_000_000}

#: A sheet or card with no longer side, or a piece with none, is likelier measured in inches; whatever
#: is longer than the last, in millimetres.
_SMALLEST, _SMALLEST_PIECE, _LARGEST = 40_000_000, 12_000_000, 1_200_000_000


def find_warnings(asked: Resolved, pieces: tuple[Piece, ...]) -> tuple[str, ...]:
    """Say plainly what may not be meant.

    Layers that stick out or have no joint, plain sides of printed papers, sizes off the marks, folds. What is asked
    is free of faults; ``pieces`` are those of the plan.
    """
    batch = asked.batch
    papers = batch.papers_by_name
    found: list[str] = []
    for card, placed in zip(batch.cards, asked.placed, strict=True):
        found.extend(f"{card.name}, {said}" for _, said in wide_reveals(card, batch.unit))
        found.extend(_sticking_out(card, placed, batch.unit))
        found.extend(_tight(card, placed, batch.unit))
        found.extend(_without_joint(card, asked))
        if card.base is not None and card.base.fold == "top":
            paper, face = papers[card.base.paper], card.base.face or "front"
            if paper.face(face).print == "one-way":
                found.append(
                    f"{card.name}, base: folded at the top, the one-way print of {paper.name} "
                    f"({face}) stands upside down on the back of the card"
                )
    for piece in pieces:
        found.extend(_plain_side(piece, papers[piece.paper]))
        found.extend(_off_marks(piece, batch.trimmer.marks, batch.unit))
    return tuple(found)


def _tight(card: Card, placed: Mapping[str, PlacedLayer], unit: Unit) -> Iterator[str]:
    """An envelope of a size of its own in which the card has less room than it should."""
    one = card.envelope
    if one is None or one.width is None or one.height is None:
        return
    inside = enclosed(card, placed, unit)
    lacks = inside.lacking(one.width, one.height)
    if lacks > 0:
        least, there = (length_words(room, unit) for room in (inside.room, inside.room - lacks))
        yield (
            f"{card.name}, {ENVELOPE}: only {there} larger than the card with its layers; "
            f"{least} is usual for it"
        )


def _without_joint(card: Card, asked: Resolved) -> Iterator[str]:
    """Layers that may be cut as two ends and have no joint that the layers above hide."""
    joined = {one.layer for one in asked.requests if one.card == card.name and one.end}
    for layer in card.layers:
        if layer.join != "never" and layer.name not in joined:
            yield (
                f"{card.name}, {layer.name}: no joint is hidden, as no layer above covers "
                f"{hiding_words(asked.batch)}; it is cut in one piece"
            )


def find_slips(batch: Batch) -> Iterator[tuple[KeyPath, str]]:
    """Find what looks like a slip of the pen: its place in a batch file, and what is asked."""
    sizes: list[tuple[KeyPath, str, int | None, int | None, int]] = []
    for paper in batch.papers:
        for number, one in enumerate(paper.sheets):
            key = ("sheets", number, "size") if len(paper.sheets) > 1 else ("sheet",)
            if not one.offcut:
                path = ("papers", paper.name, *key)
                sizes.append((path, f"{paper.name}: a sheet", one.width, one.height, _SMALLEST))
    for card in batch.cards:
        path = ("cards", card.name)
        sizes.append(((*path, "size"), f"{card.name}: a card", card.width, card.height, _SMALLEST))
        for number, words in wide_reveals(card, batch.unit):
            yield (*path, "layers", number, "reveal"), words
        for number, words in _off_card(card):
            yield (*path, "layers", number, "at"), words
    for number, piece in enumerate(batch.pieces):
        what = f"{piece.name}: a piece"
        path = ("pieces", number, "size")
        sizes.append((path, what, piece.width, piece.height, _SMALLEST_PIECE))
    for path, what, width, height, least in sizes:
        if width and height and not least <= max(width, height) <= _LARGEST:
            meant = "inches" if max(width, height) < least else "mm"
            yield path, f"{what} of {size_words(width, height, batch.unit)}; did you mean {meant}?"


def _off_card(card: Card) -> Iterator[tuple[int, str]]:
    """Layers that lie wholly beside the card, or the envelope, and what they lie on: there is nothing to glue them on."""
    placed, _ = place(card, Nearest())
    for number, layer in enumerate(card.layers):
        own = placed.get(layer.name)
        grounds = {layer.ground, layer.over or layer.ground}
        if own is not None and all(_misses(own, placed[name]) for name in grounds):
            ground = "the envelope" if layer.ground == ENVELOPE else "the card"
            yield number, f"{layer.name}: lies wholly beside {ground}; is that meant?"


def _misses(upper: PlacedLayer, under: PlacedLayer) -> bool:
    """Whether no part of a layer lies on another; of what lies aslant, the upright rectangle round it."""
    across = max(under.x - upper.x - upper.width, upper.x - under.x - under.width)
    up = max(under.y - upper.y - upper.height, upper.y - under.y - under.height)
    if upper.layer.circle is None:
        return across >= 0 or up >= 0
    radius = upper.width / 2  # of a disc, the middle counts
    return hypot(max(0, across + radius), max(0, up + radius)) >= radius


def wide_reveals(card: Card, unit: Unit) -> Iterator[tuple[int, str]]:
    """Reveals that look like slips of the pen: the layer's number, and what is asked.

    A reveal is seldom more than 1/2 in all round, or ten times that of another layer (common
    practice, no source).
    """
    least = [_all_round(layer) for layer in card.layers]
    for number, (layer, reveal) in enumerate(zip(card.layers, least, strict=True)):
        others = [other for n, other in enumerate(least) if n != number and other]
        if reveal > _WIDEST_REVEAL[unit] or (others and reveal >= 10 * max(others)):
            size = length_words(reveal, unit)
            meant = _meant_reveal(reveal, unit)
            question = f"did you mean {meant}?" if meant else "is that meant?"
            yield number, f"{layer.name}: a reveal of {size} all round; {question}"


def _all_round(layer: Layer) -> int:
    """What a reveal leaves along every edge at least."""
    edges = layer.reveal
    return min(edges.left, edges.right, edges.top, edges.bottom) if edges is not None else 0


def _meant_reveal(reveal: int, unit: Unit) -> str | None:
    """The fraction without its whole inches, or a tenth where there are decimals."""
    if unit == "in":
        meant = reveal % NANOMETRES["in"]
        text = format_length(meant, unit)
        return text if 0 < meant < reveal and not text.endswith("mm") else None
    text = format_length(reveal // 10, unit)
    return text if reveal % 10 == 0 and "≈" not in text else None


def _plain_side(piece: Piece, paper: Paper) -> Iterator[str]:
    """A face that is plain, of a paper whose other face is printed."""
    other: FaceName = "back" if piece.face == "front" else "front"
    if paper.face(piece.face).print == "plain" and paper.face(other).print != "plain":
        yield (
            f"{piece.letter} {piece.name}: shows the {piece.face} of {paper.name}, which is plain; "
            f"the {other} is printed"
        )


def _sticking_out(card: Card, placed: Mapping[str, PlacedLayer], unit: Unit) -> Iterator[str]:
    """Layers beyond the card, or else beyond what they lie on."""
    for layer in card.layers:
        over = layer.over or layer.ground
        for name in dict.fromkeys((layer.ground, over)):
            beyond = _beyond(placed[layer.name], placed[name])
            if beyond:
                ground = "the envelope" if name == ENVELOPE else "the card"
                what = ground if name == layer.ground else f"{name} underneath"
                edges = ", ".join(
                    f"{length_words(out, unit)} at the {edge}" for edge, out in beyond
                )
                centred = _centred_words(layer, over, beyond) if name == ON_CARD else ""
                yield f"{card.name}, {layer.name}: sticks out of {what} by {edges}{centred}"
                break


def _centred_words(layer: Layer, over: str, beyond: list[tuple[str, int]]) -> str:
    """What a layer is centred on along the edges at which it leaves the card, if it is."""
    at = layer.at or At()
    if over == ON_CARD or layer.reveal is not None or at.centre is not None:
        return ""
    edges = {edge for edge, _ in beyond}
    axes = (("from left to right", {"left", "right"}), ("from top to bottom", {"top", "bottom"}))
    centred = [
        words
        for words, ends in axes
        if len(edges & ends) == 1 and all(getattr(at, end) is None for end in ends)
    ]
    if not centred:
        return ""
    return f"; {' and '.join(centred)} it is centred on {over} (over: {ON_CARD} centres it on the card)"


def _beyond(upper: PlacedLayer, under: PlacedLayer) -> list[tuple[str, int]]:
    """How far a layer sticks out of what it lies on, edge by edge; a round edge counts as one.

    An aslant strip is trimmed or folded; beyond what lies aslant itself nothing is looked for.
    """
    if under.slant or (upper.slant and upper.slant.strip):
        return []
    if under.layer.circle is not None:
        out = _out_of_circle(upper, under)
        return [("round edge", out)] if out > 0 else []
    shows = asdict(upper.reveal_on(under))
    return [(edge, -shown) for edge, shown in shows.items() if shown < 0]


def _out_of_circle(upper: PlacedLayer, under: PlacedLayer) -> int:
    """How far a layer reaches beyond a disc, rounded up to whole nm; 0 or less is inside."""
    radius = under.width  # of twice the size, so that centres are whole numbers
    middle_x, middle_y = 2 * under.x + under.width, 2 * under.y + under.height
    if upper.layer.circle is not None:
        dx, dy = 2 * upper.x + upper.width - middle_x, 2 * upper.y + upper.height - middle_y
        squared, more = dx * dx + dy * dy, upper.width
    else:
        far = ((2 * x - middle_x) ** 2 + (2 * y - middle_y) ** 2 for x, y in upper.corners)
        squared, more = max(far), 0
    reach = isqrt(squared - 1) + 1 + more if squared else more
    return -(-(reach - radius) // 2)


def _off_marks(piece: Piece, marks: int, unit: Unit) -> Iterator[str]:
    """Sizes of a blank that lie between two marks of the trimmer's ruler."""
    width, height = piece.on_sheet(turned=piece.up in ("left", "right"))
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
                f"{length_words(length, unit)}, lies between the marks "
                f"{format_length(below, unit)} and {format_length(above, unit)}; "
                f"the nearest is {format_length(nearest, unit)}"
            )
