"""The most cards of a design that there is paper for, from areas alone: no plan makes more."""

from collections import Counter
from collections.abc import Iterable, Mapping

from nesting.batch import Trimmer
from nesting.cards.merging import Request
from nesting.papers import FaceName, Paper, Sheet
from nesting.pieces import Piece
from nesting.sheets import usable_size


def most_by_area(
    requests: Iterable[Request],
    papers: Mapping[str, Paper],
    trimmer: Trimmer,
    bags: Mapping[Piece, int],
) -> int | None:
    """The most cards of a design that the sheets at hand have area for; None without limit.

    ``requests`` are what the design asks for, ``bags`` what is cut already. Each paper limits the
    layers that can be cut from no other, and the papers to choose from for a layer limit it
    together. A layer that may be cut as two ends takes at least the area of its smallest way.
    """
    layers: dict[str, list[Request]] = {}
    for request in requests:
        layers.setdefault(request.layer, []).append(request)
    needed: Counter[str] = Counter()
    there: Counter[str] = Counter()
    most = []
    for parts in layers.values():
        areas: dict[tuple[str, FaceName], list[int | None]] = {}
        ways: Counter[int] = Counter()
        for one in parts:
            area = _area_for(one.piece, papers[one.piece.paper], trimmer)
            areas.setdefault((one.piece.paper, one.piece.face), []).append(area)
            ways[one.option] += _least_area(one.piece)
        if any(None in own for own in areas.values()):
            continue
        each, least = parts[0].each, min(ways.values())
        pieces = {one.piece for one in parts}
        bagged = sum(bags.get(piece, 0) * _least_area(piece) for piece in pieces)
        room = sum(max(area or 0 for area in own) for own in areas.values())
        most.append((room + bagged) // least // each)
        if len(areas) == 1:
            needed[parts[0].piece.paper] += each * least
            there[parts[0].piece.paper] += bagged
    for name, area in needed.items():
        for sheet in papers[name].sheets:
            there[name] += _area(papers[name], sheet, trimmer) * (sheet.have or 0)
        most.append(there[name] // area)
    return min(most, default=None)


def _area_for(piece: Piece, paper: Paper, trimmer: Trimmer) -> int | None:
    """The area of all sheets that hold a piece; None where they are there in plenty."""
    area = 0
    for sheet in paper.sheets:
        width, height = usable_size(paper, sheet, trimmer.cut_width)
        blanks = (piece.on_sheet(turned=turned) for turned in piece.turns)
        if not any(across <= width and along <= height for across, along in blanks):
            continue
        if sheet.have is None:
            return None
        area += sheet.have * width * height
    return area


def _area(paper: Paper, sheet: Sheet, trimmer: Trimmer) -> int:
    width, height = usable_size(paper, sheet, trimmer.cut_width)
    return max(0, width) * max(0, height)


def _least_area(piece: Piece) -> int:
    """The least that one takes of a sheet: of a circle, less than its disc, as they lie in groups."""
    if piece.shape == "circle":
        return (piece.width + piece.die_allowance) ** 2 * 3 // 4
    width, height = piece.on_sheet(turned=False)
    return width * height
