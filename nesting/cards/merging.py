"""What is asked for as pieces: sizes with what goes behind, prints and turns, equal ones merged."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import count, product

from nesting.batch import BASE, ENVELOPE, Base, Batch, Card, Envelope, KeyPath, LoosePiece
from nesting.cards.aslant import ends_behind
from nesting.cards.joining import ways_of
from nesting.cards.placing import PlacedLayer, belt_length
from nesting.papers import Axis, Edge, Edges, FaceName, Paper, Turn
from nesting.pieces import Piece, Score, Use
from nesting.units import Unit, neighbouring_marks

#: What is left at an end of an aslant strip that is trimmed flush (common practice, no source).
TRIMMED: dict[Unit, int] = {"in": 6_350_000, "mm": 6_000_000, "cm": 6_000_000}

#: By card and layer that can be cut in several ways, how many sets take each of these options.
Taken = Mapping[tuple[str, str], tuple[int, ...]]

#: A piece's id and the place of a use among its own.
PlaceOfUse = tuple[str, int]
#: What one layer of one card is cut as, once: one piece, or two ends.
Way = tuple[PlaceOfUse, ...]


@dataclass(frozen=True, slots=True)
class Request:
    """A piece that one layer of one card asks for, before equal ones are merged.

    It has no letter and no demand yet. ``sets`` cards and spares need ``each`` of it; ``option``
    is the number of its way among those in which the layer may be cut, from each paper that it may
    take: whole, or as two ends, which share a number. ``end`` is the edge that such an end reaches
    to. ``card`` None is a loose piece.
    """

    piece: Piece
    card: str | None
    layer: str
    path: KeyPath
    sets: int
    each: int = 1
    option: int = 0
    end: Edge | None = None

    def use(self, taken: Taken | None) -> Use:
        """How many are needed where so many sets take each option; None takes each for all sets."""
        sets = self.sets
        if taken is not None and self.card is not None:
            first = self.sets if self.option == 0 else 0
            shares = taken.get((self.card, self.layer))
            sets = first if shares is None else shares[self.option]
        return Use(self.card, self.layer, sets * self.each, self.end)


def requests_of(card: Card, placed: Mapping[str, PlacedLayer], batch: Batch) -> Iterator[Request]:
    """Work out what a card's base, layers and envelope ask for, every way to cut a layer."""
    papers = batch.papers_by_name
    sets = (card.make or 0) + card.spares
    path: KeyPath = ("cards", card.name)
    if card.base is not None:
        piece = _base_piece(card, card.base, papers[card.base.paper])
        yield Request(piece, card.name, BASE, (*path, "base"), sets)
    for number, layer in enumerate(card.layers):
        here = (*path, "layers", number)
        ways = product(layer.options, ways_of(placed, layer.name, batch))
        for at, (option, ends) in enumerate(ways):
            for end, size in ends:
                piece = _piece(
                    papers[option.paper],
                    option.face,
                    size or cut_size(placed[layer.name], batch),
                    circle=placed[layer.name].layer.circle,
                    turn=layer.turn,
                    die_allowance=layer.die_allowance,
                )
                yield Request(piece, card.name, layer.name, here, sets, layer.each, at, end)
    if card.envelope is not None and card.envelope.paper is not None:
        piece = _envelope_piece(card.envelope, papers[card.envelope.paper])
        yield Request(piece, card.name, ENVELOPE, (*path, "envelope"), sets)


def loose_request(number: int, asked: LoosePiece, papers: Mapping[str, Paper]) -> Request:
    """Work out what a loose piece asks for; ``number`` is its place in the list."""
    piece = _piece(
        papers[asked.paper],
        asked.face,
        (asked.width or 0, asked.height or 0),
        circle=asked.circle,
        turn=asked.turn,
        die_allowance=asked.die_allowance,
    )
    return Request(piece, None, asked.name, ("pieces", number), asked.count)


def by_way(requests: Iterable[Request]) -> dict[tuple[str, str], list[list[Request]]]:
    """By card and layer, what each way to cut the layer asks for; loose pieces have no ways."""
    found: dict[tuple[str, str], list[list[Request]]] = {}
    for one in requests:
        if one.card is not None:
            ways = found.setdefault((one.card, one.layer), [])
            ways.extend([] for _ in range(len(ways), one.option + 1))
            ways[one.option].append(one)
    return found


def merge(
    requests: Iterable[Request], taken: Taken | None, begun: Iterable[Piece]
) -> tuple[Piece, ...]:
    """Make one piece of equal ones; ``taken`` is as for ``Request.use``.

    A way that no set takes has no piece; a design that is not made at all has those of the first way
    of each layer. Pieces ``begun`` keep their letters, which no other piece gets, and count what is in
    the bags as far as it is asked for.
    """
    known = {nameless(piece): piece for piece in begun}
    used = {piece.letter for piece in known.values()}
    letters = (one for one in map(letter, count()) if one not in used)
    merged: dict[Piece, list[Use]] = {}
    for request in requests:
        use = request.use(taken)
        if use.count or not (request.sets or request.option):
            merged.setdefault(request.piece, []).append(use)
    ids: set[str] = set()
    pieces = []
    for piece, uses in merged.items():
        first = uses[0]
        id_ = first.layer if first.card is None else f"{first.card}/{first.layer}"
        while id_ in ids:
            id_ += "'"
        ids.add(id_)
        name = " / ".join(dict.fromkeys(use.name for use in uses))
        demand = sum(use.count for use in uses)
        before = known.get(piece)
        pieces.append(
            replace(
                piece,
                id=id_,
                letter=before.letter if before else next(letters),
                name=name,
                demand=demand,
                uses=tuple(uses),
                in_bags=min(before.in_bags, demand) if before else 0,
            )
        )
    return tuple(pieces)


