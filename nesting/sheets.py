"""What there is to cut from: supplies, and what barcode strip and edge trim leave of a sheet.

Lengths are integer nanometres.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from math import gcd
from typing import Literal

from nesting.batch import Hand
from nesting.nearest import listed
from nesting.papers import CLOCKWISE, BarcodeStrip, Edge, Edges, Paper, Sheet, StripEdge, Supply


def supplies(paper: Paper, pieces: int) -> tuple[Supply, ...]:
    """What a paper's full need can be cut from, and what each sheet of it costs.

    ``pieces`` is how many are asked of the paper; no more sheets than that are of use.

    A paper with one size of whole sheets and no offcuts has one supply without limit at cost 1:
    the cost is the number of sheets. Otherwise

    - a whole sheet at hand costs its price (where every whole sheet has one) or else its area, in the
      smallest whole numbers that keep the ratio; where some are given away, each of these costs 1 and
      all of them less than any other;
    - an offcut costs nothing;
    - a sheet to buy costs so much more that buying one less outweighs any choice among those at hand.

    The bound is about the full need, so there are sheets to buy even where the paper is not sold.
    """
    if len(paper.sheets) == 1 and not paper.sheets[0].offcut:
        return (Supply(paper.sheets[0], bought=False, count=None, cost=1),)
    whole = [sheet for sheet in paper.sheets if not sheet.offcut]
    prices = [sheet.price for sheet in whole if sheet.price is not None]
    weights = prices if len(prices) == len(whole) else [s.width * s.height for s in whole]
    unit = gcd(*weights) or 1
    scale = 1 if all(weights) else pieces + 1
    cost = {
        id(sheet): max(1, weight // unit * scale)
        for sheet, weight in zip(whole, weights, strict=True)
    }
    at_hand = tuple(
        Supply(sheet, bought=False, count=sheet.have, cost=cost.get(id(sheet), 0))
        for sheet in paper.sheets
    )
    dearer = 1 + sum(s.cost * (pieces if s.count is None else s.count) for s in at_hand)
    to_buy = tuple(
        Supply(sheet, bought=True, count=None, cost=cost[id(sheet)] * dearer)
        for sheet in whole
        if sheet.have is not None
    )
    return at_hand + to_buy


def strip_along(paper: Paper, edge: StripEdge | None, *, whole: bool) -> BarcodeStrip | None:
    """The barcode strip that is still on a sheet along an edge; None stands for a whole sheet's own edge."""
    strip = paper.barcode_strip
    if strip is None or edge == "none" or (edge is None and not whole):
        return None
    return strip if edge is None else replace(strip, edge=edge)


def strip_of(paper: Paper, sheet: Sheet) -> BarcodeStrip | None:
    """The barcode strip a sheet carries."""
    return strip_along(paper, sheet.strip, whole=not sheet.offcut)


def full_size(paper: Paper, sheet: Sheet) -> tuple[int, int]:
    """Width and height of the sheet as it lies on the table, with a strip beyond its size, in nm."""
    strip = strip_of(paper, sheet)
    if strip is None or not strip.beyond_the_sheet:
        return sheet.width, sheet.height
    if strip.edge in ("left", "right"):
        return sheet.width + strip.width, sheet.height
    return sheet.width, sheet.height + strip.width


def without_strip_beyond(strip: BarcodeStrip | None, width: int, height: int) -> tuple[int, int]:
    """Width and height of what a strip is on, without one that lies beyond the sheet, in nm."""
    if strip is None or not strip.beyond_the_sheet:
        return width, height
    if strip.edge in ("left", "right"):
        return width - strip.width, height
    return width, height - strip.width


