"""Small changes of a batch that may save paper: each a family of steps, the gentlest first."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from nesting.advice.looks import reveal_words
from nesting.advice.variants import Change
from nesting.batch import ON_CARD, Batch, Card, KeyPath, Layer, LoosePiece
from nesting.cards.clashes import find_clashes
from nesting.cards.joining import joints_of
from nesting.cards.middles import find_middles
from nesting.cards.resolving import Resolved
from nesting.papers import Edges, FaceName, Paper, Turn
from nesting.pieces import Piece, Use
from nesting.units import NANOMETRES, Unit, length_words, size_words

ChangeKind = Literal[
    "middles", "join", "turn", "face", "size", "reveal", "card size", "fewer", "sheet"
]

#: How much smaller a size may become: what a card hardly shows.
_MOST_SMALLER: dict[Unit, int] = {"in": 6_350_000, "mm": 5_000_000, "cm": 5_000_000}
#: A ruler with finer marks than this many within that is gone through in larger steps.
_MOST_STEPS = 16
_INCH, _MM = NANOMETRES["in"], NANOMETRES["mm"]
#: Sheets common in the trade, as bought for cards: width and height in nm.
COMMON_SHEETS = (
    (12 * _INCH, 12 * _INCH),
    (17 * _INCH // 2, 11 * _INCH),
    (210 * _MM, 297 * _MM),
    (300 * _MM, 300 * _MM),
    (297 * _MM, 420 * _MM),
    (8 * _INCH, 8 * _INCH),
    (6 * _INCH, 6 * _INCH),
)


@dataclass(frozen=True, slots=True)
class SmallChange:
    """One change that may be suggested: in words, what to know about it, how much smaller in nm."""

    words: str
    changes: tuple[Change, ...]
    note: str = ""
    amount: int = 0


@dataclass(frozen=True, slots=True)
class Family:
    """Changes of one thing in one way; where there are several, each saves what those before do.

    ``axes`` counts in how many directions the thing becomes smaller.
    """

    thing: str
    kind: ChangeKind
    steps: tuple[SmallChange, ...]
    axes: int = 0


def change_families(asked: Resolved) -> Iterator[Family]:
    """Every small change of a batch, in the order of its file."""
    batch = asked.batch
    for card in batch.cards:
        yield from _smaller_cards(batch, card)
        for number, layer in enumerate(card.layers):
            path: KeyPath = ("cards", card.name, "layers", number)
            name = f"{card.name}, {layer.name}"
            if layer.reveal is not None:
                yield from _larger_reveals(batch, name, [path], layer.reveal)
            else:
                yield from _smaller(batch, name, ((path, layer),))
            yield from _other_ways(batch, name, path, layer)
            yield from _joined(asked, card, path, layer)
        for part, key in ((card.base, "base"), (card.envelope, "envelope")):
            if part is not None and part.paper is not None:
                path = ("cards", card.name, key)
                yield from _other_face(batch, f"{card.name}, {key}", path, part.paper, part.face)
        if card.make is not None and card.make > 1:
            yield _fewer(("cards", card.name, "make"), card.name, card.make, " cards")
    for number, piece in enumerate(batch.pieces):
        path = ("pieces", number)
        yield from _smaller(batch, piece.name, ((path, piece),))
        yield from _other_ways(batch, piece.name, path, piece)
        if piece.count > 1:
            yield _fewer((*path, "count"), piece.name, piece.count, "")
    yield from _shared(batch, asked.pieces())
    for paper in batch.papers:
        yield from _other_sheets(batch, paper)
    yield from _saved_middles(asked)


def _lower_marks(batch: Batch, size: int) -> list[int]:
    """The ruler marks below a size, as far as it may become smaller, the largest first."""
    marks, most = _step(batch), _MOST_SMALLER[batch.unit]
    first = (size - 1) // marks * marks
    return [mark for mark in range(first, 0, -marks) if size - mark <= most]


def _step(batch: Batch) -> int:
    marks = batch.trimmer.marks
    return marks * max(1, -(-_MOST_SMALLER[batch.unit] // (marks * _MOST_STEPS)))


def _sizes(batch: Batch, width: int, height: int) -> Iterator[tuple[int, list[tuple[int, int]]]]:
    """Smaller sizes: narrower, lower, and both; in how many directions."""
    narrower, lower = _lower_marks(batch, width), _lower_marks(batch, height)
    yield 1, [(mark, height) for mark in narrower]
    yield 1, [(width, mark) for mark in lower]
    yield 2, list(zip(narrower, lower, strict=False))


def _smaller_cards(batch: Batch, card: Card) -> Iterator[Family]:
    """A smaller card, and with it all whose size comes from a reveal."""
    for axes, sizes in _sizes(batch, card.width, card.height):
        steps = tuple(
            SmallChange(
                f"{card.name}: the card {_instead(batch, size, (card.width, card.height))}",
                (Change(("cards", card.name, "size"), size),),
                amount=max(card.width - size[0], card.height - size[1]),
            )
            for size in sizes
        )
        yield Family(card.name, "card size", steps, axes)


def _instead(batch: Batch, size: tuple[int, int], before: tuple[int, int]) -> str:
    words = [size_words(*one, batch.unit) for one in (size, before)]
    return " instead of ".join(words)


def _larger_reveals(
    batch: Batch, name: str, layers: Sequence[KeyPath], reveal: Edges
) -> Iterator[Family]:
    """More of the layer underneath shows all round, by equal steps: what lies on top gets smaller."""
    step = _step(batch)
    steps = []
    for more in range(step, _MOST_SMALLER[batch.unit] // 2 + 1, step):
        larger = Edges(
            reveal.left + more, reveal.right + more, reveal.top + more, reveal.bottom + more
        )
        words = " instead of ".join(reveal_words(one, batch.unit) for one in (larger, reveal))
        changes = tuple(Change((*path, "reveal"), larger) for path in layers)
        steps.append(SmallChange(f"{name}: reveal {words}", changes, amount=2 * more))
    yield Family(name, "reveal", tuple(steps), 2)


def _smaller(
    batch: Batch, name: str, asked: tuple[tuple[KeyPath, Layer | LoosePiece], ...]
) -> Iterator[Family]:
    """A piece with a size of its own, smaller wherever it is asked for."""
    first = asked[0][1]
    if first.circle is not None:
        sizes = [(1, [(mark, mark) for mark in _lower_marks(batch, first.circle)])]
    else:
        sizes = list(_sizes(batch, first.width or 1, first.height or 1))
    for axes, smaller in sizes:
        steps = []
        for size in smaller:
            changes = tuple(_resized(path, one, size) for path, one in asked)
            words = f"{name}: {_size_words(batch, first, changes[0])}"
            steps.append(SmallChange(words, changes, amount=max(_given(first, size))))
        yield Family(name, "size", tuple(steps), axes)


def _given(asked: Layer | LoosePiece, size: tuple[int, int]) -> tuple[int, int]:
    """How much smaller each side becomes."""
    if asked.circle is not None:
        return asked.circle - size[0], 0
    return (asked.width or size[0]) - size[0], (asked.height or size[1]) - size[1]


def _size_words(batch: Batch, asked: Layer | LoosePiece, change: Change) -> str:
    key = str(change.path[-1])
    if key == "size":
        return _instead(batch, change.value, (asked.width or 0, asked.height or 0))
    words = (length_words(one, batch.unit) for one in (change.value, getattr(asked, key)))
    return f"{key} {' instead of '.join(words)}"


def _resized(path: KeyPath, asked: Layer | LoosePiece, size: tuple[int, int]) -> Change:
    if asked.circle is not None:
        return Change((*path, "circle"), size[0])
    if asked.width is not None and asked.height is not None:
        return Change((*path, "size"), size)
    key, value = ("width", size[0]) if asked.width is not None else ("height", size[1])
    return Change((*path, key), value)


def _shared(batch: Batch, pieces: tuple[Piece, ...]) -> Iterator[Family]:
    """A piece that several layers ask for, smaller for all of them at once."""
    for piece in pieces:
        found = [_asked_by(batch, use) for use in piece.uses]
        asked = tuple(one for one in found if one is not None)
        if len(asked) < 2 or len(asked) < len(found):
            continue
        size = size_words(piece.width, piece.height, batch.unit)
        name = f"every {piece.name}, {size}"
        reveals = {one.reveal if isinstance(one, Layer) else None for _, one in asked}
        sizes = {(one.width, one.height, one.circle) for _, one in asked}
        if len(reveals) == 1 and (reveal := reveals.pop()) is not None:
            yield from _larger_reveals(batch, name, [path for path, _ in asked], reveal)
        elif len(sizes) == 1 and sizes != {(None, None, None)}:
            yield from _smaller(batch, name, asked)


def _asked_by(batch: Batch, use: Use) -> tuple[KeyPath, Layer | LoosePiece] | None:
    """The layer or loose piece that a piece is for; None for what is none, or where names are the same."""
    if use.card is None:
        same = [n for n, one in enumerate(batch.pieces) if one.name == use.layer]
        return (("pieces", same[0]), batch.pieces[same[0]]) if len(same) == 1 else None
    (card,) = (card for card in batch.cards if card.name == use.card)
    for at, layer in enumerate(card.layers):
        if layer.name == use.layer:
            return ("cards", card.name, "layers", at), layer
    return None


def _other_ways(
    batch: Batch, name: str, path: KeyPath, asked: Layer | LoosePiece
) -> Iterator[Family]:
    """A quarter turn allowed, or the other face."""
    face = batch.paper(asked.paper).face(asked.face or "front")
    if asked.turn in ("never", "must"):
        note = f"some may lie on their side: the print is {face.print}" if face.directed else ""
        step = SmallChange(
            f"{name}: may be turned a quarter", (Change((*path, "turn"), "may"),), note
        )
        yield Family(name, "turn", (step,))
    if isinstance(asked, LoosePiece) or asked.choice is None:  # a choice names its faces itself
        yield from _other_face(batch, name, path, asked.paper, asked.face, asked.turn)


def _other_face(
    batch: Batch,
    name: str,
    path: KeyPath,
    paper: str,
    face: FaceName | None,
    turn: Turn | None = None,
) -> Iterator[Family]:
    """The other face, where both are printed, turned as that face allows."""
    of = batch.paper(paper)
    if len(of.printed_faces) < 2 or face is None:
        return
    other: FaceName = "back" if face == "front" else "front"
    usual = of.face(other).default_turn
    changes = [Change((*path, "face"), other)]
    if turn == of.face(face).default_turn != usual:
        changes.append(Change((*path, "turn"), usual))
    step = SmallChange(f"{name}: the {other} of {paper} instead of the {face}", tuple(changes))
    yield Family(name, "face", (step,))


def _joined(asked: Resolved, card: Card, path: KeyPath, layer: Layer) -> Iterator[Family]:
    """A layer that may be cut as two ends, where the layers above hide the joint."""
    may = replace(layer, join="may")
    (placed,) = (p for one, p in zip(asked.batch.cards, asked.placed, strict=True) if one == card)
    if layer.join != "never" or any(find_clashes(path, may, placed[layer.over or ON_CARD].layer)):
        return
    joints = joints_of(placed, layer.name, asked.batch)
    if joints:
        covers = " or ".join(dict.fromkeys(" and ".join(joint.under) for joint in joints))
        words = (
            f"{card.name}, {layer.name}: two ends where that saves, the joint hidden by {covers}"
        )
        step = SmallChange(words, (Change((*path, "join"), "may"),))
        yield Family(f"{card.name}, {layer.name}", "join", (step,))


def _fewer(path: KeyPath, name: str, count: int, what: str) -> Family:
    step = SmallChange(f"{name}: {count - 1}{what} instead of {count}", (Change(path, count - 1),))
    return Family(name, "fewer", (step,))


def _saved_middles(asked: Resolved) -> Iterator[Family]:
    """Covered middles cut out and cut from, where something can be cut from one."""
    batch = asked.batch
    if batch.save_middles:
        return
    if find_middles(replace(batch, save_middles=True), asked.placed, asked.pieces()):
        words = "the covered middles saved: what layers hide is cut out and cut from"
        note = "they are cut out with knife and steel rule, before anything is glued on"
        step = SmallChange(words, (Change(("save middles",), value=True),), note)
        yield Family(batch.name, "middles", (step,))


def _other_sheets(batch: Batch, paper: Paper) -> Iterator[Family]:
    """Another size of sheet, of a paper that can be bought in one size so far."""
    if not batch.may_buy(paper) or len(paper.sheets) != 1 or paper.sheets[0].offcut:
        return
    (sheet,) = paper.sheets
    note = "all of it is to buy"
    if sheet.price is not None:
        note += "; the price in the file is of the other size"
    for size in COMMON_SHEETS:
        if sorted(size) == sorted((sheet.width, sheet.height)):
            continue
        path: KeyPath = ("papers", paper.name)
        changes = (Change((*path, "sheet"), size), Change((*path, "have"), 0))
        words = f"{paper.name}: sheets of {_instead(batch, size, (sheet.width, sheet.height))}"
        yield Family(paper.name, "sheet", (SmallChange(words, changes, note),))
