"""Random batches like those of the trade, reproducible by their seed."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from random import Random

from nesting.batch import Base, Batch, Card, Fold, Layer, LoosePiece
from nesting.papers import Edge, Edges, Face, FaceName, Paper, Print, Sheet
from nesting.typed_lengths import parse_length, parse_size

#: Finished card sizes in inches: common practice, no source.
CARD_SIZES = (
    "4 1/4 x 5 1/2", "4 1/4 x 5 1/2", "4 1/4 x 5 1/2", "5 1/2 x 4 1/4", "3 1/2 x 4 7/8",
    "4 1/2 x 6 1/4", "5 x 7", "7 x 5", "4 x 5 1/2", "4 x 6", "5 x 5", "5 1/4 x 5 1/4", "6 x 6",
    "3 1/2 x 8 1/2", "3 1/2 x 6", "3 7/8 x 9 1/4", "5 1/2 x 8 1/2",
)  # fmt: skip
_REVEALS = ("1/8", "1/8", "1/8", "1/8", "1/16", "1/4")
_BANDS = ("1/2", "3/4", "1", "1", "1 1/4", "1 1/2")
_CIRCLES = ("1", "1 1/2", "2", "2 1/2")
_PRINTS: tuple[Print, ...] = ("one-way", "two-way", "four-way", "four-way")
_FACES: tuple[FaceName, ...] = ("front", "back")
_FOLDS: tuple[Fold, ...] = ("left", "top")
_UPS: tuple[Edge, ...] = ("top", "top", "top", "left")


def card_batch(seed: int) -> Batch:
    """Make a batch of 3 to 12 designs, 6 to 50 cards of each.

    Bases come from one cardstock, mats from another or the same, panels and bands from one or two
    printed papers, circles from any; every paper has plenty of sheets.
    """
    rng = Random(f"cards {seed}")
    letter, square = parse_size("8 1/2 x 11", "in"), parse_size("12 x 12", "in")
    cardstocks = [
        Paper("cream cardstock", (Sheet(*letter),), grain=rng.choice(("long", None))),
        Paper("brick cardstock", (Sheet(*letter),)),
    ]
    printed = [
        Paper(
            name,
            (Sheet(*square),),
            front=Face(rng.choice(_PRINTS), rng.choice(_UPS)),
            back=Face(rng.choice(_PRINTS), rng.choice(_UPS)),
        )
        for name in ("pear toss", "bee stripe")[: rng.randint(1, 2)]
    ]
    cards = [_card(rng, n, cardstocks, printed) for n in range(rng.randint(3, 12))]
    batch = Batch(f"cards {seed}", "in", (*cardstocks, *printed), tuple(cards))
    return _with_papers_used(batch)


def _with_papers_used(batch: Batch) -> Batch:
    """The batch without papers that nothing is cut from."""
    papers = tuple(paper for paper in batch.papers if paper.name in batch.papers_used)
    return replace(batch, papers=papers)


def _card(rng: Random, number: int, cardstocks: list[Paper], printed: list[Paper]) -> Card:
    size = parse_size(rng.choice(CARD_SIZES), "in")
    reveal = Edges(*[parse_length(rng.choice(_REVEALS), "in")] * 4)
    layers = [Layer("mat", rng.choice(cardstocks).name, reveal=reveal)]
    paper = rng.choice(printed)
    layers.append(Layer("panel", paper.name, face=rng.choice(_FACES), reveal=reveal))
    if rng.random() < 0.5:
        band = parse_length(rng.choice(_BANDS), "in")
        other = rng.choice(printed)
        face = rng.choice(_FACES)
        layers.append(Layer("band", other.name, face=face, over="panel", height=band))
    if rng.random() < 0.4:
        circle = parse_length(rng.choice(_CIRCLES), "in")
        layers.append(Layer("moon", rng.choice(cardstocks).name, over="panel", circle=circle))
    base = None
    folds = [fold for fold in _FOLDS if _fits_letter(size, fold)]
    if folds and rng.random() < 0.8:  # otherwise bought ready
        base = Base(cardstocks[0].name, fold=rng.choice(folds))
    return Card(f"design {number + 1}", rng.randint(6, 50), *size, base, tuple(layers))


def few_batch(seed: int) -> Batch:
    """Make a list of 5 to 20 pieces, 1 to 6 of each, from one paper."""
    rng = Random(f"few {seed}")
    paper = _paper(rng)
    loose = [
        replace(loose_piece(rng, number, paper), count=rng.randint(1, 6))
        for number in range(rng.randint(5, 20))
    ]
    return Batch(f"few {seed}", "in", (paper,), pieces=tuple(loose))


def small_batch(seed: int) -> Batch:
    """Make a list of 2 to 4 pieces, 1 to 3 of each and not more than 7, that fill much of one sheet."""
    rng = Random(f"small {seed}")
    paper = _paper(rng)
    sheet = paper.sheets[0]
    left, most = int(0.9 * sheet.width * sheet.height), 7
    loose: list[LoosePiece] = []
    for number in range(rng.randint(2, 4)):
        piece, count = loose_piece(rng, number, paper), rng.randint(1, 3)
        area = (piece.width or 0) * (piece.height or 0)
        count = min(count, most, left // area)
        if count:
            left, most = left - count * area, most - count
            loose.append(replace(piece, count=count))
    return Batch(f"small {seed}", "in", (paper,), pieces=tuple(loose))


def tight_batch(seed: int) -> Batch:
    """Make a list of pieces whose areas come to just below 1, 2 or 3 sheets."""
    rng = Random(f"tight {seed}")
    paper = _paper(rng)
    sheet = paper.sheets[0]
    left = int(rng.randint(1, 3) * sheet.width * sheet.height * rng.uniform(0.96, 1.0))
    loose: dict[tuple[int, int], LoosePiece] = {}
    misses = 0
    while misses < 30:
        piece = loose_piece(rng, len(loose), paper)
        key = piece.width or 0, piece.height or 0
        if key[0] * key[1] > left:
            misses += 1
            continue
        left -= key[0] * key[1]
        known = loose.get(key, replace(piece, count=0))
        loose[key] = replace(known, count=known.count + 1)
    return Batch(f"tight {seed}", "in", (paper,), pieces=tuple(loose.values()))


def planted_batch(seed: int) -> tuple[Batch, int]:
    """Cut 2 to 4 sheets up at random, hardly anything left over; the pieces, and the sheets."""
    rng = Random(f"planted {seed}")
    paper = _paper(rng)
    sheet, sheets = paper.sheets[0], rng.randint(2, 4)
    counted = Counter(
        size for _ in range(sheets) for size in _cut_up(rng, sheet.width, sheet.height)
    )
    loose = [
        LoosePiece(f"piece {number + 1}", paper.name, count, *size)
        for number, (size, count) in enumerate(counted.items())
    ]
    return Batch(f"planted {seed}", "in", (paper,), pieces=tuple(loose)), sheets


def full_batch(seed: int, *, turned: bool) -> tuple[Batch, int]:
    """Cut 1 to 8 sheets up at random with nothing left over; the pieces, and the sheets.

    Sheets of 12 x 12 in are cut on quarter inches, 1, 2 or 4 of them alike, into 13 to 50 kinds of
    pieces whose sides are 1 1/2 to 6 in.
    """
    rng = Random(f"full {seed}")
    side, sheets = parse_length("12", "in"), rng.randint(1, 8)
    while True:
        counted: Counter[tuple[int, int]] = Counter()
        left = sheets
        while left:
            alike = rng.choice([number for number in (1, 2, 4) if number <= left])
            left -= alike
            for size in _cut_in_full(rng, side, side):
                counted[size] += alike
        if 13 <= len(counted) <= 50:
            break
    paper = Paper("pear toss", (Sheet(side, side),))
    loose = [
        LoosePiece(f"piece {number}", paper.name, count, *size, turn="may" if turned else "never")
        for number, (size, count) in enumerate(counted.items(), 1)
    ]
    return Batch(f"full {seed}", "in", (paper,), pieces=tuple(loose)), sheets


def _cut_in_full(rng: Random, width: int, height: int) -> Iterator[tuple[int, int]]:
    """Cut a rectangle on quarter inches into parts with sides of 1 1/2 to 6 in."""
    quarter = parse_length("1/4", "in")
    across, along = width // quarter, height // quarter
    longer, shorter = max(across, along), min(across, along)
    if longer <= 24 and (longer < 12 or rng.random() < 0.5):
        yield width, height
        return
    along_x = (across >= along) != (shorter >= 12 and rng.random() < 0.3)
    length = across if along_x else along
    at = rng.randint(6, length - 6)
    for part in (at * quarter, (length - at) * quarter):
        yield from _cut_in_full(rng, *((part, height) if along_x else (width, part)))


def _cut_up(rng: Random, width: int, height: int) -> Iterator[tuple[int, int]]:
    """Cut a rectangle on quarter inches until its parts are small; one in sixty is left over."""
    quarter = parse_length("1/4", "in")
    longer, shorter = max(width, height) // quarter, min(width, height) // quarter
    if longer < 16 or (longer < 28 and rng.random() < 0.3):
        if rng.random() > 1 / 60:
            yield width, height
        return
    along_x = (width > height) != (shorter >= 8 and rng.random() < 0.3)
    length = width if along_x else height
    at = rng.randint(4, length // quarter - 4) * quarter
    for part in (at, length - at):
        yield from _cut_up(rng, *((part, height) if along_x else (width, part)))


def _paper(rng: Random) -> Paper:
    size = parse_size(rng.choice(("12 x 12", "8 1/2 x 11")), "in")
    return Paper("pear toss", (Sheet(*size),), front=Face(rng.choice(_PRINTS)))


def loose_piece(rng: Random, number: int, paper: Paper) -> LoosePiece:
    """A piece of 1 to 6 in by 1 to 7 in on quarter inches, as layers of cards have."""
    quarter = parse_length("1/4", "in")
    width, height = rng.randint(4, 24) * quarter, rng.randint(4, 28) * quarter
    return LoosePiece(f"piece {number + 1}", paper.name, 1, width, height)


def _fits_letter(size: tuple[int, int], fold: Fold) -> bool:
    """Whether a base of this card can be cut from letter paper."""
    flat = (2 * size[0], size[1]) if fold == "left" else (size[0], 2 * size[1])
    letter = parse_size("8 1/2 x 11", "in")
    return min(flat) <= min(letter) and max(flat) <= max(letter)


def grown(batch: Batch, factor: int) -> Batch:
    """Ask for the same designs, ``factor`` times as many of each."""
    cards = tuple(replace(card, make=(card.make or 0) * factor) for card in batch.cards)
    return replace(batch, cards=cards)


def growth_batch() -> Batch:
    """Make the designs whose number grows: 32 cards of four designs."""
    rng = Random("growth")
    batch = card_batch(1)
    cardstocks = [paper for paper in batch.papers if paper.front.print == "plain"]
    printed = [paper for paper in batch.papers if paper.front.print != "plain"]
    cards = tuple(replace(_card(rng, n, cardstocks, printed), make=8) for n in range(4))
    return _with_papers_used(replace(batch, cards=cards))
