"""The covered middles that there are to cut from: their layers, how large, and how many.

A covered middle is a sheet to cut from like an offcut: of the paper and the print of its host, lying
as that lies, free, and there as often as the host is cut. It is smaller than its host, as a frame
stays, so no layer comes out of its own middle, not even by way of others.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import NamedTuple

from nesting.batch import Batch, Card, Layer, Trimmer
from nesting.cards.largest_middle import covered_middle
from nesting.cards.placing import PlacedLayer
from nesting.papers import Sheet, SheetCount, Window
from nesting.pieces import Piece, Use
from nesting.sheets import usable_size

#: Nobody cuts a window with knife and steel rule more finely, or in a longer layer; in nm.
_FINEST, _LONGEST = 500_000, 1_000_000_000


def find_middles(
    batch: Batch, placed: Iterable[Mapping[str, PlacedLayer]], pieces: tuple[Piece, ...]
) -> tuple[SheetCount, ...]:
    """List the covered middles from which some piece can be cut.

    There are as many as hosts are still to be cut where everything asked for is made. A piece in the
    bags may be glued already: it is taken to be one with such a middle, for whichever card it is. Those
    that an earlier plan is cut from are still there, as its pages say what to keep.

    Parameters
    ----------
    batch
        What is asked, defaults filled in.
    placed
        For each card, the card itself and its layers, from bottom to top.
    pieces
        What is to be cut.
    """
    windows: dict[tuple[str, tuple[int, int]], list[Window]] = {}
    counts: Counter[tuple[str, tuple[int, int]]] = Counter()
    for one in _usable(batch, placed, pieces):
        if not _is_open(batch, one.host.paper):
            key = one.host.paper, one.size
            windows.setdefault(key, []).append(one.window)
            counts[key] += hosts_of(one.host, one.use)
    listed = (
        SheetCount(paper, Sheet(*size, offcut=True, windows=tuple(own)), counts[paper, size])
        for (paper, size), own in windows.items()
    )
    left = [replace(one, count=one.count + still_there(batch, one)) for one in listed]
    return tuple(one for one in left if one.count)


def without_middles_words(
    batch: Batch, placed: Iterable[Mapping[str, PlacedLayer]], pieces: tuple[Piece, ...]
) -> tuple[str, ...]:
    """Say which papers have covered middles that are not used, and why."""
    papers = (one.host.paper for one in _usable(batch, placed, pieces))
    return tuple(
        f"{paper}: no covered middles are used, as papers, joints or numbers of cards are chosen; "
        "what is proven holds without them"
        for paper in dict.fromkeys(papers)
        if _is_open(batch, paper)
    )


class _Usable(NamedTuple):
    """A window whose middle some piece can be cut from, its size as its host lies, and for which use."""

    window: Window
    size: tuple[int, int]
    host: Piece
    use: Use


def _usable(
    batch: Batch, placed: Iterable[Mapping[str, PlacedLayer]], pieces: tuple[Piece, ...]
) -> Iterator[_Usable]:
    """Every window that is asked for and whose middle is of use."""
    used = {(use.card, use.layer): (one, use) for one in pieces for use in one.uses}
    for card, layers in zip(batch.cards, placed, strict=True):
        for layer in card.layers:
            window = _window(card, layer, layers, batch)
            if window is None or (card.name, layer.name) not in used:
                continue
            host, use = used[card.name, layer.name]
            size = _as_it_lies(window, host)
            if _is_of_use(size, host, batch, pieces):
                yield _Usable(window, size, host, use)


def hosts_of(host: Piece, use: Use) -> int:
    """How many hosts for a layer are surely still to be cut, where everything asked for is made."""
    return max(0, use.count - host.in_bags)


def still_there(batch: Batch, middle: SheetCount) -> int:
    """How many covered middles like this one pieces in the bags still have."""
    begun = batch.begun.middles if batch.begun else ()
    alike = (one.count for one in begun if (one.paper, one.sheet) == (middle.paper, middle.sheet))
    return sum(alike)


def with_middles(batch: Batch, middles: Iterable[SheetCount]) -> Batch:
    """The batch with covered middles among the sheets of its papers."""
    own: dict[str, list[Sheet]] = {}
    for one in middles:
        own.setdefault(one.paper, []).append(replace(one.sheet, have=one.count))
    papers = (replace(p, sheets=(*p.sheets, *own.get(p.name, ()))) for p in batch.papers)
    return replace(batch, papers=tuple(papers))


def middle_marks(trimmer: Trimmer) -> int:
    """The marks that a window is measured by: those of the trimmer, or multiples of finer ones."""
    return trimmer.marks * max(1, -(-_FINEST // trimmer.marks))


def frame_of(batch: Batch) -> int:
    """What stays round a covered middle: as asked, else 1/4 in or 6 mm."""
    if batch.frame is not None:
        return batch.frame
    return 6_350_000 if batch.unit == "in" else 6_000_000


def _window(
    card: Card, layer: Layer, placed: Mapping[str, PlacedLayer], batch: Batch
) -> Window | None:
    """Where the covered middle of a layer is cut out of its piece; None where it stays."""
    saved = batch.save_middles if layer.middle is None else layer.middle == "save"
    if not saved or layer.join != "never":
        return None
    marks = middle_marks(batch.trimmer)
    if max(placed[layer.name].width, placed[layer.name].height) > _LONGEST:
        return None
    middle = covered_middle(placed, layer.name, batch.lap, frame_of(batch), marks)
    if middle is None:
        return None
    on_card = placed[layer.name]
    left, low = on_card.whole[0]
    x, y = middle.x + on_card.x - left, middle.y + on_card.y - low
    return Window(card.name, layer.name, x, y, middle.width, middle.height)


def _is_open(batch: Batch, paper: str) -> bool:
    """Whether it depends on a choice of papers, joints or numbers how often layers of a paper are cut.

    So it does for a paper that is to choose from, that gives a layer as two ends, or that limits what is
    made. What is proven of the choice holds without covered middles, so such a paper has none.
    """
    layers = [one for card in batch.cards for one in card.layers]
    several_ways = [one for one in layers if one.choice or one.join != "never"]
    if not several_ways and not batch.papers_at_hand:
        return False
    papers = {option.paper for one in several_ways for option in one.options}
    return paper in papers or not batch.may_buy(batch.paper(paper))


def _as_it_lies(window: Window, host: Piece) -> tuple[int, int]:
    """Width and height of a covered middle as its host lies on the sheet, front up."""
    turned = host.turn == "must"
    if turned != (host.up in ("left", "right")):
        return window.height, window.width
    return window.width, window.height


def _is_of_use(size: tuple[int, int], host: Piece, batch: Batch, pieces: Iterable[Piece]) -> bool:
    """Whether a piece can be cut from a middle of this size.

    A host that may be turned lies one way or the other on each sheet. Which way its middle lies has
    to make no difference then: whatever fits may be turned itself, and has no fold.
    """
    paper = batch.paper(host.paper)
    middle = Sheet(*size, offcut=True)
    room = usable_size(paper, middle, batch.trimmer.cut_width)
    own = [piece for piece in pieces if piece.paper == paper.name and piece.to_cut]
    if host.turn != "may":
        return any(_fits(piece, room, piece.turns) for piece in own)
    fitting = [piece for piece in own if _fits(piece, room, (False, True))]
    return bool(fitting) and all(piece.turn == "may" and not piece.grain for piece in fitting)


def _fits(piece: Piece, room: tuple[int, int], turns: Iterable[bool]) -> bool:
    blanks = (piece.on_sheet(turned=turned) for turned in turns)
    return any(width <= room[0] and height <= room[1] for width, height in blanks)