def taken_off(
    paper: Paper, sheet: Sheet, cut_width: int
) -> tuple[tuple[Edge, int, Literal["strip", "edge"]], ...]:
    """What comes off a full sheet before pieces are cut, in order: edge, width in nm, what it is.

    The barcode strip comes first, then the edge trim of each edge, inside the strip where both are
    on one edge. The blade runs in what it takes off, so each width includes its cut; where that is
    wider, the blade takes the rest from the sheet. Strip and trim of one edge are one edge trim where
    they have no room for two cuts.
    """
    trim = (sheet.trim or Edges()) if sheet.offcut else paper.edge_trim
    trims: dict[Edge, int] = {
        "left": trim.left, "right": trim.right, "top": trim.top, "bottom": trim.bottom,
    }  # fmt: skip
    first: list[tuple[Edge, int, Literal["strip", "edge"]]] = []
    strip = strip_of(paper, sheet)
    if strip is not None:
        inside = trims[strip.edge]
        both = max(strip.width + inside, cut_width)
        own = min(max(strip.width, cut_width), both - cut_width) if inside else both
        if own >= cut_width:
            first.append((strip.edge, own, "strip"))
        trims[strip.edge] = both - own if own >= cut_width else both
    first.extend((edge, max(width, cut_width), "edge") for edge, width in trims.items() if width)
    return tuple(first)


def usable_size(paper: Paper, sheet: Sheet, cut_width: int) -> tuple[int, int]:
    """Width and height left for pieces: strip and edge trim off, in nm."""
    width, height = full_size(paper, sheet)
    for edge, off, _ in taken_off(paper, sheet, cut_width):
        if edge in ("left", "right"):
            width -= off
        else:
            height -= off
    return width, height


def find_used_up(
    paper: Paper, sheet: Sheet, told: str, cut_width: int = 0
) -> Iterator[tuple[str, str]]:
    """Find, as what was read and expected, a sheet of which barcode strip and edge trim leave nothing."""
    if min(usable_size(paper, sheet, cut_width)) <= 0:
        yield (
            f"the sheet {told} of {paper.name} with barcode strip and edge trim as wide as the sheet",
            "a strip and trims that leave something of the sheet",
        )


def too_large_words(
    paper: Paper, offcut: Sheet, told: str, size: Callable[[int, int], str]
) -> tuple[str, str] | None:
    """What was read and expected, where an offcut cannot come from any whole sheet of its paper.

    ``told`` is the offcut as its user sees it; ``size`` writes the sheets' sizes. None where it can come
    from one, or where no whole sheet is known.
    """
    sizes = [(one.width, one.height) for one in paper.sheets if not one.offcut]
    ways = [(offcut.width, offcut.height)]
    if not (paper.front.directed or paper.back.directed):
        ways.append((offcut.height, offcut.width))
    if not sizes or any(w <= width and h <= height for w, h in ways for width, height in sizes):
        return None
    largest = listed([size(*one) for one in sizes])
    expected = f"at most {largest}, or the sheet that it was cut from as well, with 0 at hand"
    return f"an offcut of {paper.name}, {told}: larger than a sheet of it", expected


def starting_edges(strip: BarcodeStrip | None, hand: Hand) -> tuple[Edge, Edge]:
    """The sheet corner that all measures start from, as (left or right, top or bottom).

    Top left, and top right for a left-handed trimmer, unless the barcode strip lies along one of
    those edges: the strip names the paper, so it stays with what is left over as long as possible.
    """
    edge = None if strip is None else strip.edge
    sides: tuple[Edge, Edge] = ("left", "right") if hand == "right" else ("right", "left")
    return sides[edge == sides[0]], "bottom" if edge == "top" else "top"


def is_kept(width: int, height: int, keep_from: tuple[tuple[int, int], ...]) -> bool:
    """Whether an offcut is as large as one of the smallest useful sizes, either way round."""
    for first, second in keep_from:
        if (width >= first and height >= second) or (width >= second and height >= first):
            return True
    return False


def turned(
    width: int, height: int, strip: StripEdge, top: Edge, to: Edge
) -> tuple[int, int, StripEdge]:
    """Size and edge of the strip after turning a sheet, front up, so that its top comes to an edge.

    Examples
    --------
    >>> turned(5, 7, "bottom", "left", "top")
    (7, 5, 'left')
    """
    quarters = (CLOCKWISE.index(to) - CLOCKWISE.index(top)) % 4
    if strip != "none":
        strip = CLOCKWISE[(CLOCKWISE.index(strip) + quarters) % 4]
    return (height, width, strip) if quarters % 2 else (width, height, strip)