def ways_among(pieces: Iterable[Piece], card: str | None) -> dict[str, list[Way]]:
    """By layer of a card, or by loose piece, the ways in which it is cut, in the order of the pieces.

    Of the joints of a layer, the one further to the right (or up) has a longer first and a shorter
    second end: so the ends are known that go together.
    """
    found: dict[str, list[Way]] = {}
    firsts: dict[tuple[str, str, FaceName], list[tuple[int, PlaceOfUse]]] = {}
    seconds: dict[tuple[str, str, FaceName], list[tuple[int, PlaceOfUse]]] = {}
    for piece in pieces:
        for number, use in enumerate(piece.uses):
            if use.card != card:
                continue
            if use.end is None:
                found.setdefault(use.layer, []).append(((piece.id, number),))
                continue
            ends = firsts if use.end in ("left", "bottom") else seconds
            length = piece.width if use.end in ("left", "right") else piece.height
            key = use.layer, piece.paper, piece.face
            ends.setdefault(key, []).append((length, (piece.id, number)))
    for key, ends_there in firsts.items():
        others = sorted(seconds[key], reverse=True)
        for (_, first), (_, second) in zip(sorted(ends_there), others, strict=True):
            found.setdefault(key[0], []).append((first, second))
    return found


def sets_missing(
    pieces: tuple[Piece, ...], card: Card, uncut: Iterable[tuple[str, Use]]
) -> dict[str, int]:
    """By layer of a card, how many sets lack a piece; of two ends, a set lacks either.

    ``uncut`` are the uses of pieces, by their ids, that are not cut.
    """
    each = {layer.name: layer.each for layer in card.layers}
    counts = {(id_, use.layer, use.end): use.count for id_, use in uncut if use.card == card.name}
    missing = {
        (piece.id, number): counts.get((piece.id, use.layer, use.end), 0)
        for piece in pieces
        for number, use in enumerate(piece.uses)
        if use.card == card.name
    }
    return {
        layer: -(-sum(max(map(missing.__getitem__, way)) for way in ways) // each.get(layer, 1))
        for layer, ways in ways_among(pieces, card.name).items()
    }


def nameless(piece: Piece) -> Piece:
    """What makes two pieces equal: all of a piece but its names, its number and what it is for."""
    return replace(piece, id="", letter="", name="", demand=0, uses=(), in_bags=0)


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


def cut_size(placed: PlacedLayer, batch: Batch) -> tuple[int, int]:
    """Work out a layer's size with what is folded behind, trimmed off, or goes round the card."""
    layer, slant, behind = placed.layer, placed.slant, placed.behind
    width, height = placed.width, placed.height
    if layer.belt is not None:
        length = belt_length(placed, batch)
    elif slant is not None and slant.strip:
        least = slant.reach + sum(end or TRIMMED[batch.unit] for end in ends_behind(layer))
        _, length = neighbouring_marks(least, batch.trimmer.marks)
    elif slant is not None:
        return layer.width or 0, layer.height or 0
    else:
        return width + behind.left + behind.right, height + behind.top + behind.bottom
    return (length, layer.height or 0) if placed.runs_across else (layer.width or 0, length)


def _base_piece(card: Card, base: Base, paper: Paper) -> Piece:
    """The base laid flat: double the card across the fold, scored in the middle."""
    width, height = card.width, card.height
    score = None
    if base.fold == "left":
        score, width = Score("x", card.width), 2 * width
    elif base.fold == "top":
        score, height = Score("y", card.height), 2 * height
    return _piece(paper, base.face, (width, height), score=score)


def _envelope_piece(envelope: Envelope, paper: Paper) -> Piece:
    """The envelope laid flat: its front in the middle, scored along each of its edges."""
    width, height, folds = envelope.width or 0, envelope.height or 0, envelope.folds or Edges()
    scores = (
        Score("x", folds.left),
        Score("x", folds.left + width),
        Score("y", folds.bottom),
        Score("y", folds.bottom + height),
    )
    flat = folds.left + width + folds.right, folds.bottom + height + folds.top
    return replace(_piece(paper, envelope.face, flat), scores=scores)


def _piece(
    paper: Paper,
    face: FaceName | None,
    size: tuple[int, int],
    *,
    circle: int | None = None,
    turn: Turn | None = None,
    die_allowance: int = 0,
    score: Score | None = None,
) -> Piece:
    """A piece with its paper's print and usual turn; the grain should run along its fold."""
    seen = face or paper.default_face
    side = paper.face(seen)
    grain: Axis | None = None
    if score is not None and paper.grain is not None:
        grain = "y" if score.axis == "x" else "x"
    return Piece(
        id="",
        letter="",
        name="",
        shape="circle" if circle else "rect",
        width=circle or size[0],
        height=circle or size[1],
        die_allowance=die_allowance,
        paper=paper.name,
        face=seen,
        print=side.print,
        up=side.up,
        turn=turn or side.default_turn,
        grain=grain,
        score=score,
        demand=0,
        uses=(),
    )
