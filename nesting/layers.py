"""Cards to pieces: defaults, sizes from reveals, places on the card, equal pieces merged."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TypeVar

from nesting.batch import (
    BASE,
    ON_CARD,
    At,
    Axis,
    Base,
    Batch,
    BatchError,
    Card,
    Edges,
    FaceName,
    Fault,
    Layer,
    LoosePiece,
    Paper,
    Piece,
    Score,
    Turn,
    Use,
    Where,
)
from nesting.nearest import Nearest

Path = tuple[str | int, ...]
_Facing = TypeVar("_Facing", Layer, LoosePiece)
#: By card and layer that has papers to choose from, how many sets take each of its options.
Taken = Mapping[tuple[str, str], tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class PlacedLayer:
    """A layer's place on the card, in nm from the card's lower left corner, as it is seen.

    A circle is given by the square round it. The ends of a wrapped layer lie behind and do not
    count.
    """

    layer: Layer
    x: int
    y: int
    width: int
    height: int


def fill_defaults(batch: Batch) -> Batch:
    """Fill in each face, turn and ``over`` that was left open.

    The default face is the only printed one, else the front; the default turn is ``never`` on a
    print with a direction; a layer lies on the one before it in the list that has the same
    ``where``, and the first on the card. Where there are papers to choose from, the turn stays
    open: each option has its own default.
    """
    return replace(
        batch,
        cards=tuple(_filled_card(batch, card) for card in batch.cards),
        pieces=tuple(_filled(batch, piece) for piece in batch.pieces),
    )


def _filled_card(batch: Batch, card: Card) -> Card:
    base = card.base
    if base is not None:
        base = replace(base, face=face_of(batch.paper(base.paper), base.face))
    layers = tuple(
        replace(_filled_layer(batch, layer), over=over)
        for layer, over in zip(card.layers, overs_of(card), strict=True)
    )
    return replace(card, base=base, layers=layers)


def _filled_layer(batch: Batch, layer: Layer) -> Layer:
    if layer.choice is None:
        return _filled(batch, layer)
    options = tuple(
        replace(option, face=face_of(batch.paper(option.paper), option.face))
        for option in layer.choice.options
    )
    first = options[0]
    choice = replace(layer.choice, options=options)
    return replace(layer, paper=first.paper, face=first.face, choice=choice)


def _filled(batch: Batch, asked: _Facing) -> _Facing:
    paper = batch.paper(asked.paper)
    face = face_of(paper, asked.face)
    turn: Turn = asked.turn or ("never" if paper.face(face).directed else "may")
    return replace(asked, face=face, turn=turn)


def face_of(paper: Paper, face: FaceName | None) -> FaceName:
    """The face asked for, or the only printed one, or the front."""
    printed = paper.printed_faces
    return face or (printed[0] if len(printed) == 1 else "front")


def overs_of(card: Card) -> list[str]:
    """The names of what the layers lie on."""
    before: dict[Where, str] = {}
    overs = []
    for layer in card.layers:
        overs.append(before.get(layer.where, ON_CARD) if layer.over is None else layer.over)
        before[layer.where] = layer.name
    return overs


def place_layers(card: Card) -> tuple[PlacedLayer, ...]:
    """Work out the size and place of every layer of a card, in the order of the list.

    Raises
    ------
    BatchError
        A reveal leaves nothing, or a layer lies on something that is not below it.
    """
    placed, faults = place(card)
    if faults:
        raise BatchError(tuple(faults))
    return tuple(placed)


def place(card: Card, nearest: Nearest | None = None) -> tuple[list[PlacedLayer], list[Fault]]:
    """The layers that can be placed, and what is wrong with the others."""
    ground = PlacedLayer(Layer(ON_CARD, ""), 0, 0, card.width, card.height)
    below: dict[str, PlacedLayer] = {}
    lost: set[str] = set()  # layers with a fault: what lies on them is not a fault of its own
    faults: list[Fault] = []
    nearest = nearest or Nearest()
    for number, (layer, over) in enumerate(zip(card.layers, overs_of(card), strict=True)):
        path: Path = ("cards", card.name, "layers", number)
        under = ground if over == ON_CARD else below.get(over)
        found: list[Fault] = []
        if layer.name in below or layer.name in lost or layer.name in (BASE, ON_CARD):
            found.append(_name_fault(path, layer.name))
        if under is None:
            if over not in lost:
                found.append(_over_fault(path, over, below, nearest))
        elif under is not ground and under.layer.where != layer.where:
            read = f"{layer.where}, over {over}, which lies {under.layer.where}"
            found.append(Fault((*path, "over"), read, "a layer on the same side of the card"))
        else:
            found.extend(_size_faults(path, layer, under))
        if under is None or found:
            lost.add(layer.name)
        else:
            below[layer.name] = _placed_on(under, layer, card)
        faults.extend(found)
    return list(below.values()), faults


def _name_fault(path: Path, name: str) -> Fault:
    if name in (BASE, ON_CARD):
        return Fault(
            (*path, "name"), f"a layer named {name!r}", f"another name: {name} is the card's own"
        )
    return Fault(
        (*path, "name"), f"a second layer named {name!r}", "a name for each layer of a card"
    )


def _over_fault(path: Path, over: str, below: Collection[str], nearest: Nearest) -> Fault:
    hint = nearest.words(over, {ON_CARD: None, **dict.fromkeys(below)})
    expected = f"a layer that stands earlier in the list; {hint}"
    return Fault((*path, "over"), f"over: {over!r}", expected)


def _size_faults(path: Path, layer: Layer, under: PlacedLayer) -> Iterator[Fault]:
    """What is wrong with a layer's size on what it lies on."""
    if layer.wrap and _is_round(layer, under):
        yield Fault((*path, "wrap"), "wrap on a circle", "no wrap: a circle has no ends")
    reveal = layer.reveal
    if reveal is None:
        return
    if (
        under.layer.circle is not None
        and len({reveal.left, reveal.right, reveal.top, reveal.bottom}) > 1
    ):
        yield Fault((*path, "reveal"), "a reveal per edge on a circle", "one reveal all round")
    width, height = _inside(under, reveal)
    if width <= 0 or height <= 0:
        yield Fault(
            (*path, "reveal"),
            "a reveal that leaves nothing of the layer",
            "a reveal of less than half of what lies underneath",
        )


def _is_round(layer: Layer, under: PlacedLayer) -> bool:
    """A reveal on a circle is a circle, too."""
    return layer.circle is not None or (layer.reveal is not None and under.layer.circle is not None)


def _inside(under: PlacedLayer, reveal: Edges) -> tuple[int, int]:
    """Width and height that a reveal leaves of what lies underneath."""
    return (
        under.width - reveal.left - reveal.right,
        under.height - reveal.top - reveal.bottom,
    )


def _placed_on(under: PlacedLayer, layer: Layer, card: Card) -> PlacedLayer:
    """A layer's rectangle: from the reveal, or from its size and ``at``."""
    if layer.reveal is not None:
        width, height = _inside(under, layer.reveal)
        if _is_round(layer, under):
            layer = replace(layer, circle=width)
        x, y = under.x + layer.reveal.left, under.y + layer.reveal.bottom  # type: ignore[union-attr]
        return PlacedLayer(layer, x, y, width, height)
    width = layer.circle or layer.width or under.width
    height = layer.circle or layer.height or under.height
    at = layer.at or At()
    if at.centre is not None:
        x, y = at.centre[0] - width // 2, at.centre[1] - height // 2
    else:
        x = _along(at.left, at.right, width, card.width, under.x + (under.width - width) // 2)
        y = _along(at.bottom, at.top, height, card.height, under.y + (under.height - height) // 2)
    return PlacedLayer(layer, x, y, width, height)


def _along(low: int | None, high: int | None, size: int, card: int, centred: int) -> int:
    """A layer's low edge on one axis: from the card's low edge, from its high edge, or centred."""
    if low is not None:
        return low
    return centred if high is None else card - high - size


@dataclass(frozen=True, slots=True)
class Wanted:
    """A piece for one layer of one card, before equal ones are merged."""

    piece: Piece
    use: Use
    path: Path


def pieces_of(batch: Batch, taken: Taken | None = None) -> tuple[Piece, ...]:
    """Work out every piece to be cut, equal ones merged, in the order of the file.

    A layer asks for ``(make + spares) x each`` pieces, a base for one per card and spare. Where
    there are papers to choose from, ``taken`` says how many sets take which; all the first, where
    it does not. The batch must be free of faults (``nesting.faults``).
    """
    merged: dict[Piece, list[Use]] = {}
    for want in [
        *wanted_of_cards(batch, taken=taken or {}),
        *(wanted_loose(batch, number, piece) for number, piece in enumerate(batch.pieces)),
    ]:
        merged.setdefault(want.piece, []).append(want.use)
    ids: set[str] = set()
    pieces = []
    for number, (piece, uses) in enumerate(merged.items()):
        first = uses[0]
        id_ = name = first.layer if first.card is None else f"{first.card}/{first.layer}"
        while id_ in ids:
            id_ += "'"
        ids.add(id_)
        name = " / ".join(dict.fromkeys(use.layer for use in uses))
        demand = sum(use.count for use in uses)
        pieces.append(
            replace(
                piece, id=id_, letter=letter(number), name=name, demand=demand, uses=tuple(uses)
            )
        )
    return tuple(pieces)


def letter(number: int) -> str:
    """Give the letter of a piece by its number: A to Z, AA, AB and so on.

    Examples
    --------
    >>> letter(0), letter(25), letter(26)
    ('A', 'Z', 'AA')
    """
    text = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


def wanted_of_cards(
    batch: Batch, without: frozenset[str] = frozenset(), taken: Taken | None = None
) -> Iterator[Wanted]:
    """Work out the pieces of all cards, without those from some papers.

    Without ``taken``, every option of a layer's papers is wanted for every set.
    """
    for card in batch.cards:
        sets = card.make + card.spares
        path: Path = ("cards", card.name)
        if card.base is not None and card.base.paper not in without:
            piece = _base_piece(batch, card, card.base)
            yield Wanted(piece, Use(card.name, BASE, sets), (*path, "base"))
        for number, placed in enumerate(place_layers(card)):
            layer = placed.layer
            width, height = _cut_size(placed)
            for option, count in zip(
                layer.options, _sets_taken(card, layer, sets, taken), strict=True
            ):
                if option.paper in without or not count:
                    continue
                chosen = replace(layer, paper=option.paper, face=option.face)
                piece = _piece(batch, chosen, layer.circle, width, height)
                use = Use(card.name, layer.name, count * layer.each)
                yield Wanted(piece, use, (*path, "layers", number))


def _sets_taken(card: Card, layer: Layer, sets: int, taken: Taken | None) -> tuple[int, ...]:
    """How many sets take each option of a layer."""
    number = len(layer.options)
    if taken is None:
        return (sets,) * number
    return taken.get((card.name, layer.name), (sets, *(0,) * (number - 1)))


def _cut_size(placed: PlacedLayer) -> tuple[int, int]:
    """Work out a layer's size with its wrapped ends.

    The ends are those of the axis that was left to the layer underneath, where just one was, and
    else those of the longer side.
    """
    layer = placed.layer
    if (layer.width is None) != (layer.height is None):
        along_width = layer.width is None
    else:
        along_width = placed.width >= placed.height
    wrap = 2 * layer.wrap
    return placed.width + wrap * along_width, placed.height + wrap * (not along_width)


def wanted_loose(batch: Batch, number: int, asked: LoosePiece) -> Wanted:
    """Work out a loose piece; ``number`` is its place in the list."""
    piece = _piece(batch, asked, asked.circle, asked.width or 0, asked.height or 0)
    return Wanted(piece, Use(None, asked.name, asked.count), ("pieces", number))


def _piece(batch: Batch, asked: _Facing, circle: int | None, width: int, height: int) -> Piece:
    """A piece as asked, still without letter and demand."""
    asked = _filled(batch, asked)
    paper = batch.paper(asked.paper)
    return _blank_piece(
        paper,
        face_of(paper, asked.face),
        size=(circle or width, circle or height),
        circle=circle is not None,
        turn=asked.turn or "may",
        die_allowance=asked.die_allowance,
    )


def _base_piece(batch: Batch, card: Card, base: Base) -> Piece:
    """The base laid flat: double the card across the fold, scored in the middle."""
    paper = batch.paper(base.paper)
    face = face_of(paper, base.face)
    width, height = card.width, card.height
    score = None
    if base.fold == "left":
        score, width = Score("x", card.width), 2 * width
    elif base.fold == "top":
        score, height = Score("y", card.height), 2 * height
    turn: Turn = "never" if paper.face(face).directed else "may"
    return _blank_piece(paper, face, size=(width, height), turn=turn, score=score)


def _blank_piece(
    paper: Paper,
    face: FaceName,
    *,
    size: tuple[int, int],
    turn: Turn,
    circle: bool = False,
    die_allowance: int = 0,
    score: Score | None = None,
) -> Piece:
    """A piece with its paper's print; the grain should run along its fold."""
    grain: Axis | None = None
    if score is not None and paper.grain is not None:
        grain = "y" if score.axis == "x" else "x"
    return Piece(
        id="",
        letter="",
        name="",
        shape="circle" if circle else "rect",
        width=size[0],
        height=size[1],
        die_allowance=die_allowance,
        paper=paper.name,
        face=face,
        print=paper.face(face).print,
        up=paper.face(face).up,
        turn=turn,
        grain=grain,
        score=score,
        demand=0,
        uses=(),
    )
